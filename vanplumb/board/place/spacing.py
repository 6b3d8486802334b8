"""How near each other the zones of one row may stand, and rows that stand just so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from math import ceil, inf
from typing import NamedTuple

from ..parts.needs import ManifoldNeed, Needs
from ..parts.parts import PartError
from ..parts.shapes import Piece, moved
from .clips import SLACK, clip_width
from .collide import apart
from .layout import Layout
from .state import TICK, Row, Spot, State, mm, ticks, up_to

NONE: frozenset[frozenset[str]] = frozenset()


class Cell(NamedTuple):
    """One zone by itself: its pieces, and how its fitting takes up the header (ticks)."""

    pieces: tuple[Piece, ...]
    before: int
    after: int


class Spacer:
    """Spacing on rows of one build; each pair of settings is worked out once."""

    def __init__(self, needs: Needs) -> None:
        self.needs = needs
        self._cells: dict[tuple[object, ...], Cell] = {}
        self._apart: dict[tuple[object, object], float] = {}

    def key(self, manifold: ManifoldNeed, spot: Spot) -> tuple[object, ...]:
        """What decides the room of a zone: zones with the same key need the same."""
        tube = self.needs.zone(spot.zone).tube
        return (
            manifold.tube, tube, spot.valve, spot.node, spot.stub, spot.side, spot.turned,
            spot.bend, spot.fold,
        )  # fmt: skip

    def cell(self, manifold: ManifoldNeed, spot: Spot) -> Cell:
        """The zone alone, on a lying row, its fitting's centre at 0, 0."""
        key = self.key(manifold, spot)
        if key not in self._cells:
            self._cells[key] = self._make_cell(manifold, spot)
        return self._cells[key]

    def _make_cell(self, manifold: ManifoldNeed, spot: Spot) -> Cell:
        node = spot.node or self.needs.catalogue.first(
            "header", manifold.tube, self.needs.zone(spot.zone).tube
        ).name  # fmt: skip
        alone = replace(spot, node=node, fold=0)
        layout = Layout(self.needs, State((Row(manifold.name, (alone,)),)))
        label = self.needs.zone(spot.zone).label
        part = self.needs.catalogue[node]
        skip = {f"{label} header"}
        pieces = [
            p._replace(owner=p.owner.removeprefix(label))
            for p in layout.pieces
            if p.owner.startswith(label) and p.owner not in skip
        ]
        if part.kind == "header":
            first = next(p for p in layout.placed if p.owner == f"{label} valve")
            pieces = [moved(p, -mm(first.x), 0.0) for p in pieces]
        offs = [ticks(p.take_off) for p in part.ports]
        if part.kind == "elbow":
            return Cell(tuple(pieces), offs[0], 0)
        return Cell(tuple(pieces), offs[0], offs[-1] if part.kind == "header" else offs[1])

    def least_apart(self, manifold: ManifoldNeed, one: Spot, other: Spot) -> float:
        """mm between the fittings' centres of two zones, the second further along the row."""
        pair = (self.key(manifold, one), self.key(manifold, other))
        if pair not in self._apart:
            a, b = self.cell(manifold, one), self.cell(manifold, other)
            left = [p._replace(owner="1" + p.owner) for p in a.pieces]
            right = [p._replace(owner="2" + p.owner) for p in b.pieces]
            nodes = ("tee", "elbow")
            joined = frozenset(frozenset((f"1 {x}", f"2 {y}")) for x in nodes for y in nodes)
            self._apart[pair] = apart(left, right, joined, self.needs.room)
        return self._apart[pair]

    def settle(self, row: Row) -> Row:
        """The row with the shortest header on which its zones, as set, have their room.

        Pinned gaps stay as they are.
        """
        manifold = self.needs.manifold(row.manifold)
        spots: list[Spot] = []
        for fold in (0, 1):
            own = [s for s in row.spots if s.fold == fold]
            spots += self._settled(manifold, own, bool(fold), bool(fold) != row.backward)
        return replace(row, spots=tuple(spots))

    def _settled(
        self, manifold: ManifoldNeed, spots: Sequence[Spot], corner: bool, reverse: bool
    ) -> list[Spot]:
        """One line of zones; in the second of two rows they run the other way."""
        at: list[int] = []
        done: list[Spot] = []
        for index, spot in enumerate(spots):
            cell = self.cell(manifold, spot)
            if index == 0:
                least = manifold.least if corner else 0
                done.append(replace(spot, gap=least))
                at.append(0)
                continue
            if not spot.node:  # the next outlet of the same ready header
                pitch = ticks(self._pitch(spots[:index]))
                done.append(replace(spot, gap=0))
                at.append(at[-1] + pitch)
                continue
            before = self.cell(manifold, spots[index - 1])
            fixed = before.after + cell.before
            need = fixed + manifold.least
            for other, place in zip(done, at, strict=True):
                pair = (spot, other) if reverse else (other, spot)
                room = self.least_apart(manifold, *pair)
                if room > -inf:
                    need = max(need, place - at[-1] + ceil(room * TICK))
            gap = up_to(need - fixed, self.needs.grid)
            gap = self.needs.pins.gap.get(spot.zone, gap)
            done.append(replace(spot, gap=gap))
            at.append(at[-1] + fixed + gap)
        return done

    def _pitch(self, spots: Sequence[Spot]) -> float:
        name = next(s.node for s in reversed(spots) if s.node)
        return self.needs.catalogue[name].pitch

    def length(self, row: Row) -> int:
        """Ticks from the first fitting's centre to the last one's (of the longer line)."""
        manifold = self.needs.manifold(row.manifold)
        longest = 0
        for fold in (0, 1):
            total, last = 0, None
            for spot in (s for s in row.spots if s.fold == fold):
                if last is not None:
                    if spot.node:
                        before, cell = self.cell(manifold, last), self.cell(manifold, spot)
                        total += before.after + spot.gap + cell.before
                    else:
                        total += ticks(self._pitch(row.spots))
                last = spot
            longest = max(longest, total)
        return longest

    @cached_property
    def plain(self) -> dict[str, Row]:
        """Each manifold as a plain row: valves as bought, one way, in the order asked or pinned."""
        pins, found = self.needs.pins, {}
        for manifold in self.needs.manifolds:
            name = manifold.name
            order = [f"{name}.{zone}" for zone in pins.order.get(name, ())]
            row = plain_row(self.needs, manifold, order)
            found[name] = self.settle(replace(row, upright=pins.upright.get(name, False)))
        return found


def plain_row(needs: Needs, manifold: ManifoldNeed, zones: Sequence[str] = ()) -> Row:
    """A row with its zones in the order given (or as asked for), not yet spaced.

    PartError if a part that it needs is not in the table.
    """
    ordered = [needs.zone(key) for key in zones] if zones else list(manifold.zones)
    spots: list[Spot] = []
    header_left = 0
    for number, zone in enumerate(ordered):
        if manifold.form == "block":
            node = ""
            if header_left == 0:
                node, header_left = _header_for(needs, manifold, zone.tube, spots)
            header_left -= 1
        else:
            last = number == len(ordered) - 1
            kind = "elbow" if last else "tee"
            if last and not needs.catalogue.find("elbow", manifold.tube, zone.tube):
                kind = "tee"
            node = needs.catalogue.first(kind, manifold.tube, zone.tube).name
        valve = needs.valve(zone)
        stub = stub_least(needs, node, spots, zone.tube, valve.name)
        spots.append(
            Spot(
                zone.key,
                valve.name,
                node,
                manifold.least if number else 0,
                needs.pins.stub.get(zone.key, stub),
                needs.pins.side.get(zone.key, -1 if zone.leaves == "down" else 1),
                needs.pins.turned.get(zone.key, False),
                needs.pins.bend.get(zone.key, "flat"),
            )
        )
    return Row(manifold.name, tuple(spots))


def stub_least(needs: Needs, node: str, spots: Sequence[Spot], tube: str, valve: str) -> int:
    """Shortest cut length between a fitting of the header and its valve, in ticks."""
    name = node or next(s.node for s in reversed(spots) if s.node)
    part = needs.catalogue[name]
    branch = part.outlets[0] if part.kind == "header" else part.port("branch")
    into = needs.catalogue[valve].port("inlet").insertion
    clip = needs.clip(tube) if needs.clip_valves else None
    if clip is None:
        return needs.least(tube, branch.insertion, into)
    held = ticks(branch.insertion + into + clip_width(clip) + SLACK)
    return max(needs.least(tube, branch.insertion, into), up_to(held, needs.grid))


def _header_for(
    needs: Needs, manifold: ManifoldNeed, branch: str, before: Sequence[Spot]
) -> tuple[str, int]:
    """The next ready header of those that take the fewest joints; PartError if there is none."""
    found = {len(p.outlets): p for p in needs.catalogue.find("header", manifold.tube, branch)}
    taken = sum(1 for spot in before if spot.node)
    if not found:
        needs.catalogue.first("header", manifold.tube, branch)
    if taken >= len(manifold.outlets) or manifold.outlets[taken] not in found:
        raise PartError(
            f"no ready headers for all {len(manifold.zones)} zones of {manifold.name} from "
            f"{manifold.tube} to {branch} in the table of board parts"
        )
    part = found[manifold.outlets[taken]]
    return part.name, len(part.outlets)
