"""Hot water that is brought round through the days, in the hours of its pump.

While a pump runs its loop is as warm as the water that leaves the store, and what the loop loses
is lost by the store, whose water it is.  When the pump starts, the cooled water of the loop goes
back into the store below and hot water comes after it; when it stops, the runs cool by themselves
like any others.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...words.unit_table import DAY
from ..hot_runs.lines import Lines
from ..hot_runs.plug import Array
from .heaters import Heaters
from .heating import Clock
from .plant import Plant

Rows = NDArray[np.intp]


FALLS = 0.05
"""Share of its warmth that a store may lose before its loop is looked at again."""


class Rounds:
    """The recirculation pumps of each trip.  ``running`` has the shape (pumps, trips)."""

    def __init__(self, plant: Plant, heating: Heaters, lines: Lines) -> None:
        self.plant, self.heating, self.lines = plant, heating, lines
        self.running = np.zeros((len(plant.rounds), len(heating.vary.cold)), dtype=bool)

    def turn(self, clock: Clock, piece: Rows, now: Array, able: NDArray[np.bool_]) -> None:
        """Let the pumps run whose hours it is, in trips that are able to, and bring water round."""
        if not len(self.running):
            return
        kept = self.running.copy()
        for n in range(len(self.running)):
            self.running[n] = able & clock.open[f"round {n}"][piece]
            rows = np.flatnonzero(self.running[n] | kept[n])
            if len(rows):
                self._bring(n, rows, now[rows], kept[n][rows])
        self._lose()

    def _bring(self, n: int, rows: Rows, now: Array, kept: NDArray[np.bool_]) -> None:
        """Change the water of a loop for the store's, in the trips in which its pump runs."""
        mean = self.lines.loop_mean(n, rows, now, kept)
        self.running[n][rows] &= ~self.lines.loop_frozen(n, rows)
        runs = self.running[n][rows]
        if not runs.any():
            return
        rows, mean = rows[runs], mean[runs]
        volume = np.full(len(rows), self.lines.loop_volume(n))
        store = self.heating.each[self.plant.rounds[n].heater]
        self.lines.fill_loop(n, rows, store.bring_round(rows, volume, mean))

    def _lose(self) -> None:
        """What runs now is lost by the stores."""
        for number, heating in enumerate(self.heating.each):
            mine = [n for n, one in enumerate(self.plant.rounds) if one.heater == number]
            if mine:
                loss = np.array([self.plant.rounds[n].loss for n in mine])
                heating.lose(loss @ self.running[mine])

    def longest(self) -> Array:
        """Longest step in which a loop stays about as warm as the store that it is part of."""
        step = np.full(self.running.shape[1], DAY)
        for n, running in enumerate(self.running):
            one = self.plant.rounds[n]
            heater = self.plant.heaters[one.heater]
            held = self.plant.heat_per_volume * heater.volume
            step[running] = np.minimum(step[running], FALLS * held / (heater.loss + one.loss))
        return step

    def stop(self, now: Array) -> None:
        """The end: what was kept warm until now has not cooled by itself."""
        for n in range(len(self.running)):
            rows = np.flatnonzero(self.running[n])
            if len(rows):
                self.lines.loop_mean(n, rows, now[rows], np.ones(len(rows), dtype=bool))
