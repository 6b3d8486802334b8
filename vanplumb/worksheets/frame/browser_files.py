"""Scripts and styles that stand beside a module and go to the browser as text."""

from __future__ import annotations

from importlib.resources import files


def style(room: str, name: str) -> str:
    """A style sheet of a ``room`` (its ``__package__``)."""
    return (files(room) / name).read_text(encoding="utf-8")


def script(room: str, name: str) -> str:
    """A script of a ``room`` (its ``__package__``), after what all scripts share."""
    return style(__package__, "make.js") + style(room, name)
