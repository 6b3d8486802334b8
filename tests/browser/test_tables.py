"""Tables are whole at a usual width; a phone shows the first figures and hints at the rest."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook
from tests.browser.test_every_notebook import NAMES, looked_at

pytestmark = pytest.mark.browser

# Tables that are wider than the frame they stand in.
CUT = """() => [...document.querySelectorAll('.jp-OutputArea-output table')]
  .filter(e => e.getBoundingClientRect().width && !e.closest('.vp-printed'))
  .filter(e => {
    let frame = e.parentElement;
    while (frame && !/auto|scroll|hidden/.test(getComputedStyle(frame).overflowX))
      frame = frame.parentElement;
    return frame && e.scrollWidth > frame.clientWidth + 1;
  })
  .map(e => e.innerText.slice(0, 60))"""

# Texts of cells that end in dots which nobody wrote.
DOTS = """() => [...document.querySelectorAll('.jp-OutputArea-output td, .jp-OutputArea-output th')]
  .map(e => e.innerText.trim()).filter(t => t.endsWith('...'))"""

# On a phone: grids whose first column of figures is out of sight, frames that can be moved
# sideways without a shadow, and words of a cell that are broken.
HIDDEN = """() => [...document.querySelectorAll('.vp-wide table.vp-grid')]
  .filter(e => e.getBoundingClientRect().width)
  .filter(e => {
    const figure = e.querySelector('tbody td.vp-number');
    const seen = e.closest('.vp-wide').getBoundingClientRect();
    return figure && figure.getBoundingClientRect().right > seen.right + 1;
  })
  .map(e => e.innerText.slice(0, 60))"""
BARE = """() => [...document.querySelectorAll('.vanplumb *')]
  .filter(e => /auto|scroll/.test(getComputedStyle(e).overflowX))
  .filter(e => e.clientWidth && e.scrollWidth > e.clientWidth + 2)
  .filter(e => !e.matches('input, textarea, select'))
  .filter(e => !/gradient/.test(getComputedStyle(e).backgroundImage))
  .map(e => e.className)"""


@pytest.mark.parametrize("name", looked_at(NAMES))
def test_tables_are_whole_at_a_usual_width(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    page = run_notebook(name, again=False).page
    assert page.evaluate(CUT) == []
    assert page.evaluate(DOTS) == []


@pytest.mark.parametrize("name", looked_at(NAMES))
def test_a_phone_shows_the_first_figures_and_hints_at_the_rest(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    page = run_notebook(name, width=420, again=False).page
    assert page.evaluate(HIDDEN) == []
    assert page.evaluate(BARE) == []


def width_of(page: Any, selector: str) -> list[float]:
    return page.evaluate(  # type: ignore[no-any-return]
        "(s) => { const e = document.querySelector(s); return [e.clientWidth, e.scrollWidth]; }",
        selector,
    )


@pytest.mark.parametrize("name", ["30_board.ipynb"])
def test_the_board_keeps_its_size_on_a_phone_inside_its_frame(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    page = run_notebook(name, width=420, again=False).page
    seen, whole = width_of(page, ".vp-board")
    assert whole >= 640 > seen


@pytest.mark.parametrize("name", ["22_cold_nights.ipynb"])
def test_a_menu_shows_the_whole_of_its_longest_words(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    page = run_notebook(name, again=False).page
    short = page.evaluate(
        """() => [...document.querySelectorAll('.vp-field select')]
             .filter(e => e.clientWidth)
             .filter(e => {
               const copy = e.cloneNode(true);
               copy.style.cssText = 'position: absolute; width: max-content; min-width: 0;';
               e.parentElement.append(copy);
               const need = copy.offsetWidth;
               copy.remove();
               return e.offsetWidth < need;
             }).map(e => e.innerText)"""
    )
    assert short == []


@pytest.mark.parametrize("name", ["01_start.ipynb"])
def test_equations_have_their_font_where_there_is_no_worksheet(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    page = run_notebook(name, again=False).page
    assert page.locator(".vp-step math").count() > 0
    fonts = "() => [...document.fonts].map(f => [f.family.replaceAll('\"', ''), f.status])"
    assert ["Vanplumb Math", "loaded"] in page.evaluate(fonts)
