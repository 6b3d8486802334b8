"""In which order the joints of a board are made, and where the tool must get in."""

from __future__ import annotations

from dataclasses import dataclass

from ...words.brief import brief
from ..parts.shapes import BODY, LEAD, TOOL, Piece
from .collide import past_boxes, way_out
from .placed_parts import PlacedParts, strip
from .rows import DIRECTIONS, Open
from .state import mm

ROOMY = 1e-6


@brief
@dataclass(frozen=True)
class InPlace:
    """The order of the joints that are made on the mounted board.

    ``order`` names the tubes that leave, first made first; ``blocked`` holds joints that
    can't be made: (tube, what is in the way, mm short).
    """

    order: tuple[str, ...]
    blocked: tuple[tuple[str, str, float], ...]


def tool_piece(layout: PlacedParts, one: Open) -> Piece:
    """The room of the expansion tool at a port: in line with it, beyond the fitting's end."""
    needs = layout.needs
    dx, dy = DIRECTIONS[one.heading]
    x, y, near, far = mm(one.x), mm(one.y), one.insertion + 1, needs.tool_length
    half = needs.tool_width / 2
    shape = strip(x + dx * near, y + dy * near, x + dx * far, y + dy * far, half)
    low, high = needs.tube_height - half, needs.tube_height + half
    return Piece(shape, low, high, TOOL, f"{one.what} run")


def order_in_place(layout: PlacedParts) -> InPlace:
    """An order in which every leaving tube can be joined, or what is in the way.

    The board with its fittings and valves is made up on the bench; the tubes that leave it
    are joined once it hangs.  A joint needs room for the tool beside all parts, and beside
    the tubes that are joined before it: so whatever crosses its room is joined later.
    The clip goes on the tube after its joint is made.
    """
    leads = layout.leads
    parts = [p for p in layout.pieces if p.role == BODY and " clip" not in p.owner]
    tools = {lead.owner: tool_piece(layout, lead.open) for lead in leads}
    tubes = {p.owner: p for p in layout.pieces if p.role == LEAD}
    blocked = []
    for lead in leads:
        tool = tools[lead.owner]
        worst = ("", 0.0)
        for part in parts:
            if part.owner == lead.open.owner or not _cross(tool, part):
                continue
            if past_boxes(part.shape, tool.shape, 0.0) <= worst[1]:
                continue
            short = way_out(part.shape, tool.shape, 0.0)
            if short > worst[1]:
                worst = (part.owner, short)
        if worst[1] > ROOMY:
            blocked.append((lead.owner, *worst))
    after = {
        name: {other for other, tube in tubes.items() if other != name and _cross(tool, tube)}
        for name, tool in tools.items()
    }
    return InPlace(*_sorted(after, blocked))


def _cross(tool: Piece, part: Piece) -> bool:
    if tool.low >= part.high or part.low >= tool.high:
        return False
    if not tool.shape.intersects(part.shape):
        return False
    return bool(tool.shape.intersection(part.shape).area > 0.02)


def _sorted(
    after: dict[str, set[str]], blocked: list[tuple[str, str, float]]
) -> tuple[tuple[str, ...], tuple[tuple[str, str, float], ...]]:
    """``after[x]`` are the tubes that must come later than x.  A ring of them is blocked."""
    left = dict(after)
    order: list[str] = []
    while left:
        ready = [n for n in left if not any(n in later for m, later in left.items() if m != n)]
        if not ready:
            name = min(left)
            rival = min(m for m, later in left.items() if name in later)
            blocked.append((name, rival, 0.0))
            ready = [name]
        order.append(ready[0])
        del left[ready[0]]
    return tuple(order), tuple(blocked)


def on_the_bench(layout: PlacedParts) -> list[tuple[str, str]]:
    """Joints made on the bench, in order: (tube, what it joins).

    Each header from its far end to its feed, each zone's stub and valve with its fitting,
    so that the tube in hand always has a free end; then what links rows and devices.
    """
    found = []
    for row in layout.rows.values():
        tubes = [t for t in row.tubes if t.kind != "link"]
        for tube in reversed(tubes):
            found.append((tube.owner, f"{tube.one[0]} and {tube.other[0]}"))
    for link in layout.links:
        for tube in link.tubes:
            found.append((tube.owner, f"{tube.one[0]} and {tube.other[0]}"))
    return found
