"""The board from the front, to scale: parts, handles open and shut, sweeps, sizes, names."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, NamedTuple

from vanplumb.board.shapes import BODY, FINGER, REST, SWEEP, Piece
from vanplumb.board.state import mm

from .board_dark import dark_style
from .board_words import names, sizes_of
from .lettering import for_svg
from .lines import Sheet, number

if TYPE_CHECKING:
    from vanplumb.board.layout import Layout
    from vanplumb.board.rows import Placed

COLOURS = {
    "cold": ("#1f5fa8", "#dbe8f6"),
    "hot": ("#ae2a1c", "#f8dedb"),
    "mixed": ("#00707a", "#d8eef0"),
    "": ("#4a4a45", "#ecebe6"),
}
WOOD, INK, FAINT, ALARM = "#f7f2e8", "#22211e", "#8a877e", "#d1006c"
LETTERS_PER_WIDTH = 44.0
"""Letters are this part of the board's width, so that they can be read on a printed page and,
where the board is 700 px wide, on a screen."""
PAD = 7.4
"""Room round the board for names and sizes, in letter heights."""


def side_of(layout: Layout, owner: str) -> str:
    """Cold, hot or mixed water in a part; empty if it carries none."""
    for manifold in layout.needs.manifolds:
        for zone in manifold.zones:
            bare = owner.removeprefix("clip on ").removeprefix("tube before ")
            if f"{bare} ".startswith(f"{zone.label} "):
                return manifold.side
        if owner.endswith(f"feed of {manifold.name} run") or f" {manifold.name}" in owner:
            return manifold.side
        if owner.startswith(f"{manifold.letter} ") or owner.startswith(
            f"clip on {manifold.letter} "
        ):
            return manifold.side
    for manifold in layout.needs.manifolds:
        if any(f" {z.label} to " in owner for z in manifold.zones):
            return manifold.side
    for device in layout.needs.devices:
        if owner == device.name or owner.startswith(device.name + " "):
            for port, side in (("hot", "hot"), ("cold", "cold")):
                if owner.startswith(f"{device.name} {port} "):
                    return side
            return "mixed" if device.kind == "mixing valve" else "cold"
    return ""


def board_size(layout: Layout) -> tuple[float, float]:
    """Width and height of the board, mm."""
    return mm(layout.state.width), mm(layout.state.height)


def letter_size(layout: Layout) -> float:
    """Height of letters on the drawing, board mm."""
    return max(7.0, board_size(layout)[0] / LETTERS_PER_WIDTH)


def board_svg(
    layout: Layout,
    system: str = "SI",
    *,
    sizes: bool = True,
    fingers: bool = False,
    scale: float | None = None,
    live: bool = False,
) -> str:
    """The board as one complete SVG, in mm.

    ``sizes`` adds dimensions, ``fingers`` the room kept for fingers, ``scale`` (paper mm per
    board mm) gives it a printed size, ``live`` marks the parts that a worksheet lets be dragged.
    """
    head, parts = board_parts(layout, system, sizes=sizes, fingers=fingers, scale=scale, live=live)
    return f"{head}{''.join(parts)}</svg>"


def board_parts(
    layout: Layout,
    system: str = "SI",
    *,
    sizes: bool = True,
    fingers: bool = False,
    scale: float | None = None,
    live: bool = False,
) -> tuple[str, list[str]]:
    """The same in pieces: the opening of the SVG, and one text for each element in it."""
    width, height = board_size(layout)
    letter = letter_size(layout)
    sheet = Sheet(height)
    sheet.path(_box(0, 0, width, height), fill=WOOD, stroke=INK, stroke_width="0.8")
    margin = layout.needs.margin
    sheet.path(
        _box(margin, margin, width - margin, height - margin),
        fill="none", stroke=FAINT, stroke_width="0.5", stroke_dasharray="2 3",
    )  # fmt: skip
    bad = frozenset(owner for problem in layout.problems for owner in problem.where)
    _tubes(sheet, layout, bad)
    _parts(sheet, layout, Look(bad, fingers, live, letter))
    names(sheet, layout, (width, height), letter)
    if sizes:
        sizes_of(sheet, layout, (width, height), letter, system)
    pad = letter * (PAD if sizes else 3.0)
    box = f"{number(-pad)} {number(-pad)} {number(width + 2 * pad)} {number(height + 2 * pad)}"
    size = ""
    if scale:
        size = (
            f' width="{number((width + 2 * pad) * scale)}mm"'
            f' height="{number((height + 2 * pad) * scale)}mm"'
        )
    title = for_svg("Board from the front: " + ", ".join(m.name for m in layout.needs.manifolds))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"{size} role="img" '
        f'font-family="Helvetica, Arial, sans-serif" fill="{INK}">'
    )
    first = [f"<title>{title}</title>", *([dark_style()] if live else [])]
    return head, [*first, *sheet.out]


def _box(x0: float, y0: float, x1: float, y1: float) -> Any:
    from vanplumb.board.parts import box
    from vanplumb.board.shapes import polygon

    return polygon(box(x0, y0, x1, y1))


def _clip_to_board(layout: Layout, shape: Any) -> Any:
    width, height = board_size(layout)
    return shape.intersection(_box(-12, -12, width + 12, height + 12))


def _tubes(sheet: Sheet, layout: Layout, bad: Iterable[str]) -> None:
    from vanplumb.board.shapes import LEAD

    tubes = {t.owner for t in layout.tubes}
    for piece in layout.pieces:
        if piece.role != LEAD and piece.owner not in tubes:
            continue
        line, fill = COLOURS[side_of(layout, piece.owner)]
        shape = _clip_to_board(layout, piece.shape) if piece.role == LEAD else piece.shape
        if shape.is_empty:
            continue
        edge = ALARM if piece.owner in bad else line
        sheet.path(shape, fill=fill, stroke=edge, stroke_width="0.6")


class Look(NamedTuple):
    """What changes how parts are drawn: the wrong ones, fingers, whether they move, letters."""

    bad: frozenset[str]
    fingers: bool
    live: bool
    letter: float


_DRAWN: dict[tuple[object, ...], str] = {}
MOST_DRAWN = 3000
"""Drawings of single parts that are kept, so that a drag draws only what it moves."""


def _parts(sheet: Sheet, layout: Layout, look: Look) -> None:
    by_owner: dict[str, list[Piece]] = {}
    for piece in layout.pieces:
        by_owner.setdefault(piece.owner, []).append(piece)
    for draw in (_body, _handle):
        for placed in layout.placed:
            if draw is _handle and not placed.part.handle:
                continue
            side, grips = side_of(layout, placed.owner), _grips(layout, placed) if look.live else {}
            key = (
                draw, sheet.height, placed.owner, placed.part.name, placed.x, placed.y,
                placed.turn, placed.mirror, placed.turned, placed.bend, side,
                placed.owner in look.bad, look.fingers, look.letter, tuple(grips.items()),
                id(layout.needs.catalogue),
            )  # fmt: skip
            if key not in _DRAWN:
                if len(_DRAWN) > MOST_DRAWN:
                    _DRAWN.clear()
                pen = Sheet(sheet.height)
                draw(pen, placed, by_owner.get(placed.owner, []), side, look, grips)
                _DRAWN[key] = "".join(pen.out)
            sheet.out.append(_DRAWN[key])


def _body(
    sheet: Sheet, placed: Placed, pieces: list[Piece], side: str, look: Look, grips: dict[str, str]
) -> None:
    import shapely

    line, bad = COLOURS[side][0], placed.owner in look.bad
    body = shapely.union_all([p.shape for p in pieces if p.role == BODY])
    sheet.group(**{k: v for k, v in grips.items() if k == "data_grip"})
    clip = placed.part.kind == "clip"
    sheet.path(
        body,
        fill="#ffffff" if not clip else "#e3e0d6",
        stroke=ALARM if bad else (FAINT if clip else line),
        stroke_width="1.8" if bad else "1",
        **({"fill_opacity": "0.92"} if not clip else {}),
    )
    for x, y, diameter in holes_of(placed):
        sheet.circle(x, y, diameter / 2, fill="#ffffff", stroke=INK, stroke_width="0.5")
    sheet.end()


def _grips(layout: Layout, placed: Placed) -> dict[str, str]:
    """What a worksheet needs to move a part: what is taken, and, for keys, what it is called."""
    taken = grip(layout, placed)
    if not taken or not placed.part.handle:
        return taken
    name = placed.owner
    if placed.zone:
        zone = layout.needs.zone(placed.zone)
        state = "turned" if placed.turned else "as bought"
        name = f"{zone.code} {zone.name}, handle {state}, tip {placed.bend}"
    return {**taken, "tabindex": "0", "role": "button", "aria_label": name}


def grip(layout: Layout, placed: Placed) -> dict[str, str]:
    """What a worksheet drags when this part is taken: its zone, its row or the device."""
    if placed.zone:
        return {"data_grip": f"zone:{placed.zone}"}
    if any(d.owner == placed.owner for d in layout.devices):
        return {"data_grip": f"device:{placed.owner}"}
    for name, row in layout.rows.items():
        if any(p.owner == placed.owner for p in row.placed):
            return {"data_grip": f"row:{name}"}
    return {}


def holes_of(placed: Placed) -> list[tuple[float, float, float]]:
    """Drilled holes of a part on the board: x, y, diameter in mm."""
    from vanplumb.board.rows import DIRECTIONS

    c, s = DIRECTIONS[placed.turn % 360]
    over = -1 if placed.mirror else 1
    return [
        (mm(placed.x) + x * c - y * over * s, mm(placed.y) + x * s + y * over * c, d)
        for x, y, d in placed.part.holes
    ]


def _handle(
    sheet: Sheet, placed: Placed, pieces: list[Piece], side: str, look: Look, grips: dict[str, str]
) -> None:
    """Sweep as a tint, the open handle in full, the shut one dashed, and its pivot."""
    import shapely

    del side
    sheet.group(**grips)
    if look.fingers:
        for piece in pieces:
            if piece.role == FINGER:
                sheet.path(piece.shape, fill="#2e7d32", fill_opacity="0.14", stroke="none")
    bad = placed.owner in look.bad
    edge = ALARM if bad else "#8a6d00"
    swept = [p.shape for p in pieces if p.role == SWEEP]
    if swept:
        sheet.path(
            shapely.union_all(swept), fill=ALARM if bad else "#f2c200", fill_opacity="0.2",
            stroke=edge, stroke_width="0.4", stroke_dasharray="1 1.6",
        )  # fmt: skip
    rests = [p for p in pieces if p.role == REST]
    knob = placed.part.handle is not None and placed.part.handle.kind == "knob"
    for index, piece in enumerate(rests):
        opened = index % 2 == 0
        sheet.path(
            piece.shape,
            fill="#ffe680" if opened else "none",
            fill_opacity="0.95" if opened else "0",
            stroke=edge,
            stroke_width="0.8",
            **({} if opened or knob else {"stroke_dasharray": "2.4 1.8"}),
        )
    sheet.circle(mm(placed.x), mm(placed.y), 2.4, fill=edge, stroke="none")
    bend = placed.bend
    if bend != "flat":
        sheet.text(
            mm(placed.x) + 6, mm(placed.y) + 3.5, f"tip {bend}", 0.75 * look.letter, fill="#5c4900",
            text_anchor="start", paint_order="stroke", stroke="#fffbe6", stroke_width="1.6",
        )  # fmt: skip
    sheet.end()
