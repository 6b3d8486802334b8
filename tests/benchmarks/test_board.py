"""Boards laid out, and from a dragged valve to the redrawn board in a real browser."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import pytest

from tests.board.boards import LONG, build_of
from tests.browser.lab import Notebook
from vanplumb.board.plan import BoardPlan
from vanplumb.pack import example

from .bench import report_time

BOARDS = {
    "four zones": build_of(4),
    "six zones": build_of(6),
    "eight zones": build_of(8),
    "eight zones, cold and hot": build_of(4, 4, width=0.75, height=0.6),
    "eight zones and a mixing valve": build_of(5, 3, mixing=True, width=1.0, height=0.6),
    "eight long levers, little room": build_of(8, rows=LONG, width=0.76, height=0.6),
    "the largest example": example("dipper"),
}


@pytest.mark.parametrize("name", BOARDS)
def test_a_board_is_laid_out(name: str) -> None:
    import shapely

    del shapely  # its import is not the layout's
    times = []
    for _ in range(3):
        start = time.process_time()
        plan = BoardPlan(BOARDS[name])
        good = plan.layout.good
        times.append(time.process_time() - start)
        assert good
    report_time(f"board, {name}", min(times), 20)


# From the browser's own time stamp of the move to the frame after the board has changed.
WATCH = """() => { window.changed = new Promise((done, failed) => {
  let start = 0;
  const stage = document.querySelector('.vp-board');
  stage.addEventListener('pointermove', e => { start = start || e.timeStamp }, {capture: true});
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => done(performance.now() - start));
  });
  seen.observe(stage, {childList: true, subtree: true});
  setTimeout(() => { seen.disconnect(); failed(new Error('the board did not change')) }, 5000);
}) }"""


def test_drag_to_redraw(run_notebook: Callable[..., Notebook]) -> None:
    notebook = run_notebook("30_board.ipynb")
    page = notebook.page
    page.wait_for_selector(".vp-board svg [data-grip]")
    notebook.settle()
    grip = '.vp-board g[tabindex][data-grip="zone:cold manifold.shower"] circle'
    page.locator(grip).first.scroll_into_view_if_needed()
    box = page.locator(grip).first.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    notebook.settle()
    times = []
    for number in range(60):
        page.evaluate(WATCH)
        page.mouse.move(x + 3 + 4 * (number % 10), y - 3 * (number % 7))
        times.append(page.evaluate("() => window.changed"))
        notebook.settle()
    page.mouse.up()
    notebook.settle()
    assert notebook.failures() == []
    print(f"\nboard, drag to redraw: {min(times):.0f} to {max(times):.0f} ms")
    report_time(
        f"board, drag to redraw, median of {len(times)}",
        median(times) / 1000,
        0.5,
        time.perf_counter,
    )
