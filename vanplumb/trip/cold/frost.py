"""Cold nights: which runs reach 0 °C, when ice begins to block them, what to drain or fill.

Each metre of a run is one lump of still water with its wall, cooled by the air round it
through wall, foam and skin.  Air outside swings as a wave from its warmest at dusk (18:00)
to its coldest at 06:00.  Heated, the cabin keeps its temperature; left cold, it
follows the outside, and its stored heat is left aside.  All of that errs to the early side.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ...formulas.frost import (
    glycol_density,
    night_air,
    share_by_volume,
    time_to_freezing,
    time_to_ice,
)
from ...formulas.tube import tube_content
from ...formulas.water import DENSITY_ROOM, water_density, water_specific_heat
from ...van.model import Build
from ...van.parts import Run
from ...van.water_held import held_beside_runs
from ...van.wiring import run_words
from ...words.brief import brief
from ...words.glossary import ICE_POINT
from ...words.tables import Row, table
from ...words.unit_table import DAY
from ...words.work import Work, total
from ..hot_runs.ice import BLOCKED, LATENT
from ..hot_runs.loss import RunLoss, run_loss
from ..hot_runs.plug import Array
from .glycol import first_ice_works, share_for

COLDEST, DUSK = 6 * 3600.0, 18 * 3600.0
BETWEEN = ("wall", "foam", "skin", "resistance")
"""What stands between the water and the air, and all of it."""
GLYCOL_DENSITY = 1036.0
"""kg/m³ of propylene glycol at 20 °C (from memory)."""


@brief
@dataclass(frozen=True)
class FrostRun:
    """One run through a cold night.

    ``to_zero`` and ``to_blocked`` are s from the start temperature in steady air as cold as
    the night's coldest, or None if that air does not freeze it.  ``clock_zero`` and
    ``clock_blocked`` are s after midnight in air that changes by the hour, ``ice`` the most
    ice in that night.  ``parked`` is ``ice`` with the cabin left cold.
    """

    run: Run
    label: str
    content: float
    air: float
    to_zero: float | None
    to_blocked: float | None
    clock_zero: float | None
    clock_blocked: float | None
    ice: float
    parked: float
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def freezes(self) -> bool:
        return self.clock_zero is not None


@brief
@dataclass(frozen=True)
class Antifreeze:
    """Glycol for a temperature: shares by mass and by volume before mixing."""

    temperature: float
    by_mass: float
    by_volume: float
    amount: float
    works: tuple[Work, ...]


@brief
@dataclass(frozen=True)
class Frost:
    """A build in its cold night."""

    outside: float
    outside_day: float
    cabin: float
    start: float
    runs: tuple[FrostRun, ...]
    antifreeze: Antifreeze | None

    @property
    def freezing(self) -> tuple[FrostRun, ...]:
        """Runs that reach 0 °C in the night, first ones first."""
        cold = [run for run in self.runs if run.freezes]
        return tuple(sorted(cold, key=lambda run: _since_dusk(run.clock_zero)))


def _since_dusk(clock: float | None) -> float:
    return DAY if clock is None else (clock - DUSK) % DAY


def frost(build: Build, *, outside: float | None = None, start: float | None = None) -> Frost:
    """The cold night of a build; the night's coldest air and the water's start may be chosen."""
    van = build.van
    coldest = van.outside if outside is None else outside
    warmest = max(van.outside_day if van.outside_day is not None else van.outside, coldest)
    water = start if start is not None else max(van.cold_water, ICE_POINT)
    runs = tuple(
        _frost_run(build, number, coldest, warmest, water) for number in range(len(build.run))
    )
    amount = sum(run.content for run in runs) + float(held_beside_runs(build))
    fill = antifreeze_for(coldest, amount) if coldest < ICE_POINT else None
    return Frost(
        outside=coldest,
        outside_day=warmest,
        cabin=van.cabin,
        start=water,
        runs=runs,
        antifreeze=fill,
    )


@dataclass(frozen=True)
class Night:
    """One run through one night, minute by minute from dusk; arrays of one length.

    ``hours`` are seconds from midnight before dusk, ``air`` and ``temperature`` kelvins,
    ``ice`` the share of the water that is ice.  ``freezing`` is where ice begins to form.
    """

    hours: Array
    air: Array
    temperature: Array
    ice: Array
    freezing: float

    @property
    def clock_freezing(self) -> float | None:
        """Clock time at which it begins to freeze, s after midnight; None if it doesn't."""
        cold = (self.temperature <= self.freezing) & (self.air < self.freezing)
        return _clock(self.hours, cold)

    @property
    def clock_blocked(self) -> float | None:
        """Clock time at which ice blocks it; None if it doesn't."""
        return _clock(self.hours, self.ice >= BLOCKED)


def night_of(
    row: Row,
    insulation: float,
    *,
    windy: bool,
    coldest: float,
    warmest: float,
    water: float,
    steady: float | None = None,
    freezing: float = ICE_POINT,
    metal: bool = False,
) -> tuple[Night, RunLoss]:
    """One run of a tube through a night, and what stands between its water and the air.

    ``steady`` is air that does not change, such as a heated cabin's; with ``metal`` its wall is
    a brass fitting's.
    """
    cold = min(coldest, freezing - 1.0)
    loss = run_loss(row, insulation, freezing, cold, windy=windy, metal=metal)
    density, warmth = _water(water)
    area = np.pi / 4 * row.number("bore") ** 2
    hours = np.arange(DUSK, DUSK + DAY + 1.0, 60.0)
    air = (
        np.full(hours.shape, steady)
        if steady is not None
        else night_air.si(warmest, coldest, hours - COLDEST, DAY)
    )
    slow = density * warmth * area * loss.resistance
    solid = density * LATENT * area * loss.resistance
    temperature, ice = _night(air, water, slow, solid, freezing)
    return Night(hours, air, temperature, ice, freezing), loss


def _water(temperature: float) -> tuple[float, float]:
    """Density and specific heat."""
    warm = max(temperature, ICE_POINT)
    return float(water_density.si(warm)), float(water_specific_heat.si(warm))


def freezing_works(row: Row, loss: RunLoss, water: float, air: float) -> dict[str, Work]:
    """Steps of the time to 0 °C, on to blocking ice, and both, in steady air.

    By the names ``wall``, ``foam``, ``skin`` and ``resistance`` (as far as there are such),
    ``zero``, ``ice`` and ``blocked``; empty if it doesn't freeze.
    """
    if air >= ICE_POINT - 1e-6 or water <= ICE_POINT:
        return {}
    density, warmth = _water(water)
    bore = row.number("bore")
    resistance = loss.resistance
    zero = time_to_freezing.work(
        density=density,
        specific_heat=warmth,
        diameter=bore,
        resistance_per_length=resistance,
        rise_start=water - air,
        rise_freezing=ICE_POINT - air,
    )
    ice = time_to_ice.work(
        density=density,
        diameter=bore,
        latent_heat=LATENT,
        share_ice=BLOCKED,
        resistance_per_length=resistance,
        rise_freezing=ICE_POINT - air,
    )
    both = total("duration", [("to freezing", zero.value), ("to ice", ice.value)])
    between = {name: loss.works[name] for name in BETWEEN if name in loss.works}
    return {**between, "zero": zero, "ice": ice, "blocked": both}


def _frost_run(build: Build, number: int, coldest: float, warmest: float, water: float) -> FrostRun:
    run = build.run[number]
    row = table("tubes", build.rows)[run.tube]
    inside = run.place == "cabin"
    cabin = build.van.cabin

    def through(windy: bool, steady: float | None) -> tuple[Night, RunLoss]:
        return night_of(
            row,
            run.insulation,
            windy=windy,
            coldest=coldest,
            warmest=warmest,
            water=water,
            steady=steady,
        )

    tonight, loss = through(not inside, cabin if inside else None)
    parked, _ = through(not inside, None)
    air = cabin if inside else coldest
    steps = freezing_works(row, loss, water, air)
    return FrostRun(
        run=run,
        label=run_words(build, number),
        content=float(tube_content.si(row.number("bore"), run.length)),
        air=air,
        to_zero=steps["zero"].value if steps else None,
        to_blocked=steps["blocked"].value if steps else None,
        clock_zero=tonight.clock_freezing,
        clock_blocked=tonight.clock_blocked,
        ice=float(tonight.ice.max()),
        parked=float(parked.ice.max()),
        works=steps,
    )


def _night(
    air: Array, water: float, slow: float, solid: float, freezing: float
) -> tuple[Array, Array]:
    """Temperature and share of ice minute by minute.

    ``slow`` is the time in which warmth falls to 1/e, ``solid`` the time times kelvins that
    turns it all to ice.  Ice forms at the freezing point, and melts before the water warms.
    """
    temperature, ice = np.empty(len(air)), np.empty(len(air))
    now, frozen = water, 0.0
    keep = float(np.exp(-60.0 / slow))
    for index, around in enumerate(air.tolist()):
        temperature[index], ice[index] = now, frozen
        if now <= freezing and (frozen > 0 or around < freezing):
            frozen = min(max(frozen + 60.0 * (freezing - around) / solid, 0.0), 1.0)
            now = freezing
        else:
            now = around + (now - around) * keep
            now = max(now, freezing) if around < freezing else now
    return temperature, ice


def _clock(hours: Array, reached: NDArray[np.bool_]) -> float | None:
    """Clock time of the first minute at which something is reached."""
    return float(hours[int(reached.argmax())] % DAY) if reached.any() else None


def antifreeze_for(temperature: float, amount: float) -> Antifreeze | None:
    """Glycol that keeps the first ice away down to a temperature; None below -50 °C.

    ``amount`` is the content to be filled, m³.
    """
    share = share_for(temperature)
    if share is None:
        return None
    volume = share_by_volume.work(
        share_glycol=share, density_glycol=GLYCOL_DENSITY, density_water=DENSITY_ROOM
    )
    works = (
        *first_ice_works(share),
        volume,
        glycol_density.work(share_glycol=share),
    )
    return Antifreeze(temperature, share, volume.value, amount, works)
