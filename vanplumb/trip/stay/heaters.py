"""What each heater can do: time to hot, recovery, usable and mixed water, growth.

Sums on one heater at rest.  How the store cools and recovers through a day is the business
of the timeline.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ...formulas import heater as h
from ...formulas.mixing import mixed_yield
from ...formulas.water import water_density, water_specific_heat
from ...van.kinds import heaters
from ...van.model import Build
from ...van.parts import Heater
from ...words.brief import brief
from ...words.glossary import ICE_POINT
from ...words.work import Work

USABLE_SHARE = 0.70
"""Part of a store that comes out hot before cold mixes in; ASHRAE gives 60 to 80 %."""
SHOWER = 40 + ICE_POINT
"""Water that is wanted where no fixture or valve says, K (assumed)."""


@brief
@dataclass(frozen=True)
class SourceFacts:
    """One way to heat the water: its power, what of it gets there, and what that gives.

    ``time`` for one filling is None for a flow-through heater.  ``works`` ends in recovery.
    ``plate`` is the power that its plate says, W, where ``thin`` takes from that for thin air.
    """

    label: str
    power: float
    efficiency: float
    time: float | None
    recovery: float
    works: tuple[Work, ...]
    plate: float
    thin: Work | None = None


@brief
@dataclass(frozen=True)
class HeaterFacts:
    """Figures of one heater, SI.  Those of a store are None for a flow-through heater."""

    heater: Heater
    cold: float
    target: float
    sources: tuple[SourceFacts, ...]
    heat: float | None = None
    usable: float | None = None
    mixed: float | None = None
    growth: float | None = None
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.heater.name


def heater_facts(build: Build) -> tuple[HeaterFacts, ...]:
    """The figures of every heater of a build."""
    return tuple(_facts(build, heater) for heater in build.heater)


def target(build: Build, heater: Heater) -> Any:
    """The warmest water that a fixture or mixing valve wants, below the setpoint, K."""
    hot, aim = np.asarray(heater.setpoint), np.asarray(-np.inf)
    wanted = [f.temperature for f in build.fixture if f.temperature is not None]
    for one in (*wanted, *(m.setting for m in build.mixing_valve)):
        aim = np.maximum(aim, np.where(np.asarray(one) < hot, one, -np.inf))
    return np.where(np.isfinite(aim), aim, np.minimum(SHOWER, hot))


def _facts(build: Build, heater: Heater) -> HeaterFacts:
    cold, hot = build.van.cold_water, heater.setpoint
    aim = float(target(build, heater))
    if hot <= cold:
        return HeaterFacts(heater, cold, aim, ())
    mean = (cold + hot) / 2
    density = water_density.work(temperature=cold)
    warmth = water_specific_heat.work(temperature=mean)
    works: dict[str, Work] = {"density": density, "specific_heat": warmth}
    heat = usable = mixed = growth = None
    if heaters.has_store(heater):
        works["heat"] = h.heat_to_warm.work(
            density=density.value, volume=heater.volume, specific_heat=warmth.value, rise=hot - cold
        )
        works["usable"] = h.usable_hot.work(volume=heater.volume, share_usable=USABLE_SHARE)
        works["growth"] = h.expansion_volume.work(
            volume=heater.volume,
            density_cold=float(water_density.si(cold)),
            density_hot=float(water_density.si(hot)),
        )
        heat, usable = works["heat"].value, works["usable"].value
        growth = max(works["growth"].value, 0.0)
        if cold < aim <= hot:
            works["mixed"] = mixed_yield.work(
                volume_hot=usable,
                temperature_hot=hot,
                temperature_cold=cold,
                temperature_mixed=aim,
            )
            mixed = works["mixed"].value
    sources = tuple(
        _source(
            source,
            _in_thin_air(build, source),
            heat,
            density.value,
            warmth.value,
            hot - cold,
        )
        for source in heaters.sources(heater)
    )
    return HeaterFacts(heater, cold, aim, sources, heat, usable, mixed, growth, works)


def _in_thin_air(build: Build, source: heaters.HeatSource) -> Work | None:
    """What a burner gives where the van camps; None where that is what its plate says."""
    height = build.van.altitude
    if source.name != "burner" or height <= heaters.THIN_AIR_ABOVE:
        return None
    return h.burner_in_thin_air.work(power=source.power, height=height)


def _source(
    source: heaters.HeatSource,
    thin: Work | None,
    heat: float | None,
    density: float,
    specific_heat: float,
    rise: float,
) -> SourceFacts:
    label, efficiency, plate = source.label, source.efficiency, source.power
    power = plate if thin is None else thin.value
    speed = h.recovery.work(
        power=power, efficiency=efficiency, density=density, specific_heat=specific_heat, rise=rise
    )
    if heat is None:
        return SourceFacts(label, power, efficiency, None, speed.value, (speed,), plate, thin)
    time = h.heating_time.work(heat=heat, power=power, efficiency=efficiency)
    works = (time, speed)
    return SourceFacts(label, power, efficiency, time.value, speed.value, works, plate, thin)
