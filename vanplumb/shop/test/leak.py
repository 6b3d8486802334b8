"""Readings of a pressure test as a builder writes them down: one line a reading.

Reading a pressure test: warmth taken out, creep told from a leak, a drop turned into a rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ...formulas.pressure import air_leak_rate, air_pressure_at, gauge_uncertainty, leak_rate
from ...words.quantity import QuantityError, read
from ...words.work import Work
from .pressure_test import SETTLING
from .stiffness import Stiffness

Array = NDArray[np.float64]

SURE = 1.645
"""Standard deviations for 95 % on one side."""
THERMOMETER = 0.3
"""K by which two readings of one thermometer may differ at one warmth (common practice)."""
GIVE_KNOWN = 0.3
"""As what share the give and the growth of plastic tube are in doubt (PPI's bands for growth are a
tenth, moduli of one material differ by a third between handbooks)."""
DOUBT_STEPS = 1.5
"""Steps of the gauge: a correction in doubt by more tells nothing of a leak."""
CLEAR = 9.0
"""How much better, in squared standard deviations, an explanation must be to be believed.

Rounded readings err together, so this is stricter than independent ones would need.
"""
Verdict = Literal["tight", "creep", "leak", "can't tell"]


@dataclass(frozen=True)
class Reading:
    """One reading of a test: time since pumping up, s; pressure, Pa; temperature, K."""

    time: float
    pressure: float
    temperature: float


@dataclass(frozen=True)
class Judgement:
    """What readings say.

    ``leak`` is the fitted rate of water in m³/s (of air: at atmospheric pressure), ``most``
    the largest that the readings leave room for at 95 %, ``creep`` the pressure lost per
    tenfold time.  ``corrected`` are the readings at the first temperature, and ``doubt`` is how
    far that correction may be off, Pa.
    """

    verdict: Verdict
    why: str
    leak: float
    uncertainty: float
    most: float
    creep: float
    corrected: tuple[Reading, ...]
    medium: str
    stiffness: Stiffness
    doubt: float = 0.0

    @property
    def work(self) -> tuple[Work, ...]:
        """The leak that the whole fall would mean if none of it were creep."""
        first, last = self.corrected[0], self.corrected[-1]
        return _work(
            self.medium,
            self.stiffness,
            max(first.pressure - last.pressure, 0.0),
            last.time - first.time,
        )


def corrected(
    readings: Sequence[Reading], medium: str, stiffness: Stiffness | None = None
) -> tuple[Reading, ...]:
    """The readings as they would be at the first one's temperature.

    Air by the gas law; water by how much it outgrows its tube, over the system's stiffness.
    What an insulated store does is left out: ``correction_doubt`` counts it.
    """
    first = readings[0].temperature
    out = []
    for one in readings:
        if medium == "air":
            pressure = float(air_pressure_at.si(one.pressure, one.temperature, first))
        else:
            gained = stiffness.warming(first, one.temperature) if stiffness else 0.0
            pressure = one.pressure - gained
        out.append(replace(one, pressure=pressure, temperature=first))
    return tuple(out)


def correction_doubt(
    readings: Sequence[Reading], medium: str, stiffness: Stiffness | None = None
) -> float:
    """How far what was taken out for warmth may be off, Pa, at the worst reading.

    Nothing where the thermometer never moved.  Else its own repeatability; and for water the
    growth and give of plastic, which are known to a third or so, and a store that may have gone
    along with the shop or not.
    """
    first, worst = readings[0].temperature, 0.0
    for one in readings:
        change = one.temperature - first
        if not change:
            continue
        parts = [0.0]
        if medium == "air":
            warmer = float(air_pressure_at.si(one.pressure, one.temperature, first + THERMOMETER))
            parts.append(warmer - float(air_pressure_at.si(one.pressure, one.temperature, first)))
        elif stiffness:
            gained = stiffness.warming(first, one.temperature)
            parts += [
                GIVE_KNOWN * gained,
                stiffness.warming(first, one.temperature, stores=True) - gained,
                stiffness.warming(one.temperature, one.temperature + THERMOMETER),
            ]
        worst = max(worst, float(np.sqrt(np.sum(np.square(parts)))))
    return worst


def judge(
    readings: Sequence[Reading],
    medium: str,
    stiffness: Stiffness,
    step: float,
    plastic: bool = True,
) -> Judgement:
    """Tight, creep, leak or can't tell.

    ``step`` is the smallest that the gauge shows, Pa.  ValueError for fewer than three
    readings, times that don't rise, or a step that is not above zero.
    """
    _sound(readings, step)
    fixed = corrected(readings, medium, stiffness)
    times = np.array([r.time for r in fixed]) - fixed[0].time
    pressures = np.array([r.pressure for r in fixed])
    sigma = max(float(gauge_uncertainty.si(step)), 1e-9)
    creeping = plastic and medium == "water"
    doubt = correction_doubt(readings, medium, stiffness)
    both = _fit(times, pressures, sigma, (creeping, True))
    only_creep = _fit(times, pressures, sigma, (creeping, False))
    only_leak = _fit(times, pressures, sigma, (False, True))
    scale = _scale(stiffness, medium)
    drop = float(pressures[0] - pressures[-1])
    verdict, why = _verdict(drop, step, both, only_creep, only_leak, creeping, float(times[-1]))
    if doubt > DOUBT_STEPS * step:
        verdict, why = (
            "can't tell",
            (
                "the warmth changed, and what that does to the pressure is in doubt by more than "
                f"{DOUBT_STEPS:g} steps of the gauge: wait until it is steady and read anew"
            ),
        )
    most = (both.rate + SURE * both.rate_sigma + doubt / float(times[-1])) * scale
    return Judgement(
        verdict,
        why,
        both.rate * scale,
        both.rate_sigma * scale,
        most,
        both.creep,
        fixed,
        medium,
        stiffness,
        doubt,
    )


@dataclass(frozen=True)
class _Fit:
    creep: float
    rate: float
    rate_sigma: float
    misfit: float


def _fit(times: Array, pressures: Array, sigma: float, use: tuple[bool, bool]) -> _Fit:
    """Least squares of start, creep and rate, creep and rate not below zero.

    With two bounded unknowns the best of the four ways to hold some of them at zero is
    the answer.
    """
    span = max(float(times[-1]), 1.0)
    columns = (np.ones_like(times), -np.log10(1 + times / SETTLING), -times / span)
    free = [i for i, used in ((1, use[0]), (2, use[1])) if used]
    subsets = [c for n in range(len(free) + 1) for c in combinations(free, n)]
    best, misfit = np.zeros(3), np.inf
    for subset in subsets:
        kept = [0, *subset]
        design = np.column_stack([columns[i] for i in kept])
        found = np.linalg.lstsq(design, pressures, rcond=None)[0]
        residual = (design @ found - pressures) / sigma
        if (found[1:] >= 0).all() and residual @ residual < misfit:
            misfit = float(residual @ residual)
            best = np.zeros(3)
            best[kept] = found
    design = np.column_stack([columns[i] for i in (0, *free)])
    spread = max(1.0, np.sqrt(misfit / max(len(times) - design.shape[1], 1)))
    covariance = np.linalg.pinv(design.T @ design) * (sigma * spread) ** 2
    rate_sigma = float(np.sqrt(covariance[-1, -1])) / span if use[1] else 0.0
    return _Fit(float(best[1]), float(best[2]) / span, rate_sigma, misfit)


def _verdict(
    drop: float,
    step: float,
    both: _Fit,
    only_creep: _Fit,
    only_leak: _Fit,
    creeping: bool,
    duration: float,
) -> tuple[Verdict, str]:
    """What the three fits say together."""
    leaks = only_creep.misfit - both.misfit > CLEAR and both.rate > SURE * both.rate_sigma
    creeps = creeping and only_leak.misfit - both.misfit > CLEAR and both.creep > 0
    if drop < 1.5 * step and not leaks:
        return "tight", "no fall that this gauge can show"
    if leaks:
        also = ", with some creep" if creeps else ""
        return "leak", f"the pressure goes on falling as fast as it began{also}"
    hidden = (both.rate + SURE * both.rate_sigma) * duration
    if creeps and hidden < 3 * step:
        return "creep", "the fall slows down as plastic does, and what is left is no leak"
    return "can't tell", "creep and a leak would both look like this: read for longer"


def _scale(stiffness: Stiffness, medium: str) -> float:
    """Rate of pressure to rate of leak."""
    if medium == "air":
        return float(air_leak_rate.si(stiffness.volume, 1.0, 1.0))
    return stiffness.compliance


def _work(medium: str, stiffness: Stiffness, drop: float, duration: float) -> tuple[Work, ...]:
    if duration <= 0:
        return ()
    if medium == "air":
        return (air_leak_rate.work(volume=stiffness.volume, pressure_loss=drop, duration=duration),)
    return (leak_rate.work(compliance=stiffness.compliance, pressure_loss=drop, duration=duration),)


def _sound(readings: Sequence[Reading], step: float) -> None:
    if len(readings) < 3:
        raise ValueError(f"needs at least three readings, got {len(readings)}")
    times = [r.time for r in readings]
    if any(b <= a for a, b in pairwise(times)):
        raise ValueError("the times of the readings must rise")
    if step <= 0:
        raise ValueError(f"the gauge's step must be above 0, got {step:g}")


class ReadingsError(ValueError):
    """Lines that are no readings; the message lists them all."""


def read_readings(text: str) -> list[Reading]:
    """Lines such as ``10 min, 98 psi, 66 °F``; the temperature may be left out after the first.

    Blank lines and what follows a ``#`` count for nothing.  ReadingsError names every line
    that can't be read, and why.
    """
    found: list[Reading] = []
    problems: list[str] = []
    temperature: float | None = None
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.split("#")[0].strip()
        if not line:
            continue
        parts = [p.strip() for p in line.replace(";", ",").split(",") if p.strip()]
        if len(parts) not in (2, 3):
            problems.append(f'line {number}: write time, pressure, temperature, got "{line[:40]}"')
            continue
        try:
            time = read(parts[0], "duration")
            pressure = read(parts[1], "pressure")
            if len(parts) == 3:
                temperature = read(parts[2], "temperature")
        except QuantityError as error:
            problems.append(f"line {number}: {error}")
            continue
        if temperature is None:
            problems.append(f"line {number}: the first reading needs a temperature")
            continue
        found.append(Reading(time, pressure, temperature))
    if problems:
        raise ReadingsError("\n".join(problems))
    return found
