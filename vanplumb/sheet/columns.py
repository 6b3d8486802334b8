"""How wide the columns of a table are on paper, and which of its rows have one line.

So typst needn't try them out.  Widths are in em.  Those of the letters were measured once in
the sheet's own face; a letter that isn't known counts as a wide one.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from functools import lru_cache

BOLD = 1.03  # heads are semibold
SPARE = 0.15
_WIDTHS = {
    0.0: "\u200b",
    0.24: "'|,.:;·",
    0.28: " \u00a0ijl°’{}\\",
    0.33: "!()Itf/J²³",
    0.39: 'rs[]*"-`',
    0.47: "0123456789acez?$#~é",
    0.53: "bdgkopquvxy_^SLFü",
    0.56: "hn+<>=×−–PEßö",
    0.61: "BRZTYµ",
    0.66: "KCVXU%Δ½¼¾",
    0.71: "AQDNOG&",
    0.76: "Hw—…",
    0.95: "mMW@",
    1.15: "→",
}
_LETTERS = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


def fitted(heads: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> tuple[float, ...]:
    """Width of each column, in em, that together take ``room`` em at most.

    With room for all, every cell and head has one line.  With less, heads are broken into
    words; with still less, the widest columns are all cut to one width and their cells broken.
    """
    wanted = _columns(heads, rows, lambda head: width(head) * BOLD)
    if sum(wanted) <= room:
        return wanted
    least = _columns(heads, rows, lambda head: max(map(width, head.split()), default=0.0) * BOLD)
    if sum(least) <= room:
        part = (room - sum(least)) / (sum(wanted) - sum(least))
        return tuple(low + (high - low) * part for low, high in zip(least, wanted, strict=True))
    most = _cut(sorted(least), room)
    return tuple(min(low, most) for low in least)


def _cut(widths: Sequence[float], room: float) -> float:
    """The width to which the widest are cut, so that all together take the room."""
    for place, narrow in enumerate(widths):
        share = room / (len(widths) - place)
        if narrow > share:
            return share
        room -= narrow
    return widths[-1]


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], of_head: Callable[[str], float]
) -> tuple[float, ...]:
    columns: list[tuple[str, ...]] = list(zip(*rows, strict=True)) or [()] * len(heads)
    return tuple(
        max([of_head(head), *map(width, cells)]) + SPARE
        for head, cells in zip(heads, columns, strict=True)
    )


def one_line(rows: Sequence[Sequence[str]], widths: Sequence[float]) -> tuple[bool, ...]:
    """Which rows surely have one line in columns of those widths, in em.

    A row with a letter that isn't known is no sure one: it may come from another face, which
    may stand higher.
    """
    return tuple(
        all(_sure(cell, wide) for cell, wide in zip(row, widths, strict=True)) for row in rows
    )


def _sure(cell: str, wide: float) -> bool:
    return width(cell) + SPARE <= wide + 1e-9 and _LETTERS.keys() >= set(cell)


@lru_cache(maxsize=8192)
def width(text: str) -> float:
    """Width of a text on one line, in em."""
    return sum(map(_letter, text))


def _letter(letter: str) -> float:
    known = _LETTERS.get(letter)
    if known is not None:
        return known
    return 1.1 if unicodedata.east_asian_width(letter) in "WF" else 0.7
