"""Disinfecting with chlorine: what is dosed, how much, how long, and how it is got out again."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..flow.elasticity import content_of
from ..formulas.disinfection import (
    after_refill,
    bleach_volume,
    chlorine_exposure,
    granule_mass,
    strength_by_weight,
)
from ..van.tank_shapes import heel, volume
from ..words.report import Caution
from ..words.show import show
from ..words.tables import Row, table
from ..words.work import Work, total

if TYPE_CHECKING:
    from ..van.model import Build

DRINKING = 0.004
"""Greatest chlorine for drinking, kg/m³ (US EPA, from memory)."""
TASTE = 0.0005
"""What WHO aims at in the tap at most, kg/m³ (from memory)."""
LEFT_LEAST = 0.02
"""Part of the water that stays behind when a tank is drained, at the least (assumed)."""


@dataclass(frozen=True)
class Dose:
    """A disinfection.  ``bleach`` is a volume (liquid) or a mass (granules), SI.

    ``refills`` is how often the tank must be drained and filled before the residual is fit
    to drink, by dilution alone.
    """

    way: Row
    chlorine: Row
    volume: float
    tank: float
    lines: float
    bleach: float
    by_mass: bool
    duration: float
    exposure: float
    residual: float
    refills: int
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    work: tuple[Work, ...]
    thinned: tuple[Work, ...]

    def told(self, units: str) -> str:
        """The dose as a builder measures it: ``1.6 fl oz``, ``47 mL``, ``8 g``."""
        if self.by_mass:
            return f"{self.bleach * 1000:.0f} g"
        return show(self.bleach, "volume_small", units)


def water_in(build: Build) -> tuple[float, float]:
    """Water to be dosed: in the fresh tanks, and in runs and heaters, m³."""
    tanks = sum(volume(t) for t in build.tank if t.holds == "fresh")
    return tanks, _held(build)[0] - tanks


def _held(build: Build) -> tuple[float, tuple[Work, ...]]:
    """All the water to be dosed, m³, with its steps."""
    runs = content_of(build, range(len(build.run)))
    parts = [(t.name, volume(t)) for t in build.tank if t.holds == "fresh"]
    parts += [(h.name, h.volume) for h in build.heater if h.volume]
    whole = total("volume", [*parts, ("runs", runs.volume)])
    return whole.value, (*runs.works, whole)


def plan_dose(
    build: Build,
    way: str = "long soak",
    chlorine: str = "household bleach 5.25 %",
    *,
    by_weight: float | None = None,
) -> Dose:
    """How to disinfect a build.

    The tank is dosed for all the water, since it also goes into the runs and the heater.
    ``by_weight`` is the label's share of chlorine by weight, if it says so.  KeyError for an
    unknown way or chlorine.
    """
    rule = table("disinfection_rules", build.rows)[way]
    agent = table("bleaches", build.rows)[chlorine]
    whole, contents = _held(build)
    tank = sum(volume(t) for t in build.tank if t.holds == "fresh")
    wanted = rule.number("concentration")
    by_mass = agent["form"] == "granules"
    work: list[Work] = [*contents]
    if by_mass:
        work.append(granule_mass.work(concentration=wanted, volume=whole, share=agent["share"]))
    else:
        strength = agent.number("strength")
        if by_weight is not None:
            made = strength_by_weight.work(share=by_weight, density=agent.number("density"))
            work.append(made)
            strength = made.value
        work.append(
            bleach_volume.work(concentration=wanted, volume=whole, concentration_bleach=strength)
        )
    bleach = work[-1].value
    stands = rule.number("duration")
    if rule.name == "mains" and build.van.cold_water < 278.15:
        stands *= 2
    exposure = chlorine_exposure.work(concentration=wanted, duration=stands)
    work.append(exposure)
    heels = sum(heel(t) for t in build.tank if t.holds == "fresh")
    left = max(heels, LEFT_LEAST * whole)
    refills = _refills(wanted, left, whole)
    thinned = after_refill.work(
        concentration=wanted, volume_left=left, volume=whole, count_fillings=refills
    )
    dose = Dose(
        rule, agent, whole, tank, whole - tank, bleach, by_mass, stands, exposure.value,
        thinned.value, refills, (), _cautions(agent), tuple(work), (thinned,),
    )  # fmt: skip
    return Dose(**{**dose.__dict__, "steps": _steps(build, dose)})


def _refills(start: float, left: float, whole: float) -> int:
    if whole <= 0 or start <= DRINKING:
        return 1
    return max(1, math.ceil(math.log(start / DRINKING) / math.log(whole / left) - 1e-9))


def _steps(build: Build, dose: Dose) -> tuple[str, ...]:
    units = build.van.units
    heat = ["heater off and cold, its fuel or mains cut"] if build.heater else []
    last = f"{dose.way['about']}" if dose.way["about"] else ""
    times = {1: "once", 2: "twice"}.get(dose.refills, f"{dose.refills} times")
    often = f"drain tank, runs and heater, fill with fresh water and draw, {times} at least"
    return (
        "flush the tank and the runs with clean water first",
        *heat,
        "take out filters and aerators",
        f"stir {dose.told(units)} of {dose.chlorine.name} into a bucket of water, pour it into "
        f"the tank and fill up ({show(dose.tank, 'volume', units)})",
        "draw at every outlet, hot and cold, until it smells of chlorine; top up the tank",
        f"let it stand for {show(dose.duration, 'duration', units)} at least"
        + (f" ({last})" if last else ""),
        often,
        f"measure: under {show(DRINKING, 'concentration', units)} to drink, by a test strip",
        "put filters and aerators back",
    )


def _cautions(agent: Row) -> tuple[Caution, ...]:
    return (
        Caution(
            "WARNING",
            "Chlorine burns eyes and lungs: goggles, gloves, open doors. Never mix it with acid or "
            f"ammonia. {agent['about'][0].upper()}{agent['about'][1:]}.",
        ),
        Caution(
            "WARNING",
            "Nobody drinks until a test shows a low residual; the health authority's rule comes "
            "first. Lead in what is wetted: 0.25 % by weighted area at most (NSF/ANSI/CAN 372).",
        ),
    )
