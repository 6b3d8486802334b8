"""The days and nights of one build: asked for piece by piece, worked out once."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from ..flow.solving import BuildFlow
from ..van.model import Build
from ..words.plots import plot
from ..words.show import counted
from ..words.unit_table import DAY
from .cold.frost import Frost, frost
from .hot_runs.waits import Wait, waits
from .play.chance import Chance, Ranking, chance, ranking
from .play.draws import planned, random_draws, ranks
from .play.make_plant import make_plant, options_of
from .play.mean_day import mean_day, mean_days
from .play.outcome import FAILURES, Outcome
from .play.plant import Options, Plant
from .play.simulate import simulate
from .stay.at_taps import at_taps
from .stay.mean_day import MeanDay

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Failure:
    """The first time that something fails: what, when (s from the first midnight), on what use."""

    what: str
    when: float
    use: str = ""

    @property
    def day(self) -> int:
        """The day of the trip, from 1."""
        return int(self.when // DAY) + 1

    @property
    def clock(self) -> str:
        """Such as "07:30"."""
        minutes = int(self.when % DAY // 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}"

    @property
    def at(self) -> str:
        """Such as "day 2 at 07:30"."""
        return f"day {self.day} at {self.clock}"

    def __str__(self) -> str:
        use = f", {self.use}" if self.use else ""
        return f"{self.what} on {self.at}{use}"


class Trip:
    """The trip of a build.  PlantError or HabitError where the build says too little.

    ``flow`` is its network, if somebody has it; ``taps`` what that gives at each tap.
    """

    def __init__(
        self, build: Build, options: Options | None = None, flow: BuildFlow | None = None
    ) -> None:
        self.build = build
        self.taps = at_taps(build, flow)
        self.options = options or options_of(build)
        self._chances: dict[tuple[int, int, int | None], Chance] = {}

    def __repr__(self) -> str:
        return f"Trip of {self.build.van.name}: {counted(self.plant.days, 'night')}"

    @cached_property
    def plant(self) -> Plant:
        """The build as plain numbers."""
        return make_plant(self.build, self.options, self.taps)

    @cached_property
    def planned(self) -> Outcome:
        """The planned stay, with its track."""
        return self.play()

    def play(self, seed: int | None = None, days: int | None = None) -> Outcome:
        """Play the planned schedule, or days as chance has them from a seed."""
        plant = self.plant
        stay = days if days is not None else plant.days
        if stay < 1:
            raise ValueError(f"needs one day or more, got {stay}")
        if seed is None:
            draws = planned(plant, stay)
        else:
            generator = np.random.default_rng(seed)
            draws = random_draws(plant, stay, ranks(plant, 1, generator), generator)
        return simulate(plant, draws, days=stay, record=True)

    def frame(self) -> pd.DataFrame:
        """The planned stay, one row a step: what is aboard and how warm, in the reader's units."""
        return self.timeline()

    def timeline(self, seed: int | None = None, days: int | None = None) -> pd.DataFrame:
        """One row a step: levels, temperatures, charge, fuel, flow, in the reader's units."""
        from .play.timeline import frame

        return frame(self._outcome(seed, days), self.build.van.units)

    def draws(self, seed: int | None = None, days: int | None = None) -> pd.DataFrame:
        """One row a draw: when, what, wait, waste, warmth and how it ended."""
        from .play.timeline import draws_frame

        return draws_frame(self._outcome(seed, days), self.build.van.units)

    def _outcome(self, seed: int | None, days: int | None) -> Outcome:
        return self.planned if seed is None and days is None else self.play(seed, days)

    def plot(self, ax: Any = None, *, show: str = "water") -> Any:
        """The planned days on matplotlib axes: "water", "heat" or "battery".  Gives the axes."""
        return plot("trip", self, ax, show=show)

    @cached_property
    def failures(self) -> tuple[Failure, ...]:
        """What fails on the planned stay, first things first."""
        return failures(self.planned)

    @property
    def first_failure(self) -> Failure | None:
        """The first thing that fails on the planned stay, or None."""
        return self.failures[0] if self.failures else None

    @cached_property
    def mean_day(self) -> MeanDay:
        """What a mean day takes, with all that is lost and run off."""
        return mean_day(self.plant)

    def chance(self, n: int = 1000, seed: int = 1, nights: int | None = None) -> Chance:
        """The chance of each failure by night, from ``n`` random trips."""
        key = (n, seed, nights)
        if key not in self._chances:
            self._chances[key] = chance(self.plant, n, seed, nights)
        return self._chances[key]

    @cached_property
    def ranking(self) -> tuple[Ranking, ...]:
        """Which habit or size matters most to water, warmth and charge."""
        return ranking(self.plant)

    @cached_property
    def waits(self) -> tuple[Wait, ...]:
        """The wait for hot water at each fixture after the runs have gone cold."""
        return waits(self.build, self.taps)

    @cached_property
    def frost(self) -> Frost:
        """The cold night."""
        return frost(self.build)


def play_mean_days(trips: Iterable[Trip]) -> None:
    """Play the mean days of several trips side by side, for each to have its own at hand.

    One that says too little is left to tell so when it is asked.
    """
    plants = []
    for trip in trips:
        with suppress(ValueError):
            plants.append(trip.plant)
    mean_days(plants)


def failures(outcome: Outcome, trip: int = 0) -> tuple[Failure, ...]:
    """What failed on one trip, first things first."""
    found: list[Failure] = []
    for what in FAILURES:
        when = float(outcome.first[what][trip])
        if np.isfinite(when):
            found.append(Failure(what, when, _use_at(outcome, trip, when)))
    return tuple(sorted(found, key=lambda one: one.when))


def _use_at(outcome: Outcome, trip: int, when: float) -> str:
    """The use that was going on, or beginning, at a time; empty between draws."""
    state: Any = outcome.state[trip]
    started = outcome.start[trip]
    ended = started + outcome.wait[trip] + outcome.draws.duration[trip]
    on = np.flatnonzero((state > 0) & (started <= when + 1e-6) & (when <= ended + 1.0))
    return outcome.plant.uses[outcome.draws.use[trip, on[0]]].name if len(on) else ""
