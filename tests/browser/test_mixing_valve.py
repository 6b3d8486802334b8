"""The mixing valve's notebook in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook
from tests.browser.seen import seen
from tests.browser.sheet import SHEET, field, picture, type_in

pytestmark = pytest.mark.browser

NAME = "02_mixing_valve.ipynb"


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME, user=__name__)
    one.page.wait_for_selector(f"{SHEET} >> .vp-pictures svg")
    return one


@pytest.mark.parametrize("text", ["41 °C", pytest.param("105.8 F", marks=pytest.mark.roaming)])
def test_any_unit_can_be_typed(notebook: Notebook, text: str) -> None:
    before = picture(notebook)
    type_in(notebook, "setting", text)
    after = picture(notebook)
    assert after != before
    assert "106 °F" in after
    assert notebook.failures() == []


def test_a_wrong_value_is_told_beside_the_field_and_the_picture_stays(notebook: Notebook) -> None:
    before = picture(notebook)
    type_in(notebook, "temperature_hot", "60 kg")
    told = field(notebook, "temperature_hot").inner_text()
    assert "hot supply now needs a temperature" in told
    assert "a mass" in told
    assert "Please mend: hot supply now" in notebook.page.locator(".vp-problem").first.inner_text()
    assert picture(notebook) == before
    type_in(notebook, "temperature_hot", "150 F")
    assert picture(notebook) != before
    assert notebook.page.locator(".vp-problem").first.inner_text().strip() == ""
    assert notebook.failures() == []


@pytest.mark.roaming
def test_a_value_that_can_not_be_is_told_and_the_picture_stays(notebook: Notebook) -> None:
    before = picture(notebook)
    type_in(notebook, "setting", "30 °C")
    type_in(notebook, "set_cold", "38 °C")
    told = notebook.page.locator(".vp-problem").first.inner_text()
    assert "can't have been set to that temperature" in told
    assert "last good result" in told
    assert picture(notebook) != before  # the first of the two still made sense
    assert notebook.failures() == []


def test_worked_steps_open_and_follow(notebook: Notebook) -> None:
    steps = notebook.page.locator(f"{SHEET} >> .vp-steps")
    assert not steps.is_visible()
    notebook.page.locator(f"{SHEET} >> button", has_text="Worked steps").click()
    notebook.settle()
    assert steps.locator("math").count() > 4
    before = steps.inner_text()
    type_in(notebook, "pressure_cold", "28 psi")
    assert steps.inner_text() != before
    notebook.view(width=420)
    notebook.page.wait_for_timeout(350)
    assert seen(notebook.page) == []
    notebook.view()
    notebook.page.locator(f"{SHEET} >> button", has_text="Worked steps").click()
    notebook.settle()
    assert not steps.is_visible()


def test_the_calculation_goes_on_a_sheet_and_says_where(notebook: Notebook) -> None:
    notebook.page.locator(f"{SHEET} >> button", has_text="Put on the sheet").click()
    panel = notebook.page.locator(f"{SHEET} >> .vp-panel >> visible=true")
    panel.locator("button", has_text="Write").click()
    notebook.page.wait_for_selector(f"{SHEET} >> .vp-said")
    told = panel.locator(".vp-said").inner_text()
    assert "calculation-mixing.pdf" in told
    assert "calculation-mixing.html" in told
    assert notebook.failures() == []


@pytest.mark.roaming
def test_a_build_file_that_is_not_there_is_told(notebook: Notebook) -> None:
    notebook.page.locator(f"{SHEET} >> button", has_text="Keep in a build file").click()
    panel = notebook.page.locator(f"{SHEET} >> .vp-panel >> visible=true")
    panel.locator("input").first.fill("nowhere.toml")
    panel.locator("button", has_text="Write").click()
    notebook.page.wait_for_selector(f"{SHEET} >> .vp-said")
    assert "Nothing was written" in panel.locator(".vp-said").inner_text()
    assert notebook.failures() == []
