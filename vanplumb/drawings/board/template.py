"""The full-size template to drill by, on several sheets of paper that are laid over each other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...board.parts.shapes import BODY, REST
from ...board.place.state import mm
from ...words.files import write_whole
from ...words.show import drill_size, show
from ..style import stamped, visible
from .front import board_size, holes_of

if TYPE_CHECKING:
    from ...board.place.layout import Layout
    from ...board.plan import BoardPlan

PAPERS = {"letter": (215.9, 279.4), "A4": (210.0, 297.0)}
MARGIN = 7.0
HEAD, FOOT = 8.0, 23.0
OVERLAP = 12.0
"""mm that a sheet shows of the next one."""
MARKS = 60.0
"""mm between the marks along a seam."""
SOURCE = Path(__file__).with_name("template.typ")

Element = list[Any]


@dataclass(frozen=True)
class Tiling:
    """How the board is cut into sheets: size of the paper and of the window on each, mm."""

    paper: tuple[float, float]
    window: tuple[float, float]
    columns: int
    rows: int

    @property
    def sheets(self) -> int:
        return self.columns * self.rows

    def corner(self, row: int, column: int) -> tuple[float, float]:
        """Board coordinates of a sheet's window, upper left; rows from the top."""
        width, height = self.window
        return column * (width - OVERLAP) - 2.0, row * (height - OVERLAP) - 2.0


def tiling(width: float, height: float, paper: str) -> Tiling:
    """The upright or lying paper that needs fewer sheets.  KeyError for an unknown paper."""
    options = []
    for across, down in (PAPERS[paper], PAPERS[paper][::-1]):
        window = (across - 2 * MARGIN, down - 2 * MARGIN - HEAD - FOOT)
        columns, rows = (
            max(1, ceil((size + 4.0 - OVERLAP) / (room - OVERLAP)))
            for size, room in zip((width, height), window, strict=True)
        )
        options.append(Tiling((across, down), window, columns, rows))
    return min(options, key=lambda t: t.sheets)


def write_template(
    plan: BoardPlan, path: Path | str, paper: str = "letter", stamp: str = ""
) -> Path:
    """Write the template as a PDF.  KeyError for an unknown paper, PartError without a board."""
    path = Path(path)
    write_whole(path, template_pdf(plan, paper, stamp))
    return path


def template_pdf(plan: BoardPlan, paper: str = "letter", stamp: str = "") -> bytes:
    """The template as PDF bytes; the same plan gives the same bytes.

    ``stamp`` tells which state of the build it is of, and is printed on each sheet.
    """
    return printed(template_data(plan, paper, stamp))


def printed(data: dict[str, Any]) -> bytes:
    """Sheets of drawn elements as PDF bytes, each length as it is in the data."""
    import typst

    text = json.dumps(data, ensure_ascii=False)
    compiler = typst.Compiler(ignore_system_fonts=True)
    made = compiler.compile(
        SOURCE.read_bytes(), format="pdf", timestamp=0, sys_inputs={"template": text}
    )
    assert isinstance(made, bytes)
    return made


def template_data(plan: BoardPlan, paper: str, stamp: str = "") -> dict[str, Any]:
    """All that the template shows, in mm from the upper left of each sheet's window."""
    layout = plan.layout
    width, height = board_size(layout)
    tiles = tiling(width, height, paper)
    elements = list(_elements(layout))
    sheets = [
        _sheet(plan, tiles, row, column, elements)
        for row in range(tiles.rows)
        for column in range(tiles.columns)
    ]
    return {
        "width": tiles.paper[0],
        "height": tiles.paper[1],
        "margin": MARGIN,
        "sheets": [{**sheet, "stamp": stamped(stamp)} for sheet in sheets],
    }


def _elements(layout: Layout) -> Iterator[Element]:
    """Everything to be drawn, x from the left and y down from the board's upper edge, in mm."""
    width, height = board_size(layout)

    def down(points: Any) -> list[list[float]]:
        return [[round(x, 4), round(height - y, 4)] for x, y in points]

    yield ["poly", down([(0, 0), (width, 0), (width, height), (0, height)]), "edge"]
    for shape in _bodies(layout):
        for one in getattr(shape, "geoms", [shape]):
            yield ["poly", down(one.exterior.coords[:-1]), "part"]
    for piece in layout.pieces:
        if piece.role == REST:
            outline: Any = piece.shape
            yield ["poly", down(outline.exterior.coords[:-1]), "handle"]
    for tube in layout.tubes:
        points = down([(mm(x), mm(y)) for x, y in tube.points])
        for (ax, ay), (bx, by) in pairwise(points):
            yield ["line", ax, ay, bx, by, "tube"]
    for lead in layout.leads:
        (ax, ay), (bx, by) = down([lead.start, lead.end])
        yield ["line", ax, ay, min(max(bx, 0.0), width), min(max(by, 0.0), height), "tube"]
    for placed in layout.placed:
        for x, y, diameter in holes_of(placed):
            (cx, cy) = down([(x, y)])[0]
            yield ["circle", cx, cy, diameter / 2, "hole"]
            yield ["line", cx - 5, cy, cx + 5, cy, "cross"]
            yield ["line", cx, cy - 5, cx, cy + 5, "cross"]
            yield ["text", round(cx + 4.5, 3), round(cy - 3.5, 3), 2.2, f"{diameter:g}"]
        if placed.zone:
            zone = layout.needs.zone(placed.zone)
            yield ["text", mm(placed.x), round(height - mm(placed.y), 3), 4.2, visible(zone.code)]
    for device in layout.devices:
        yield ["text", mm(device.x), round(height - mm(device.y) - 12, 3), 3.6,
               visible(device.owner)]  # fmt: skip


def _bodies(layout: Layout) -> list[Any]:
    """The outline of each part, without the tubes."""
    import shapely

    tubes = {t.owner for t in layout.tubes}
    shapes: dict[str, list[Any]] = {}
    for piece in layout.pieces:
        if piece.role == BODY and piece.owner not in tubes:
            shapes.setdefault(piece.owner, []).append(piece.shape)
    return [shapely.union_all(own) for own in shapes.values()]


def _sheet(
    plan: BoardPlan, tiles: Tiling, row: int, column: int, elements: list[Element]
) -> dict[str, Any]:
    x0, y0 = tiles.corner(row, column)
    width, height = tiles.window
    shown = [moved for e in elements if (moved := _moved(e, -x0, -y0, width, height))]
    shown += _seams(tiles, row, column)
    name = sheet_name(row, column)
    system = plan.build.van.units
    diameters = sorted({h[2] for p in plan.layout.placed for h in p.part.holes})
    holes = ", ".join(drill_size(d / 1000, system) for d in diameters)
    size = " × ".join(show(v / 1000, "length", system) for v in board_size(plan.layout))
    about = (
        f"of {tiles.rows} × {tiles.columns} sheets, board {size} from the front. "
        f"Print at 100 %. Drill {holes} at the crosses."
    )
    return {
        "title": visible(f"{plan.build.van.name}: template {name}"),
        "about": about,
        "left": MARGIN,
        "top": MARGIN + HEAD,
        "width": width,
        "height": height,
        "elements": shown,
        "frame": _bars(tiles),
    }


def sheet_name(row: int, column: int) -> str:
    """A1 is the upper left sheet, B1 the one below it."""
    return f"{chr(ord('A') + row)}{column + 1}"


def _moved(e: Element, dx: float, dy: float, width: float, height: float) -> Element | None:
    """An element moved into a sheet's window, or None if it lies outside."""
    if e[0] == "poly":
        points = [[round(x + dx, 4), round(y + dy, 4)] for x, y in e[1]]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        moved: Element = ["poly", points, e[2]]
    elif e[0] == "line":
        xs, ys = [e[1] + dx, e[3] + dx], [e[2] + dy, e[4] + dy]
        moved = ["line", *(round(v, 4) for v in (xs[0], ys[0], xs[1], ys[1])), e[5]]
    else:
        x, y = round(e[1] + dx, 4), round(e[2] + dy, 4)
        room = 12.0 if e[0] == "text" else e[3]
        xs, ys = [x - room, x + room], [y - room, y + room]
        moved = [e[0], x, y, *e[3:]]
    outside = max(xs) < 0 or min(xs) > width or max(ys) < 0 or min(ys) > height
    return None if outside else moved


def _seams(tiles: Tiling, row: int, column: int) -> list[Element]:
    """The middle of each overlap, with marks that lie on each other when the sheets do."""
    width, height = tiles.window
    half = OVERLAP / 2
    found: list[Element] = []
    for other, x in ((column - 1, half), (column + 1, width - half)):
        if 0 <= other < tiles.columns:
            found.append(["line", x, 0.0, x, height, "seam"])
            for y in _steps(height):
                found += _cross(x, y)
            turn = 6.0 if other < column else -6.0
            found.append(["text", x + turn, 20.0, 3.0, sheet_name(row, other)])
    for other, y in ((row - 1, half), (row + 1, height - half)):
        if 0 <= other < tiles.rows:
            found.append(["line", 0.0, y, width, y, "seam"])
            for x in _steps(width):
                found += _cross(x, y)
            turn = 4.0 if other < row else -4.0
            found.append(["text", 20.0, y + turn, 3.0, sheet_name(other, column)])
    return found


def _steps(length: float) -> list[float]:
    """Places of the marks along a seam: symmetric, so that both sheets have the same."""
    count = max(2, round(length / MARKS))
    return [round(length * (k + 0.5) / count, 3) for k in range(count)]


def _cross(x: float, y: float) -> list[Element]:
    return [
        ["line", x - 4, y, x + 4, y, "mark"],
        ["line", x, y - 4, x, y + 4, "mark"],
        ["circle", x, y, 2.0, "mark"],
    ]


def _bars(tiles: Tiling) -> list[Element]:
    """A bar of 100 mm and one of 4 in at the foot of the sheet, in sheet coordinates."""
    down = tiles.paper[1] - MARGIN - FOOT + 8.0
    left = MARGIN
    found: list[Element] = []
    for length, step, y, words in (
        (100.0, 10.0, down, "100 mm"),
        (101.6, 6.35, down + 11.0, "4 in"),
    ):
        found.append(["line", left, y, left + length, y, "bar"])
        for k in range(round(length / step) + 1):
            x = round(left + k * step, 4)
            tall = 3.0 if k % (5 if step == 10.0 else 4) == 0 else 1.8
            found.append(["line", x, y - tall, x, y, "bar"])
        found.append(["text", left + length + 12.0, y - 1.0, 3.4, words])
    found.append(["text", left + 160.0, down + 4.0, 3.0, "Both bars must be right"])
    found.append(["text", left + 160.0, down + 8.5, 3.0, "by a rule before you drill."])
    return found
