"""A shut-off that hangs on the board before a header: parts, cuts, joints, bill, drains, pins."""

from __future__ import annotations

import re
from dataclasses import replace

from tests.board.boards import build_of
from tests.review.test_mounting import with_isolators
from vanplumb.board.hands.pin_lines import pins_of
from vanplumb.board.place.rows import DIRECTIONS
from vanplumb.board.plan import BoardPlan
from vanplumb.drawings.board.front import board_svg
from vanplumb.drawings.board.handles import handles_picture
from vanplumb.drawings.board.side import side_svg
from vanplumb.lists import Lists
from vanplumb.shop.draining.draining import Draining
from vanplumb.van.parts import ShutOff

PIN = ("cold manifold valve on board",)
LOOSE = with_isolators(build_of(3))
HUNG = replace(LOOSE, board=replace(LOOSE.board, pin=PIN))
PLAN = BoardPlan(HUNG)


def test_it_stands_in_line_before_the_header_and_water_comes_in_there() -> None:
    assert PLAN.problems == [] and PLAN.notes == ()
    (feed,) = [o for o in PLAN.layout.opens if o.what == "feed of cold manifold"]
    assert feed.owner == "cold manifold valve" and feed.port == "inlet"
    (tube,) = [t for t in PLAN.layout.tubes if t.kind == "feed"]
    assert tube.one == ("cold manifold valve", "outlet")
    dx, dy = DIRECTIONS[feed.heading]
    (ax, ay), (bx, by) = tube.points
    assert (feed.x - bx) * dx + (feed.y - by) * dy > 0 and (ax - bx) * dy + (ay - by) * dx == 0
    assert tube.cut == PLAN.needs.least(tube.tube, *tube.insertions)
    assert [closing.gap for closing in PLAN.cut_list.closings] == [0]


def test_its_run_lies_on_the_board_and_is_cut_joined_and_bought_once() -> None:
    hung, loose = Lists(HUNG, PLAN), Lists(LOOSE, BoardPlan(LOOSE))
    index = next(
        n for n, (a, _) in enumerate(HUNG.run_ends) if a.component == "cold manifold valve"
    )
    way = hung.ways.runs[index]
    assert way.on_board and [p.name for p in way.made.pieces] == ["C feed tube"]
    assert len([j for j in hung.joints if j.run == index]) == 2
    assert all(j.where == "bench" for j in hung.joints if j.run == index)
    for one in (hung, loose):
        assert one.bill.line("cold manifold valve").needed == 1
    valves = "ball valve, lever 1/2 in"
    assert hung.bill.line(valves).needed == loose.bill.line(valves).needed == 3
    on_tube = sum(1 for j in hung.joints if j.tube)
    assert on_tube == 2 * len(hung.pieces)
    # two screws for the clip on its tube are more, the run's own clips less
    assert {c.owner for c in PLAN.layout.clips} >= {"C feed tube clip"}


def test_water_runs_through_it_once() -> None:
    made = Draining(HUNG, PLAN).system
    pairs = [{p.start, p.end} for p in made.passages]
    assert pairs.count({"cold manifold valve.inlet", "cold manifold valve.outlet"}) == 1
    through = [p for p in made.passages if p.label == "C feed tube"]
    assert through and all(p.on_board for p in through)
    assert made.on_board >= {"cold manifold valve.inlet", "cold manifold.inlet"}


def test_pins_hold_it_and_the_drawing_names_it() -> None:
    pinned = replace(HUNG, board=replace(HUNG.board, pin=pins_of(PLAN.needs, PLAN.state)))
    again = BoardPlan(pinned)
    assert again.found.stage == "as set" and again.state.rows == PLAN.state.rows
    assert PLAN.layout.handle_codes["cold manifold valve"] == "A"
    for drawn in (side_svg(PLAN.layout), handles_picture(PLAN).svg):
        assert re.search(r">[^<]*\bA\b[^<]*</text>", drawn)
    svg = board_svg(PLAN.layout)
    assert "A cold manifold valve" in svg and svg.count('data-arrow="feed"') == 1


def test_one_that_feeds_no_manifold_is_left_off_and_told() -> None:
    tap = next(run for run in LOOSE.run if run.start == "cold manifold.zone 1")
    runs = [replace(run, end="tap valve") if run is tap else run for run in LOOSE.run]
    runs.append(replace(tap, start="tap valve"))
    other = replace(
        LOOSE,
        run=tuple(runs),
        shut_off=(*LOOSE.shut_off, ShutOff(name="tap valve")),
        board=replace(LOOSE.board, pin=("tap valve on board",)),
    )
    (note,) = BoardPlan(other).notes
    assert note.startswith("tap valve: a shut-off hangs on the board only right before a manifold")
