"""Findings on the board: each rule speaks when it should, and is silent when it should be."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from tests.board.boards import LONG, build_of
from tests.examples import pack_of
from vanplumb.board.plan import BoardPlan
from vanplumb.pack import example
from vanplumb.review import RULES
from vanplumb.review import board as rules
from vanplumb.sheet.entries import given_of


def test_a_run_that_the_board_makes_far_shorter_is_told() -> None:
    """Dipper's runs from its manifolds to the valve on its panel: 14 in said, 5 3/4 in there."""
    pack = pack_of("dipper")
    [told] = rules.runs_laid_otherwise(pack)
    laid = {n: run.length for n, run in enumerate(pack.build.run, 1)}
    said = {n: run.length for n, run in enumerate(pack.as_written.run, 1)}
    far = [n for n in said if abs(laid[n] - said[n]) > 0.05]
    assert far and all(f"run {n} is" in told.what for n in far)
    assert told.what.count(" in the file") == len(far)
    assert not list(rules.runs_laid_otherwise(pack_of("wren")))
    assert "run.17.length" in pack.as_written.given
    given = {
        (p.kind, p.name): dict((k, v) for k, v, _ in p.values) for p in given_of(pack.as_written)
    }
    [run] = [v for (kind, name), v in given.items() if kind == "run" and name.startswith("17:")]
    assert run["length"] == "14 in"  # inputs as they were said


def found(rule: Any, plan: BoardPlan) -> list[Any]:
    return list(rule(SimpleNamespace(build=plan.build, as_written=plan.build, board=plan)))


ALL = [
    r
    for r in RULES.values()
    # what a board keeps is the shop's answer: tests/shop/test_draining.py; what other sums take
    # of it is tried in tests/review/test_not_worked_out.py
    if r.__module__ == rules.__name__
    and r
    not in (
        rules.board_keeps_water,
        rules.board_stands_elsewhere,
        rules.board_left_out_of_the_sums,
    )
]


def test_a_good_board_gives_no_finding() -> None:
    plan = BoardPlan(example("dipper"))
    assert len(ALL) == 9
    assert [f for r in ALL for f in found(r, plan)] == []


def moved(plan: BoardPlan, **changes: Any) -> BoardPlan:
    row = plan.state.rows[0].with_spot(1, **changes)
    return BoardPlan(plan.build, plan.state.with_row(row))


@pytest.mark.parametrize(
    "rule, changes, words",
    [
        (rules.board_parts_collide, {"gap": 0}, "meets|in from"),
        (rules.board_stub_too_short, {"gap": 10 * 15_875}, "too short"),
        (rules.board_stub_too_short, {"stub": 16 * 15_875}, "C2 zone 2 stub is cut to 1 in"),
    ],
)
def test_a_crowded_row_is_told(rule: Any, changes: dict, words: str) -> None:
    import re

    plan = moved(BoardPlan(build_of(3, width=0.6, height=0.4)), **changes)
    told = found(rule, plan)
    assert len(told) == 1
    assert re.search(words, told[0].what) and told[0].severity == "NOTICE"
    assert told[0].word == "width" and told[0].value < told[0].limit


def test_fingers_that_do_not_fit_are_told() -> None:
    plan = BoardPlan(build_of(4, form="block", width=0.5, height=0.4))
    row = plan.state.rows[0]
    spots = tuple(replace(s, bend="flat", turned=False) for s in row.spots)
    crowded = BoardPlan(plan.build, plan.state.with_row(replace(row, spots=spots)))
    told = found(rules.board_no_room_for_fingers, crowded)
    assert len(told) == 1 and "no room for fingers" in told[0].what.lower()


def test_a_board_too_small_or_too_shallow_is_told() -> None:
    small = found(rules.board_too_small, BoardPlan(build_of(6, rows=LONG, width=0.3, height=0.3)))
    assert len(small) == 1 and "past the" in small[0].what and "such places" in small[0].what
    flat = found(rules.board_too_small, BoardPlan(build_of(2, width=0.6, height=0.5, depth=0.04)))
    assert any("in front of the board" in f.what for f in flat)


def test_a_joint_behind_another_part_is_told() -> None:
    """A mixing valve set right above a zone's outlet leaves the tool no room there."""
    plan = BoardPlan(build_of(2, 2, mixing=True, width=1.2, height=0.9))
    valve = next(p for p in plan.layout.placed if p.zone == "cold manifold.zone 1")
    device = replace(plan.state.devices[0], x=valve.x, y=valve.y + 1_800_000, turn=0)
    if plan.state.rows[0].spots[0].side < 0:
        device = replace(device, y=valve.y - 1_800_000)
    told = found(rules.board_joint_out_of_reach,
                 BoardPlan(plan.build, plan.state.with_device(device)))  # fmt: skip
    assert len(told) == 1 and "no room for the tool" in told[0].what.lower()


def test_what_is_not_as_asked_is_told() -> None:
    told = found(rules.board_not_as_asked, BoardPlan(build_of(2, pin=("teapot leaves up",))))
    assert len(told) == 1 and "teapot" in told[0].what
    told = found(rules.board_missing_part, BoardPlan(build_of(2, tube="copper L 1/2 in")))
    assert len(told) == 1 and "can't be laid out" in told[0].what


def test_a_zone_on_the_wrong_side_is_told() -> None:
    build = build_of(2, leaves="up", pin=("cold manifold upright",))
    told = found(rules.board_zone_on_the_wrong_side, BoardPlan(build))
    assert len(told) == 2 and "its fixture is up" in told[0].what
