"""From habits to draws: a planned schedule, or days as chance has them, from a seed."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ...words.brief import brief
from ...words.unit_table import DAY
from ..hot_runs.plug import Array
from .plant import Plant, UsePlant

RAREST = 1e-3
"""The most unusual crew that is played: one in a thousand, either way."""
ALIKE = 0.5
"""Correlation of any two habits of one crew (assumed): how often with how long, use with use."""
MORNING, EVENING = 7.5 * 3600.0, 21.5 * 3600.0


@brief
@dataclass(frozen=True)
class Draws:
    """Draws of each trip in order of time; (trips, draws), with no end of time as filling.

    ``use`` indexes the plant's uses, ``duration`` is the open tap's without the wait.
    """

    time: Array
    use: NDArray[np.intp]
    duration: Array

    @property
    def trips(self) -> int:
        return self.time.shape[0]


def planned(plant: Plant, days: int) -> Draws:
    """The schedule that the habits plan: as often as they say, at their hours."""
    times: list[float] = []
    uses: list[int] = []
    for index, use in enumerate(plant.uses):
        done = 0
        for day in range(days):
            until = int(np.floor(use.per_day * (day + 1) + 0.5))
            hours = _hours(use, until - done)
            times += [day * DAY + hour for hour in hours]
            uses += [index] * (until - done)
            done = until
    order = np.argsort(np.array(times), kind="stable")
    use_of = np.array(uses, dtype=np.intp)[order]
    durations = np.array([use.duration for use in plant.uses] or [0.0])
    return Draws(
        np.array(times)[order][None, :],
        use_of[None, :],
        durations[use_of][None, :] if len(use_of) else np.zeros((1, 0)),
    )


def _hours(use: UsePlant, count: int) -> list[float]:
    """Clock times of ``count`` draws: round the use's hours, or spread over the waking day."""
    if not use.hours:
        gap = (EVENING - MORNING) / max(count, 1)
        return [MORNING + gap * (k + 0.5) for k in range(count)]
    lap = max(use.duration, 60.0) + 120.0
    return [use.hours[k % len(use.hours)] + lap * (k // len(use.hours)) for k in range(count)]


@dataclass(frozen=True)
class Chances:
    """Uniform numbers behind each trip's habits, so that they can be chosen one by one.

    ``often`` and ``long`` (trips, uses) say how often and how long this crew does each thing,
    as a rank in the crowd: 0.5 is what the build says.
    """

    often: Array
    long: Array


def ranks(plant: Plant, trips: int, generator: np.random.Generator) -> Chances:
    """A crew for each trip.

    Who is thrifty with one thing is so with others: a share of each rank's deviate is the
    crew's own, so that any two habits of a crew go together with the correlation ``ALIKE``.
    """
    shape = (trips, len(plant.uses))
    own = generator.standard_normal((trips, 1))
    often, long = (
        _rank(np.sqrt(ALIKE) * own + np.sqrt(1.0 - ALIKE) * generator.standard_normal(shape))
        for _ in range(2)
    )
    return Chances(often, long)


def _rank(deviate: Array) -> Array:
    """Rank in the crowd, between 0 and 1, of standard normal deviates; any shape."""
    return np.asarray(np.vectorize(NormalDist().cdf, otypes=[float])(deviate))


def factor(rank: Array, spread: Array | float) -> Array:
    """How many times the usual, at a rank: lognormal with the median at the usual.

    ``spread`` is the standard deviation of its logarithm.
    """
    return np.asarray(np.exp(spread * deviate(np.clip(rank, RAREST, 1 - RAREST))))


def deviate(rank: Array) -> Array:
    """Standard normal deviate at a rank between 0 and 1; any shape.

    The standard library's, since SciPy's special functions take half a second to load.
    """
    return np.asarray(np.vectorize(NormalDist().inv_cdf, otypes=[float])(rank))


def random_draws(
    plant: Plant,
    days: int,
    chances: Chances,
    generator: np.random.Generator,
    *,
    alike: bool = False,
) -> Draws:
    """Days as chance has them: each use as often as this crew does it, give or take one.

    Each draw varies in length as the crew does, and falls about its planned hour.  The same
    generator and chances give the same draws.  ``alike`` gives every trip the same days, so
    that only its crew tells it from the others.
    """
    trips = chances.often.shape[0]
    own = 1 if alike else trips
    times, uses, durations = [], [], []
    for index, use in enumerate(plant.uses):
        mean = use.per_day * factor(chances.often[:, index], use.spread)
        length = use.duration * factor(chances.long[:, index], use.spread)
        count = np.floor(mean[:, None] + generator.random((own, days)))
        most = int(count.max(initial=0))
        if most == 0:
            continue
        slots = np.arange(most)
        if use.hours:
            hours = np.array(use.hours)[slots % len(use.hours)]
            start = hours + 1800.0 * generator.standard_normal((own, days, most))
        else:
            start = MORNING + (EVENING - MORNING) * generator.random((own, days, most))
        start = np.clip(start, 0.0, DAY - 600.0) + DAY * np.arange(days)[:, None]
        lasted = length[:, None, None] * factor(generator.random((own, days, most)), use.spread / 2)
        missing = slots >= count[:, :, None]
        start = np.where(missing, np.inf, start)
        times.append(start.reshape(trips, -1))
        uses.append(np.full(times[-1].shape, index, dtype=np.intp))
        durations.append(lasted.reshape(trips, -1))
    if not times:
        return Draws(
            np.full((trips, 1), np.inf), np.zeros((trips, 1), np.intp), np.zeros((trips, 1))
        )
    time = np.concatenate(times, axis=1)
    order = np.argsort(time, axis=1, kind="stable")
    time = np.take_along_axis(time, order, axis=1)
    keep = int(np.isfinite(time).sum(axis=1).max(initial=0)) or 1
    return Draws(
        time[:, :keep],
        np.take_along_axis(np.concatenate(uses, axis=1), order, axis=1)[:, :keep],
        np.take_along_axis(np.concatenate(durations, axis=1), order, axis=1)[:, :keep],
    )
