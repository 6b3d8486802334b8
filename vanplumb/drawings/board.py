"""The board from the front, to scale: parts, handles open and shut, sweeps, sizes, names."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from vanplumb.board.shapes import BODY, FINGER, REST, SWEEP, Piece
from vanplumb.board.state import mm
from vanplumb.words.show import show

from .lettering import for_svg

if TYPE_CHECKING:
    from vanplumb.board.layout import Layout
    from vanplumb.board.rows import Placed

COLOURS = {
    "cold": ("#1f5fa8", "#dbe8f6"),
    "hot": ("#b3261e", "#f8dedb"),
    "mixed": ("#6a3d9a", "#e8dff2"),
    "": ("#4a4a45", "#ecebe6"),
}
WOOD, INK, FAINT, ALARM = "#f7f2e8", "#22211e", "#8a877e", "#d1006c"
PAD = 62.0


def number(value: float) -> str:
    """A coordinate without idle digits."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


class Sheet:
    """Collects SVG elements in millimetres with the board's lower left corner at 0, 0."""

    def __init__(self, height: float) -> None:
        self.height = height
        self.out: list[str] = []

    def at(self, x: float, y: float) -> str:
        return f"{number(x)},{number(self.height - y)}"

    def path(self, shape: Any, **style: str) -> None:
        """A polygon or several."""
        self.out.append(f'<path d="{self.outline(shape)}"{_attributes(style)}/>')

    def outline(self, shape: Any) -> str:
        parts = getattr(shape, "geoms", [shape])
        return "".join(
            "M" + "L".join(self.at(x, y) for x, y in ring.coords[:-1]) + "Z"
            for one in parts
            for ring in (one.exterior, *one.interiors)
        )

    def line(self, ax: float, ay: float, bx: float, by: float, **style: str) -> None:
        a, b = self.at(ax, ay).split(","), self.at(bx, by).split(",")
        self.out.append(
            f'<line x1="{a[0]}" y1="{a[1]}" x2="{b[0]}" y2="{b[1]}"{_attributes(style)}/>'
        )

    def circle(self, x: float, y: float, radius: float, **style: str) -> None:
        cx, cy = self.at(x, y).split(",")
        self.out.append(
            f'<circle cx="{cx}" cy="{cy}" r="{number(radius)}"{_attributes(style)}/>'
        )

    def text(self, x: float, y: float, words: str, size: float = 7.0, **style: str) -> None:
        tx, ty = self.at(x, y).split(",")
        turn = style.pop("turn", "")
        if turn:
            style["transform"] = f"rotate({turn} {tx} {ty})"
        style.setdefault("text_anchor", "middle")
        self.out.append(
            f'<text x="{tx}" y="{ty}" font-size="{number(size)}"{_attributes(style)}>'
            f"{for_svg(words)}</text>"
        )

    def group(self, **style: str) -> None:
        self.out.append(f"<g{_attributes(style)}>")

    def end(self) -> None:
        self.out.append("</g>")


def _attributes(style: dict[str, str]) -> str:
    return "".join(f' {k.replace("_", "-")}="{for_svg(v)}"' for k, v in style.items())


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
    width, height = board_size(layout)
    sheet = Sheet(height)
    sheet.path(_box(0, 0, width, height), fill=WOOD, stroke=INK, stroke_width="0.8")
    margin = layout.needs.margin
    sheet.path(
        _box(margin, margin, width - margin, height - margin),
        fill="none", stroke=FAINT, stroke_width="0.5", stroke_dasharray="2 3",
    )  # fmt: skip
    bad = {owner for problem in layout.problems for owner in problem.where}
    _tubes(sheet, layout, bad)
    _parts(sheet, layout, bad, fingers, live)
    _names(sheet, layout)
    if sizes:
        _sizes(sheet, layout, system)
    pad = PAD if sizes else 14.0
    box = f"{number(-pad)} {number(-pad)} {number(width + 2 * pad)} {number(height + 2 * pad)}"
    size = ""
    if scale:
        size = (
            f' width="{number((width + 2 * pad) * scale)}mm"'
            f' height="{number((height + 2 * pad) * scale)}mm"'
        )
    title = for_svg("Board from the front: " + ", ".join(m.name for m in layout.needs.manifolds))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"{size} role="img" '
        f'font-family="Helvetica, Arial, sans-serif" fill="{INK}">'
        f"<title>{title}</title>{''.join(sheet.out)}</svg>"
    )


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


def _parts(
    sheet: Sheet, layout: Layout, bad: Iterable[str], fingers: bool, live: bool
) -> None:
    by_owner: dict[str, list[Piece]] = {}
    for piece in layout.pieces:
        by_owner.setdefault(piece.owner, []).append(piece)
    handled = []
    for placed in layout.placed:
        pieces = by_owner.get(placed.owner, [])
        _body(sheet, layout, placed, pieces, placed.owner in bad, live)
        if placed.part.handle:
            handled.append((placed, pieces))
    for placed, pieces in handled:
        _handle(sheet, placed, pieces, placed.owner in bad, fingers, live)


def _body(
    sheet: Sheet, layout: Layout, placed: Placed, pieces: list[Piece], bad: bool, live: bool
) -> None:
    import shapely

    line = COLOURS[side_of(layout, placed.owner)][0]
    body = shapely.union_all([p.shape for p in pieces if p.role == BODY])
    if body.is_empty:
        return
    marks = {"data_part": placed.owner} if live else {}
    sheet.group(**marks)
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
    sheet: Sheet, placed: Placed, pieces: list[Piece], bad: bool, fingers: bool, live: bool
) -> None:
    """Sweep as a tint, the open handle in full, the shut one dashed, and its pivot."""
    import shapely

    marks = {"data_handle": placed.owner} if live else {}
    sheet.group(**marks)
    if fingers:
        for piece in pieces:
            if piece.role == FINGER:
                sheet.path(piece.shape, fill="#2e7d32", fill_opacity="0.14", stroke="none")
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
            mm(placed.x) + 6, mm(placed.y) + 3.5, f"tip {bend}", 5.5, fill="#5c4900",
            text_anchor="start", paint_order="stroke", stroke="#fffbe6", stroke_width="1.6",
        )  # fmt: skip
    sheet.end()


def _names(sheet: Sheet, layout: Layout) -> None:
    """Zone names where their tubes leave, device names on the devices."""
    from vanplumb.board.rows import DIRECTIONS

    width, height = board_size(layout)
    for lead in layout.leads:
        one = lead.open
        dx, dy = DIRECTIONS[one.heading]
        if one.zone:
            zone = layout.needs.zone(one.zone)
            words = f"{zone.code} {zone.name}"
        elif one.what.startswith("feed of "):
            words = one.what.removeprefix("feed of ")
        else:
            words = one.what.split(" (")[0]
        if dy:
            y = height + 5 if dy > 0 else -11
            sheet.text(lead.start[0], y, short(words, 20), 8, font_weight="bold")
        else:
            x = width + 6 if dx > 0 else -6
            sheet.text(
                x, lead.start[1] - 3, short(words, 16), 8, font_weight="bold",
                turn="-90" if dx < 0 else "90",
            )  # fmt: skip
    for device in layout.devices:
        low = min(p.shape.bounds[1] for p in layout.pieces if p.owner == device.owner)
        side = [o.heading for o in layout.opens if o.owner == device.owner]
        y = low - 8 if 270 not in side else mm(device.y) + 30
        sheet.text(mm(device.x), y, short(device.owner, 22), 8, font_weight="bold")
    for key, *_ in layout.needs.links:
        zone = layout.needs.zone(key)
        valve = next((p for p in layout.placed if p.zone == key), None)
        if valve and not any(o.zone == key for o in layout.opens):
            sheet.text(mm(valve.x) + 2, mm(valve.y) - 18, zone.code, 8, font_weight="bold")


def short(words: str, most: int) -> str:
    """A name cut to a length that fits its place."""
    return words if len(words) <= most else words[: most - 1] + "…"


def _sizes(sheet: Sheet, layout: Layout, system: str) -> None:
    """Board size, and for each header the distance of each valve from the edge."""
    width, height = board_size(layout)
    sheet.group(font_size="7", fill=INK)
    _dimension(sheet, 0, width, -44, True, system)
    _dimension(sheet, 0, height, -44, False, system)
    for row in layout.state.rows:
        marks = sorted(
            mm(p.y) if row.upright else mm(p.x)
            for p in layout.rows[row.manifold].placed
            if p.zone
        )
        stops = [0.0, *dict.fromkeys(marks)]
        level = -28.0
        number_of = [r.manifold for r in layout.state.rows if r.upright == row.upright]
        if number_of.index(row.manifold):
            level = (width if row.upright else height) + 24.0
        for a, b in pairwise(stops):
            _dimension(sheet, a, b, level, not row.upright, system)
    sheet.end()


def _dimension(
    sheet: Sheet, a: float, b: float, level: float, along: bool, system: str
) -> None:
    words = show((b - a) / 1000, "length", system, with_unit=system == "US")
    thin = {"stroke": INK, "stroke_width": "0.4"}
    if along:
        sheet.line(a, level, b, level, **thin)
        for x in (a, b):
            sheet.line(x, level - 3, x, level + 3, **thin)
        sheet.text((a + b) / 2, level + 2, words, 6.5)
    else:
        sheet.line(level, a, level, b, **thin)
        for y in (a, b):
            sheet.line(level - 3, y, level + 3, y, **thin)
        sheet.text(level - 2, (a + b) / 2, words, 6.5, turn="-90")
