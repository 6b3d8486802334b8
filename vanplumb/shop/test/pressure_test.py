"""The pressure test: how high, how long, by what rule, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...formulas.pressure import air_energy, air_energy_sudden, water_energy
from ...van.ratings import highest_supply, rating_at
from ...words.report import Caution
from ...words.show import show
from ...words.tables import Row, table
from ...words.work import Work
from .stiffness import Stiffness, stiffness, suction_runs

if TYPE_CHECKING:
    from ...van.model import Build

DEFAULT = "water at working pressure"
TRADE_FACTOR = 1.5
MOST = 689475.7
"""100 psi: some makers of tube ask for no more (typical published)."""
CREEP_SHARE = 0.10
"""Part of the pressure that fresh plastic loses in each tenfold of time: with ``SETTLING`` the
10 to 25 in 100 of the first hour that practice tells of, from memory."""
SETTLING = 60.0
"""Time, s, from which the creep of a pumped-up plastic tube is counted in decades."""
AIR_FACTOR = "air holds thousands of times more work than water at the same pressure"


@dataclass(frozen=True)
class Bound:
    """The most that one part may see in a test, and why."""

    part: str
    pressure: float
    why: str


@dataclass(frozen=True)
class TestPlan:
    """A test: pressure and time by a rule, what bounds it, and how it goes."""

    __test__ = False

    rule: Row
    medium: str
    working: float
    pressure: float
    duration: float
    bounds: tuple[Bound, ...]
    stiffness: Stiffness
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    problems: tuple[str, ...]
    work: tuple[Work, ...] = ()

    @property
    def weakest(self) -> Bound | None:
        """What bounds the pressure."""
        return min(self.bounds, key=lambda b: b.pressure) if self.bounds else None


def rule_pressure(rule: Row, working: float) -> float:
    """The least pressure that a rule asks for at a working pressure."""
    asked = working * (rule["factor"] or 0.0)
    if rule["extra"] is not None:
        asked = max(asked, working + rule["extra"])
    return float(max(asked, rule["pressure_least"] or 0.0))


def bounds_of(build: Build) -> tuple[Bound, ...]:
    """The most that each part may see: tube at the water's temperature, heater, relief."""
    found: dict[str, Bound] = {}
    tubes = table("tubes", build.rows)
    suction = suction_runs(build)
    for index, run in enumerate(build.run):
        rating = rating_at(tubes[run.tube], build.shop.temperature)
        if index not in suction and rating is not None:
            found.setdefault(run.tube, Bound(run.tube, rating, "rating of the tube, cold"))
    for heater in build.heater:
        if heater.pressure_rating is not None:
            why = "rating of the heater"
            found[heater.name] = Bound(heater.name, heater.pressure_rating, why)
        if heater.relief is not None:
            name = f"relief of {heater.name}"
            found[name] = Bound(name, 0.9 * heater.relief, "nine tenths of its opening pressure")
    return tuple(found.values())


def plan_test(build: Build, medium: str = "water", rule: str = "") -> TestPlan:
    """The test of a build by "water" or "air".

    The pressure is the build's ``test_pressure``, or else one and a half times the working
    pressure (as makers of tube ask), not below what the rule asks and not above the weakest
    part.  KeyError for an unknown rule, ValueError if the rule is for the other medium.
    """
    rules = table("test_rules", build.rows)
    row = rules[rule or (DEFAULT if medium == "water" else "air 50 psi")]
    if row["medium"] != medium:
        raise ValueError(f"{row.name} is a test by {row['medium']}, not by {medium}")
    working = build.limits.working_pressure or highest_supply(build).value
    least = rule_pressure(row, working)
    bounds = bounds_of(build)
    ceiling = min((b.pressure for b in bounds), default=float("inf"))
    stated = build.shop.test_pressure
    wanted = stated if stated is not None else max(least, min(TRADE_FACTOR * working, MOST))
    if medium == "air":
        wanted = stated if stated is not None else least
    pressure = wanted if stated is not None else min(wanted, max(ceiling, 0.0))
    problems = _problems(build, row, least, pressure, ceiling, bounds)
    gives = stiffness(build, pressure, accumulator=False)
    cautions, work = _cautions(medium, build, pressure, gives)
    return TestPlan(
        row, medium, working, pressure, row.number("duration"), bounds, gives,
        _steps(medium, build, pressure, row), cautions, problems, work,
    )  # fmt: skip


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
    if rule["medium"] == "air" and rule["plastic"] is False and _plastic(build):
        said.append("the rule does not let plastic tube be tested by air")
    return tuple(said)


def _plastic(build: Build) -> bool:
    tubes = table("tubes", build.rows)
    return any(tubes[r.tube]["material"] in ("PEX", "PE-X", "hose") for r in build.run)


def _steps(medium: str, build: Build, pressure: float, rule: Row) -> tuple[str, ...]:
    level = show(pressure, "pressure", build.van.units)
    stands = show(rule.number("duration"), "duration", build.van.units)
    shut = "shut off or take out what must not see the test: accumulator, pump switch, relief"
    if medium == "air":
        return (
            "the tube's and the fittings' makers allow air, and so does the code: else use water",
            "nobody near the joints while pressure rises; goggles on",
            shut,
            "raise to a fifth first, listen and look with soap water",
            f"raise slowly to {level}; note pressure and temperature",
            f"leave it for {stands}; note pressure and temperature again",
            "let the air out slowly before anything is touched",
        )
    return (
        shut,
        "fill with cold water and bleed every outlet until no air comes",
        f"pump up to {level}; the tube gives, so the pressure falls at first",
        "pump up again after 10 and after 20 min",
        f"from 30 min on read pressure and temperature, for {stands} at least",
        "wipe every joint dry, then look and feel at each one",
        "let the pressure down, open the accumulator, put the relief back",
    )


def work_told(work: float, units: str) -> str:
    """Work as it is told: 7.0 J, 47 J, 15.8 kJ, or in foot-pounds."""
    if units == "US":
        return show(work, "work", units)
    if work >= 999.5:
        return f"{work / 1000:.1f} kJ"
    return f"{work:.1f} J" if work < 9.95 else f"{work:.0f} J"


def _cautions(
    medium: str, build: Build, pressure: float, gives: Stiffness
) -> tuple[tuple[Caution, ...], tuple[Work, ...]]:
    code = Caution(
        "NOTICE", "Local code and the makers' sheets go first; some tests need a witness."
    )
    if medium == "water":
        return (
            Caution("CAUTION", "Drain and dry what a leak could wet; keep mains electricity off."),
            code,
        ), (water_energy.work(pressure=pressure, compliance=gives.compliance),)
    units = build.van.units
    slow = air_energy.work(pressure=pressure, volume=gives.volume)
    fast = air_energy_sudden.work(pressure=pressure, volume=gives.volume)
    wet = water_energy.work(pressure=pressure, compliance=gives.compliance)
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
