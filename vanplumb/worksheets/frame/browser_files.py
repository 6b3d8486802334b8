"""Scripts and styles that stand beside a module and go to the browser as text."""

from __future__ import annotations

import re
from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=32)
def style(room: str, name: str) -> str:
    """A style sheet of a ``room`` (its ``__package__``), without what only people need.

    It goes with every result that a notebook stores, since each must look right by itself.
    """
    return shortened(_read(room, name))


def shortened(css: str) -> str:
    """A style sheet without remarks and idle spaces; what stands in quotes stays as it is."""
    pieces = re.split(r'("[^"]*")', re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL))
    for place in range(0, len(pieces), 2):
        piece = re.sub(r"\s+", " ", pieces[place])
        piece = re.sub(r" ?([{};,]) ?", r"\1", piece)
        pieces[place] = piece.replace(": ", ":").replace(";}", "}")
    return "".join(pieces).strip()


def script(room: str, name: str) -> str:
    """A script of a ``room`` (its ``__package__``), after what all scripts share."""
    return _read(__package__, "make.js") + _read(room, name)


def _read(room: str, name: str) -> str:
    return (files(room) / name).read_text(encoding="utf-8")
