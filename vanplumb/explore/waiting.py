"""The wait for hot water at each fixture, for many variants at once."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..build.model import Build
from ..build.parts import Fixture, Heater
from ..formulas.mixing import hot_share
from ..formulas.runs_heat import hot_wait, slow_start, wall_heat_ratio
from ..formulas.tube import content_per_length
from ..formulas.water import water_density, water_specific_heat
from ..trip.budget import heater_of
from ..trip.habits import fixture_flow
from ..trip.make_plant import FLOW_THROUGH_CONTENT
from ..trip.paths import WALL_DENSITY, WALL_HEAT, Way, ways
from ..trip.waits import ARRIVED, WANTED
from .sums import Array, Found, column


def waits(build: Build) -> Found:
    """Wait for hot water at each fixture that it reaches, s."""
    heater = heater_of(build)
    if heater is None:
        return {}
    hot = np.asarray(heater.setpoint)
    density, warmth = water_density.si(hot), water_specific_heat.si(hot)

    def run(number: int) -> tuple[Array, Array]:
        one = build.run[number]
        bore = column(build, "tubes", one.tube, "bore")
        wall = wall_heat_ratio.si(
            density_wall=column(build, "tubes", one.tube, "density", WALL_DENSITY),
            specific_heat_wall=column(build, "tubes", one.tube, "specific_heat", WALL_HEAT),
            diameter_outside=column(build, "tubes", one.tube, "od"),
            diameter_inside=bore,
            density=density,
            specific_heat=warmth,
        )
        content = content_per_length.si(bore) * np.asarray(one.length)
        return content, content * (1.0 + wall)

    found: Found = {}
    reached = ways(build, heater)
    for fixture in build.fixture:
        if fixture.name not in reached:
            continue
        way, flow = reached[fixture.name], np.asarray(fixture_flow(build, fixture))
        share: Array = 1.0
        if way.valve is not None and way.valve.kind == "fixed":
            then = hot if way.valve.set_hot is None else way.valve.set_hot
            cold = build.van.cold_water if way.valve.set_cold is None else way.valve.set_cold
            share = np.clip(hot_share.si(way.valve.setting, then, cold), 0.02, 1.0)
        wait = _begins(build, heater, fixture, way, share * flow)
        cut = way.mixed_from
        for numbers, speed in ((way.runs[:cut], share * flow), (way.runs[cut:], flow)):
            parts = [run(number) for number in numbers]
            content: Array = sum(part[0] for part in parts)
            held: Array = sum(part[1] for part in parts)
            if np.all(np.asarray(content) <= 0):
                continue
            wait = wait + hot_wait.si(content, held / content - 1.0, speed)
        found[f"wait {fixture.name}"] = wait
    return found


def _begins(build: Build, heater: Heater, fixture: Fixture, way: Way, flow: Array) -> Array:
    """Time until a flow-through heater makes hot water, s; none for a store."""
    if heater.kind != "flow-through":
        return np.asarray(0.0)
    hot = np.asarray(heater.setpoint)
    wanted: Any = WANTED if fixture.temperature is None else fixture.temperature
    if way.valve is not None:
        wanted = hot if way.valve.kind == "fixed" else way.valve.setting
    goal = np.minimum(wanted, hot) - ARRIVED - build.van.cold_water
    burner = np.asarray(heater.burner_power) * np.asarray(heater.burner_efficiency)
    power = np.where(burner > 0, burner, heater.element_power)
    final = power / (water_density.si(hot) * water_specific_heat.si(hot) * flow)
    comes = (flow >= heater.flow_least) & (final > goal) & (goal > 0)
    content = FLOW_THROUGH_CONTENT if heater.volume is None else heater.volume
    left = np.where(comes, final - goal, final)
    return np.asarray(heater.start_delay) + slow_start.si(content, flow, final, left)
