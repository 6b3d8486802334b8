"""What a tube may bear at a temperature, and the highest pressure and heat that it may see."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ..formulas.heater import cushioned_water, expansion_volume
from ..formulas.pressure import air_pressure
from ..formulas.water import water_density
from ..words.tables import Row
from .kinds import pumps
from .kinds.heaters import has_store, hottest
from .model import Build
from .parts import Accumulator, Heater
from .trace import COLD, reached


@dataclass(frozen=True)
class Highest:
    """The highest value in service and what sets it."""

    value: float
    why: str


def rating_at(row: Row, temperature: float) -> float | None:
    """Pressure rating of a tube, Pa: on a straight line between its printed temperatures.

    Below the first it is the first.  None above the last, or where nothing is printed.
    """
    temperatures, pressures = row["rating_temperatures"], row["rating_pressures"]
    if not temperatures or not pressures or temperature > max(temperatures) + 0.01:
        return None
    pairs = sorted(zip(temperatures, pressures, strict=True))
    if temperature <= pairs[0][0]:
        return float(pairs[0][1])
    for (low, at_low), (high, at_high) in pairwise(pairs):
        if temperature <= high:
            return float(at_low + (at_high - at_low) * (temperature - low) / (high - low))
    return float(pairs[-1][1])


def highest_supply(build: Build) -> Highest:
    """The highest pressure that pump or shore gives, Pa gauge."""
    found = [Highest(0.0, "gravity only")]
    found += [Highest(*pumps.highest(build, pump)) for pump in build.pump]
    for shore in build.shore_inlet:
        if build.regulator:
            setting = max(r.setting for r in build.regulator)
            found.append(Highest(min(setting, shore.pressure), "shore water behind its regulator"))
        else:
            found.append(Highest(shore.pressure, f"shore water at {shore.name}, no regulator"))
    return max(found, key=lambda one: one.value)


def is_closed(build: Build) -> bool:
    """Whether a check valve keeps warming water from growing back into the supply."""
    return bool(build.check_valve) or any(map(pumps.holds_back, build.pump))


def highest_pressure(build: Build, carries: str) -> Highest:
    """The highest pressure that a cold, hot or mixed run may see day by day, Pa gauge.

    Without a vessel, water that warms behind a check valve rises until its relief valve opens.
    """
    if build.limits.working_pressure is not None:
        return Highest(build.limits.working_pressure, "stated in the build")
    supply = highest_supply(build)
    reliefs = [h.relief for h in build.heater if h.relief is not None]
    if carries == COLD or not is_closed(build) or not reliefs or max(reliefs) <= supply.value:
        return supply
    if all(_room(build, h, supply.value) >= _growth(build, h) for h in build.heater):
        return supply
    return Highest(max(reliefs), "water that warms with no room to grow, up to the relief valve")


def vessels(build: Build, heater: Heater) -> tuple[Accumulator, ...]:
    """The accumulators that water pushed out of a heater can get to."""
    within = reached(build, heater.name)
    return tuple(a for a in build.accumulator if a.name in within)


def _room(build: Build, heater: Heater, pressure: float) -> float:
    """Water that the vessels take up from a pressure to the relief valve's, m³."""
    air = float(air_pressure.si(build.van.altitude))
    top = heater.relief or pressure
    room = 0.0
    for one in vessels(build, heater):
        low, high = max(pressure, one.precharge), max(top, one.precharge)
        held = [float(cushioned_water.si(one.volume, one.precharge, p, air)) for p in (low, high)]
        room += held[1] - held[0]
    return room


def _growth(build: Build, heater: Heater) -> float:
    """What a store's water grows by from cold to its setpoint, m³; nought if unknown."""
    if not has_store(heater):
        return 0.0
    cold, hot = (float(water_density.si(t)) for t in (build.van.cold_water, heater.setpoint))
    return max(float(expansion_volume.si(heater.volume, cold, hot)), 0.0)


def highest_temperature(build: Build, carries: str) -> Highest:
    """The highest temperature that a run may see in service, K."""
    if carries == COLD or not build.heater:
        return Highest(max(build.van.cold_water, build.van.cabin), "cabin air")
    one = max(build.heater, key=hottest)
    why = "engine coolant in" if one.coolant_power else "setpoint and differential of"
    return Highest(hottest(one), f"{why} {one.name}")
