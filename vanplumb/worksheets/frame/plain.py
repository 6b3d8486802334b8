"""Texts, lines to write on and rows that have their layout and style in common.

Each widget of ipywidgets brings a layout and a style of its own, and each of these is a message to
the browser and an object there: half of what a worksheet is made of.  What is made here must not be
laid out or styled by itself, but by its class.
"""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

_kept: dict[type[widgets.DOMWidget], dict[str, Any]] = {}


def html(value: str = "") -> widgets.HTML:
    """A piece of HTML."""
    return widgets.HTML(value, **_common(widgets.HTML))


def line(**given: Any) -> widgets.Text:
    """A line to write on."""
    return widgets.Text(**given, **_common(widgets.Text))


def across(*parts: widgets.Widget) -> widgets.HBox:
    """Widgets side by side."""
    return widgets.HBox(parts, **_common(widgets.HBox))


def _common(kind: type[widgets.DOMWidget]) -> dict[str, Any]:
    """What all of a kind share; made anew where somebody has closed it."""
    kept = _kept.get(kind)
    if kept is None or any(one.comm is None for one in kept.values()):
        first = kind()
        names = [name for name in ("layout", "style") if first.has_trait(name)]
        kept = _kept[kind] = {name: getattr(first, name) for name in names}
    return kept
