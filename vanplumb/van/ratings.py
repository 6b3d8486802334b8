"""What a tube may bear at a temperature, and the highest heat that it may see."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ..words.tables import Row
from .kinds.heaters import hottest
from .model import Build
from .trace import COLD


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


def highest_temperature(build: Build, carries: str) -> Highest:
    """The highest temperature that a run may see in service, K.

    A heater that no run joins heats none.
    """
    every = [heater for heater in build.heater if heater.name in build.joined]
    if carries == COLD or not every:
        return Highest(max(build.van.cold_water, build.van.cabin), "cabin air")
    one = max(every, key=hottest)
    why = "engine coolant in" if one.coolant_power else "setpoint and differential of"
    return Highest(hottest(one), f"{why} {one.name}")
