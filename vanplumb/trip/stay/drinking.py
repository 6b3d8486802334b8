"""The tap that the crew fills cups and pots at."""

from __future__ import annotations

from ...van.kinds.fixtures import rated_flow
from ...van.model import Build
from ...van.parts import Fixture
from ...van.trace import COLD, contents
from ...words.tables import table
from .at_taps import AtTaps, at_taps
from .feeds import TankSet, cold_feed, tank_sets

DRUNK_FROM = ("sink", "basin")
"""Sorts of fixtures that water is drunk from, the likeliest first."""
NEVER = ("toilet", "washing machine")
"""Sorts that nobody drinks from."""
ALIKE = 1e-3
"""Share by which flows may differ that count as one."""


def drinking_tap(
    build: Build, sets: tuple[TankSet, ...] | None = None, taps: AtTaps | None = None
) -> Fixture | None:
    """The tap for drinking and cooking: in the cabin, with cold water, a sink's before a basin's.

    Of several alike one that gives cold water only, then one that can be turned to cold, before
    one whose water is mixed on its way; then that with the least flow that it is made for, then
    the one that the network gives most.  None in a van that has none to drink from.
    """
    sets = tank_sets(build) if sets is None else sets
    gives = at_taps(build) if taps is None else taps
    rows = table("fixtures", build.rows)
    sorts = {f.name: str(rows[f.kind]["sort"] or "") for f in build.fixture if f.kind in rows}
    found = [f for f in build.fixture if sorts.get(f.name) not in NEVER]
    found = [f for f in found if cold_feed(build, sets, f).sets] or found
    found = [f for f in found if f.name not in gives.unserved] or found
    found = [f for f in found if f.place == "cabin"] or found
    for sort in DRUNK_FROM:
        found = [f for f in found if sorts.get(f.name) == sort] or found
        if any(sorts.get(f.name) == sort for f in found):
            break
    alike = [f for f in found if _first(build, f) == min(_first(build, g) for g in found)]
    most = max((gives[f.name] for f in alike), default=0.0)
    # flows that the solver finds alike leave it to the names
    return min(
        (f for f in alike if gives[f.name] > most * (1 - ALIKE)), key=lambda f: f.name, default=None
    )


def _first(build: Build, fixture: Fixture) -> tuple[int, float]:
    return _warmth(build, fixture), rated_flow(build, fixture)


def _warmth(build: Build, fixture: Fixture) -> int:
    """0 for cold water only, 1 for a tap that can be turned to cold, 2 for water mixed before."""
    carries = contents(build)
    into = [carries[number] for number, _, _ in build.runs_into.get(fixture.name, ())]
    if all(water == COLD for water in into):
        return 0
    return 1 if COLD in into else 2


def drunk_a_day(build: Build) -> float:
    """Water that the crew drinks and cooks with in a day, m³."""
    return build.crew.drinking * build.crew.people
