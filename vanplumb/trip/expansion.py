"""Water that grows when it is heated, in a system with no way back: how far pressure climbs."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..build.model import Build
from ..build.parts import Accumulator, Heater
from ..build.ratings import highest_supply, is_closed, vessels
from ..build.trace import reached
from ..formulas.air import air_pressure
from ..formulas.closed_heating import closed_heating_residual, relief_discharge
from ..formulas.heater import cushioned_water, expansion_vessel, expansion_volume
from ..formulas.pressure_test import tube_compliance, water_compliance
from ..formulas.tube import tube_content
from ..formulas.water import water_density
from ..words.tables import table
from ..words.work import Work, solved
from .budget import heater_of
from .plug import Array

SQUEEZE = 4.5e-10
"""1/Pa, compressibility of water at 20 to 60 °C (IAPWS, from memory)."""
STIFFNESS = {"copper": 117e9, "hose": 5e6}
PLASTIC = 0.6e9
"""Pa, modulus of cross-linked polyethylene at room temperature (from memory; half when hot)."""


@dataclass(frozen=True)
class Expansion:
    """One heat-up from cold to the setpoint with every tap shut; SI, pressures gauge.

    ``pressure`` is where it would end without a relief valve, ``bare`` where it would end
    without any cushion.  ``discharge`` is what the relief valve lets out.  ``closed`` is
    False where water can go back to the tank.  ``path`` is temperature and pressure on the
    way.  ``vessel`` is the least vessel that keeps under the relief pressure.
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
    give, works = _compliance(build, heater)
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
    works["pressure"] = _solved(end, start, growth, give, within, air)
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
        vessel=vessel,
        path=(warm, path if closed else np.full_like(path, start)),
        works=works,
    )


def _compliance(build: Build, heater: Heater) -> tuple[float, dict[str, Work]]:
    """Water that goes in per pressure: the tubes swell, and water itself is squeezed.

    Only runs that the heater's water can get to are counted; the heater itself as stiff.
    """
    tubes = table("tubes", build.rows)
    inside = reached(build, heater.name)
    total, held = 0.0, heater.volume or 0.0
    ends = build.run_ends
    works: dict[str, Work] = {}
    for index, run in enumerate(build.run):
        first, last = ends[index]
        if first.component not in inside and last.component not in inside:
            continue
        row = tubes[run.tube]
        volume = float(tube_content.si(row.number("bore"), run.length))
        held += volume
        one = tube_compliance.work(
            volume=volume,
            diameter=row.number("bore"),
            thickness=row["wall"] or (row.number("od") - row.number("bore")) / 2,
            modulus=STIFFNESS.get(row["material"], PLASTIC),
        )
        total += one.value
        works.setdefault("tube", one)
    works["water"] = water_compliance.work(volume=held, compressibility=SQUEEZE)
    return total + works["water"].value, works


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
) -> Work:
    """The equation at its answer, with all cushions as one volume of air at the start."""
    cushion = sum(
        v.volume * (min(v.precharge, start) + air) / (start + air)
        if start > v.precharge
        else v.volume
        for v in cushions
    )
    return solved(
        closed_heating_residual,
        "pressure",
        pressure=pressure,
        pressure_start=start,
        volume_growth=growth,
        compliance=give,
        volume_air=cushion,
        pressure_absolute_air=air,
    )
