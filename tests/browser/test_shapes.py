"""The board on a phone, menus with long words, the font of equations."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser


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
