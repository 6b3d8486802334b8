"""The notebook that compares variants, in a real browser: a dot pressed tells its reason."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook
from tests.browser.sheet import SHEET, field, results

pytestmark = pytest.mark.browser

NAME = "60_compare.ipynb"


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME)
    one.page.wait_for_selector(f"{SHEET} >> .vp-scatter-picture svg")
    return one


def test_a_dot_pressed_tells_why_it_stands_there(notebook: Notebook) -> None:
    points = notebook.page.locator(f"{SHEET} >> .vp-point:visible")
    assert points.count() > 5
    number = str(points.nth(2).get_attribute("title")).split(":")[0].removeprefix("no. ")
    points.nth(2).click()
    notebook.page.wait_for_function(
        "n => document.querySelector('.vp-results').innerText.includes(`Why no. ${n} stands`)",
        arg=number,
    )
    told = results(notebook)
    assert "changed" in told and "decided by" in told
    points.nth(4).focus()
    points.nth(4).press("Enter")
    notebook.settle()
    second = str(points.nth(4).get_attribute("title")).split(":")[0].removeprefix("no. ")
    entry = field(notebook, "shown").locator("input")
    assert entry.input_value() == f"{second}, {number}"
    assert f"no. {second}" in results(notebook) and f"no. {number}" in results(notebook)
    assert notebook.failures() == []


@pytest.mark.roaming
def test_dots_stand_under_their_buttons(notebook: Notebook) -> None:
    """At a laptop's and at a phone's width a button lies on its violet dot."""
    for width in (1280, 420):
        notebook.view(width=width)
        notebook.page.wait_for_timeout(400)
        apart = notebook.page.evaluate(
            """() => {
              const sheet = document.querySelector('.vanplumb:has(.vp-scatter)');
              const middle = e => { const r = e.getBoundingClientRect();
                                    return [r.x + r.width / 2, r.y + r.height / 2] };
              const dots = [...sheet.querySelectorAll('circle.vp-mixed')].map(middle);
              const buttons = [...sheet.querySelectorAll('.vp-point')]
                .filter(e => e.offsetParent).map(middle);
              return buttons.map(([x, y]) =>
                Math.min(...dots.map(([a, b]) => Math.hypot(a - x, b - y))));
            }"""
        )
        assert apart
        assert max(apart) < 3, width
    notebook.view()


@pytest.mark.roaming
def test_a_target_that_can_not_be_read_is_told_and_the_result_stays(notebook: Notebook) -> None:
    before = results(notebook)
    entry = field(notebook, "target_1").locator("input")
    entry.fill("wait at shower <= 20 bananas")
    entry.press("Enter")
    notebook.settle()
    told = notebook.page.locator(f"{SHEET} >> .vp-problem").inner_text()
    assert "bananas" in told and "last good result" in told
    assert results(notebook) == before
    entry.fill("wait at shower <= 5 s")
    entry.press("Enter")
    notebook.settle()
    assert notebook.page.locator(f"{SHEET} >> .vp-problem").inner_text().strip() == ""
    assert "wait at shower at most 5 s" in results(notebook)
    assert notebook.failures() == []


def test_a_state_is_kept_and_gone_back_to(notebook: Notebook) -> None:
    page = notebook.page
    page.locator(f"{SHEET} >> button", has_text="States").click()
    panel = page.locator(f"{SHEET} >> .vp-states")
    panel.locator("input").nth(1).fill("as drawn")
    panel.locator("input").nth(1).press("Tab")
    panel.locator("button", has_text="Keep").click()
    page.wait_for_selector(f"{SHEET} >> .vp-states >> .vp-said")
    assert 'Kept as "as drawn" in states.json' in panel.locator(".vp-said").inner_text()
    menu = field(notebook, "up").locator("select")
    before = menu.evaluate("e => e.selectedIndex")
    menu.select_option(index=before + 1)
    notebook.settle()
    panel.locator("button", has_text="Go back to it").click()
    notebook.settle()
    assert 'stands as in "as drawn"' in panel.locator(".vp-said").inner_text()
    assert menu.evaluate("e => e.selectedIndex") == before
    assert notebook.failures() == []
