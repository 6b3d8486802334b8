"""What the water system weighs, full and empty: the bill, water and fuel, against the payload."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from ..formulas.needs import payload_share
from ..formulas.tank import water_mass
from ..formulas.tube import tube_content
from ..formulas.water import water_density
from ..trip.stay.budget import fuel_carried
from ..van import tank_shapes
from ..van.kinds import heaters, line_parts
from ..van.rows import pick
from ..van.water_held import BESIDE, held_beside_runs
from ..words.brief import brief
from ..words.work import Steps, Work, total
from .bill import Bill

if TYPE_CHECKING:
    from ..van.model import Build

GROUPS = {
    "device": "",
    "valve": "valves, tees and other fittings",
    "ring": "rings and liners",
    "tube": "tube",
    "insulation": "insulation",
    "clip": "clips and screws",
}
"""How lines of the bill are told together; devices are told one by one."""
FUEL = "fuel for the heater"


@brief
@dataclass(frozen=True)
class Load:
    """One thing that weighs; ``counted`` is False where nobody said what it weighs.

    ``part`` is the component that it is, belongs to or stands in, if it is one's.
    """

    name: str
    mass: float
    basis: str
    counted: bool = True
    water: bool = False
    part: str = ""


@brief
@dataclass(frozen=True)
class Weight:
    """Masses in kg.  ``leaving`` is with full fresh tanks and empty grey ones.

    ``worst`` is the most that can be aboard: what has left the fresh tank may be in the grey.
    ``share`` is that of the payload, or None if the payload is not said.
    """

    loads: tuple[Load, ...]
    dry: float
    leaving: float
    worst: float
    payload: float | None
    share: float | None
    unknown: tuple[str, ...]
    works: dict[str, Work] = field(default_factory=dict)


def weigh(build: Build, bill: Bill) -> Weight:
    """All that the bill brings into the van, with water and fuel."""
    works: dict[str, Work] = {}
    loads = _loads(bill)
    fuel = fuel_carried(build)
    if fuel is not None:
        loads.append(Load(FUEL, fuel, "given"))
    loads += _water_loads(build, works)
    dry_loads = [(load.name, load.mass) for load in loads if load.counted and not load.water]
    wet_loads = [(load.name, load.mass) for load in loads if load.water]
    dry = leaving = 0.0
    if dry_loads:
        works["dry"] = total("mass", dry_loads)
        dry = leaving = works["dry"].value
    if wet_loads:
        works["all"] = total("mass", [("parts", dry), *wet_loads])
        leaving = works["all"].value
    payload = build.van.payload
    share = None
    if payload:
        works["share"] = payload_share.work(mass=leaving, mass_payload=payload)
        share = works["share"].value
    return Weight(
        loads=tuple(loads),
        dry=dry,
        leaving=leaving,
        worst=leaving,
        payload=payload,
        share=share,
        unknown=tuple(load.name for load in loads if not load.counted),
        works=works,
    )


def _loads(bill: Bill) -> list[Load]:
    """The bill's lines: devices one by one, the rest by groups."""
    loads = []
    groups: dict[str, float] = {}
    unknown: dict[str, list[str]] = {}
    for line in bill.lines:
        if not line.aboard:
            continue
        known = line.mass is not None or line.weighs is not None
        if line.kind == "device":
            loads.append(Load(line.name, line.total, line.basis, known, part=line.part))
            continue
        group = _group(line.kind)
        groups[group] = groups.get(group, 0.0) + line.total
        if not known:
            unknown.setdefault(group, []).append(line.name)
    basis = {"tube": "sizes and density of the table", "insulation": "typical foam"}
    for name, mass in groups.items():
        loads.append(Load(name, mass, basis.get(name, "the bill; typical, weigh yours")))
    loads += [Load(name, 0.0, "not said", False) for names in unknown.values() for name in names]
    return loads


def _group(kind: str) -> str:
    if kind == "hose":
        return GROUPS["tube"]
    if kind in ("ring", "liner"):
        return GROUPS["ring"]
    if kind in ("clip", "screw"):
        return GROUPS["clip"]
    return GROUPS.get(kind, GROUPS["valve"])


def _water_loads(build: Build, works: dict[str, Work]) -> list[Load]:
    loads = []
    steps = Steps()
    for name, mass, basis in water_aboard(build, steps):
        load = water_in(name, mass, basis)
        works[load.name] = steps[-1]
        loads.append(load)
    return loads


def water_in(part: str, mass: float, basis: str) -> Load:
    """The water that stands in a component, or in all runs and what is beside them."""
    return Load(f"water in {part}", mass, basis, water=True, part=part)


def water_aboard(build: Build, steps: Steps) -> Iterator[tuple[str, Any, str]]:
    """What holds water when the van leaves, the water's mass, kg, and where that comes from.

    What a build says may be arrays of variants, where no ``steps`` are kept.
    """
    density = water_density.si(build.van.cold_water)
    found: list[tuple[str, Any, str]] = [
        (tank.name, tank_shapes.volume(tank) * np.asarray(tank.fill_share), "its content")
        for tank in build.tank
        if tank.holds == "fresh"
    ]
    found += [(heater.name, heaters.content(heater), "its content") for heater in build.heater]
    found += [(p.name, line_parts.content(build, p), "its content") for p in build.line_part]
    runs: Any = sum(
        tube_content.si(pick(build, "tubes", run.tube, "bore"), run.length) for run in build.run
    )
    found.append(("the runs", runs, "bore and length"))
    found.append((BESIDE, held_beside_runs(build), "typical"))
    empty = {part.name for part in build.line_part} | {"the runs", BESIDE}
    for name, volume, basis in found:
        if name not in empty or np.any(np.asarray(volume) > 0):
            yield name, steps.of(water_mass, density=density, volume=volume), basis
