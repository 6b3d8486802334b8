"""What is wrong to see in an open notebook, in windows of several widths, light and dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests import cases
from tests.browser.lab import Notebook

LEAST = 4.5
"""Contrast of a text with what it is painted on (WCAG 2.2, success criterion 1.4.3)."""
WIDTHS = (420, 1280, 1920)
LOOK = Path(__file__).with_name("seen.js").read_text(encoding="utf-8")


def seen(page: Any) -> list[str]:
    """What is wrong on the page as it stands: the fault, where, the text, how much."""
    return [" | ".join(str(part) for part in one) for one in page.evaluate(LOOK, LEAST)]


def open_steps(notebook: Notebook) -> None:
    """Open the worked steps of every worksheet."""
    for one in notebook.page.locator(".vp-buttons button", has_text="Worked steps").all():
        if one.is_visible():
            one.click()
            notebook.settle()


def seen_in_all_windows(notebook: Notebook) -> Iterator[str]:
    """What is wrong in any window, with all that is folded on our pages unfolded.

    In the dark one window by default: colours change with the theme, and places don't.
    """
    folded = notebook.page.evaluate_handle(
        """() => [...document.querySelectorAll('.vanplumb details:not([open])')]
             .map(e => { e.open = true; return e })"""
    )
    for dark in (False, True):
        for width in WIDTHS if cases.roaming or not dark else WIDTHS[:1]:
            notebook.view(width=width, dark=dark)
            notebook.page.wait_for_function(
                f"() => document.body.dataset.jpThemeLight === '{str(not dark).lower()}'"
            )
            notebook.page.wait_for_timeout(350 if width == WIDTHS[0] else 150)  # colours fade
            for fault in seen(notebook.page):
                yield f"{width} px, {'dark' if dark else 'light'}: {fault}"
    folded.evaluate("all => all.forEach(e => { e.open = false })")


def play_lesson(page: Any) -> bool:
    """Do all that a lesson offers, so that it shows all it has; False if there is none."""
    lesson = page.locator(".vp-lesson").first
    if not lesson.count():
        return False
    for part in ("predict", "bench"):
        for entry in lesson.locator(f".vp-{part} input[type=text]").all():
            such = entry.get_attribute("placeholder").removeprefix("such as ")
            entry.fill(such)
            entry.press("Enter")
    lesson.locator(".vp-predict .vp-said").wait_for()
    lesson.locator(".vp-bench button").click()
    lesson.locator(".vp-bench .vp-said").wait_for()
    entry = lesson.locator(".vp-exercise .vp-answer-row input")
    entry.fill("100")  # the unit is missing, or it is wrong: both are told at length
    entry.press("Enter")
    lesson.locator(".vp-exercise .vp-said").wait_for()
    lesson.locator("button", has_text="Show working").click()
    lesson.locator(".vp-exercise .vp-step").first.wait_for()
    return True
