"""What the water system weighs, full and empty, and its share of what the van may carry."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...formulas.needs import payload_share
from ...formulas.tank import water_mass
from ...formulas.tube import tube_content
from ...formulas.water import water_density
from ...van.model import Build
from ...words.brief import brief
from ...words.tables import table
from ...words.work import Work, total
from .budget import fuel_carried, heater_of
from .tanks import TankFacts, tank_facts

FITTING = 0.03
"""kg of one fitting or valve without a mass of its own (assumed, typical of brass at 1/2 in)."""


@dataclass(frozen=True)
class Load:
    """One thing that weighs; ``counted`` is False where nobody said what it weighs."""

    name: str
    mass: float
    basis: str
    counted: bool = True
    water: bool = False


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


def weight(build: Build) -> Weight:
    """Everything of the water system that weighs."""
    density = float(water_density.si(build.van.cold_water))
    tanks = tank_facts(build)
    works: dict[str, Work] = {}
    loads = [_tank_load(tank) for tank in tanks]
    loads += _component_loads(build)
    loads += _tube_loads(build)
    fuel = fuel_carried(build)
    if fuel is not None:
        loads.append(Load("fuel for the heater", fuel, "given"))
    loads += _water_loads(build, tanks, density, works)
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


def _tank_load(tank: TankFacts) -> Load:
    if tank.mass_empty is None:
        return Load(f"{tank.name}, empty", 0.0, "not said", counted=False)
    return Load(f"{tank.name}, empty", tank.mass_empty, "given")


def _component_loads(build: Build) -> list[Load]:
    loads = []
    pumps = table("pumps", build.rows)
    for pump in build.pump:
        row = pumps.get(pump.curve)
        usual = row["mass"] if row is not None else None
        mass = pump.mass if pump.mass is not None else usual
        basis = "given" if pump.mass is not None else "typical, weigh yours"
        loads.append(Load(pump.name, mass or 0.0, basis if mass else "not said", bool(mass)))
    heavy = [(p.name, p.mass) for p in build.accumulator]
    heavy += [(p.name, p.mass) for p in build.heater]
    for name, known in heavy:
        basis = "given" if known is not None else "not said"
        loads.append(Load(name, known or 0.0, basis, known is not None))
    small = (
        len(build.check_valve)
        + len(build.shut_off)
        + len(build.strainer)
        + len(build.regulator)
        + len(build.mixing_valve)
        + len(build.zone)
        + sum(count for run in build.run for _, count in run.fittings)
    )
    if small:
        loads.append(Load(f"{small} fittings and valves", small * FITTING, "assumed, 30 g each"))
    return loads


def _tube_loads(build: Build) -> list[Load]:
    tubes = table("tubes", build.rows)
    total = 0.0
    for run in build.run:
        row = tubes[run.tube]
        if row["density"] is not None:
            ring = row.number("od") ** 2 - row.number("bore") ** 2
            total += 0.7853981633974483 * ring * run.length * row.number("density")
    return [Load("tube", total, "sizes and density of the table")] if total else []


def _water_loads(
    build: Build, tanks: tuple[TankFacts, ...], density: float, works: dict[str, Work]
) -> list[Load]:
    loads = []
    starts = {tank.name: tank.fill_share for tank in build.tank}
    for tank in tanks:
        if tank.holds != "fresh":
            continue
        held = water_mass.work(density=density, volume=tank.volume * starts[tank.name])
        works[f"water in {tank.name}"] = held
        loads.append(Load(f"water in {tank.name}", held.value, "its content", water=True))
    heater = heater_of(build)
    if heater is not None and heater.volume:
        held = water_mass.work(density=density, volume=heater.volume)
        works[f"water in {heater.name}"] = held
        loads.append(Load(f"water in {heater.name}", held.value, "its content", water=True))
    tubes = table("tubes", build.rows)
    content = sum(
        float(tube_content.si(tubes[run.tube].number("bore"), run.length)) for run in build.run
    )
    if content:
        held = water_mass.work(density=density, volume=content)
        works["water in the runs"] = held
        loads.append(Load("water in the runs", held.value, "bore and length", water=True))
    return loads
