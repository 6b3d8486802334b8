"""What a pack shows of its board: the front view on the sheet, the template and labels as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ...words.files import write_whole
from ...words.report import Picture
from .front import PAD, board_size, board_svg, letter_size
from .labels import write_labels
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
    across = board_size(layout)[0] + 2 * PAD * letter_size(layout)
    scale = next((s for s in SCALES if across / s <= WIDEST), SCALES[-1])
    return Picture(
        "board",
        f"The board from the front, 1 : {scale:g}. Handles open in full and shut dashed, with all "
        f"that they sweep. Sizes in {'inches' if plan.build.van.units == 'US' else 'mm'}.",
        board_svg(layout, plan.build.van.units, scale=1 / scale),
    )


def write_board(plan: BoardPlan, folder: Path | str) -> list[Path]:
    """Template and labels on both papers, and the front view, into a folder.  Gives the paths."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    front = folder / "front.svg"
    svg = board_svg(plan.layout, plan.build.van.units)
    write_whole(front, svg + "\n")
    paths = [front]
    for paper in PAPERS:
        paths.append(write_template(plan, folder / f"template-{paper.lower()}.pdf", paper))
        paths.append(write_labels(plan, folder / f"labels-{paper.lower()}.pdf", paper))
    return paths
