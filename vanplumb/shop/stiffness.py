"""How much water a closed system takes up per pressure: what a drop of a gauge means.

Water gives a little, plastic tube gives much more, an accumulator gives most of all.  The
heater's own wall is left out: it is stiff beside the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..formulas.pressure_test import air_compliance, tube_compliance, water_compliance
from ..formulas.tube import tube_content
from ..words.tables import table
from ..words.work import Work

if TYPE_CHECKING:
    from ..build.model import Build

COMPRESSIBILITY = 4.6e-10
"""Of water at 20 °C, 1/Pa (from memory)."""
SWELLING = 2.07e-4
"""Of water at 20 °C, 1/K (from memory)."""


@dataclass(frozen=True)
class Give:
    """One part of the system: its water, and how much it takes up per pressure."""

    name: str
    volume: float
    compliance: float
    warming: float
    work: tuple[Work, ...] = ()


@dataclass(frozen=True)
class Stiffness:
    """The whole system.  ``warming`` is the volume per kelvin by which water outgrows it."""

    parts: tuple[Give, ...]
    pressure: float

    @property
    def volume(self) -> float:
        return sum(p.volume for p in self.parts)

    @property
    def compliance(self) -> float:
        return sum(p.compliance for p in self.parts)

    @property
    def warming(self) -> float:
        return sum(p.warming for p in self.parts)

    def rise_per_kelvin(self) -> float:
        """How much the pressure rises when all of it warms by a kelvin, Pa/K; falls if negative."""
        return self.warming / self.compliance if self.compliance else 0.0


def stiffness(build: Build, pressure: float, *, accumulator: bool = True) -> Stiffness:
    """Water and give of all that is under pressure: from the pump on, tank and suction not.

    ``accumulator`` False counts the system with its accumulators shut off.
    """
    parts: list[Give] = []
    tubes = table("tubes", build.rows)
    moduli = table("give", build.rows)
    suction = suction_runs(build)
    for index, run in enumerate(build.run):
        if index in suction:
            continue
        row = tubes[run.tube]
        bore, outside = row.number("bore"), row.number("od")
        wall = row["wall"] or (outside - bore) / 2
        volume = tube_content.work(diameter=bore, length=run.length)
        water = water_compliance.work(volume=volume.value, compressibility=COMPRESSIBILITY)
        wall_gives = tube_compliance.work(
            volume=volume.value,
            diameter=bore + wall,
            thickness=wall,
            modulus=moduli[row["material"]].number("modulus"),
        )
        swells = SWELLING - 3 * (row["expansion_coefficient"] or 0.0)
        parts.append(
            Give(
                f"run {index + 1}, {run.start} to {run.end}",
                volume.value,
                water.value + wall_gives.value,
                swells * volume.value,
                (volume, water, wall_gives),
            )
        )
    for heater in build.heater:
        if heater.volume:
            water = water_compliance.work(volume=heater.volume, compressibility=COMPRESSIBILITY)
            parts.append(
                Give(heater.name, heater.volume, water.value, SWELLING * heater.volume, (water,))
            )
    if accumulator:
        parts += [_cushion(v.name, v.volume, v.precharge, pressure) for v in build.accumulator]
    return Stiffness(tuple(p for p in parts if p is not None), pressure)


def suction_runs(build: Build) -> set[int]:
    """Runs between the tank and the first pump: they see no test pressure."""
    pumps = {p.name for p in build.pump}
    found: set[int] = set()
    reached = {t.name for t in build.tank if t.holds == "fresh"}
    if not pumps:
        return found
    while True:
        more = {
            i
            for i, run in enumerate(build.run)
            if i not in found and build.ends(run)[0].component in reached
        }
        if not more:
            return found
        found |= more
        reached |= {build.ends(build.run[i])[1].component for i in more} - pumps


def _cushion(name: str, volume: float, precharge: float, pressure: float) -> Give:
    """An accumulator: its air by the gas law, nothing below its precharge."""
    from ..words.glossary import PRESSURE_STANDARD

    if pressure <= precharge:
        return Give(f"{name}, below its precharge", 0.0, 0.0, 0.0)
    air = volume * (precharge + PRESSURE_STANDARD) / (pressure + PRESSURE_STANDARD)
    gives = air_compliance.work(volume=air, pressure=pressure)
    return Give(f"{name}, its air", volume - air, gives.value, 0.0, (gives,))
