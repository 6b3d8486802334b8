"""Builds with more fixtures than can be tried in every way: the stated search, and its laws.

How long a large build takes is told by ``tests/benchmarks/test_size.py``.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest

from vanplumb.answers import Answers
from vanplumb.chapters.flow import grids
from vanplumb.chapters.mixing import valves_chapter
from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import valve_checks
from vanplumb.flow.neighbours import ALL_FIXTURES, Neighbours, part_of
from vanplumb.network import network
from vanplumb.network.links import Flags, Floats
from vanplumb.network.states import State
from vanplumb.review.board import board_missing_part
from vanplumb.van import BuildError, loads

from .large import large


@pytest.fixture(scope="module")
def wash_bus() -> Flow:
    """Sixty fixtures and more than 150 runs."""
    return Flow(loads(large(60, 150)))


@pytest.fixture(scope="module")
def dozen() -> Flow:
    """A few fixtures more than are tried in every way."""
    return Flow(loads(large(ALL_FIXTURES + 2, 30)))


def test_every_situation_of_sixty_fixtures_is_found_and_balances(wash_bus: Flow) -> None:
    assert len(wash_bus.build.run) >= 150
    for moment in wash_bus.situations:
        assert moment.found, moment.name
        assert moment.imbalance < 1e-9, moment.name
    alone = [wash_bus.situation_of((f,)).fixtures[f].flow for f in wash_bus.fixtures]
    crowd = wash_bus.situation_of(wash_bus.fixtures).fixtures
    assert all(crowd[f].flow < one for f, one in zip(wash_bus.fixtures, alone, strict=True))


def test_crowds_around_every_fixture_are_found_without_many_starts(
    wash_bus: Flow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pump's suction cuts its flow then, and most fixtures run dry."""
    monkeypatch.setattr(network, "_try_again", lambda *_: pytest.fail("tried from many starts"))
    near = Neighbours(wash_bus)
    some = wash_bus.fixtures[::4]
    opens = [{f: "mixed", **open_} for f in some for open_ in near.crowds(f).values()]
    found = wash_bus.batch([wash_bus.fixtures, *opens]).solution
    assert found.found.all() and np.max(found.imbalance) < 1e-9


def test_what_leads_nowhere_is_at_rest_at_once(
    dozen: Flow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else the pressure at its end is found with the slope at a flow that is gone."""
    plain, moving = State.correct, []

    def seen(state: State, *asked: Any) -> tuple[Floats, Flags]:
        flow, changed = plain(state, *asked)
        moving.append(float(np.abs(flow[state.idle]).max(initial=0.0)))
        return flow, changed

    monkeypatch.setattr(State, "correct", seen)
    assert dozen.solve().found
    assert moving and max(moving) == 0.0


def test_what_is_left_out_of_a_search_changes_no_flow_and_no_temperature(wash_bus: Flow) -> None:
    near = Neighbours(wash_bus).nearest(["tap 21"], 64)
    part = part_of(wash_bus, {"tap 21", *near})
    assert 3 * len(part.made.net.links) < 2 * len(wash_bus.made.net.links)
    opens = [("tap 21",), *(("tap 21", other) for other in near), ("tap 21", *near)]
    whole, small = wash_bus.batch(opens).solution, part.batch(opens).solution
    assert whole.found.all() and small.found.all()
    for link in part.made.net.links:
        # beside all the others one tap gives a drop a minute, and water that hardly moves keeps
        # whatever warmth it had: its weight moves the other flows by 10 mm³/s at most
        same = pytest.approx(whole.flow[link.name], rel=1e-4, abs=1e-8)
        assert small.flow[link.name] == same, link.name
    for fixture in ("tap 21", *near):
        node = part.made.net.link(fixture).start
        runs = np.asarray(whole.flow[fixture]) > 1e-6
        assert np.asarray(small.temperature[node])[runs] == pytest.approx(
            np.asarray(whole.temperature[node])[runs], abs=0.01
        )


def test_past_a_stated_size_a_build_is_refused_at_load() -> None:
    tap = '[[fixture]]\nname = "tap {}"\nkind = "cold tap"\n'
    text = 'format = 1\n[van]\nname = "Ruff"\nunits = "SI"\n'
    assert len(loads(text + "".join(tap.format(i) for i in range(400))).fixture) == 400
    with pytest.raises(BuildError, match="has 401 fixtures; at most 400 are worked out"):
        loads(text + "".join(tap.format(i) for i in range(401)))


def test_too_many_zones_for_one_board_are_told(wash_bus: Flow) -> None:
    answers = Answers(wash_bus.build)
    assert answers.board.trouble.startswith("42 zones and 12 devices on one board")
    (finding,) = board_missing_part(answers)
    assert "laid out for 36 zones and 4 devices at most" in finding.what


def test_nearest_are_those_on_the_same_way(wash_bus: Flow) -> None:
    """Of fixtures alike, one on the same pair of manifolds matters more than one elsewhere."""
    weights = Neighbours(wash_bus).nearest(["tap 22"], 10**60)
    assert weights.index("tap 27") < weights.index("tap 57")


def test_no_pair_starves_a_fixture_more_than_the_greatest_change(dozen: Flow) -> None:
    pairs = list(combinations(dozen.fixtures, 2))
    solution = dozen.batch(pairs).solution
    assert solution.found.all()
    weakest = {name: min(c.flow for c in found) for name, found in dozen.changes.items()}
    for i, pair in enumerate(pairs):
        for name in pair:
            assert weakest[name] <= solution.flow[name][i] + 1e-9, (name, pair)
    assert not any(c.all_tried for found in dozen.changes.values() for c in found)


def test_extremes_of_a_valve_are_no_less_than_alone_and_told_as_not_all(dozen: Flow) -> None:
    for check in valve_checks(dozen).values():
        assert check.usual and check.hottest and check.coldest
        assert check.coldest.temperature <= check.usual.temperature + 0.05
        assert check.usual.temperature <= check.hottest.temperature + 0.05
        assert not check.all_tried


def test_the_sheet_says_that_only_the_valves_own_checks_were_let_leak(dozen: Flow) -> None:
    chapter = valves_chapter(dozen.build, valve_checks(dozen))
    notes = [one.note for one in chapter.grids if one.title.endswith("the worst that it gives")]
    assert len(notes) == len(dozen.build.mixing_valve)
    assert all("Of check valves only the valve's own were let leak" in note for note in notes)


def test_without_check_valves_a_dozen_fixtures_are_all_found() -> None:
    flow = Flow(loads(large(ALL_FIXTURES + 2, 30, checks=False)))
    opens = [(f,) for f in flow.fixtures] + [flow.fixtures]
    moments = [flow.situation_of(tuple(open_)) for open_ in opens]
    assert all(m.found and m.imbalance < 1e-9 for m in moments)


def test_cold_and_hot_lines_that_only_their_warmth_moves_are_found() -> None:
    """Behind open valves without checks whole manifolds fill with hot or cold water by turns."""
    flow = Flow(loads(large(30, 90, checks=False)))
    moment = flow.solve(["tap 14"])
    assert moment.found and moment.imbalance < 1e-9


def test_the_sheet_says_what_was_not_tried(dozen: Flow) -> None:
    notes = " ".join(one.note for one in grids(dozen, dozen.situation_of(dozen.fixtures)))
    assert f"Of the {len(dozen.fixtures)} fixtures not all combinations can be tried" in notes
    assert "each stands beside those that matter most to it" in notes
