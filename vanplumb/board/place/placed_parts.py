"""Every part of a board in its place, and what touches what, from the board's state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import hypot
from typing import TYPE_CHECKING

from ...words.brief import brief
from ..parts.needs import Needs
from ..parts.shapes import BODY, LEAD, SWEEP, Piece, part_shapes, place, polygon
from .clips import clip_at, header_clips, link_clips, missing, stub_clips
from .collide import Contact, Joined, contacts, touching
from .links import Link, route
from .rows import DIRECTIONS, Open, Placed, RowParts, Tube, build_row
from .state import State, mm

if TYPE_CHECKING:
    from shapely import Polygon

KEPT_PIECES = 5000
"""Parts whose outlines are kept at most."""
BEYOND = 150.0
"""mm that a leaving tube is drawn past the parts when the board's size is not said."""


@brief
@dataclass(frozen=True)
class Lead:
    """A tube that leaves the board: from a port straight to the edge.  Points in mm."""

    owner: str
    open: Open
    start: tuple[float, float]
    end: tuple[float, float]


@brief
@dataclass(frozen=True)
class Unheld:
    """A side of a zone's valve without a clip; ``short`` mm that its tube shows too little."""

    zone: str
    side: str
    short: float


class PlacedParts:
    """The parts of a state in their places.  Each thing is worked out once, when first asked for.

    PartError or KeyError if the state names a part or a zone that is not there.
    """

    def __init__(self, needs: Needs, state: State) -> None:
        self.needs, self.state = needs, state

    def __repr__(self) -> str:
        return f"Layout of {', '.join(row.manifold for row in self.state.rows)}"

    @cached_property
    def rows(self) -> dict[str, RowParts]:
        """The parts of each manifold."""
        return {row.manifold: build_row(self.needs, row) for row in self.state.rows}

    @cached_property
    def devices(self) -> list[Placed]:
        """Mixing valves and what else stands alone."""
        return [
            Placed(d.name, self.needs.catalogue[d.part], d.x, d.y, d.turn)
            for d in self.state.devices
        ]

    @cached_property
    def _device_opens(self) -> list[Open]:
        found = []
        for placed in self.devices:
            need = next(d for d in self.needs.devices if d.name == placed.owner)
            for name, joins in need.feeds:
                port = next((p for p in placed.part.ports if p.name == name), None)
                if port is None:
                    continue
                x, y = placed.end(port)
                tube = self._tube_of(placed.owner, name)
                found.append(
                    Open(placed.owner, name, x, y, placed.heading(port), tube, port.outside,
                         port.insertion, f"{placed.owner} {name} ({joins})")
                )  # fmt: skip
        return found

    def _tube_of(self, device: str, port: str) -> str:
        for key, name, at in self.needs.links:
            if (name, at) == (device, port):
                return self.needs.zone(key).tube
        part = next(d.part for d in self.devices if d.owner == device)
        outside = part.port(port).outside
        for name in self.needs.catalogue.tubes:
            same = abs(self.needs.catalogue.outside(name) - outside) < 0.3
            if same and self.needs.catalogue.joint(name) == part.joint:
                return name
        return self.needs.manifolds[0].tube

    @cached_property
    def _links(self) -> tuple[list[Link], list[Open], list[str]]:
        """Tubes between a zone and a device, what is left open, and what found no way."""
        opens = [o for row in self.rows.values() for o in row.opens] + self._device_opens
        links: list[Link] = []
        failed = []
        for key, device, port in self.needs.links:
            start = next((o for o in opens if o.zone == key), None)
            end = next((o for o in opens if (o.owner, o.port) == (device, port)), None)
            if start is None or end is None:
                continue
            rest = [o for o in opens if o is not start and o is not end]
            solid = self._solid + [
                piece
                for link in links
                for piece in (*self._tube_pieces(link.tubes), *self._placed_pieces(link.elbows))
            ]
            leads = [self._lead_piece(self._lead(o)) for o in rest if not self._is_linked(o)]
            link = route(self.needs, start, end, solid + leads, self._limits)
            if link is None:
                failed.append(f"{start.what} to {end.what}")
            else:
                links.append(link)
                opens = rest
        return links, opens, failed

    def _is_linked(self, one: Open) -> bool:
        return any(
            one.zone == key or (one.owner, one.port) == (device, port)
            for key, device, port in self.needs.links
        )

    @property
    def links(self) -> list[Link]:
        """Tubes between a zone and a device of this board."""
        return self._links[0]

    @property
    def unlinked(self) -> list[str]:
        """Joins that found no way on the board: they go round outside it."""
        return self._links[2]

    @cached_property
    def placed(self) -> list[Placed]:
        """Every part in its place, clips too."""
        own = [p for row in self.rows.values() for p in row.placed]
        return own + self.devices + [e for k in self.links for e in k.elbows] + self.clips

    @cached_property
    def tubes(self) -> list[Tube]:
        """Every tube that is cut for the board."""
        return [t for row in self.rows.values() for t in row.tubes] + [
            t for k in self.links for t in k.tubes
        ]

    @cached_property
    def opens(self) -> list[Open]:
        """Every port from which a tube leaves the board."""
        return self._links[1]

    @cached_property
    def _limits(self) -> tuple[float, float, float, float] | None:
        width, height = mm(self.state.width), mm(self.state.height)
        return (0.0, 0.0, width, height) if width and height else None

    def _lead(self, one: Open) -> Lead:
        x, y = mm(one.x), mm(one.y)
        dx, dy = DIRECTIONS[one.heading]
        limits = self._limits or self._drawn
        x0, y0, x1, y1 = limits
        out = {0: x1 - x, 90: y1 - y, 180: x - x0, 270: y - y0}[one.heading]
        least = one.insertion + 40.0
        far = max(out, least)
        return Lead(f"{one.what} run", one, (x, y), (x + dx * far, y + dy * far))

    @cached_property
    def _drawn(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = _bounds([p for p in self._solid if p.role in (BODY, SWEEP)])
        return x0 - BEYOND, y0 - BEYOND, x1 + BEYOND, y1 + BEYOND

    @cached_property
    def leads(self) -> list[Lead]:
        """Every tube that leaves the board."""
        return [self._lead(one) for one in self.opens]

    @cached_property
    def clips(self) -> list[Placed]:
        """Clips: on both sides of each valve where they go, on what leaves, along each header."""
        found = [c for o in self.opens if (c := clip_at(self.needs, o))]
        for row in self.rows.values():
            found += header_clips(self.needs, row) + stub_clips(self.needs, row)
        for link in self.links:
            found += self._clear_clip(link_clips(self.needs, link), found)
        return found

    @cached_property
    def handle_codes(self) -> dict[str, str]:
        """Letters on each handle of the board, by the name of its part: zones and isolators."""
        isolators = [m.isolator for m in self.needs.manifolds if m.isolator]
        zones = {p.owner: self.needs.zone(p.zone).code for p in self.placed if p.zone}
        return {**{one.name: one.letter for one in isolators}, **zones}

    @cached_property
    def unheld(self) -> list[Unheld]:
        """Sides of zones' valves that no clip holds, where the table has a clip for the tube."""
        held = {clip.owner for clip in self.clips}
        links = {link.tubes[0].zone: link.tubes[0] for link in self.links}
        leads = {one.zone: one for one in self.opens if one.zone}
        found = []
        for row in self.rows.values():
            for tube in (t for t in row.tubes if t.kind == "stub" and self.needs.clip(t.tube)):
                if f"{tube.owner} clip" not in held:
                    found.append(Unheld(tube.zone, "stub", missing(self.needs, tube)))
                link = links.get(tube.zone)
                if link is not None and f"clip on {link.owner}" not in held:
                    found.append(Unheld(tube.zone, "outlet", missing(self.needs, link)))
                if link is None and tube.zone in leads:
                    one = leads[tube.zone]
                    if f"{one.what} clip" not in held:
                        found.append(Unheld(tube.zone, "outlet", 0.0))
        return found

    def _clear_clip(self, offered: Sequence[Placed], clips: Sequence[Placed]) -> list[Placed]:
        """The first clip that is clear of all but what it holds; none if there is no such."""
        linked = [p for k in self.links for p in self._tube_pieces(k.tubes)]
        elbows = [e for k in self.links for e in k.elbows]
        others = [
            *self._solid, *linked, *self._placed_pieces(elbows), *self._placed_pieces(clips),
            *(self._lead_piece(lead) for lead in self.leads),
        ]  # fmt: skip
        for clip in offered:
            held = clip.owner.removeprefix("clip on ")
            own = {
                held,
                *(o for t in self.tubes if t.owner == held for o in (t.one[0], t.other[0])),
            }
            joined = frozenset(frozenset((clip.owner, name)) for name in own)
            pieces = [*self._placed_pieces([clip]), *others]
            if not touching(pieces, joined, self.needs.room, frozenset({clip.owner})):
                return [clip]
        return []

    def _placed_pieces(self, placed: Sequence[Placed]) -> list[Piece]:
        return [piece for p in placed for piece in self._drawn_of(p)]

    def _drawn_of(self, p: Placed) -> tuple[Piece, ...]:
        """The pieces of one part, kept for as long as it stays where and as it is."""
        needs, held = self.needs, self.needs.catalogue.drawn
        key = (p.owner, p.part.name, p.x, p.y, p.turn, p.mirror, p.turned, p.bend)
        if key not in held:
            if len(held) > KEPT_PIECES:
                held.clear()
            held[key] = tuple(
                Piece(place(shape, mm(p.x), mm(p.y), p.turn, p.mirror), low, high, role, p.owner)
                for shape, low, high, role in part_shapes(
                    p.part, p.turned, p.bend, needs.finger, needs.tube_height
                )
            )
        return held[key]

    def _tube_pieces(self, tubes: Sequence[Tube]) -> list[Piece]:
        found = []
        height = self.needs.tube_height
        for tube in tubes:
            half = tube.outside / 2
            for (ax, ay), (bx, by) in zip(tube.points, tube.points[1:], strict=False):
                shape = strip(mm(ax), mm(ay), mm(bx), mm(by), half)
                found.append(Piece(shape, height - half, height + half, BODY, tube.owner))
        return found

    def _lead_piece(self, lead: Lead) -> Piece:
        half, height = lead.open.outside / 2, self.needs.tube_height
        shape = strip(*lead.start, *lead.end, half)
        return Piece(shape, height - half, height + half, LEAD, lead.owner)

    @cached_property
    def _solid(self) -> list[Piece]:
        """Pieces of rows and devices, without what leaves them."""
        placed = [p for row in self.rows.values() for p in row.placed] + self.devices
        tubes = [t for row in self.rows.values() for t in row.tubes]
        return self._placed_pieces(placed) + self._tube_pieces(tubes)

    @cached_property
    def pieces(self) -> list[Piece]:
        """Every outline on the board with its heights."""
        linked = [t for k in self.links for t in k.tubes]
        elbows = [e for k in self.links for e in k.elbows]
        return (
            self._solid
            + self._placed_pieces(elbows)
            + self._tube_pieces(linked)
            + self._placed_pieces(self.clips)
            + [self._lead_piece(lead) for lead in self.leads]
        )

    @cached_property
    def joined(self) -> Joined:
        """Parts that touch because they are joined."""
        pairs = [pair for row in self.rows.values() for pair in row.joined]
        for tube in self.tubes:
            pairs += [(tube.owner, tube.one[0]), (tube.owner, tube.other[0])]
            pairs.append((f"clip on {tube.owner}", tube.owner))
            pairs += [(f"{tube.owner} clip", owner)
                      for owner in (tube.owner, tube.one[0], tube.other[0])]  # fmt: skip
            pairs += [(f"clip on {tube.owner}", tube.one[0])]
            pairs += [(f"clip on {tube.owner}", tube.other[0])]
        for link in self.links:
            pairs += link.joined
        for lead in self.leads:
            what = lead.open.what
            pairs += [(lead.owner, lead.open.owner), (f"{what} clip", lead.owner)]
            pairs.append((f"{what} clip", lead.open.owner))
        return frozenset(frozenset(pair) for pair in pairs)

    @cached_property
    def contacts(self) -> list[Contact]:
        """Every two things that are nearer than they may be."""
        return contacts(self.pieces, self.joined, self.needs.room)

    @property
    def collides(self) -> bool:
        """Whether there are any ``contacts``: quicker, since how far to move is left out."""
        return touching(self.pieces, self.joined, self.needs.room)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of all parts and handle sweeps, mm (not of leaving tubes)."""
        return _bounds([p for p in self.pieces if p.role in (BODY, SWEEP)])

    @property
    def width(self) -> float:
        """mm from side to side of all parts and sweeps."""
        return self.bounds[2] - self.bounds[0]

    @property
    def height(self) -> float:
        """mm from bottom to top of all parts and sweeps."""
        return self.bounds[3] - self.bounds[1]

    @property
    def area(self) -> float:
        """mm² of the rectangle around all parts and sweeps."""
        return self.width * self.height

    @property
    def depth(self) -> float:
        """mm that the highest part stands in front of the board."""
        return max((p.high for p in self.pieces if p.role in (BODY, SWEEP)), default=0.0)


def strip(ax: float, ay: float, bx: float, by: float, half: float) -> Polygon:
    """The outline of a straight piece of tube."""
    import shapely

    if ay == by:
        return shapely.box(min(ax, bx), ay - half, max(ax, bx), ay + half)
    if ax == bx:
        return shapely.box(ax - half, min(ay, by), ax + half, max(ay, by))
    far = hypot(bx - ax, by - ay)
    u, v = half * (ay - by) / far, half * (bx - ax) / far
    return polygon(((ax + u, ay + v), (bx + u, by + v), (bx - u, by - v), (ax - u, ay - v)))


def _bounds(pieces: list[Piece]) -> tuple[float, float, float, float]:
    import shapely

    if not pieces:
        return (0.0, 0.0, 0.0, 0.0)
    import numpy as np

    all_bounds = shapely.bounds(np.array([p.shape for p in pieces], dtype=object))
    low, high = all_bounds[:, :2].min(axis=0), all_bounds[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
