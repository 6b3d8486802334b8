"""How a result shows itself where it is the last thing in a cell: one short line, or a table.

Figures are SI, as they are held; what stands on the sheet is in the reader's units.
"""

from __future__ import annotations

from dataclasses import fields
from html import escape
from typing import Any, TypeVar

C = TypeVar("C", bound=type)

LINE = 160
"""Most letters of a line."""
TEXT = 40
"""Most letters of a text in it."""


def brief(result: C) -> C:
    """Let a dataclass show itself in short; how it is made and compared stays as it is."""
    for name, shown in (("__repr__", _line), ("_repr_html_", _table)):
        setattr(result, name, shown)
    return result


def told(value: Any) -> str:
    """One value in few letters: a figure in four digits, of many things how many there are."""
    if value is None or isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return f"{value:.4g}" if isinstance(value, float) else str(value)
    if isinstance(value, str):
        return repr(value if len(value) <= TEXT else f"{value[:TEXT]}…")
    name = getattr(value, "name", None)
    if isinstance(name, str) and name:
        return f"<{name[:TEXT]}>"
    if getattr(value, "ndim", False):
        return f"<array {' × '.join(map(str, value.shape))}>"
    if hasattr(value, "__len__"):
        return f"<{len(value)}>" if len(value) else "none"
    return f"<{type(value).__name__}>"


def _line(self: Any) -> str:
    shown = [f"{f.name}={told(getattr(self, f.name))}" for f in fields(self) if f.repr]
    start, end = f"{type(self).__name__}(", ")"
    while shown and len(start) + len(", ".join(shown)) + len(end) > LINE:
        shown.pop()
        end = ", …)"
    return start + ", ".join(shown) + end


def _table(self: Any) -> str:
    rows = "".join(
        f"<tr><th>{escape(f.name)}</th><td>{escape(told(getattr(self, f.name)))}</td></tr>"
        for f in fields(self)
        if f.repr
    )
    head = f"{escape(type(self).__name__)}, figures in SI units"
    return f"<table><caption>{head}</caption>{rows}</table>"
