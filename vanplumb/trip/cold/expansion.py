"""Water that grows when it is heated, in a system with no way back: how far pressure climbs."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ...flow.elasticity import Give, give_of
from ...formulas.heater import (
    closed_heating_residual,
    cushioned_water,
    expansion_vessel,
    expansion_volume,
    relief_discharge,
)
from ...formulas.pressure import air_pressure
from ...formulas.water import water_density
from ...van.model import Build
from ...van.parts import Accumulator, Heater
from ...van.ratings import highest_supply, is_closed, vessels
from ...van.trace import reached
from ...words.work import Work, solved
from ..hot_runs.plug import Array
from ..stay.budget import heater_of


@dataclass(frozen=True)
class Expansion:
    """One heat-up from cold to the setpoint with every tap shut; SI, pressures gauge.

    ``pressure`` is where it would end without a relief valve, ``bare`` where it would end
    without any cushion.  ``supply`` is what holds the pressure that it begins at.
    ``discharge`` is what the relief valve lets out.  ``closed`` is False where water can go
    back to the tank.  ``path`` is temperature and pressure on the way.  ``vessel`` is the least
    vessel that keeps under the relief pressure.
    """

    heater: str
    closed: bool
    growth: float
    start: float
    pressure: float
    bare: float
    relief: float | None
    opens: bool
    opens_bare: bool
    opens_at: float | None
    discharge: float
    compliance: float
    supply: str
    pressure_works: tuple[Work, ...]
    vessel: float | None
    path: tuple[Array, Array]
    works: dict[str, Work] = field(default_factory=dict)


def expansion(build: Build) -> Expansion | None:
    """One heat-up of the first heater; None without one or where its content is not said."""
    heater = heater_of(build)
    if heater is None or not heater.volume or heater.setpoint <= build.van.cold_water:
        return None
    air = float(air_pressure.si(build.van.altitude))
    start = highest_supply(build).value
    within = vessels(build, heater)
    found = _give(build, heater)
    give = found.compliance
    works: dict[str, Work] = {}
    cold = float(water_density.si(build.van.cold_water))
    works["growth"] = expansion_volume.work(
        volume=heater.volume,
        density_cold=cold,
        density_hot=float(water_density.si(heater.setpoint)),
    )
    growth = works["growth"].value
    warm = np.linspace(build.van.cold_water, heater.setpoint, 41)
    grown = np.maximum(heater.volume * (cold / water_density.si(warm) - 1.0), 0.0)
    path = pressure_after(grown, start, give, within, air)
    bare = float(pressure_after(np.array([growth]), start, give, (), air)[0])
    end = float(path[-1])
    closed = is_closed(build)
    relief = heater.relief
    opens = closed and relief is not None and end > relief
    opens_at, discharge = None, 0.0
    if opens and relief is not None:
        opens_at = float(np.interp(relief, path, warm))
        taken = _taken(relief, start, give, within, air)
        works["discharge"] = relief_discharge.work(volume_growth=growth, volume_taken=taken)
        discharge = works["discharge"].value
    steps = _solved(end, start, growth, give, within, air)
    works["pressure"] = steps[-1]
    vessel = None
    if relief is not None and relief > start:
        works["vessel"] = expansion_vessel.work(
            volume_growth=growth,
            pressure_precharge=start,
            pressure_highest=relief,
            pressure_absolute_air=air,
        )
        vessel = works["vessel"].value
    return Expansion(
        heater=heater.name,
        closed=closed,
        growth=growth,
        start=start,
        pressure=end if closed else start,
        bare=bare,
        relief=relief,
        opens=opens,
        opens_bare=closed and relief is not None and bare > relief,
        opens_at=opens_at,
        discharge=discharge,
        compliance=give,
        supply=highest_supply(build).why,
        pressure_works=(*found.works, *steps),
        vessel=vessel,
        path=(warm, path if closed else np.full_like(path, start)),
        works=works,
    )


def _give(build: Build, heater: Heater) -> Give:
    """What tubes and water take up per pressure: of the runs that the heater's water can get to.

    All of the water is taken as hot: hot water is a little stiffer, which errs to the safe side.
    """
    inside = reached(build, heater.name)
    runs = [
        index
        for index, (first, last) in enumerate(build.run_ends)
        if first.component in inside or last.component in inside
    ]
    return give_of(build, runs, [(heater.name, heater.volume or 0.0)], heater.setpoint)


def _taken(
    pressure: Array | float,
    start: float,
    give: float,
    cushions: tuple[Accumulator, ...],
    air: float,
) -> float:
    """Water that tubes and cushions have taken up between two pressures."""
    total = give * (pressure - start)
    for one in cushions:
        last = np.maximum(pressure, one.precharge)
        first = max(start, one.precharge)
        total = total + (
            cushioned_water.si(one.volume, one.precharge, last, air)
            - cushioned_water.si(one.volume, one.precharge, first, air)
        )
    return total  # type: ignore[return-value]


def pressure_after(
    growth: Array, start: float, give: float, cushions: tuple[Accumulator, ...], air: float
) -> Array:
    """Pressure at which all of a growth has been taken up; shapes as ``growth``."""
    low = np.full(growth.shape, start)
    high = low + growth / max(give, 1e-16) + 1.0
    for _ in range(100):
        middle = (low + high) / 2
        under = _taken(middle, start, give, cushions, air) < growth
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return (low + high) / 2


def _solved(
    pressure: float,
    start: float,
    growth: float,
    give: float,
    cushions: tuple[Accumulator, ...],
    air: float,
) -> tuple[Work, ...]:
    """What each cushion holds before and after, and the equation at its answer."""
    works: list[Work] = []
    taken = 0.0
    for one in cushions:
        before, after = (
            cushioned_water.work(
                volume=one.volume,
                pressure_precharge=one.precharge,
                pressure=max(level, one.precharge),
                pressure_absolute_air=air,
            )
            for level in (start, pressure)
        )
        works += [before, after]
        taken += after.value - before.value
    solved_for = solved(
        closed_heating_residual,
        "pressure",
        pressure=pressure,
        pressure_start=start,
        volume_growth=growth,
        compliance=give,
        volume_cushion=taken,
    )
    return (*works, solved_for)
