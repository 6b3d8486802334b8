"""Where a van is built: its region, and which rules that brings with it.

Every rule that differs by country is asked for here.  A rule outside its region is never an
answer; None, or an empty mapping, means "not known for this region".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..words.tables import Row, table

if TYPE_CHECKING:
    from .model import Build

PLASTICS = ("PEX", "PE-X", "hose")
"""Materials of tubes that are plastic, or rubber with a fabric, and settle under pressure."""
RULES_BY_KEY = {
    "test_rule": "test_rules",
    "disinfection": "disinfection_rules",
    "mixed_limit": "mixed_limits",
}
"""Keys under [limits] that choose a single rule: the table that it is a row of."""
NOT_KNOWN = "not known for this region"


@dataclass(frozen=True)
class Region:
    """One region.  ``basis`` is "given", or why it was taken."""

    key: str
    title: str
    row: Row
    basis: str


@dataclass(frozen=True)
class Limit:
    """A limit of a region and the row that has it, which says where it comes from."""

    value: float
    row: Row
    column: str

    @property
    def source(self) -> str:
        return str(self.row.source(self.column))


def region_of(build: Build) -> Region:
    """The region of a build: as its file says, or else by its units."""
    said = build.van.region
    key = said or ("US" if build.van.units == "US" else "EU")
    found = table("regions", build.rows)[key]
    basis = "given" if said else f"taken from the units, {build.van.units}"
    return Region(key, str(found["title"]), found, basis)


def rules_of(build: Build, name: str) -> Mapping[str, Row]:
    """The rows of a table that are used in the build's region, in the table's order."""
    key = region_of(build).key
    return {n: row for n, row in table(name, build.rows).items() if key in row["regions"]}


def is_plastic(build: Build) -> bool:
    """Whether any of its tube settles under pressure, as plastic does."""
    tubes = table("tubes", build.rows)
    return any(tubes[run.tube]["material"] in PLASTICS for run in build.run)


def pressure_test_rule(build: Build, medium: str = "water") -> Row | None:
    """The rule of the pressure test by "water" or "air": chosen in the file, or the region's.

    The region's usual rule for the tube's material, or the next one that takes its size.  None
    if the region has no such test.
    """
    known = rules_of(build, "test_rules")
    chosen = known.get(build.limits.test_rule)
    if chosen is not None and chosen["medium"] == medium:
        return chosen
    row = region_of(build).row
    usual = row["test_air"] if medium == "air" else row[_usual(build)]
    if not usual:
        return None
    tubes = table("tubes", build.rows)
    widest = max((tubes[run.tube].number("od") for run in build.run), default=0.0)
    if _takes(known[usual], widest, is_plastic(build)):
        return known[usual]
    fits = [r for r in known.values() if r["medium"] == medium]
    return next((r for r in fits if _takes(r, widest, is_plastic(build))), known[usual])


def _usual(build: Build) -> str:
    return "test_water" if is_plastic(build) else "test_metal"


def _takes(rule: Row, widest: float, plastic: bool) -> bool:
    """Whether a rule is for tube of that material and size, m."""
    least, most, material = rule["od_least"], rule["od_greatest"], rule["materials"]
    if material and material != ("plastic" if plastic else "metal"):
        return False
    if plastic and most is not None and widest > most + 1e-9:
        return False
    return least is None or widest > least + 1e-9


def disinfection(build: Build) -> Row | None:
    """The way to disinfect: chosen in the file, or the region's."""
    known = rules_of(build, "disinfection_rules")
    return known.get(build.limits.disinfection) or known.get(region_of(build).row["disinfection"])


def mixed_limit(build: Build, fixture: str = "", *, vulnerable: bool = False) -> Limit | None:
    """The greatest temperature at a mixed outlet of a kind of fixture (a row of fixtures).

    The vulnerable go first: where one of them uses it, a row for them is taken before one
    for anyone.  Without a kind it is the region's for a fixture that no row speaks of.
    """
    known = rules_of(build, "mixed_limits")
    chosen = known.get(build.limits.mixed_limit)
    if chosen is not None:
        return Limit(chosen.number("temperature"), chosen, "temperature")
    fits = [r for r in known.values() if not r["fixtures"] or fixture in r["fixtures"]]
    for user in ("vulnerable", "anyone") if vulnerable else ("anyone",):
        mine = [r for r in fits if r["user"] == user]
        own = [r for r in mine if r["fixtures"]] or mine
        if own:
            coolest = min(own, key=lambda r: r.number("temperature"))
            return Limit(coolest.number("temperature"), coolest, "temperature")
    return None


def clip_distance(build: Build, tube: str, *, upright: bool = False) -> Limit | None:
    """The greatest distance between clips of a tube, m, on a level or an upright run."""
    row = table("tubes", build.rows)[tube]
    column = "upright" if upright else "level"
    fits = [
        r
        for r in rules_of(build, "clips").values()
        if row["material"] in r["materials"] and row.number("od") <= r.number("od_greatest") + 1e-9
    ]
    if not fits:
        return None
    one = min(fits, key=lambda r: r.number("od_greatest"))
    return Limit(one[column], one, column) if one[column] is not None else None


def speed_limit(build: Build, tube: str, *, hot: bool, single: bool) -> Limit | None:
    """The greatest speed of water in a tube, m/s; ``single`` feeds one fixture only."""
    material = table("tubes", build.rows)[tube]["material"]
    place = "single" if single else "header"
    fits = [
        r
        for r in rules_of(build, "velocities").values()
        if r["place"] in (place, "any")
        and (not r["materials"] or material in r["materials"])
        and r["hot"] in (None, hot)
    ]
    if not fits:
        return None
    one = min(fits, key=lambda r: r.number("velocity"))
    return Limit(one.number("velocity"), one, "velocity")


def heater_distance(build: Build, tube: str, kind: str) -> Limit | None:
    """How far plastic tube must stay from a heater of a kind, m."""
    material = table("tubes", build.rows)[tube]["material"]
    for one in rules_of(build, "heater_distances").values():
        if material in one["materials"] and (not one["heaters"] or kind in one["heaters"]):
            return Limit(one.number("distance"), one, "distance")
    return None


def water_temperature(build: Build, place: str) -> Row | None:
    """What is asked of the temperature of the "store", a "hot outlet" or the "cold" water."""
    known = rules_of(build, "water_temperatures").values()
    return next((r for r in known if r["place"] == place), None)


def backflow_devices(build: Build, place: str, *, continuous: bool) -> tuple[Row, ...]:
    """The devices of the region for a place; only those that stand pressure if it is left on."""
    return tuple(
        r
        for r in rules_of(build, "backflow").values()
        if place in r["places"] and (r["continuous"] or not continuous)
    )
