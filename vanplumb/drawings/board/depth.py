"""The board in depth: every part between its two heights over the board, handles that turn.

The pieces are those that the layout is checked with: what is seen here is what may collide.
"""

from __future__ import annotations

from math import hypot
from typing import Any

from ...board.parts.shapes import BODY, LEAD, REST, Piece
from ...board.place.layout import Layout
from ...board.place.rows import Placed
from ...board.place.state import mm
from ..style import for_svg
from .front import ALARM, BOARD_INK, BOARD_WOOD, COLOURS, board_size, side_of

HANDLE = ("#ffe680", "#c9a400", "#6b5600")
"""Top, side and edge of a handle."""
TURN = 0.9
"""s in which a handle turns."""
NEAREST = 0.4
"""mm to which an outline is simplified for the drawing."""


def board_depth(layout: Layout) -> tuple[str, dict[str, Any]]:
    """An empty drawing of the board's size, and the scene with its solids, in mm.

    ``solids``: ``points`` of an outline, ``low`` and ``high`` over the board, colours of its
    ``top``, ``side`` and ``edge``; a handle has its ``pivot`` and its ``turn`` at each time.
    """
    width, height = board_size(layout)
    bad = {owner for problem in layout.problems for owner in problem.where}
    solids = [_slab(width, height)]
    handles: list[tuple[Placed, list[Piece]]] = []
    by_owner: dict[str, list[Piece]] = {}
    for piece in layout.pieces:
        by_owner.setdefault(piece.owner, []).append(piece)
        if piece.role in (BODY, LEAD):
            line, fill = COLOURS[side_of(layout, piece.owner)]
            edge = ALARM if piece.owner in bad else line
            solids += _solids(piece, (fill, line, edge), (width, height))
    for placed in layout.placed:
        rests = [p for p in by_owner.get(placed.owner, []) if p.role == REST]
        if placed.part.handle is None or not rests:
            continue
        if placed.part.handle.kind == "knob":
            for piece in rests:
                solids += _solids(piece, HANDLE, (width, height))
        else:
            handles.append((placed, rests))
    times = [TURN * k for k in range(2 * len(handles) + 2)]
    for n, (placed, rests) in enumerate(handles):
        shut = [0.0 if not n + 1 <= k <= len(handles) + n else 1.0 for k in range(len(times))]
        pivot = (mm(placed.x), mm(placed.y))
        edge = ALARM if placed.owner in bad else HANDLE[2]
        for opened, closed in zip(rests[::2], rests[1::2], strict=True):
            way = _way(opened, closed, pivot)
            for one in _solids(opened, (*HANDLE[:2], edge), (width, height)):
                turns = [way * part for part in shut]
                solids.append({**one, "pivot": [round(c, 1) for c in pivot], "turn": turns})
    tall = max(float(s["high"]) for s in solids)
    high = hypot(height, tall) + 4.0
    count = len(handles)
    told = [f"{min(k, 2 * count - k) if k else 0} of {count} shut" for k in range(len(times) - 1)]
    title = for_svg("Board in depth: " + ", ".join(m.name for m in layout.needs.manifolds))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width + 8:.0f} {high:.0f}" '
        f'role="img" aria-label="{title}"></svg>'
    )
    scene: dict[str, Any] = {"solids": solids, "dash": "Heights over the board are to scale"}
    if count:
        scene["play"] = {
            "name": f"{count} handles",
            "times": times,
            "clock": [*told, told[0]],
            "still": 0.0,
        }
        scene["paces"] = [[1, "a handle in 1 s"], [0.25, "4 times slower"]]
    return svg, scene


def _slab(width: float, height: float) -> dict[str, Any]:
    """The board itself."""
    corners = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]
    wood = {"top": BOARD_WOOD, "side": "#cdbd98", "edge": BOARD_INK}
    return {"points": corners, "low": -9.0, "high": 0.0, **wood}


def _solids(
    piece: Piece, colours: tuple[str, str, str], board: tuple[float, float]
) -> list[dict[str, Any]]:
    """The outline of a piece, within the board, as one solid or several."""
    import shapely

    frame = shapely.box(0.0, 0.0, *board)
    shape = piece.shape.intersection(frame) if piece.role == LEAD else piece.shape
    found = []
    for part in getattr(shape, "geoms", [shape]):
        if part.is_empty or part.geom_type != "Polygon":
            continue
        corners = part.simplify(NEAREST).exterior.coords[:-1]
        found.append(
            {
                "points": [[round(x, 1), round(y, 1)] for x, y in corners],
                "low": round(float(piece.low), 1),
                "high": round(float(piece.high), 1),
                "top": colours[0],
                "side": colours[1],
                "edge": colours[2],
            }
        )
    return found


def _way(opened: Piece, shut: Piece, pivot: tuple[float, float]) -> float:
    """Degrees from open to shut: a quarter turn, this way or that."""
    from shapely.affinity import rotate

    def apart(angle: float) -> float:
        turned = rotate(opened.shape, angle, origin=pivot)
        return float(turned.symmetric_difference(shut.shape).area)

    return min((90.0, -90.0), key=apart)
