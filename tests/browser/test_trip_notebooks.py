"""The notebooks of the days and nights in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook
from tests.browser.sheet import SHEET, field, picture, type_in

pytestmark = pytest.mark.browser

CASES = {
    "20_water_for_the_trip.ipynb": ("thrift", "60 %", "people", "8 kg", "needs"),
    "21_heater_and_recovery.ipynb": ("volume", "30 L", "wanted", "41 kg", "needs a temperature"),
    "22_cold_nights.ipynb": ("coldest", "-4 °C", "coldest", "20 psi", "needs a temperature"),
}


@pytest.fixture(params=CASES)
def notebook(request: pytest.FixtureRequest, run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(request.param)
    one.page.wait_for_selector(f"{SHEET} >> .vp-pictures svg")
    return one


def test_it_runs_takes_any_unit_and_tells_what_it_cannot_read(notebook: Notebook) -> None:
    assert notebook.failures() == []
    key, text, other, nonsense, told = CASES[notebook.name]
    before = picture(notebook)
    type_in(notebook, key, text)
    after = picture(notebook)
    assert after != before
    type_in(notebook, other, nonsense)
    assert told in field(notebook, other).inner_text()
    assert picture(notebook) == after, "the last good picture stays"
    assert notebook.failures() == []


@pytest.mark.parametrize("name", CASES)
def test_the_chart_is_on_the_page_and_not_cut(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    for width in (420, 1280):
        notebook = run_notebook(name, width=width, again=False)
        notebook.page.wait_for_selector(f"{SHEET} >> .vp-pictures svg")
        box = notebook.page.locator(f"{SHEET} >> .vp-pictures svg").first.bounding_box()
        assert box is not None
        assert box["width"] > 200
        assert box["x"] >= 0 and box["x"] + box["width"] <= width + 1
