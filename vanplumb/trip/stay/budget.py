"""The budgets of a stay: water by use, current, fuel; each against what the van carries.

What a mean day takes comes from the days played through (``vanplumb.trip.play``): the water
that runs off while a tap waits for hot, the heat that store and runs lose, the fuel for it.
A budget knows days only, not hours: whether the third shower is cold is told there.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ...formulas.heater import electric_energy, fuel_mass, fuel_volume
from ...formulas.mixing import hot_needed
from ...formulas.needs import (
    battery_energy,
    charging_energy,
    days_of_charge,
    days_of_fuel,
    drinking_water,
    inverter_energy,
    nights_of_water,
    pump_energy,
    water_for_stay,
    water_of_a_use,
)
from ...van import tank_shapes
from ...van.kinds import heaters
from ...van.kinds.line_parts import other_load
from ...van.main_parts import main_heater
from ...van.model import Build
from ...van.parts import Heater
from ...words.brief import brief
from ...words.tables import table
from ...words.unit_table import DAY
from ...words.work import Steps, Work, total
from .at_taps import at_taps
from .feeds import TankSet, tank_sets
from .habits import Habit, habits, window
from .mean_day import NOTHING, HeaterDay, MeanDay
from .pumping import Pumping, pumping, pumping_of
from .tanks import TankFacts, tank_facts


@brief
@dataclass(frozen=True)
class UseNeed:
    """What one habit takes in a day: water, and the hot share of it at the setpoint."""

    habit: Habit
    volume_day: float
    hot_day: float
    work: tuple[Work, ...] = ()


@brief
@dataclass(frozen=True)
class WaterBudget:
    """Water for the stay; m³.  ``works`` has the steps of each figure by its name.

    ``sets`` are the tanks that feed a tap, those together that find one level.
    """

    uses: tuple[UseNeed, ...]
    drinking_day: float
    run_off_day: float
    volume_day: float
    hot_day: float
    need: float
    reserve: float
    usable: float
    nights: float
    nights_wanted: int
    works: dict[str, Work] = field(default_factory=dict)
    sets: tuple[TankSet, ...] = ()

    @property
    def enough(self) -> bool:
        return self.usable >= self.need

    @property
    def enough_by_uses(self) -> bool:
        """Whether it would last if nothing ran off while taps wait for hot."""
        run_off = self.run_off_day * self.nights_wanted
        return self.usable >= self.need * (1 - run_off / max(self.need - self.reserve, 1e-12))


@brief
@dataclass(frozen=True)
class HeatBudget:
    """Heat for a day's hot water, J; ``lost_day`` of it gets to no tap."""

    lost_day: float
    heat_day: float
    source: str
    works: dict[str, Work] = field(default_factory=dict)


@brief
@dataclass(frozen=True)
class ElectricBudget:
    """Energy of a day, J, by what draws it; ``usable`` and ``charge_day`` are None if unsaid."""

    pump_day: float
    element_day: float
    burner_day: float
    other_day: float
    charge_day: float
    usable: float | None
    days: float | None
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def use_day(self) -> float:
        return self.pump_day + self.element_day + self.burner_day + self.other_day


@brief
@dataclass(frozen=True)
class FuelBudget:
    """Fuel of a day, kg and m³; ``carried`` is None if the build doesn't say."""

    kind: str
    mass_day: float
    volume_day: float
    carried: float | None
    days: float | None
    works: dict[str, Work] = field(default_factory=dict)


@brief
@dataclass(frozen=True)
class Budget:
    """All budgets of one build.

    ``fuels`` has each fuel that is burned, ``fuel`` is the one that is carried, else the first.
    """

    water: WaterBudget
    heat: HeatBudget
    electric: ElectricBudget
    fuels: tuple[FuelBudget, ...]
    tanks: tuple[TankFacts, ...]
    pump: Pumping | None

    @property
    def fuel(self) -> FuelBudget | None:
        """The fuel that is carried; the first one that is burned where none is said."""
        return next((f for f in self.fuels if f.carried is not None), next(iter(self.fuels), None))


def budget(build: Build, day: MeanDay = NOTHING) -> Budget:
    """The budgets of a build with what its mean day loses.  HabitError if a use says too little."""
    tanks = tank_facts(build)
    pump = pumping(build)
    water = water_budget(build, habits(build), day)
    heat = heat_budget(build, day)
    electric = electric_budget(build, water, day, pump)
    return Budget(water, heat, electric, fuel_budgets(build, day), tanks, pump)


def water_budget(
    build: Build,
    uses: tuple[Habit, ...],
    mean: MeanDay = NOTHING,
) -> WaterBudget:
    """Water of a day by use, of the stay with its reserve, and the nights that a filling lasts.

    What runs off while taps wait for hot is among it.
    """
    crew = build.crew
    drinking = drinking_water.work(count_people=crew.people, volume_person=crew.drinking)
    hot = at_taps(build).hot
    rows = tuple(
        _use_need(
            build, habit, hot[habit.fixture].heater if habit.fixture in hot else main_heater(build)
        )
        for habit in uses
    )
    parts = [("drinking", drinking.value), *((row.habit.name, row.volume_day) for row in rows)]
    if mean.run_off > 0:
        parts.append(("run off waiting for hot", mean.run_off))
    whole = total("volume", parts)
    day = whole.value
    sets = [one for one in tank_sets(build) if not one.shore]
    usable = float(sum(one.usable for one in sets))
    need = water_for_stay.work(volume_day=day, count_nights=crew.nights, share_reserve=crew.reserve)
    works = {"drinking": drinking, "day": whole, "need": need, **_usable_works(sets)}
    nights = 0.0
    if day > 0:
        works["nights"] = nights_of_water.work(
            volume_usable=usable, volume_day=day, share_reserve=crew.reserve
        )
        nights = works["nights"].value
    return WaterBudget(
        uses=rows,
        drinking_day=drinking.value,
        run_off_day=mean.run_off,
        volume_day=day,
        hot_day=sum(row.hot_day for row in rows),
        need=need.value,
        reserve=need.value - day * crew.nights,
        usable=usable,
        nights=nights,
        nights_wanted=crew.nights,
        works=works,
        sets=tuple(sets),
    )


def _usable_works(sets: list[TankSet]) -> dict[str, Work]:
    """Steps of the water that can be pumped, where it is in more than one tank."""
    tanks = [tank for one in sets for tank in one.tanks]
    if len(tanks) < 2:
        return {}
    parts = [(tank.name, float(tank_shapes.usable(tank))) for tank in tanks]
    parts += [(f"run over from {one.name}", -float(one.spilt)) for one in sets if one.spilt > 0]
    return {"usable": total("volume", parts)}


def _use_need(build: Build, habit: Habit, heater: Heater | None) -> UseNeed:
    steps = Steps()
    day, hot = water_and_hot(build, habit, heater, steps)
    return UseNeed(habit, day, float(hot), tuple(steps))


def water_and_hot(
    build: Build, habit: Habit, heater: Heater | None, steps: Steps
) -> tuple[Any, Any]:
    """Water of a use in a day, m³, and the part of it that is drawn at the setpoint.

    What a build says may be arrays of variants, where no ``steps`` are kept.
    """
    day = steps.of(
        water_of_a_use, count_times=habit.per_day, flow=habit.flow, duration=habit.duration
    )
    cold = build.van.cold_water
    if heater is None or habit.temperature is None:
        return day, 0.0
    warm = np.minimum(habit.temperature, heater.setpoint)
    if not np.any(warm > cold):
        return day, 0.0
    hot = steps.of(
        hot_needed,
        volume_mixed=day,
        temperature_hot=heater.setpoint,
        temperature_cold=cold,
        temperature_mixed=warm,
    )
    return day, np.where(warm > cold, hot, 0.0)


def heat_budget(build: Build, day: MeanDay) -> HeatBudget:
    """Heat for the hot water of a day: what comes out of the taps, and what is lost on the way."""
    heater = main_heater(build)
    if heater is None or day.heat <= 0:
        return HeatBudget(0.0, 0.0, "none")
    many = len(day.heaters) > 1
    named = {one.name: one for one in build.heater}
    firsts = [heaters.first_source(named[one.name]) for one in day.heaters if one.heat > 0]
    sources = dict.fromkeys(first.name for first in firsts if first is not None)
    parts = (
        ("at the outlets", day.heat_taps),
        ("lost by the heaters" if many else "lost by the heater", day.heat_store),
        ("lost by the runs", day.heat_runs),
        ("left in them", day.heat_left),
    )
    whole = total("heat", parts)
    source = " and the ".join(sources) or "none"
    return HeatBudget(day.heat_store + day.heat_runs, whole.value, source, {"day": whole})


def electric_budget(
    build: Build, water: WaterBudget, day: MeanDay, pump: Pumping | None
) -> ElectricBudget:
    """Energy of a day by what draws it, and the days that the battery lasts."""
    works: dict[str, Work] = {}
    battery = build.battery
    pumped = element = burner = other = charge = 0.0
    pump_works = _pump_works(build, water, day, pump)
    if pump_works:
        pumped = _put(works, "pump", pump_works)
    named = {one.name: one for one in build.heater}
    burning = [
        (one.name, electric_energy.work(power=power, duration=one.burning))
        for one in day.heaters
        if (power := named[one.name].burner_electric) and one.burning > 0
    ]
    if burning:
        burner = _put(works, "burner", burning)
    elements = [
        (one.name, _element(build, named[one.name], one)) for one in day.heaters if one.element > 1
    ]
    if elements:
        element = _put(works, "element", elements)
    usable = days = None
    if battery is not None:
        if other_load(build):
            works["other"] = electric_energy.work(power=other_load(build), duration=DAY)
            other = works["other"].value
        hours = sum(end - start for start, end in map(window, battery.charge_hours))
        if hours and battery.charge_current:
            works["charge"] = charging_energy.work(
                current=battery.charge_current, voltage=battery.voltage, duration=hours
            )
            charge = works["charge"].value
        works["usable"] = battery_energy.work(
            charge=battery.whole_capacity, voltage=battery.voltage, share_usable=battery.usable
        )
        lost = battery.whole_capacity * battery.voltage * (1 - battery.start_share)
        usable = max(works["usable"].value - lost, 0.0)
        days = float("inf")
        if pumped + element + burner + other > charge:
            works["days"] = days_of_charge.work(
                energy_usable=usable,
                energy_day=pumped + element + burner + other,
                energy_charged=charge,
            )
            days = works["days"].value
    parts = (("pump", pumped), ("element", element), ("burner", burner), ("other", other))
    drawn = [(name, energy) for name, energy in parts if energy]
    if drawn:
        works["all"] = total("energy", drawn)
    return ElectricBudget(pumped, element, burner, other, charge, usable, days, works)


def _pump_works(
    build: Build, water: WaterBudget, day: MeanDay, pump: Pumping | None
) -> list[tuple[str, Work]]:
    """Energy of each electric pump, for its part of the water."""
    if not day.pumped:  # nobody played a day through: the one that the van lives by lifts it all
        lifted = [(pump, 1.0)] if pump is not None and pump.power > 0 else []
    else:
        named = {one.name: one for one in build.pump}
        whole = max(day.water, 1e-12)
        lifted = [
            (pumping_of(build, named[name]), volume / whole)
            for name, volume in day.pumped
            if volume > 0
        ]
    return [
        (
            one.name,
            pump_energy.work(
                volume=water.volume_day * share, flow=one.flow, voltage=one.voltage,
                current=one.current,
            ),
        )
        for one, share in lifted
    ]  # fmt: skip


def _element(build: Build, heater: Heater, day: HeaterDay) -> Work:
    """Energy that a heater's element takes from the battery in a day."""
    efficiency = heaters.inverter_efficiency(build, heater)
    return inverter_energy.work(heat=day.element * efficiency, efficiency=efficiency)


def _put(works: dict[str, Work], name: str, parts: list[tuple[str, Work]]) -> float:
    """Note the steps of something that one or several parts do; gives the sum."""
    if len(parts) == 1:
        works[name] = parts[0][1]
    else:
        for part, work in parts:
            works[f"{name} {part}"] = work.about(part)
        works[name] = total("energy", [(part, work.value) for part, work in parts])
    return works[name].value


def fuel_budgets(build: Build, day: MeanDay) -> tuple[FuelBudget, ...]:
    """Each fuel of a day, and the days that it lasts if it is carried; none without a burner."""
    rows = table("fuels", build.rows)
    kinds: dict[str, list[Heater]] = {}
    played = [one.name for one in day.heaters]
    for heater in build.heater:
        told = heater.name in played if played else heater is main_heater(build)
        if told and heaters.burns_fuel(heater):
            kind = heaters.fuel_kind(build, heater)
            if kind in rows:
                kinds.setdefault(kind, []).append(heater)
    return tuple(_fuel_budget(build, day, kind, those) for kind, those in sorted(kinds.items()))


def _fuel_budget(build: Build, day: MeanDay, kind: str, burners: list[Heater]) -> FuelBudget:
    row = table("fuels", build.rows)[kind]
    value = row.number("heating_value")
    burned = {one.name: one.fuel for one in day.heaters}
    works: dict[str, Work] = {}
    parts = [
        (
            heater.name,
            fuel_mass.work(
                heat=burned.get(heater.name, 0.0) * value * heater.burner_efficiency,
                heating_value=value,
                efficiency=heater.burner_efficiency,
            ),
        )
        for heater in burners
    ]
    if len(parts) == 1:
        mass = parts[0][1]
    else:
        works |= {f"mass {name}": work.about(name) for name, work in parts}
        mass = total("mass", [(name, work.value) for name, work in parts])
    volume = fuel_volume.work(mass=mass.value, density_fuel=row.number("density"))
    said = build.fuel is not None and build.fuel.kind == kind
    carried = fuel_carried(build) if said else None
    works |= {"mass": mass, "volume": volume}
    days = None
    if carried is not None and mass.value > 0:
        works["days"] = days_of_fuel.work(mass_carried=carried, mass_day=mass.value)
        days = works["days"].value
    return FuelBudget(kind, mass.value, volume.value, carried, days, works)


def fuel_carried(build: Build) -> float | None:
    """Mass of fuel that the build says it carries, kg; None if it doesn't say."""
    if build.fuel is None:
        return None
    if build.fuel.mass is not None:
        return build.fuel.mass
    if build.fuel.volume is None:
        return None
    row = table("fuels", build.rows)[build.fuel.kind]
    return build.fuel.volume * row.number("density")
