"""Hot water that is brought round through the days, in the hours of its pump.

While a pump runs and no tap does, what goes round is mixed within minutes: store and loop warm and
cool as one body, which loses what both lose.  While a tap runs too, hot water leaves the store for
the loop above, and the loop's goes back into it below.  When the pump stops, the runs cool by
themselves like any others.
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


TURNED = 900.0
"""Seconds after which the water of a loop is mixed with the store's again.

A pump sends the water of a small store round once in some minutes.
"""


class Rounds:
    """The recirculation pumps of each trip.  ``running`` has the shape (pumps, trips)."""

    def __init__(self, plant: Plant, heating: Heaters, lines: Lines) -> None:
        self.plant, self.heating, self.lines = plant, heating, lines
        self.running = np.zeros((len(plant.rounds), len(heating.vary.cold)), dtype=bool)
        self.mixed = np.zeros(self.running.shape, dtype=bool)
        self.loops: list[tuple[int, Rows, Array]] = []
        for number in range(len(plant.heaters)):
            mine = [n for n, one in enumerate(plant.rounds) if one.heater == number]
            if mine:
                loss = np.array([plant.rounds[n].loss for n in mine])
                self.loops.append((number, np.array(mine), loss))

    def turn(
        self, clock: Clock, piece: Rows, now: Array, able: NDArray[np.bool_], hot: Array
    ) -> None:
        """Let the pumps run whose hours it is, in trips that are able to, and bring water round.

        ``hot`` is what flows of hot water to taps, m³/s.
        """
        if not len(self.running):
            return
        kept = self.running.copy()
        self._follow()
        for n in range(len(self.running)):
            self.mixed[n] = False
            self.running[n] = able & clock.open[f"round {n}"][piece]
            rows = np.flatnonzero(self.running[n] | kept[n])
            if len(rows):
                self._bring(n, rows, now[rows], kept[n][rows], hot[rows] > 0)
        self._lose()

    def _bring(
        self, n: int, rows: Rows, now: Array, kept: NDArray[np.bool_], in_use: NDArray[np.bool_]
    ) -> None:
        """Bring the water of a loop round, in the trips in which its pump runs."""
        mean = self.lines.loop_mean(n, rows, now, kept)
        self.running[n][rows] &= ~self.lines.loop_frozen(n, rows)
        runs = self.running[n][rows]
        store = self.heating.each[self.plant.rounds[n].heater]
        volume = self.lines.loop_volume(n)
        for some, bring in ((runs & in_use, store.bring_round), (runs & ~in_use, store.mix_round)):
            if some.any():
                self.lines.fill_loop(n, rows[some], bring(rows[some], volume, mean[some]))
        self.mixed[n][rows] = runs & ~in_use

    def _follow(self) -> None:
        """Let the water of the loops become as much warmer or colder as its store's has."""
        for number, mine, _ in self.loops:
            rise = self.heating.each[number].loops_rise()
            for n in mine:
                rows = np.flatnonzero(self.mixed[n])
                if len(rows):
                    self.lines.warm_loop(n, rows, rise[rows])

    def _lose(self) -> None:
        """What runs now belongs to the stores: what it loses, and its water once it is mixed.

        A loop that has the store's hottest water while a tap runs must not warm with the rest of
        the store, if it should be heated before the two are mixed again.
        """
        for number, mine, loss in self.loops:
            held = np.array([self.lines.loop_own_volume(n) for n in mine])
            lost, beside = loss @ self.running[mine], held @ self.mixed[mine]
            self.heating.each[number].go_round(lost, beside)

    def longest(self) -> Array:
        """Longest step before the water of a loop is changed again."""
        return np.where(self.running.any(axis=0), TURNED, DAY)

    def stop(self, now: Array) -> None:
        """The end: what was kept warm until now has not cooled by itself."""
        self._follow()
        for n in range(len(self.running)):
            rows = np.flatnonzero(self.running[n])
            if len(rows):
                self.lines.loop_mean(n, rows, now[rows], np.ones(len(rows), dtype=bool))
