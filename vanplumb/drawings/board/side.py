"""The board from its right side, to scale: how far parts stand out, and the room before handles.

SVG in millimetres, the board's face at 0, what stands out to the right, its lower edge at 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...board.parts.shapes import BODY, FINGER, LEAD, REST, SWEEP
from ...words.show import show
from ..style import for_svg
from .front import (
    ALARM,
    BOARD_INK,
    BOARD_WOOD,
    COLOURS,
    HALO,
    INK,
    Sheet,
    board_size,
    box_at,
    letter_size,
    number,
    side_of,
)

if TYPE_CHECKING:
    from ...board.parts.shapes import Piece
    from ...board.place.layout import Layout

PLATE = 12.0
"""mm that the board is drawn thick: nobody says how thick it is."""
DRAWN = (LEAD, BODY, FINGER, SWEEP, REST)
"""What is drawn of the pieces, in this order."""


def side_svg(layout: Layout, system: str = "SI", *, scale: float | None = None) -> str:
    """The board from its right side as one complete SVG, in mm, to the front's scale.

    The farthest parts are drawn first.  ``scale`` is paper mm per board mm.
    """
    height, letter = board_size(layout)[1], letter_size(layout)
    far = layout.needs.depth or layout.depth + 2 * layout.needs.finger
    far = max(far, layout.depth)
    sheet = Sheet(height)
    sheet.path(box_at(-PLATE, 0, 0, height), fill=BOARD_WOOD, stroke=BOARD_INK, stroke_width="0.8")
    bad = {owner for problem in layout.problems for owner in problem.where}
    pieces = sorted(layout.pieces, key=lambda p: (DRAWN.index(p.role), p.shape.bounds[2])
                    if p.role in DRAWN else (-1, 0.0))  # fmt: skip
    for piece in pieces:
        if piece.role in DRAWN:
            _piece(sheet, layout, piece, far, piece.owner in bad)
    _codes(sheet, layout, letter)
    _depths(sheet, layout, letter, system)
    left, right, up = PLATE + 2 * letter, 4 * letter, 2 * letter
    box = (
        -left,
        -up,
        left + far + right,
        height + up + (8.4 if layout.needs.depth else 6.0) * letter,
    )
    size = (
        f' width="{number(box[2] * scale)}mm" height="{number(box[3] * scale)}mm"' if scale else ""
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{" ".join(map(number, box))}"{size} '
        f'role="img" font-family="Helvetica, Arial, sans-serif" fill="{INK}">'
        f"<title>{for_svg('Board from its right side')}</title>{''.join(sheet.out)}</svg>"
    )


def _piece(sheet: Sheet, layout: Layout, piece: Piece, far: float, bad: bool) -> None:
    _, low, _, high = piece.shape.bounds
    line, fill = COLOURS[side_of(layout, piece.owner)]
    shape = box_at(piece.low, low, min(piece.high, far), high)
    if piece.role == FINGER:
        sheet.path(shape, fill="#2e7d32", fill_opacity="0.07", stroke="#2e7d32",
                   stroke_width="0.4", stroke_dasharray="1.5 2")  # fmt: skip
    elif piece.role == SWEEP:
        sheet.path(shape, fill="none", stroke=line, stroke_width="0.6", stroke_dasharray="3 2")
    else:
        sheet.path(
            shape,
            fill=line if piece.role == REST else fill,
            fill_opacity="0.9",
            stroke=ALARM if bad else line,
            stroke_width="1.8" if bad else "0.8",
        )


def _codes(sheet: Sheet, layout: Layout, letter: float) -> None:
    """Which zones' valves stand at a height, beside what stands out farthest there."""
    rows: list[tuple[float, float, list[str]]] = []
    marked = (p for p in layout.placed if p.owner in layout.handle_codes)
    for placed in sorted(marked, key=lambda p: p.y):
        own = [p for p in layout.pieces if p.owner == placed.owner and p.role in (BODY, REST)]
        out, up = max(p.high for p in own), placed.y / 10_000
        code = layout.handle_codes[placed.owner]
        if rows and up - rows[-1][0] < 1.2 * letter:
            middle, farthest, codes = rows[-1]
            rows[-1] = (middle, max(farthest, out), [*codes, code])
        else:
            rows.append((up, out, [code]))
    for up, out, codes in rows:
        words = " ".join(sorted(codes))
        sheet.text(out + 0.5 * letter, up - 0.35 * letter, words, letter, text_anchor="start",
                   font_weight="bold", **HALO)  # fmt: skip


def _depths(sheet: Sheet, layout: Layout, letter: float, system: str) -> None:
    """How far parts stand out, and how much room there is."""
    height, thin = board_size(layout)[1], {"stroke": INK, "stroke_width": "0.5"}
    lines = [("stands out", layout.depth, -1.6)]
    if layout.needs.depth:
        lines.append(("free", layout.needs.depth, -4.0))
        sheet.line(layout.needs.depth, 0, layout.needs.depth, height, stroke=BOARD_INK,
                   stroke_width="0.8", stroke_dasharray="6 3")  # fmt: skip
        over = [p.high for p in layout.pieces if p.role == REST]
        if over:
            lines.append(("over handles", max(over), -6.4))
    for words, depth, level in lines:
        if words == "over handles":
            _room(sheet, (depth, layout.needs.depth, level * letter), letter, system)
            continue
        y = level * letter
        sheet.line(0, y, depth, y, **thin)
        for stop in (0.0, depth):
            sheet.line(stop, y - 0.35 * letter, stop, y + 0.35 * letter, **thin)
        told = f"{words} {show(depth / 1000, 'length', system)}"
        sheet.text(0, y - 1.1 * letter, told, letter, text_anchor="start")


def _room(sheet: Sheet, at: tuple[float, float, float], letter: float, system: str) -> None:
    """Room for a hand between the handle that stands out farthest and what is in front."""
    handle, free, y = at
    if free <= handle:
        return
    thin = {"stroke": INK, "stroke_width": "0.5"}
    sheet.line(handle, y, free, y, **thin)
    for stop in (handle, free):
        sheet.line(stop, y - 0.35 * letter, stop, y + 0.35 * letter, **thin)
    told = f"for a hand {show((free - handle) / 1000, 'length', system)}"
    sheet.text(0, y - 1.1 * letter, told, letter, text_anchor="start")
