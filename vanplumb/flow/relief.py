"""Whether a relief valve can carry off all the heat that is put into the water behind it.

A thermostat that sticks leaves every source on at once: burner, element and engine count together,
the burner with what its plate says it burns.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..formulas.heater import flow_through_power
from ..formulas.water import water_density, water_specific_heat
from ..van.kinds import heaters
from ..van.model import Build
from ..van.parts import Heater
from ..words.brief import brief
from ..words.work import Work, total


@brief
@dataclass(frozen=True)
class ReliefCapacity:
    """One relief valve: W put into its heater, and W that it can carry off.

    ``carries`` is None where nobody said what it is rated for.
    """

    heater: Heater
    put_in: float
    carries: float | None
    put_in_works: tuple[Work, ...] = ()
    carries_works: tuple[Work, ...] = ()

    @property
    def too_small(self) -> bool:
        """Whether more heat is put in than it can carry off, as far as is known."""
        return self.carries is not None and self.carries < self.put_in


def relief_capacities(build: Build) -> tuple[ReliefCapacity, ...]:
    """Each heater with a relief valve of its own that something heats.

    A valve that is rated in water carries off what the hot water holds over the cold that
    follows it.  Rated in heat and in water, the lower counts.
    """
    found = []
    for heater in build.heater:
        sources = heaters.sources(heater)
        if heater.relief is None or not sources:
            continue
        parts = [(source.label, float(source.power)) for source in sources]
        whole = total("power", parts)
        carries = heater.relief_capacity
        works: tuple[Work, ...] = ()
        if heater.relief_flow is not None:
            work = _by_water(build, heater, heater.relief_flow)
            if carries is None or work.value < carries:
                carries, works = work.value, (work,)
        found.append(
            ReliefCapacity(heater, whole.value, carries, (whole,) if len(parts) > 1 else (), works)
        )
    return tuple(found)


def _by_water(build: Build, heater: Heater, flow: float) -> Work:
    cold, hot = build.van.cold_water, heaters.hottest(heater)
    return flow_through_power.work(
        flow=flow,
        density=float(water_density.si(hot)),
        specific_heat=float(water_specific_heat.si((cold + hot) / 2)),
        rise=max(hot - cold, 0.0),
        efficiency=1.0,
    )
