"""How long one waits for hot water: the cold that must run off first, and a heater's slow start."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..formulas.runs_heat import slow_start
from .heating import Heating
from .lines import Lines
from .outcome import Variation
from .plant import Plant
from .plug import Array, Index


class Waiting:
    """Waits for the uses of a plant.  Arrays of uses; not a number where a use has none."""

    def __init__(self, plant: Plant, lines: Lines, heating: Heating, vary: Variation) -> None:
        self.plant, self.lines, self.heating, self.vary = plant, lines, heating, vary
        nan = float("nan")
        uses = plant.uses
        self.long = np.array([len(u.path) for u in uses] or [0])
        self.mix_at = np.array([u.mix_at for u in uses] or [0])
        self.share = np.array([nan if u.share is None else u.share for u in uses] or [nan])
        self.setting = np.array([nan if u.setting is None else u.setting for u in uses] or [nan])
        self.wanted = np.array([nan if u.wanted is None else u.wanted for u in uses] or [nan])
        self.part = np.where(np.isnan(self.share), 1.0, self.share)
        self.rated = np.array([u.flow for u in uses] or [1.0])
        self.is_warm = ~np.isnan(self.wanted) & (self.long > 0)

    def warm(self, use: Index) -> NDArray[np.bool_]:
        """Whether a use wants warm water and hot water comes to it."""
        return np.asarray(self.is_warm[use])

    def _goal(self, use: Index) -> Array:
        """Temperature that counts as arrived at the outlet."""
        return np.fmin(self.wanted[use], self.setting[use]) - self.plant.options.arrived

    def _hot_goal(self, rows: Index, use: Index) -> Array:
        """Temperature that is waited for where water is mixed.

        A valve that was set once needs hotter water, as hot as its share of cold makes it
        need, but no hotter than there is.
        """
        cold, goal = self.vary.cold[rows], self._goal(use)
        hotter = cold + (goal - cold) / np.fmax(self.share[use], 1e-3)
        flow = self.rated[use] * self.vary.flow[rows] * self.part[use]
        top = np.maximum(self.heating.best(rows, flow) - self.plant.options.arrived, cold + 1.0)
        return np.where(np.isnan(self.share[use]), goal, np.minimum(hotter, top))

    def to_mixing(self, rows: Index, use: Index, now: Array) -> Array:
        """Seconds until hot water stands where it is mixed."""
        wait = np.zeros(len(rows))
        warm = self.warm(use)
        if not warm.any() or self.plant.heater is None:
            return wait
        rows, use, now = rows[warm], use[warm], now[warm]
        goal = self._hot_goal(rows, use)
        self.lines.refresh(rows, use, now)
        ahead, found = self.lines.cold_ahead(rows, use, goal, mixed=False)
        flow = self.rated[use] * self.vary.flow[rows] * self.part[use]
        wait[warm] = ahead / flow + np.where(found, 0.0, self._slow_start(rows, flow, goal))
        return np.minimum(wait, self.plant.options.patience)

    def to_outlet(self, rows: Index, use: Index, now: Array) -> Array:
        """Seconds until mixed water has come from a valve to its outlet."""
        wait = np.zeros(len(rows))
        some = self.warm(use) & (self.mix_at[use] < self.long[use])
        if not some.any() or self.plant.heater is None:
            return wait
        rows, use, now = rows[some], use[some], now[some]
        self.lines.refresh(rows, use, now)
        ahead, _ = self.lines.cold_ahead(rows, use, self._goal(use), mixed=True)
        wait[some] = ahead / (self.rated[use] * self.vary.flow[rows])
        return np.minimum(wait, self.plant.options.patience)

    def _slow_start(self, rows: Index, flow: Array, goal: Array) -> Array:
        """Seconds that a flow-through heater takes to make water of a temperature."""
        heater, store = self.plant.heater, self.heating.store
        if heater is None or store is None or not heater.flow_through:
            return np.zeros(len(rows))
        cold = self.vary.cold[rows]
        rate = flow / store.volume
        start = cold + (store.bottom[rows] - cold) * np.exp(-rate * heater.start_delay)
        power = heater.burner_heat if heater.burner_heat > 0 else heater.element_power
        final = cold + power / (self.plant.heat_per_volume * flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            time = slow_start.si(store.volume, flow, final - start, final - goal)
        time = np.where((final > goal) & (flow >= heater.flow_least), np.maximum(time, 0.0), 0.0)
        already = store.bottom[rows] >= goal
        return np.where(already, 0.0, heater.start_delay + time)
