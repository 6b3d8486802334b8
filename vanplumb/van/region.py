"""Where a van is built: its region, and which rules that brings with it.

Every rule that differs by country is asked for here.  A rule outside its region is never an
answer; None, or an empty mapping, means "not known for this region".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Any

from ..words.sources import PRACTICE, Source
from ..words.tables import OWN, Row, table
from .trace import served

if TYPE_CHECKING:
    from .model import Build

Rows = Mapping[str, Mapping[str, Mapping[str, Any]]]
PLASTICS = ("PEX", "PE-X", "hose")
"""Materials of tubes that are plastic, or rubber with a fabric, and settle under pressure."""
RULES_BY_KEY = {
    "test_rule": "test_rules",
    "disinfection": "disinfection_rules",
    "mixed_limit": "mixed_limits",
}
"""Keys under [limits] that choose a single rule: the table that it is a row of."""
WASHING = {"shower", "outside shower", "basin"}
"""Sorts of fixture under which somebody stands or holds hands."""
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
    def source(self) -> Source:
        return self.row.source(self.column)


def usual_region(units: str) -> str:
    """The key of the region that is taken where nobody names one: by the units, "US" or "SI"."""
    return "US" if units == "US" else "EU"


def region_of(build: Build) -> Region:
    """The region of a build: as its file says, or else by its units."""
    said = build.van.region
    key = said or usual_region(build.van.units)
    found = table("regions", build.rows)[key]
    basis = "given" if said else f"taken from the units, {build.van.units}"
    return Region(key, str(found["title"]), found, basis)


def source_here(build: Build, us: Source, elsewhere: Source = PRACTICE) -> Source:
    """A rule of the US is cited in the US only; elsewhere the same advice is practice."""
    return us if region_of(build).key == "US" else elsewhere


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


@dataclass(frozen=True)
class OutletLimit:
    """The greatest temperature at an outlet, K, whose it is, and who it is for."""

    value: float
    source: Source
    who: str


def mixed_rows(region: str, own: Rows | None = None) -> dict[str, Row]:
    """The limits at mixed outlets that are used in a region, by its key."""
    return {n: r for n, r in table("mixed_limits", own).items() if region in r["regions"]}


def mixed_limit(build: Build, sort: str = "", *, vulnerable: bool = False) -> Row | None:
    """The row of the greatest temperature at a mixed outlet of a sort of fixture.

    The vulnerable go first: where one of them uses it, a row for them is taken before one
    for anyone.  Without a sort it is the region's for a fixture that no row speaks of.
    """
    known = mixed_rows(region_of(build).key, build.rows)
    chosen = known.get(build.limits.mixed_limit)
    if chosen is not None:
        return chosen
    fits = [r for r in known.values() if not r["sorts"] or sort in r["sorts"]]
    for user in ("vulnerable", "anyone") if vulnerable else ("anyone",):
        mine = [r for r in fits if r["user"] == user]
        exact = [r for r in mine if r["sorts"]] or mine
        if exact:
            return min(exact, key=lambda r: r.number("temperature"))
    return None


def limit_at(build: Build, component: str = "") -> OutletLimit | None:
    """The limit at a fixture, or the strictest of those that a mixing valve feeds.

    The build's own limit goes before any rule.  Without a name, or for a valve that feeds
    nothing, it is the strictest of all fixtures with warm water.  None if the region has no
    limit for any of them.
    """
    own = build.limits.outlet_temperature
    if own is not None:
        return OutletLimit(own, OWN, "as the build says")
    fed = set(served(build, component)) if component else set()
    warm = {name for heater in build.heater for name in served(build, heater.name)}
    at = [f for f in build.fixture if f.name == component or f.name in fed]
    at = at or [f for f in build.fixture if f.name in warm] or list(build.fixture)
    found = []
    for fixture in at:
        kind = table("fixtures", build.rows).get(fixture.kind)
        sort = str(kind["sort"] or "") if kind else ""
        row = mixed_limit(build, sort, vulnerable=fixture.vulnerable)
        if row is not None:
            who = f"{fixture.name}, {row['user']}: {row.name}"
            found.append(OutletLimit(row.number("temperature"), row.source("temperature"), who))
    return min(found, key=lambda one: one.value, default=None)


def advised_at_outlets(build: Build) -> OutletLimit | None:
    """The coolest limit of the region for anyone, whether law or advice."""
    rows = [r for r in mixed_rows(region_of(build).key, build.rows).values()
            if r["user"] == "anyone" and (not r["sorts"] or set(r["sorts"]) & WASHING)]  # fmt: skip
    row = min(rows, key=lambda r: r.number("temperature"), default=None)
    if row is None:
        return None
    return OutletLimit(row.number("temperature"), row.source("temperature"), row.name)


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


UPRIGHT = 0.7
"""A run that rises or falls by more than this part of its length is clipped as an upright one."""


@dataclass(frozen=True)
class ClipsOfRun:
    """How a run is clipped: greatest distance, m, that is allowed and that is used.

    ``limit`` is the region's; without one, or where the tube itself asks for less, ``allowed``
    is the tube's own.  ``used`` is what the build says, or else what is allowed.
    """

    upright: bool
    limit: Limit | None
    allowed: float | None
    used: float | None
    source: Source

    @property
    def too_far(self) -> bool:
        """Whether the build's clips stand farther apart than allowed."""
        both = self.used is not None and self.allowed is not None
        return both and (self.used or 0.0) > (self.allowed or 0.0) * 1.001

    def count(self, length: float) -> int:
        """Clips along a length, m, that stand no farther apart than is allowed."""
        return clips_along(min((d for d in (self.used, self.allowed) if d), default=None), length)


def clips_along(spacing: float | None, length: float) -> int:
    """Clips along a run: one at each greatest distance, and one more."""
    return floor(length / spacing + 1e-9) + 1 if spacing else 1


def clips_of_run(build: Build, number: int) -> ClipsOfRun:
    """How a run (from 0) is clipped."""
    run = build.run[number]
    upright = abs(run.rise) > UPRIGHT * run.length
    limit = clip_distance(build, run.tube, upright=upright)
    tube = table("tubes", build.rows)[run.tube]
    own = tube["support"]
    allowed = limit.value if limit is not None else own
    source = limit.source if limit is not None else tube.source("support")
    if limit is not None and own is not None and own < limit.value - 1e-9 and not upright:
        allowed, source = own, tube.source("support")
    used = run.clip_spacing if run.clip_spacing is not None else allowed
    return ClipsOfRun(upright, limit, allowed, used, source)


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


def device_told(device: Row) -> str:
    """A backflow device by name and standard, and how long it stands pressure."""
    lasts = "stands pressure all the time"
    if not device["continuous"]:
        lasts = f"at most {device.number('hours') / 3600:.0f} h under pressure"
    return f"{device.name} ({device['standard']}, {lasts})"


def backflow_devices(build: Build, place: str, *, continuous: bool) -> tuple[Row, ...]:
    """The devices of the region for a place; only those that stand pressure if it is left on."""
    return tuple(
        r
        for r in rules_of(build, "backflow").values()
        if place in r["places"] and (r["continuous"] or not continuous)
    )
