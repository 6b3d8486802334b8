"""The board from the front, to scale: parts, handles open and shut, sweeps, sizes, names.

SVG in millimetres with the lower left corner of the board at 0, 0.
Names and sizes on the front view of a board.
The board in a page with a dark theme: light lines on dark wood, instead of a white panel.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

from ...board.parts.shapes import BODY, FINGER, REST, SWEEP, Piece, polygon
from ...board.place.clips import clip_width
from ...board.place.rows import DIRECTIONS
from ...board.place.state import mm
from ...words.show import INCH, show
from ..style import for_svg, swaps
from .spots import FreeSpots

if TYPE_CHECKING:
    from ...board.parts.needs import ManifoldNeed
    from ...board.place.layout import Layout, Lead
    from ...board.place.rows import Open, Placed


def number(value: float) -> str:
    """A coordinate without idle digits."""
    return f"{round(value, 3) + 0.0:.8g}"


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
        self.out.append(f'<circle cx="{cx}" cy="{cy}" r="{number(radius)}"{_attributes(style)}/>')

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


INK = "#22211e"
HALO = {"paint_order": "stroke", "stroke": "#fffdf8", "stroke_width": "2.2"}
Size = tuple[float, float]


def names(sheet: Sheet, layout: Layout, board: Size, letter: float) -> None:
    """What each tube leads to, where it leaves the board; names of devices and zones on it."""
    for heading in DIRECTIONS:
        _names_on_edge(sheet, layout, heading, board, letter)
    for lead in layout.leads:
        if lead.open.feeds:
            _flow_arrow(sheet, layout, lead, letter)
    _names_inside(sheet, layout, FreeSpots(layout, board), letter)


def _names_on_edge(sheet: Sheet, layout: Layout, heading: int, board: Size, letter: float) -> None:
    """Names beside one edge, moved apart where two would cover one another."""
    along = 1 if DIRECTIONS[heading][0] else 0
    leads = sorted((one for one in layout.leads if one.open.heading == heading),
                   key=lambda lead: lead.start[along])  # fmt: skip
    lines = [_two_lines(layout, lead.open) for lead in leads]
    halves = [letter * max(0.32 * len(above), 0.25 * len(short(below, 13)))
              for above, below in lines]  # fmt: skip
    middles = apart([lead.start[along] for lead in leads], halves, 2.5 * letter)
    for lead, middle, (above, below) in zip(leads, middles, lines, strict=True):
        start = (lead.start[0], middle) if along else (middle, lead.start[1])
        _at_edge(sheet, heading, start, board, letter, above, below)


def apart(wanted: list[float], halves: list[float], most: float) -> list[float]:
    """Middles of texts along an edge, moved apart until none covers the next, none by more than
    ``most``; ``wanted`` goes up."""
    found = list(wanted)
    for _ in range(20):
        for k in range(len(found) - 1):
            over = found[k] + halves[k] - (found[k + 1] - halves[k + 1])
            if over > 0:
                found[k] = max(found[k] - over / 2, wanted[k] - most)
                found[k + 1] = min(found[k + 1] + over / 2, wanted[k + 1] + most)
    return found


def _names_inside(sheet: Sheet, layout: Layout, spots: FreeSpots, letter: float) -> None:
    """Names of what stands on the board, where they cover nothing."""

    def write(words: str, placed: Placed, half: Size, size: float = letter, **style: str) -> None:
        x, y = spots.near(mm(placed.x), mm(placed.y), half, words, size)
        sheet.text(x, y, words, size, **HALO, **style)

    for device in layout.devices:
        bodies = [p.shape.bounds for p in layout.pieces
                  if p.owner == device.owner and p.role == BODY]  # fmt: skip
        right, top = max(b[2] for b in bodies), max(b[3] for b in bodies)
        half = (right - mm(device.x), top - mm(device.y))
        write(short(device.owner, 22), device, half, font_weight="bold")
    isolators = {m.isolator.name: m.isolator for m in layout.needs.manifolds if m.isolator}
    left = {one.zone for one in layout.opens}
    for placed in layout.placed:
        if not placed.zone and placed.owner not in isolators:
            continue
        wide = max(abs(c) for s in placed.part.body for _, c in s.points)
        if placed.owner in isolators:
            words = f"{isolators[placed.owner].letter} {short(placed.owner, 22)}"
            write(words, placed, (wide, wide), font_weight="bold")
            continue
        code = layout.needs.zone(placed.zone).code
        if placed.zone not in left:
            write(code, placed, (wide, wide), font_weight="bold")
        if placed.bend != "flat":
            words = f"{code} tip {placed.bend}"
            write(words, placed, (wide, wide), 0.75 * letter, fill="#5c4900")


def _flow_arrow(sheet: Sheet, layout: Layout, lead: Lead, letter: float) -> None:
    """Which way water comes in, on the tube of a feed between its clip and the board's edge."""
    dx, dy = DIRECTIONS[lead.open.heading]
    clip = next((c for c in layout.clips if c.owner == f"{lead.open.what} clip"), None)
    from_x, from_y = (mm(clip.x), mm(clip.y)) if clip else lead.start
    far = abs(lead.end[0] - from_x) + abs(lead.end[1] - from_y)
    long, half = min(1.3 * letter, 0.7 * far), min(0.45 * letter, 0.5 * lead.open.outside)
    middle = far / 2 + (clip_width(clip.part) / 4 if clip else 0.0)
    x, y = from_x + dx * middle, from_y + dy * middle
    tip, tail = (x - dx * long / 2, y - dy * long / 2), (x + dx * long / 2, y + dy * long / 2)
    left, right = (
        (tail[0] - dy * half, tail[1] + dx * half),
        (tail[0] + dy * half, tail[1] - dx * half),
    )
    sheet.path(polygon((tip, left, right)), fill=COLOURS[side_of(layout, lead.owner)][0],
               stroke="none", data_arrow="feed")  # fmt: skip


def _two_lines(layout: Layout, one: Open) -> tuple[str, str]:
    if one.zone:
        zone = layout.needs.zone(one.zone)
        return zone.code, zone.name
    if one.feeds:
        return "feed", one.feeds
    return one.port, one.owner


def _at_edge(
    sheet: Sheet, heading: int, start: Size, board: Size, letter: float, above: str, below: str
) -> None:
    """Two lines outside the edge, read along it."""
    width, height = board
    dx, dy = DIRECTIONS[heading]
    first, second = 1.5 * letter, 0.4 * letter
    bold = {"font_weight": "bold"}
    if dy:
        edge = height if dy > 0 else 0.0
        up = (first, second) if dy > 0 else (-1.1 * letter, -2.2 * letter)
        sheet.text(start[0], edge + up[0], above, letter, **bold)
        sheet.text(start[0], edge + up[1], short(below, 13), 0.9 * letter)
    else:
        edge = width if dx > 0 else 0.0
        turn = "90" if dx > 0 else "-90"
        for away, words, size in ((first, above, letter), (second, short(below, 13), 0.9 * letter)):
            x = edge + away if dx > 0 else edge - away
            sheet.text(x, start[1], words, size, turn=turn, **(bold if words == above else {}))


def short(words: str, most: int) -> str:
    """A name cut to a length that fits its place."""
    return words if len(words) <= most else words[: most - 1] + "…"


def sizes_of(sheet: Sheet, layout: Layout, board: Size, letter: float, system: str) -> None:
    """The board's size, and where the valves and the headers are, from its left and lower edge.

    Each manifold has a chain along the board and one up it, both marked with its letter: the
    first below and at the left, the others above and at the right, one outside another.
    """
    width, height = board
    pen = _Pen(sheet, letter, system)
    pen.chain([0.0, width], -6.5 * letter, True)
    pen.chain([0.0, height], -6.5 * letter, False)
    manifolds = {m.name: m for m in layout.needs.manifolds}
    for number, row in enumerate(layout.state.rows):
        valves = [p for p in layout.rows[row.manifold].placed if p.zone]
        across = [mm(p.x) for p in valves]
        up = [mm(p.y) for p in valves]
        (up if not row.upright else across).append(mm(row.x if row.upright else row.y))
        out = (4.2 + CHAIN * (number - 1)) * letter
        beside = -4.2 * letter if number == 0 else width + out + 0.2 * letter
        below = -4.2 * letter if number == 0 else height + out
        one = manifolds[row.manifold]
        pen.chain([0.0, *_distinct(across)], below, True, one)
        pen.chain([0.0, *_distinct(up)], beside, False, one)


def _distinct(places: list[float]) -> list[float]:
    """Places in order, those nearer than 1 mm to the one before left out."""
    found: list[float] = []
    for place in sorted(places):
        if not found or place - found[-1] > 1.0:
            found.append(place)
    return found


class _Pen:
    """Draws chains of dimensions."""

    def __init__(self, sheet: Sheet, letter: float, system: str) -> None:
        self.sheet, self.letter, self.system = sheet, letter, system

    def chain(
        self, stops: list[float], level: float, along: bool, of: ManifoldNeed | None = None
    ) -> None:
        """Dimensions between stops, on a line along the board or up it, of one manifold.

        Stops are rounded before they are taken from one another, so that what is written adds up
        to where the last of them is.
        """
        step = INCH * 1000 / 16 if self.system == "US" else 1.0
        whole = [floor(stop / step + 0.5 + 1e-9) * step / 1000 for stop in stops]
        thin = {"stroke": INK, "stroke_width": "0.5"}
        tick, size, other = 0.35 * self.letter, self.letter, False
        for (a, b), (low, high) in zip(pairwise(stops), pairwise(whole), strict=True):
            words = show(high - low, "length", self.system, with_unit=False)
            middle = (a + b) / 2
            # what is too wide for its place stands on the line's other side than its neighbour
            fits = b - a > 0.55 * size * len(words) or other
            other = not fits
            if along:
                self.sheet.line(a, level, b, level, **thin)
                beside = level + (0.25 if fits else -0.95) * self.letter
                self.sheet.text(middle, beside, words, size)
            else:
                self.sheet.line(level, a, level, b, **thin)
                beside = level + (-0.25 if fits else 1.0) * self.letter
                self.sheet.text(beside, middle, words, size, turn="-90")
        for stop in stops:
            if along:
                self.sheet.line(stop, level - tick, stop, level + tick, **thin)
            else:
                self.sheet.line(level - tick, stop, level + tick, stop, **thin)
        if of is not None:
            x, y = (-0.9 * size, level - 0.35 * size) if along else (level, -1.3 * size)
            self.sheet.text(x, y, of.letter, size, font_weight="bold", fill=COLOURS[of.side][0])


PANEL, WOOD, DARK_INK = "#1c1a16", "#2b2822", "#ece8de"
DARK = {
    "#f7f2e8": WOOD,
    "#22211e": DARK_INK,
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
}
"""What stands for each colour of the drawing on paper."""


def dark_style() -> str:
    """The style that a live board carries."""
    inside = 'body[data-jp-theme-light="false"] .vp-board'
    ground = f"{inside}{{background:{PANEL}}}{inside} svg{{fill:{INK}}}"
    hint = f"{inside}::before{{color:{INK}}}"
    return f"<style>@media screen{{{ground}{hint}{swaps(inside, DARK)}}}</style>"


COLOURS = {
    "cold": ("#1f5fa8", "#dbe8f6"),
    "hot": ("#ae2a1c", "#f8dedb"),
    "mixed": ("#00707a", "#d8eef0"),
    "": ("#4a4a45", "#ecebe6"),
}
BOARD_WOOD, BOARD_INK, FAINT, ALARM = "#f7f2e8", "#22211e", "#8a877e", "#d1006c"
LETTERS_PER_WIDTH = 44.0
"""Letters are this part of the board's width, so that they can be read on a printed page and,
where the board is 700 px wide, on a screen."""
PAD, CHAIN = 7.9, 2.3
"""Room round the board for names and the sizes of three manifolds, and from one chain of sizes to
the next, in letter heights."""


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
        if manifold.isolator and owner == manifold.isolator.name:
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


def room_round(layout: Layout) -> float:
    """Room for names and sizes on each side of the board, board mm."""
    more = max(0, len(layout.state.rows) - 3)
    return (PAD + CHAIN * more) * letter_size(layout)


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
    named: bool = True,
) -> str:
    """The board as one complete SVG, in mm.

    ``sizes`` adds dimensions, ``fingers`` the room kept for fingers, ``scale`` (paper mm per
    board mm) gives it a printed size, ``live`` marks the parts that a worksheet lets be dragged,
    ``named`` writes what the parts are and where each tube leads.
    """
    head, parts = board_parts(
        layout, system, sizes=sizes, fingers=fingers, scale=scale, live=live, named=named
    )
    return f"{head}{''.join(parts)}</svg>"


def board_parts(
    layout: Layout,
    system: str = "SI",
    *,
    sizes: bool = True,
    fingers: bool = False,
    scale: float | None = None,
    live: bool = False,
    named: bool = True,
) -> tuple[str, list[str]]:
    """The same in pieces: the opening of the SVG, and one text for each element in it."""
    width, height = board_size(layout)
    letter = letter_size(layout)
    sheet = Sheet(height)
    sheet.path(box_at(0, 0, width, height), fill=BOARD_WOOD, stroke=BOARD_INK, stroke_width="0.8")
    margin = layout.needs.margin
    sheet.path(
        box_at(margin, margin, width - margin, height - margin),
        fill="none", stroke=FAINT, stroke_width="0.5", stroke_dasharray="2 3",
    )  # fmt: skip
    bad = frozenset(owner for problem in layout.problems for owner in problem.where)
    _tubes(sheet, layout, bad)
    _parts(sheet, layout, Look(bad, fingers, live, letter))
    if named:
        names(sheet, layout, (width, height), letter)
    if sizes:
        sizes_of(sheet, layout, (width, height), letter, system)
    pad = room_round(layout) if sizes else letter * (3.0 if named else 0.3)
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


def box_at(x0: float, y0: float, x1: float, y1: float) -> Any:
    from ...board.parts.parts import box
    from ...board.parts.shapes import polygon

    return polygon(box(x0, y0, x1, y1))


def _clip_to_board(layout: Layout, shape: Any) -> Any:
    width, height = board_size(layout)
    return shape.intersection(box_at(-12, -12, width + 12, height + 12))


def _tubes(sheet: Sheet, layout: Layout, bad: Iterable[str]) -> None:
    from ...board.parts.shapes import LEAD

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
        sheet.circle(x, y, diameter / 2, fill="#ffffff", stroke=BOARD_INK, stroke_width="0.5")
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
    from ...board.place.rows import DIRECTIONS

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
    sheet.end()
