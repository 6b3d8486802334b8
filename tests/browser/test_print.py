"""What comes out on paper: the whole notebook, values instead of controls, nothing cut off."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest

from tests.browser.lab import Notebook
from tests.pdf_text import page_texts

pytestmark = pytest.mark.browser

FOLDER = Path(__file__).parents[2] / "notebooks"
NAMES = sorted(p.name for p in FOLDER.glob("*.ipynb"))
WITH_SHEETS = {p.name for p in FOLDER.glob("*.ipynb") if "<worksheet: " in p.read_text("utf-8")}
PAPER = 720  # px across a letter page between its margins

CONTROLS = (
    ".vanplumb .widget-slider, .vanplumb button, .vanplumb .vp-panel, .vanplumb .vp-press, "
    ".vanplumb .vp-buttons, .jp-Toolbar, .lm-TabBar, .jp-SideBar"
)

# Controls that are on the paper; the units that are chosen stay, as words.
SHOWN = """(selector) => [...document.querySelectorAll(selector)]
  .filter(e => e.getBoundingClientRect().width && !e.matches('.vp-units .mod-active'))
  .map(e => e.outerHTML.slice(0, 120))"""

# Elements of a page that are wider than the paper, and boxes that hide a part of what they hold.
CUT = """(paper) => {
  const found = [];
  for (const e of document.querySelectorAll('.jp-Cell, .jp-Cell *')) {
    const box = e.getBoundingClientRect();
    if (!box.width || e.closest('svg, math, .MathJax, mjx-container')) continue;
    const style = getComputedStyle(e);
    const hides = /hidden|auto|scroll|clip/.test(style.overflowX + style.overflowY);
    if (box.right > paper + 1) found.push([e.className, 'right', box.right]);
    if (hides && e.clientWidth && e.scrollWidth > e.clientWidth + 2 && e.tagName !== 'SELECT')
      found.push([e.className, 'wide', e.scrollWidth, e.clientWidth]);
    if (hides && e.clientHeight && e.scrollHeight > e.clientHeight + 2)
      found.push([e.className, 'high', e.scrollHeight, e.clientHeight]);
  }
  return found.slice(0, 5);
}"""


def words(pdf: bytes) -> str:
    """The text of all pages without its spaces, which a PDF does not keep."""
    return squeezed("".join(page_texts(pdf)))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", normalize("NFKC", text))  # a PDF writes fi as one letter


def on_paper(notebook: Notebook, *, dark: bool = False) -> None:
    notebook.view(width=PAPER, height=900, dark=dark)
    notebook.page.emulate_media(media="print", color_scheme="dark" if dark else "light")


def printed(names: Iterable[str]) -> list[Any]:
    """Names for tests that print notebooks: most roam."""
    soon = ("02_mixing_valve.ipynb", "03_your_van.ipynb", "40_shop_day.ipynb", "61_plots.ipynb")
    return [n if n in soon else pytest.param(n, marks=pytest.mark.roaming) for n in names]


@pytest.mark.parametrize("name", printed(sorted(WITH_SHEETS | {"03_your_van.ipynb"})))
def test_the_whole_notebook_is_printed_and_nothing_is_cut(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name, width=PAPER, again=False)
    on_paper(notebook)
    try:
        assert notebook.page.evaluate(SHOWN, CONTROLS) == []
        assert notebook.page.evaluate(CUT, PAPER) == []
        texts = notebook.page.locator(".jp-MarkdownCell h1, .jp-MarkdownCell h2").all_inner_texts()
        printed = words(notebook.page.pdf(format="Letter"))
    finally:
        notebook.page.emulate_media(media="null")
    assert [text for text in texts if squeezed(text) not in printed] == []


@pytest.mark.parametrize("name", ["02_mixing_valve.ipynb"])
def test_a_worksheet_is_printed_as_it_stands_now(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name)
    entry = notebook.page.locator(".vp-field-pressure-cold input[type=text]").first
    entry.fill("27.5 psi")
    entry.press("Enter")
    notebook.settle()
    sheet = notebook.page.locator(".vanplumb:has(.vp-inputs)").first
    outcome = sheet.locator("table.vp td.vp-number").first.inner_text()
    printed = words(notebook.page.pdf(format="Letter"))
    assert squeezed("27.5 psi") in printed and squeezed(outcome) in printed


@pytest.mark.parametrize("name", ["10_whole_system.ipynb"])
def test_ink_is_dark_on_paper_in_the_dark_theme_too(
    run_notebook: Callable[..., Notebook], name: str
) -> None:
    notebook = run_notebook(name, again=False, dark=True)
    notebook.settle()
    on_paper(notebook, dark=True)
    try:
        lightest = notebook.page.evaluate(
            """() => Math.max(...[...document.querySelectorAll(
                 '.vanplumb td, .vanplumb input, .vanplumb select, .vanplumb label, '
                 + '.vanplumb p, .jp-MarkdownCell p, .jp-MarkdownCell h1')]
               .filter(e => e.getBoundingClientRect().width)
               .map(e => Math.max(...getComputedStyle(e).color.match(/\\d+/g).slice(0, 3))))"""
        )
    finally:
        notebook.page.emulate_media(media="null")
    assert lightest < 128


@pytest.mark.parametrize("name", printed(NAMES))
def test_an_exported_page_has_values_pictures_and_steps_without_a_network(
    browser: Any, name: str, tmp_path: Path
) -> None:
    from nbconvert import HTMLExporter

    html, _ = HTMLExporter().from_filename(str(FOLDER / name))
    (tmp_path / "page.html").write_text(html, encoding="utf-8")
    page = browser.new_page(viewport={"width": PAPER, "height": 900})
    try:
        page.route("http*://**", lambda route: route.abort())
        page.goto((tmp_path / "page.html").as_uri())
        page.emulate_media(media="print")
        assert page.locator(".vp-printed").count() == html.count('class="vanplumb vp-printed"')
        assert page.evaluate(CUT, PAPER) == []
        broken = page.evaluate(
            "() => [...document.images].filter(e => !e.complete || !e.naturalWidth).length"
        )
        assert broken == 0
        text = page.locator("body").inner_text()
    finally:
        page.close()
    assert "<worksheet:" not in text and "$$" not in text
    if name in WITH_SHEETS:
        assert "data:image/svg+xml" in html and "vp-given" in html
