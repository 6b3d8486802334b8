"""Notebooks in a real browser: they run, controls react, a bad value is told.

Those with a worksheet are asked for more, in test_every_worksheet.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

from tests import cases
from tests.browser.lab import Notebook
from tests.browser.seen import open_steps, play_lesson, seen_in_all_windows
from tests.browser.test_every_worksheet import FAULT
from tests.browser.test_every_worksheet import NAMES as WORKSHEETS

pytestmark = pytest.mark.browser

NAMES = sorted(p.name for p in (Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
ON_A_PAGE = ("01_start.ipynb", "03_your_van.ipynb", "51_how_warm.ipynb", "61_plots.ipynb")
"""Of those without a worksheet the ones that a browser shows by default; others roam.  Lessons are
alike: their widgets are tried without a browser, and their outputs are compared all the same."""
SHEETS = ".vanplumb:has(.vp-columns)"


def sheets(notebook: Notebook) -> list[Any]:
    return list(notebook.page.locator(SHEETS).all())


def complaints(sheet: Any) -> str:
    return " ".join(sheet.locator(".vp-problem").all_inner_texts())


def sliders_to_both_ends(notebook: Notebook, sheet: Any) -> int:
    handles = sheet.locator(".vp-field .noUi-handle:visible")
    for index in range(handles.count() if cases.roaming else min(handles.count(), 1)):
        for key in ("Home", "End"):
            if index < handles.count():  # a choice may hide others
                handles.nth(index).focus()
                handles.nth(index).press(key)
                notebook.settle()
                assert FAULT not in complaints(sheet), (index, key)
    return int(handles.count())


def menus_to_both_ends(notebook: Notebook, sheet: Any) -> int:
    menus = sheet.locator(".vp-field select:visible")
    for index in range(menus.count() if cases.roaming else min(menus.count(), 1)):
        if index >= menus.count():
            break
        last = menus.nth(index).locator("option").count() - 1
        before = menus.nth(index).evaluate("e => e.selectedIndex")
        for place in (0, last, before):
            menus.nth(index).select_option(index=place)
            notebook.settle()
            assert FAULT not in complaints(sheet), (index, place)
    return int(menus.count())


def ticks_on_and_off(notebook: Notebook, sheet: Any) -> int:
    ticks = sheet.locator(".vp-field input[type=checkbox]:visible")
    for index in range(ticks.count() if cases.roaming else min(ticks.count(), 1)):
        for _ in range(2):
            ticks.nth(index).click()
            notebook.settle()
            assert FAULT not in complaints(sheet), index
    return int(ticks.count())


def bad_value_is_told(notebook: Notebook, sheet: Any) -> None:
    """Beside the field, in plain words, while the last good result stays."""
    entries = sheet.locator(
        ".vp-field:not(.vp-free-text):has(.noUi-handle) input[type=text]:visible"
    )
    if entries.count() == 0:
        return
    entry = entries.first
    good = entry.input_value()
    stage = sheet.locator(".vp-results")
    before = stage.inner_text()
    entry.fill("12 bananas")
    entry.press("Enter")
    sheet.locator(".vp-field.vp-bad").wait_for()
    notebook.settle()
    assert sheet.locator(".vp-field.vp-bad").count() == 1
    assert "bananas" in sheet.locator(".vp-field.vp-bad").inner_text()
    assert complaints(sheet).startswith("Please mend") or "Please mend" in complaints(sheet)
    assert stage.inner_text() == before
    entry.fill(good)
    entry.press("Enter")
    sheet.locator(".vp-field.vp-bad").wait_for(state="detached")


def looked_at(names: Iterable[str]) -> list[Any]:
    """Names for tests that look at notebooks: those that roam are marked so."""
    return [
        name
        if name in WORKSHEETS or name in ON_A_PAGE
        else pytest.param(name, marks=pytest.mark.roaming)
        for name in names
    ]


@pytest.mark.parametrize("name", looked_at(NAMES))
def test_no_text_is_cut_or_over_another_or_faint(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    """On a phone, a screen and a projector, light and dark."""
    notebook = run_notebook(name)  # as it opens, not as another test has left it
    notebook.used = play_lesson(notebook.page) or cases.roaming
    if cases.roaming:
        open_steps(notebook)
    notebook.settle()
    assert list(seen_in_all_windows(notebook)) == []


@pytest.mark.parametrize("name", looked_at(name for name in NAMES if name not in WORKSHEETS))
def test_it_runs_reacts_and_tells_a_bad_value(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name)
    assert notebook.failures() == []
    for sheet in sheets(notebook):
        assert FAULT not in complaints(sheet)
        bad_value_is_told(notebook, sheet)
    for sheet in sheets(notebook):
        sliders_to_both_ends(notebook, sheet)
        menus_to_both_ends(notebook, sheet)
        ticks_on_and_off(notebook, sheet)
        for units in ("SI", "US"):
            sheet.locator(".vp-units button", has_text=units).click()
            notebook.settle()
            assert FAULT not in complaints(sheet), units
    assert notebook.failures() == []
