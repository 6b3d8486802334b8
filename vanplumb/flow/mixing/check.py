"""The build's mixing valves: what each is set to, and what it gives when its supplies drift.

The drifts that any van meets are tried, alone and the worst together: the store swings by
its thermostat's differential, the seasons move the cold water, and another fixture opens on
one side only.  What that takes is worked out from the runs and the heater that only this side
passes; what both sides share falls alike on both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...formulas.mixing import hot_share, temperature_from_share
from ...formulas.valves import valve_loss
from ...van.kinds.heaters import hottest
from ...van.model import Build
from ...van.parts import MixingValve
from ...van.trace import served, ways_to
from ...words.brief import brief
from ...words.show import show
from ...words.tables import table
from ...words.work import Work
from ..run_losses import rated_flow, run_losses
from ..service_pressure import service_pressures
from .valve import Drift, Supplies, Valve, density, mixing_state, temperature_works

SUMMER = 10.0
"""How much warmer or colder than assumed the fresh water gets with the season, K: the same."""
DAY_SHARE = 0.75
"""Pressure at the valve with water flowing, as part of the highest: common practice."""


@brief
@dataclass(frozen=True)
class ValveCheck:
    """One mixing valve of a build; temperatures in K.  ``problem`` says why nothing was found."""

    name: str
    kind: str
    setting: float
    fixtures: tuple[str, ...]
    supplies: Supplies
    share: float | None
    drifts: tuple[Drift, ...]
    works: tuple[Work, ...]
    problem: str = ""

    @property
    def hottest(self) -> float:
        """The hottest that comes out in any of the drifts, or the setting if none was tried."""
        found = [d.state.temperature for d in self.drifts if d.state.temperature is not None]
        return max([self.setting, *found])

    @property
    def hottest_works(self) -> tuple[Work, ...]:
        """Steps of ``hottest``, where hot and cold meet in it."""
        for drift in self.drifts:
            if drift.state.temperature == self.hottest:
                return temperature_works(drift.state, short=True)
        return ()

    @property
    def coolest(self) -> float:
        found = [d.state.temperature for d in self.drifts if d.state.temperature is not None]
        return min([self.setting, *found])


def valve_checks(build: Build) -> dict[str, ValveCheck]:
    """Every mixing valve of the build by its name."""
    return {valve.name: _check(build, valve) for valve in build.mixing_valve}


def valve_of(build: Build, part: MixingValve) -> Valve:
    """A build's mixing valve as it was on the day it was set."""
    hot = part.set_hot if part.set_hot is not None else _hot(build)
    cold = part.set_cold if part.set_cold is not None else build.van.cold_water
    pressure = max(DAY_SHARE * service_pressures(build).held.supply, 1e4)
    fixtures = {f.name: f for f in build.fixture}
    names = served(build, part.name)
    flow, at = 1e-4, 1e5
    if names:
        largest = max(names, key=lambda n: rated_flow(build, fixtures[n]))
        one = fixtures[largest]
        flow = rated_flow(build, one)
        row = table("fixtures", build.rows)[one.kind]
        at = one.flow_pressure if one.flow_pressure is not None else row.number("flow_pressure")
    return Valve(
        kind=part.kind,
        setting=part.setting,
        when_set=Supplies(hot, cold, pressure, pressure),
        flow_coefficient=part.kv,
        outlet_flow=flow,
        outlet_pressure=at,
        checks=part.hot_check and part.cold_check,
    )


def _hot(build: Build) -> float:
    return max((h.setpoint for h in build.heater), default=build.van.cold_water)


def side_losses(build: Build, valve: str) -> dict[str, float]:
    """Pa that another open fixture takes from only the hot or only the cold way to a valve.

    The valve draws its own share of each side.  Another mixing valve draws its share too, but a
    tap that is mixed by hand may be turned wholly to one side, so it draws all of its flow.
    """
    found = {w.port: w for w in ways_to(build, valve)}
    losses = {r.number: r for r in run_losses(build)}
    flows = {f.name: rated_flow(build, f) for f in build.fixture}
    own = served(build, valve)
    most = max((flows[n] for n in own), default=0.0)
    taken = {"hot": 0.0, "cold": 0.0}
    if set(found) != {"hot", "cold"} or not most:
        return taken
    for side, other in (("hot", "cold"), ("cold", "hot")):
        drawn = most * _part(build, own[0], side)
        flows = {f.name: rated_flow(build, f) * _part(build, f.name, side) for f in build.fixture}
        for number in set(found[side].runs) - set(found[other].runs):
            end = build.ends(build.run[number])[1].component
            others = [flows[n] for n in served(build, end) if n not in own]
            if end == valve or not others:
                continue
            more = ((drawn + max(others)) ** 2 - drawn**2) / losses[number].flow ** 2
            taken[side] += losses[number].loss * more
        for heater in build.heater:
            names = [n for n in served(build, heater.name) if n not in own]
            passed = heater.name in found[side].components
            if names and passed and heater.name not in found[other].components:
                both = drawn + max(flows[n] for n in names)
                dense = density(heater.setpoint)
                taken[side] += float(valve_loss.si(both, heater.kv, dense))
                taken[side] -= float(valve_loss.si(drawn, heater.kv, dense))
    return taken


def _part(build: Build, fixture: str, side: str) -> float:
    """Part of a fixture's flow that one side may have to give."""
    for valve in build.mixing_valve:
        if fixture in served(build, valve.name):
            day = valve_of(build, valve).when_set
            wide = day.temperature_hot - day.temperature_cold
            share = (valve.setting - day.temperature_cold) / wide if wide > 0 else 1.0
            share = min(max(share, 0.0), 1.0)
            return share if side == "hot" else 1.0 - share
    return 1.0


def _check(build: Build, part: MixingValve) -> ValveCheck:
    valve = valve_of(build, part)
    day = valve.when_set
    now = replace(day, temperature_hot=_hot(build), temperature_cold=build.van.cold_water)
    swing = max((h.differential for h in build.heater), default=0.0)
    top = max((hottest(h) for h in build.heater), default=now.temperature_hot)
    names = served(build, part.name)
    if not day.temperature_cold < part.setting < day.temperature_hot:
        problem = (
            f"{show(part.setting, 'temperature', build.van.units)} does not lie between the cold "
            "and the hot supply: the valve can't be set so"
        )
        return ValveCheck(part.name, part.kind, part.setting, names, now, None, (), (), problem)
    taken = side_losses(build, part.name)
    weak_cold = max(now.pressure_cold - taken["cold"], 0.0)
    weak_hot = max(now.pressure_hot - taken["hot"], 0.0)
    hotter = replace(now, temperature_hot=max(top, now.temperature_hot))
    changes = (
        ("as assumed", now),
        ("heater at its hottest", hotter),
        (
            "heater at the bottom of its swing",
            replace(now, temperature_hot=now.temperature_hot - swing),
        ),
        ("cold water as in summer", replace(now, temperature_cold=now.temperature_cold + SUMMER)),
        (
            "cold water as in winter",
            replace(now, temperature_cold=max(now.temperature_cold - SUMMER, 274.15)),
        ),
        ("another tap turned to cold only", replace(now, pressure_cold=weak_cold)),
        ("another tap turned to hot only", replace(now, pressure_hot=weak_hot)),
        (
            "heater at its hottest, cold side drawn",
            replace(hotter, pressure_cold=weak_cold),
        ),
        (
            "all three: hottest, cold side drawn, summer",
            replace(
                hotter, pressure_cold=weak_cold, temperature_cold=now.temperature_cold + SUMMER
            ),
        ),
    )
    drifts = tuple(Drift(label, mixing_state(valve, s)) for label, s in changes)
    share = hot_share.work(
        temperature_mixed=part.setting,
        temperature_hot=day.temperature_hot,
        temperature_cold=day.temperature_cold,
    )
    check = temperature_from_share.work(
        share_hot=share.value,
        temperature_hot=day.temperature_hot,
        temperature_cold=day.temperature_cold,
    )
    return ValveCheck(
        part.name, part.kind, part.setting, names, now, share.value, drifts, (share, check)
    )
