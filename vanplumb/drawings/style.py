"""The colours of drawings, and how they follow the theme of a page that shows them.

A drawing carries the colours for paper as plain attributes.  Inside a worksheet its own style
swaps them for the theme's; outside of one, on paper and in a PDF, no rule of it applies.

Mixed water is a blue green, told from hot and cold by all kinds of colour sight.  It is not
violet: purple pipe means water that must not be drunk.

Words on a drawing: one line in which every letter shows and none acts.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from html import escape

LONGEST = 60


def stamped(stamp: str) -> str:
    """Which state a drawing is of: its name is cut if it is long, its date and mark never."""
    name, *rest = stamp.split(" · ")
    return " · ".join([visible(name), *map(visible, rest)]) if stamp else ""


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


ARROW = " → "


def changed(before: str, after: str) -> str:
    """Both figures and the unit once, or one figure if they read the same."""
    if before == after:
        return after
    old, _, unit = before.rpartition(" ")
    return f"{old if after.endswith(' ' + unit) else before}{ARROW}{after}"


HOT, COLD, MIXED = "#c2372c", "#1c6db0", "#007f8b"
AMBER, GREEN, GREY = "#965f00", "#22794f", "#66707a"
WHITE, NIGHT = "#ffffff", "#29415c"

THEME = {
    HOT: "var(--vp-hot)",
    COLD: "var(--vp-cold)",
    MIXED: "var(--vp-mixed)",
    AMBER: "var(--vp-warn)",
    GREEN: "var(--vp-good)",
    GREY: "var(--vp-soft)",
    WHITE: "var(--vp-paper)",
    NIGHT: "var(--vp-ink)",
}
"""What stands for a colour of paper in a worksheet's theme."""


def swaps(inside: str, colours: Mapping[str, str]) -> str:
    """Rules that put other colours for those that drawings carry, within a place of the page."""
    return "".join(
        f'{inside} [fill="{old}"]{{fill:{new}}}{inside} [stroke="{old}"]{{stroke:{new}}}'
        for old, new in colours.items()
    )


def follow(mark: str) -> str:
    """The style of a drawing of the class ``mark``, for worksheets only."""
    return f"<style>{swaps(f'.vanplumb .{mark}', THEME)}</style>"
