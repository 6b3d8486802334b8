"""Runs of hot and mixed water: plugs that warm the tube as they go, and cool between draws.

The wall of a tube takes the temperature of its water as a front passes, which holds the
front back: a run behaves as if it held its content times one plus the ratio of the heat of
wall and water.  That is where the wait beyond the bare content comes from.  At rest each run
cools towards its air as an exponential with its own time.

Runs are shared: the first from the heater to a manifold serves every fixture behind it.  So
each run is cut into small cells of its own, and the way to a fixture is a list of cells: the
hot part up to where water is mixed, and the mixed part from there to the outlet.  Water is
carried along such a list by shifting the heat that it holds, all of it accounted for; a
front stays within a cell or two, however long the step.

Between draws nothing moves, so a run is only brought up to date when it is used.  In frost its
water turns to ice at the ice point (see ``ice``), and a way with ice in it gives nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ...words.brief import brief
from ...words.glossary import ICE_POINT
from .ice import BLOCKED, after, melting, share_of_ice
from .plug import Array, Index

CELL = 15e-6
"""m³ that a cell holds at most, wall and water."""
MOST = 60


@brief
@dataclass(frozen=True)
class Segment:
    """Runs one after the other that serve the same fixtures.

    ``content`` is the water in them, ``held`` that content with the wall's heat as water, m³.
    ``cooling`` is the time in which their warmth falls to 1/e, s; ``air`` is around them.
    """

    name: str
    content: float
    held: float
    cooling: float
    air: float
    length: float = 0.0


@dataclass(frozen=True)
class Pipe:
    """A list of cells in the order in which they leave, with the volume up to each edge."""

    cells: Index
    edges: Array

    @property
    def volume(self) -> float:
        return float(self.edges[-1])


class Lines:
    """The runs of ``trips`` trips, all at their air's temperature at first, in frost as filled.

    ``paths`` has, for each use, its segments from the heater and how many come before mixing,
    ``filled`` the temperature of the water that each trip was filled with, ``loops`` the segments
    of each loop that hot water is brought round.  ``temperature`` is
    that of each cell as long as there is no ice in it, and its heat as ``ice`` tells it.
    ``use`` in the methods goes with ``rows``: indices of uses and of trips.
    """

    def __init__(
        self,
        trips: int,
        segments: tuple[Segment, ...],
        heat_per_volume: float,
        paths: list[tuple[tuple[int, ...], int]],
        filled: Array | None = None,
        loops: list[tuple[int, ...]] | None = None,
    ) -> None:
        counts = [int(np.clip(np.ceil(s.held / CELL), 3, MOST)) for s in segments]
        first = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
        owner = np.repeat(np.arange(len(segments)), counts)
        self.held = np.array([s.held / n for s, n in zip(segments, counts, strict=True)])[owner]
        self.cooling = np.array([s.cooling for s in segments])[owner]
        self.air = np.array([s.air for s in segments])[owner]
        self.heat_per_volume = heat_per_volume
        content = np.array([s.content / n for s, n in zip(segments, counts, strict=True)])[owner]
        self.melts = melting(content, self.held, heat_per_volume)
        self.temperature = np.repeat(np.maximum(self.air, ICE_POINT)[None, :], trips, axis=0)
        self.frost = bool((self.air < ICE_POINT).any())
        if self.frost and filled is not None:
            cold = self.air < ICE_POINT
            self.temperature[:, cold] = np.maximum(filled, ICE_POINT)[:, None]
        self.seen = np.zeros(self.temperature.shape)
        self.lost = np.zeros(trips)
        cells = [np.arange(a, b) for a, b in pairwise(first)]
        self.hot = [self._pipe([cells[i] for i in path[:mix]]) for path, mix in paths]
        self.mixed = [self._pipe([cells[i] for i in path[mix:]]) for path, mix in paths]

        self.way = [
            np.concatenate([mixed.cells, hot.cells])
            for mixed, hot in zip(self.mixed, self.hot, strict=True)
        ]

        self.loops = [
            np.concatenate([[], *(cells[i] for i in path)]).astype(np.intp) for path in loops or ()
        ]
        before: Index = np.array([], dtype=np.intp)
        self.loops_own: list[Index] = []
        for loop in self.loops:
            self.loops_own.append(np.setdiff1d(loop, before))
            before = np.union1d(before, loop)

    def loop_volume(self, loop: int) -> float:
        """What a loop holds, walls as water, m³."""
        return float(self.held[self.loops[loop]].sum())

    def loop_own_volume(self, loop: int) -> float:
        """What a loop holds that is in no loop before it, walls as water, m³."""
        return float(self.held[self.loops_own[loop]].sum())

    def warm_loop(self, loop: int, rows: Index, rise: Array) -> None:
        """Warm what is in no loop before it by some kelvins."""
        self.temperature[rows[:, None], self.loops_own[loop]] += rise[:, None]

    def loop_mean(self, loop: int, rows: Index, now: Array, kept: NDArray[np.bool_]) -> Array:
        """Mean temperature in a loop now, of water and walls.

        In trips where it was ``kept`` warm since it was last seen, it has not cooled by itself.
        """
        cells = self.loops[loop]
        self.seen[rows[kept][:, None], cells] = now[kept][:, None]
        if not kept.all():
            self._cool(rows[~kept], cells, now[~kept])
        held = self.held[cells]
        return np.asarray((self.temperature[rows[:, None], cells] * held).sum(axis=1) / held.sum())

    def loop_frozen(self, loop: int, rows: Index) -> NDArray[np.bool_]:
        """Whether ice blocks a loop, as it was last seen."""
        if not self.frost:
            return np.zeros(len(rows), dtype=bool)
        cells = self.loops[loop]
        heat = self.temperature[rows[:, None], cells]
        return np.asarray((share_of_ice(heat, self.melts[cells]) >= BLOCKED).any(axis=1))

    def fill_loop(self, loop: int, rows: Index, water: Array) -> None:
        """Water of one temperature is all round a loop."""
        self.temperature[rows[:, None], self.loops[loop]] = water[:, None]

    def _pipe(self, parts: list[Index]) -> Pipe:
        """Cells from the outlet back to the heater."""
        cells = np.concatenate([[], *reversed(parts)]).astype(np.intp)
        return Pipe(cells, np.concatenate([[0.0], np.cumsum(self.held[cells])]))

    @staticmethod
    def _by_use(use: Index) -> Iterator[tuple[int, Index]]:
        """Each use that occurs, with its places in ``use``."""
        if len(use) == 1:
            yield int(use[0]), np.zeros(1, dtype=np.intp)
            return
        for one in np.flatnonzero(np.bincount(use)):
            yield int(one), np.flatnonzero(use == one)

    def energy(self, reference: Array) -> Array:
        """Heat held in water and walls above a reference of each trip, J."""
        return self.heat_per_volume * (self.held * (self.temperature - reference[:, None])).sum(
            axis=1
        )

    def _cool(self, rows: Index, cells: Index, now: Array) -> None:
        where = (rows[:, None], cells)
        waited = now[:, None] - self.seen[where]
        if self.frost:
            kept = self.temperature[where]
            own = (self.melts[cells], self.air[cells], self.cooling[cells])
            fall = kept - after(kept, *own, waited)
        else:
            gone = -np.expm1(-waited / self.cooling[cells])
            fall = (self.temperature[where] - self.air[cells]) * gone
        self.temperature[where] -= fall
        self.lost[rows] += self.heat_per_volume * (fall * self.held[cells]).sum(axis=1)
        self.seen[where] = now[:, None]

    def refresh(self, rows: Index, use: Index, now: Array) -> None:
        """Let the runs on the way to some fixtures cool until now."""
        for one, at in self._by_use(use):
            way = self.way[one]
            # whatever the outlet end has seen, all before it has seen too
            if len(way) and not (self.seen[rows[at], way[0]] == now[at]).all():
                self._cool(rows[at], way, now[at])

    def refresh_all(self, now: Array) -> None:
        """Bring every run up to date."""
        rows = np.arange(len(now))
        for way in (*self.way, *self.loops):
            if len(way):
                self._cool(rows, way, now)

    def blocked(self, rows: Index, use: Index, now: Array) -> NDArray[np.bool_]:
        """Whether the way of some uses has as much ice in it as blocks a run."""
        found = np.zeros(len(rows), dtype=bool)
        if not self.frost:
            return found
        self.refresh(rows, use, now)
        for one, at in self._by_use(use):
            way = self.way[one]
            if len(way):
                heat = self.temperature[rows[at][:, None], way]
                found[at] = (share_of_ice(heat, self.melts[way]) >= BLOCKED).any(axis=1)
        return found

    def cold_ahead(
        self, rows: Index, use: Index, warm: Array, *, mixed: bool
    ) -> tuple[Array, NDArray[np.bool_]]:
        """Volume until the first water of ``warm`` or more, and whether there is any."""
        ahead, found = np.zeros(len(rows)), np.zeros(len(rows), dtype=bool)
        for one, at in self._by_use(use):
            pipe = (self.mixed if mixed else self.hot)[one]
            if not len(pipe.cells):
                continue
            hot = self.temperature[rows[at][:, None], pipe.cells] >= warm[at][:, None]
            some = hot.any(axis=1)
            first = np.where(some, hot.argmax(axis=1), len(pipe.cells))
            ahead[at], found[at] = pipe.edges[first], some
        return ahead, found

    def coming(self, rows: Index, use: Index, volume: Array) -> tuple[Array, Array]:
        """Of the next hot ``volume`` where it is mixed: what the runs hold, and its heat, m³ K."""
        held, heat = np.zeros(len(rows)), np.zeros(len(rows))
        for one, at in self._by_use(use):
            pipe = self.hot[one]
            if not len(pipe.cells):
                continue
            taken = np.clip(volume[at][:, None] - pipe.edges[:-1], 0.0, self.held[pipe.cells])
            held[at] = taken.sum(axis=1)
            heat[at] = (taken * self.temperature[rows[at][:, None], pipe.cells]).sum(axis=1)
        return held, heat

    def push(
        self, rows: Index, use: Index, volume: Array, entering: Array, *, mixed: bool
    ) -> Array:
        """Push water along some ways; gives the mean temperature at their ends."""
        out = entering.copy()
        for one, at in self._by_use(use):
            pipe = (self.mixed if mixed else self.hot)[one]
            if not len(pipe.cells):
                continue
            out[at] = self._push(rows[at], pipe, volume[at], entering[at])
        return out

    def _push(self, rows: Index, pipe: Pipe, volume: Array, entering: Array) -> Array:
        """Shift the heat that a pipe holds: what was ``volume`` farther back comes to a place."""
        where = (rows[:, None], pipe.cells)
        temperature = self.temperature[where]
        held = self.held[pipe.cells]
        whole = np.zeros((len(rows), len(held) + 1))
        np.cumsum(temperature * held, axis=1, out=whole[:, 1:])
        place = pipe.edges + volume[:, None]
        within = np.minimum(place, pipe.volume)
        cell = np.minimum(np.searchsorted(pipe.edges, within, side="right") - 1, len(held) - 1)
        trip = np.arange(len(rows))[:, None]
        heat = (
            whole[trip, cell]
            + temperature[trip, cell] * (within - pipe.edges[cell])
            + entering[:, None] * (place - within)
        )
        self.temperature[where] = np.diff(heat, axis=1) / held
        return np.asarray(heat[:, 0] / volume)
