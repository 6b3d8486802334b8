"""What came of the trips that were played: levels, draws, heat, failures."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...words.brief import brief
from ...words.glossary import ICE_POINT
from ..hot_runs.plug import Array
from .draws import Draws
from .plant import Plant

DONE, LUKEWARM, CUT_SHORT, NO_WATER, NO_POWER, FROZEN = 1, 2, 3, 4, 5, 6
STATES = ("not reached", "done", "lukewarm", "cut short", "no water", "no power", "frozen")
FAILURES = (
    "runs dry",
    "grey full",
    "lukewarm",
    "long wait",
    "battery flat",
    "fuel out",
    "hot line frozen",
)
TRACK = ("time", "fresh", "grey", "top", "mean", "charge", "fuel", "power", "flow", "outlet")


@brief
@dataclass(frozen=True)
class Variation:
    """How trips differ beside their draws; one value a trip.

    ``loss``, ``flow``, ``power``, ``fresh`` and ``load`` multiply the store's loss, the
    fixtures' flows, the heater's power, the fresh water at the start and what else draws on
    the battery; ``charge`` is the share that the battery starts with.
    """

    cold: Array
    cabin: Array
    loss: Array
    flow: Array
    charge: Array
    power: Array
    fresh: Array
    load: Array

    @classmethod
    def none(cls, plant: Plant, trips: int) -> Variation:
        """Every trip as the build says."""
        battery = plant.battery
        share = battery.start / battery.full if battery is not None else 1.0
        return cls(
            cold=np.full(trips, plant.cold),
            cabin=np.full(trips, plant.cabin),
            loss=np.ones(trips),
            flow=np.ones(trips),
            charge=np.full(trips, share),
            power=np.ones(trips),
            fresh=np.ones(trips),
            load=np.ones(trips),
        )


def _zeros(count: int) -> Array:
    return np.zeros(count)


@brief
@dataclass
class Outcome:
    """Per trip and per draw; SI.  Heat is worked out from the cold water's temperature.

    Per draw (trips, draws): ``state`` (index into STATES), ``start``, ``wait`` (s),
    ``wasted`` (m³ run off while waiting), ``drawn`` (m³ in use), ``warmth`` (mean temperature
    in use), ``starts`` (of the pump).  ``first`` maps each of FAILURES to the time when it
    first came, infinite if it didn't.
    """

    plant: Plant
    draws: Draws
    days: float
    variation: Variation
    state: NDArray[np.intp]
    start: Array
    wait: Array
    wasted: Array
    drawn: Array
    warmth: Array
    first: dict[str, Array]
    heat_start: Array
    heat_end: Array
    heat_in: Array
    heat_out: Array
    heat_lost: Array
    line_lost: Array
    water_taken: Array
    water_returned: Array
    water_refilled: Array
    grey_in: Array
    grey_spilt: Array
    grey_emptied: Array
    grey_elsewhere: Array
    fresh_start: Array
    fresh_end: Array
    grey_end: Array
    charge_start: Array
    charge_end: Array
    charge_in: Array
    charge_used: Array
    fuel_start: Array
    fuel_end: Array
    fuel_used: Array
    burning: Array
    track: list[tuple[Array, ...]] = field(default_factory=list)

    @classmethod
    def empty(cls, plant: Plant, draws: Draws, days: float, variation: Variation) -> Outcome:
        trips = draws.trips
        shape = draws.time.shape
        own = {"plant", "draws", "days", "variation", "state", "first", "track"}
        per_draw = {"start", "wait", "wasted", "drawn", "warmth"}
        names = [n for n in cls.__dataclass_fields__ if n not in own]
        arrays: dict[str, Any] = {
            n: np.zeros(shape) if n in per_draw else _zeros(trips) for n in names
        }
        arrays["warmth"] += np.nan
        return cls(
            plant=plant,
            draws=draws,
            days=days,
            variation=variation,
            state=np.zeros(shape, dtype=np.intp),
            first={name: np.full(trips, np.inf) for name in FAILURES},
            **arrays,
        )

    def fail(self, name: str, rows: NDArray[np.intp] | NDArray[np.bool_], when: Array) -> None:
        """Note a failure of some trips, if it is their first of that kind."""
        times = self.first[name]
        times[rows] = np.minimum(times[rows], when)

    @property
    def trips(self) -> int:
        return self.draws.trips

    def water_gap(self) -> Array:
        """Water that is unaccounted for, as a share of what was drawn; zero but for rounding."""
        fresh = self.fresh_start + self.water_refilled + self.water_returned
        fresh = fresh - self.water_taken - self.fresh_end
        used = (self.drawn + self.wasted).sum(axis=1)
        spent = self.water_taken - used
        grey = self.grey_in - self.grey_spilt - self.grey_emptied - self.grey_end
        where = used - self.grey_in - self.grey_elsewhere - self.water_returned
        gap = np.abs(np.stack([fresh, spent, grey, where])).max(axis=0)
        return gap / np.maximum(self.water_taken, 1e-6)

    def heat_gap(self) -> Array:
        """Heat that is unaccounted for, as a share of what was given."""
        left = self.heat_start + self.heat_in - self.heat_out - self.heat_lost - self.line_lost
        return np.abs(left - self.heat_end) / np.maximum(self.heat_in, 1e3)

    def warmth_gap(self) -> Array:
        """Kelvins by which water of any draw lies outside of what feeds and what cools it.

        It comes from the cold supply, the heater and runs that take the air's temperature: no
        draw is warmer than the warmest of these, none colder than the coldest, or than ice.
        """
        plant, vary = self.plant, self.variation
        airs = [one.air for one in plant.segments]
        around = np.stack([vary.cold, vary.cabin, *(np.full(self.trips, a) for a in airs)])
        top = around.max(axis=0)
        if plant.heater is not None:
            coolant = plant.heater.coolant_power > 0
            hottest = max(plant.heater.setpoint, plant.options.coolant_limit if coolant else 0.0)
            top = np.maximum(top, hottest)
        bottom = np.maximum(around.min(axis=0), ICE_POINT)
        there = np.isfinite(self.warmth) & (self.drawn > 0)
        off = np.maximum(self.warmth - top[:, None], bottom[:, None] - self.warmth)
        return np.where(there, np.maximum(off, 0.0), 0.0).max(axis=1, initial=0.0)

    def energy_gap(self) -> Array:
        """Charge and fuel that are unaccounted for, as a share of what was used."""
        charge = self.charge_start + self.charge_in - self.charge_used - self.charge_end
        with np.errstate(invalid="ignore"):
            fuel = np.where(
                np.isfinite(self.fuel_start), self.fuel_start - self.fuel_used - self.fuel_end, 0.0
            )
        return np.maximum(
            np.abs(charge) / np.maximum(self.charge_used, 1e3),
            np.abs(fuel) / np.maximum(self.fuel_used, 1e-3),
        )
