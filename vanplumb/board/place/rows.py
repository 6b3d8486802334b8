"""One manifold as a row: fittings, tubes and valves in their places, all in whole ticks."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...words.brief import brief
from ..parts.needs import ManifoldNeed, Needs
from ..parts.parts import Part, Port
from .state import Row, Spot, mm, ticks

DIRECTIONS = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}


@brief
@dataclass(frozen=True)
class Placed:
    """A part in its place.  ``x``, ``y`` in ticks; turned over first if ``mirror``."""

    owner: str
    part: Part
    x: int
    y: int
    turn: int
    mirror: bool = False
    turned: bool = False
    bend: str = "flat"
    zone: str = ""

    def heading(self, port: Port) -> int:
        """Which way a port looks on the board, in degrees."""
        own = -port.heading if self.mirror else port.heading
        return (own + self.turn) % 360

    def centre(self, port: Port) -> tuple[int, int]:
        """Where a port's centre line meets the part's, in ticks."""
        px, py = ticks(port.x), ticks(port.y) * (-1 if self.mirror else 1)
        cx, cy = DIRECTIONS[self.turn % 360]
        return self.x + px * cx - py * cy, self.y + px * cy + py * cx

    def end(self, port: Port) -> tuple[int, int]:
        """Where the tube's end stops at a port, in ticks."""
        x, y = self.centre(port)
        dx, dy = DIRECTIONS[self.heading(port)]
        off = ticks(port.take_off)
        return x + dx * off, y + dy * off


@brief
@dataclass(frozen=True)
class Tube:
    """A tube between two ports: lengths in ticks, ends on the board in ticks."""

    owner: str
    kind: str
    tube: str
    outside: float
    one: tuple[str, str]
    other: tuple[str, str]
    centres: int
    take_offs: tuple[int, int]
    insertions: tuple[float, float]
    points: tuple[tuple[int, int], ...]
    zone: str = ""
    bends: int = 0

    @property
    def cut(self) -> int:
        """The length to cut."""
        return self.centres - sum(self.take_offs)

    @property
    def bare(self) -> float:
        """What is seen of it between the two joints, mm."""
        return mm(self.cut) - sum(self.insertions)


@brief
@dataclass(frozen=True)
class Open:
    """A port from which a tube leaves: where its end stops, and which way it looks.

    ``feeds`` names the manifold whose water comes in here, if it is a feed.
    """

    owner: str
    port: str
    x: int
    y: int
    heading: int
    tube: str
    outside: float
    insertion: float
    what: str
    zone: str = ""
    keep: float = 0.0
    feeds: str = ""


@brief
@dataclass
class RowParts:
    """All that one row puts on the board."""

    placed: list[Placed] = field(default_factory=list)
    tubes: list[Tube] = field(default_factory=list)
    opens: list[Open] = field(default_factory=list)
    chain: list[tuple[str, int]] = field(default_factory=list)
    joined: list[tuple[str, str]] = field(default_factory=list)


def build_row(needs: Needs, row: Row) -> RowParts:
    """The parts of one row in their places on the board.

    PartError if a part is unknown; KeyError if the row names a zone that the build lacks.
    """
    maker = _Maker(needs, needs.manifold(row.manifold), row)
    for index in range(len(row.spots)):
        maker.add(index)
    maker.close()
    return maker.out


class _Maker:
    """Walks along a header in its own axes (u along, v to the left of it) and puts parts down."""

    def __init__(self, needs: Needs, manifold: ManifoldNeed, row: Row) -> None:
        self.needs, self.manifold, self.row = needs, manifold, row
        self.catalogue = needs.catalogue
        self.out = RowParts()
        self.base = 90 if row.upright else 0
        self.last: tuple[Placed, Port] | None = None
        self.block: tuple[Placed, list[Port]] | None = None
        self.way = int(row.backward)
        self.v = 0
        self.folded = False

    def on_board(self, u: int, v: int) -> tuple[int, int]:
        row = self.row
        return (row.x - v, row.y + u) if row.upright else (row.x + u, row.y + v)

    def put(self, owner: str, part: Part, u: int, v: int, turn: int, **more: object) -> Placed:
        x, y = self.on_board(u, v)
        one = Placed(owner, part, x, y, (turn + self.base) % 360, **more)  # type: ignore[arg-type]
        self.out.placed.append(one)
        return one

    def facing(self, one: Placed, heading: int) -> Port:
        """The port of a placed part that looks along ``heading`` in the row's axes."""
        want = (heading + self.base) % 360
        return next(p for p in one.part.ports if one.heading(p) == want)

    def along(self, one: Placed, port: Port) -> int:
        """u of a port's centre."""
        x, y = one.centre(port)
        return y - self.row.y if self.row.upright else x - self.row.x

    def tube_to(self, owner: str, kind: str, one: Placed, port: Port, zone: str = "") -> None:
        """The header's tube from the last part to this one, and its place in the chain."""
        if self.last is None:
            return
        before, out = self.last
        self.out.tubes.append(
            straight(owner, kind, self.manifold.tube, before, out, one, port, zone)
        )
        self.out.chain.append((owner, self.out.tubes[-1].cut))
        self.out.joined += [(before.owner, one.owner)]

    def add(self, index: int) -> None:
        """Put down one zone: its fitting on the header, its stub and its valve."""
        spot = self.row.spots[index]
        zone = self.needs.zone(spot.zone)
        if spot.fold and not self.folded:
            self._corner(spot)
        branch_heading = 90 if spot.side > 0 else 270
        if spot.node or self.block is None:
            node, outlet, branch = self._node(spot, zone.label, branch_heading)
            self.last = (node, outlet) if outlet else None
        else:
            block, left = self.block
            if not left:
                raise KeyError(f"{zone.key}: its header has no outlet left")
            node, branch = block, left.pop(0)
            if outlet := self._far_end(block):
                self.last = (block, outlet)
        self._branch(spot, zone.label, node, branch)

    def _node(
        self, spot: Spot, label: str, branch_heading: int
    ) -> tuple[Placed, Port | None, Port]:
        part = self.catalogue[spot.node]
        back = 0 if self.way else 180
        if part.kind == "elbow":
            turn, mirror = (180 if self.way else 0), (branch_heading == 270) != bool(self.way)
            owner = f"{label} elbow"
        else:
            turn, mirror = (branch_heading - 90) % 360, False
            owner = f"{label} {part.kind}"
        draft = Placed(owner, part, *self.on_board(0, self.v), (turn + self.base) % 360, mirror)
        inlet = self.facing(draft, back)
        shift = 0
        if self.last is not None:
            before, out = self.last
            away = ticks(out.take_off) + spot.gap + ticks(inlet.take_off)
            at = self.along(before, out) + (-away if self.way else away)
            shift = at - self.along(draft, inlet)
        elif part.kind == "header":
            shift = -self.along(draft, inlet)
        node = self.put(owner, part, shift, self.v, turn, mirror=mirror)
        self.tube_to(f"tube before {label}", "header", node, inlet, spot.zone)
        if self.last is None:
            self._feed(node, inlet, back)
        outlet = None if part.kind == "elbow" else self.facing(node, 180 - back)
        self.out.chain.append((owner, _length_of(inlet, outlet)))
        branch = self._first_branch(node, branch_heading, inlet)
        return node, outlet, branch

    def _feed(self, node: Placed, inlet: Port, back: int) -> None:
        """Where water comes in, with the shut-off before it if one hangs there."""
        tube, isolator = self.manifold.tube, self.manifold.isolator
        if isolator is not None:
            part = self.catalogue[isolator.part]
            far = part.port("outlet")
            cut = self.needs.least(tube, inlet.insertion, far.insertion)
            away = ticks(inlet.take_off) + cut + ticks(far.take_off)
            u = self.along(node, inlet) + (away if self.way else -away)
            valve = self.put(isolator.name, part, u, self.v, 180 - back)
            self.out.placed.insert(0, self.out.placed.pop())  # it comes first on the header
            name = f"{self.manifold.letter} feed tube"
            self.out.tubes.append(straight(name, "feed", tube, valve, far, node, inlet))
            self.out.joined.append((valve.owner, node.owner))
            self.out.chain += [(valve.owner, _length_of(part.port("inlet"), far)),
                               (name, cut)]  # fmt: skip
            node, inlet = valve, part.port("inlet")
        x, y = node.end(inlet)
        heading = (back + self.base) % 360
        self.out.opens.append(
            Open(node.owner, inlet.name, x, y, heading, tube, self.catalogue.outside(tube),
                 inlet.insertion, f"feed of {self.manifold.name}", feeds=self.manifold.name)
        )  # fmt: skip

    def _first_branch(self, node: Placed, heading: int, inlet: Port) -> Port:
        if node.part.kind != "header":
            self.block = None
            return self.facing(node, heading)
        outs = list(node.part.outlets)
        outs.sort(key=lambda p: abs(self.along(node, p) - self.along(node, inlet)))
        self.block = (node, outs[1:])
        return outs[0]

    def _far_end(self, block: Placed) -> Port | None:
        return self.facing(block, 180 if self.way else 0)

    def _branch(self, spot: Spot, label: str, node: Placed, branch: Port) -> None:
        zone = self.needs.zone(spot.zone)
        valve = self.catalogue[spot.valve]
        inlet, outlet = valve.port("inlet"), valve.port("outlet")
        up = 1 if spot.side > 0 else -1
        away = ticks(branch.take_off) + spot.stub + ticks(inlet.take_off)
        heading = 90 if up > 0 else 270
        one = self.put(
            f"{label} valve", valve, self.along(node, branch), self.v + up * away, heading,
            turned=spot.turned, bend=spot.bend, zone=spot.zone,
        )  # fmt: skip
        tube = straight(f"{label} stub", "stub", zone.tube, node, branch, one, inlet, spot.zone)
        self.out.tubes.append(tube)
        self.out.joined.append((node.owner, one.owner))
        x, y = one.end(outlet)
        keep = valve.handle.length if valve.handle and spot.bend == "back" else 0.0
        self.out.opens.append(
            Open(one.owner, outlet.name, x, y, (heading + self.base) % 360, zone.tube,
                 outlet.outside, outlet.insertion, label, spot.zone,
                 max(0.0, keep - outlet.take_off - outlet.insertion))
        )  # fmt: skip

    def _corner(self, spot: Spot) -> None:
        """Two elbows that turn the header back to run the other way below itself."""
        if self.last is None:
            raise KeyError(f"{spot.zone}: the second of two rows needs a first one")
        part, row, letter = self.catalogue[self.row.corner], self.row, self.manifold.letter
        before, out = self.last
        run, side = part.ports
        u = self.along(before, out) + ticks(out.take_off) + row.fold_gap + ticks(run.take_off)
        first = self.put(f"{letter} upper corner", part, u, self.v, 0, mirror=True)
        self.tube_to(f"{letter} tube before the corner", "header", first, run)
        self.out.chain.append((first.owner, ticks(run.take_off) + ticks(side.take_off)))
        down = 2 * ticks(side.take_off) + row.fold_stub
        self.v -= down
        second = self.put(f"{letter} lower corner", part, u, self.v, 0)
        into, outlet = self.facing(second, 90), self.facing(second, 180)
        self.last = (first, side)
        self.tube_to(f"{letter} tube of the corner", "fold", second, into)
        self.out.chain.append((second.owner, ticks(into.take_off) + ticks(outlet.take_off)))
        self.last = (second, outlet)
        self.way, self.folded = 1, True

    def close(self) -> None:
        """Plugs on what is left open: the far end of a header or tee, unused outlets."""
        row, tube = self.row, self.manifold.tube
        if self.block:
            block, left = self.block
            for port in left:
                self._plug(block, port, self.needs.zone(row.spots[-1].zone).tube)
        if self.last is not None and row.spots:
            node, outlet = self.last
            self._plug(node, outlet, tube)

    def _plug(self, node: Placed, port: Port, tube: str) -> None:
        plug = self.catalogue.first("plug", tube)
        end = plug.port("a")
        cut = self.needs.least(tube, port.insertion, end.insertion)
        heading = node.heading(port)
        dx, dy = DIRECTIONS[heading]
        x, y = node.end(port)
        away = cut + ticks(end.take_off)
        count = sum(p.part.kind == "plug" for p in self.out.placed) + 1
        owner = f"{self.manifold.letter} plug {count}"
        one = Placed(owner, plug, x + dx * away, y + dy * away, heading)
        self.out.placed.append(one)
        self.out.tubes.append(straight(f"{owner} stub", "plug", tube, node, port, one, end))
        self.out.joined.append((node.owner, owner))


def _length_of(inlet: Port, outlet: Port | None) -> int:
    """How much of the header's length a part takes: to its centre if the header ends there."""
    if outlet is None:
        return ticks(inlet.take_off)
    return ticks(inlet.take_off) + ticks(outlet.take_off) + ticks(abs(inlet.x - outlet.x))


def straight(
    owner: str, kind: str, tube: str, one: Placed, port: Port, other: Placed, end: Port,
    zone: str = "",
) -> Tube:  # fmt: skip
    """The straight tube between two ports that look at each other."""
    (ax, ay), (bx, by) = one.centre(port), other.centre(end)
    return Tube(
        owner,
        kind,
        tube,
        port.outside,
        (one.owner, port.name),
        (other.owner, end.name),
        abs(ax - bx) + abs(ay - by),
        (ticks(port.take_off), ticks(end.take_off)),
        (port.insertion, end.insertion),
        (one.end(port), other.end(end)),
        zone,
    )
