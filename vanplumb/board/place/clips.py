"""Where clips hold the tubes of a board."""

from __future__ import annotations

from ..parts.needs import Needs
from .rows import DIRECTIONS, Open, Placed, RowParts, Tube
from .state import mm, ticks


def clip_at(needs: Needs, one: Open) -> Placed | None:
    """The clip on a leaving tube, beside its ring (or past a handle bent back over it)."""
    part = needs.clip(one.tube)
    if part is None:
        return None
    half = part.body[0].points[1][0]
    away = ticks(one.insertion + one.keep + needs.clip_room + half)
    dx, dy = DIRECTIONS[one.heading]
    return Placed(f"{one.what} clip", part, one.x + dx * away, one.y + dy * away, one.heading)


def header_clips(needs: Needs, row: RowParts) -> list[Placed]:
    """On the last tube of a header, and before it so that no two are farther than the support.

    A tube that shows too little between its joints takes no clip.
    """
    tubes = [t for t in row.tubes if t.kind in ("header", "fold")]
    part = needs.clip(tubes[0].tube) if tubes else None
    if part is None:
        return []
    width = 2 * part.body[0].points[1][0]
    able = [t for t in tubes if t.bare >= width + 1]
    # A little less than the support, since the feed's own clip stands before the first tube.
    reach = 0.85e3 * float(needs.catalogue.tubes[tubes[0].tube]["support"] or 1.0)
    chosen: list[Tube] = able[-1:]
    before = chosen[0] if chosen else None
    for tube in reversed(able[:-1]):
        if _apart(chosen[-1], tube) > reach and before is not None:
            chosen.append(tube if before is chosen[-1] else before)
        before = tube
    clips = []
    for tube in chosen:
        (x0, _), (x1, _) = tube.points
        x, y = _middle(tube)
        turn = 0 if x1 != x0 else 90
        clips.append(Placed(f"clip on {tube.owner}", part, ticks(x), ticks(y), turn))
    return clips


def _apart(one: Tube, other: Tube) -> float:
    (ax, ay), (bx, by) = _middle(one), _middle(other)
    return abs(ax - bx) + abs(ay - by)


def _middle(tube: Tube) -> tuple[float, float]:
    (x0, y0), (x1, y1) = tube.points[0], tube.points[-1]
    return (mm(x0) + mm(x1)) / 2, (mm(y0) + mm(y1)) / 2
