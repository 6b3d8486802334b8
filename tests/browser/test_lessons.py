"""A lesson in a browser, played through on a phone as an apprentice does."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook
from vanplumb.course import exercise

pytestmark = pytest.mark.browser

NAME = "51_how_warm.ipynb"


def test_a_lesson_is_played_through_on_a_phone(run_notebook: Callable[..., Notebook]) -> None:
    notebook = run_notebook(NAME, width=420)
    page = notebook.page.locator(".vp-lesson").first
    told = page.locator(".vp-predict .vp-told")
    assert told.inner_text().strip() == ""
    guess = page.locator(".vp-predict input[type=text]")
    assert guess.input_value() == ""
    guess.fill("95 °F")
    guess.press("Enter")
    page.locator(".vp-predict .vp-said").wait_for()
    assert "it comes to 90 °F" in told.inner_text()
    answer = page.locator(".vp-exercise .vp-answer-row input[type=text]")
    for text, said in (("100", "the unit is missing"), (exercise("mixing", 1).shown, "Right")):
        answer.fill(text)
        answer.press("Enter")
        page.locator(".vp-exercise .vp-said", has_text=said).wait_for()
    assert "1 of 12 lessons done" in page.locator(".vp-lessons-done").inner_text()
    for entry, text in zip(
        page.locator(".vp-bench input[type=text]").all(), ("130 °F", "58 °F", "100 °F"), strict=True
    ):
        entry.fill(text)
    page.locator(".vp-bench button").click()
    page.locator(".vp-bench .vp-good").wait_for()
    wide = page.evaluate("e => e.scrollWidth - e.clientWidth")
    assert wide <= 1
    assert notebook.failures() == []


FOCUS = """() => {
  const e = document.activeElement, style = getComputedStyle(e);
  return [e.closest('.vp-lesson') ? (e.labels?.[0] || e).innerText.trim() : '',
          style.outlineStyle === 'solid' ? parseFloat(style.outlineWidth) : 0];
}"""


def test_a_lesson_is_walked_through_by_keyboard(run_notebook: Callable[..., Notebook]) -> None:
    page = run_notebook(NAME, again=False).page
    page.locator(".vp-lesson input[type=text]").first.focus()
    found = []
    for _ in range(30):
        name, ring = page.evaluate(FOCUS)
        if not name:
            break
        found.append(name)
        assert ring >= 2, f"{name}: nobody sees where the keyboard is"
        page.keyboard.press("Tab")
    else:
        raise AssertionError(f"the keyboard does not come out of the lesson: {found}")
    order = ["your name", "in the tub", "See", "answer", "Check", "Hint", "Show working"]
    assert [name for name in found if name in order][: len(order)] == order
    assert "mixed" in found
