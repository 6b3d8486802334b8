"""Cold nights: which runs reach 0 °C, when ice begins to block them, what to drain or fill.

Each metre of a run is one lump of still water with its wall, cooled by the air round it
through wall, foam and skin.  Air outside swings from the warmest hour of the day (18:00 is
halfway) to the coldest at 06:00.  Heated, the cabin keeps its temperature; left cold, it
follows the outside, and its stored heat is left aside.  All of that errs to the early side.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..build.model import Build
from ..build.parts import Run
from ..formulas.antifreeze import glycol_density, glycol_freezing, share_by_volume
from ..formulas.freezing import night_air, time_to_freezing, time_to_ice
from ..formulas.tube import tube_content
from ..formulas.water import water_density, water_specific_heat
from ..words.glossary import ICE_POINT
from ..words.tables import table
from ..words.work import Work
from .heights import low_points
from .loss import run_loss
from .plug import Array

LATENT = 333.6e3
"""J/kg of ice (143.5 Btu/lb, ASHRAE)."""
BLOCKED = 0.20
"""Share of ice at which a run counts as blocked (ASHRAE practice, from memory)."""
COLDEST, DUSK, DAY = 6 * 3600.0, 18 * 3600.0, 86400.0
GLYCOL_DENSITY = 1036.0
"""kg/m³ of propylene glycol at 20 °C (from memory)."""


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


@dataclass(frozen=True)
class Antifreeze:
    """Glycol for a temperature: shares by mass and by volume before mixing."""

    temperature: float
    by_mass: float
    by_volume: float
    amount: float
    works: tuple[Work, ...]


@dataclass(frozen=True)
class Frost:
    """A build in its cold night.  ``drain`` names parts where water stays, with heights."""

    outside: float
    outside_day: float
    cabin: float
    start: float
    runs: tuple[FrostRun, ...]
    drain: tuple[tuple[str, float], ...]
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
    runs = tuple(_frost_run(build, run, coldest, warmest, water) for run in build.run)
    amount = sum(run.content for run in runs)
    fill = antifreeze_for(coldest, amount) if coldest < ICE_POINT else None
    return Frost(
        outside=coldest,
        outside_day=warmest,
        cabin=van.cabin,
        start=water,
        runs=runs,
        drain=low_points(build),
        antifreeze=fill,
    )


def _frost_run(build: Build, run: Run, coldest: float, warmest: float, water: float) -> FrostRun:
    row = table("tubes", build.rows)[run.tube]
    inside = run.place == "cabin"
    air = build.van.cabin if inside else coldest
    cold = min(coldest, ICE_POINT - 1.0)
    loss = run_loss(row, run.insulation, ICE_POINT, cold, windy=not inside)
    parked = run_loss(row, run.insulation, ICE_POINT, cold)
    density = float(water_density.si(max(water, ICE_POINT)))
    warmth = float(water_specific_heat.si(max(water, ICE_POINT)))
    bore = row.number("bore")
    works: dict[str, Work] = {}
    to_zero = to_blocked = None
    if air < ICE_POINT - 1e-6 and water > ICE_POINT:
        works["zero"] = time_to_freezing.work(
            density=density,
            specific_heat=warmth,
            diameter=bore,
            resistance_per_length=loss.resistance,
            rise_start=water - air,
            rise_freezing=ICE_POINT - air,
        )
        works["ice"] = time_to_ice.work(
            density=density,
            diameter=bore,
            latent_heat=LATENT,
            share_ice=BLOCKED,
            resistance_per_length=loss.resistance,
            rise_freezing=ICE_POINT - air,
        )
        to_zero = works["zero"].value
        to_blocked = to_zero + works["ice"].value
    heat = density * warmth * np.pi / 4 * bore**2
    solid = density * LATENT * np.pi / 4 * bore**2
    hours = np.arange(DUSK, DUSK + DAY + 1.0, 60.0)
    swing = night_air.si(warmest, coldest, hours - COLDEST, DAY)
    tonight = np.full_like(swing, build.van.cabin) if inside else swing
    path = _night(tonight, water, heat * loss.resistance, solid * loss.resistance)
    left = _night(swing, water, heat * parked.resistance, solid * parked.resistance)
    return FrostRun(
        run=run,
        label=f"{run.start} to {run.end}",
        content=float(tube_content.si(bore, run.length)),
        air=air,
        to_zero=to_zero,
        to_blocked=to_blocked,
        clock_zero=_clock(hours, path[0] <= ICE_POINT),
        clock_blocked=_clock(hours, path[1] >= BLOCKED),
        ice=float(path[1].max()),
        parked=float(left[1].max()),
        works=works,
    )


def _night(air: Array, water: float, slow: float, solid: float) -> tuple[Array, Array]:
    """Temperature and share of ice minute by minute.

    ``slow`` is the time in which warmth falls to 1/e, ``solid`` the time times kelvins that
    turns it all to ice.  Ice forms at 0 °C, and melts before the water warms.
    """
    temperature, ice = np.empty(len(air)), np.empty(len(air))
    now, frozen = water, 0.0
    keep = float(np.exp(-60.0 / slow))
    for index, around in enumerate(air.tolist()):
        temperature[index], ice[index] = now, frozen
        if now <= ICE_POINT and (frozen > 0 or around < ICE_POINT):
            frozen = min(max(frozen + 60.0 * (ICE_POINT - around) / solid, 0.0), 1.0)
            now = ICE_POINT
        else:
            now = around + (now - around) * keep
            now = max(now, ICE_POINT) if around < ICE_POINT else now
    return temperature, ice


def _clock(hours: Array, reached: NDArray[np.bool_]) -> float | None:
    """Clock time of the first minute at which something is reached."""
    return float(hours[int(reached.argmax())] % DAY) if reached.any() else None


def antifreeze_for(temperature: float, amount: float) -> Antifreeze | None:
    """Glycol that keeps the first ice away down to a temperature; None below -50 °C.

    ``amount`` is the content to be filled, m³.
    """
    low, high = 0.0, 0.6
    if temperature < float(glycol_freezing.si(high)):
        return None
    for _ in range(60):
        middle = (low + high) / 2
        if float(glycol_freezing.si(middle)) > temperature:
            low = middle
        else:
            high = middle
    share = (low + high) / 2
    volume = share_by_volume.work(
        share_glycol=share, density_glycol=GLYCOL_DENSITY, density_water=998.2
    )
    works = (
        glycol_freezing.work(share_glycol=share),
        volume,
        glycol_density.work(share_glycol=share),
    )
    return Antifreeze(temperature, share, volume.value, amount, works)
