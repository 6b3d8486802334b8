"""The wait for hot water at each fixture after the runs have gone cold, and what runs off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ...formulas.heater import flow_through_rise
from ...formulas.runs_heat import hot_flow, hot_wait, run_off, slow_start, time_to_cool
from ...formulas.tube import tube_content
from ...formulas.water import water_density, water_specific_heat
from ...van.hot_ways import HotWay
from ...van.kinds import heaters
from ...van.kinds.mixing_valves import (
    is_set_once,
    share_when_set,
    share_work,
    supplies_when_set,
)
from ...van.model import Build
from ...van.parts import Fixture, Heater
from ...van.rows import pick
from ...van.water_held import along, beside
from ...words.brief import brief
from ...words.work import Steps, Work, total
from ..stay.at_taps import AtTaps, HotFrom, at_taps
from ..stay.heaters import SHOWER
from .paths import LEAST_SHARE, RunHeat, run_heat, wall_of

ARRIVED = 2.0
"""K under what is wanted at which hot water counts as come (assumed)."""
GONE_COLD = 308.15
"""K under which standing water is felt as cold (assumed, 35 °C)."""


@brief
@dataclass(frozen=True)
class Wait:
    """One fixture, SI.

    ``content`` is the water between heater and outlet, that in headers and valves too; ``held``
    that and its tube's heat,
    ``bare`` the wait if tubes took up no heat, ``wasted`` what runs off in ``wait``.
    ``stays_warm`` is how long the run stays above 35 °C after a draw, None if it never was.
    ``steps`` are those of ``wait``, in order.
    """

    fixture: str
    flow: float
    length: float
    content: float
    held: float
    bare: float
    wait: float
    wasted: float
    stays_warm: float | None
    works: dict[str, Work] = field(default_factory=dict)
    steps: tuple[Work, ...] = ()


def waits(build: Build, taps: AtTaps | None = None) -> tuple[Wait, ...]:
    """Every fixture that hot water comes to, in the order of the file.

    ``taps`` is what the network gives at each, worked out if it isn't given.
    """
    taps = at_taps(build) if taps is None else taps
    return tuple(
        _wait(build, fixture, taps.hot[fixture.name], taps[fixture.name])
        for fixture in build.fixture
        if fixture.name in taps.hot
    )


def _wait(build: Build, fixture: Fixture, comes: HotFrom, flow: float) -> Wait:
    heater, way = comes.heater, comes.way
    hot = heater.setpoint
    legs = along(build, way.runs)
    parts = [run_heat(build, leg.run(build), hot) for leg in legs]
    steps = Steps()
    part = comes.parts[0][1]
    wait, bare = time_to_hot(build, fixture, way, heater, flow, steps, part=part)
    works = {"wait": steps[-1]} if way.runs or wait else {}
    works["run off"] = run_off.work(flow=flow, duration=wait)
    content, held = _sums(parts)
    stays = None
    # of the runs: a header that cools first holds little
    runs = (part for leg, part in zip(legs, parts, strict=True) if leg.stretch is None)
    slowest = min(runs, key=lambda p: p.cooling)
    if hot > GONE_COLD > slowest.air:
        works["stays warm"] = time_to_cool.work(
            rise_start=hot - slowest.air,
            rise_end=GONE_COLD - slowest.air,
            duration_constant=slowest.cooling,
        )
        stays = works["stays warm"].value
    return Wait(
        fixture=fixture.name,
        flow=flow,
        length=sum(p.run.length for p in parts),
        content=content,
        held=held,
        bare=bare,
        wait=wait,
        wasted=works["run off"].value,
        stays_warm=stays,
        works=works,
        steps=tuple(steps),
    )


def time_to_hot(
    build: Build,
    fixture: Fixture,
    way: HotWay,
    heater: Heater,
    flow: Any,
    steps: Steps,
    part: Any = 1.0,
) -> tuple[Any, Any]:
    """The wait at a fixture whose runs are cold, s, and what it were if tubes took up no heat.

    The fixture gives ``flow``, m³/s, and the heater ``part`` of its hot water.  What a build
    says may be arrays of variants, where no ``steps`` are kept.
    """
    hot = heater.setpoint
    before: Any = flow
    if way.valve is not None and is_set_once(way.valve):
        then_hot, then_cold = supplies_when_set(way.valve, hot, build.van.cold_water)
        if steps.kept and then_hot > then_cold:
            steps.append(share_work(way.valve, hot, build.van.cold_water))
        share = share_when_set(way.valve, hot, build.van.cold_water)
        before = steps.of(hot_flow, share_hot=np.maximum(share, LEAST_SHARE), flow=flow)
    spent: list[tuple[str, Any]] = []
    bare: Any = 0.0
    cut, seen, between = way.mixed_from, set[str](), beside(build, way.runs)
    for stage, numbers, speed in (
        ("to mixing" if way.runs[cut:] else "", way.runs[:cut], before),
        ("to outlet", way.runs[cut:], flow),
    ):
        passed = [part for part in between if part[0] in numbers]
        for tube, length in _by_tube(build, numbers, passed):
            content, wait = _plug(build, tube, length, hot, speed, steps, seen)
            bare = bare + content / speed
            spent.append((f"{tube} {stage}".strip(), wait))
    if heaters.follows_flow(heater):
        if np.any(np.asarray(heater.start_delay) > 0):
            spent.append(("start", heater.start_delay))
        coming = _coming_up(build, heater, _goal(fixture, way, hot), part * before, steps)
        if np.any(np.asarray(coming) > 0):
            spent.append(("heater", coming))
        bare = bare + heater.start_delay + coming
    if steps.kept and spent:
        steps.append(total("duration", spent))
    return sum(duration for _, duration in spent), bare


def _by_tube(
    build: Build, numbers: Iterable[int], passed: Iterable[tuple[int, Any, Any]]
) -> list[tuple[Any, Any]]:
    """Length of each kind of tube among some runs, m; runs whose tube varies each for itself.

    What is ``passed`` between them, as (run behind it, tube, length), goes with the tubes.
    """
    found: dict[Any, list[Any]] = {}
    runs = [(build.run[number].tube, build.run[number].length) for number in numbers]
    for place, (tube, length) in enumerate([*runs, *((t, long) for _, t, long in passed)]):
        at = found.setdefault(tube if isinstance(tube, str) else place, [tube, 0.0])
        at[1] = at[1] + np.asarray(length)
    return [(tube, length) for tube, length in found.values()]


def _plug(
    build: Build, tube: Any, length: Any, hot: Any, flow: Any, steps: Steps, seen: set[str]
) -> tuple[Any, Any]:
    """Content of some tube, and the wait until hot water has come through it.

    The step of a wall that was ``seen`` is not shown again.
    """
    bore = pick(build, "tubes", tube, "bore")
    content = steps.of(tube_content, diameter=bore, length=length)
    shown = Steps(steps.kept)
    wall = wall_of(build, tube, hot, shown)
    if isinstance(tube, str) and tube not in seen:
        steps += shown
        seen.add(tube)
    return content, steps.of(hot_wait, volume=content, number_wall=wall, flow=flow)


def _goal(fixture: Fixture, way: HotWay, hot: Any) -> Any:
    """Hot water that is waited for: what the tap wants, or what its mixing valve needs."""
    wanted: Any = SHOWER if fixture.temperature is None else fixture.temperature
    if way.valve is not None:
        wanted = hot if is_set_once(way.valve) else way.valve.setting
    return np.minimum(wanted, hot) - ARRIVED


def _coming_up(build: Build, heater: Heater, wanted: Any, flow: Any, steps: Steps) -> Any:
    """The time for a flow-through heater to make water as warm as wanted, s; 0 if it can't.

    Its own content is stirred; the heat goes into it while cold comes in.
    """
    goal = wanted - build.van.cold_water
    power, efficiency = heaters.first_power(heaters.at_altitude(build, heater))
    rises = Steps(steps.kept)
    final = rises.of(
        flow_through_rise,
        power=power,
        efficiency=efficiency,
        density=water_density.si(heater.setpoint),
        specific_heat=water_specific_heat.si(heater.setpoint),
        flow=flow,
    )
    comes = (flow >= heater.flow_least) & (final > goal) & (goal > 0)
    if not np.any(comes):
        return 0.0
    steps += rises
    left = np.where(comes, final - goal, final)
    content = heaters.content(heater)
    return steps.of(slow_start, volume=content, flow=flow, rise_first=final, rise_left=left)


def _sums(parts: list[RunHeat]) -> tuple[float, float]:
    return sum(p.content for p in parts), sum(p.held for p in parts)
