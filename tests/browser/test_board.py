"""The board's notebook in a real browser: drag, turn, bend, swap, undo, keep."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook
from tests.browser.sheet import SHEET, results

pytestmark = pytest.mark.browser

NAME = "30_board.ipynb"
WET_ROOM = "zone:cold manifold.wet room"


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME, user=__name__)
    one.page.wait_for_selector(f"{SHEET} >> .vp-board svg [data-grip]")
    one.settle()
    return one


def board(notebook: Notebook) -> str:
    return str(notebook.page.locator(f"{SHEET} >> .vp-board").inner_html())


def press(notebook: Notebook, name: str) -> None:
    notebook.page.locator(f"{SHEET} >> .vp-do-{name}").click()
    notebook.settle()


def handle(notebook: Notebook, grip: str) -> Any:
    return notebook.page.locator(f'{SHEET} >> .vp-board g[tabindex][data-grip="{grip}"]')


def drag(notebook: Notebook, grip: str, dx: float, dy: float) -> None:
    spot = handle(notebook, grip).locator("circle").first
    spot.scroll_into_view_if_needed()
    box = spot.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse = notebook.page.mouse
    mouse.move(x, y)
    mouse.down()
    for step in range(1, 9):
        mouse.move(x + dx * step / 8, y + dy * step / 8)
    mouse.up()
    notebook.settle()


def test_a_valve_is_dragged_and_the_cut_list_follows(notebook: Notebook) -> None:
    before, told = board(notebook), results(notebook)
    assert "fits" in told
    drag(notebook, WET_ROOM, 0, -40)
    assert board(notebook) != before and results(notebook) != told
    drag(notebook, WET_ROOM, -60, 0)
    assert "in the way" in results(notebook)
    assert ' stroke="#d1006c"' in board(notebook)
    press(notebook, "undo")
    press(notebook, "undo")
    assert "fits" in results(notebook) and ' stroke="#d1006c"' not in board(notebook)
    press(notebook, "redo")
    press(notebook, "as-found")
    assert "fits" in results(notebook)
    assert notebook.failures() == []


def test_keys_move_turn_and_bend_what_has_the_focus(notebook: Notebook) -> None:
    seen = {board(notebook)}
    handle(notebook, WET_ROOM).focus()
    for key in ("ArrowUp", "Shift+ArrowUp", "t", "b", "b", "b", "ArrowLeft", "ArrowRight"):
        notebook.page.keyboard.press(key)
        notebook.settle()
        seen.add(board(notebook))
        focused = notebook.page.evaluate("() => document.activeElement.dataset.grip")
        assert focused == WET_ROOM
    assert len(seen) >= 7
    label = handle(notebook, WET_ROOM).get_attribute("aria-label")
    assert "C3 wet room, handle turned" in label
    assert notebook.failures() == []


def test_every_button_and_choice_does_something_or_says_why(notebook: Notebook) -> None:
    press(notebook, "as-found")
    handle(notebook, WET_ROOM).focus()
    notebook.page.keyboard.press("Enter")
    notebook.settle()
    seen = {board(notebook)}
    for name in ("turn-handle", "other-side", "earlier", "later", "close-up", "as-found"):
        press(notebook, name)
        seen.add(board(notebook))
    for tip in ("forward", "back", "flat"):
        notebook.page.locator(f"{SHEET} >> .vp-board-tools button", has_text=tip).click()
        notebook.settle()
        seen.add(board(notebook))
    part = notebook.page.locator(f"{SHEET} >> .vp-board-tools select").nth(1)
    for label in part.locator("option").all_inner_texts():
        part.select_option(label=label)
        notebook.settle()
        seen.add(board(notebook))
    which = notebook.page.locator(f"{SHEET} >> .vp-board-tools select").first
    for label in which.locator("option").all_inner_texts():
        which.select_option(label=label)
        notebook.settle()
    press(notebook, "turn-handle")
    seen.add(board(notebook))
    notebook.page.locator(f"{SHEET} >> .vp-field-fingers input[type=checkbox]").click()
    notebook.settle()
    seen.add(board(notebook))
    for units in ("SI", "US"):
        notebook.page.locator(f"{SHEET} >> .vp-units button", has_text=units).click()
        notebook.settle()
    assert len(seen) >= 9
    assert notebook.failures() == []


@pytest.mark.roaming
def test_a_wing_can_not_be_bent_and_the_page_says_so(notebook: Notebook) -> None:
    part = notebook.page.locator(f"{SHEET} >> .vp-board-tools select").nth(1)
    part.select_option(label="ball valve, wing, crimp 1/2 in")
    notebook.settle()
    notebook.page.locator(f"{SHEET} >> .vp-board-tools button", has_text="forward").click()
    notebook.settle()
    told = notebook.page.locator(f"{SHEET} >> .vp-problem").inner_text()
    assert "must not be bent" in told
    press(notebook, "undo")
    assert notebook.page.locator(f"{SHEET} >> .vp-problem").inner_text().strip() == ""
    assert notebook.failures() == []
