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
    "no water gets there",
    "runs dry",
    "grey full",
    "lukewarm",
    "long wait",
    "battery flat",
    "fuel out",
    "hot line frozen",
)
TRACK = (
    "time",
    "fresh",
    "grey",
    "top",
    "mean",
    "charge",
    "fuel",
    "power",
    "flow",
    "outlet",
    "tanks",
    "tops",
    "means",
)
"""What is kept of each step; ``tanks``, ``tops`` and ``means`` of each tank and each heater."""


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


@brief
@dataclass
class Outcome:
    """Per trip and per draw; SI.  Heat is worked out from the cold water's temperature.

    Per draw (trips, draws): ``state`` (index into STATES), ``start``, ``wait`` (s),
    ``wasted`` (m³ run off while waiting), ``drawn`` (m³ in use), ``warmth`` (mean temperature
    in use), ``starts`` (of the pump).  ``first`` maps each of FAILURES to the time when it
    first came, infinite if it didn't.  What begins with ``tank_`` is of each of the plant's
    tanks, shape (trips, tanks), with ``heater_`` of each heater, ``pumped`` of each pump, m³.
    ``heater_out`` is the heat that water takes along from a heater, more than it brought;
    ``heater_element`` what its element takes from the battery, J; ``heater_fuel`` in kg.
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
    heater_start: Array
    heater_end: Array
    heater_in: Array
    heater_out: Array
    heater_lost: Array
    heater_burning: Array
    heater_fuel: Array
    heater_element: Array
    line_start: Array
    line_end: Array
    heat_out: Array
    line_lost: Array
    tank_start: Array
    tank_end: Array
    tank_taken: Array
    tank_returned: Array
    tank_refilled: Array
    pumped: Array
    grey_in: Array
    grey_spilt: Array
    grey_emptied: Array
    grey_elsewhere: Array
    grey_end: Array
    charge_start: Array
    charge_end: Array
    charge_in: Array
    charge_used: Array
    fuel_start: Array
    fuel_end: Array
    fuel_used: Array
    track: list[tuple[Array, ...]] = field(default_factory=list)

    @classmethod
    def empty(cls, plant: Plant, draws: Draws, days: float, variation: Variation) -> Outcome:
        trips = draws.trips
        shape = draws.time.shape
        own = {"plant", "draws", "days", "variation", "state", "first", "track"}
        per_draw = {"start", "wait", "wasted", "drawn", "warmth"}
        names = [n for n in cls.__dataclass_fields__ if n not in own]
        many = {"tank": len(plant.tanks), "heater": len(plant.heaters), "pumped": len(plant.pumps)}

        def shaped(name: str) -> Array:
            if name in per_draw:
                return np.zeros(shape)
            of = many.get(name.partition("_")[0])
            return np.zeros(trips) if of is None else np.zeros((trips, of))

        arrays: dict[str, Any] = {n: shaped(n) for n in names}
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

    @property
    def fresh_start(self) -> Array:
        """Fresh water that could be pumped at the start, of all tanks."""
        return np.asarray(self.tank_start.sum(axis=1))

    @property
    def water_taken(self) -> Array:
        """Water drawn from all tanks, and from the shore."""
        return np.asarray(self.tank_taken.sum(axis=1))

    @property
    def water_returned(self) -> Array:
        """Water that went back to the tanks."""
        return np.asarray(self.tank_returned.sum(axis=1))

    @property
    def heat_in(self) -> Array:
        """Heat that all heaters gave to the water."""
        return np.asarray(self.heater_in.sum(axis=1))

    @property
    def heat_lost(self) -> Array:
        """Heat that the stores of all heaters lost."""
        return np.asarray(self.heater_lost.sum(axis=1))

    @property
    def heat_start(self) -> Array:
        """Heat in all heaters and runs at the start."""
        return np.asarray(self.heater_start.sum(axis=1) + self.line_start)

    @property
    def heat_end(self) -> Array:
        """Heat in all heaters and runs at the end."""
        return np.asarray(self.heater_end.sum(axis=1) + self.line_end)

    @property
    def burning(self) -> Array:
        """Time of all burners, one after the other, s."""
        return np.asarray(self.heater_burning.sum(axis=1))

    def water_gap(self) -> Array:
        """Water that is unaccounted for, as a share of what was drawn; zero but for rounding.

        Each tank is balanced for itself.
        """
        tanks = self.tank_start + self.tank_refilled + self.tank_returned
        tanks = np.abs(tanks - self.tank_taken - self.tank_end)
        fresh = tanks.max(axis=1, initial=0.0)
        used = (self.drawn + self.wasted).sum(axis=1)
        spent = self.water_taken - used
        grey = self.grey_in - self.grey_spilt - self.grey_emptied - self.grey_end
        where = used - self.grey_in - self.grey_elsewhere - self.water_returned
        gap = np.abs(np.stack([fresh, spent, grey, where])).max(axis=0)
        return gap / np.maximum(self.water_taken, 1e-6)

    def heat_gap(self) -> Array:
        """Heat that is unaccounted for, as a share of what was given; of each heater too."""
        left = self.heat_start + self.heat_in - self.heat_out - self.heat_lost - self.line_lost
        each = self.heater_start + self.heater_in - self.heater_out - self.heater_lost
        each = np.abs(each - self.heater_end).max(axis=1, initial=0.0)
        return np.maximum(np.abs(left - self.heat_end), each) / np.maximum(self.heat_in, 1e3)

    def warmth_gap(self) -> Array:
        """Kelvins by which water of any draw lies outside of what feeds and what cools it.

        It comes from the cold supply, the heater and runs that take the air's temperature: no
        draw is warmer than the warmest of these, none colder than the coldest, or than ice.
        """
        plant, vary = self.plant, self.variation
        airs = [one.air for one in plant.segments]
        around = np.stack([vary.cold, vary.cabin, *(np.full(self.trips, a) for a in airs)])
        top = around.max(axis=0)
        for heater in plant.heaters:
            coolant = heater.coolant_power > 0
            hottest = max(heater.setpoint, plant.options.coolant_limit if coolant else 0.0)
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
