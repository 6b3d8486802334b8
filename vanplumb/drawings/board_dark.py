"""The board in a page with a dark theme: light lines on dark wood, instead of a white panel.

Only on a screen and only on the stage that a worksheet keeps for the board; in print and in a
PDF the drawing keeps its own colours.
"""

from __future__ import annotations

from .theme import swaps

PANEL, WOOD, INK = "#1c1a16", "#2b2822", "#ece8de"
DARK = {
    "#f7f2e8": WOOD,
    "#22211e": INK,
    "#8a877e": "#98948a",
    "#d1006c": "#ff6bb5",
    "#1f5fa8": "#63b0f2",
    "#dbe8f6": "#1d3a58",
    "#ae2a1c": "#f2796d",
    "#f8dedb": "#552621",
    "#00707a": "#5fd6d6",
    "#d8eef0": "#17464b",
    "#4a4a45": "#bdb9ae",
    "#ecebe6": "#3f3c35",
    "#ffffff": "#3a3831",
    "#e3e0d6": "#5d594f",
    "#8a6d00": "#d9b53a",
    "#ffe680": "#a8862a",
    "#5c4900": "#ffe680",
    "#fffdf8": WOOD,
    "#fffbe6": WOOD,
}
"""What stands for each colour of the drawing on paper."""


def dark_style() -> str:
    """The style that a live board carries."""
    inside = 'body[data-jp-theme-light="false"] .vp-board'
    ground = f"{inside}{{background:{PANEL}}}{inside} svg{{fill:{INK}}}"
    hint = f"{inside}::before{{color:{INK}}}"
    return f"<style>@media screen{{{ground}{hint}{swaps(inside, DARK)}}}</style>"
