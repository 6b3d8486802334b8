"""Cut lengths: they close on the header exactly, and no tube is shorter than it may be."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from tests.board.boards import LONG, build_of, plan_of
from tests.cases import cases
from vanplumb.board.lists.cuts import CutList
from vanplumb.board.parts.needs import needs_of
from vanplumb.board.place.clips import clip_width, missing
from vanplumb.board.place.layout import Layout
from vanplumb.board.place.spacing import plain_row
from vanplumb.board.place.state import SIXTEENTH, TICK, Row, State, mm, ticks, up_to
from vanplumb.board.search.search import Search, Stage
from vanplumb.board.search.zone_order import HANDLES

BOARDS = [
    {"cold": 4},
    {"cold": 8},
    {"cold": 6, "tube": "PE-X 16x2.0", "units": "SI"},
    {"cold": 4, "form": "block"},
    pytest.param({"cold": 7, "form": "block"}, marks=pytest.mark.roaming),
    pytest.param({"cold": 8, "rows": LONG, "width": 0.6, "height": 0.6}, marks=pytest.mark.roaming),
    {"cold": 4, "hot": 3},
    {"cold": 3, "hot": 3, "mixing": True},
    {"cold": 4, "tube": "PEX 3/4 in", "leaves": "down"},
]


@pytest.mark.parametrize("board", BOARDS, ids=str)
def test_headers_close_exactly_and_no_tube_is_too_short(board: dict) -> None:
    plan = plan_of(**board)
    needs = plan.needs
    assert all(c.gap == 0 for c in plan.cut_list.closings)
    assert len(plan.cut_list.closings) == len(needs.manifolds)
    for cut in plan.cut_list.cuts:
        if cut.kind != "link":
            assert cut.off == 0 and cut.length % needs.grid == 0
        assert abs(cut.off) <= needs.grid // 2
        stub_least = needs.catalogue.tubes[cut.tube].number("stub_least")
        assert mm(cut.length) >= 1000 * stub_least - 1e-9
        assert mm(cut.length) >= sum(cut.insertions) - 1e-9


def random_state(seed: int) -> tuple[Layout, int]:
    """A row of tees or blocks, forward or backward, upright or lying, one line or folded."""
    rng = np.random.default_rng(seed)
    units = str(rng.choice(["US", "SI"]))
    form = str(rng.choice(["tees", "block"]))
    tube = str(rng.choice(["PEX 1/2 in", "PEX 3/4 in", "PE-X 16x2.0"]))
    needs = needs_of(build_of(int(rng.integers(2, 9)), form=form, tube=tube, units=units))
    manifold = needs.manifolds[0]
    if form == "tees" and len(manifold.zones) > 2 and rng.integers(2):
        row = Search(needs).choosers[manifold.name].two_rows(bool(rng.integers(2)), HANDLES)
        assert row is not None
    else:
        upright, backward = bool(rng.integers(2)), bool(rng.integers(2))
        row = replace(plain_row(needs, manifold), upright=upright, backward=backward)
    spots = tuple(
        replace(
            s,
            gap=s.gap + int(rng.integers(0, 90)) * needs.grid if s.gap else 0,
            stub=s.stub + int(rng.integers(0, 60)) * needs.grid,
        )
        for s in row.spots
    )
    place = {"x": int(rng.integers(0, 9_999_999)), "y": int(rng.integers(0, 9_999_999))}
    return Layout(needs, State((replace(row, spots=spots, **place),))), needs.grid


@pytest.mark.parametrize("block", range(cases(2, 5)))
def test_random_headers_close_exactly(block: int) -> None:
    """500 rows of every form, moved anywhere: nothing is left over, not a ten-thousandth."""
    for seed in range(100 * block, 100 * block + 100):
        layout, grid = random_state(seed)
        cuts = CutList(layout)
        for closing in cuts.closings:
            assert closing.gap == 0, seed
            assert closing.header > 0
        for cut, tube in zip(cuts.cuts, layout.tubes, strict=True):
            (ax, ay), (bx, by) = tube.points  # as drawn, against as cut
            assert abs(ax - bx) + abs(ay - by) == cut.length
            assert cut.length % grid == 0 and 0 in (ax - bx, ay - by)


def test_a_header_added_up_by_hand() -> None:
    """Four zones on 1/2 in: 3 tees of 2 × 16 mm, an elbow to its centre 16 mm, 3 stubs of 2 in."""
    plan = plan_of(4, width=0.8, height=0.5)
    row = plan.found.layout
    closing = plan.cut_list.closings[0]
    assert closing.header == ticks(3 * 2 * 16 + 16 + 3 * 50.8)
    assert [mm(c.length) for c in plan.cut_list.cuts if c.kind == "header"] == [50.8] * 3
    assert row.good


def test_a_tube_shows_what_is_on_neither_fitting_and_a_clip_wants_a_millimetre_more() -> None:
    """By hand: 80 mm between centres, 16 taken at each end, 14 and 12 pushed on: 22 are seen."""
    plan = plan_of(4, width=0.8, height=0.5)
    one = next(t for t in plan.layout.tubes if t.kind == "header")
    by_hand = replace(
        one, centres=ticks(80), take_offs=(ticks(16), ticks(16)), insertions=(14.0, 12.0)
    )
    assert (mm(by_hand.cut), by_hand.bare) == (48, 22)
    clip = plan.needs.clip(one.tube)
    assert clip is not None
    for more, lack in ((2.0, 0.0), (1.0, 0.0), (0.25, 0.75), (-3.0, 4.0)):
        shown = clip_width(clip) + more
        short = replace(by_hand, take_offs=(0, 0), insertions=(80 - shown, 0.0))
        assert missing(plan.needs, short) == pytest.approx(lack, abs=1e-9)


def test_a_longer_stated_stub_is_kept() -> None:
    build = build_of(3)
    manifold = replace(build.manifold[0], stub=0.0762)
    cuts = CutList(Search(needs_of(replace(build, manifold=(manifold,)))).best().layout).cuts
    lengths = [mm(c.length) for c in cuts if c.kind == "header"]
    assert min(lengths) == 76.2 and len(lengths) == 2


def test_a_stated_stub_that_is_too_short_is_not_taken() -> None:
    build = build_of(3)
    manifold = replace(build.manifold[0], stub=0.03)
    needs = needs_of(replace(build, manifold=(manifold,)))
    layout = Search(needs).best().layout
    assert min(mm(c.length) for c in CutList(layout).cuts) >= 50.8
    assert "a stub of 30.0 mm is shorter than PEX 1/2 in allows" in needs.problems[0]


def test_a_stub_set_too_short_is_told_with_what_it_lacks() -> None:
    needs = needs_of(build_of(3))
    row = plain_row(needs, needs.manifolds[0])
    short = row.with_spot(1, gap=20 * SIXTEENTH)
    found = [p for p in Layout(needs, State((short,))).problems if p.kind == "stub"]
    assert [p.what for p in found] == ["tube before C2 zone 2 is cut to 31.8 mm, 19.1 mm too short"]
    assert found[0].by == pytest.approx(50.8 - 31.75, abs=1e-9)


def test_lengths_are_whole_marks_of_the_rule() -> None:
    assert Fraction(SIXTEENTH, TICK) == Fraction(254, 10) / 16
    assert up_to(1, SIXTEENTH) == SIXTEENTH
    assert up_to(2 * SIXTEENTH, SIXTEENTH) == 2 * SIXTEENTH
    assert ticks(25.4) == 16 * SIXTEENTH


def test_every_stage_of_the_search_keeps_stubs_long_enough() -> None:
    search = Search(needs_of(build_of(6, rows=LONG)))
    for freedom in (HANDLES, replace(HANDLES, bend=True), replace(HANDLES, lower=True)):
        for layout in search.at_stage(Stage("", freedom, two_rows=True)):
            assert [p for p in layout.problems if p.kind == "stub"] == []


def test_the_row_type_holds_its_zones() -> None:
    needs = needs_of(build_of(2))
    state = State((plain_row(needs, needs.manifolds[0]),))
    row, index = state.find("cold manifold.zone 2")
    assert isinstance(row, Row) and index == 1
    with pytest.raises(KeyError):
        state.find("cold manifold.none")
