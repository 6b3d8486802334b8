"""From nothing to a sheet in the browser: a build file started, mended, worked out, taken away."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser

NAME = "03_your_van.ipynb"
PAGE = ".vp-my-van"
TEXT = f"{PAGE} >> textarea.vp-editor-text"


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Iterator[Notebook]:
    one = run_notebook(NAME)
    yield one
    assert one.failures() == []


def press(notebook: Notebook, text: str) -> None:
    notebook.page.locator(f"{PAGE} >> button:visible", has_text=text).first.click()
    notebook.settle()


def start(notebook: Notebook, name: str, like: str) -> None:
    press(notebook, "Start a new one")
    panel = notebook.page.locator(f"{PAGE} >> .vp-panel >> visible=true")
    panel.locator("input").first.fill(name)
    panel.locator("select").select_option(label=like)
    panel.locator("button", has_text="Start").click()
    notebook.settle()
    expect(panel.locator(".vp-said")).to_contain_text("is ready")
    press(notebook, "Start a new one")


def test_a_van_from_nothing_to_its_sheet(notebook: Notebook, scratch: Path, tmp_path: Path) -> None:
    start(notebook, "first-van", "like Wren")
    text = notebook.page.locator(TEXT)
    good = text.input_value()
    assert 'name = "first-van"' in good

    text.fill(good.replace('length = "300 mm"', 'length = "300"', 1))
    press(notebook, "Save")
    wrong = notebook.page.locator(f"{PAGE} >> .vp-problem-line")
    line = good.splitlines().index('length = "300 mm"') + 1
    expect(wrong).to_have_count(1)
    assert f"line {line}:" in wrong.inner_text() and "with no unit" in wrong.inner_text()
    wrong.click()
    chosen = text.evaluate("e => e.value.slice(e.selectionStart, e.selectionEnd)")
    assert chosen == 'length = "300"'
    assert text.evaluate("e => e === document.activeElement")

    better = good.replace('length = "300 mm"', 'length = "450 mm"', 1)
    text.fill(better)
    press(notebook, "Save")
    expect(wrong).to_have_count(0)
    assert (scratch / "notebooks" / "first-van.toml").read_text(encoding="utf-8") == better
    press(notebook, "answers")
    answers = notebook.page.locator(f"{PAGE} >> table.vp").first.inner_text()
    assert "first-van" in answers

    press(notebook, "Write the sheet")
    panel = notebook.page.locator(f"{PAGE} >> .vp-panel >> visible=true")
    panel.locator("input").nth(1).fill("measured with a tape")
    panel.locator("button", has_text="Write").click()
    panel.locator(".vp-save").first.wait_for()
    for name, opening in (("sheet.pdf", b"%PDF"), ("sheet.html", b"<!DOCTYPE html>")):
        with notebook.page.expect_download() as got:
            panel.locator("a", has_text=name).click()
        got.value.save_as(tmp_path / name)
        assert (tmp_path / name).read_bytes()[:20].lower().startswith(opening.lower())
    assert "measured with a tape" in (tmp_path / "sheet.html").read_text(encoding="utf-8")
    press(notebook, "Write the sheet")


def test_a_van_by_eight_answers_and_its_form_by_keyboard(notebook: Notebook) -> None:
    page = notebook.page
    press(notebook, "Answer eight questions")
    page.locator(f"{PAGE} >> .vp-question-region select").select_option(label="EU: European Union")
    notebook.settle()
    page.locator(f"{PAGE} >> .vp-panel input[type=text] >> visible=true").last.fill("asked-van")
    press(notebook, "Make the file")
    expect(page.locator(f"{PAGE} >> .vp-questions")).to_be_hidden()
    text = page.locator(TEXT)
    expect(text).to_have_value(re.compile('region = "EU"'))

    page.locator(f"{PAGE} >> [data-pick='tank.fresh']").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    notebook.settle()
    field = page.locator(f"{PAGE} >> input[data-key=name]")
    expect(field).to_have_value("pump")
    field.fill("water pump")
    field.press("Tab")
    notebook.settle()
    expect(page.locator(f"{PAGE} >> .vp-part.vp-picked")).to_contain_text("water pump")
    expect(text).to_have_value(re.compile('from = "water pump"'))
    expect(page.locator(f"{PAGE} >> .vp-note", has_text="not saved").first).to_be_visible()
    page.keyboard.press("Control+z")  # not in a text field: the form's own undo
    notebook.settle()
    expect(text).not_to_have_value(re.compile("water pump"))

    whole = text.input_value()
    text.fill(whole.replace("shape =", "shape", 1))
    text.blur()
    notebook.settle()
    expect(page.locator(f"{PAGE} >> .vp-form-part")).to_contain_text("The text can't be read: line")
    text.fill(whole)
    text.blur()
    notebook.settle()
    expect(field).to_have_value("pump")


HEAR = """
import threading
from pathlib import Path
def hear(what):
    with Path("heard.txt").open("a") as file:
        print(what, threading.get_ident(), file=file)
mine.editor.observe(lambda _: hear("typed"), "text")
mine._file.children[1].children[1].on_click(lambda _: hear("pressed"))
"""


def test_a_text_and_the_button_pressed_after_it_are_heard_in_order(
    notebook: Notebook, scratch: Path
) -> None:
    """In one thread: two would work on a page at once, and a button could overtake its text."""
    start(notebook, "third-van", "like Wren")
    notebook.tell(HEAR)
    text = notebook.page.locator(TEXT)
    for times in (1, 2, 3):
        text.focus()
        notebook.page.keyboard.type("#")
        press(notebook, "Save")
        heard = [line.split() for line in (scratch / "notebooks/heard.txt").open()]
        assert [what for what, _ in heard] == times * ["typed", "pressed"]
        assert len({thread for _, thread in heard}) == 1


def test_an_own_file_is_in_the_menu_of_every_worksheet(
    run_notebook: Callable[..., Notebook],
) -> None:
    notebook = run_notebook(NAME)
    start(notebook, "second-van", "like Heron")
    assert notebook.failures() == []
    other = run_notebook("10_whole_system.ipynb", beside=True)
    menu = other.page.locator(".vp-choose-van select").first
    menu.select_option(label="second-van.toml")
    other.settle()
    title = other.page.locator(".vanplumb h2.vp-title", has_text="Whole system").first
    expect(title).to_have_text("Whole system: second-van")
    assert other.page.locator(".vanplumb .vp-living svg").first.is_visible()
    menu.select_option(label="Dipper, an example")
    other.settle()
    expect(title).to_have_text("Whole system: Dipper")
    assert other.failures() == []


@pytest.mark.parametrize("view", [{}, {"width": 420}])
def test_the_text_scrolls_inside_its_frame_and_keeps_its_numbers(
    run_notebook: Callable[..., Notebook], view: dict[str, Any]
) -> None:
    one = run_notebook(NAME, again=False, **view)
    one.settle()
    text = one.page.locator(TEXT)
    high, whole = text.evaluate("e => [e.clientHeight, e.scrollHeight]")
    assert 200 < high < 900 < whole
    text.evaluate("e => { e.scrollTop = 2000 }")
    one.page.wait_for_timeout(100)
    # a number stands beside the line that it counts
    apart = one.page.evaluate(
        """() => { const area = document.querySelector('.vp-editor-text');
          const number = document.querySelectorAll('.vp-editor-numbers > div')[150];
          const high = parseFloat(getComputedStyle(area).lineHeight);
          const line = area.getBoundingClientRect().top + 6 + 150 * high - area.scrollTop;
          return Math.abs(number.getBoundingClientRect().top - line) }"""
    )
    assert apart < 3
    assert one.failures() == []
