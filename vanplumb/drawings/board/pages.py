"""What a pack shows of its board: the front view on the sheet, the template and labels as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ...words.files import write_whole
from ...words.report import Picture
from .front import board_size, board_svg, room_round
from .labels import write_labels
from .side import side_svg
from .template import PAPERS, write_template

if TYPE_CHECKING:
    from ...board.plan import BoardPlan

WIDEST = 170.0
"""mm of a sheet's width that a drawing may take."""
SCALES = (2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20)
"""Drawing scales, one to this many."""


def board_picture(plan: BoardPlan) -> Picture:
    """The board from the front, to a stated scale.  ValueError if there is none."""
    if plan.trouble:
        raise ValueError(plan.trouble)
    layout = plan.layout
    scale = _scale(plan)
    return Picture(
        "board",
        f"The board from the front, 1 : {scale:g}. Handles open in full and shut dashed, with all "
        f"that they sweep. Sizes in {'inches' if plan.build.van.units == 'US' else 'mm'}.",
        board_svg(layout, plan.build.van.units, scale=1 / scale),
    )


def side_picture(plan: BoardPlan) -> Picture:
    """The board from its right side, to the scale of its front.  ValueError if there is none."""
    if plan.trouble:
        raise ValueError(plan.trouble)
    scale = _scale(plan)
    return Picture(
        "board-side",
        f"The board from its right side, 1 : {scale:g}: how far valves and handles stand out, what "
        "handles sweep dashed, the room kept for fingers dotted, the room that there is as a "
        "dashed upright. The board's own thickness is not known and drawn as any.",
        side_svg(plan.layout, plan.build.van.units, scale=1 / scale),
    )


def _scale(plan: BoardPlan) -> float:
    """Board mm per mm on a sheet."""
    across = board_size(plan.layout)[0] + 2 * room_round(plan.layout)
    return next((s for s in SCALES if across / s <= WIDEST), SCALES[-1])


def write_board(plan: BoardPlan, folder: Path | str, stamp: str = "") -> list[Path]:
    """Template and labels on both papers, and both views, into a folder.  Gives the paths.

    ``stamp`` tells which state of the build they are of.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    front = folder / "front.svg"
    svg = board_svg(plan.layout, plan.build.van.units)
    write_whole(front, svg + "\n")
    side = folder / "side.svg"
    write_whole(side, side_svg(plan.layout, plan.build.van.units) + "\n")
    paths = [front, side]
    for paper in PAPERS:
        paths.append(write_template(plan, folder / f"template-{paper.lower()}.pdf", paper, stamp))
        paths.append(write_labels(plan, folder / f"labels-{paper.lower()}.pdf", paper, stamp))
    return paths
