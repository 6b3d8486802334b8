"""Water, charge and fuel aboard through the days, and what fails when one of them ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..hot_runs.plug import Array, some
from .outcome import Outcome, Variation
from .plant import DAY, Plant

DROP = 1e-9
"""m³ under which a tank counts as dry, or as full."""
REVIVED = 0.05
"""Share of its capacity that a flat battery must gain before it serves again (assumed)."""


@dataclass(frozen=True)
class Streams:
    """What flows at the open taps of each trip, m³/s, and where it goes.

    ``to_grey`` tells whether a grey tank takes it, ``returning`` whether it goes back to the
    fresh one.
    """

    flow: Array
    to_grey: NDArray[np.bool_]
    returning: NDArray[np.bool_]


class Supplies:
    """Tank levels, battery and fuel of each trip.

    ``fresh`` is what the pump can still reach.  A flat battery serves nothing until it has
    been charged a little.  Whatever the battery or the grey tank can't take is not lost
    count of.
    """

    def __init__(self, plant: Plant, vary: Variation, out: Outcome) -> None:
        trips = len(vary.cold)
        self.plant, self.out = plant, out
        battery = plant.battery
        self.filling = plant.fresh_start * vary.fresh
        self.load = vary.load
        self.fresh = self.filling.copy()
        self.grey = np.zeros(trips)
        self.charge = battery.full * vary.charge if battery is not None else np.zeros(trips)
        self.fuel = np.full(trips, plant.fuel)
        self.flat = np.zeros(trips, dtype=bool)
        self.charging = np.zeros(trips, dtype=bool)
        self._income, self._outgo = np.zeros(trips), np.zeros(trips)
        self.period = plant.days * DAY
        self.next_fill = np.full(trips, self.period)
        out.fresh_start[:] = self.fresh
        out.charge_start[:] = self.charge
        out.fuel_start[:] = self.fuel
        if battery is not None:
            self.flat = self.charge <= battery.empty
            out.fail("battery flat", self.flat, np.zeros(trips)[self.flat])

    def longest(self, flow: Array, electric: Array, fuel: Array, now: Array) -> Array:
        """Longest step before the tank, the battery or the fuel would be empty.

        Also settles what the battery takes and gives in the coming step.
        """
        step = np.where(flow > 0, np.maximum(self.fresh, 0.0) / np.maximum(flow, 1e-12), DAY)
        if some(fuel):
            lasts = self.fuel / np.maximum(fuel, 1e-12)
            step = np.where(fuel > 0, np.minimum(step, lasts), step)
        battery = self.plant.battery
        if battery is not None:
            self._income = battery.charge_power * self.charging
            self._outgo = np.where(self.flat, 0.0, electric + battery.other_load * self.load)
            short = self._outgo - self._income
            lasts = np.maximum(self.charge - battery.empty, 0.0) / np.maximum(short, 1e-12)
            step = np.where((short > 0) & ~self.flat, np.minimum(step, lasts), step)
        until = self.next_fill - now  # over already where a draw is still going on
        return np.where(until > 0, np.minimum(step, until), step)

    def advance(self, now: Array, step: Array, streams: Streams, fuel: Array) -> None:
        """Let levels and charge change over a step that ``longest`` has looked at."""
        self._move_water(now, step, streams)
        self._move_charge(now, step)
        if not some(fuel):
            return
        burned = np.minimum(fuel * step, np.where(np.isfinite(self.fuel), self.fuel, np.inf))
        had = self.fuel > 1e-9
        self.fuel = self.fuel - burned
        self.out.fuel_used += burned
        gone = had & (self.fuel <= 1e-9)
        if some(gone):
            self.fuel[gone] = np.maximum(self.fuel[gone], 0.0)
            self.out.fail("fuel out", gone, (now + step)[gone])

    def _move_water(self, now: Array, step: Array, streams: Streams) -> None:
        volume = streams.flow * step
        if not some(volume):
            return
        out = self.out
        returned = np.where(streams.returning, volume, 0.0)
        out.water_taken += volume
        out.water_returned += returned
        self.fresh = self.fresh - volume + returned
        to_grey = np.where(streams.to_grey & ~streams.returning, volume, 0.0)
        out.grey_elsewhere += volume - returned - to_grey
        out.grey_in += to_grey
        room = np.maximum(self.plant.grey - self.grey, 0.0)
        kept = np.minimum(to_grey, room)
        over = (to_grey > room + DROP) & (streams.flow > 0)
        if some(over):
            when = now + room / np.where(over, streams.flow, 1.0)
            out.fail("grey full", over, when[over])
        self.grey = self.grey + kept
        out.grey_spilt += to_grey - kept

    def _move_charge(self, now: Array, step: Array) -> None:
        battery = self.plant.battery
        if battery is None:
            return
        out = self.out
        income, outgo = self._income, self._outgo
        used = outgo * step
        taken = np.minimum(income * step, battery.full - self.charge + used)
        self.charge = self.charge + taken - used
        out.charge_in += taken
        out.charge_used += used
        self.flat &= self.charge < battery.empty + REVIVED * battery.full
        fresh_flat = ~self.flat & (self.charge <= battery.empty + 1e-3) & (outgo > income)
        if some(fresh_flat):
            self.flat |= fresh_flat
            out.fail("battery flat", fresh_flat, (now + step)[fresh_flat])

    def dry(self, rows: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Whether nothing is left that the pump can reach."""
        return np.asarray(self.fresh[rows] <= DROP)

    def due(self, now: Array) -> NDArray[np.bool_]:
        """Whether a stay is over."""
        return np.asarray(now >= self.next_fill - 1e-6)

    def refill(self, now: Array, busy: NDArray[np.bool_]) -> None:
        """Fill the fresh tank and empty the grey one when a stay is over.

        It waits while a trip is busy with a draw, or over.
        """
        due = self.due(now) & ~busy
        if not some(due):
            return
        self.out.water_refilled += np.where(due, self.filling - self.fresh, 0.0)
        self.out.grey_emptied += np.where(due, self.grey, 0.0)
        self.fresh = np.where(due, self.filling, self.fresh)
        self.grey = np.where(due, 0.0, self.grey)
        self.next_fill = np.where(due, self.next_fill + self.period, self.next_fill)
