"""The living picture: water moves, taps tell what they lose, and it stays in sight."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook
from vanplumb import example
from vanplumb.drawings.warmth import colour
from vanplumb.flow.engine import Flow
from vanplumb.words.show import show

pytestmark = pytest.mark.browser

NAME = "10_whole_system.ipynb"
WATER = (
    """() => [...document.querySelectorAll('.vp-living-strips canvas')].map(c => c.toDataURL())"""
)
LINES = """() => [...document.querySelectorAll('.vp-living .vp-run')]
  .map(e => [Number(e.dataset.run), e.getAttribute('stroke')])"""
# Pairs of texts on the picture that lie over one another, and texts that its frame cuts.
CROWDED = """() => {
  const found = [], strips = [...document.querySelectorAll('.vp-living-strip')];
  for (const strip of strips) {
    const frame = strip.getBoundingClientRect();
    const boxes = [...strip.querySelectorAll('svg text')]
      .map(e => [e.textContent, e.getBoundingClientRect()]).filter(([t, b]) => t && b.width);
    boxes.forEach(([one, a], i) => {
      if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1 ||
          a.bottom > frame.bottom + 1) found.push(['cut', one]);
      for (const [other, b] of boxes.slice(i + 1)) {
        const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (wide > 1 && high > 3) found.push(['over', one, other]);
      }
    });
    if (frame.right > document.documentElement.clientWidth) found.push(['out', frame.right]);
  }
  const starts = [...document.querySelectorAll('.vp-living-strips')].map(stage =>
    [...stage.querySelectorAll('svg')].map(s => s.viewBox.baseVal.x));
  for (const row of starts) row.forEach((x, i) => {
    if (i && x <= row[i - 1]) found.push(['strips out of order', row]);
  });
  return found;
}"""


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME, again=False, moving=True)
    one.page.wait_for_selector(".vp-living-strips svg")
    one.page.evaluate("() => document.querySelector('.vp-living').scrollIntoView()")
    return one


def stands_still(notebook: Notebook) -> bool:
    """Whether no dash has moved in a third of a second."""
    before = notebook.page.evaluate(WATER)
    notebook.page.wait_for_timeout(330)
    return bool(before == notebook.page.evaluate(WATER))


def tap(notebook: Notebook, name: str) -> Any:
    return notebook.page.locator(f'.vp-living [data-tap="{name}"]').first


def test_the_water_moves_and_is_held_still(notebook: Notebook) -> None:
    assert notebook.failures() == []
    assert not stands_still(notebook)
    hold = notebook.page.locator(".vp-living-go").first
    hold.click()
    assert hold.inner_text() == "Move" and stands_still(notebook)
    hold.click()
    assert not stands_still(notebook)


def test_reduced_motion_shows_a_still_picture(notebook: Notebook) -> None:
    notebook.page.emulate_media(reduced_motion="reduce")
    notebook.page.wait_for_timeout(50)
    assert stands_still(notebook)
    assert notebook.page.locator(".vp-living svg text", has_text="L/min").count() >= 1
    notebook.page.emulate_media(reduced_motion="no-preference")
    assert not stands_still(notebook)


def test_what_stands_on_it_is_what_the_engine_gives(notebook: Notebook) -> None:
    """Colours and figures, before and after another tap is opened."""
    flow = Flow(example("heron"))
    alone, both = flow.solve(["laundry tub"]), flow.solve(["laundry tub", "shower"])
    figures = tap(notebook, "laundry tub")
    shown = [show(alone.fixtures["laundry tub"].flow, "flow", "SI")]
    assert all(one in figures.inner_html() for one in shown)
    tap(notebook, "shower").click()
    notebook.settle()
    old, new = (show(m.fixtures["laundry tub"].flow, "flow", "SI") for m in (alone, both))
    assert f"{old.split()[0]} → {new}" in figures.inner_html()
    for run, stroke in notebook.page.evaluate(LINES):
        link = both.links[f"run {run + 1}"]
        if abs(link.flow) > 1e-6:
            assert stroke == colour(link.temperature), run
    tap(notebook, "shower").click()
    notebook.settle()
    assert notebook.failures() == []


@pytest.mark.parametrize("width", [420, 1280, 1920])
def test_nothing_is_cut_or_lies_over_another(notebook: Notebook, width: int) -> None:
    notebook.view(width=width)
    notebook.settle()
    tap(notebook, "galley").click()  # with "before → after", the longest
    notebook.settle()
    assert notebook.page.evaluate(CROWDED) == []
    tap(notebook, "galley").click()
    notebook.settle()
    notebook.view()


@pytest.mark.parametrize("width", [420, 1280])
def test_it_stays_in_sight_while_the_fields_are_used(notebook: Notebook, width: int) -> None:
    notebook.view(width=width)
    notebook.settle()
    field = notebook.page.locator(".vp-below .vp-field").last
    field.evaluate("e => e.scrollIntoView({block: 'end'})")
    seen = notebook.page.locator(".vp-living-strips [data-tap]").last.bounding_box()
    used = field.bounding_box()
    assert seen["y"] + seen["height"] <= used["y"], "the picture covers the field"
    assert seen["y"] >= 0 and used["y"] + used["height"] <= 900
    notebook.view()
