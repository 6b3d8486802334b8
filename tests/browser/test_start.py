"""The first notebook in a real browser, wide and narrow, light and dark."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser

NAME = "01_start.ipynb"


@pytest.mark.parametrize("view", [{}, {"dark": True}, {"width": 420}])
def test_it_runs_without_complaint(
    run_notebook: Callable[..., Notebook], view: dict[str, Any]
) -> None:
    one = run_notebook(NAME, again=False, **view)
    assert one.failures() == []
    assert one.page.locator(".vanplumb table").count() >= 2
    assert one.page.locator(".vanplumb math").count() >= 1
    assert one.page.locator(".vanplumb .vp-caution").count() >= 1


def test_the_text_can_be_told_from_its_ground_in_both_themes(
    run_notebook: Callable[..., Notebook],
) -> None:
    for dark in (False, True):
        one = run_notebook(NAME, again=False, dark=dark)
        ratio = one.page.evaluate(CONTRAST, ".vanplumb .vp-caution, .vanplumb td, .vanplumb b")
        assert ratio >= 4.5, f"contrast {ratio:.1f} in the {'dark' if dark else 'light'} theme"


# Least contrast of the texts that a selector finds, by the formula of WCAG 2.1, section 1.4.3.
CONTRAST = """(selector) => {
  const parse = c => c.match(/[\\d.]+/g).map(Number);
  const light = c => { const [r, g, b] = parse(c).map(v => { v /= 255;
    return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b };
  const ground = e => { for (let n = e; n; n = n.parentElement) {
    const c = getComputedStyle(n).backgroundColor, p = parse(c);
    if (p.length < 4 || p[3] > 0.9) return c }
    return 'rgb(255,255,255)' };
  return Math.min(...[...document.querySelectorAll(selector)].map(e => {
    const a = light(getComputedStyle(e).color), b = light(ground(e));
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) })) }"""
