"""Sums of a build whose figures may be arrays, one for each variant.

The rooms below work these out for one build, with every step kept for the sheet.  Here the
same formulas run on arrays and keep no steps; ``tests/explore/test_agreement.py`` holds both
to the same figures.  Every function gets a build with arrays of shape (variants,) among its
figures and gives figures that broadcast to that shape.
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np

from ..build import tank_shapes
from ..build.model import Build
from ..formulas import heater as h
from ..formulas.mixing import hot_needed, mixed_yield
from ..formulas.needs import (
    heat_of_a_day,
    nights_of_water,
    payload_share,
    pump_energy,
    water_of_a_use,
)
from ..formulas.tank import usable_volume, water_mass
from ..formulas.tube import tube_content
from ..formulas.water import water_density, water_specific_heat
from ..trip.budget import DAY, fuel_carried, heater_of
from ..trip.habits import habits
from ..trip.heater_facts import SHOWER, USABLE_SHARE
from ..trip.pumping import pumping
from ..trip.weight import FITTING
from ..words.tables import table
from .measures import priced

Array = Any
Found = dict[str, Array]


def column(build: Build, name: str, row: Any, key: str, otherwise: float = np.nan) -> Array:
    """A column of a table for one row, or for an array of rows; ``otherwise`` where empty."""
    rows = table(name, build.rows)

    def cell(one: str) -> float:
        return otherwise if rows[one][key] is None else float(rows[one][key])

    if isinstance(row, str):
        return cell(row)
    listed = np.asarray(row).tolist()
    known = {one: cell(one) for one in dict.fromkeys(listed)}
    return np.array([known[one] for one in listed])


def weights(build: Build) -> Found:
    """Mass when leaving, and its share of the payload."""
    density = water_density.si(build.van.cold_water)
    total: Array = 0.0
    for tank in build.tank:
        total = total + (0.0 if tank.mass_empty is None else tank.mass_empty)
        if tank.holds == "fresh":
            held = tank_shapes.volume(tank) * np.asarray(tank.fill_share)
            total = total + water_mass.si(density=density, volume=held)
    for pump in build.pump:
        mass = pump.mass
        if mass is None and pump.curve in table("pumps", build.rows):
            mass = column(build, "pumps", pump.curve, "mass", 0.0)
        total = total + (0.0 if mass is None else mass)
    for mass in [p.mass for p in build.accumulator] + [p.mass for p in build.heater]:
        total = total + (0.0 if mass is None else mass)
    small = (build.check_valve, build.shut_off, build.strainer, build.regulator,
             build.mixing_valve, build.zone)  # fmt: skip
    count = sum(len(parts) for parts in small)
    count += sum(many for run in build.run for _, many in run.fittings)
    total = total + count * FITTING
    for run in build.run:
        bore = column(build, "tubes", run.tube, "bore")
        ring = column(build, "tubes", run.tube, "od") ** 2 - bore**2
        wall = pi / 4 * ring * np.asarray(run.length)
        total = total + wall * column(build, "tubes", run.tube, "density", 0.0)
        content = tube_content.si(bore, run.length)
        total = total + water_mass.si(density=density, volume=content)
    fuel = fuel_carried(build)
    total = total + (0.0 if fuel is None else fuel)
    heater = heater_of(build)
    if heater is not None and heater.volume is not None:
        total = total + water_mass.si(density=density, volume=heater.volume)
    payload = build.van.payload
    share = np.nan if payload is None else payload_share.si(mass=total, mass_payload=payload)
    return {"weight": total, "share": share}


def water(build: Build) -> Found:
    """Nights that a filling lasts, and water of a day, m³."""
    crew = build.crew
    day: Array = np.asarray(crew.people) * np.asarray(crew.drinking)
    for habit in habits(build):
        day = day + water_of_a_use.si(habit.per_day, habit.flow, habit.duration)
    usable: Array = 0.0
    for tank in build.tank:
        if tank.holds == "fresh":
            usable = usable + usable_volume.si(
                volume=tank_shapes.volume(tank),
                volume_heel=tank_shapes.heel(tank),
                share_full=tank.fill_share,
            )
    with np.errstate(divide="ignore", invalid="ignore"):
        nights = nights_of_water.si(usable, day, crew.reserve)
    return {"nights": np.where(np.asarray(day) > 0, nights, 0.0), "day": day}


def _hot_day(build: Build) -> Array:
    """Water at the setpoint that a day takes, m³."""
    heater, cold = heater_of(build), np.asarray(build.van.cold_water)
    total: Array = 0.0
    if heater is None:
        return total
    for habit in habits(build):
        if habit.temperature is None:
            continue
        warm = np.minimum(habit.temperature, heater.setpoint)
        day = water_of_a_use.si(habit.per_day, habit.flow, habit.duration)
        hot = hot_needed.si(day, heater.setpoint, cold, warm)
        total = total + np.where(np.asarray(habit.temperature) > cold, hot, 0.0)
    return total


def energy(build: Build) -> Found:
    """Electric energy, J, and fuel, kg, of a day."""
    heater, battery = heater_of(build), build.battery
    pump, pumped = pumping(build), np.asarray(0.0)
    if pump is not None and pump.power > 0:
        pumped = pump_energy.si(water(build)["day"], pump.flow, pump.voltage, pump.current)
    other = np.asarray(0.0 if battery is None else battery.other_load) * DAY
    if heater is None:
        return {"energy": pumped + other}
    cold, hot = np.asarray(build.van.cold_water), np.asarray(heater.setpoint)
    mean = (cold + hot) / 2
    warmed = h.heat_to_warm.si(
        density=water_density.si(cold),
        volume=_hot_day(build),
        specific_heat=water_specific_heat.si(mean),
        rise=hot - cold,
    )
    standing = 0.0 if heater.standing_loss is None else heater.standing_loss
    day = heat_of_a_day.si(warmed, standing, DAY)
    burner, element = np.asarray(heater.burner_power), np.asarray(heater.element_power)
    by_inverter = battery is not None and np.asarray(heater.element_voltage) > 60
    lost = np.where(by_inverter, battery.inverter_efficiency if battery else 1.0, 1.0)
    electric = np.where((burner <= 0) & (element > 0), day / lost, 0.0)
    useful = np.where(burner > 0, burner * np.asarray(heater.burner_efficiency), 1.0)
    burning = np.where(burner > 0, day / useful, 0.0)
    found = {"energy": pumped + electric + np.asarray(heater.burner_electric) * burning + other}
    kind = heater.fuel or (build.fuel.kind if build.fuel else "")
    if kind in table("fuels", build.rows):
        value = table("fuels", build.rows)[kind].number("heating_value")
        fuel = h.fuel_mass.si(day, value, heater.burner_efficiency)
        found["fuel"] = np.where(burner > 0, fuel, np.nan)
    return found


def heating(build: Build) -> Found:
    """Time for one filling by the first source of heat, and warm water from it."""
    heater = heater_of(build)
    if heater is None or heater.volume is None or heater.kind == "flow-through":
        return {"heating": np.nan, "mixed": np.nan}
    cold, hot = np.asarray(build.van.cold_water), np.asarray(heater.setpoint)
    mean = (cold + hot) / 2
    heat = h.heat_to_warm.si(
        density=water_density.si(cold),
        volume=heater.volume,
        specific_heat=water_specific_heat.si(mean),
        rise=hot - cold,
    )
    burner, element = np.asarray(heater.burner_power), np.asarray(heater.element_power)
    coolant = np.asarray(heater.coolant_power)
    power = np.where(burner > 0, burner, np.where(element > 0, element, coolant))
    share = np.where(burner > 0, heater.burner_efficiency, 1.0)
    fine = (power > 0) & (hot > cold)
    time = h.heating_time.si(heat, np.where(fine, power, 1.0), share)
    wanted = [f.temperature for f in build.fixture if f.temperature is not None]
    wanted += [m.setting for m in build.mixing_valve]
    aim: Array = -np.inf
    for one in wanted:
        aim = np.maximum(aim, np.where(np.asarray(one) < hot, one, -np.inf))
    aim = np.where(np.isfinite(aim), aim, np.minimum(SHOWER, hot))
    usable = h.usable_hot.si(heater.volume, USABLE_SHARE)
    some = (cold < aim) & (aim <= hot)
    mixed = mixed_yield.si(usable, hot, cold, np.where(some, aim, hot))
    return {"heating": np.where(fine, time, np.nan), "mixed": np.where(some, mixed, np.nan)}


def cost(build: Build) -> Found:
    """Pump and tube by length, of what the build file prices."""
    prices = priced(build)
    shelf = {stock.tube: stock.length for stock in build.stock}
    total: Array = 0.0
    for pump in build.pump:
        total = total + _by_name(pump.curve, prices)
    for run in build.run:
        each = {n: prices.get(n, 0.0) / shelf.get(n, 1.0) for n in table("tubes", build.rows)}
        total = total + _by_name(run.tube, each) * np.asarray(run.length)
    return {"cost": total}


def _by_name(name: Any, figures: dict[str, float]) -> Array:
    if isinstance(name, str):
        return figures.get(name, 0.0)
    return np.array([figures.get(one, 0.0) for one in np.asarray(name).tolist()])
