"""From a key on a slider to the changed picture, in a real browser."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import pytest

from tests.browser.lab import Notebook

from .bench import report_time

# notebook, the field whose slider is moved
WORKSHEETS = [("02_mixing_valve.ipynb", "pressure_cold")]

# From the browser's own time stamp of the key to the frame after the picture has changed.
WATCH = """() => { window.changed = new Promise((done, failed) => {
  let start = 0;
  document.addEventListener('keydown', e => { start = e.timeStamp }, {capture: true, once: true});
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => done(performance.now() - start));
  });
  seen.observe(document.querySelector('.vanplumb .vp-pictures'), {childList: true, subtree: true});
  setTimeout(() => { seen.disconnect(); failed(new Error('the picture did not change')) }, 5000);
}) }"""


@pytest.mark.parametrize("name, field", WORKSHEETS)
def test_slider_to_picture(run_notebook: Callable[..., Notebook], name: str, field: str) -> None:
    notebook = run_notebook(name)
    notebook.page.wait_for_selector(".vp-pictures svg")
    notebook.settle()
    notebook.page.locator(f".vp-field-{field.replace('_', '-')} .noUi-handle").first.focus()
    notebook.settle()
    times = []
    for number in range(40):
        notebook.page.evaluate(WATCH)
        notebook.page.keyboard.press("ArrowLeft" if number % 10 < 5 else "ArrowRight")
        times.append(notebook.page.evaluate("() => window.changed"))
        notebook.settle()
    print(f"\n{name}: {min(times):.0f} to {max(times):.0f} ms")
    report_time(
        f"{name}, slider to picture, median of {len(times)}",
        median(times) / 1000,
        0.6,
        time.perf_counter,
    )
