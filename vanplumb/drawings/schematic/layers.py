"""Where the components of a build stand in its schematic: in layers, along the water's way.

Sources stand on the left, fixtures on the right.  Long ways get a place of their own in each
layer that they cross, so that lines never run through a symbol.  Plain numbers, no drawing.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ...van.model import Build
from ...van.pointers import kind_of
from ...van.wiring import ends

ROUNDS = 24
LEVEL = 1e-6
"""Ends of a line that differ by no more stand at one height."""
HIGH, LOW = 0.5, 0.001
"""What the height of the whole picture costs, and that of one spot, against a bend's pull."""


@dataclass
class Spot:
    """One component, or a long line on its way through a layer (``component`` empty).

    ``above`` and ``below`` are how far it reaches from its middle, ``wide`` half its width;
    ``ports`` the height of each port from its middle.
    """

    name: str
    component: str = ""
    kind: str = ""
    layer: int = 0
    y: float = 0.0
    x: float = 0.0
    above: float = 10.0
    below: float = 10.0
    wide: float = 4.0
    ports: dict[str, float] = field(default_factory=dict)


@dataclass
class Piece:
    """A run's line from one layer to the next; ``track`` is where it goes up or down."""

    run: int
    start: Spot
    end: Spot
    out_port: str
    in_port: str
    track: float = 0.0

    @property
    def y_start(self) -> float:
        return self.start.y + self.start.ports.get(self.out_port, 0.0)

    @property
    def y_end(self) -> float:
        return self.end.y + self.end.ports.get(self.in_port, 0.0)


def graph(
    build: Build, *, every: bool = False
) -> tuple[list[str], list[tuple[int, str, str, str, str]]]:
    """Components that runs touch, or every one, and runs as (number, from, port, to, port)."""
    edges = [(i, a.component, a.port, b.component, b.port) for i, (a, b) in enumerate(ends(build))]
    touched = dict.fromkeys(n for _, a, _, b, _ in edges for n in (a, b))
    touched |= dict.fromkeys(tank for pump, tank in build.hung_pumps.items() if pump in touched)
    if every:
        touched |= dict.fromkeys(c.name for c in build.components if c.name)
    return list(touched), edges


def kinds(build: Build) -> dict[str, str]:
    return {c.name: kind_of(c) for c in build.components}


def layers(
    names: Sequence[str], edges: Sequence[tuple[int, str, str, str, str]], fixtures: set[str]
) -> dict[str, int]:
    """A layer for each component: after all that feeds it; fixtures last, sources late."""
    after: dict[str, list[str]] = {n: [] for n in names}
    for _, a, _, b, _ in edges:
        if a != b:
            after[a].append(b)
    state: dict[str, int] = {}
    order: list[str] = []
    onward: dict[str, list[str]] = {n: [] for n in names}

    def visit(first: str) -> None:
        # no recursion: a row of hundreds of parts would be too deep for it
        state[first] = 1
        stack = [(first, iter(after[first]))]
        while stack:
            node, others = stack[-1]
            for other in others:
                if state.get(other) == 1:
                    continue  # a ring: that line is drawn backwards
                onward[node].append(other)
                if other not in state:
                    state[other] = 1
                    stack.append((other, iter(after[other])))
                    break
            else:
                stack.pop()
                state[node] = 2
                order.append(node)

    heads = {b for _, _, _, b, _ in edges}
    for node in sorted(names, key=lambda n: n in heads):
        if node not in state:
            visit(node)
    layer = dict.fromkeys(names, 0)
    for node in reversed(order):
        for other in onward[node]:
            layer[other] = max(layer[other], layer[node] + 1)
    last = max(layer.values(), default=0)
    for node in names:
        if node in fixtures and not onward[node]:
            layer[node] = last
    before: dict[str, list[str]] = {}
    for node, following in onward.items():
        for other in dict.fromkeys(following):
            before.setdefault(other, []).append(node)
    main = min((layer[n] for n in names), default=0)
    for node in order:  # chains that join later start later
        if onward[node] and all(len(onward[a]) == 1 for a in before.get(node, ())):
            late = min(layer[b] for b in onward[node]) - 1
            if late > layer[node] and len(onward[node]) == 1 and layer[node] >= main:
                layer[node] = late
    return layer


MANY = 16
"""Lines between two layers from which arrays find their crossings sooner than a loop."""


def crossings(pieces: Iterable[Piece], order: Mapping[str, float]) -> int:
    """How many pairs of lines between the same two layers cross."""
    by_layer: dict[int, list[tuple[float, float]]] = {}
    for p in pieces:
        a = order[p.start.name] + 0.001 * p.start.ports.get(p.out_port, 0.0)
        b = order[p.end.name] + 0.001 * p.end.ports.get(p.in_port, 0.0)
        by_layer.setdefault(p.start.layer, []).append((a, b))
    count = 0
    for pairs in by_layer.values():
        if len(pairs) >= MANY:
            starts, ends = np.array(pairs).T
            turned = np.subtract.outer(starts, starts) * np.subtract.outer(ends, ends) < 0
            count += int(np.count_nonzero(turned)) // 2
            continue
        for i, (a, b) in enumerate(pairs):
            for c, d in pairs[i + 1 :]:
                count += (a - c) * (b - d) < 0
    return count


def arrange(spots: list[Spot], pieces: list[Piece]) -> None:
    """Orders each layer so that few lines cross, then finds heights; sets ``y`` of every spot."""
    by_layer: dict[int, list[Spot]] = {}
    for spot in spots:
        by_layer.setdefault(spot.layer, []).append(spot)
    rank = {s.name: float(i) for row in by_layer.values() for i, s in enumerate(row)}
    best = {s.name: i for row in by_layer.values() for i, s in enumerate(row)}
    least = crossings(pieces, best)
    touching = _touching(pieces)
    for turn in range(ROUNDS):
        forward = turn % 2 == 0
        for number in sorted(by_layer, reverse=not forward):
            row = by_layer[number]
            wish = {}
            for spot in row:
                near = [
                    rank[p.start.name] + 0.01 * p.start.ports.get(p.out_port, 0.0)
                    for p in touching.get(spot.name, ())
                    if forward and p.end is spot
                ] + [
                    rank[p.end.name] + 0.01 * p.end.ports.get(p.in_port, 0.0)
                    for p in touching.get(spot.name, ())
                    if not forward and p.start is spot
                ]
                wish[spot.name] = sum(near) / len(near) if near else rank[spot.name]
            row.sort(key=lambda s: wish[s.name])
            for i, spot in enumerate(row):
                rank[spot.name] = float(i)
        _swap(by_layer, touching, rank)
        order = {n: int(r) for n, r in rank.items()}
        count = crossings(pieces, order)
        if count < least:
            least, best = count, order
    for row in by_layer.values():
        row.sort(key=lambda s: best[s.name])
    _heights(by_layer, pieces)


def _touching(pieces: Iterable[Piece]) -> dict[str, list[Piece]]:
    """The lines that begin or end at each spot, by its name, in their order."""
    found: dict[str, list[Piece]] = {}
    for p in pieces:
        for name in dict.fromkeys((p.start.name, p.end.name)):
            found.setdefault(name, []).append(p)
    return found


def _swap(
    by_layer: dict[int, list[Spot]], touching: Mapping[str, list[Piece]], rank: dict[str, float]
) -> None:
    """Swaps neighbours wherever that saves a crossing."""
    for row in by_layer.values():
        for i in range(len(row) - 1):
            a, b = row[i], row[i + 1]
            near = {id(p): p for s in (a, b) for p in touching.get(s.name, ())}.values()
            before = crossings(near, rank)
            if not before:
                continue
            rank[a.name], rank[b.name] = rank[b.name], rank[a.name]
            if crossings(near, rank) < before:
                row[i], row[i + 1] = b, a
            else:
                rank[a.name], rank[b.name] = rank[b.name], rank[a.name]


def _heights(by_layer: Mapping[int, Sequence[Spot]], pieces: Sequence[Piece]) -> None:
    """Heights that bend lines least, each by its pull, and that keep a layer's spots apart.

    A bend costs as far as it goes, and not its square: so a line has one bend where the squares
    would share it out to every layer that it crosses.  What nothing pulls stands high.
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    spots = [spot for row in by_layer.values() for spot in row]
    if not spots:
        return
    place = {spot.name: i for i, spot in enumerate(spots)}
    leaves, arrives = Counter(p.start.name for p in pieces), Counter(p.end.name for p in pieces)
    foot, bend = len(spots), len(spots) + 1  # unknowns: heights, the picture's, a bend each
    cost = np.full(bend + len(pieces), LOW)
    cost[foot] = HIGH
    rows: list[tuple[dict[int, float], float]] = []  # each sum at most its limit
    for k, p in enumerate(pieces):
        cost[bend + k] = _pull(p, leaves[p.start.name], arrives[p.end.name])
        apart = p.start.ports.get(p.out_port, 0.0) - p.end.ports.get(p.in_port, 0.0)
        if p.start is p.end:
            continue
        for way in (1.0, -1.0):
            ends = {place[p.end.name]: way, place[p.start.name]: -way, bend + k: -1.0}
            rows.append((ends, way * apart))
    for row in by_layer.values():
        for one, two in itertools.pairwise(row):
            rows.append(({place[one.name]: 1.0, place[two.name]: -1.0}, -one.below - two.above))
    rows += [({place[spot.name]: 1.0, foot: -1.0}, -spot.below) for spot in spots]
    at = [(i, j, value) for i, (sums, _) in enumerate(rows) for j, value in sums.items()]
    i, j, values = zip(*at, strict=True)
    found = linprog(
        cost,
        A_ub=csr_array((values, (i, j)), shape=(len(rows), len(cost))),
        b_ub=[limit for _, limit in rows],
        bounds=[(spot.above, None) for spot in spots] + [(0.0, None)] * (1 + len(pieces)),
    )
    for spot, y in zip(spots, found.x, strict=False):
        spot.y = float(y)


def _pull(piece: Piece, leaves: int, arrives: int) -> float:
    """How much a line wants to be straight: long ways and plain rows of components most.

    ``leaves`` and ``arrives`` are how many lines do at its two ends.
    """
    ends = (piece.start, piece.end)
    if not all(e.component for e in ends):
        return 16.0 if not any(e.component for e in ends) else 6.0
    return 16.0 if leaves == arrives == 1 else 3.0 if min(leaves, arrives) == 1 else 1.0


def tracks(pieces: Sequence[Piece], gap: float) -> dict[int, int]:
    """Gives every line that changes its height a place in the channel behind its layer.

    Falling lines stand from the lowest start on, rising ones from the highest, so that lines
    side by side don't cross; ``track`` is set in steps of ``gap``.  Gives the number of
    places used behind each layer.
    """
    used: dict[int, int] = {}
    by_layer: dict[int, list[Piece]] = {}
    for p in pieces:
        by_layer.setdefault(p.start.layer, []).append(p)
    for number, row in by_layer.items():
        bent = [p for p in row if abs(p.y_end - p.y_start) > LEVEL]
        falling = sorted((p for p in bent if p.y_end > p.y_start), key=lambda p: -p.y_start)
        rising = sorted((p for p in bent if p.y_end < p.y_start), key=lambda p: p.y_start)
        places: list[list[Piece]] = []
        for group in (falling, rising):
            floor = 0
            for p in group:
                low, high = sorted((p.y_start, p.y_end))
                k = floor
                while k < len(places) and any(
                    low < max(q.y_start, q.y_end) + gap and high > min(q.y_start, q.y_end) - gap
                    for q in places[k]
                ):
                    k += 1
                if k == len(places):
                    places.append([])
                places[k].append(p)
                floor = k if _touches(group, p) else floor
                p.track = k * gap
        used[number] = len(places)
    return used


def _touches(group: Sequence[Piece], p: Piece) -> bool:
    low, high = sorted((p.y_start, p.y_end))
    return any(
        q is not p and low < max(q.y_start, q.y_end) and high > min(q.y_start, q.y_end)
        for q in group
    )
