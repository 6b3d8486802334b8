"""The wait for hot water at each fixture after the runs have gone cold, and what runs off."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...flow.run_losses import rated_flow
from ...formulas.heater import flow_through_rise
from ...formulas.runs_heat import hot_flow, hot_wait, run_off, slow_start, time_to_cool
from ...formulas.tube import tube_content
from ...formulas.water import water_density, water_specific_heat
from ...van.hot_ways import HotWay, hot_ways
from ...van.kinds import heaters
from ...van.kinds.mixing_valves import (
    is_set_once,
    share_when_set,
    share_work,
    supplies_when_set,
)
from ...van.model import Build
from ...van.parts import Fixture, Heater
from ...words.brief import brief
from ...words.work import Work, total
from .paths import LEAST_SHARE, RunHeat, run_heat

ARRIVED = 2.0
"""K under what is wanted at which hot water counts as come (assumed)."""
WANTED = 313.15
"""K that is wanted where no fixture or valve says (40 °C)."""
GONE_COLD = 308.15
"""K under which standing water is felt as cold (assumed, 35 °C)."""


@brief
@dataclass(frozen=True)
class Wait:
    """One fixture, SI.

    ``content`` is the water between heater and outlet, ``held`` that and its tube's heat,
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


def waits(build: Build) -> tuple[Wait, ...]:
    """Every fixture that hot water comes to, in the order of the file."""
    found = hot_ways(build)
    return tuple(
        _wait(build, fixture, way, heater)
        for fixture in build.fixture
        if fixture.name in found
        for heater, way in (found[fixture.name],)
    )


def _wait(build: Build, fixture: Fixture, way: HotWay, heater: Heater) -> Wait:
    hot = heater.setpoint
    flow = rated_flow(build, fixture)
    parts = [run_heat(build, build.run[index], hot) for index in way.runs]
    before, after = parts[: way.mixed_from], parts[way.mixed_from :]
    share = 1.0
    steps: list[Work] = []
    if way.valve is not None and is_set_once(way.valve):
        then_hot, then_cold = supplies_when_set(way.valve, hot, build.van.cold_water)
        if then_hot > then_cold:
            steps.append(share_work(way.valve, hot, build.van.cold_water))
        share = max(share_when_set(way.valve, hot, build.van.cold_water), LEAST_SHARE)
        steps.append(hot_flow.work(share_hot=share, flow=flow))
    works: dict[str, Work] = {}
    bare = 0.0
    spent: list[tuple[str, float]] = []
    seen: set[str] = set()
    for name, some, speed in (("to mixing", before, share * flow), ("to outlet", after, flow)):
        steps += _plug(some, speed, name if after else "", spent, seen)
        bare += sum(part.content for part in some) / speed
    begins = 0.0
    if heaters.follows_flow(heater):
        begins = heater.start_delay
        coming = _coming_up(build, heater, _goal(fixture, way, hot), share * flow)
        steps += coming
        if begins:
            spent.append(("start", begins))
        if coming:
            begins += coming[-1].value
            spent.append(("heater", coming[-1].value))
    if spent:
        steps.append(total("duration", spent))
        works["wait"] = steps[-1]
    wait = works["wait"].value if spent else 0.0
    works["run off"] = run_off.work(flow=flow, duration=wait)
    content, held = _sums(parts)
    stays = None
    slowest = min(parts, key=lambda p: p.cooling)
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
        bare=bare + begins,
        wait=wait,
        wasted=works["run off"].value,
        stays_warm=stays,
        works=works,
        steps=tuple(steps),
    )


def _plug(
    parts: list[RunHeat], flow: float, stage: str, spent: list[tuple[str, float]], seen: set[str]
) -> list[Work]:
    """Steps of the wait through some runs at a flow, tube by tube.

    Adds to what is ``spent``; the wall of a tube that was ``seen`` is not worked again.
    """
    steps: list[Work] = []
    for tube in dict.fromkeys(part.run.tube for part in parts):
        same = [part for part in parts if part.run.tube == tube]
        content = tube_content.work(
            diameter=same[0].bore, length=sum(part.run.length for part in same)
        )
        wait = hot_wait.work(volume=content.value, number_wall=same[0].wall, flow=flow)
        steps += [content, *([same[0].wall_work] if tube not in seen else []), wait]
        seen.add(tube)
        spent.append((f"{tube} {stage}".strip(), wait.value))
    return steps


def _goal(fixture: Fixture, way: HotWay, hot: float) -> float:
    """Hot water that is waited for: what the tap wants, or what its mixing valve needs."""
    wanted = fixture.temperature or WANTED
    if way.valve is not None:
        wanted = hot if is_set_once(way.valve) else way.valve.setting
    return min(wanted, hot) - ARRIVED


def _coming_up(build: Build, heater: Heater, wanted: float, flow: float) -> tuple[Work, ...]:
    """Steps of the time for a flow-through heater to make water as warm as wanted, if it can.

    Its own content is stirred; the heat goes into it while cold comes in.
    """
    cold = build.van.cold_water
    power, efficiency = heaters.first_power(heaters.at_altitude(build, heater))
    final = flow_through_rise.work(
        power=float(power),
        efficiency=float(efficiency),
        density=float(water_density.si(heater.setpoint)),
        specific_heat=float(water_specific_heat.si(heater.setpoint)),
        flow=flow,
    )
    goal = wanted - cold
    if flow < heater.flow_least or final.value <= goal or goal <= 0:
        return ()
    comes = slow_start.work(
        volume=heaters.content(heater),
        flow=flow,
        rise_first=final.value,
        rise_left=final.value - goal,
    )
    return final, comes


def _sums(parts: list[RunHeat]) -> tuple[float, float]:
    return sum(p.content for p in parts), sum(p.held for p in parts)
