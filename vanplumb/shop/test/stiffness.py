"""How much water a closed system takes up per pressure: what a drop of a gauge means.

Water gives a little, plastic tube gives much more, an accumulator gives most of all.  The
heater's own wall is left out: it is stiff beside the rest, and so are bowls of filters.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...flow.elasticity import give_of, squeeze_of_water, tube_give
from ...flow.service_pressure import ServicePressures, service_pressures
from ...formulas.pressure import air_compliance
from ...formulas.tube import tube_content
from ...formulas.water import water_density
from ...van.kinds import line_parts
from ...van.main_parts import as_joined
from ...van.trace import title
from ...van.water_held import BESIDE, stretches
from ...words.brief import brief
from ...words.glossary import ICE_POINT
from ...words.tables import table
from ...words.work import Work

if TYPE_CHECKING:
    from ...van.model import Build
    from ...van.parts import Heater


@brief
@dataclass(frozen=True)
class Give:
    """One part of the system: its water, m³, and how much it takes up per pressure, m³/Pa.

    ``wall_growth`` is how much more it holds per kelvin because its wall grows, m³/K, and
    ``insulated`` tells a store, whose warmth no thermometer in the shop shows.
    """

    name: str
    volume: float
    compliance: float
    wall_growth: float = 0.0
    insulated: bool = False


@brief
@dataclass(frozen=True)
class Stiffness:
    """The whole system.  ``works`` are the steps of what runs and heaters take up."""

    parts: tuple[Give, ...]
    pressure: float
    works: tuple[Work, ...] = ()

    @property
    def volume(self) -> float:
        return sum(p.volume for p in self.parts)

    @property
    def compliance(self) -> float:
        return sum(p.compliance for p in self.parts)

    def warming(self, first: float, then: float, *, stores: bool = False) -> float:
        """Pressure gained, Pa, when what is not insulated goes from one temperature to another, K.

        Water's growth is that of its density, which is greatest near 4 °C, so a constant will
        not do; the wall's growth is taken off.  ``stores`` lets the stores go along.
        """
        if not self.compliance:
            return 0.0
        dense = [float(water_density.si(min(max(t, ICE_POINT), 373.15))) for t in (first, then)]
        grows = dense[0] / dense[1] - 1.0
        moved = [p for p in self.parts if stores or not p.insulated]
        outgrown = sum(p.volume * grows - p.wall_growth * (then - first) for p in moved)
        return outgrown / self.compliance


@dataclass(frozen=True)
class UnderTest:
    """What one gauge sees: numbers of runs, and the heaters that they lead to.

    ``apart`` are the runs of other waters under pressure, which no tube joins to these;
    ``falling`` fixtures that water only runs down to from a tank beside a van's pumps.
    """

    runs: tuple[int, ...]
    heaters: tuple[Heater, ...]
    apart: tuple[tuple[int, ...], ...] = ()
    falling: tuple[str, ...] = ()


def under_test(build: Build, pressures: ServicePressures | None = None) -> UnderTest:
    """The water that sees the most pressure in service; of alike ones that of most runs."""
    suction = suction_runs(build)
    pressed = [index for index in range(len(build.run)) if index not in suction]
    waters = _waters(build, pressed)
    if len(waters) > 1:
        held = pressures or service_pressures(build)
        highest = {water: max(held.of_run(i).value for i in water) for water in waters}
        waters.sort(key=lambda water: (highest[water], len(water)), reverse=True)
    seen = waters[0] if waters else ()
    parts = {port.component for index in seen for port in build.run_ends[index]}
    fed = {build.run_ends[index][1].component for index in suction}
    return UnderTest(
        seen,
        tuple(h for h in build.heater if h.name in parts or not build.run),
        tuple(waters[1:]),
        tuple(f.name for f in build.fixture if f.name in fed and f.name not in parts),
    )


def _waters(build: Build, runs: list[int]) -> list[tuple[int, ...]]:
    """Runs that share their water with every tap shut: they meet in a part that is no tap."""
    shut = {f.name for f in build.fixture} | {t.name for t in build.tank}
    left, found = dict.fromkeys(runs), list[tuple[int, ...]]()
    while left:
        water, reached = {next(iter(left))}, set[str]()
        while True:
            reached |= {p.component for i in water for p in build.run_ends[i]} - shut
            more = {i for i in left if {p.component for p in build.run_ends[i]} & reached}
            if more <= water:
                break
            water |= more
        found.append(tuple(sorted(water)))
        for index in water:
            del left[index]
    return found


def stiffness(
    build: Build,
    pressure: float,
    *,
    accumulator: bool = True,
    heater: bool = True,
    seen: UnderTest | None = None,
) -> Stiffness:
    """Water and give of all that is under pressure: from the pump on, tank and suction not.

    ``accumulator`` False counts the system with its accumulators shut off, ``heater`` False with
    its heaters; ``seen`` is what the gauge sees, if it is at hand.
    """
    build, parts = as_joined(build), list[Give]()
    tubes = table("tubes", build.rows)
    seen = seen or under_test(build)
    runs = list(seen.runs)
    outside = set(range(len(build.run))) - set(runs)
    heat = build.shop.temperature
    heaters = [(h.name, h.volume) for h in seen.heaters if h.volume and heater]
    bowls = bowls_under_test(build, outside)
    bodies = bodies_under_test(build, outside)
    squeeze = squeeze_of_water(heat).value
    for index in runs:
        run = build.run[index]
        row = tubes[run.tube]
        volume = float(tube_content.si(row.number("bore"), run.length))
        grows = 3 * (row["expansion_coefficient"] or 0.0) * volume
        gives = tube_give(build, row, volume).value + volume * squeeze
        name = f"run {index + 1}, {title(build, index)}"
        parts.append(Give(name, volume, gives, grows))
    for name, held in heaters:
        parts.append(Give(name, held, held * squeeze, insulated=True))
    parts += [Give(name, held, held * squeeze) for name, held in bowls]
    # a header's stubs are taken as stiff as the bodies that they join: a little too stiff
    parts += [Give(name, held, held * squeeze) for name, held in bodies]
    if accumulator:
        met = {port.component for index in runs for port in build.run_ends[index]}
        parts += [
            _cushion(v.name, v.volume, v.precharge, pressure)
            for v in build.accumulator
            if v.name in met or not build.run
        ]
    vessels = [*heaters, *bowls]
    if bodies:
        vessels.append((BESIDE, sum(held for _, held in bodies)))
    return Stiffness(tuple(parts), pressure, give_of(build, runs, vessels, heat).works)


def bodies_under_test(build: Build, outside: set[int]) -> tuple[tuple[str, float], ...]:
    """Headers, valves and the like that see the test, each with the water in it, m³.

    What a run ``outside`` it leads to does not, the pump among them.
    """
    dry = {port.component for number in outside for port in build.run_ends[number]}
    dry |= set(build.hung_pumps)
    return tuple((one.name, one.volume) for one in stretches(build) if one.component not in dry)


def bowls_under_test(build: Build, outside: set[int]) -> tuple[tuple[str, float], ...]:
    """Filters, lamps and softeners that see the test, each with the water in it, m³.

    Those that are bypassed or taken out for it, and those on runs ``outside`` it, do not.
    """
    out = {part.name for part in line_parts.left_out(build, "pressure test")}
    return tuple(
        (part.name, held)
        for part in build.line_part
        if part.name not in out
        and (held := line_parts.content(build, part)) > 0
        and not any(number in outside for number, _, _ in build.runs_into.get(part.name, ()))
    )


def suction_runs(build: Build) -> set[int]:
    """Runs between the tank and the first pump: they see no test pressure."""
    pumps = {p.name for p in build.pump}
    found: set[int] = set()
    reached = {t.name for t in build.tank if t.holds == "fresh"}
    if not pumps:
        return found
    while True:
        more = {
            i
            for i, run in enumerate(build.run)
            if i not in found and build.ends(run)[0].component in reached
        }
        if not more:
            return found
        found |= more
        reached |= {build.ends(build.run[i])[1].component for i in more} - pumps


def _cushion(name: str, volume: float, precharge: float, pressure: float) -> Give:
    """An accumulator: its air by the gas law, nothing below its precharge."""
    from ...words.glossary import PRESSURE_STANDARD

    if pressure <= precharge:
        return Give(f"{name}, below its precharge", 0.0, 0.0)
    air = volume * (precharge + PRESSURE_STANDARD) / (pressure + PRESSURE_STANDARD)
    return Give(f"{name}, its air", volume - air, float(air_compliance.si(air, pressure)))
