"""A hot-water store in layers: cold comes in below, hot leaves above, heat rises.

The lowest part, where the cold jet stirs and the heat comes in, is one well-mixed zone.
Above it the water moves as a plug, in cells that are never smeared (see ``plug``).  With a
tiny zone the store is a pure plug; with the whole store as zone it is fully mixed.  A
flow-through heater is the second kind, and small.

All layers lose heat at one rate, ``loss_rate`` of their warmth above the air per second, so
a still store cools exactly as an exponential.  Heat given below raises the zone and, once it
is as warm, the layers over it; that commutes with the cooling, so both are exact for a step
of any length.

Temperatures are kelvins, volumes m³, heat J; arrays have a leading axis for trips.
"""

from __future__ import annotations

import numpy as np

from ..hot_runs.plug import Array, Index, push, rise, settle, some, volumes

STILL = 1e-12
"""A loss rate, 1/s, that stands in for none."""


class Store:
    """The stores of ``trips`` trips.  Index 0 of a profile is the top."""

    def __init__(
        self,
        trips: int,
        *,
        volume: float,
        mixed_share: float,
        cells: int,
        heat_per_volume: float,
        loss_rate: Array | float,
        start: float | Array,
    ) -> None:
        if not 0 < mixed_share <= 1:
            raise ValueError(f"mixed_share must be above 0 up to 1, got {mixed_share}")
        self.volume = volume
        self.zone = volume * mixed_share
        self.cell = volume * (1.0 - mixed_share) / cells
        self.cells = cells if self.cell > 1e-9 * volume else 0
        self.heat_per_volume = heat_per_volume
        self.trips = trips
        self.whole = np.ones(trips)
        self.lose(loss_rate)
        bottom = np.broadcast_to(start, (trips,)).astype(float)
        self.water = np.repeat(bottom[:, None], self.cells + 2 if self.cells else 1, axis=1)
        self.fill = np.ones(trips)
        self.held = np.full(self.water.shape, self.zone)
        self._hold(slice(None))

    def lose(self, loss_rate: Array | float) -> None:
        """From now on, lose heat at a rate, 1/s."""
        self.loss_rate = np.maximum(np.broadcast_to(loss_rate, (self.trips,)), STILL).astype(float)

    def beside(self, volume: Array) -> None:
        """From now on, warm and cool as one body with water of a volume that stands elsewhere."""
        self.whole = 1.0 + volume / self.volume

    @property
    def top(self) -> Array:
        """Temperature of the water that would leave next."""
        return self.water[:, 0]

    @property
    def bottom(self) -> Array:
        """Temperature of the mixed zone."""
        return self.water[:, -1]

    def _hold(self, rows: Index | slice) -> None:
        """Bring the volumes of the layers up to date with how far the first is drained."""
        if self.cells:
            self.held[rows, :-1] = volumes(self.fill[rows], self.cells) * self.cell

    def profile(self) -> tuple[Array, Array]:
        """Temperatures and volumes of all layers from the top, the mixed zone last."""
        return self.water, self.held

    def energy(self, reference: Array | float) -> Array:
        """Heat held above a reference temperature, J."""
        base = np.asarray(reference)
        base = base[:, None] if base.ndim else base
        return self.heat_per_volume * (self.held * (self.water - base)).sum(axis=1)

    def mean(self) -> Array:
        """Mean temperature of the water."""
        return np.asarray((self.water * self.held).sum(axis=1) / self.volume)

    def coming(self, rows: Index, volume: Array) -> Array:
        """Mean temperature of the next ``volume``, if it left without more coming in."""
        held = self.held[rows]
        before = np.cumsum(held, axis=1) - held
        taken = np.minimum(np.maximum(volume[:, None] - before, 1e-15), held + 1e-15)
        return np.asarray((taken * self.water[rows]).sum(axis=1) / taken.sum(axis=1))

    def rest(self, seconds: Array, power: Array, air: Array) -> Array:
        """Stand for some time with heat given below; gives the heat lost to the air, J.

        Exact for any time at a steady power.  What stands ``beside`` has its part of heat and loss.
        """
        rate = self.loss_rate
        gone = -np.expm1(-rate * seconds)
        warmth = self.water - air[:, None]
        heat_per_volume = self.heat_per_volume * self.whole
        before = heat_per_volume * (self.held * warmth).sum(axis=1)
        given = power * gone / rate
        self.water -= warmth * gone[:, None]
        heated = given > 0
        if some(heated):
            self.water[:, -1] += given / (heat_per_volume * self.zone)
            self._settle(heated)
        # What came in and is not there is lost: of the heat held, and of the heat given.
        return before * gone + power * seconds - given

    def _settle(self, heated: Array) -> None:
        if not self.cells:
            return
        warm = heated & (self.water[:, -1] > self.water[:, :-1].min(axis=1) + 1e-9)
        if some(warm):
            rows = np.flatnonzero(warm)
            self.water[rows] = rise(self.water[rows], self.held[rows])

    def draw(self, rows: Index, volume: Array, power: Array, seconds: Array, cold: Array) -> Array:
        """Take ``volume`` out at the top, let cold in below; gives the mean outlet temperature.

        ``rows`` are indices of trips and all else goes with them; volumes are above zero.
        Heat given below meanwhile warms the zone as the cold flows through it.
        """
        entering = cold + power * seconds / (self.heat_per_volume * volume)
        share = volume / self.zone
        left = np.exp(-share)
        bottom = self.water[rows, -1]
        after = entering + (bottom - entering) * left
        if not self.cells:
            self.water[rows, -1] = after
            return entering + (bottom - entering) * -np.expm1(-share) / share
        layers, self.fill[rows], out = push(
            self.water[rows, :-1],
            self.fill[rows],
            volume / self.cell,
            bottom,
            entering,
            np.full(rows.shape, self.cell / self.zone),
        )
        self._hold(rows)
        after = np.concatenate([layers, after[:, None]], axis=1)
        self.water[rows] = settle(after, self.held[rows])
        return out

    def mix(self, rows: Index, volume: float, other: Array) -> Array:
        """Mix all of it with a volume of other water; gives the temperature of both."""
        heat = (self.held[rows] * self.water[rows]).sum(axis=1)
        mixed = (heat + volume * other) / (self.volume + volume)
        self.water[rows] = mixed[:, None]
        return np.asarray(mixed)

    def time_to_warm(self, goal: float, power: Array, air: Array) -> Array:
        """Seconds of steady power until the zone, and so all of it, reaches ``goal``.

        Infinite where the power can't get it there, zero where it is there.
        """
        warmth = self.water - air[:, None]
        heat_per_volume = self.heat_per_volume * self.whole
        heat = self.held * warmth * heat_per_volume[:, None]
        target = goal - air
        wide = target[:, None]
        rate = self.loss_rate
        decay = np.ones_like(air)
        full = power / rate
        for _ in range(3):
            below = warmth * decay[:, None] < wide
            held = (self.held * below).sum(axis=1) * (heat_per_volume * target)
            bottom = full - (heat * below).sum(axis=1)
            able = bottom > 0
            decay = np.where(able, (full - held) / np.where(able, bottom, 1.0), 0.0)
            decay = np.minimum(np.maximum(decay, 0.0), 1.0)
        with np.errstate(divide="ignore"):
            time = -np.log(decay) / rate
        return np.where(self.water[:, -1] >= goal - 1e-9, 0.0, time)

    def time_to_cool(self, goal: float, air: Array) -> Array:
        """Seconds of rest until the zone has cooled to ``goal``; infinite if it never does."""
        bottom = self.water[:, -1]
        warmth = bottom - air
        target = goal - air
        falling = (target > 0) & (warmth > target)
        ratio = np.where(falling, warmth, 1.0) / np.where(falling, target, 1.0)
        time = np.where(falling, np.log(ratio) / self.loss_rate, np.inf)
        return np.where(bottom <= goal, 0.0, time)
