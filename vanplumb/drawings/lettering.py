"""Words on a drawing: one line in which every letter shows and none acts."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from html import escape

LONGEST = 60


def visible(words: object) -> str:
    """A text as one line without control letters, cut if it is long."""
    line = "".join(
        " " if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") else c
        for c in str(words)
    )
    line = " ".join(line.split())
    return line if len(line) <= LONGEST else line[: LONGEST - 1] + "…"


@lru_cache(maxsize=8192)
def for_svg(words: object) -> str:
    """The same, for the text of an SVG element or attribute."""
    return escape(visible(words), quote=True)
