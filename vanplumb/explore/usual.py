"""What is usually weighed against each other in a build, where nobody says otherwise."""

from __future__ import annotations

from typing import Any

from ..build.model import Build
from ..trip.budget import heater_of
from ..trip.paths import ways
from ..words.tables import table
from .choices import Span

CHOICES = dict[str | tuple[str, ...], Any]


def usual(build: Build) -> CHOICES:
    """Tank size, heater, setpoint, pump, hot tube, shower and crew, as far as the build has them.

    About three thousand variants.  Pumps and tubes are those of the tables that are written
    in the same units as the build's own.
    """
    found: CHOICES = {}
    tank = next((t for t in build.tank if t.holds == "fresh"), None)
    if tank is not None:
        side = "volume" if tank.shape == "stated" else "height"
        side = "diameter" if tank.shape == "lying cylinder" else side
        size = getattr(tank, side)
        if size:
            found[f"tank.{tank.name}.{side}"] = Span(0.7 * size, 1.3 * size, 7)
    heater = heater_of(build)
    if heater is not None and heater.volume and heater.kind == "storage":
        sizes = [round(heater.volume * part, 6) for part in (0.6, 1.0, 1.5, 2.5)]
        found[f"heater.{heater.name}.volume"] = sizes
    if heater is not None:
        low, high = max(heater.setpoint - 10.0, 318.15), min(heater.setpoint + 5.0, 353.15)
        found[f"heater.{heater.name}.setpoint"] = sorted({low, heater.setpoint, high})
    pump = build.pump[0] if build.pump else None
    if pump is not None and pump.kind == "electric" and not pump.curve_flow:
        found[f"pump.{pump.name}.curve"] = _alike(build, "pumps", pump.curve, "12 V")
    if heater is not None:
        found |= _hot_tubes(build)
    if build.crew.people:
        people = build.crew.people
        found["crew.people"] = sorted({max(people - 1, 1), people, people + 1, people + 2})
    return found


def _hot_tubes(build: Build) -> CHOICES:
    """The runs from the heater to the fixture that waits longest, in the sizes of their sort."""
    heater = heater_of(build)
    reached = ways(build, heater) if heater is not None else {}
    if not reached:
        return {}
    name = max(reached, key=lambda f: sum(build.run[n].length for n in reached[f].runs))
    runs = [
        n for n in reached[name].runs if build.run[n].tube == build.run[reached[name].runs[0]].tube
    ]
    tube = build.run[runs[0]].tube
    sort = tube.split()[0]
    names = _alike(build, "tubes", tube, sort)[:4]
    return {tuple(f"run.{n + 1}.tube" for n in runs): names}


def _alike(build: Build, name: str, row: str, start: str) -> list[str]:
    """Rows of a table that begin alike and are written in the units of one of them."""
    us = row.endswith(("in", "psi"))
    rows = [r for r in table(name, build.rows) if r.startswith(start)]
    kept = [r for r in rows if r.endswith(("in", "psi")) == us and "submersible" not in r]
    return kept if row in kept else [row, *kept]
