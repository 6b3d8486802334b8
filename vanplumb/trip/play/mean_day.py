"""The planned days played with plenty of everything: what a mean day takes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from threading import Lock

import numpy as np

from ..stay.mean_day import HeaterDay, MeanDay
from .draws import Draws, planned
from .outcome import Outcome
from .plant import BatteryPlant, Plant, UsePlant
from .simulate import simulate

DAYS = 7
"""Days that are played: a week has every habit in it that is told by the day."""
PLENTY = 1e4
"""m³, and 1e9 times that in J: more than any stay takes."""
KEPT = 64
"""Weeks that are kept: a longer stay or a larger tank plays the same week."""

_kept: dict[tuple[Plant, int], MeanDay] = {}
_alone = Lock()


def mean_day(plant: Plant, days: int = DAYS) -> MeanDay:
    """A mean day of the planned schedule, from a cold start on."""
    return mean_days([plant], days)[0]


def mean_days(plants: Sequence[Plant], days: int = DAYS) -> list[MeanDay]:
    """A mean day of each plant; those that differ in how often and how long are played at once."""
    weeks = [_endless(plant, days) for plant in plants]
    found = {(week, days): _kept.get((week, days)) for week in weeks}
    missing = [week for (week, _), day in found.items() if day is None]
    for alike in _alike(missing):
        out = simulate(alike[0], _side_by_side(alike, days), days=float(days))
        found |= {(week, days): _mean(out, n, days) for n, week in enumerate(alike)}
    with _alone:  # a worksheet may work ahead in a thread of its own
        for key, day in found.items():
            assert day is not None
            _kept.pop(key, None)
            _kept[key] = day
        while len(_kept) > KEPT:
            _kept.pop(next(iter(_kept)))
    return [day for week in weeks if (day := found[week, days]) is not None]


def _endless(plant: Plant, days: int) -> Plant:
    battery = plant.battery
    return replace(
        plant,
        days=days,
        tanks=tuple(replace(tank, start=PLENTY, spilt=0.0) for tank in plant.tanks),
        grey=math.inf,
        fuel=math.inf,
        battery=BatteryPlant(
            full=PLENTY * 1e9,
            empty=0.0,
            start=PLENTY * 5e8,
            charge_power=0.0,
            charge_hours=(),
            other_load=battery.other_load if battery is not None else 0.0,
            loads=battery.loads if battery is not None else (),
        ),
    )


def _alike(weeks: Sequence[Plant]) -> Iterator[list[Plant]]:
    """Plants that differ in nothing but how often and how long their uses are."""
    groups: dict[tuple[Plant, frozenset[tuple[UsePlant, int]]], list[Plant]] = {}
    for week in weeks:
        uses = frozenset(zip(_bare(week), _numbers(week), strict=True))
        groups.setdefault((replace(week, uses=()), uses), []).append(week)
    yield from groups.values()


def _bare(week: Plant) -> list[UsePlant]:
    """The uses without what only their draws tell."""
    return [replace(use, per_day=0.0, duration=0.0) for use in week.uses]


def _numbers(week: Plant) -> list[int]:
    """Which of those that are the same each use is."""
    bare = _bare(week)
    return [bare[:place].count(use) for place, use in enumerate(bare)]


def _side_by_side(weeks: Sequence[Plant], days: int) -> Draws:
    """The planned draws of each, with the numbers that their uses have in the first."""
    places = {use: n for n, use in enumerate(zip(_bare(weeks[0]), _numbers(weeks[0]), strict=True))}
    each = [planned(week, days) for week in weeks]
    most = max(one.time.shape[1] for one in each)
    time = np.full((len(each), most), np.inf)
    use, duration = np.zeros((len(each), most), np.intp), np.zeros((len(each), most))
    for row, (week, one) in enumerate(zip(weeks, each, strict=True)):
        own = [places[use] for use in zip(_bare(week), _numbers(week), strict=True)]
        count = one.time.shape[1]
        time[row, :count], duration[row, :count] = one.time[0], one.duration[0]
        use[row, :count] = np.array(own or [0], np.intp)[one.use[0]]
    return Draws(time, use, duration)


def _mean(out: Outcome, trip: int, days: int) -> MeanDay:
    plant = out.plant
    return MeanDay(
        days=float(days),
        run_off=float(out.wasted[trip].sum() - out.water_returned[trip]) / days,
        heat=float(out.heat_in[trip]) / days,
        heat_taps=float(out.heat_out[trip]) / days,
        heat_store=float(out.heat_lost[trip]) / days,
        heat_runs=float(out.line_lost[trip]) / days,
        heat_left=float(out.heat_end[trip] - out.heat_start[trip]) / days,
        burning=float(out.burning[trip]) / days,
        fuel=float(out.fuel_used[trip]) / days,
        electric=float(out.charge_used[trip]) / days,
        pump=sum(
            pump.power / pump.flow * float(out.pumped[trip, n])
            for n, pump in enumerate(plant.pumps)
        )
        / days,
        pumped=tuple(
            (pump.name, float(out.pumped[trip, n]) / days) for n, pump in enumerate(plant.pumps)
        ),
        heaters=tuple(
            HeaterDay(
                name=heater.name,
                heat=float(out.heater_in[trip, n]) / days,
                lost=float(out.heater_lost[trip, n]) / days,
                burning=float(out.heater_burning[trip, n]) / days,
                fuel=float(out.heater_fuel[trip, n]) / days,
                element=float(out.heater_element[trip, n]) / days,
            )
            for n, heater in enumerate(plant.heaters)
        ),
        water=float(out.water_taken[trip]) / days,
    )
