"""What is in the way of what, and how far apart things must be.

Two handles turn independently, so some pair of their positions meets exactly when the two
swept areas overlap: a point in both is reached by each.  One test of the two areas is
therefore a test of every position of one against every position of the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..parts.shapes import BODY, FINGER, KEPT, LEAD, REST, ROLES, SWEEP, TOOL, Piece

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

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

    @cached_property
    def table(self) -> Array:
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
    return contacts_within(inf, pieces, joined, room, only) or []


def contacts_within(
    most: float,
    pieces: Sequence[Piece],
    joined: Joined,
    room: Room,
    only: frozenset[str] | None = None,
) -> list[Contact] | None:
    """All ``contacts``; None as soon as their number and their moves, mm, add up to more."""
    worst: dict[tuple[str, str, int, int], Contact] = {}
    near = list(_too_near(pieces, joined, room, only))
    # no move takes two things farther apart than it is long: so much it is at least
    moves: dict[tuple[str, str, int, int], float] = {}
    for a, b, have, least in near:
        key = (a.owner, b.owner, a.role, b.role)
        moves[key] = max(moves.get(key, 0.0), least - have)
    total = sum(moves.values()) + len(moves)
    if total > most:
        return None
    for a, b, have, least in near:
        key = (a.owner, b.owner, a.role, b.role)
        known = worst.get(key)
        if known is not None and past_boxes(a.shape, b.shape, least) <= known.move:
            continue
        move = way_out(a.shape, b.shape, least)
        if known is None or known.move < move:
            worst[key] = Contact(a.owner, b.owner, (a.role, b.role), have, least, move)
            total += max(0.0, move - moves[key])
            moves[key] = max(moves[key], move)
            if total > most:
                return None
    return sorted(worst.values(), key=lambda c: -c.move)


def touching(
    pieces: Sequence[Piece], joined: Joined, room: Room, only: frozenset[str] | None = None
) -> bool:
    """Whether there are any ``contacts``."""
    return any(True for _ in _too_near(pieces, joined, room, only))


def _too_near(
    pieces: Sequence[Piece], joined: Joined, room: Room, only: frozenset[str] | None
) -> Iterator[tuple[Piece, Piece, float, float]]:
    """Pairs of pieces that are nearer than they may be, how near, and how far they should be."""
    import shapely

    if len(pieces) < 2:
        return
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
    pairs = [
        (i, j)
        for i, j in np.argwhere(np.triu(near, 1)).tolist()
        if not free_pair(pieces[i], pieces[j], joined)
        and (only is None or pieces[i].owner in only or pieces[j].owner in only)
    ]
    if not pairs:
        return
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
        yield a, b, have, least


def _above(need: Array) -> Array:
    """Height to keep clear: fingers and touching parts need none beyond their own."""
    return np.where(need > 0, ABOVE, 0.0)


ACROSS = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
"""Along and across the board, either way."""


def way_out(a: BaseGeometry, b: BaseGeometry, need: float) -> float:
    """The shortest move along or across the board that takes ``b`` clear of ``a``, mm."""
    shortest = inf
    for x, y in sorted(ACROSS, key=lambda way: _past_box(a, b, way[0], way[1], need)):
        shortest = min(shortest, clear_at(a, b, x, y, need, shortest))
    return shortest


def past_boxes(a: BaseGeometry, b: BaseGeometry, need: float) -> float:
    """No ``way_out`` is longer than this: the shortest move that parts what the two fill, mm."""
    return min(_past_box(a, b, x, y, need) for x, y in ACROSS) + STEP


def _past_box(a: BaseGeometry, b: BaseGeometry, x: float, y: float, need: float) -> float:
    """How far ``b`` must go in a direction to leave the rectangle around ``a`` behind it, mm."""
    near, far = a.bounds, b.bounds
    at = 0 if x else 1
    gap = near[at + 2] - far[at] if x + y > 0 else far[at + 2] - near[at]
    return float(gap + need)


def clear_at(
    a: BaseGeometry, b: BaseGeometry, x: float, y: float, need: float, enough: float = inf
) -> float:
    """How far ``b`` must go in direction ``x, y`` so that from there on it stays clear of ``a``.

    As ``b`` comes in from far away, the first that gets within ``need`` is a corner and a
    corner or a corner and an edge, on the sides that the two turn to each other; each such pair
    says how far out it meets, and the farthest counts.  No more than ``STEP`` too far, never too
    near; -inf if they pass each other.  Where it is ``enough`` or more, it may be told too short,
    but not as less than that.
    """
    across = 1 if x else 0
    near, far = a.bounds, b.bounds
    if max(near[across] - far[across + 2], far[across] - near[across + 2]) >= need:
        return -inf
    # ``behind`` is turned the other way about: its axes are those of ``ahead`` reversed.
    ahead, behind = _facing(a, x, y), _facing(b, -x, -y)
    some = _farthest(ahead.every(COARSE), behind.every(COARSE), need)
    if some + STEP / 2 >= enough:
        return some + STEP / 2
    return _farthest(*_near_contact(ahead, behind, need, some), need) + STEP / 2


COARSE = 8
"""Of so many edges and corners one says at first where about two outlines meet."""
SIDEWAYS = 1e-6
"""mm beside each other at which two outlines still meet rather than pass."""


class _Facing(NamedTuple):
    """The edges of an outline that look in one direction, in axes along it and to its left.

    ``start`` and ``end`` (edges, 2) with ``end`` to the left, ``normal`` outwards, ``ends`` the
    corners (corners, 2).
    """

    start: Array
    end: Array
    normal: Array
    ends: Array

    def every(self, step: int) -> _Facing:
        """One of so many edges and corners."""
        return _Facing(*(each[::step] for each in self))

    def within(self, low: float, high: float, least: float) -> _Facing:
        """What is between two places across the axis, and at least so far along it."""
        start, end, ends = self.start, self.end, self.ends
        edge = (end[:, 1] >= low) & (start[:, 1] <= high)
        edge &= np.maximum(start[:, 0], end[:, 0]) >= least
        corner = (ends[:, 1] >= low) & (ends[:, 1] <= high) & (ends[:, 0] >= least)
        return _Facing(start[edge], end[edge], self.normal[edge], ends[corner])


@lru_cache(maxsize=4096)
def _facing(shape: BaseGeometry, x: float, y: float) -> _Facing:
    import shapely

    starts, ends, corners = [], [], []
    for part in shapely.get_parts(shape):
        ring = shapely.get_coordinates(part.exterior)
        u, v = ring @ (x, y), ring @ (-y, x)
        if np.sum(u[:-1] * v[1:] - u[1:] * v[:-1]) < 0:
            u, v = u[::-1], v[::-1]
        outline = np.stack([u, v], axis=1)
        look = v[1:] > v[:-1]
        starts.append(outline[:-1][look])
        ends.append(outline[1:][look])
        corners.append(outline[:-1][look | np.roll(look, 1)])
    start, end = np.concatenate(starts), np.concatenate(ends)
    along = end - start
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
    return _Facing(start, end, normal, np.concatenate(corners))


def _near_contact(
    ahead: _Facing, behind: _Facing, need: float, some: float
) -> tuple[_Facing, _Facing]:
    """What of two outlines may meet as far out as ``some`` or farther, and beside each other."""
    beside = need + SIDEWAYS
    least = some - need - SIDEWAYS
    a, b = ahead.ends, behind.ends
    return (
        ahead.within(-b[:, 1].max() - beside, -b[:, 1].min() + beside, least - b[:, 0].max()),
        behind.within(-a[:, 1].max() - beside, -a[:, 1].min() + beside, least - a[:, 0].max()),
    )


def _farthest(ahead: _Facing, behind: _Facing, need: float) -> float:
    """How far out the first of the corners and edges meet; -inf if none does."""
    return max(
        _corner_on_edge(ahead, -behind.ends, need),
        _corner_on_edge(behind, -ahead.ends, need),
        _corner_on_corner(ahead.ends, -behind.ends, need),
    )


def _corner_on_edge(edges: _Facing, corners: Array, need: float) -> float:
    """How far corners must go along the edges' axis to be ``need`` from them; -inf if none meets.

    A corner is nearest to a point within an edge if it stands ``need`` off along the normal.
    """
    foot = corners[:, None, 1] - need * edges.normal[None, :, 1]
    meet = (foot >= edges.start[:, 1] - SIDEWAYS) & (foot <= edges.end[:, 1] + SIDEWAYS)
    i, j = np.nonzero(meet)
    if not i.size:
        return -inf
    start, end = edges.start[j], edges.end[j]
    share = (foot[i, j] - start[:, 1]) / (end[:, 1] - start[:, 1])
    on_edge = start[:, 0] + np.clip(share, 0.0, 1.0) * (end[:, 0] - start[:, 0])
    return float(np.max(on_edge + need * edges.normal[j, 0] - corners[i, 0]))


def _corner_on_corner(fixed: Array, coming: Array, need: float) -> float:
    """How far corners must go to be ``need`` from any of the fixed ones; -inf if none meets."""
    beside = np.abs(fixed[:, None, 1] - coming[None, :, 1])
    i, j = np.nonzero(beside <= need + SIDEWAYS)
    if not i.size:
        return -inf
    out = np.sqrt(np.maximum(need**2 - beside[i, j] ** 2, 0.0))
    return float(np.max(fixed[i, 0] - coming[j, 0] + out))


def apart(
    one: Sequence[Piece],
    other: Sequence[Piece],
    joined: Joined,
    room: Room,
    x: float = 1.0,
    y: float = 0.0,
) -> float:
    """How far ``other`` must go in direction ``x, y`` to be and stay clear of ``one``, mm."""
    if not one or not other:
        return -inf
    a, b = _Extents.of(one), _Extents.of(other)
    need = room.table[a.role[:, None], b.role[None, :]]
    above = _above(need)
    across = 1 if x else 0
    meet = (
        (need >= 0)
        & (a.low[:, None] < b.high[None, :] + above)
        & (b.low[None, :] < a.high[:, None] + above)
        & (a.box[:, None, across] - b.box[None, :, across + 2] < need)
        & (b.box[None, :, across] - a.box[:, None, across + 2] < need)
    )
    i, j = np.nonzero(meet)
    most = (a.ahead(x, y)[i] + b.ahead(-x, -y)[j] + need[i, j]).tolist()
    best = -inf
    for k in sorted(range(len(most)), key=lambda k: -most[k]):
        if most[k] + STEP <= best:
            break
        p, q = one[i[k]], other[j[k]]
        if not free_pair(p, q, joined):
            best = max(best, _clear_at(p.shape, q.shape, x, y, float(need[i[k], j[k]])))
    return best


_clear_at = lru_cache(maxsize=8192)(clear_at)
"""Kept, because the same outlines meet in the same way in many rows and on many boards."""


class _Extents(NamedTuple):
    """What can be said of some pieces without their outlines, an array each."""

    box: Array
    low: Array
    high: Array
    role: NDArray[np.intp]

    @classmethod
    def of(cls, pieces: Sequence[Piece]) -> _Extents:
        import shapely

        return cls(
            shapely.bounds(np.array([p.shape for p in pieces], dtype=object)),
            np.array([p.low for p in pieces]),
            np.array([p.high for p in pieces]),
            np.array([p.role for p in pieces]),
        )

    def ahead(self, x: float, y: float) -> Array:
        """How far each reaches in a direction along or across the board."""
        x0, y0, x1, y1 = self.box.T
        return np.maximum(x0 * x, x1 * x) + np.maximum(y0 * y, y1 * y)
