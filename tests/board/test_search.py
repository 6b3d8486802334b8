"""The search: good boards, never larger than plain rows, pins kept, and honest when none fits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.board.boards import LEVER, LONG, build_of, plan_of
from tests.cases import cases
from vanplumb.board.hands.pin_lines import pins_of
from vanplumb.board.parts.catalogue import Catalogue
from vanplumb.board.parts.needs import needs_of
from vanplumb.board.parts.parts import PartError
from vanplumb.board.parts.shapes import BODY, LEAD, SWEEP
from vanplumb.board.place import collide
from vanplumb.board.place.layout import Layout
from vanplumb.board.place.making import _cross, tool_piece
from vanplumb.board.place.mounting import habits
from vanplumb.board.place.spacing import Spacer
from vanplumb.board.place.state import State, mm, ticks
from vanplumb.board.plan import BoardPlan
from vanplumb.board.search.search import LOOKED_AT, STAGES, Search
from vanplumb.pack import example

GOOD = [
    {"cold": 4},
    {"cold": 6},
    {"cold": 8},
    {"cold": 4, "form": "block"},
    {"cold": 5, "form": "block"},
    {"cold": 8, "rows": LONG, "width": 0.76, "height": 0.6},
    {"cold": 5, "hot": 3},
    {"cold": 4, "hot": 4, "width": 0.75, "height": 0.6},
    {"cold": 4, "hot": 2, "mixing": True},
    {"cold": 5, "hot": 3, "mixing": True, "width": 1.0, "height": 0.6},
    {"cold": 6, "tube": "PE-X 16x2.0", "units": "SI"},
    {"cold": 6, "tube": "PEX 3/4 in", "leaves": "up"},
]


@pytest.mark.parametrize("board", GOOD, ids=str)
def test_a_good_board_is_found_and_is_never_larger_than_plain_rows(board: dict) -> None:
    plan = plan_of(**board)
    assert plan.problems == [] and plan.obstacle == ""
    assert plan.layout.area <= plan.found.plain_area + 1e-6
    assert plan.layout.unlinked == []
    keep_inside(plan.layout)
    leave_towards_their_fixtures(plan.layout)


def test_six_levers_on_one_ready_header_take_more_than_a_plain_row_that_collides() -> None:
    plan = plan_of(6, form="block")
    assert plan.problems == [] and len({s.node for s in plan.state.rows[0].spots if s.node}) == 1
    assert plan.layout.area > plan.found.plain_area
    assert Layout(plan.needs, State((Spacer(plan.needs).plain["cold manifold"],))).problems
    keep_inside(plan.layout)


def keep_inside(layout: Layout) -> None:
    """Everything solid and every sweep inside the margins, by corners alone."""
    margin = layout.needs.margin
    width, height = mm(layout.state.width), mm(layout.state.height)
    for piece in layout.pieces:
        if piece.role in (BODY, SWEEP):
            x0, y0, x1, y1 = piece.shape.bounds
            assert x0 >= margin - 1e-6 and y0 >= margin - 1e-6
            assert x1 <= width - margin + 1e-6 and y1 <= height - margin + 1e-6


def leave_towards_their_fixtures(layout: Layout) -> None:
    names = {90: "up", 270: "down", 0: "right", 180: "left"}
    for one in layout.opens:
        if one.zone and layout.needs.zone(one.zone).leaves in ("up", "down"):
            assert names[one.heading] == layout.needs.zone(one.zone).leaves


@pytest.mark.parametrize("seed", range(cases(4, 12)))
def test_random_boards_are_good_or_say_what_is_in_the_way(seed: int) -> None:
    rng = np.random.default_rng(seed)
    reach, width = float(rng.uniform(0.03, 0.1)), float(rng.uniform(0.008, 0.02))
    rows = {"board_parts": {LEVER: {"handle_length": reach, "handle_width": width}}}
    size = {"width": float(rng.uniform(0.35, 0.9)), "height": float(rng.uniform(0.25, 0.7))}
    plan = plan_of(
        int(rng.integers(2, 9)), form=str(rng.choice(["tees", "block"])), rows=rows, **size
    )
    if plan.problems:
        assert "mm" in plan.obstacle
        assert all(p.by > 0 or p.kind == "tool" for p in plan.problems)
    else:
        keep_inside(plan.layout)
        assert plan.cut_list.closings[0].gap == 0


def test_the_examples_have_good_boards() -> None:
    plan = BoardPlan(example("dipper"))
    assert plan.problems == [] and plan.layout.unlinked == []
    # plain rows would be smaller, but wider than the board: found with handles turned
    assert plan.found.good and plan.found.plain_area < plan.layout.area
    keep_inside(plan.layout)


def test_a_board_that_is_too_small_says_by_how_much() -> None:
    """Eight long levers on 300 × 300 mm: every way is tried, and the lack is told in mm."""
    plan = plan_of(8, rows=LONG, width=0.3, height=0.3)
    layout = plan.layout
    assert not plan.found.good
    short = layout.width - (300 - 2 * 20)
    assert f"the parts are {layout.width:.0f} mm wide" in plan.obstacle
    assert f"{short:.0f} mm too little" in plan.obstacle
    worst = max(p.by for p in plan.problems if p.kind == "edge")
    bounds = layout.bounds
    over = max(20 - bounds[0], 20 - bounds[1], bounds[2] - 280, bounds[3] - 280)
    assert worst == pytest.approx(over, abs=1e-6)


def test_a_board_that_is_ten_millimetres_too_narrow_says_so() -> None:
    plan = plan_of(4, width=0.8, height=0.5)
    narrow = plan.layout.width + 2 * 20 - 10
    moved = BoardPlan(plan.build, replace(plan.layout.state, width=ticks(narrow)))
    assert "10 mm too little" in moved.obstacle and "mm wide" in moved.obstacle


def test_a_tube_that_leaves_the_board_is_as_wide_as_the_standard_has_it() -> None:
    """ASTM F876, table 1: half-inch tube measures 0.625 in outside; it leaves at its height."""
    layout = plan_of(4, width=0.8, height=0.5, leaves="down").layout
    leads = [p for p in layout.pieces if p.role == LEAD]
    assert leads
    for lead in leads:
        x0, y0, x1, y1 = lead.shape.bounds
        assert min(x1 - x0, y1 - y0) == pytest.approx(0.625 * 25.4)
        assert lead.high - lead.low == pytest.approx(0.625 * 25.4)


def test_hot_comes_in_left_of_cold_and_a_valve_turned_over_is_told() -> None:
    """Hot on the left is the trade's custom (common practice; IPC 607.4, from memory)."""
    plan = plan_of(3, 3, mixing=True)
    state = plan.layout.state
    over = replace(state, devices=tuple(replace(d, turn=(d.turn + 180) % 360)
                                        for d in state.devices))  # fmt: skip
    (good,), (bad,) = (
        [h for h in habits(plan.needs, one) if h.kind == "hot side"] for one in (state, over)
    )
    assert good.kept and not bad.kept
    assert bad.said == "hot comes in right of cold, not left of it"


def test_a_ready_header_needs_its_levers_bent_or_wings() -> None:
    """A straight lever reaches past the next outlet of a header; a cranked one passes over it."""
    plan = plan_of(4, form="block")
    bends = {s.bend for row in plan.state.rows for s in row.spots}
    assert plan.found.stage == "levers cranked" and "forward" in bends
    plain = Layout(plan.needs, replace(plan.state, rows=(straight(plan.state.rows[0]),)))
    meets = [p for p in plain.problems if p.kind == "collision"]
    assert meets and all("handle meets" in p.what or "from" in p.what for p in meets)
    wings = plan_of(
        4,
        form="block",
        rows={
            "board_parts": {
                LEVER: {
                    "handle": "wing",
                    "handle_length": 0.018,
                    "handle_tail": 0.018,
                    "handle_width": 0.011,
                }
            }
        },
    )
    assert wings.found.good and {s.bend for s in wings.state.rows[0].spots} == {"flat"}


def straight(row):
    spots = tuple(replace(s, bend="flat", turned=False) for s in row.spots)
    return replace(row, spots=spots)


def test_pins_are_kept() -> None:
    pins = (
        "cold manifold order zone 3, zone 1, zone 4, zone 2",
        "cold manifold upright",
        "cold manifold.zone 1 handle turned",
        "cold manifold.zone 2 stub 4 in",
        "cold manifold.zone 4 valve ball valve, wing 1/2 in",
        "cold manifold.zone 3 leaves right",
        "cold manifold.zone 1 gap 5 in",
    )
    plan = plan_of(4, pin=pins)
    row = plan.state.rows[0]
    spots = {s.zone.split(".")[1]: s for s in row.spots}
    assert plan.needs.problems == () and plan.problems == []
    assert [s.zone for s in row.spots] == [f"cold manifold.zone {n}" for n in (3, 1, 4, 2)]
    assert row.upright and spots["zone 1"].turned
    assert mm(spots["zone 2"].stub) == 101.6 and mm(spots["zone 1"].gap) == 127.0
    assert spots["zone 4"].valve == "ball valve, wing 1/2 in" and spots["zone 3"].side == -1


def test_a_gap_pinned_where_there_is_none_is_told() -> None:
    first = ("cold manifold order zone 2, zone 1", "cold manifold.zone 2 gap 5 in")
    (note,) = plan_of(2, pin=first).notes
    assert note.startswith("the pin for the gap of cold manifold.zone 2 is not kept: it stands")
    assert plan_of(2, pin=(first[0], "cold manifold.zone 1 gap 5 in")).notes == ()


def test_a_van_without_manifolds_says_so_to_whoever_asks() -> None:
    plan = plan_of(0)
    assert plan.trouble == "no manifold with a zone"
    with pytest.raises(PartError, match=r"^no manifold with a zone$"):
        _ = plan.found


def test_a_manifold_pinned_in_its_place_stays_there() -> None:
    pins = ("cold manifold at 6 in, 5 in", "cold manifold lying", "cold manifold one row")
    plan = plan_of(3, width=0.7, height=0.5, pin=pins)
    assert (mm(plan.state.rows[0].x), mm(plan.state.rows[0].y)) == (152.4, 127.0)


@pytest.mark.parametrize(
    "pin, told",
    [
        ("boiler leaves up", "begins with no zone, manifold or device of this build"),
        ("cold manifold.zone 1 leaves sideways", "needs one of up, down, left, right"),
        ("cold manifold.zone 1 stub 5", "needs a|unit"),
        ("cold manifold order zone 1", "order must name each of zone 1, zone 2 once"),
        ("cold manifold two rows after zone 9", "there is no zone 'zone 9'"),
        ("cold manifold at 3 in", 'needs two lengths such as "at 120 mm, 80 mm"'),
        ("cold manifold at 10 mm, 1e300 m", "must be .* or less, got 1e300 m"),
        ("cold manifold at -1e306 m, 10 mm", "must be .* or less, got -1e306 m"),
        ("cold manifold.zone 1 stub 1e300 m", "must be .* or less, got 1e300 m"),
        ("cold manifold.zone 1 paint red", "a zone can have: leaves, handle"),
    ],
)
def test_a_pin_that_can_not_be_read_is_told(pin: str, told: str) -> None:
    import re

    plan = plan_of(2, pin=(pin,))
    assert len(plan.needs.problems) == 1
    assert re.search(told, plan.needs.problems[0])
    assert pin in plan.needs.problems[0]


@pytest.mark.parametrize("board", [GOOD[2], GOOD[6], GOOD[9]], ids=str)
def test_each_joint_in_place_has_room_for_the_tool_when_its_turn_comes(board: dict) -> None:
    """Walk the order: at each step the tool is clear of parts and of tubes joined before."""
    plan = plan_of(**board)
    layout = plan.layout
    assert plan.in_place.blocked == ()
    tubes = {lead.owner: layout._lead_piece(lead) for lead in layout.leads}
    opens = {lead.owner: lead.open for lead in layout.leads}
    assert sorted(plan.in_place.order) == sorted(opens)
    solid = [p for p in layout.pieces if p.role == BODY and " clip" not in p.owner]
    joined: list[str] = []
    for name in plan.in_place.order:
        tool = tool_piece(layout, opens[name])
        assert not [p.owner for p in solid if p.owner != opens[name].owner and _cross(tool, p)]
        assert not [n for n in joined if _cross(tool, tubes[n])]
        joined.append(name)
    assert len(plan.on_the_bench) == len(layout.tubes)


@pytest.mark.parametrize("zones", [3, 12, 20, 31])
def test_headers_are_clipped_within_the_support_spacing(zones: int) -> None:
    """From the feed's clip to the last tube: at most 32 in (IRC 2018, Table P2605.1)."""
    plan = plan_of(zones, pin=("cold manifold lying", "cold manifold one row"))
    own = [p for p in plan.layout.clips if p.owner.startswith(("clip on ", "feed of "))]
    places = sorted(mm(p.x) for p in own)
    assert len(places) >= 2
    assert max(np.diff(places)) <= 812.8
    row = [mm(p.x) for p in plan.layout.placed if p.zone]
    assert max(row) - max(places) < 100 or min(places) - min(row) > -200


def test_the_depth_in_front_of_the_board_is_checked() -> None:
    plan = plan_of(3, width=0.7, height=0.5, depth=0.045)
    found = [p for p in plan.problems if p.kind == "depth"]
    assert found and found[0].need == pytest.approx(45.0)
    assert "too far" in found[0].what


def test_many_zones_that_all_differ_are_laid_out_in_the_order_of_the_file() -> None:
    rows, pins = {}, []
    for number in range(1, 13):
        name = f"valve {number}"
        row = dict(Catalogue(build_of(1)).rows[LEVER])
        rows[name] = {**row, "handle_length": 0.05 + 0.002 * number}
        pins.append(f"cold manifold.zone {number} valve {name}")
    plan = plan_of(12, rows={"board_parts": rows}, pin=tuple(pins))
    assert plan.problems == []
    names = [s.zone for s in plan.state.rows[0].spots]
    assert names == [f"cold manifold.zone {n}" for n in range(1, 13)]


def test_no_manifold_and_a_missing_part_are_told() -> None:
    assert BoardPlan(example("wren")).trouble == "no manifold with a zone"
    plan = plan_of(2, tube="copper L 1/2 in")
    assert "no valve" in plan.trouble or "no tee" in plan.trouble
    assert "[rows.board_parts]" in plan.trouble
    build = build_of(2)
    assert BoardPlan(replace(build, zone=())).trouble == "no manifold with a zone"


@pytest.mark.parametrize("board", [GOOD[1], GOOD[3], GOOD[7], GOOD[9], GOOD[10]], ids=str)
def test_a_layout_kept_as_pins_comes_back_exactly(board: dict) -> None:
    plan = plan_of(**board)
    kept = pins_of(plan.needs, plan.state)
    again = plan_of(**{**board, "pin": kept, "width": 1.2, "height": 0.9})
    assert again.needs.problems == ()
    assert again.state.rows == plan.state.rows
    assert again.state.devices == plan.state.devices
    assert again.found.stage == "as set"


def test_two_rows_kept_as_pins_come_back_exactly() -> None:
    plan = BoardPlan(example("dipper"))
    build = plan.build
    assert any(not spot.turned for row in plan.state.rows for spot in row.spots)
    pinned = replace(build, board=replace(build.board, pin=pins_of(plan.needs, plan.state)))
    assert BoardPlan(pinned).state == plan.state


def test_what_else_is_pinned_on_the_board_finds_its_place() -> None:
    build = example("dipper")
    pins = ("accumulator on board", "pump check on board")
    wide = replace(build, board=replace(build.board, pin=pins, width=1.0, height=0.8))
    plan = BoardPlan(wide)
    assert plan.notes == () and plan.problems == []
    assert [d.name for d in plan.state.devices] == ["basin valve", "pump check", "accumulator"]
    kinds = {placed.part.kind for placed in plan.layout.placed}
    assert {"accumulator", "check valve", "mixing valve"} <= kinds


def test_three_manifolds_stand_on_one_board() -> None:
    build = build_of(3, 2)
    more = replace(build.manifold[0], name="mixed manifold", side="mixed")
    zones = tuple(replace(z, manifold="mixed manifold") for z in build.zone[:2])
    feed = replace(build.run[0], start="hot tank", end="mixed manifold")
    runs = tuple(replace(r, start=f"mixed manifold.{z.name}")
                 for r, z in zip(build.run[1:3], zones, strict=True))  # fmt: skip
    plan = BoardPlan(replace(build, manifold=(*build.manifold, more), zone=(*build.zone, *zones),
                             run=(*build.run, feed, *runs)))  # fmt: skip
    assert plan.problems == [] and len(plan.state.rows) == 3
    codes = [z.code for m in plan.needs.manifolds for z in m.zones]
    assert codes == ["C1", "C2", "C3", "H1", "H2", "M1", "M2"]


def test_the_smallest_by_all_means_is_no_larger_than_the_plainest() -> None:
    plan = plan_of(6, rows=LONG)
    smallest = Search(plan.needs).best(smallest=True)
    assert smallest.good and smallest.layout.area <= plan.layout.area + 1e-6


def test_the_least_bad_board_is_the_same_as_when_each_is_looked_at_in_full(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One that is worse than the best so far is not: fewer moves are worked out for it."""
    moves = []
    way_out = collide.way_out
    monkeypatch.setattr(collide, "way_out", lambda *a: moves.append(1) or way_out(*a))
    search = Search(needs_of(build_of(8, form="block")))
    layouts = search.at_stage(STAGES[0])[:LOOKED_AT]

    def again() -> list[Layout]:
        return [Layout(one.needs, one.state) for one in layouts]

    def rank(one: Layout) -> tuple[bool, int, float, float]:
        by = [p.by for p in one.problems]
        return bool(by), len(one.unlinked), sum(by) + len(by), one.area

    best = search.least_bad(again())
    few = len(moves)
    moves.clear()
    whole = again()
    ranks = [rank(one) for one in whole]
    assert rank(best) == min(ranks)
    assert few < len(moves)
    for one, (_, _, trouble, _) in zip(again(), ranks, strict=True):
        assert one.trouble(trouble - 0.5) is None
        assert one.trouble(trouble + 0.5) == trouble
