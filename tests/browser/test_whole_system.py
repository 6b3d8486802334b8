"""The whole system's notebook in a real browser: taps pressed on the drawing, fields moved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook
from tests.browser.sheet import SHEET

pytestmark = pytest.mark.browser

NAME = "10_whole_system.ipynb"


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME, again=False)
    one.page.wait_for_selector(f"{SHEET} >> .vp-living-strips svg")
    one.settle()
    return one


def drawing(notebook: Notebook) -> str:
    return str(
        notebook.page.locator(f"{SHEET} >> .vp-living-strips svg").first.evaluate("e=>e.outerHTML")
    )


def tap(notebook: Notebook, number: int) -> Any:
    return notebook.page.locator(f"{SHEET} >> .vp-tap").nth(number)


def said(notebook: Notebook, number: int) -> str:
    return str(tap(notebook, number).get_attribute("aria-label"))


def test_a_tap_is_opened_and_shut_by_a_click(notebook: Notebook) -> None:
    assert notebook.failures() == []
    before = drawing(notebook)
    assert before.count(">shut</text>") == 3
    tap(notebook, 0).click()
    notebook.settle()
    assert drawing(notebook).count(">shut</text>") == 2
    assert said(notebook, 0) == "galley, open: press to shut"
    box = notebook.page.locator(f"{SHEET} >> .vp-field-tap-0 input[type=checkbox]")
    assert box.is_checked()
    tap(notebook, 0).click()
    notebook.settle()
    assert drawing(notebook).count(">shut</text>") == before.count(">shut</text>")
    assert notebook.failures() == []


def test_a_tap_is_reached_and_pressed_by_keyboard(notebook: Notebook) -> None:
    tap(notebook, 0).focus()
    notebook.page.keyboard.press("Tab")
    focused = notebook.page.evaluate("() => document.activeElement.getAttribute('aria-label')")
    assert focused.startswith("basin,")
    notebook.page.keyboard.press("Space")
    notebook.settle()
    assert said(notebook, 1).startswith("basin, open")
    focused = notebook.page.evaluate("() => document.activeElement.getAttribute('aria-label')")
    assert focused.startswith("basin, open"), "the drawing is renewed and the focus stays"
    name = notebook.page.locator(f"{SHEET} >> .vp-living-strips svg").first.get_attribute(
        "aria-label"
    )
    assert "basin" in name and "L/min" in name
    tap(notebook, 1).click()
    notebook.settle()


@pytest.mark.roaming
def test_every_field_goes_to_both_ends_and_a_wrong_text_is_told(notebook: Notebook) -> None:
    handles = notebook.page.locator(f"{SHEET} >> .noUi-handle")
    assert handles.count() == 3
    seen = {drawing(notebook)}
    for index in range(handles.count()):
        for key in ("Home", "End"):
            handles.nth(index).focus()
            handles.nth(index).press(key)
            notebook.settle()
            seen.add(drawing(notebook))
    assert len(seen) >= 4
    entry = notebook.page.locator(f"{SHEET} >> .vp-field-voltage input[type=text]")
    entry.fill("12 gal")
    entry.press("Enter")
    notebook.settle()
    told = notebook.page.locator(f"{SHEET} >> .vp-problem").inner_text()
    assert "voltage" in told.lower() and "last good result" in told
    entry.fill("12.4 V")
    entry.press("Enter")
    notebook.settle()
    assert notebook.failures() == []
