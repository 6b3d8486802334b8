"""What each tank holds and weighs, what of it can be used, and whether it fits its space."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...formulas.tank import usable_volume, water_mass
from ...formulas.water import water_density
from ...van import tank_shapes
from ...van.model import Build
from ...van.parts import Tank
from ...words.brief import brief
from ...words.work import Work


@brief
@dataclass(frozen=True)
class TankFacts:
    """One tank, SI.  ``outside`` is length, width and height over its walls, where known.

    ``fits`` is None where either the tank's size or its space is not said; ``misfits`` tells
    by how much each side is too great: side and length in metres.
    """

    name: str
    holds: str
    shape: str
    volume: float
    heel: float
    usable: float
    mass_water: float
    mass_empty: float | None
    outside: tuple[float, float, float] | None
    fits: bool | None
    misfits: tuple[tuple[str, float], ...]
    stated: float | None
    works: dict[str, Work] = field(default_factory=dict)


def tank_facts(build: Build) -> tuple[TankFacts, ...]:
    """Every tank of the build, in its order."""
    return tuple(facts(tank, build.van.cold_water) for tank in build.tank)


def facts(tank: Tank, temperature: float) -> TankFacts:
    """One tank with water of a temperature.  ValueError where its shape lacks a size."""
    volume = tank_shapes.volume(tank)
    heel = tank_shapes.heel(tank)
    works: dict[str, Work] = {}
    for name, steps in (
        ("volume", tank_shapes.volume_work(tank)),
        ("heel", tank_shapes.heel_work(tank)),
    ):
        if steps:
            works[name] = steps[0]
    works["usable"] = usable_volume.work(
        volume=volume, volume_heel=heel, share_full=tank.fill_share
    )
    works["mass"] = water_mass.work(density=float(water_density.si(temperature)), volume=volume)
    outside = outside_size(tank)
    space = (tank.space_length, tank.space_width, tank.space_height)
    misfits = _misfits(outside, space)
    known = outside is not None and any(side is not None for side in space)
    return TankFacts(
        name=tank.name,
        holds=tank.holds,
        shape=tank.shape,
        volume=volume,
        heel=heel,
        usable=works["usable"].value,
        mass_water=works["mass"].value,
        mass_empty=tank.mass_empty,
        outside=outside,
        fits=not misfits if known else None,
        misfits=misfits,
        stated=tank.volume if tank.shape != "stated" else None,
        works=works,
    )


def outside_size(tank: Tank) -> tuple[float, float, float] | None:
    """Length, width and height over the walls; None where the sizes are not said."""
    if tank.shape == "lying cylinder":
        inside = (tank.length, tank.diameter, tank.diameter)
    elif tank.shape == "standing cylinder":
        inside = (tank.diameter, tank.diameter, tank.height)
    else:
        inside = (tank.length, tank.width, tank.height)
    if any(side is None for side in inside):
        return None
    length, width, height = (float(side or 0.0) + 2 * tank.wall for side in inside)
    return length, width, height


def _misfits(
    outside: tuple[float, float, float] | None, space: tuple[float | None, ...]
) -> tuple[tuple[str, float], ...]:
    """Sides that are greater than the space, each with by how much."""
    if outside is None:
        return ()
    return tuple(
        (side, size - room)
        for side, size, room in zip(("length", "width", "height"), outside, space, strict=True)
        if room is not None and size > room + 1e-9
    )
