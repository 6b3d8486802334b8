"""Runs of hot and mixed water: plugs that warm the tube as they go, and cool between draws.

The wall of a tube takes the temperature of its water as a front passes, which holds the
front back: a run behaves as if it held its content times one plus the ratio of the heat of
wall and water.  That is where the wait beyond the bare content comes from.  At rest each run
cools towards its air as an exponential with its own time.

Runs are shared: the first from the heater to a manifold serves every fixture behind it.
Between draws nothing moves, so a run is only brought up to date when it is used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .plug import Array, Index, push, volumes

CELLS = 8


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


class Lines:
    """The runs of ``trips`` trips, all at their air's temperature at first."""

    def __init__(
        self, trips: int, segments: tuple[Segment, ...], heat_per_volume: float, cold: Array
    ) -> None:
        self.held = np.array([s.held for s in segments])
        self.cooling = np.array([s.cooling for s in segments])
        self.air = np.array([s.air for s in segments])
        self.heat_per_volume = heat_per_volume
        count = len(segments)
        self.temperature = (
            np.broadcast_to(self.air[:, None], (trips, count, CELLS + 1)).astype(float).copy()
        )
        self.fill = np.ones((trips, count))
        self.seen = np.zeros((trips, count))
        self.lost = np.zeros(trips)
        self.cold = cold

    def energy(self, reference: Array) -> Array:
        """Heat held in water and walls above a reference of each trip, J."""
        total = np.zeros(self.fill.shape[0])
        for one in range(len(self.held)):
            shares = volumes(self.fill[:, one], CELLS) * self.held[one] / CELLS
            total += (shares * (self.temperature[:, one] - reference[:, None])).sum(axis=1)
        return self.heat_per_volume * total

    def refresh(self, rows: Index, which: Index, now: Array) -> None:
        """Let some runs cool from when they were last seen until now."""
        waited = now - self.seen[rows, which]
        if not waited.any():
            return
        decay = np.exp(-waited / self.cooling[which])
        air = self.air[which]
        warm = self.temperature[rows, which] - air[:, None]
        shares = volumes(self.fill[rows, which], CELLS)
        heat = (shares * warm).sum(axis=1) * self.held[which] / CELLS * self.heat_per_volume
        self.lost[rows] += heat * (1.0 - decay)
        self.temperature[rows, which] = air[:, None] + warm * decay[:, None]
        self.seen[rows, which] = now

    def refresh_all(self, now: Array) -> None:
        """Bring every run up to date."""
        rows = np.arange(self.fill.shape[0])
        for one in range(len(self.held)):
            self.refresh(rows, np.full(rows.shape, one), now)

    def cold_ahead(self, rows: Index, which: Index, warm: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Volume until the first water of ``warm`` or more, and whether there is any."""
        shares = volumes(self.fill[rows, which], CELLS)
        hot = (self.temperature[rows, which] >= warm[:, None]) & (shares > 1e-9)
        first = np.where(hot, np.arange(CELLS + 1), CELLS + 1).min(axis=1)
        before = np.where(np.arange(CELLS + 1) < first[:, None], shares, 0.0).sum(axis=1)
        return before * self.held[which] / CELLS, np.asarray(hot.any(axis=1))

    def push(self, rows: Index, which: Index, volume: Array, entering: Array) -> Array:
        """Push water through some runs; gives the mean temperature at their outlets."""
        temperature, fill, out = push(
            self.temperature[rows, which],
            self.fill[rows, which],
            volume * CELLS / self.held[which],
            entering,
        )
        self.temperature[rows, which] = temperature
        self.fill[rows, which] = fill
        return out

    def coming(self, rows: Index, which: Index, volume: Array) -> tuple[Array, Array]:
        """Of the next ``volume`` at their outlets: how much they hold, and its heat (m³ K)."""
        shares = volumes(self.fill[rows, which], CELLS) * (self.held[which] / CELLS)[:, None]
        before = np.cumsum(shares, axis=1) - shares
        taken = np.clip(volume[:, None] - before, 0.0, shares)
        return taken.sum(axis=1), (taken * self.temperature[rows, which]).sum(axis=1)
