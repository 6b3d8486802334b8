"""The wait for hot water at each fixture after the runs have gone cold, and what runs off."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..build.model import Build
from ..build.parts import Fixture, Heater
from ..formulas.mixing import hot_share
from ..formulas.runs_heat import hot_wait, slow_start, time_to_cool
from ..formulas.water import water_density, water_specific_heat
from ..words.work import Work
from .budget import heater_of
from .habits import fixture_flow
from .make_plant import FLOW_THROUGH_CONTENT
from .paths import RunHeat, Way, run_heat, ways

ARRIVED = 2.0
"""K under what is wanted at which hot water counts as come (assumed)."""
WANTED = 313.15
"""K that is wanted where no fixture or valve says (40 °C)."""
GONE_COLD = 308.15
"""K under which standing water is felt as cold (assumed, 35 °C)."""


@dataclass(frozen=True)
class Wait:
    """One fixture, SI.

    ``content`` is the water between heater and outlet, ``held`` that and its tube's heat,
    ``bare`` the wait if tubes took up no heat, ``wasted`` what runs off in ``wait``.
    ``stays_warm`` is how long the run stays above 35 °C after a draw, None if it never was.
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


def waits(build: Build) -> tuple[Wait, ...]:
    """Every fixture that hot water comes to, in the order of the file."""
    heater = heater_of(build)
    if heater is None:
        return ()
    found = ways(build, heater)
    return tuple(
        _wait(build, fixture, found[fixture.name], heater)
        for fixture in build.fixture
        if fixture.name in found
    )


def _wait(build: Build, fixture: Fixture, way: Way, heater: Heater) -> Wait:
    hot = heater.setpoint
    flow = fixture_flow(build, fixture)
    parts = [run_heat(build, build.run[index], hot) for index in way.runs]
    before, after = parts[: way.mixed_from], parts[way.mixed_from :]
    share = 1.0
    if way.valve is not None and way.valve.kind == "fixed":
        share = float(
            hot_share.si(
                way.valve.setting,
                way.valve.set_hot or hot,
                way.valve.set_cold or build.van.cold_water,
            )
        )
        share = min(max(share, 0.02), 1.0)
    works: dict[str, Work] = {}
    wait = bare = 0.0
    for name, some, speed in (("to mixing", before, share * flow), ("to outlet", after, flow)):
        content, held = _sums(some)
        if content <= 0:
            continue
        works[name] = hot_wait.work(volume=content, number_wall=held / content - 1.0, flow=speed)
        wait += works[name].value
        bare += content / speed
    begins = 0.0
    if heater.kind == "flow-through":
        begins = heater.start_delay + _coming_up(
            build, heater, _goal(fixture, way, hot), share * flow, works
        )
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
        wait=wait + begins,
        wasted=(wait + begins) * flow,
        stays_warm=stays,
        works=works,
    )


def _goal(fixture: Fixture, way: Way, hot: float) -> float:
    """Hot water that is waited for: what the tap wants, or what its mixing valve needs."""
    wanted = fixture.temperature or WANTED
    if way.valve is not None:
        wanted = hot if way.valve.kind == "fixed" else way.valve.setting
    return min(wanted, hot) - ARRIVED


def _coming_up(
    build: Build, heater: Heater, wanted: float, flow: float, works: dict[str, Work]
) -> float:
    """Time for a flow-through heater to make water as warm as wanted, or none if it can't.

    Its own content is stirred; the heat goes into it while cold comes in.
    """
    content = heater.volume if heater.volume is not None else FLOW_THROUGH_CONTENT
    cold = build.van.cold_water
    power = heater.burner_power * heater.burner_efficiency or heater.element_power
    density = float(water_density.si(heater.setpoint))
    warmth = float(water_specific_heat.si(heater.setpoint))
    final = power / (density * warmth * flow)
    goal = wanted - cold
    if flow < heater.flow_least or final <= goal or goal <= 0:
        return 0.0
    works["heater"] = slow_start.work(
        volume=content, flow=flow, rise_first=final, rise_left=final - goal
    )
    return works["heater"].value


def _sums(parts: list[RunHeat]) -> tuple[float, float]:
    return sum(p.content for p in parts), sum(p.held for p in parts)
