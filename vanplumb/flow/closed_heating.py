"""Heat-ups with every tap shut: where the pressure ends when water grows and can't go back.

Tubes, water and vessels take the growth up, until a relief valve opens or a part gives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..formulas.heater import (
    closed_heating_residual,
    cushioned_water,
    expansion_vessel,
    expansion_volume,
    relief_discharge,
)
from ..formulas.water import water_density
from ..van.kinds import heaters
from ..van.parts import Accumulator, Heater
from ..words.brief import brief
from ..words.work import Work, solved
from .elasticity import Give

Array = NDArray[np.float64]

SLOW, RECKONED, QUICK = 1.0, 1.2, 1.4
"""Exponents of a vessel's air: it keeps its temperature, or keeps its heat; what is worked out
with lies halfway (assumed: a heating takes many minutes, a draw seconds)."""
MARGIN = 0.10
"""Part of the lowest rating on the way that a vessel is to stay under (common practice)."""
RELIEF_SHARE = 0.90
"""Part of its opening pressure above which a relief valve may weep (common practice)."""
COUNT = 41
ROUNDED = 1.001
"""A pressure is above a rating if it is so by more than rounding."""


@dataclass(frozen=True)
class Bound:
    """What a part is made for, or opens at: Pa, and whose word that is."""

    part: str
    pressure: float
    why: str


@brief
@dataclass(frozen=True)
class Heating:
    """One heat-up with every tap shut, of the heaters that push on the same water; SI, gauge.

    ``hottest`` is the hottest that they reach, not the setpoint.  It begins at ``start``, what
    ``supply`` holds.  ``pressure`` is where it would end without a relief valve, ``slow`` and
    ``quick`` if the air of the vessels kept its temperature or its heat, ``bare`` without any
    vessel.
    ``opens_at`` is the water's temperature as the relief valve opens, ``discharge`` what it
    lets out.  ``limit`` is the lowest rating on the way, ``vessel`` the least vessel that keeps
    ``MARGIN`` under it.  ``path`` is temperature and pressure on the way.
    """

    heater: str
    heaters: tuple[str, ...]
    hottest: float
    closed: bool
    growth: float
    start: float
    supply: str
    pressure: float
    slow: float
    quick: float
    bare: float
    relief: float | None
    opens: bool
    opens_bare: bool
    opens_at: float | None
    discharge: float
    compliance: float
    cushions: tuple[str, ...]
    limit: Bound
    vessel: float | None
    path: tuple[Array, Array]
    pressure_works: tuple[Work, ...] = ()
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def end(self) -> float:
        """Where the pressure ends: at the relief valve's opening, if it gets there."""
        if not self.closed:
            return self.start
        return self.pressure if self.relief is None else min(self.pressure, self.relief)

    @property
    def passes_all(self) -> bool:
        """Whether nothing holds it below what the weakest part on the way is made for."""
        return self.closed and self.end > self.limit.pressure * ROUNDED

    @property
    def unheld(self) -> bool:
        """Whether it climbs until the weakest part gives: no relief valve stands there."""
        return self.passes_all and self.relief is None

    @property
    def why(self) -> str:
        """What sets the pressure at its end."""
        if self.relief is not None and self.pressure > self.relief:
            return f"water that warms in {self.heater}, up to its relief valve"
        return f"water that warms in {self.heater} with every tap shut"


def heat_up(
    heater: Heater,
    pushing: Sequence[Heater],
    cold: float,
    air: float,
    *,
    start: float,
    supply: str,
    closed: bool,
    relief: float | None,
    give: Give,
    cushions: tuple[Accumulator, ...],
    limit: Bound,
) -> Heating:
    """One heat-up of a heater and of all that push on the same water, from cold water, K.

    ``air`` is the air's pressure, Pa absolute; the others are as in ``Heating``.
    """
    works: dict[str, Work] = {}
    dense = float(water_density.si(cold))
    for one in pushing:
        top = heaters.hottest(one)
        step = expansion_volume.work(
            volume=heaters.content(one),
            density_cold=dense,
            density_hot=float(water_density.si(top)),
        )
        works["growth" if one is heater else f"growth of {one.name}"] = step
    growth = sum(max(work.value, 0.0) for work in works.values())
    hottest = max(heaters.hottest(one) for one in pushing)
    warm = np.linspace(cold, hottest, COUNT)
    grown = np.zeros(COUNT)
    for one in pushing:
        here = np.minimum(warm, heaters.hottest(one))
        more = heaters.content(one) * (dense / water_density.si(here) - 1.0)
        grown = grown + np.maximum(more, 0.0)
    path = pressure_after(grown, start, give.compliance, cushions, air)
    slow, quick = (
        float(pressure_after(grown[-1:], start, give.compliance, cushions, air, n)[0])
        for n in (SLOW, QUICK)
    )
    bare = float(pressure_after(grown[-1:], start, give.compliance, (), air)[0])
    end = float(path[-1])
    opens = closed and relief is not None and end > relief
    opens_at, discharge = None, 0.0
    if opens and relief is not None:
        opens_at = float(np.interp(relief, path, warm))
        taken = water_taken(max(relief, start), start, give.compliance, cushions, air)
        works["discharge"] = relief_discharge.work(volume_growth=growth, volume_taken=float(taken))
        discharge = works["discharge"].value
    steps = _solved(end, start, growth, give.compliance, cushions, air)
    works["pressure"] = steps[-1]
    vessel = None
    if limit.pressure * (1 - MARGIN) > start and growth > 0:
        works["vessel"] = expansion_vessel.work(
            volume_growth=growth,
            pressure_precharge=start,
            pressure_highest=limit.pressure * (1 - MARGIN),
            pressure_absolute_air=air,
            number_polytropic=RECKONED,
        )
        vessel = works["vessel"].value
    return Heating(
        heater=heater.name,
        heaters=tuple(one.name for one in pushing),
        hottest=hottest,
        closed=closed,
        growth=growth,
        start=start,
        supply=supply,
        pressure=end if closed else start,
        slow=slow if closed else start,
        quick=quick if closed else start,
        bare=bare if closed else start,
        relief=relief,
        opens=opens,
        opens_bare=closed and relief is not None and bare > relief,
        opens_at=opens_at,
        discharge=discharge,
        compliance=give.compliance,
        cushions=tuple(one.name for one in cushions),
        limit=limit,
        vessel=vessel,
        path=(warm, path if closed else np.full(COUNT, start)),
        pressure_works=(*give.works, *steps),
        works=works,
    )


def water_taken(
    pressure: Array | float,
    start: float,
    give: float,
    cushions: tuple[Accumulator, ...],
    air: float,
    exponent: float = RECKONED,
) -> Array:
    """Water that tubes and cushions have taken up between two pressures, m³."""
    total = np.asarray(give * (np.asarray(pressure) - start))
    for one in cushions:
        last = np.maximum(pressure, one.precharge)
        first = max(start, one.precharge)
        total = total + (
            cushioned_water.si(one.volume, one.precharge, last, air, exponent)
            - cushioned_water.si(one.volume, one.precharge, first, air, exponent)
        )
    return total


def pressure_after(
    growth: Array,
    start: float,
    give: float,
    cushions: tuple[Accumulator, ...],
    air: float,
    exponent: float = RECKONED,
) -> Array:
    """Pressure at which all of a growth has been taken up, Pa; shapes as ``growth``."""
    low = np.full(growth.shape, start)
    high = low + growth / max(give, 1e-16) + 1.0
    for _ in range(100):
        middle = (low + high) / 2
        under = water_taken(middle, start, give, cushions, air, exponent) < growth
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
                number_polytropic=RECKONED,
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
