"""Water, charge and fuel aboard through the days, and what fails when one of them ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...words.unit_table import DAY
from ..hot_runs.plug import Array, some
from .outcome import Outcome, Variation
from .plant import Plant

DROP = 1e-9
"""m³ under which a tank counts as dry, or as full."""
REVIVED = 0.05
"""Share of its capacity that a flat battery must gain before it serves again (assumed)."""


@dataclass(frozen=True)
class Streams:
    """What flows at the open taps of each trip, m³/s, and where it goes.

    ``hot`` is what goes through a heater of the ``flow``, ``use`` the use that it is for.
    ``to_grey`` tells whether a grey tank takes it, ``returning`` whether it goes back to where
    it came from.
    """

    flow: Array
    hot: Array
    use: NDArray[np.intp]
    to_grey: NDArray[np.bool_]
    returning: NDArray[np.bool_]


def _table(rows: list[tuple[int, ...]]) -> NDArray[np.intp]:
    """Lists of numbers as rows of a table, the short ones filled up with -1."""
    wide = max((len(row) for row in rows), default=0)
    return np.array([[*row, *[-1] * (wide - len(row))] for row in rows], dtype=np.intp).reshape(
        len(rows), wide
    )


class _Sides:
    """Which tanks and pumps the two sides of each use draw on, as tables; uses lead."""

    def __init__(self, plant: Plant) -> None:
        uses = plant.uses
        self.hot = _table([use.hot_from if use.takes_hot else () for use in uses] or [()])
        self.cold = _table([use.cold_from for use in uses] or [()])
        self.takes_hot = np.array([use.takes_hot for use in uses] or [False])
        self.takes_cold = np.array([use.takes_cold for use in uses] or [False])
        self.unfed = np.array(
            [
                (use.takes_hot and not use.hot_from) or (use.takes_cold and not use.cold_from)
                for use in uses
            ]
            or [False]
        )
        parts = (max(len(uses), 1), len(plant.tanks))
        self.hot_parts, self.cold_parts = np.zeros(parts), np.zeros(parts)
        for n, use in enumerate(uses):
            for table, said in ((self.hot_parts, use.hot_parts), (self.cold_parts, use.cold_parts)):
                for tank, part in said:
                    table[n, tank] = part
        self.by_level = {n: use.by_level for n, use in enumerate(uses) if use.by_level is not None}
        self.level_step = np.full(parts, np.inf)
        for n, one in self.by_level.items():
            self.level_step[n] = [one.step(tank) for tank in range(len(plant.tanks))]
        shape = (max(len(uses), 1), len(plant.pumps))
        self.hot_pumps, self.cold_pumps = np.zeros(shape), np.zeros(shape)
        for n, use in enumerate(uses):
            self.hot_pumps[n, list(use.hot_pumps)] = 1.0
            self.cold_pumps[n, list(use.cold_pumps)] = 1.0
        self.lifted = np.array(
            [
                bool((use.takes_hot and use.hot_pumps) or (use.takes_cold and use.cold_pumps))
                for use in uses
            ]
            or [False]
        )


class Supplies:
    """Tank levels, battery and fuel of each trip.

    ``fresh`` is what can still be pumped from each of the plant's tanks, shape (trips, tanks).
    ``by_hours`` is what parts with hours of their own draw now, W.
    A flat battery serves nothing that an electric pump lifts until it has been charged a little.
    Whatever the battery or the grey tank can't take is not lost count of.
    """

    def __init__(self, plant: Plant, vary: Variation, out: Outcome) -> None:
        trips = len(vary.cold)
        self.plant, self.out = plant, out
        battery = plant.battery
        self.sides = _Sides(plant)
        self.shore = np.array([tank.shore for tank in plant.tanks], dtype=bool)
        starts = np.array([tank.start for tank in plant.tanks])
        self.filling = vary.fresh[:, None] * starts
        self.effort = np.array([pump.power / pump.flow for pump in plant.pumps])
        self.drawn = np.zeros(self.filling.shape)
        self.lifting = np.zeros((trips, len(plant.pumps)))
        self.load = vary.load
        self.fresh = self.filling.copy()
        self.grey = np.zeros(trips)
        self.charge = battery.full * vary.charge if battery is not None else np.zeros(trips)
        self.fuel = np.full(trips, plant.fuel)
        self.flat = np.zeros(trips, dtype=bool)
        self.charging = np.zeros(trips, dtype=bool)
        self.by_hours = np.zeros(trips)
        self._income, self._outgo = np.zeros(trips), np.zeros(trips)
        self.period = plant.days * DAY
        self.next_fill = np.full(trips, self.period)
        out.tank_start[:] = self.fresh
        out.charge_start[:] = self.charge
        out.fuel_start[:] = self.fuel
        if battery is not None:
            self.flat = self.charge <= battery.empty
            out.fail("battery flat", self.flat, np.zeros(trips)[self.flat])

    def open(self, streams: Streams) -> None:
        """Settle which tanks give the water of the coming step, and which pumps lift it."""
        self.streams = streams
        self.drawn = np.zeros(self.fresh.shape)
        self.lifting = np.zeros(self.lifting.shape)
        rows = np.flatnonzero(streams.flow > 0)
        if not len(rows):
            return
        use, hot = streams.use[rows], streams.hot[rows]
        cold = streams.flow[rows] - hot
        for order, flow, is_hot in ((self.sides.hot, hot, True), (self.sides.cold, cold, False)):
            at, found = self._first(order, rows, use)
            self.drawn[rows[found]] += flow[found, None] * self._given(
                rows[found], use[found], at[found], hot=is_hot
            )
        if len(self.effort):
            self.lifting[rows] = (
                hot[:, None] * self.sides.hot_pumps[use]
                + cold[:, None] * self.sides.cold_pumps[use]
            )

    def _given(
        self,
        rows: NDArray[np.intp],
        use: NDArray[np.intp],
        first: NDArray[np.intp],
        *,
        hot: bool,
    ) -> Array:
        """What part each tank gives, shape (rows, tanks): as the network says at these levels of
        those that are not empty, else all from the first."""
        there = self.shore | (self.fresh[rows] > DROP)
        parts = (self.sides.hot_parts if hot else self.sides.cold_parts)[use]
        for number, table in self.sides.by_level.items():
            mine = use == number
            if mine.any():
                parts[mine] = table.at(self.fresh[rows[mine]], hot=hot)
        given = np.where(there, parts, 0.0)
        whole = given.sum(axis=1)
        alone = whole <= 0
        given[alone, first[alone]] = 1.0
        return np.asarray(given / np.where(alone, 1.0, whole)[:, None])

    def _first(
        self, order: NDArray[np.intp], rows: NDArray[np.intp], use: NDArray[np.intp]
    ) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """The first of each use's tanks that is not empty, and whether there is one."""
        at = np.zeros(len(rows), dtype=np.intp)
        found = np.zeros(len(rows), dtype=bool)
        for place in range(order.shape[1]):
            tank = order[use, place]
            good = ~found & (tank >= 0) & (self.shore[tank] | (self.fresh[rows, tank] > DROP))
            at[good] = tank[good]
            found |= good
        return at, found

    def pumping(self) -> Array:
        """Power of the pumps that lift water in the coming step, W."""
        if not len(self.effort):
            return np.zeros(len(self.charge))
        return np.asarray(self.lifting @ self.effort)

    def longest(self, electric: Array, fuel: Array, now: Array) -> Array:
        """Longest step before a tank, the battery or the fuel would be empty.

        Also settles what the battery takes and gives in the coming step.
        """
        step = np.full(len(self.charge), DAY)
        if some(self.drawn):
            falls = (self.drawn > 0) & ~self.shore
            lasts = np.maximum(self.fresh, 0.0) / np.maximum(self.drawn, 1e-12)
            step = np.where(falls, lasts, DAY).min(axis=1, initial=DAY)
            if self.sides.by_level:  # what each gives follows the levels
                moves = self.sides.level_step[self.streams.use] / np.maximum(self.drawn, 1e-12)
                step = np.minimum(step, np.where(falls, moves, DAY).min(axis=1, initial=DAY))
        if some(fuel):
            lasts = self.fuel / np.maximum(fuel, 1e-12)
            step = np.where(fuel > 0, np.minimum(step, lasts), step)
        battery = self.plant.battery
        if battery is not None:
            self._income = battery.charge_power * self.charging
            steady = (battery.other_load + self.by_hours) * self.load
            self._outgo = np.where(self.flat, 0.0, electric + steady)
            short = self._outgo - self._income
            lasts = np.maximum(self.charge - battery.empty, 0.0) / np.maximum(short, 1e-12)
            step = np.where((short > 0) & ~self.flat, np.minimum(step, lasts), step)
        until = self.next_fill - now  # over already where a draw is still going on
        return np.where(until > 0, np.minimum(step, until), step)

    def advance(self, now: Array, step: Array, fuel: Array) -> None:
        """Let levels and charge change over a step that ``longest`` has looked at.

        ``fuel`` is what is burned a second of that which is counted aboard.
        """
        self._move_water(now, step, self.streams)
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
        taken = self.drawn * step[:, None]
        back = np.where(streams.returning[:, None], taken, 0.0)
        out.tank_taken += taken
        out.tank_returned += back
        out.pumped += self.lifting * step[:, None]
        self.fresh = self.fresh - taken + back
        if some(self.shore):
            flowed = (taken - back) * self.shore
            self.fresh += flowed
            out.tank_refilled += flowed
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

    def dry(self, rows: NDArray[np.intp], use: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Whether nothing is left in any tank that one side of a use draws from."""
        sides = self.sides
        dry = np.zeros(len(rows), dtype=bool)
        for order, takes in ((sides.hot, sides.takes_hot), (sides.cold, sides.takes_cold)):
            dry |= takes[use] & ~self._first(order, rows, use)[1]
        return dry

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
        self.out.tank_refilled += np.where(due[:, None], self.filling - self.fresh, 0.0)
        self.out.grey_emptied += np.where(due, self.grey, 0.0)
        self.fresh = np.where(due[:, None], self.filling, self.fresh)
        self.grey = np.where(due, 0.0, self.grey)
        self.next_fill = np.where(due, self.next_fill + self.period, self.next_fill)
