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

# Each of what follows gives the texts of what is wrong, in a window of one width alone.
SIDEWAYS = """() => [...document.querySelectorAll('.vanplumb:has(.vp-columns)')]
  .filter(e => e.scrollWidth > e.clientWidth + 1)
  .map(e => `${e.scrollWidth} px in ${e.clientWidth}`)"""
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
CUT = """() => [...document.querySelectorAll('.jp-OutputArea-output table')]
  .filter(e => e.getBoundingClientRect().width && !e.closest('.vp-printed'))
  .filter(e => {
    let frame = e.parentElement;
    while (frame && !/auto|scroll|hidden/.test(getComputedStyle(frame).overflowX))
      frame = frame.parentElement;
    return frame && e.scrollWidth > frame.clientWidth + 1;
  })
  .map(e => e.innerText.slice(0, 60))"""
DOTS = """() => [...document.querySelectorAll('.jp-OutputArea-output td, .jp-OutputArea-output th')]
  .map(e => e.innerText.trim()).filter(t => t.endsWith('...'))"""
SMALL = """() => {
  const found = [];
  const sheets = [...document.querySelectorAll('.vanplumb')];
  for (const e of sheets.flatMap(s => [...s.querySelectorAll('*')])) {
    if (e.closest('svg, math, style') || !e.getBoundingClientRect().width) continue;
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
    const typed = /INPUT|SELECT|TEXTAREA/.test(e.tagName) && e.type !== 'checkbox';
    if (own || typed) found.push([parseFloat(getComputedStyle(e).fontSize), e.textContent]);
  }
  for (const e of sheets.flatMap(s => [...s.querySelectorAll('svg text')])) {
    const box = e.getBoundingClientRect(), scale = e.ownerSVGElement.getScreenCTM().a;
    if (box.width) found.push([parseFloat(getComputedStyle(e).fontSize) * scale, e.textContent]);
  }
  return found.filter(([size]) => size < 14)
    .map(([size, text]) => `${size.toFixed(1)} px: ${text.trim().slice(0, 60)}`);
}"""
NARROW = """() => [...document.querySelectorAll('.vanplumb:has(.vp-inputs)')].flatMap(sheet => {
  const drawn = [...sheet.querySelectorAll('svg')]
    .map(e => e.getBoundingClientRect()).filter(r => r.width > 100);
  const wide = Math.max(...drawn.map(r => r.right)) - Math.min(...drawn.map(r => r.left));
  const high = Math.max(...drawn.map(r => r.height));
  return drawn.length && wide <= 800 && high < 900 ? [`pictures take ${wide} px`] : [];
})"""
ONLY_AT = {
    420: {
        "can be moved sideways": SIDEWAYS,
        "first column of figures out of sight": HIDDEN,
        "moves sideways without a shadow that says so": BARE,
    },
    1280: {"table wider than its frame": CUT, "words of a cell cut": DOTS},
    # On a projector a letter of 14 px is 1/77 of the screen's height: common practice, no source.
    1920: {"small from the back of the room": SMALL, "pictures leave the room empty": NARROW},
}


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
            notebook.view(width=width, height=1080 if width == 1920 else 900, dark=dark)
            notebook.page.wait_for_function(
                f"() => document.body.dataset.jpThemeLight === '{str(not dark).lower()}'"
            )
            notebook.page.wait_for_timeout(350 if width == WIDTHS[0] else 150)  # colours fade
            wrong = seen(notebook.page)
            if not dark:
                for fault, look in ONLY_AT[width].items():
                    wrong += [f"{fault} | {text}" for text in notebook.page.evaluate(look)]
            for fault in wrong:
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
