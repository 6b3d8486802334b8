"""The small parts that questions on a page are made of: an entry, a button, what is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from ..frame.look import said
from ..frame.plain import across, html, line


def entry(label: str, example: str) -> widgets.Text:
    """A line to write on, with an example in grey until something is written."""
    return line(
        description=label,
        placeholder=f"such as {example}" if example else "",
        continuous_update=False,
    )


NOTHING = "Write something first, then press the button."


def pressed(lines: Sequence[widgets.Text], act: Callable[[], Any], place: widgets.HTML) -> None:
    """Do what a button does; where every line is empty it says so, and does not stay silent."""
    act()
    if not any(str(one.value).strip() for one in lines):
        place.value = said(NOTHING, good=False)


def told() -> widgets.HTML:
    """Where it is told what an answer brought."""
    one = html()
    one.add_class("vp-told")
    return one


def button(name: str, act: Callable[[], Any], style: str = "") -> widgets.Button:
    """A button that does one thing."""
    one = widgets.Button(description=name, button_style=style)
    one.on_click(lambda _: act())
    return one


def row(*parts: widgets.Widget, paper: bool = False) -> widgets.HBox:
    """Entries and buttons in a row; ``paper`` keeps it on paper."""
    one = across(*parts)
    if not paper:
        one.add_class("vp-buttons")
    one.add_class("vp-answer-row")
    return one
