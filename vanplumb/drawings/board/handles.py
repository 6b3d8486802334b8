"""The board as its owner sees it: the parts, and on each handle the letters that are on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...board.place.state import mm
from ...words.report import Picture
from .front import COLOURS, HALO, INK, Sheet, board_size, board_svg, side_of

if TYPE_CHECKING:
    from ...board.plan import BoardPlan

ACROSS = 15.0
"""Letters on handles are this part of the board's longer side: about 5 mm on the paper."""


def handles_picture(plan: BoardPlan) -> Picture:
    """The board from the front with the letters on its handles.  ValueError if there is none."""
    if plan.trouble:
        raise ValueError(plan.trouble)
    layout = plan.layout
    width, height = board_size(layout)
    drawn = board_svg(layout, plan.build.van.units, sizes=False, named=False)
    over, size = Sheet(height), max(width, height) / ACROSS
    for placed in layout.placed:
        code = layout.handle_codes.get(placed.owner)
        if code:
            line, fill = COLOURS[side_of(layout, placed.owner)]
            x, y = mm(placed.x), mm(placed.y)
            over.circle(x, y, 0.75 * size, fill=fill, stroke=line, stroke_width=f"{size / 12:.3g}")
            letters = 0.85 * size * min(1.0, 2.2 / len(code))
            over.text(x, y - 0.36 * letters, code, letters, font_weight="bold", fill=INK)
    for device in layout.devices:
        over.text(mm(device.x), mm(device.y) - 1.3 * size, device.owner, 0.6 * size, **HALO)
    return Picture(
        "handles",
        "The board from the front: the letters stand on the handles",
        drawn.removesuffix("</svg>") + "".join(over.out) + "</svg>",
    )
