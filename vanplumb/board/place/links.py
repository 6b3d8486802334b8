"""Tubes from a zone to a device of the same board: straight, bent once, or with elbows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, radians, sin
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ...formulas.joints import bent_length
from ...words.brief import brief
from ..parts.parts import PartError
from ..parts.shapes import BODY, LEAD, SWEEP, Piece
from .rows import DIRECTIONS, Open, Placed, Tube
from .state import TICK, ticks

if TYPE_CHECKING:
    from shapely import STRtree

    from ..parts.needs import Needs

Array = NDArray[np.float64]

STRIDE = 12.0
"""mm between the places that are tried for a corner."""
REACH = 420.0
"""mm from a port within which its first corner is looked for."""

AT_ONCE = 24
"""Ways that are looked at first, the shortest ones; if none is clear, twice as many, and so on."""

Spot = tuple[int, int]
Ways = NDArray[np.int_]
"""Some ways with as many corners each: their points in ticks, shape (ways, points, 2)."""
NONE: Ways = np.zeros((0, 2, 2), int)


@brief
@dataclass(frozen=True)
class Link:
    """The tubes and elbows between two ports."""

    tubes: tuple[Tube, ...]
    elbows: tuple[Placed, ...]
    joined: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class _Path:
    points: tuple[Spot, ...]
    radius: float = 0.0

    @property
    def length(self) -> int:
        return sum(
            abs(ax - bx) + abs(ay - by)
            for (ax, ay), (bx, by) in zip(self.points, self.points[1:], strict=False)
        )


def route(
    needs: Needs,
    start: Open,
    end: Open,
    solid: Sequence[Piece],
    limits: tuple[float, float, float, float] | None,
) -> Link | None:
    """The way with the fewest elbows, then the shortest; None if no tried way is clear."""
    try:
        elbow = needs.catalogue.first("elbow", start.tube)
    except PartError:
        return None
    off = ticks(elbow.port("a").take_off)
    ring = needs.catalogue.outside(start.tube) * 0.7
    clear = _Clear(needs, start, end, solid, limits, ring)
    least_end = needs.least(start.tube, start.insertion, elbow.port("a").insertion)
    least_mid = needs.least(start.tube, elbow.port("a").insertion, elbow.port("a").insertion)
    bend = float(needs.catalogue.tubes[start.tube]["bend_least"] or 0.0) * 1000
    middle = 2 * off + least_mid
    for ways, radius in (
        (_straight(needs, start, end), 0.0),
        (_bent(start, end, bend), bend),
        (_one_corner(start, end, off + least_end), 0.0),
        (_two_corners(start, end, off + least_end, middle, needs.grid), 0.0),
        (_three_corners(start, end, off + least_end, middle, needs.grid), 0.0),
    ):
        points = clear.first(ways)
        if points:
            return _link(needs, start, end, _Path(points, radius))
    return None


def _ahead(one: Open, far: int) -> Spot:
    dx, dy = DIRECTIONS[one.heading]
    return one.x + dx * far, one.y + dy * far


def _ways(*ways: Sequence[Spot]) -> Ways:
    return np.array(ways, int).reshape(len(ways), -1, 2)


def _straight(needs: Needs, start: Open, end: Open) -> Ways:
    dx, dy = DIRECTIONS[start.heading]
    far = (end.x - start.x) * dx + (end.y - start.y) * dy
    opposite = (start.heading - end.heading) % 360 == 180
    least = needs.least(start.tube, start.insertion, end.insertion)
    if opposite and far >= least and _ahead(start, far) == (end.x, end.y):
        return _ways(((start.x, start.y), (end.x, end.y)))
    return NONE


def _corner_of(start: Open, end: Open) -> tuple[Spot, int, int] | None:
    """The one corner between two ports at right angles, and its distance from each."""
    dx, dy = DIRECTIONS[start.heading]
    ex, ey = DIRECTIONS[end.heading]
    if dx * ex + dy * ey:
        return None
    far = (end.x - start.x) * dx + (end.y - start.y) * dy
    near = (start.x - end.x) * ex + (start.y - end.y) * ey
    return _ahead(start, far), far, near


def _bent(start: Open, end: Open, radius: float) -> Ways:
    """One bend in one tube, where there is room for its radius beyond both joints."""
    found = _corner_of(start, end)
    if found and radius:
        corner, far, near = found
        room = ticks(radius)
        if far >= room + ticks(start.insertion) and near >= room + ticks(end.insertion):
            return _ways(((start.x, start.y), corner, (end.x, end.y)))
    return NONE


def _one_corner(start: Open, end: Open, least: int) -> Ways:
    found = _corner_of(start, end)
    if found and min(found[1:]) >= least:
        return _ways(((start.x, start.y), found[0], (end.x, end.y)))
    return NONE


def _distances(least: int, grid: int) -> NDArray[np.int_]:
    step = max(grid, ticks(STRIDE) // grid * grid)
    return np.arange(least, ticks(REACH), step)


def _two_corners(start: Open, end: Open, least: int, middle: int, grid: int) -> Ways:
    """Up, across and down (or on): both ports look along the same line."""
    d, e = np.array(DIRECTIONS[start.heading]), np.array(DIRECTIONS[end.heading])
    if not d @ e:
        return NONE
    begin, finish = np.array((start.x, start.y)), np.array((end.x, end.y))
    first = begin + _distances(least, grid)[:, None] * d
    near = (first - finish) @ e
    second = finish + near[:, None] * e
    good = (near >= least) & (np.abs(first - second).sum(axis=1) >= middle)
    return _through(begin, first[good], second[good], finish)


def _three_corners(start: Open, end: Open, least: int, middle: int, grid: int) -> Ways:
    d, e = np.array(DIRECTIONS[start.heading]), np.array(DIRECTIONS[end.heading])
    if d @ e:
        return NONE
    begin, finish = np.array((start.x, start.y)), np.array((end.x, end.y))
    far = _distances(least, grid)
    first = np.repeat(begin + far[:, None] * d, len(far), axis=0)
    last = np.tile(finish + far[:, None] * e, (len(far), 1))
    # From the first corner across (along the end's line), then along the start's.
    ones = (last[:, 0], first[:, 1]) if d[0] == 0 else (first[:, 0], last[:, 1])
    turn = np.stack(ones, axis=1)
    good = np.abs(first - turn).sum(axis=1) >= middle
    good &= np.abs(last - turn).sum(axis=1) >= middle
    return _through(begin, first[good], turn[good], last[good], finish)


def _through(*points: NDArray[np.int_]) -> Ways:
    """Ways through points, each one for all or one for each way."""
    many = max(len(p) for p in points if p.ndim == 2)
    return np.stack([np.broadcast_to(p, (many, 2)) for p in points], axis=1)


class _Clear:
    """Which ways keep clear of everything at the tube's height, and on the board."""

    def __init__(
        self,
        needs: Needs,
        start: Open,
        end: Open,
        solid: Sequence[Piece],
        limits: tuple[float, float, float, float] | None,
        half: float,
    ) -> None:
        import shapely

        height = needs.tube_height
        self.need = half + needs.room.part
        self.limits, self.half = limits, half
        near = [
            p
            for p in solid
            if p.role in (BODY, LEAD, SWEEP) and p.low < height + half + 1 > height - half - 1
            and p.high > height - half - 1
        ]  # fmt: skip
        own = {start.owner, end.owner}
        self.others = shapely.STRtree([p.shape for p in near if p.owner not in own])
        self.own = shapely.STRtree([p.shape for p in near if p.owner in own])
        self.trim_start = start.insertion + self.need + 0.1
        self.trim_end = end.insertion + self.need + 0.1

    def first(self, ways: Ways) -> tuple[Spot, ...] | None:
        """The shortest clear one of several ways with the same number of corners."""
        if not len(ways):
            return None
        lengths = np.abs(np.diff(ways, axis=1)).sum(axis=(1, 2))
        ways = ways[np.argsort(lengths, kind="stable")]
        points = ways / TICK
        good = np.ones(len(ways), dtype=bool)
        if self.limits:
            left, bottom, right, top = self.limits
            low, high = points.min(axis=1), points.max(axis=1)
            good &= (low >= (left + self.half, bottom + self.half)).all(axis=1)
            good &= (high <= (right - self.half, top - self.half)).all(axis=1)
        to_try, many = np.flatnonzero(good), AT_ONCE
        if to_try.size > AT_ONCE:
            to_try = to_try[self._begin_clear(points[to_try])]
        while to_try.size:
            clear = self._clear(points[to_try[:many]])
            if clear.size:
                return tuple((x, y) for x, y in ways[to_try[clear[0]]].tolist())
            to_try, many = to_try[many:], 2 * many
        return None

    def _begin_clear(self, points: Array) -> NDArray[np.bool_]:
        """Which ways can be clear by their first and their last piece, which many have alike."""
        import shapely

        good = np.ones(len(points), dtype=bool)
        for piece in (points[:, :2], points[:, -2:]):
            each, kind = np.unique(piece.reshape(len(piece), 4), axis=0, return_inverse=True)
            blocked = np.zeros(len(each), dtype=bool)
            blocked[self._near(self.others, shapely.linestrings(each.reshape(-1, 2, 2)))] = True
            good &= ~blocked[kind.ravel()]
        return good

    def _clear(self, points: Array) -> NDArray[np.intp]:
        """Numbers of the ways, each a row of corners in mm, that come near nothing."""
        import shapely

        good = np.ones(len(points), dtype=bool)
        good[self._near(self.others, shapely.linestrings(points))] = False
        if points.shape[1] > 2 and good.any():
            inner = points[good]
            inner[:, 0] += _unit(inner[:, 1] - inner[:, 0]) * self.trim_start
            inner[:, -1] += _unit(inner[:, -2] - inner[:, -1]) * self.trim_end
            left = np.flatnonzero(good)
            good[left[self._near(self.own, shapely.linestrings(inner))]] = False
        return np.flatnonzero(good)

    def _near(self, tree: STRtree, lines: Any) -> NDArray[np.intp]:
        """Numbers of the lines that come too near to something in the tree."""
        return tree.query(lines, predicate="dwithin", distance=self.need - 1e-9)[0]


def _unit(steps: Array) -> Array:
    """Each step along or across the board as a step of 1 mm."""
    return np.sign(steps)


def _link(needs: Needs, start: Open, end: Open, path: _Path) -> Link:
    name = f"{start.what} to {end.owner}"
    if path.radius or len(path.points) == 2:
        points, length = _bend_points(path)
        tube = Tube(
            f"tube {name}", "link", start.tube, start.outside,
            (start.owner, start.port), (end.owner, end.port),
            length, (0, 0), (start.insertion, end.insertion), points, start.zone,
            1 if path.radius else 0,
        )  # fmt: skip
        return Link((tube,), (), ())
    part = needs.catalogue.first("elbow", start.tube)
    off, on = part.port("a").take_off, part.port("a").insertion
    corners = path.points[1:-1]
    elbows, joined = [], []
    for number, (x, y) in enumerate(corners, 1):
        before, after = path.points[number - 1], path.points[number + 1]
        looks = {_heading((x, y), before), _heading((x, y), after)}
        turn = next(t for t in (0, 90, 180, 270) if {(180 + t) % 360, (90 + t) % 360} == looks)
        elbows.append(Placed(f"elbow {number} {name}", part, x, y, turn))
    owners = [start.owner, *(e.owner for e in elbows), end.owner]
    joined = list(pairwise(owners))
    tubes = []
    for number, (a, b) in enumerate(zip(path.points, path.points[1:], strict=False)):
        first, last = number == 0, number == len(path.points) - 2
        offs = (0 if first else ticks(off), 0 if last else ticks(off))
        tubes.append(
            Tube(
                f"tube {number + 1} {name}", "link", start.tube, start.outside,
                (owners[number], start.port if first else "elbow"),
                (owners[number + 1], end.port if last else "elbow"),
                abs(a[0] - b[0]) + abs(a[1] - b[1]), offs,
                (start.insertion if first else on, end.insertion if last else on),
                (_toward(a, b, offs[0]), _toward(b, a, offs[1])), start.zone,
            )
        )  # fmt: skip
    return Link(tuple(tubes), tuple(elbows), tuple(joined))


def _heading(here: Spot, there: Spot) -> int:
    if here[0] == there[0]:
        return 90 if there[1] > here[1] else 270
    return 0 if there[0] > here[0] else 180


def _toward(here: Spot, there: Spot, far: int) -> Spot:
    dx, dy = DIRECTIONS[_heading(here, there)]
    return here[0] + dx * far, here[1] + dy * far


def _bend_points(path: _Path) -> tuple[tuple[Spot, ...], int]:
    """Points along a tube with one bend, and its length along the centre line, in ticks."""
    if not path.radius:
        return path.points, path.length
    a, corner, b = path.points
    radius = ticks(path.radius)
    first, last = _toward(corner, a, radius), _toward(corner, b, radius)
    centre = (first[0] + last[0] - corner[0], first[1] + last[1] - corner[1])
    arc = []
    for step in range(9):
        turn = radians(90 * step / 8)
        # From `first` to `last` about the centre, both at right angles to each other.
        x = centre[0] + (first[0] - centre[0]) * cos(turn) + (last[0] - centre[0]) * sin(turn)
        y = centre[1] + (first[1] - centre[1]) * cos(turn) + (last[1] - centre[1]) * sin(turn)
        arc.append((round(x), round(y)))
    legs = [abs(p[0] - q[0]) + abs(p[1] - q[1]) for p, q in ((a, corner), (corner, b))]
    return (a, *arc, b), round(bent_length.si(*legs, radius))
