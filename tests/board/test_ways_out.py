"""Ways out, swaps, parts of the build's own, links to a mixing valve, the parts list."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf, pi

import numpy as np
import pytest
import shapely

from tests.board.boards import LEVER, LONG, build_of, plan_of
from vanplumb.board.parts.catalogue import Catalogue
from vanplumb.board.parts.needs import needs_of
from vanplumb.board.parts.parts import PartError
from vanplumb.board.parts.shapes import BODY, Piece
from vanplumb.board.place.layout import Layout
from vanplumb.board.place.links import route
from vanplumb.board.place.rows import Open
from vanplumb.board.place.state import mm, ticks
from vanplumb.board.plan import BoardPlan


@pytest.fixture(scope="module")
def crowded() -> BoardPlan:
    """Five long levers on a board on which plain rows do not fit."""
    rows = {"board_parts": {LEVER: {**LONG["board_parts"][LEVER], "trim": 0.006}}}
    return plan_of(5, rows=rows, width=0.5, height=0.45)


def test_every_way_out_is_there_and_checked(crowded: BoardPlan) -> None:
    ways = {w.name: w for w in crowded.ways_out}
    assert list(ways)[:9] == [
        "handles turned",
        "levers cranked outwards or inwards",
        "every second valve farther from its header",
        "every second valve on the other side",
        "zones in another order",
        "two rows",
        "header upright",
        "header lying",
        "ends trimmed",
    ]
    assert any(name.endswith(f"instead of {LEVER}") for name in ways)
    for way in ways.values():
        assert way.layout is not None or way.refused
        if way.layout is not None:
            assert way.fits == (way.layout.problems == [])
            assert bool(way.left) != way.fits
    assert ways["two rows"].fits and any("two rows" in c for c in ways["two rows"].changes)


def test_no_board_is_worked_out_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Most ways out lead to boards that the search before them has looked at."""
    seen: list[object] = []
    trouble = Layout.trouble

    def counted(layout: Layout, most: float = inf) -> float | None:
        found = trouble(layout, most)
        if found is not None:
            seen.append((layout.needs.key, layout.state))
        return found

    monkeypatch.setattr(Layout, "trouble", counted)
    plan = plan_of(3, rows=LONG, width=0.2, height=0.2)
    assert plan.problems and plan.ways_out
    once = len(set(seen))
    assert len(seen) == once > 10


@pytest.mark.roaming
def test_ways_out_keep_the_order_where_a_mixing_valve_wants_another() -> None:
    ways = plan_of(3, 3, mixing=True, width=0.5, height=0.4).ways_out
    kept = next(w for w in ways if w.name == "handles turned")
    assert kept.layout is not None
    for row in kept.layout.state.rows:
        names = [s.zone for s in row.spots]
        assert names in (sorted(names), sorted(names, reverse=True))


def test_trimmed_ends_take_less_room_where_the_builder_allows_it(crowded: BoardPlan) -> None:
    trimmed = crowded.needs.catalogue[f"{LEVER}, trimmed"]
    whole = crowded.needs.catalogue[LEVER]
    assert trimmed.port("inlet").take_off == pytest.approx(whole.port("inlet").take_off - 6)
    reach = max(abs(x) for s in trimmed.body for x, _ in s.points)
    assert reach == pytest.approx(max(abs(x) for s in whole.body for x, _ in s.points) - 6)
    refused = {w.name: w.refused for w in plan_of(2, width=0.3, height=0.3).ways_out}
    assert "no part here may be trimmed" in refused["ends trimmed"]


def test_a_shut_off_of_another_shape_is_swapped_in_and_the_changes_shown() -> None:
    plan = plan_of(4)
    swapped, change = plan.swapped(LEVER, "ball valve, wing 1/2 in")
    assert dict(change.parts) == {LEVER: -4, "ball valve, wing 1/2 in": 4}
    assert change.width == (plan.layout.width, swapped.layout.width)
    assert swapped.problems == []
    own = {**dict(Catalogue(build_of(2)).rows["tee 1/2 in"]), "take_off": 0.019}
    plan = plan_of(3, rows={"board_parts": {"my tee": own}})
    swapped, change = plan.swapped("tee 1/2 in", "my tee")
    assert dict(change.parts)["my tee"] == 2
    assert swapped.cut_list.closings[0].gap == 0


def test_a_swap_that_does_not_fit_the_tube_is_refused() -> None:
    plan = plan_of(2)
    with pytest.raises(PartError, match="does not take the same tube"):
        plan.swapped("tee 1/2 in", "tee 3/4 in")
    with pytest.raises(PartError, match="of another kind"):
        plan.swapped("tee 1/2 in", "elbow 1/2 in")
    with pytest.raises(PartError, match="there is no board part 'magic tee'"):
        plan.swapped("tee 1/2 in", "magic tee")


def test_a_part_of_the_builders_own_with_an_outline() -> None:
    row = {**dict(Catalogue(build_of(2)).rows[LEVER])}
    row["outline"] = "-30 -20, 30 -20, 30 20, 0 26, -30 20"
    plan = plan_of(3, rows={"board_parts": {LEVER: row}})
    part = plan.needs.catalogue[LEVER]
    assert part.body[0].points[3] == (0.0, 26.0)
    assert plan.problems == []
    row["outline"] = "1 2 3"
    with pytest.raises(PartError, match="outline must read"):
        _ = needs_of(build_of(2, rows={"board_parts": {LEVER: row}})).catalogue[LEVER]


MIXED = [
    {"cold": 4, "hot": 2},
    pytest.param({"cold": 3, "hot": 3}, marks=pytest.mark.roaming),
    pytest.param({"cold": 2, "hot": 4}, marks=pytest.mark.roaming),
]


@pytest.mark.parametrize("zones", MIXED, ids=str)
def test_a_mixing_valve_is_reached_by_both_its_tubes(zones: dict) -> None:
    plan = plan_of(**zones, mixing=True)
    layout = plan.layout
    assert plan.problems == [] and layout.unlinked == [] and len(layout.links) == 2
    elbow = plan.needs.catalogue["elbow 1/2 in"].port("a").take_off
    for link in layout.links:
        for tube in link.tubes:
            legs = [abs(ax - bx) + abs(ay - by) for (ax, ay), (bx, by) in pairwise(tube.points)]
            assert sum(legs) == tube.cut
        whole = sum(t.cut for t in link.tubes) + ticks(2 * elbow) * len(link.elbows)
        assert whole == sum(t.centres for t in link.tubes)
        ends = {t.one[0] for t in link.tubes} | {t.other[0] for t in link.tubes}
        assert "mixer" in ends and any(e.endswith(" valve") for e in ends)


def port(x: float, y: float, heading: int, what: str) -> Open:
    return Open(what, "p", ticks(x), ticks(y), heading, "PEX 1/2 in", 15.875, 15.9, what)


def test_ways_of_tubes_keep_clear_of_everything_in_their_way() -> None:
    """300 random ports and blocks: what is found keeps its distance; each leg is long enough."""
    needs = needs_of(build_of(2))
    rng = np.random.default_rng(3)
    found = 0
    for _ in range(300):
        a = port(*rng.uniform(100, 500, 2), int(rng.integers(4)) * 90, "a")
        b = port(*rng.uniform(100, 500, 2), int(rng.integers(4)) * 90, "b")
        corners = rng.uniform(80, 480, (4, 2))
        solid = [
            Piece(shapely.box(x, y, x + 60, y + 60), 0, 60, BODY, f"block {k}")
            for k, (x, y) in enumerate(corners)
        ]
        link = route(needs, a, b, solid, (0, 0, 600, 600))
        if link is None:
            continue
        found += 1
        for tube in link.tubes:
            assert mm(tube.cut) >= 50.8 - 1e-9
            line = shapely.LineString([(mm(x), mm(y)) for x, y in tube.points])
            assert all(line.distance(s.shape) >= 15.875 * 0.7 + 3 - 0.01 for s in solid)
            x0, y0, x1, y1 = line.bounds
            assert min(x0, y0) >= 0 and max(x1, y1) <= 600
    assert found > 60


def test_a_bend_is_no_tighter_than_the_tube_allows() -> None:
    """Two ports at right angles with room for the least radius, 8 × OD, are joined by one tube."""
    needs = needs_of(build_of(2))
    a, b = port(100, 100, 90, "a"), port(400, 400, 180, "b")
    link = route(needs, a, b, [], None)
    assert link is not None and len(link.tubes) == 1 and not link.elbows
    radius = needs.catalogue.tubes["PEX 1/2 in"].number("bend_least") * 1000
    assert radius >= 6 * 15.875
    assert mm(link.tubes[0].cut) == pytest.approx(600 - 2 * radius + pi / 2 * radius, abs=1e-3)
    points = np.array(link.tubes[0].points) / 1e4
    arc = points[1:-1]
    centre = np.array([100 + radius, 400 - radius])
    assert np.hypot(*(arc - centre).T) == pytest.approx(np.full(len(arc), radius), abs=1e-3)
    tight = route(needs, a, port(180, 210, 180, "b"), [], None)
    assert tight is None or all(not t.bends for t in tight.tubes)


def test_a_kind_of_valve_without_a_part_has_another_stand_in_and_says_so() -> None:
    build = build_of(2)
    gate = replace(build.zone[0], valve="gate")
    needs = needs_of(replace(build, zone=(gate, build.zone[1])))
    assert needs.problems == (
        "cold manifold, outlet zone 1: no 'gate' valve for PEX 1/2 in in the table of board parts; "
        f"{LEVER} stands in for it",
    )


def test_zones_whose_tube_has_no_tee_are_told() -> None:
    build = build_of(2, tube="PEX 1/2 in")
    run = replace(build.run[1], tube="PEX 3/4 in")
    needs = needs_of(replace(build, run=(build.run[0], run, *build.run[2:])))
    assert "no tee from PEX 1/2 in to PEX 3/4 in" in needs.problems[0]
