"""Water at the temperatures of a build: the properties that every other sum uses."""

from __future__ import annotations

from collections.abc import Callable

from ..formulas import water as w
from ..van.model import Build
from ..words.formula import Formula
from ..words.report import Answer, Chapter, grid
from ..words.show import show


def temperatures(build: Build) -> tuple[float, ...]:
    """The temperatures that the sums use, coolest first, K."""
    found = {build.van.cold_water, build.van.cabin}
    found |= {m.setting for m in build.mixing_valve}
    for heater in build.heater:
        found |= {heater.setpoint, (heater.setpoint + build.van.cold_water) / 2}
    return tuple(sorted(t for t in found if 273.15 <= t <= 373.15))


def _at(law: Formula) -> Callable[[float], float]:
    return lambda temperature: float(law.si(temperature))


def water_properties_chapter(build: Build) -> Chapter:
    """One worked example of each property, and a table for all temperatures."""
    cold = build.van.cold_water
    at = f" at {show(cold, 'temperature', build.van.units)}"
    laws = (
        ("Density", w.water_density, "density"),
        ("Viscosity", w.water_viscosity, "viscosity"),
        ("Specific heat", w.water_specific_heat, "specific_heat"),
    )
    answers = []
    for label, law, name in laws:
        work = law.work(temperature=cold)
        answers.append(Answer(f"{label}{at}", work.value, name, (work,)))
    return Chapter(
        key="water-properties",
        title="Properties of water",
        basis=(
            "Liquid water at 1 atmosphere; the pressures of a van change nothing that counts.",
            "Each correlation takes kelvins and holds from ice to boiling.",
        ),
        answers=tuple(answers),
        grids=(
            grid(
                "At the temperatures of this build",
                temperatures(build),
                {
                    "temperature": (float, "temperature"),
                    **{label.lower(): (_at(law), name) for label, law, name in laws},
                },
            ),
        ),
    )
