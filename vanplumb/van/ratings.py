"""What a tube may bear at a temperature, and the highest heat that it may see."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..words.tables import Row
from .kinds.heaters import hottest
from .model import Build
from .parts import Heater
from .trace import COLD, contents, runs_below


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


def highest_of_runs(build: Build) -> tuple[Highest, ...]:
    """The highest temperature of each run in service, K: by the heaters that its water passes.

    By all of them where a run for hot water lies behind none.
    """
    below = [(heater, runs_below(build, heater.name)) for heater in build.heater]
    return tuple(
        _highest(build, carries, [h for h, runs in below if number in runs] or build.heater)
        for number, carries in enumerate(contents(build))
    )


def highest_temperature(build: Build, carries: str) -> Highest:
    """The highest temperature that cold, hot or mixed water may have anywhere in the van, K."""
    return _highest(build, carries, build.heater)


def _highest(build: Build, carries: str, heaters: Sequence[Heater]) -> Highest:
    """By the hottest of some heaters.  One that no run joins heats none."""
    every = [heater for heater in heaters if heater.name in build.joined]
    if carries == COLD or not every:
        return Highest(max(build.van.cold_water, build.van.cabin), "cabin air")
    one = max(every, key=hottest)
    why = "engine coolant in" if one.coolant_power else "setpoint and differential of"
    return Highest(hottest(one), f"{why} {one.name}")
