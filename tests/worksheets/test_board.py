"""The board's worksheet without a browser: messages, buttons, what goes wrong, keeping."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from vanplumb.board.plan import BoardPlan
from vanplumb.pack import example
from vanplumb.van import load
from vanplumb.words.tables import example_builds
from vanplumb.worksheets.frame import states
from vanplumb.worksheets.van.board import board_of

SHOWER = "zone:cold manifold.wet room"


@pytest.fixture
def bench() -> Any:
    return board_of(example("dipper")).bench


def drag(bench: Any, dx: float, dy: float, *, end: str = "drop") -> None:
    bench.heard({"kind": "take", "grip": SHOWER})
    bench.heard({"kind": "drag", "grip": SHOWER, "dx": dx / 2, "dy": dy / 2})
    bench.heard({"kind": end, "grip": SHOWER, "dx": dx, "dy": dy})


def test_a_drag_is_one_step_to_undo_and_the_cut_list_follows(bench: Any) -> None:
    first = bench.state
    cuts = {c.label: c.length for c in bench.sheet.result.plan.cut_list.cuts}
    drag(bench, 0.0, 25.4)
    after = {c.label: c.length for c in bench.sheet.result.plan.cut_list.cuts}
    assert after["C3 wet room stub"] - cuts["C3 wet room stub"] == 16 * 15_875
    assert {k for k in cuts if cuts[k] != after[k]} == {"C3 wet room stub"}
    bench.undo()
    assert bench.state == first and not bench.done
    bench.redo()
    assert bench.state != first
    drag(bench, 30.0, 0.0, end="cancel")
    assert len(bench.done) == 1


def test_what_collides_is_told_at_once(bench: Any) -> None:
    bench.heard({"kind": "take", "grip": SHOWER})
    bench.heard({"kind": "drag", "grip": SHOWER, "dx": -60.0, "dy": 0.0})
    assert "in the way" in bench.sheet.figures["The board"]
    assert ' stroke="#d1006c"' in "".join(bench.stage._parts[1])
    bench.heard({"kind": "cancel"})
    assert bench.sheet.figures["The board"] == "fits"


def test_only_what_changed_is_sent_while_dragging(bench: Any) -> None:
    """The elements sent, put into the last whole drawing, are the new drawing."""
    bench.heard({"kind": "take", "grip": SHOWER})
    sent = 0
    for step in range(1, 6):
        head, parts = bench.stage._parts
        bench.heard({"kind": "drag", "grip": SHOWER, "dx": 2.0 * step, "dy": 1.0})
        patched = list(parts)
        for number, text in bench.stage.patch:
            patched[number] = text
        if bench.stage.patch:
            assert (head, patched) == bench.stage._parts
            assert len(bench.stage.patch) < len(parts) / 2
            sent += 1
        else:  # more or fewer elements than before: sent whole
            whole = bench.stage._parts
            assert bench.stage.svg == whole[0] + "".join(whole[1]) + "</svg>"
    assert sent >= 3
    bench.heard({"kind": "drop", "grip": SHOWER, "dx": 10.0, "dy": 1.0})
    assert bench.stage.patch == []
    assert bench.stage.svg == bench.stage._parts[0] + "".join(bench.stage._parts[1]) + "</svg>"


def test_keys_and_buttons(bench: Any) -> None:
    first = bench.state
    for key in ("ArrowUp", "ArrowRight", "t", "b", "Enter"):
        bench.heard({"kind": "key", "grip": SHOWER, "key": key})
    assert bench.spot.turned and bench.spot.bend == "forward" and bench.zone.endswith("wet room")
    bench.tools.part.value = "ball valve, long lever, crimp 1/2 in"
    assert bench.spot.valve == "ball valve, long lever, crimp 1/2 in"
    bench.tools.tip.value = "back"
    assert bench.spot.bend == "back"
    bench.other_side()
    bench.reorder(1)
    bench.close_up()
    while bench.done:
        bench.undo()
    assert bench.state == first
    bench.tools.which.value = "device:basin valve"
    assert bench.grip == "device:basin valve" and bench.tools.part.disabled
    bench.turn()
    assert bench.state.devices[0].turn != first.devices[0].turn
    bench.search()
    assert bench.state == first


def test_what_can_not_be_done_is_told_and_the_last_good_board_stays(bench: Any) -> None:
    bench.heard({"kind": "take", "grip": SHOWER})
    bench.swap("ball valve, wing, crimp 1/2 in")
    good = bench.sheet.result
    bench.bend("forward")
    assert "must not be bent" in bench.sheet.problem and bench.sheet.result is good
    bench.swap("magic valve")
    assert "is no shut-off for PEX-B 1/2 in" in bench.sheet.problem
    bench.turn()
    assert bench.sheet.problem == ""


def test_a_message_that_makes_no_sense_is_told_and_answered(bench: Any) -> None:
    serial = bench.stage.serial
    bench.stage._heard(None, {"kind": "key", "grip": "zone:nobody.nowhere", "key": "t"}, [])
    assert bench.sheet.problem and bench.stage.serial > serial
    bench.grip = SHOWER
    bench.sheet.update()
    assert bench.sheet.problem == ""


def test_the_layout_is_kept_in_a_build_file_and_comes_back(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    shutil.copy(example_builds()["dipper"], file)
    bench = board_of(load(file)).bench
    drag(bench, 0.0, 30.0)
    values = bench.kept(bench.sheet, "board")
    from vanplumb.van import change

    change(file, values)
    text = file.read_text()
    assert "# --- manifolds" in text and "pin = [" in text
    again = BoardPlan(load(file))
    assert again.needs.problems == () and again.state == bench.state


def test_a_named_state_is_put_back(bench: Any, tmp_path: Path) -> None:
    drag(bench, 0.0, 30.0)
    kept = bench.state
    states.keep(bench.sheet, tmp_path / "states.json", "higher")
    bench.search()
    assert bench.state != kept
    states.restore(bench.sheet, tmp_path / "states.json", "higher")
    assert bench.state == kept and bench.sheet.problem == ""


def test_the_sheet_gets_the_drawing(bench: Any) -> None:
    chapter = bench.sheet.chapter_with_pictures()
    assert [p.key for p in chapter.pictures] == ["board"]
    assert chapter.pictures[0].svg.startswith("<svg")


def test_units_change_and_fingers_show(bench: Any) -> None:
    bench.sheet.use_units("SI")
    assert "mm" in bench.sheet.figures["Parts and sweeps, width"]
    before = bench.stage.svg
    bench.sheet.set(fingers=True)
    assert bench.stage.svg != before
