"""The tap that the crew fills cups and pots at."""

from __future__ import annotations

from ...van.kinds.fixtures import rated_flow
from ...van.model import Build
from ...van.parts import Fixture
from ...words.tables import table
from .feeds import TankSet, cold_feed, tank_sets

DRUNK_FROM = ("sink", "basin")
"""Sorts of fixtures that water is drunk from, the likeliest first."""
NEVER = ("toilet", "washing machine")
"""Sorts that nobody drinks from."""


def drinking_tap(build: Build, sets: tuple[TankSet, ...] | None = None) -> Fixture | None:
    """The tap for drinking and cooking: in the cabin, with cold water, a sink's before a basin's.

    Of several alike one that gives cold water only, then that with the least flow.  None in a
    van that has none to drink from.
    """
    sets = tank_sets(build) if sets is None else sets
    rows = table("fixtures", build.rows)
    sorts = {f.name: str(rows[f.kind]["sort"] or "") for f in build.fixture if f.kind in rows}
    taps = [f for f in build.fixture if sorts.get(f.name) not in NEVER]
    taps = [f for f in taps if cold_feed(build, sets, f).sets] or taps
    taps = [f for f in taps if f.place == "cabin"] or taps
    for sort in DRUNK_FROM:
        taps = [f for f in taps if sorts.get(f.name) == sort] or taps
        if any(sorts.get(f.name) == sort for f in taps):
            break
    return min(taps, key=lambda f: (_mixes(build, f), rated_flow(build, f), f.name), default=None)


def _mixes(build: Build, fixture: Fixture) -> bool:
    return len(build.runs_into.get(fixture.name, ())) > 1


def drunk_a_day(build: Build) -> float:
    """Water that the crew drinks and cooks with in a day, m³."""
    return build.crew.drinking * build.crew.people
