"""What a reader waits for, in every notebook: opening, Run All, number, picture, buttons, frames.

    pytest -n0 tests/benchmarks/test_every_worksheet.py -s

prints one table: medians of 15 moves, in milliseconds of the browser's own clock, from its time
stamp of the key to the frame after the change.  The last test names all that is over what is
wanted; on a machine that does other things beside it these figures say nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from tests.browser.lab import Notebook

NAMES = sorted(p.name for p in (Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
MOVES = 15
WANTED = {
    "opening": 5000.0,
    "Run All": 10_000.0,
    "number": 60.0,
    "picture": 250.0,
    "button": 250.0,
    "dot": 300.0,
    "field": 250.0,
    "answer": 250.0,
    "frames/s": 50.0,
}
"""At most, in ms; of frames at least."""

# From the browser's own time stamp of the key to the frame after the first change of a place.
WATCH = """(selector) => { window.changed = new Promise(done => {
  let start = 0;
  document.addEventListener('keydown', e => { start = e.timeStamp }, {capture: true, once: true});
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => done(performance.now() - start));
  });
  const place = document.querySelector(selector);
  seen.observe(place, {childList: true, subtree: true, characterData: true});
  setTimeout(() => { seen.disconnect(); done(null) }, 3000);
}) }"""

FRAMES = """() => new Promise(done => {
  let frames = 0;
  const start = performance.now();
  const next = now => {
    frames += 1;
    if (now - start > 3000) done(1000 * frames / (now - start)); else requestAnimationFrame(next);
  };
  requestAnimationFrame(next);
})"""

SLIDERS = ".vanplumb:has(.noUi-handle)"
Rows = dict[str, dict[str, float | None]]


@pytest.fixture(scope="module")
def rows() -> Iterator[Rows]:
    found: Rows = {}
    yield found


@pytest.fixture(scope="module", autouse=True)
def table(rows: Rows) -> Iterator[None]:
    yield
    print(f"\n{'notebook':30}" + "".join(f"{what:>10}" for what in WANTED))
    for name, row in rows.items():
        print(f"{name[:-6]:30}" + "".join(_cell(row.get(what, 0), what) for what in WANTED))
    print(f"{'wanted':30}" + "".join(f"{limit:>9.0f} " for limit in WANTED.values()))


def _cell(value: float | None, what: str) -> str:
    if value is None:
        return f"{'none':>9}!"
    return f"{value:>9.0f}{'!' if _over(value, what) else ' '}" if value else " " * 10


def _over(value: float | None, what: str) -> bool:
    if value is None:
        return True
    return value < WANTED[what] if what == "frames/s" else value > WANTED[what]


def moves(notebook: Notebook, place: str, press: Callable[[int], None]) -> float | None:
    """The median of the moves; None where most of them changed nothing."""
    times = []
    for number in range(MOVES):
        notebook.page.evaluate(WATCH, place)
        press(number)
        one = notebook.page.evaluate("() => window.changed")
        if one is not None:
            times.append(float(one))
        notebook.settle()
    return median(times) if len(times) > MOVES // 2 else None


def slid(notebook: Notebook) -> dict[str, float | None]:
    """The first slider, there and back."""
    sheet = notebook.page.locator(SLIDERS)
    if not sheet.count():
        return {}
    sheet.first.locator(".noUi-handle:visible").first.focus()
    notebook.settle()

    def press(number: int) -> None:
        notebook.page.keyboard.press("ArrowLeft" if number % 6 < 3 else "ArrowRight")

    places = {"number": ".vp-results", "picture": ".vp-stage"}
    return {what: moves(notebook, f"{SLIDERS} {p}", press) for what, p in places.items()}


def pressed(notebook: Notebook, what: str, place: str, spots: Any) -> dict[str, float | None]:
    """Buttons in turn, by Enter."""
    count = spots.count()
    if not count:
        return {}

    def press(number: int) -> None:
        spots.nth(number % count).press("Enter")

    return {what: moves(notebook, place, press)}


def typed(
    notebook: Notebook, what: str, place: str, entry: Any, unit: str = ""
) -> dict[str, float | None]:
    """Two values in turn, each taken by Enter."""

    def press(number: int) -> None:
        entry().fill(f"{14 + number % 2} {unit}".strip())
        entry().press("Enter")

    return {what: moves(notebook, place, press)}


def special(notebook: Notebook) -> dict[str, float | None]:
    """What only some pages have: the board's buttons, dots, the fields of the form, answers."""
    page = notebook.page
    if page.locator(".vp-board").count():
        page.locator('.vp-board g[tabindex][data-grip^="zone:"]').first.press("Enter")
        notebook.settle()
        return pressed(notebook, "button", ".vp-board", page.locator(".vp-do-turn-handle").first)
    if page.locator(".vp-point:visible").count():
        return pressed(notebook, "dot", ".vp-results", page.locator(".vp-point:visible"))
    if page.locator(".vp-form").count():
        own_file(notebook)
        field = ".vp-form-field [data-key=height]"
        return typed(notebook, "field", ".vp-form-part", lambda: page.locator(field).first, "in")
    if page.locator(".vp-exercise").count():
        answer = page.locator(".vp-exercise .vp-answer-row input").first
        unit = str(answer.get_attribute("placeholder")).removeprefix("a number and its unit")
        return typed(notebook, "answer", ".vp-exercise", lambda: answer, unit.strip(", "))
    return {}


def own_file(notebook: Notebook) -> None:
    """A build file of one's own, since an example's can't be changed."""
    page = notebook.page
    page.locator("button", has_text="Start a new one").first.click()
    panel = page.locator(".vp-panel:visible")
    panel.locator("input[type=text]").first.fill(f"speed-{time.monotonic_ns()}")
    panel.locator("select").select_option(label="like Dipper")
    panel.locator("button", has_text="Start").first.click()
    page.locator(".vp-form-field [data-key=height]:enabled").first.wait_for()
    notebook.settle()


def frames(notebook: Notebook) -> dict[str, float | None]:
    """How often the page is painted while its picture moves."""
    if not notebook.page.locator(".vp-living:visible").count():
        return {}
    notebook.view(moving=True)
    notebook.page.locator(".vp-living:visible").first.scroll_into_view_if_needed()
    notebook.page.wait_for_timeout(500)
    found = float(notebook.page.evaluate(FRAMES))
    notebook.view()
    return {"frames/s": found}


@pytest.mark.parametrize("name", NAMES)
def test_what_a_reader_waits_for(context: Any, lab: str, rows: Rows, name: str) -> None:
    for page in context.pages:  # a reader who opens it loads the lab too
        page.close()
    start = time.perf_counter()
    notebook = Notebook(context, lab, name)
    opening = time.perf_counter() - start
    try:
        start = time.perf_counter()
        notebook.run_all()
        row: dict[str, float | None] = {
            "opening": 1000 * opening,
            "Run All": 1000 * (time.perf_counter() - start),
        }
        notebook.settle()
        for part in (frames, slid, special):
            row |= part(notebook)
        rows[name] = row
        assert notebook.failures() == []
    finally:
        notebook.close()


def test_nothing_is_over_what_is_wanted(rows: Rows) -> None:
    over = [(n, w) for n, row in rows.items() for w in row if _over(row[w], w)]
    assert over == []
