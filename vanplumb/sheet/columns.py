"""How wide the columns of a table want to be, so that the page needn't be tried out twice.

Widths are in em of a book face, from rough widths of letters, on the generous side.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from functools import lru_cache

BOLD = 1.07  # heads are semibold
SPARE = 0.35
LONGEST = 60.0  # a text column never wants more
_NARROW = frozenset("ijlftrI.,:;'’|()[]!-·/ \u00a0\u200b")
_WIDE = frozenset("mwMWQ@%—…→")


def wanted(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[float, ...]:
    """Width of each column with every cell and its head on one line, in em."""
    return _columns(heads, rows, lambda head: width(head) * BOLD)


def least(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[float, ...]:
    """Width of each column with its cells on one line and its head broken into words, in em."""
    return _columns(heads, rows, lambda head: max(map(width, head.split()), default=0) * BOLD)


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], of_head: Callable[[str], float]
) -> tuple[float, ...]:
    columns: list[tuple[str, ...]] = list(zip(*rows, strict=True)) or [()] * len(heads)
    return tuple(
        round(min(max([of_head(head), *map(width, cells)]) + SPARE, LONGEST), 2)
        for head, cells in zip(heads, columns, strict=True)
    )


@lru_cache(maxsize=4096)
def width(text: str) -> float:
    """Rough width of a text on one line, in em."""
    return sum(map(_letter, text))


@lru_cache(maxsize=1024)
def _letter(letter: str) -> float:
    if letter in _NARROW:
        return 0.35
    if letter in _WIDE:
        return 0.95
    if letter.isascii():
        return 0.7 if letter.isupper() else 0.5
    return 1.1 if unicodedata.east_asian_width(letter) in "WF" else 0.75
