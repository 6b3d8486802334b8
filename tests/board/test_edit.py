"""Changes by hand: each keeps the header closed, does what it says, and can be undone."""

from __future__ import annotations

import numpy as np
import pytest

from tests.board.boards import build_of, plan_of
from tests.cases import cases
from vanplumb.board.hands import edit
from vanplumb.board.lists.cuts import CutList
from vanplumb.board.parts.parts import PartError
from vanplumb.board.parts.shapes import SWEEP
from vanplumb.board.place.layout import Layout
from vanplumb.board.place.state import SIXTEENTH, State, mm, ticks
from vanplumb.board.plan import BoardPlan
from vanplumb.pack import example


@pytest.fixture(scope="module")
def plan() -> BoardPlan:
    return plan_of(4, width=0.7, height=0.5, pin=("cold manifold lying",))


def valves(plan: BoardPlan, state: State) -> dict[str, tuple[float, float]]:
    layout = Layout(plan.needs, state)
    return {p.zone: (mm(p.x), mm(p.y)) for p in layout.placed if p.zone}


def closed(plan: BoardPlan, state: State) -> bool:
    return all(c.gap == 0 for c in CutList(Layout(plan.needs, state)).closings)


def test_a_dragged_valve_moves_alone_in_whole_marks(plan: BoardPlan) -> None:
    zone = "cold manifold.zone 2"
    before = valves(plan, plan.state)
    state = edit.dragged(plan.needs, plan.state, f"zone:{zone}", ticks(20.0), ticks(0.4))
    after = valves(plan, state)
    assert after[zone][0] - before[zone][0] == pytest.approx(13 * 25.4 / 16)  # nearest to 20 mm
    assert {z: p for z, p in after.items() if z != zone} == {
        z: p for z, p in before.items() if z != zone
    }
    assert closed(plan, state)
    row = state.rows[0]
    assert [s.gap % SIXTEENTH for s in row.spots] == [0, 0, 0, 0]


@pytest.mark.parametrize("seed", range(cases(12, 40)))
def test_any_drag_keeps_headers_closed_and_other_zones_in_place(seed: int) -> None:
    rng = np.random.default_rng(seed)
    board = (
        example("dipper")
        if seed % 3 == 0
        else build_of(
            int(rng.integers(2, 6)), form=str(rng.choice(["tees", "block"])), width=0.8, height=0.6
        )
    )
    plan = BoardPlan(board)
    state = plan.state
    for _ in range(4):
        grips = [f"zone:{s.zone}" for r in state.rows for s in r.spots]
        grips += [f"row:{r.manifold}" for r in state.rows]
        grips += [f"device:{d.name}" for d in state.devices]
        grip = str(rng.choice(grips))
        dx, dy = (ticks(float(v)) for v in rng.uniform(-90, 90, 2))
        before = valves(plan, state)
        state = edit.dragged(plan.needs, state, grip, dx, dy)
        assert closed(plan, state), grip
        if grip.startswith("zone:"):
            after = valves(plan, state)
            moved = {z for z in before if np.hypot(*np.subtract(before[z], after[z])) > 1e-9}
            assert moved <= {grip.removeprefix("zone:")}
    for row in state.rows:
        assert all(s.gap >= 0 and s.stub >= 0 for s in row.spots)


def test_turning_twice_and_flipping_twice_give_the_same_board(plan: BoardPlan) -> None:
    zone = "cold manifold.zone 3"
    assert edit.turned(edit.turned(plan.state, zone), zone) == plan.state
    assert edit.other_side(edit.other_side(plan.state, zone), zone) == plan.state
    once = edit.turned(plan.state, zone)
    assert once.find(zone)[0].spots[once.find(zone)[1]].turned


def test_a_handle_bends_only_if_its_row_says_so(plan: BoardPlan) -> None:
    zone = "cold manifold.zone 1"
    state = edit.bent(plan.needs, plan.state, zone, "forward")
    low, high = (
        max(p.high for p in Layout(plan.needs, s).pieces if "C1" in p.owner and p.role == SWEEP)
        for s in (plan.state, state)
    )
    assert high - low == pytest.approx(9.0)  # handle_bend of the usual lever
    wing = edit.swapped(plan.needs, plan.state, zone, "ball valve, wing 1/2 in")
    with pytest.raises(PartError, match="must not be bent"):
        edit.bent(plan.needs, wing, zone, "forward")
    with pytest.raises(ValueError, match="a handle is flat, forward, back, not 'sideways'"):
        edit.bent(plan.needs, plan.state, zone, "sideways")


def test_a_part_for_another_tube_is_refused(plan: BoardPlan) -> None:
    with pytest.raises(PartError, match="is no shut-off for PEX 1/2 in; there are ball"):
        edit.swapped(plan.needs, plan.state, "cold manifold.zone 1", "ball valve, lever 3/4 in")


def test_zones_change_places_and_fittings_stay(plan: BoardPlan) -> None:
    names = [s.zone for s in plan.state.rows[0].spots]
    state = edit.moved_in_order(plan.needs, plan.state, names[0], 1)
    assert [s.zone for s in state.rows[0].spots] == [names[1], names[0], *names[2:]]
    nodes = [s.node for s in plan.state.rows[0].spots]
    assert [s.node for s in state.rows[0].spots] == nodes
    assert edit.moved_in_order(plan.needs, state, names[0], -9).rows[0].spots[0].zone == names[0]
    assert closed(plan, state)


def test_closing_up_is_what_the_search_does(plan: BoardPlan) -> None:
    wide = edit.dragged(plan.needs, plan.state, "zone:cold manifold.zone 4", ticks(60.0), 0)
    assert Layout(plan.needs, wide).width > plan.layout.width
    closed_again = edit.closed_up(plan.needs, wide)
    assert [s.gap for s in closed_again.rows[0].spots] == [s.gap for s in plan.state.rows[0].spots]


def test_a_device_jumps_into_line_and_turns() -> None:
    plan = plan_of(3, 3, mixing=True, width=1.0, height=0.8)
    device = plan.state.devices[0]
    state = edit.dragged(plan.needs, plan.state, "device:mixer", ticks(50.0), ticks(30.0))
    assert (state.devices[0].x, state.devices[0].y) != (device.x, device.y)
    turned = plan.state
    for _ in range(4):
        turned = edit.device_turned(turned, "mixer")
    assert turned == plan.state
    with pytest.raises(KeyError):
        edit.device_turned(plan.state, "kettle")
    with pytest.raises(KeyError):
        edit.dragged(plan.needs, plan.state, "teapot:x", 0, 0)


def test_an_outlet_of_a_ready_header_does_not_move_along_it() -> None:
    plan = plan_of(4, form="block", width=0.6, height=0.5, pin=("cold manifold lying",))
    zone = plan.state.rows[0].spots[1].zone
    before = valves(plan, plan.state)[zone]
    state = edit.dragged(plan.needs, plan.state, f"zone:{zone}", ticks(30), ticks(25.4))
    after = valves(plan, state)
    assert after[zone][0] == before[0]
    assert abs(after[zone][1] - before[1]) == pytest.approx(25.4)
