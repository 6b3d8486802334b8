"""The best order and setting of the zones on one row, by dynamic programming.

A row's width is what its first zone needs on one side, the distances between neighbours,
and what its last zone needs on the other.  Over every set of zones already placed and every
last zone with its setting, the least width so far is kept, so that all orders and settings
are weighed without trying each one.

How one zone may be set: its handle, its bend, its stub, its side, its part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import inf, prod

from ..parts.needs import ManifoldNeed, Needs, ZoneNeed
from ..parts.shapes import BENDS, BODY, SWEEP
from ..place.layout import Layout
from ..place.spacing import Spacer, plain_row
from ..place.state import Row, Spot, State, mm, ticks, up_to


@dataclass(frozen=True)
class Freedom:
    """What a search may change beside the order: handles, bends, stubs, trimmed ends."""

    turn: bool = True
    bend: bool = False
    lower: bool = False
    trim: bool = False
    order: bool = True


PLAIN = Freedom(turn=False, order=False)
HANDLES = Freedom()
BENT = Freedom(bend=True, trim=True)
LOWERED = Freedom(lower=True, trim=True)
EVERYTHING = Freedom(bend=True, lower=True, trim=True)


def settings(
    needs: Needs, spot: Spot, zone: ZoneNeed, sides: Sequence[int], freedom: Freedom
) -> list[Spot]:
    """The ways in which one zone may be set, the plainest first; pins are kept."""
    pins, catalogue = needs.pins, needs.catalogue
    handle = catalogue[spot.valve].handle
    round_or_wing = handle is None or handle.kind in ("knob", "wing")
    turns = [spot.turned]
    if freedom.turn and zone.key not in pins.turned and not round_or_wing:
        turns = [False, True]
    bends = [spot.bend]
    if freedom.bend and zone.key not in pins.bend and handle and handle.bend:
        bends = list(BENDS)
    stubs = [spot.stub]
    if freedom.lower and zone.key not in pins.stub and handle:
        stubs.append(spot.stub + up_to(ticks(0.55 * handle.length), needs.grid))
    valves = [spot.valve]
    if freedom.trim and catalogue[spot.valve].trim and zone.key not in pins.valve:
        valves.append(f"{spot.valve}, trimmed")
    side_of = [pins.side[zone.key]] if zone.key in pins.side else list(sides)
    found = [
        replace(spot, side=s, turned=t, bend=b, stub=c, valve=v)
        for v, c, b, s, t in product(valves, stubs, bends, side_of, turns)
    ]
    return sorted(found, key=lambda s: changes(s, spot))


def changes(spot: Spot, plain: Spot) -> int:
    """In how many ways a zone differs from its plain setting."""
    return (
        (spot.turned != plain.turned)
        + 2 * (spot.bend != plain.bend)
        + (spot.stub != plain.stub)
        + 3 * (spot.valve != plain.valve)
    )


def rank(zone: ZoneNeed, upright: bool) -> int:
    """Where along the row a zone belongs for its fixture's sake: -1 first, 1 last, 0 anywhere."""
    ends = {"down": -1, "up": 1} if upright else {"left": -1, "right": 1}
    return ends.get(zone.leaves, 0)


def sides_of(zone: ZoneNeed, upright: bool, allowed: tuple[int, ...]) -> tuple[int, ...]:
    """The sides on which a zone may leave; its fixture's side rules over ``allowed``."""
    ways = {"left": 1, "right": -1} if upright else {"up": 1, "down": -1}
    want = ways.get(zone.leaves)
    return allowed if want is None else (want,)


MOST_ORDERS = 600
"""Sets of zones that are weighed; with more kinds of zones the order stays as asked for."""
SMALL = 1e-3
"""mm of width that one change of a handle is worth: of two equal rows the plainer is taken."""


class Chooser:
    """The best row of one manifold for given sides and freedom."""

    def __init__(self, needs: Needs, spacer: Spacer, manifold: ManifoldNeed) -> None:
        self.needs, self.spacer, self.manifold = needs, spacer, manifold
        self.plain = plain_row(needs, manifold)
        self._reach: dict[tuple[object, ...], tuple[float, float]] = {}
        self._steps: dict[tuple[object, object], float] = {}

    def best(
        self,
        upright: bool,
        allowed: tuple[int, ...],
        freedom: Freedom,
        linked: int = 0,
        heater: int = 0,
    ) -> Row:
        """The narrowest row whose zones leave on the allowed sides or on their fixture's.

        ``linked`` puts the zones that a tube on the board joins to a device first (-1) or last (1),
        ``heater`` those that feed a heater, before all others.
        """
        chosen = self._choose(
            self._order(), upright, allowed, freedom, linked=linked, heater=heater
        )
        row = self.again([s.zone for s in chosen], chosen)
        return self.spacer.settle(replace(row, upright=upright))

    def two_rows(self, upright: bool, freedom: Freedom) -> Row | None:
        """The header turned back below itself: zones leave up from one row, down from the other.

        None for a ready header, for fewer than three zones, and if the corner is not to be had.
        """
        elbows = self.needs.catalogue.find("elbow", self.manifold.tube)
        keys = self._order()
        if self._is_block or len(keys) < 3 or not elbows:
            return None
        zones = {z.key: z for z in self.manifold.zones}
        first, second = ("left", "right") if upright else ("up", "down")
        above = [k for k in keys if zones[k].leaves == first]
        below = [k for k in keys if zones[k].leaves == second]
        after = self.needs.pins.fold.get(self.manifold.name)
        free = [k for k in keys if k not in above and k not in below]
        for key in sorted(free, key=lambda k: k not in self.needs.heater_zones):
            (above if len(above) <= len(below) else below).append(key)
        if after:
            cut = keys.index(f"{self.manifold.name}.{after}") + 1
            above, below = keys[:cut], keys[cut:]
        if not above or not below:
            return None
        top = self._choose(above, upright, (1,), freedom, force=True, heater=-1)
        low = self._choose(below, upright, (-1,), freedom, force=True)[::-1]
        tube, elbow = self.manifold.tube, elbows[0]
        ring = elbow.port("a").insertion
        least = max(self.manifold.least, self.needs.least(tube, ring, ring))
        spots = [replace(s, node=self._tee(s.zone)) for s in top]
        ends = self.again([s.zone for s in low], low)
        spots += [replace(s, fold=1) for s in ends.spots]
        row = Row(
            self.manifold.name, tuple(spots), upright,
            corner=elbow.name, fold_gap=least, fold_stub=least,
        )  # fmt: skip
        return self._open_up(self.spacer.settle(row))

    def _open_up(self, row: Row) -> Row:
        """The two rows moved apart until they are clear of each other."""
        for _ in range(12):
            layout = Layout(self.needs, State((row,)))
            short = max((c.move for c in layout.contacts), default=0.0)
            if not short:
                break
            row = replace(row, fold_stub=up_to(row.fold_stub + ticks(short), self.needs.grid))
        return row

    def _choose(
        self,
        keys: Sequence[str],
        upright: bool,
        allowed: tuple[int, ...],
        freedom: Freedom,
        force: bool = False,
        linked: int = 0,
        heater: int = 0,
    ) -> list[Spot]:
        """The zones in their best order and settings; ``force`` overrules the fixtures' sides."""
        zones = {z.key: z for z in self.manifold.zones}
        base = {s.zone: s for s in self.plain.spots}
        rank_of = {k: rank(zones[k], upright) for k in keys}
        for key, *_ in self.needs.links:
            if linked and key in rank_of and not rank_of[key]:
                rank_of[key] = 2 * linked
        for key in self.needs.heater_zones & set(rank_of) if heater else ():
            rank_of[key] = 3 * heater
        ranks = [rank_of[k] for k in keys]
        free = freedom.order and self.manifold.name not in self.needs.pins.order
        if free:
            keys = sorted(keys, key=lambda k: rank_of[k])
            ranks = sorted(ranks)
        options = []
        for key in keys:
            sides = sides_of(zones[key], upright, allowed)
            if self._is_block or force:
                sides = allowed
            spot = base[key] if self._is_block else replace(base[key], node=self._tee(key))
            options.append(settings(self.needs, spot, zones[key], sides, freedom))
        return self._line(options, ranks, free, base)

    def _order(self) -> list[str]:
        pinned = self.needs.pins.order.get(self.manifold.name)
        if pinned:
            return [f"{self.manifold.name}.{name}" for name in pinned]
        return [z.key for z in self.manifold.zones]

    def _tee(self, zone: str) -> str:
        """The fitting that a zone has when it is not the last on its header."""
        tube = self.needs.zone(zone).tube
        return self.needs.catalogue.first("tee", self.manifold.tube, tube).name

    def again(self, order: Sequence[str], chosen: Sequence[Spot]) -> Row:
        """A row in this order with these settings, and the right fitting for each place."""
        fresh = plain_row(self.needs, self.manifold, order)
        spots = tuple(
            replace(f, side=c.side, turned=c.turned, bend=c.bend, stub=c.stub, valve=c.valve)
            for f, c in zip(fresh.spots, chosen, strict=True)
        )
        return replace(fresh, spots=spots)

    def _kind(self, spot: Spot) -> tuple[object, ...]:
        """What tells zones apart; on a ready header not which outlet they had at first."""
        return self.spacer.key(self.manifold, replace(spot, node="") if self._is_block else spot)

    def _step(self, one: Spot, other: Spot) -> float:
        """mm between two neighbours, as the header's tube and the parts ask."""
        room = self.spacer.least_apart(self.manifold, one, other)
        if self._is_block:
            header = self.needs.catalogue.find(
                "header", self.manifold.tube, self.needs.zone(one.zone).tube
            )[0]
            return 1000.0 * max(0.0, room - header.pitch)
        a, b = self.spacer.cell(self.manifold, one), self.spacer.cell(self.manifold, other)
        fixed = a.after + b.before
        least = fixed + self.manifold.least
        need = least if room == -inf else max(least, ticks(room))
        return mm(fixed + up_to(need - fixed, self.needs.grid))

    def _ends(self, spot: Spot) -> tuple[float, float]:
        """mm that a zone reaches before and after its fitting's centre."""
        key = self.spacer.key(self.manifold, spot)
        if key not in self._reach:
            pieces = self.spacer.cell(self.manifold, spot).pieces
            bounds = [p.shape.bounds for p in pieces if p.role in (BODY, SWEEP)]
            self._reach[key] = (-min(b[0] for b in bounds), max(b[2] for b in bounds))
        return self._reach[key]

    def _line(
        self,
        options: list[list[Spot]],
        ranks: list[int],
        free: bool,
        base: dict[str, Spot],
    ) -> list[Spot]:
        """The zones in their best order and settings, as a list of settings."""
        count = len(options)
        kinds = [
            (r, tuple((*self._kind(s), changes(s, base[s.zone])) for s in o))
            for r, o in zip(ranks, options, strict=True)
        ]
        free = free and prod(many + 1 for many in Counter(kinds).values()) <= MOST_ORDERS
        weight = [[SMALL * changes(s, base[s.zone]) for s in o] for o in options]
        keys = [[self.spacer.key(self.manifold, s) for s in o] for o in options]
        steps = self._steps
        best: dict[tuple[int, int, int], tuple[float, tuple[int, int, int] | None]] = {}
        for i, own in enumerate(options):
            if not _may_follow(0, i, kinds, ranks, free):
                continue
            for c, spot in enumerate(own):
                best[1 << i, i, c] = (self._ends(spot)[0] + weight[i][c], None)
        for size in range(1, count):
            layer = [key for key in best if key[0].bit_count() == size]
            after: dict[int, list[int]] = {}
            for key in layer:
                mask, i, c = key
                so_far, before = best[key][0], keys[i][c]
                if mask not in after:
                    after[mask] = [
                        j
                        for j in range(count)
                        if not mask >> j & 1 and _may_follow(mask, j, kinds, ranks, free)
                    ]
                for j in after[mask]:
                    for d, spot in enumerate(options[j]):
                        pair = (before, keys[j][d])
                        if pair not in steps:
                            steps[pair] = self._step(options[i][c], spot)
                        cost = so_far + steps[pair] + weight[j][d]
                        to = (mask | 1 << j, j, d)
                        if to not in best or cost < best[to][0] - 1e-9:
                            best[to] = (cost, key)
        full = (1 << count) - 1
        ends = [k for k in best if k[0] == full]
        last: tuple[int, int, int] | None = min(
            ends, key=lambda k: (best[k][0] + self._ends(options[k[1]][k[2]])[1], k)
        )
        chosen: list[Spot] = []
        while last is not None:
            chosen.append(options[last[1]][last[2]])
            last = best[last][1]
        chosen.reverse()
        return self._second_look(chosen, options, base) if self._is_block else chosen

    @property
    def _is_block(self) -> bool:
        return self.manifold.form == "block"

    def _second_look(
        self, chosen: list[Spot], options: list[list[Spot]], base: dict[str, Spot]
    ) -> list[Spot]:
        """On a ready header, where nothing can move apart, weigh next neighbours but one too."""
        own = {o[0].zone: o for o in options}
        lines = [own[s.zone] for s in chosen]
        if len(lines) < 3:
            return chosen
        best: dict[tuple[Spot, Spot], tuple[float, list[Spot]]] = {}
        for a, b in product(lines[0], lines[1]):
            cost = self._step_of(a, b) + SMALL * (
                changes(a, base[a.zone]) + changes(b, base[b.zone])
            )
            best[a, b] = (cost, [a, b])
        for line in lines[2:]:
            after: dict[tuple[Spot, Spot], tuple[float, list[Spot]]] = {}
            for (a, b), (so_far, path) in best.items():
                for c in line:
                    cost = so_far + self._step_of(b, c) + SMALL * changes(c, base[c.zone])
                    cost += 1000.0 * max(0.0, self._far(a, c))
                    if (b, c) not in after or cost < after[b, c][0] - 1e-9:
                        after[b, c] = (cost, [*path, c])
            best = after
        return min(best.values(), key=lambda item: item[0])[1]

    def _far(self, one: Spot, other: Spot) -> float:
        """mm by which two outlets with one between them are too near."""
        header = self.needs.catalogue.find(
            "header", self.manifold.tube, self.needs.zone(one.zone).tube
        )[0]
        return self.spacer.least_apart(self.manifold, one, other) - 2 * header.pitch

    def _step_of(self, one: Spot, other: Spot) -> float:
        pair = (self.spacer.key(self.manifold, one), self.spacer.key(self.manifold, other))
        if pair not in self._steps:
            self._steps[pair] = self._step(one, other)
        return self._steps[pair]


def _may_follow(
    mask: int, j: int, kinds: Sequence[tuple[object, ...]], ranks: list[int], free: bool
) -> bool:
    """Whether zone ``j`` may come next: fixtures' sides in order, like zones as asked for."""
    for i in range(len(kinds)):
        if mask >> i & 1 or i == j:
            continue
        if not free:
            if i < j:
                return False
        elif ranks[i] < ranks[j] or (i < j and kinds[i] == kinds[j]):
            return False
    return True
