"""All heaters of a van through the days: each with its store, its hours and what it draws on.

At any time one use is going on in a trip.  Its hot water comes from one heater, or a part of it
from each of several that stand side by side, and has passed those before it where one feeds
another: what leaves the first comes into the next.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...words.unit_table import DAY
from ..hot_runs.plug import Array
from .heating import Clock, Heating
from .outcome import Outcome, Variation
from .plant import Plant

Rows = NDArray[np.intp]


class Heaters:
    """The heaters of each trip, in the plant's order.  Without any all water stays cold.

    ``use`` in the methods goes with ``rows``: indices of uses and of trips.
    """

    def __init__(self, plant: Plant, vary: Variation) -> None:
        self.plant, self.vary = plant, vary
        self.each = tuple(Heating(plant, n, vary) for n in range(len(plant.heaters)))
        self.of_use = np.array([use.heater for use in plant.uses] or [0], dtype=np.intp)
        chains = [self._chain(n) for n in range(len(self.each))]
        self.order = sorted(range(len(self.each)), key=lambda n: len(chains[n]))
        shape = (max(len(plant.uses), 1), len(self.each))
        self.gives, self.passes = np.zeros(shape), np.zeros(shape)
        for place, use in enumerate(plant.uses if self.each else ()):
            for number, part in use.heaters or ((use.heater, 1.0),):
                self.gives[place, number] = part
                self.passes[place, list(chains[number])] += part
        self._fuel_rates: list[Array] = []
        self._elements: list[Array] = []

    def _chain(self, number: int) -> tuple[int, ...]:
        """The heaters that water passes, the last one last."""
        before = self.plant.heaters[number].before
        return (*(self._chain(before) if before is not None else ()), number)

    def _hot(self, n: int, hot: Array, use: Rows) -> Array:
        """The hot flows of those trips whose water passes one heater."""
        return hot if len(self.each) == 1 else self.passes[use, n] * hot

    def _split(self, use: Rows) -> list[tuple[Heating, NDArray[np.intp], Array]]:
        """Each heater that some uses take hot water of, their places, and the part it gives."""
        if len(self.each) == 1:
            return [(self.each[0], np.arange(len(use)), np.ones(len(use)))]
        found = []
        for n, heating in enumerate(self.each):
            part = self.gives[use, n]
            at = np.flatnonzero(part > 0)
            if len(at):
                found.append((heating, at, part[at]))
        return found

    def top(self, rows: Rows, use: Rows) -> Array:
        """Temperature of the water that would leave the heaters of each use next."""
        found = np.zeros(len(rows))
        for heating, at, part in self._split(use):
            found[at] += part * heating.top()[rows[at]]
        return found

    def best(self, rows: Rows, use: Rows, flow: Array) -> Array:
        """The warmest water that the heaters of each use can give for long at a flow."""
        found = np.zeros(len(rows))
        for heating, at, part in self._split(use):
            found[at] += part * heating.best(rows[at], part * flow[at])
        return found

    def coming(self, rows: Rows, use: Rows, volume: Array, flow: Array) -> Array:
        """Mean temperature of the next hot water of each use's heaters at about that flow."""
        found = np.zeros(len(rows))
        for heating, at, part in self._split(use):
            found[at] += part * heating.coming(rows[at], part * volume[at], part * flow[at])
        return found

    def switch(self, clock: Clock, piece: Rows, *, flat: NDArray[np.bool_], fuel: Array) -> None:
        """Let thermostats and windows of every heater decide what is on from now."""
        for heating in self.each:
            before = heating.heater.before
            if before is not None:
                heating.inlet = self.each[before].top().copy()
            heating.switch(clock, piece, flat=flat, fuel=fuel)

    def longest(self, hot: Array, use: Rows, since: Array) -> Array:
        """Longest step before any thermostat would switch, with these hot flows."""
        step = np.full(hot.shape, DAY)
        for n, heating in enumerate(self.each):
            mine = self._hot(n, hot, use)
            step = np.minimum(step, heating.longest(mine, since, self.plant.options))
        return step

    def modulate(self, hot: Array, use: Rows, since: Array, step: Array) -> None:
        """Decide what flow-through heaters give in a coming step."""
        for n, heating in enumerate(self.each):
            heating.modulate(self._hot(n, hot, use), since, step)

    def draws_on(self) -> tuple[Array, Array]:
        """Electric power from the battery, and fuel a second of what is counted aboard."""
        electric = fuel = np.zeros(len(self.vary.cold))
        self._fuel_rates, self._elements = [], []
        for heating in self.each:
            element, control, burned = heating.draws_on()
            self._elements.append(element)
            self._fuel_rates.append(burned)
            electric = electric + element + control
            if heating.heater.carried:
                fuel = fuel + burned
        return electric, fuel

    def rest(self, step: Array, hot: Array, use: Rows) -> None:
        """Heat and cool for a step; what flows is heated in ``draw``."""
        for n, heating in enumerate(self.each):
            heating.rest(step, self._hot(n, hot, use) > 0)
            heating.fuel += self._fuel_rates[n] * step
            heating.element += self._elements[n] * step

    def draw(self, rows: Rows, use: Rows, volume: Array, step: Array) -> Array:
        """Take hot water for a step; gives its mean temperature."""
        found = np.zeros(len(rows))
        left: dict[int, Array] = {}
        for n in self.order:  # those before another one first
            passing = self.passes[use, n]
            at = np.flatnonzero(passing > 0)
            if not len(at):
                continue
            before, here = self.plant.heaters[n].before, rows[at]
            entering = self.vary.cold[here] if before is None else left[before][at]
            left[n] = np.zeros(len(rows))
            left[n][at] = self.each[n].draw(here, passing[at] * volume[at], step[at], entering)
            found += self.gives[use, n] * left[n]
        return found

    def power(self) -> Array:
        """Heat that all heaters give now, W."""
        return np.asarray(sum((one.power for one in self.each), np.zeros(len(self.vary.cold))))

    def tops(self) -> Array:
        """Temperature at the top of each heater, shape (trips, heaters)."""
        return self._columns([one.top() for one in self.each])

    def means(self) -> Array:
        """Mean temperature in each heater, shape (trips, heaters)."""
        return self._columns([one.mean() for one in self.each])

    def energy(self) -> Array:
        """Heat held above the cold water in each heater, J, shape (trips, heaters)."""
        return self._columns([one.energy() for one in self.each])

    def settle(self, out: Outcome) -> None:
        """Note in the outcome what each heater gave, lost and burned."""
        out.heater_in[:] = self._columns([one.given for one in self.each])
        out.heater_out[:] = self._columns([one.taken for one in self.each])
        out.heater_lost[:] = self._columns([one.lost for one in self.each])
        out.heater_burning[:] = self._columns([one.burned for one in self.each])
        out.heater_fuel[:] = self._columns([one.fuel for one in self.each])
        out.heater_element[:] = self._columns([one.element for one in self.each])
        out.heater_end[:] = self.energy()

    def _columns(self, values: list[Array]) -> Array:
        trips = len(self.vary.cold)
        return np.stack(values, axis=1) if values else np.zeros((trips, 0))

    @property
    def through(self) -> NDArray[np.bool_]:
        """Whether the hot water of each use comes from a flow-through heater."""
        kinds = np.array([heater.flow_through for heater in self.plant.heaters] or [False])
        return np.asarray(kinds[self.of_use])

    def delays(self) -> Array:
        """Delay of the start of each use's heater, s."""
        found = np.array([heater.start_delay for heater in self.plant.heaters] or [0.0])
        return np.asarray(found[self.of_use])
