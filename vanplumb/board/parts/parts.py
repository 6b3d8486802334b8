"""Parts of a board as outlines with ports, take-offs and handles, in millimetres.

Each part has its own axes: its centre at 0, 0, its first end to the left, its branch (if it
has one) up.  Heights are measured from the centre line of the tube, towards the reader.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import cos, radians, sin

from ...words.brief import brief

Point = tuple[float, float]

FITTINGS = ("tee", "elbow", "coupling", "reducer", "adapter", "plug", "header")
SPIGOT = {"expansion": 1.4, "push-fit": 1.62, "crimp": 1.25, "press": 1.3}
"""Widest thing at a joint as a multiple of the tube's outside diameter (measure yours)."""


class PartError(ValueError):
    """A part that the board needs is not in the table, or its row says too little."""


@dataclass(frozen=True)
class Port:
    """Where a tube goes on.  ``x``, ``y``: where its centre line meets the part's centre line."""

    name: str
    x: float
    y: float
    heading: int
    take_off: float
    outside: float
    insertion: float
    joint: str

    @property
    def end(self) -> Point:
        """Where the tube's end stops."""
        turn = radians(self.heading)
        return self.x + self.take_off * cos(turn), self.y + self.take_off * sin(turn)


@brief
@dataclass(frozen=True)
class Slab:
    """A piece of a body: an outline between two heights."""

    points: tuple[Point, ...]
    low: float
    high: float


@dataclass(frozen=True)
class Handle:
    """A handle on a pivot at the part's centre.  Open it lies along the tube, towards the outlet.

    Shutting turns it a quarter turn clockwise.  ``bend`` is how far its tip may be bent.
    """

    kind: str
    length: float
    tail: float
    width: float
    low: float
    high: float
    bend: float

    @property
    def points(self) -> tuple[Point, ...]:
        """Its outline when it points along x."""
        half, nose = self.width / 2, self.width / 4
        if self.kind == "wing":
            return (
                (-self.tail, -nose), (-self.tail + nose, -half), (self.length - nose, -half),
                (self.length, -nose), (self.length, nose), (self.length - nose, half),
                (-self.tail + nose, half), (-self.tail, nose),
            )  # fmt: skip
        return (
            (-self.tail, -half), (self.length - nose, -half), (self.length, -nose),
            (self.length, nose), (self.length - nose, half), (-self.tail, half),
        )  # fmt: skip


@brief
@dataclass(frozen=True)
class Part:
    """One kind of part.  ``trim`` is how much may be cut off each straight end."""

    name: str
    kind: str
    joint: str
    ports: tuple[Port, ...]
    body: tuple[Slab, ...]
    handle: Handle | None = None
    holes: tuple[tuple[float, float, float], ...] = ()
    trim: float = 0.0
    mass: float = 0.0
    price: float | None = None
    valve: str = ""
    pitch: float = 0.0
    basis: str = ""

    def port(self, name: str) -> Port:
        """The port of that name.  KeyError if there is none."""
        for one in self.ports:
            if one.name == name:
                return one
        raise KeyError(name)

    @cached_property
    def outlets(self) -> tuple[Port, ...]:
        """The ports of a ready header that feed zones."""
        return tuple(p for p in self.ports if p.name.startswith("out "))

    def trimmed(self) -> Part:
        """The same part with its ends cut back by what the builder allows."""
        if not self.trim:
            return self
        cut = self.trim
        ports = tuple(replace(p, take_off=round(p.take_off - cut, 4)) for p in self.ports)
        body = tuple(replace(s, points=_cut_back(s.points, cut)) for s in self.body)
        return replace(self, name=f"{self.name}, trimmed", ports=ports, body=body, trim=0.0)


def _cut_back(points: tuple[Point, ...], cut: float) -> tuple[Point, ...]:
    far = max(x for x, _ in points)
    near = min(x for x, _ in points)
    return tuple((min(max(x, near + cut), far - cut), y) for x, y in points)


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    """The corners of a rectangle."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
