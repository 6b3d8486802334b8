"""What is in the way of what, and how far apart things must be.

Two handles turn independently, so some pair of their positions meets exactly when the two
swept areas overlap: a point in both is reached by each.  One test of the two areas is
therefore a test of every position of one against every position of the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from ..parts.shapes import BODY, FINGER, KEPT, LEAD, REST, ROLES, SWEEP, TOOL, Piece, place

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MOST_STEPS = 4000
"""Steps in which two outlines are brought together; then the place is taken, as too near."""
STEP = 0.01
"""mm to which the least distance between two parts is found; never too small."""
ABOVE = 1.0
"""mm of height that passes as clear above or below."""
TOUCH = 0.02
"""mm² of shared area that passes as touching."""


@dataclass(frozen=True)
class Room:
    """Least distances on a board, mm."""

    part: float
    handle: float

    def need(self, one: int, other: int) -> float:
        """Least distance between two roles; below zero if they may share a place."""
        pair = {one, other}
        if pair <= {BODY, LEAD} or (KEPT in pair and pair & {BODY, LEAD, SWEEP}):
            return self.part
        if SWEEP in pair and pair <= {SWEEP, BODY, LEAD}:
            return self.handle
        if FINGER in pair and pair & {BODY, LEAD, REST}:
            return 0.0
        if TOOL in pair and pair & {BODY, LEAD}:
            return 0.0
        return -1.0

    @property
    def table(self) -> np.ndarray:
        """``need`` of every two roles."""
        count = len(ROLES)
        return np.array([[self.need(i, j) for j in range(count)] for i in range(count)])


@dataclass(frozen=True)
class Contact:
    """Two things too near each other: ``have`` mm apart, ``move`` mm more would clear them."""

    one: str
    other: str
    roles: tuple[int, int]
    have: float
    need: float
    move: float

    @property
    def said(self) -> str:
        """What is in the way, in words."""
        one, other = _named(self.one, self.roles[0]), _named(self.other, self.roles[1])
        if FINGER in self.roles:
            return f"no room for fingers: {one} is blocked by {other}, {self.move:.1f} mm short"
        if self.have > 0:
            return f"{one} is {self.have:.1f} mm from {other}, needs {self.need:.1f} mm"
        return f"{one} meets {other}, {self.move:.1f} mm too near"


def _named(owner: str, role: int) -> str:
    extra = {SWEEP: " handle", REST: " handle", FINGER: " handle", LEAD: " tube"}
    return f"{owner}{extra.get(role, '')}"


Joined = frozenset[frozenset[str]]


def free_pair(a: Piece, b: Piece, joined: Joined) -> bool:
    """Whether two pieces may touch: one part's own, or parts that are joined.

    A bent handle may still meet the tube of its own valve, so that pair is looked at.
    """
    if a.owner == b.owner:
        return True
    if frozenset((a.owner, b.owner)) not in joined:
        return False
    return not ({a.role, b.role} & {SWEEP})


def contacts(
    pieces: Sequence[Piece], joined: Joined, room: Room, only: frozenset[str] | None = None
) -> list[Contact]:
    """Every two pieces that are nearer than they may be; each two owners and roles once.

    With ``only``, just those in which one of these owners has a part.
    """
    import shapely

    if len(pieces) < 2:
        return []
    shapes = np.array([p.shape for p in pieces], dtype=object)
    bounds = shapely.bounds(shapes)
    low = np.array([p.low for p in pieces])
    high = np.array([p.high for p in pieces])
    role = np.array([p.role for p in pieces])
    need = room.table[role[:, None], role[None, :]]
    reach = np.maximum(need, 0.0)
    near = (
        (need >= 0)
        & (low[:, None] < high[None, :] + _above(need))
        & (low[None, :] < high[:, None] + _above(need))
        & (bounds[:, None, 0] <= bounds[None, :, 2] + reach)
        & (bounds[None, :, 0] <= bounds[:, None, 2] + reach)
        & (bounds[:, None, 1] <= bounds[None, :, 3] + reach)
        & (bounds[None, :, 1] <= bounds[:, None, 3] + reach)
    )
    worst: dict[tuple[str, str, int, int], Contact] = {}
    pairs = [
        (i, j)
        for i, j in np.argwhere(np.triu(near, 1)).tolist()
        if not free_pair(pieces[i], pieces[j], joined)
        and (only is None or pieces[i].owner in only or pieces[j].owner in only)
    ]
    if not pairs:
        return []
    index = np.array(pairs)
    gaps = shapely.distance(shapes[index[:, 0]], shapes[index[:, 1]])
    for (i, j), have in zip(pairs, gaps.tolist(), strict=True):
        a, b, least = pieces[i], pieces[j], float(need[i, j])
        if have >= least - 1e-6 and (have > 0 or least > 0):
            continue
        if least == 0 and shapely.area(shapely.intersection(a.shape, b.shape)) <= TOUCH:
            continue
        if (b.role == SWEEP and a.role != SWEEP) or b.role == FINGER:
            a, b = b, a
        key = (a.owner, b.owner, a.role, b.role)
        move = way_out(a.shape, b.shape, least)
        if key not in worst or worst[key].move < move:
            worst[key] = Contact(a.owner, b.owner, (a.role, b.role), have, least, move)
    return sorted(worst.values(), key=lambda c: -c.move)


def _above(need: np.ndarray) -> np.ndarray:
    """Height to keep clear: fingers and touching parts need none beyond their own."""
    return np.where(need > 0, ABOVE, 0.0)


def way_out(a: BaseGeometry, b: BaseGeometry, need: float) -> float:
    """The shortest move along or across the board that takes ``b`` clear of ``a``, mm."""
    return min(
        clear_at(a, b, x, y, need) for x, y in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
    )


def clear_at(a: BaseGeometry, b: BaseGeometry, x: float, y: float, need: float) -> float:
    """How far ``b`` must go in direction ``x, y`` so that from there on it stays clear of ``a``.

    From far away ``b`` comes nearer by what the distance still allows, so it can't pass
    through anything; it stops within ``STEP`` of the need, or is past: then -inf.
    """
    ax0, ay0, ax1, ay1 = a.bounds
    bx0, by0, bx1, by1 = b.bounds
    if x:
        if max(ay0 - by1, by0 - ay1) >= need:
            return -inf
        first, last = (ax1 - bx0, ax0 - bx1) if x > 0 else (bx1 - ax0, bx0 - ax1)
    else:
        if max(ax0 - bx1, bx0 - ax1) >= need:
            return -inf
        first, last = (ay1 - by0, ay0 - by1) if y > 0 else (by1 - ay0, by0 - ay1)
    at = first + need
    for _ in range(MOST_STEPS):
        spare = a.distance(place(b, x * at, y * at)) - need
        if (spare <= 0 and need > 0) or spare <= STEP / 2:
            return at + STEP / 2
        at -= spare
        if at < last - need:
            return -inf
    return at


def apart(
    one: Sequence[Piece],
    other: Sequence[Piece],
    joined: Joined,
    room: Room,
    x: float = 1.0,
    y: float = 0.0,
) -> float:
    """How far ``other`` must go in direction ``x, y`` to be and stay clear of ``one``, mm."""
    pairs = []
    for a, ahead in ((a, _ahead(a, x, y)) for a in one):
        for b in other:
            need = room.need(a.role, b.role)
            if need < 0:
                continue
            above = ABOVE if need > 0 else 0.0
            if a.low >= b.high + above or b.low >= a.high + above:
                continue
            if free_pair(a, b, joined):
                continue
            pairs.append((ahead + _ahead(b, -x, -y) + need, need, a.shape, b.shape))
    pairs.sort(key=lambda pair: -pair[0])
    best = -inf
    for most, need, shape, shape_other in pairs:
        if most + STEP <= best:
            break
        best = max(best, clear_at(shape, shape_other, x, y, need))
    return best


def _ahead(piece: Piece, x: float, y: float) -> float:
    """How far a piece reaches in a direction along or across the board."""
    x0, y0, x1, y1 = piece.shape.bounds
    return max(x0 * x, x1 * x) + max(y0 * y, y1 * y)
