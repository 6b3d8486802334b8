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

from .plug import Array, Index, push, settle, volumes

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
        self.loss_rate = np.maximum(np.broadcast_to(loss_rate, (trips,)), STILL).astype(float)
        self.bottom = np.broadcast_to(start, (trips,)).astype(float).copy()
        self.layers = np.repeat(self.bottom[:, None], self.cells + 1, axis=1)
        self.fill = np.ones(trips)

    @property
    def top(self) -> Array:
        """Temperature of the water that would leave next."""
        return self.layers[:, 0] if self.cells else self.bottom

    def profile(self, rows: Index | slice = slice(None)) -> tuple[Array, Array]:
        """Temperatures and volumes of all layers from the top, the mixed zone last."""
        fill = self.fill[rows]
        bottom = self.bottom[rows]
        zone = np.full(fill.shape, self.zone)
        if not self.cells:
            return bottom[:, None], zone[:, None]
        held = volumes(fill, self.cells) * self.cell
        return (
            np.concatenate([self.layers[rows], bottom[:, None]], axis=1),
            np.concatenate([held, zone[:, None]], axis=1),
        )

    def energy(self, reference: Array | float, rows: Index | slice = slice(None)) -> Array:
        """Heat held above a reference temperature, J."""
        temperature, volume = self.profile(rows)
        base = np.asarray(reference)
        base = base[:, None] if base.ndim else base
        return self.heat_per_volume * (volume * (temperature - base)).sum(axis=1)

    def mean(self) -> Array:
        """Mean temperature of the water."""
        temperature, volume = self.profile()
        return (temperature * volume).sum(axis=1) / self.volume

    def coming(self, rows: Index, volume: Array) -> Array:
        """Mean temperature of the next ``volume``, if it left without more coming in."""
        temperature, held = self.profile(rows)
        before = np.cumsum(held, axis=1) - held
        taken = np.clip(volume[:, None] - before, 1e-15, held + 1e-15)
        return (taken * temperature).sum(axis=1) / taken.sum(axis=1)

    def rest(self, seconds: Array, power: Array, air: Array) -> Array:
        """Stand for some time with heat given below; gives the heat lost to the air, J.

        Exact for any time at a steady power.
        """
        rate = self.loss_rate
        decay = np.exp(-rate * seconds)
        gone = -np.expm1(-rate * seconds)
        before = self._warmth(air)
        given = power * gone / rate
        if self.cells:
            self.layers = air[:, None] + (self.layers - air[:, None]) * decay[:, None]
        self.bottom = air + (self.bottom - air) * decay
        self.bottom = self.bottom + given / (self.heat_per_volume * self.zone)
        self._settle(given > 0)
        # What came in and is not there is lost: of the heat held, and of the heat given.
        return before * gone + power * seconds - given

    def _warmth(self, air: Array) -> Array:
        """Heat held above the air, J."""
        warmth = self.zone * (self.bottom - air)
        if self.cells:
            held = volumes(self.fill, self.cells) * self.cell
            warmth = warmth + (held * (self.layers - air[:, None])).sum(axis=1)
        return self.heat_per_volume * warmth

    def _settle(self, heated: Array) -> None:
        if not self.cells:
            return
        warm = heated & (self.bottom > self.layers.min(axis=1) + 1e-9)
        if not warm.any():
            return
        rows = np.flatnonzero(warm)
        temperature, volume = self.profile(rows)
        temperature = settle(temperature, volume)
        self.layers[rows] = temperature[:, :-1]
        self.bottom[rows] = temperature[:, -1]

    def draw(self, rows: Index, volume: Array, power: Array, seconds: Array, cold: Array) -> Array:
        """Take ``volume`` out at the top, let cold in below; gives the mean outlet temperature.

        ``rows`` are indices of trips and all else goes with them; volumes are above nought.
        Heat given below meanwhile warms the zone as the cold flows through it.
        """
        entering = cold + power * seconds / (self.heat_per_volume * volume)
        share = volume / self.zone
        left = np.exp(-share)
        bottom = self.bottom[rows]
        after = entering + (bottom - entering) * left
        if not self.cells:
            out = entering + (bottom - entering) * -np.expm1(-share) / share
        else:
            layers, fill, out = push(
                self.layers[rows],
                self.fill[rows],
                volume / self.cell,
                bottom,
                entering,
                np.full(rows.shape, self.cell / self.zone),
            )
            self.layers[rows] = layers
            self.fill[rows] = fill
        self.bottom[rows] = after
        if self.cells:
            temperature, held = self.profile(rows)
            temperature = settle(temperature, held)
            self.layers[rows] = temperature[:, :-1]
            self.bottom[rows] = temperature[:, -1]
        return out

    def time_to_warm(self, goal: Array | float, power: Array, air: Array) -> Array:
        """Seconds of steady power until the zone, and so all of it, reaches ``goal``.

        Infinite where the power can't get it there, nought where it is there.
        """
        temperature, volume = self.profile()
        goal = np.broadcast_to(goal, air.shape)
        capacity = self.heat_per_volume * volume
        warmth = temperature - air[:, None]
        target = (goal - air)[:, None]
        rate = self.loss_rate
        decay = np.ones_like(air)
        full = power / rate
        for _ in range(3):
            below = warmth * decay[:, None] < target
            held = (capacity * below).sum(axis=1) * target[:, 0]
            heat = (capacity * below * warmth).sum(axis=1)
            bottom = full - heat
            with np.errstate(divide="ignore", invalid="ignore"):
                decay = np.where(bottom > 0, (full - held) / bottom, 0.0)
            decay = np.clip(decay, 0.0, 1.0)
        with np.errstate(divide="ignore"):
            time = -np.log(decay) / rate
        return np.where(self.bottom >= goal - 1e-9, 0.0, time)

    def time_to_cool(self, goal: Array | float, air: Array) -> Array:
        """Seconds of rest until the zone has cooled to ``goal``; infinite if it never does."""
        warmth = self.bottom - air
        target = goal - air
        with np.errstate(divide="ignore", invalid="ignore"):
            time = np.log(warmth / target) / self.loss_rate
        time = np.where((target > 0) & (warmth > 0), time, np.inf)
        return np.where(self.bottom <= goal, 0.0, np.maximum(time, 0.0))
