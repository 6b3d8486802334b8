"""The colours of drawings, and how they follow the theme of a page that shows them.

A drawing carries the colours for paper as plain attributes.  Inside a worksheet its own style
swaps them for the theme's; outside of one, on paper and in a PDF, no rule of it applies.

Mixed water is a blue green, told from hot and cold by all kinds of colour sight.  It is not
violet: purple pipe means water that must not be drunk.
"""

from __future__ import annotations

from collections.abc import Mapping

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
