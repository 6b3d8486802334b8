"""Draining, blowing out and filling for winter, and the first filling in spring."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..formulas.tube import tube_content
from ..formulas.winter import antifreeze_mass, thinned_share
from ..words.report import Caution
from ..words.show import show
from ..words.tables import table
from ..words.work import Work

if TYPE_CHECKING:
    from ..build.model import Build

BLOW_MOST = 30 * 6894.757
"""Air pressure for blowing out, Pa: 30 psi; up to 50 is told of (common practice, no source)."""
LEFT = 0.15
"""Part of the water that stays in the runs after draining and blowing out (assumed)."""
TRAP = 2.5e-4
"""Antifreeze for a trap or a drain, m³ (assumed)."""


@dataclass(frozen=True)
class Winter:
    """A winter filling.  ``antifreeze`` is the volume to buy, ``freezes`` where first ice forms."""

    coldest: float
    share: float
    lines: float
    left: float
    antifreeze: float
    freezes: float
    share_after: float
    drains: tuple[str, ...]
    steps: tuple[str, ...]
    first_filling: tuple[str, ...]
    cautions: tuple[Caution, ...]
    problems: tuple[str, ...]
    work: tuple[Work, ...]


def freezing_point(share: float) -> float:
    """First ice of propylene glycol in water, K, between the rows of the table.

    ValueError outside 0 to 60 %.
    """
    shares, points = _curve()
    if not 0 <= share <= shares[-1]:
        raise ValueError(f"share of glycol must be 0 to {shares[-1]:.0%}, got {share:.0%}")
    return float(np.interp(share, shares, points))


def share_for(temperature: float) -> float | None:
    """Share of glycol whose first ice is at that temperature (K); None if none is so cold."""
    shares, points = _curve()
    if temperature >= points[0]:
        return 0.0
    if temperature < points[-1]:
        return None
    return float(np.interp(-temperature, [-p for p in points], shares))


def plan_winter(build: Build, coldest: float | None = None, share: float = 0.5) -> Winter:
    """How to lay a build up.

    ``coldest`` is the coldest that the van will get, K (the build's night air if not said);
    ``share`` the glycol in the antifreeze that is bought.  The heater is drained and passed by.
    """
    cold = build.van.outside if coldest is None else coldest
    tubes = table("tubes", build.rows)
    lines = sum(float(tube_content.si(tubes[r.tube].number("bore"), r.length)) for r in build.run)
    left = LEFT * lines
    density = _density(share)
    wanted = share_for(cold)
    problems = []
    work: list[Work] = []
    fill = lines
    if wanted is None or wanted >= share:
        problems.append(
            f"antifreeze with {share:.0%} glycol freezes at "
            f"{show(freezing_point(share), 'temperature', build.van.units)}: "
            f"not cold enough for {show(cold, 'temperature', build.van.units)}"
        )
    elif wanted > 0:
        needed = antifreeze_mass.work(
            share_glycol=share, share_wanted=wanted, mass_water=left * 998.0
        )
        work.append(needed)
        fill = max(lines, needed.value / density)
    after = thinned_share.work(
        share_glycol=share, mass=fill * density, mass_water=max(left * 998.0, 1e-9)
    )
    work.append(after)
    traps = len(build.fixture) * TRAP
    return Winter(
        cold, share, lines, left, fill + traps, freezing_point(after.value), after.value,
        _drains(build), _steps(build, fill + traps), _first_filling(build), CAUTIONS,
        tuple(problems), tuple(work),
    )  # fmt: skip


def _curve() -> tuple[list[float], list[float]]:
    rows = list(table("glycol").values())
    return (
        [0.0, *(r.number("share") for r in rows)],
        [273.15, *(r.number("temperature_freeze") for r in rows)],
    )


def _density(share: float) -> float:
    rows = list(table("glycol").values())
    shares = [0.0, *(r.number("share") for r in rows)]
    return float(np.interp(share, shares, [998.2, *(r.number("density") for r in rows)]))


def _drains(build: Build) -> tuple[str, ...]:
    """Where water stays when taps are opened: tanks, heater, low runs."""
    places = [f"{t.name} tank" for t in build.tank]
    places += [f"{h.name}, by its drain, once it is cold" for h in build.heater]
    places += [f"{s.name}, bowl off" for s in build.strainer]
    places += [
        f"run {i + 1}, {r.start} to {r.end}" + ("" if r.place == "cabin" else f" ({r.place})")
        for i, r in enumerate(build.run)
        if r.place != "cabin" or r.rise < 0
    ]
    return tuple(places)


def _steps(build: Build, antifreeze: float) -> tuple[str, ...]:
    units = build.van.units
    heater = ["heater off and cold, drained and passed by; it stays empty"] if build.heater else []
    electric = any(p.kind == "electric" for p in build.pump)
    return (
        *heater,
        "open every tap, hot and cold, and every drain",
        "run the pump dry for some seconds so that its head empties" if electric
        else "work the pump until no more water comes",
        f"blow out by the shore inlet or the pump's outlet, {show(BLOW_MOST, 'pressure', units)} "
        "of air at most, one outlet after another",
        f"then draw in antifreeze for drinking water systems, {show(antifreeze, 'volume', units)} "
        "in all, until it comes undiluted out of every outlet, hot and cold",
        "pour some into every drain; leave taps half open",
        *(["pump off, its fuse out until it is needed"] if electric else []),
        "write the day and the product into the record",
    )  # fmt: skip


def _first_filling(build: Build) -> tuple[str, ...]:
    heater = ["open the heater's way again"] if build.heater else []
    bleed = ["heater full (water out of every hot tap) before it is lit"] if build.heater else []
    return (
        "drains shut, filters and aerators in",
        *heater,
        "fill the tank, run the pump, open outlets from the nearest to the farthest",
        "let each run until no air comes: cold first, then hot",
        *bleed,
        "look at every joint while the pump holds pressure with all outlets shut",
        "after antifreeze: flush until nothing tastes, foams or colours, then disinfect",
    )


CAUTIONS = (
    Caution(
        "WARNING",
        "Only antifreeze that is sold for drinking water systems (propylene glycol). "
        "Engine coolant (ethylene glycol) is poisonous.",
    ),
    Caution(
        "CAUTION",
        "The burst temperature on a label is far below the first ice; product that has met "
        "water freezes earlier. A heater that is lit while dry is destroyed.",
    ),
)
