"""The planned days played with plenty of everything: what a mean day takes."""

from __future__ import annotations

import math
from dataclasses import replace

from ..stay.mean_day import HeaterDay, MeanDay
from .draws import planned
from .plant import BatteryPlant, Plant
from .simulate import simulate

DAYS = 7
"""Days that are played: a week has every habit in it that is told by the day."""
PLENTY = 1e4
"""m³, and 1e9 times that in J: more than any stay takes."""


def mean_day(plant: Plant, days: int = DAYS) -> MeanDay:
    """A mean day of the planned schedule, from a cold start on."""
    battery = plant.battery
    endless = replace(
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
    out = simulate(endless, planned(endless, days), days=float(days))
    return MeanDay(
        days=float(days),
        run_off=float(out.wasted.sum() - out.water_returned.sum()) / days,
        heat=float(out.heat_in[0]) / days,
        heat_taps=float(out.heat_out[0]) / days,
        heat_store=float(out.heat_lost[0]) / days,
        heat_runs=float(out.line_lost[0]) / days,
        heat_left=float(out.heat_end[0] - out.heat_start[0]) / days,
        burning=float(out.burning[0]) / days,
        fuel=float(out.fuel_used[0]) / days,
        electric=float(out.charge_used[0]) / days,
        pump=sum(
            pump.power / pump.flow * float(out.pumped[0, n]) for n, pump in enumerate(plant.pumps)
        )
        / days,
        pumped=tuple(
            (pump.name, float(out.pumped[0, n]) / days) for n, pump in enumerate(plant.pumps)
        ),
        heaters=tuple(
            HeaterDay(
                name=heater.name,
                heat=float(out.heater_in[0, n]) / days,
                lost=float(out.heater_lost[0, n]) / days,
                burning=float(out.heater_burning[0, n]) / days,
                fuel=float(out.heater_fuel[0, n]) / days,
                element=float(out.heater_element[0, n]) / days,
            )
            for n, heater in enumerate(plant.heaters)
        ),
        water=float(out.water_taken[0]) / days,
    )
