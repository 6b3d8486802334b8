"""The way of hot water from each heater to the fixtures, cut where water is mixed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .model import Build
from .parts import Fixture, Heater, MixingValve, ShutOff


@dataclass(frozen=True)
class HotWay:
    """Runs from a heater to a fixture, by number; ``mixed_from`` counts those before mixing.

    ``valve`` is the mixing valve on the way, or None; ``cold_too`` tells whether the fixture
    has a cold supply of its own.
    """

    fixture: str
    runs: tuple[int, ...]
    mixed_from: int
    valve: MixingValve | None
    cold_too: bool


def ways(build: Build, heater: Heater) -> dict[str, HotWay]:
    """The way from a heater to each fixture that it reaches, by the fixture's name.

    Shut valves stop it.  Of several ways it is the one with the fewest runs.
    """
    ends = [build.ends(run) for run in build.run]
    shut = {z.manifold + "." + z.name for z in build.zone if z.opening <= 0}
    found: dict[str, HotWay] = {}
    front: list[tuple[str, tuple[int, ...], int, MixingValve | None]] = [
        (heater.name, (), -1, None)
    ]
    seen = {heater.name}
    while front:
        following: list[tuple[str, tuple[int, ...], int, MixingValve | None]] = []
        for name, runs, mixed, valve in front:
            for index, (start, end) in enumerate(ends):
                if start.component != name or end.component in seen or str(start) in shut:
                    continue
                part = build.component(end.component)
                if isinstance(part, MixingValve) and end.port != "hot":
                    continue
                if isinstance(part, ShutOff) and part.opening <= 0:
                    continue
                trail = (*runs, index)
                if isinstance(part, Fixture):
                    others = [
                        a
                        for i, (a, b) in enumerate(ends)
                        if b.component == part.name and i != index
                    ]
                    count = len(trail) if mixed < 0 else mixed
                    found.setdefault(
                        part.name, HotWay(part.name, trail, count, valve, bool(others))
                    )
                    continue
                seen.add(part.name)
                if isinstance(part, MixingValve):
                    following.append((part.name, trail, len(trail), part))
                else:
                    following.append((part.name, trail, mixed, valve))
        front = following
    return found


def hot_ways(build: Build) -> dict[str, tuple[Heater, HotWay]]:
    """For each fixture that hot water comes to, the heater that it comes from and the way.

    Of several heaters it is the one with the fewest runs on the way, then with the least tube;
    their order in the file decides nothing.
    """

    def far(pair: tuple[Heater, HotWay]) -> tuple[int, float, str]:
        heater, way = pair
        length = sum(float(np.max(build.run[n].length)) for n in way.runs)
        return len(way.runs), length, heater.name

    found: dict[str, tuple[Heater, HotWay]] = {}
    for heater in build.heater:
        for name, way in ways(build, heater).items():
            if name not in found or far((heater, way)) < far(found[name]):
                found[name] = (heater, way)
    return found
