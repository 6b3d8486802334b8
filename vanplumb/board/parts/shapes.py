"""Outlines on the board: placing, turning, and the room that a turning handle sweeps.

A swept handle is drawn as a polygon that holds every position of the handle and is at most
``SWEEP_TOLERANCE`` larger: nothing is missed, and nothing invented beyond that.
"""

from __future__ import annotations

from functools import lru_cache
from math import acos, ceil, cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from .parts import Handle, Part, Point, box

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

SWEEP_TOLERANCE = 0.05
"""mm by which a drawn sweep may stand outside the true one."""
BULGE = 0.02
"""mm by which the tangents of a corner's arc stand out in the middle of a step."""
FAR = 400.0
"""mm in front of the board: fingers come from there."""
NECK, GRIP = 0.30, 0.45
"""A bent handle slopes between these shares of its length."""
BENDS = ("flat", "forward", "back")

ROLES = ("body", "lead", "sweep", "rest", "finger", "tool", "kept")
BODY, LEAD, SWEEP, REST, FINGER, TOOL, KEPT = range(7)
"""Fixed parts, leaving tubes, swept handles, handles at rest, fingers, the tool, room kept free."""


class Piece(NamedTuple):
    """An outline between two heights, and what it belongs to."""

    shape: BaseGeometry
    low: float
    high: float
    role: int
    owner: str


def polygon(points: Any) -> Polygon:
    """A polygon of points in mm."""
    import shapely

    return shapely.Polygon(np.asarray(points, dtype=float))


def place(
    shape: BaseGeometry, x: float, y: float, turn: int = 0, mirror: bool = False
) -> BaseGeometry:
    """The shape (turned over first, if ``mirror``) turned by a multiple of 90° and moved; exact."""
    from shapely.affinity import affine_transform

    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[turn // 90 % 4]
    over = -1 if mirror else 1
    return affine_transform(shape, (c, -s * over, s, c * over, x, y))


def moved(piece: Piece, x: float, y: float) -> Piece:
    """The piece moved."""
    return piece._replace(shape=place(piece.shape, x, y))


def sweep(points: tuple[Point, ...], first: float, last: float) -> BaseGeometry:
    """All that a convex outline covers as it turns about 0, 0 between two angles (degrees).

    It holds every position, and is at most ``SWEEP_TOLERANCE`` too large.  With 0, 0 inside,
    it is the outline at many angles, and for each corner the sector to the tangents of its
    arc: between two angles an edge covers nothing more than at one of them, since along an
    edge the distance from 0, 0 is greatest at its ends.  With 0, 0 outside it is the hull of
    each small step.
    """
    import shapely

    corners = np.asarray(points, dtype=float)
    start, stop = sorted((radians(first), radians(last)))
    widest = 2 * acos(1 / (1 + BULGE / max(hypot(x, y) for x, y in points)))
    inside = _holds_centre(corners)
    if not inside:
        longest = max(np.hypot(*(corners - np.roll(corners, 1, axis=0)).T))
        widest = min(widest, 8 * BULGE / float(longest))
    steps = max(1, ceil((stop - start) / widest))
    angles = np.linspace(start, stop, steps + 1)
    half = (stop - start) / steps / 2
    at = np.stack([_turned(corners, a) for a in angles])
    between = np.stack([_turned(corners, a + half) for a in angles[:-1]]) / cos(half)
    if not inside:
        clouds = np.concatenate([at[:-1], between, at[1:]], axis=1)
        return shapely.union_all(shapely.convex_hull(shapely.multipoints(clouds)))
    sectors = np.stack([np.zeros_like(between), at[:-1], between, at[1:]], axis=2)
    shapes: list[Any] = [shapely.polygons(at), shapely.polygons(sectors.reshape(-1, 4, 2))]
    return shapely.union_all(np.concatenate(shapes))


def _holds_centre(corners: Array) -> bool:
    """Whether 0, 0 is inside a convex outline or on its edge."""
    after = np.roll(corners, -1, axis=0)
    cross = corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]
    return bool((cross >= -1e-9).all() or (cross <= 1e-9).all())


def _turned(corners: Array, angle: float) -> Array:
    c, s = cos(angle), sin(angle)
    return corners @ np.array([[c, s], [-s, c]])


def disc(radius: float) -> BaseGeometry:
    """A round outline about 0, 0, drawn outside the true circle by the same tolerance."""
    sides = ceil(pi / acos(radius / (radius + BULGE)))
    outer = radius / cos(pi / sides)
    turns = [2 * pi * k / sides for k in range(sides)]
    return polygon([(outer * cos(a), outer * sin(a)) for a in turns])


def turn_of(turned: bool) -> tuple[float, float]:
    """Angles of a handle, open and shut, in its part's own axes (degrees)."""
    start = 180.0 if turned else 0.0
    return start, start - 90.0


def _segments(handle: Handle, bend: str) -> list[tuple[tuple[Point, ...], float, float]]:
    """The handle along x as convex outlines, each between two heights."""
    if bend == "flat" or not handle.bend:
        return [(handle.points, handle.low, handle.high)]
    rise = handle.bend if bend == "forward" else -handle.bend
    neck, grip, half = NECK * handle.length, GRIP * handle.length, handle.width / 2
    hub = box(-handle.tail, -half, neck, half)
    slope = box(neck, -half, grip, half)
    nose = tuple((max(x, grip), y) for x, y in handle.points)
    return [
        (hub, handle.low, handle.high),
        (slope, min(handle.low, handle.low + rise), max(handle.high, handle.high + rise)),
        (nose, handle.low + rise, handle.high + rise),
    ]


def grip_height(handle: Handle, bend: str) -> float:
    """Underside of the part of the handle that fingers take."""
    rise = {"flat": 0.0, "forward": handle.bend, "back": -handle.bend}[bend]
    return handle.low + rise


def _fingers(handle: Handle, room: float) -> list[tuple[tuple[Point, ...], bool]]:
    """Where fingers go, with the handle along x, and whether that is when it is shut.

    Open, a finger pushes from the side that the handle turns away from; shut, from the
    other.  A wing is taken between two fingers, at both of its positions.
    """
    half, length = handle.width / 2, handle.length
    behind = box(0.5 * length, half, length, half + room)
    ahead = box(0.5 * length, -half - room, length, -half)
    if handle.kind == "wing":
        tail = handle.tail
        behind_tail = box(-tail, half, -0.5 * tail, half + room)
        ahead_tail = box(-tail, -half - room, -0.5 * tail, -half)
        return [(behind, False), (ahead_tail, False), (ahead, True), (behind_tail, True)]
    return [(behind, False), (ahead, True)]


@lru_cache(maxsize=512)
def handle_shapes(
    handle: Handle, turned: bool, bend: str, finger: float
) -> tuple[tuple[Any, float, float, int], ...]:
    """Sweep, both rests and finger room of a handle in its part's own axes."""
    import shapely

    if handle.kind == "knob":
        knob = disc(handle.length)
        grip = disc(handle.length + finger / 2)
        return (
            (knob, handle.low, handle.high, SWEEP),
            (knob, handle.low, handle.high, REST),
            (grip, (handle.low + handle.high) / 2, FAR, FINGER),
        )
    opened, shut = turn_of(turned)
    found: list[tuple[Any, float, float, int]] = []
    for points, low, high in _segments(handle, bend):
        corners = np.asarray(points, dtype=float)
        found.append((sweep(points, opened, shut), low, high, SWEEP))
        for angle in (opened, shut):
            found.append((polygon(_turned(corners, radians(angle))), low, high, REST))
    for points, when_shut in _fingers(handle, finger):
        angle = radians(shut if when_shut else opened)
        spot = polygon(_turned(np.asarray(points, dtype=float), angle))
        found.append((spot, grip_height(handle, bend), FAR, FINGER))
    for shape, *_ in found:
        shapely.prepare(shape)
    return tuple(found)


@lru_cache(maxsize=512)
def part_shapes(
    part: Part, turned: bool, bend: str, finger: float, height: float
) -> tuple[tuple[Any, float, float, int], ...]:
    """All pieces of a part in its own axes; heights from the face of the board."""
    found = [(polygon(s.points), s.low + height, s.high + height, BODY) for s in part.body]
    if part.handle:
        for shape, low, high, role in handle_shapes(part.handle, turned, bend, finger):
            found.append((shape, low + height, high + height, role))
    return tuple(found)
