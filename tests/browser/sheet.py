"""The first worksheet of an open notebook: its picture, its results, a field of it."""

from __future__ import annotations

from typing import Any

from tests.browser.lab import Notebook

SHEET = ".vanplumb:has(.vp-columns) >> nth=0"


def picture(notebook: Notebook) -> str:
    return str(notebook.page.locator(f"{SHEET} >> .vp-pictures").inner_html())


def results(notebook: Notebook) -> str:
    return str(notebook.page.locator(f"{SHEET} >> .vp-results").inner_text())


def field(notebook: Notebook, key: str) -> Any:
    return notebook.page.locator(f"{SHEET} >> .vp-field-{key.replace('_', '-')}")


def type_in(notebook: Notebook, key: str, text: str) -> None:
    entry = field(notebook, key).locator("input[type=text]")
    entry.fill(text)
    entry.press("Enter")
    notebook.settle()
