"""Every worksheet of every notebook: its controls, one value typed wrong.

What a worksheet shows is tested beside its notebook; here it must only keep its promises:
no error on the page or from a callback, a picture that follows, a wrong value told beside its
field while the last good picture stays.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests import cases
from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser

FOLDER = Path(__file__).parents[2] / "notebooks"
NAMES = sorted(p.name for p in FOLDER.glob("*.ipynb") if "<worksheet: " in p.read_text("utf-8"))
SHEET = ".vanplumb:has(.vp-inputs)"


FAULT = "This worksheet has a fault"


def picture(sheet: Any) -> str:
    """What it shows now.  AssertionError if a callback failed."""
    assert FAULT not in " ".join(sheet.locator(".vp-problem").all_inner_texts())
    return str(sheet.locator(".vp-stage").first.inner_html())


def set_text(notebook: Notebook, entry: Any, text: str) -> None:
    entry.fill(text)
    entry.press("Enter")
    notebook.settle()


READ = {
    "time, pressure": "0 min, 95 psi, 65 F\n15 min, 95 psi, 65 F\n30 min, 95 psi, 65 F",
    "outlet": "1.4 gpm, 100 °F\n0.7 gpm, 99 °F",
    "supplies": "140 °F, 60 °F",
}
"""What a person at the bench would have read, by how the empty lines begin to be called."""


def take_readings(notebook: Notebook, sheet: Any) -> None:
    """Type readings where a worksheet waits for them: it says nothing before."""
    for lines in sheet.locator(".vp-lines").all():
        entry, name = lines.locator("textarea"), lines.inner_text()
        if not entry.input_value():
            entry.fill(next(text for start, text in READ.items() if start in name))
            entry.press("Tab")
            notebook.settle()


def some_controls(notebook: Notebook, sheet: Any, seen: set[str]) -> None:
    """A slider to one end and back, a choice and a tick through all they offer; roaming, each one.

    Both ends of all are tried without a browser, in tests/worksheets.
    """
    fields = sheet.locator(".vp-inputs .vp-field")
    wanted = [f for f in fields.all() if f.is_visible()]
    if not cases.roaming:
        kinds = (".noUi-handle", "select", "input[type=checkbox]")
        by_kind = [[f for f in wanted if f.locator(kind).count()] for kind in kinds]
        wanted = [those[0] for those in by_kind if those]
    for field in wanted:
        if field.locator(".noUi-handle").count():
            entry, handle = field.locator("input[type=text]"), field.locator(".noUi-handle")
            before = entry.input_value()
            at, least = (handle.get_attribute(f"aria-value{end}") for end in ("now", "min"))
            handle.focus()
            handle.press("Home" if at != least else "End")
            notebook.settle()
            seen.add(picture(sheet))
            set_text(notebook, entry, before)
        elif field.locator("select").count():
            menu = field.locator("select")
            before = menu.input_value()
            for option in menu.locator("option").all_inner_texts():
                menu.select_option(label=option)
                notebook.settle()
                seen.add(picture(sheet))
            menu.select_option(before)
            notebook.settle()
        elif field.locator("input[type=checkbox]").count():
            for _ in range(2):
                field.locator("input[type=checkbox]").click()
                notebook.settle()
                seen.add(picture(sheet))


def other_units_and_back(notebook: Notebook, sheet: Any) -> None:
    """The reader's units are only a way to show it: nothing else may change."""
    entries = sheet.locator(".vp-inputs input[type=text]")
    drawn = sheet.locator(".vp-pictures").first
    before = [e.input_value() for e in entries.all()], drawn.inner_html()
    chosen = sheet.locator(".vp-units button.mod-active").inner_text()
    for units in ("SI", "US", "SI", chosen) if cases.roaming else ("SI", "US", chosen):
        sheet.locator(".vp-units button", has_text=units).click()
        notebook.settle()
    assert ([e.input_value() for e in entries.all()], drawn.inner_html()) == before


@pytest.mark.parametrize("name", NAMES)
def test_it_keeps_its_promises(run_notebook: Callable[..., Notebook], name: str) -> None:
    notebook = run_notebook(name)
    assert notebook.failures() == []
    sheets = notebook.page.locator(SHEET)
    assert sheets.count() >= 1, "no worksheet is shown"
    for sheet in sheets.all():
        take_readings(notebook, sheet)
        other_units_and_back(notebook, sheet)
        seen = {picture(sheet)}
        some_controls(notebook, sheet, seen)
        assert notebook.failures() == []
        if sheet.locator(".vp-inputs .noUi-handle").count():
            assert len(seen) > 1, "the picture does not follow the controls"
        assert not any("nan" in shown for shown in seen)
        quantity = sheet.locator(".vp-inputs .vp-field:has(.noUi-handle) >> visible=true").first
        if not quantity.count():
            continue
        entry = quantity.locator("input[type=text]")
        before, shown = entry.input_value(), sheet.locator(".vp-pictures").first.inner_html()
        set_text(notebook, entry, "12 parsnips")
        assert "parsnips" in quantity.locator(".vp-wrong").inner_text()
        assert sheet.locator(".vp-problem").first.inner_text().strip()
        assert sheet.locator(".vp-pictures").first.inner_html() == shown
        set_text(notebook, entry, before)
        expect(sheet.locator(".vp-problem").first).to_have_text("", timeout=20_000)
        assert notebook.failures() == []
