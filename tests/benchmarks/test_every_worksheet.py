"""From a key on a slider to changed figures and picture, for the worksheet of every notebook.

Prints one table of medians: ``pytest -n0 tests/benchmarks/test_every_worksheet.py -s``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

import pytest

from tests.browser.lab import Notebook

NAMES = sorted(p.name for p in (Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
NUMBER, CHART = 60, 250  # ms
PRESSES = 14

# From the browser's own time stamp of the key to the frame after the first change.
WATCH = """(kind) => { window.changed = new Promise(done => {
  let start = 0;
  document.addEventListener('keydown', e => { start = e.timeStamp }, {capture: true, once: true});
  const sheet = document.querySelector('.vanplumb:has(.noUi-handle)');
  const place = sheet.querySelector(kind);
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => done(performance.now() - start));
  });
  seen.observe(place, {childList: true, subtree: true, characterData: true});
  setTimeout(() => { seen.disconnect(); done(null) }, 3000);
}) }"""


@pytest.fixture(scope="module")
def rows() -> Iterator[list[tuple[str, str, str, str]]]:
    found: list[tuple[str, str, str, str]] = []
    yield found
    print(
        f"\n{'notebook':34} {'number':>9} {'first':>9} {'chart':>9}"
        f"   (median ms, wanted {NUMBER} and {CHART}; the first move can't be foreseen)"
    )
    for name, number, first, chart in found:
        print(f"{name:34} {number:>9} {first:>9} {chart:>9}")


def times_of(notebook: Notebook, place: str) -> list[float]:
    times = []
    for number in range(PRESSES):
        notebook.page.evaluate(WATCH, place)
        notebook.page.keyboard.press("ArrowLeft" if number % 6 < 3 else "ArrowRight")
        one = notebook.page.evaluate("() => window.changed")
        if one is not None:
            times.append(float(one))
        notebook.settle()
    return times


def told(times: list[float]) -> str:
    return f"{median(times):.0f}" if len(times) > PRESSES // 2 else "no change"


@pytest.mark.parametrize("name", NAMES)
def test_slider_to_number_and_chart(
    run_notebook: Callable[..., Notebook], rows: list[tuple[str, str, str, str]], name: str
) -> None:
    notebook = run_notebook(name)
    notebook.settle()
    sheet = notebook.page.locator(".vanplumb:has(.noUi-handle)")
    if sheet.count() == 0:
        rows.append((name, "no slider", "", ""))
        return
    sheet.first.locator(".noUi-handle:visible").first.focus()
    notebook.settle()
    numbers = times_of(notebook, ".vp-results")
    first = f"{numbers[0]:.0f}" if numbers else ""
    rows.append((name, told(numbers), first, told(times_of(notebook, ".vp-stage"))))
