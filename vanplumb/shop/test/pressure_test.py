"""The pressure test: how high, how long, by what rule of the region, stage by stage."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from ...flow.closed_heating import RELIEF_SHARE, Bound
from ...flow.service_pressure import ServicePressures, service_pressures
from ...formulas.pressure import air_energy, air_energy_sudden, water_energy
from ...van.kinds import line_parts, pumps
from ...van.main_parts import as_joined
from ...van.ratings import rating_at
from ...van.region import NOT_KNOWN, is_plastic, pressure_test_rule, region_of, rules_of
from ...van.trace import title
from ...words.brief import brief
from ...words.report import Caution
from ...words.show import show
from ...words.tables import Row, table
from ...words.unit_table import PSI
from ...words.work import Work
from .stiffness import Stiffness, UnderTest, stiffness, under_test

if TYPE_CHECKING:
    from ...van.model import Build

TRADE_FACTOR = 1.5
MOST = 100 * PSI
"""100 psi: some makers of tube ask for no more (typical published)."""
SETTLING = 60.0
"""Time, s, from which the creep of a pumped-up plastic tube is counted in decades."""
DRY = 15e3 + 1.0
"""Up to here, Pa, a test by air is a dry test: it finds gaps and proves no strength."""
LEAST = {"US": 15 * PSI, "SI": 1e5}
"""Pa that a test by water goes up to at least, where no rule asks for as much: what a tank or a
foot gives shows nothing on a gauge (common practice, no source)."""
FIRST_VOLUME = 0.1
MORE_TIME = 20 * 60.0
"""A dry test takes so much longer for each 100 L after the first (ZVSHK sheet, from memory)."""
AGAIN = 10 * 60.0
"""How long joints that the test disturbed are looked at again, s (practice)."""


class NoRule(ValueError):
    """The region has no such test, as far as is known."""


@dataclass(frozen=True)
class Hold:
    """One stage: the pressure is kept up by pumping ("pump") or watched ("watch").

    ``fall`` is the greatest fall that the rule lets pass, Pa; 0 is none that the gauge shows.
    """

    kind: str
    pressure: float
    duration: float
    fall: float = 0.0


@brief
@dataclass(frozen=True)
class TestPlan:
    """A test: pressure and stages by a rule, what bounds it, and how it goes.

    ``asked`` is the least pressure that the rule asks for, Pa.
    ``duration`` is that of all stages.  ``relief_stays`` says that the relief valves see no
    more than they may, and are left alone.
    """

    __test__ = False

    rule: Row
    medium: str
    working: float
    asked: float
    pressure: float
    duration: float
    stages: tuple[Hold, ...]
    bounds: tuple[Bound, ...]
    stiffness: Stiffness
    relief_stays: bool
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    problems: tuple[str, ...]
    work: tuple[Work, ...] = ()

    @property
    def weakest(self) -> Bound | None:
        """What bounds the pressure."""
        return min(self.bounds, key=lambda b: b.pressure) if self.bounds else None


def hardly_pressed(build: Build, pressures: ServicePressures | None = None) -> bool:
    """Whether nothing in service makes as much pressure as a test needs to tell anything."""
    return working_pressure(build, pressures) < LEAST[build.van.units]


def working_pressure(build: Build, pressures: ServicePressures | None = None) -> float:
    """The highest pressure in service, Pa: as stated, or what the parts make if that is more."""
    found = pressures or service_pressures(build)
    return max(build.limits.working_pressure or 0.0, found.highest.value)


def rule_pressure(rule: Row, working: float, design: float | None = None) -> float:
    """The least pressure that a rule asks for at a working pressure.

    A rule that counts from the highest design pressure takes ``design``, or, if none is
    stated, its own multiple of the working pressure.
    """
    base = working
    if rule["design_factor"] is not None:
        base = design if design is not None else working * rule["design_factor"]
    asked = base * (rule["factor"] or 0.0)
    if rule["extra"] is not None:
        asked = max(asked, working + rule["extra"])
    return float(max(asked, rule["pressure_least"] or 0.0))


def bounds_of(
    build: Build, *, heater: bool = True, seen: UnderTest | None = None
) -> tuple[Bound, ...]:
    """The most that each part may see: tube at the water's temperature, heater, relief.

    ``heater`` False leaves out the heater and its relief valve, which a rule shuts off; ``seen``
    is what the test presses on, if it is at hand.
    """
    found: dict[str, Bound] = {}
    tubes = table("tubes", build.rows)
    seen = seen or under_test(build)
    for index in seen.runs:
        run = build.run[index]
        rating = rating_at(tubes[run.tube], build.shop.temperature)
        if rating is not None:
            found.setdefault(run.tube, Bound(run.tube, rating, "rating of the tube, cold"))
    for one in seen.heaters if heater else ():
        if one.pressure_rating is not None:
            why = "rating of the heater"
            found[one.name] = Bound(one.name, one.pressure_rating, why)
        if one.relief is not None:
            name = f"relief of {one.name}"
            why = "nine tenths of its opening pressure"
            found[name] = Bound(name, RELIEF_SHARE * one.relief, why)
    return tuple(found.values())


def chosen_rule(build: Build, medium: str, name: str = "") -> Row:
    """The rule by name, or the region's for that medium.

    KeyError for an unknown name, NoRule for one of another region or if the region has none,
    ValueError if the rule is for the other medium.
    """
    if not name:
        row = pressure_test_rule(build, medium)
        if row is None:
            raise NoRule(f"a test by {medium} is {NOT_KNOWN}, {region_of(build).title}")
        return row
    row = table("test_rules", build.rows)[name]
    if name not in rules_of(build, "test_rules"):
        raise NoRule(f"{name} is no rule of this region, {region_of(build).title}")
    if row["medium"] != medium:
        raise ValueError(f"{row.name} is a test by {row['medium']}, not by {medium}")
    return row


def plan_test(
    build: Build,
    medium: str = "water",
    rule: str = "",
    pressures: ServicePressures | None = None,
) -> TestPlan:
    """The test of a build by "water" or "air"; ``pressures`` in service, if they are at hand.

    The pressure is the build's ``test_pressure``, or else what the rule asks; where a rule of
    the US asks for no more than the working pressure, one and a half times that, as makers of
    tube ask.  Where that is less than a gauge tells, as where water only runs down from a tank
    or a foot presses it, it is ``LEAST``.  It is not above the weakest part.  Errors as
    ``chosen_rule``.
    """
    build = as_joined(build)
    row = chosen_rule(build, medium, rule)
    pressures = pressures or service_pressures(build)
    working = working_pressure(build, pressures)
    least = rule_pressure(row, working, build.limits.design_pressure)
    seen = under_test(build, pressures)
    bounds = bounds_of(build, heater=not row["without_heater"], seen=seen)
    ceiling = min((b.pressure for b in bounds), default=float("inf"))
    stated = build.shop.test_pressure if medium == "water" or not row["pressure_greatest"] else None
    wanted = least
    if medium == "water" and "US" in row["regions"]:
        wanted = max(least, min(TRADE_FACTOR * working, MOST))
    if medium == "water":
        wanted = max(wanted, LEAST[build.van.units])
    pressure = stated if stated is not None else min(wanted, max(ceiling, 0.0))
    if row["pressure_greatest"] is not None:
        pressure = min(pressure, row["pressure_greatest"])
    reliefs = [h.relief for h in seen.heaters if h.relief is not None]
    stays = all(pressure <= RELIEF_SHARE * r + 1.0 for r in reliefs) and not row["without_heater"]
    gives = stiffness(build, pressure, accumulator=False, heater=stays, seen=seen)
    stages = _stages(build, row, pressure, gives)
    cautions, work = _cautions(medium, build, pressure, gives)
    return TestPlan(
        row, medium, working, least, pressure, sum(s.duration for s in stages), stages, bounds,
        gives, stays, _steps(build, row, stages, stays, pressures, seen), cautions,
        _problems(build, row, least, pressure, ceiling, bounds), work,
    )  # fmt: skip


def _stages(build: Build, rule: Row, pressure: float, gives: Stiffness) -> tuple[Hold, ...]:
    rows = [r for r in table("test_stages", build.rows).values() if r["rule"] == rule.name]
    longer = 0.0
    if rule["medium"] == "air" and pressure <= DRY:
        longer = MORE_TIME * ceil(max(gives.volume - FIRST_VOLUME, 0.0) / FIRST_VOLUME - 1e-9)
    stages = tuple(
        Hold(
            str(r["kind"]),
            pressure * r.number("share"),
            r.number("duration") + longer,
            r["fall_greatest"] or 0.0,
        )
        for r in sorted(rows, key=lambda r: r.number("order"))
    )
    return stages or (Hold("watch", pressure, rule.number("duration")),)


def _problems(
    build: Build,
    rule: Row,
    least: float,
    pressure: float,
    ceiling: float,
    bounds: tuple[Bound, ...],
) -> tuple[str, ...]:
    units = build.van.units
    said = []
    if pressure < least - 1.0:
        said.append(
            f"{show(pressure, 'pressure', units)} is less than the rule asks for, "
            f"{show(least, 'pressure', units)}"
        )
    if pressure > ceiling + 1.0:
        weakest = min(bounds, key=lambda b: b.pressure)
        said.append(
            f"{show(pressure, 'pressure', units)} is above what {weakest.part} may see, "
            f"{show(weakest.pressure, 'pressure', units)} ({weakest.why})"
        )
    if rule["plastic"] is False and is_plastic(build):
        how = "by air" if rule["medium"] == "air" else "so"
        said.append(f"the rule does not let plastic tube be tested {how}")
    return tuple(said)


def _steps(
    build: Build,
    rule: Row,
    stages: tuple[Hold, ...],
    stays: bool,
    pressures: ServicePressures,
    seen: UnderTest,
) -> tuple[str, ...]:
    if rule["medium"] == "air":
        return (*_air_steps(build, stages, stays, seen), *_beside(build, pressures, seen))
    units = build.van.units
    level = show(stages[0].pressure, "pressure", units)
    settles = is_plastic(build) and stages[0].kind == "watch"
    return (
        *_shut(build, stays, seen),
        *_by_hand(build, pressures),
        "fill with cold water and bleed every outlet until no air comes; wait until water and "
        "tube are as warm as the shop",
        f"pump up to {level}"
        + ("; the tube stretches, so the pressure falls at first" if settles else ""),
        *(["pump up again after 10 and after 20 min, before the time begins"] if settles else []),
        *_stage_steps(stages, units),
        "wipe every joint dry, then look and feel at each one",
        *_put_back(build, stays, pressures, seen),
        *_beside(build, pressures, seen),
    )


def _beside(build: Build, pressures: ServicePressures, seen: UnderTest) -> list[str]:
    """What this test does not press on, and how its joints are looked at all the same."""
    said = []
    for runs in seen.apart:
        parts = {port.component for index in runs for port in build.run_ends[index]}
        taps = [f.name for f in build.fixture if f.name in parts] or [title(build, runs[0])]
        level = max(pressures.of_run(index).value for index in runs)
        said.append(
            f"the line of {' and '.join(taps)} is not joined to this one: test it by itself, at "
            f"{show(level, 'pressure', build.van.units)} at least, which it sees in service"
        )
    if seen.falling:
        said.append(
            f"water only runs down to {' and '.join(seen.falling)}, past no pump: fill the tank "
            "to the brim, wait as long as for the test, and look at every joint on the way there"
        )
    return said


def _by_hand(build: Build, pressures: ServicePressures) -> list[str]:
    """What is other than usual where a tank or a foot makes all the pressure that there is."""
    if not hardly_pressed(build, pressures):
        return []
    said = ["the tank stays out of the test, it bears no pressure: take the first run off it and "
            "cap that"] if build.tank else []  # fmt: skip
    return [
        *said,
        "a hand pump for tests at one outlet, its gauge beside it; the makers of taps and tube "
        "must allow this pressure: leave out, capped, what they don't",
    ]


def _stage_steps(stages: tuple[Hold, ...], units: str) -> list[str]:
    said = []
    before = stages[0].pressure
    for stage in stages:
        time = show(stage.duration, "duration", units)
        level = show(stage.pressure, "pressure", units)
        if stage.pressure < before - 1.0:
            said.append(f"let water out until it shows {level}, and shut the drain")
        before = stage.pressure
        if stage.kind == "pump":
            said.append(f"keep it at {level} by pumping for {time}, while the tube settles")
            continue
        fall = (
            f"at most {show(stage.fall, 'pressure', units)} may be lost"
            if stage.fall
            else "no fall that the gauge can show"
        )
        said.append(
            f"note pressure and temperature, pump no more, and note both again after {time}: {fall}"
        )
    return said


def _shut(build: Build, stays: bool, seen: UnderTest) -> list[str]:
    """What is shut off, and that a relief valve is never plugged."""
    switched = any(pumps.has_switch(build, pump) for pump in build.pump)
    names = ["pump with its switch" if switched else "pump"] if build.pump else []
    names += ["accumulator"] if build.accumulator else []
    if not stays and seen.heaters:
        names.append("heater with its relief valve")
    names += [
        f"{part.name}, by its bypass" if part.bypass else part.name
        for part in line_parts.left_out(build, "pressure test")
    ]
    said = [f"shut off or take out what must not see the test: {', '.join(names)}"] if names else []
    reliefs = [h.relief for h in seen.heaters if h.relief is not None]
    if reliefs and stays:
        opens = show(min(reliefs), "pressure", build.van.units)
        said.append(f"leave the relief valve where it is: it opens at {opens}, above the test")
    elif reliefs:
        said.append("never plug a relief valve: the heater is shut off with it, cold and empty")
    return said


def _put_back(build: Build, stays: bool, pressures: ServicePressures, seen: UnderTest) -> list[str]:
    """What the test disturbed is looked at again, at the pressure of every day."""
    switched = [pumps.highest(build, p)[0] for p in build.pump if pumps.has_switch(build, p)]
    top = max(switched, default=pressures.held.supply)
    level = show(top, "pressure", build.van.units)
    how = (
        f"let the pump run up to its cut-out ({level})"
        if switched
        else f"bring it to the pressure of every day ({level})"
    )
    if hardly_pressed(build, pressures):
        how = "fill the tank and draw at every outlet"
    back = ["accumulator"] if build.accumulator else []
    back += ["pump"] if build.pump else []
    back += [] if stays or not seen.heaters else ["heater with its relief valve"]
    again = show(AGAIN, "duration", build.van.units)
    return [
        f"let the pressure down{', open ' + ' and '.join(back) if back else ''}, take the gauge "
        "and the hand pump off",
        f"{how}, wait {again}, and look again at every joint that was opened for the test",
    ]


def _air_steps(
    build: Build, stages: tuple[Hold, ...], stays: bool, seen: UnderTest
) -> tuple[str, ...]:
    units = build.van.units
    level = show(stages[0].pressure, "pressure", units)
    time = show(stages[0].duration, "duration", units)
    dry = stages[0].pressure <= DRY
    first = (
        ["the first test of dry tube, before any water: oil-free air, clean hose"]
        if dry
        else ["the makers of tube and of fittings allow air, and so does the code: else use water"]
    )
    rise = (
        [f"raise slowly to {level}, wait until the gauge stands still"]
        if dry
        else [
            "raise to a fifth first, listen and look with soap water",
            f"raise slowly to {level}",
        ]
    )
    load = rules_of(build, "test_rules").get("dry load test 3 bar") if dry else None
    more = []
    if load is not None:
        most = show(load.number("pressure_greatest"), "pressure", units)
        for_time = show(load.number("duration"), "duration", units)
        more = [
            f"only then, if makers and code allow it, a load test: never above {most}, {for_time}, "
            "goggles on and nobody near the joints",
            "a dry test proves no strength: the test by water follows before the hand-over",
        ]
    return (
        *first,
        "nobody near the joints while pressure rises; goggles on",
        *_shut(build, stays, seen),
        *rise,
        f"note pressure and temperature, leave it for {time}, note both again: no fall that the "
        "gauge can show",
        *more,
        "let the air out slowly before anything is touched",
    )


def work_told(work: float, units: str) -> str:
    """Work as it is told: 7.0 J, 47 J, 15.8 kJ, or in foot-pounds."""
    if units == "US":
        return show(work, "work", units)
    if work >= 999.5:
        return f"{work / 1000:.1f} kJ"
    return f"{work:.1f} J" if work < 9.95 else f"{work:.0f} J"


def stored_work(pressure: float, gives: Stiffness) -> tuple[Work, Work, Work]:
    """Work held under a pressure: by air, slowly and in a burst, and by water in its place."""
    return (
        air_energy.work(pressure=pressure, volume=gives.volume),
        air_energy_sudden.work(pressure=pressure, volume=gives.volume),
        water_energy.work(pressure=pressure, compliance=gives.compliance),
    )


def _cautions(
    medium: str, build: Build, pressure: float, gives: Stiffness
) -> tuple[tuple[Caution, ...], tuple[Work, ...]]:
    code = Caution(
        "NOTICE",
        "Local code and the manufacturers' instructions go first; some tests need a witness.",
    )
    slow, fast, wet = stored_work(pressure, gives)
    if medium == "water":
        return (
            Caution(
                "WARNING",
                "Water on live wires can kill: mains electricity off while it is tested, and dry "
                "what a leak wets before it goes on again.",
            ),
            code,
        ), (wet,)
    units = build.van.units
    least, most = sorted((slow.value, fast.value))
    return (
        Caution(
            "WARNING",
            "Air under pressure can burst plastic into splinters: at "
            f"{show(pressure, 'pressure', units)} this system would hold "
            f"{work_told(least, units)} to {work_told(most, units)} as air, "
            f"{work_told(wet.value, units)} as water. "
            "Most makers of plastic tube and some codes forbid it.",
        ),
        code,
    ), (slow, fast, wet)
