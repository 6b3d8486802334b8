"""Where clips hold the tubes of a board."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..parts.needs import Needs
from .rows import DIRECTIONS, Open, Placed, RowParts, Tube
from .state import mm, ticks

if TYPE_CHECKING:
    from ..parts.parts import Part
    from .links import Link

SLACK = 1.0
"""mm that a clip has to spare between two rings."""


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
    able = [t for t in tubes if takes_clip(needs, t)]
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
        clips.append(_on_tube(needs, tube, 0.5, f"clip on {tube.owner}"))
    return clips


def takes_clip(needs: Needs, tube: Tube) -> bool:
    """Whether enough of a tube is seen between its joints for a clip that presses on no ring."""
    return needs.clip(tube.tube) is not None and not tube.bends and missing(needs, tube) <= 0


def missing(needs: Needs, tube: Tube) -> float:
    """mm that a tube shows too little for a clip, where the table has one; 0 if it takes one."""
    part = needs.clip(tube.tube)
    return max(0.0, clip_width(part) + SLACK - tube.bare) if part is not None else 0.0


def clip_width(part: Part) -> float:
    """How much of a tube a clip takes, mm."""
    return 2 * part.body[0].points[1][0]


def stub_clips(needs: Needs, row: RowParts) -> list[Placed]:
    """On each stub between header and valve: turning the handle bends the valve about its stub."""
    return [
        _on_tube(needs, tube, 0.5, f"{tube.owner} clip")
        for tube in row.tubes
        if tube.kind in ("stub", "feed") and takes_clip(needs, tube)
    ]


def link_clips(needs: Needs, link: Link) -> list[Placed]:
    """Where a clip may hold the tube from a valve to a device: beside the valve, then farther on.

    The first that is clear of everything is taken.
    """
    tube = link.tubes[0]
    if not takes_clip(needs, tube):
        return []
    part = needs.clip(tube.tube)
    assert part is not None
    near = tube.insertions[0] + needs.clip_room + clip_width(part) / 2
    whole = mm(tube.cut)
    shares = [near / whole, 0.5] if near < whole / 2 else [0.5]
    return [_on_tube(needs, tube, share, f"clip on {tube.owner}") for share in shares]


def _on_tube(needs: Needs, tube: Tube, share: float, owner: str) -> Placed:
    part = needs.clip(tube.tube)
    assert part is not None
    (x0, y0), (x1, y1) = tube.points[0], tube.points[-1]
    x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
    return Placed(owner, part, round(x), round(y), 0 if x1 != x0 else 90)


def _apart(one: Tube, other: Tube) -> float:
    (ax, ay), (bx, by) = _middle(one), _middle(other)
    return abs(ax - bx) + abs(ay - by)


def _middle(tube: Tube) -> tuple[float, float]:
    (x0, y0), (x1, y1) = tube.points[0], tube.points[-1]
    return (mm(x0) + mm(x1)) / 2, (mm(y0) + mm(y1)) / 2
