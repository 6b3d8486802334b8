"""On a projector, 1920 by 1080: letters are large, pictures take the room, nothing sticks out."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser

SMALLEST = 15  # px: a line then fills 1/70 of the screen's height; common practice, no source

# Of every text that is seen in the worksheets the smallest letter, with what it says.
LETTERS = """() => {
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
  return found.sort((a, b) => a[0] - b[0])[0];
}"""

ROOM = """() => {
  const sheet = document.querySelector('.vanplumb:has(.vp-inputs)');
  const drawn = [...sheet.querySelectorAll('svg')]
    .map(e => e.getBoundingClientRect()).filter(r => r.width > 100);
  const out = [...sheet.querySelectorAll('*')].filter(e => !e.closest('svg') &&
    e.getBoundingClientRect().right > window.innerWidth).length;
  return [Math.max(...drawn.map(r => r.right)) - Math.min(...drawn.map(r => r.left)), out];
}"""


@pytest.mark.parametrize(
    "name",
    [
        "02_mixing_valve.ipynb",
        "10_whole_system.ipynb",
        "20_water_for_the_trip.ipynb",
        "60_compare.ipynb",
    ],
)
def test_it_can_be_read_from_the_back_of_the_room(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name, width=1920, height=1080, again=False)
    notebook.settle()
    size, text = notebook.page.evaluate(LETTERS)
    assert size >= SMALLEST - 0.5, f"{size:.1f} px: {text}"
    wide, out = notebook.page.evaluate(ROOM)
    assert wide > 800 and out == 0
    assert notebook.failures() == []
