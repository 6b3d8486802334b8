"""Readings and chances in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("name", ["41_measured.ipynb"])
def test_readings_are_judged_as_they_are_typed(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name)
    sheet = notebook.page.locator(".vanplumb:has(.vp-columns) >> nth=0")
    sheet.locator("svg").first.wait_for()
    assert notebook.failures() == []

    def type_in(key: str, text: str) -> None:
        entry = sheet.locator(f".vp-field-{key} input")
        entry.fill(text)
        entry.press("Enter")
        notebook.settle()

    results = sheet.locator(".vp-results")
    type_in("shower-hot-flow", "4.5 L/min")
    type_in("shower-cold-flow", "1.2 gpm")
    type_in("basin-flow", "1.12 gpm")
    assert "likely: clogged screen: shower" in results.inner_text()
    picture = sheet.locator("svg").first.inner_html()
    type_in("basin-flow", "soon")
    assert "basin, flow" in sheet.locator(".vp-problem").inner_text()
    assert sheet.locator("svg").first.inner_html() == picture
    type_in("basin-flow", "")
    assert sheet.locator(".vp-problem").inner_text().strip() == ""
    assert notebook.failures() == []


@pytest.mark.parametrize("name", ["42_records.ipynb"])
def test_chances_follow_the_counts(run_notebook: Callable[..., Notebook], name: str) -> None:
    notebook = run_notebook(name)
    sheet = notebook.page.locator(".vanplumb:has(.vp-columns) >> nth=0")
    sheet.locator("svg").first.wait_for()
    assert notebook.failures() == []
    seen = {sheet.locator("svg").first.inner_html()}
    handles = sheet.locator(".noUi-handle")
    assert handles.count() == 2
    for index in range(2):
        for key in ("Home", "End"):
            handles.nth(index).focus()
            handles.nth(index).press(key)
            notebook.settle()
            seen.add(sheet.locator("svg").first.inner_html())
    assert len(seen) > 2
    page = notebook.page.locator(".vp-record-page")
    assert "line set aside" in page.inner_text()
    assert notebook.failures() == []
