"""A thousand trips that might have been: how likely each failure is, and what decides it.

Crews differ in how often and how long they do each thing (their habit's ``spread``), days
differ in what happens when, and vans differ from their drawings: water colder, taps opened
wider, insulation worse, the battery not quite full.  Each trip draws all of that from one
seed, so the same seed gives the same figures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...words.brief import brief
from ...words.glossary import ICE_POINT
from ...words.unit_table import DAY
from ..hot_runs.plug import Array
from .draws import Chances, deviate, factor, random_draws, ranks
from .outcome import FAILURES, Outcome, Variation
from .plant import Plant
from .simulate import simulate

COLD_SPREAD = 2.0
"""K, of the cold water's temperature (assumed)."""
FLOW_SPREAD, LOSS_SPREAD, LOAD_SPREAD, POWER_SPREAD, TANK_SPREAD = 0.10, 0.20, 0.15, 0.05, 0.03
"""Standard deviations of the logarithms of what the van differs in (assumed)."""
CHARGE_SPREAD = 0.20
"""Share of its start that the battery may be short of (assumed)."""
SIZES = 0.20
"""By how much sizes are changed to see whether they matter."""
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True)
class Chance:
    """What came of ``trips`` random trips of ``nights`` nights.

    ``by_night`` maps each failure to its chance of having come by the end of each night,
    shape (nights,).  ``use`` has the quantiles of the water that a crew wants in a day, m³,
    ``lasts`` those of the nights until the tank is dry (infinite if it lasts).  ``upper`` is
    the 95 % upper bound of a chance that was never seen.
    """

    trips: int
    nights: int
    seed: int
    by_night: dict[str, Array]
    use: Array
    lasts: Array
    upper: float
    outcome: Outcome

    def whole(self, failure: str) -> float:
        """The chance of a failure on the whole trip."""
        return float(self.by_night[failure][-1])


@brief
@dataclass(frozen=True)
class Ranking:
    """What decides a figure: names with the share of its spread that each has a hand in."""

    figure: str
    factors: tuple[tuple[str, float], ...]


def vary(plant: Plant, rank: Array, *, sizes: float = 0.0) -> Variation:
    """How trips differ, from ranks between 0 and 1, shape (7, trips).

    ``sizes`` lets heater and tank be so much smaller or greater, evenly, instead of the
    little by which a van differs from its drawings.
    """
    cold, flow, loss, charge, power, fresh, load = rank
    battery = plant.battery
    start = battery.start / battery.full if battery is not None else 1.0
    colder = COLD_SPREAD * np.clip(deviate(np.clip(cold, 1e-6, 1 - 1e-6)), -2.5, 2.5)
    return Variation(
        cold=np.maximum(plant.cold + colder, ICE_POINT),
        cabin=np.full(cold.shape, plant.cabin),
        loss=factor(loss, LOSS_SPREAD),
        flow=factor(flow, FLOW_SPREAD),
        charge=start * (1.0 - CHARGE_SPREAD * (1.0 - charge)),
        power=1 + sizes * (2 * power - 1) if sizes else factor(power, POWER_SPREAD),
        fresh=1 + sizes * (2 * fresh - 1) if sizes else factor(fresh, TANK_SPREAD),
        load=factor(load, LOAD_SPREAD),
    )


VARIED = (
    "cold water's temperature",
    "flow of the taps",
    "heater's standing loss",
    "charge at the start",
    "heater's power",
    "fresh tank's size",
    "other load on the battery",
)


def chance(plant: Plant, trips: int = 1000, seed: int = 1, nights: int | None = None) -> Chance:
    """Play random trips.  ValueError if there are fewer than two."""
    if trips < 2:
        raise ValueError(f"needs two trips or more, got {trips}")
    stay = nights if nights is not None else plant.days
    generator = np.random.default_rng(seed)
    crew = ranks(plant, trips, generator)
    variation = vary(plant, generator.random((len(VARIED), trips)))
    draws = random_draws(plant, stay, crew, generator)
    outcome = simulate(plant, draws, days=stay, variation=variation)
    ends = DAY * np.arange(1, stay + 1)
    by_night = {name: (outcome.first[name][:, None] <= ends).mean(axis=0) for name in FAILURES}
    return Chance(
        trips=trips,
        nights=stay,
        seed=seed,
        by_night=by_night,
        use=np.quantile(wanted(outcome) / stay, QUANTILES),
        lasts=np.quantile(outcome.first["runs dry"] / DAY, QUANTILES, method="lower"),
        upper=1.0 - 0.05 ** (1.0 / trips),
        outcome=outcome,
    )


def wanted(outcome: Outcome) -> Array:
    """Water that each crew wants on the whole trip, without what runs off waiting, m³."""
    draws = outcome.draws
    flows = np.array([use.flow for use in outcome.plant.uses] or [0.0])[draws.use]
    there = np.isfinite(draws.time)
    volume = np.where(there, draws.duration * flows, 0.0).sum(axis=1)
    return np.asarray(volume * outcome.variation.flow)


def ranking(
    plant: Plant, seed: int = 1, base: int = 64, nights: int | None = None
) -> tuple[Ranking, ...]:
    """Which habit or size matters most, by Sobol's total indices (scipy.stats.sobol_indices).

    The days are the same for all trips, so that only crews and vans differ; heater and tank
    are up to a fifth smaller or greater.  ``base`` is a power of two; the trips played are
    ``base`` times two more than there are factors.
    """
    from scipy.stats import sobol_indices, uniform

    stay = nights if nights is not None else plant.days
    names = [f"{use.name}: how much" for use in plant.uses] + list(VARIED)

    def figures(rank: Array) -> Array:
        count = len(plant.uses)
        crew = Chances(rank[:count].T, rank[:count].T)
        draws = random_draws(plant, stay, crew, np.random.default_rng(seed), alike=True)
        outcome = simulate(
            plant, draws, days=stay, variation=vary(plant, rank[count:], sizes=SIZES)
        )
        return np.stack([_left(outcome), _coldest(outcome), _charge(outcome)])

    found = sobol_indices(
        func=figures,
        n=base,
        dists=[uniform(0.0, 1.0) for _ in names],
        rng=np.random.default_rng(seed),
    )
    made = []
    for figure, row in zip(_FIGURES, np.atleast_2d(found.total_order), strict=True):
        if not np.isfinite(row).all() or row.max() < 0.02:
            continue  # a figure that never changes has nothing to rank
        order = np.argsort(-row, kind="stable")
        made.append(Ranking(figure, tuple((names[i], float(max(row[i], 0.0))) for i in order)))
    return tuple(made)


_FIGURES = ("water left at the end", "coldest of the warm draws", "charge left at the end")


def _left(outcome: Outcome) -> Array:
    """Water left if none were refused: below zero where the tank ran dry."""
    wasted = outcome.wasted.sum(axis=1)
    return outcome.fresh_start - wanted(outcome) - wasted


def _coldest(outcome: Outcome) -> Array:
    """The greatest lack of warmth of the draws that wanted warm water, K."""
    uses = outcome.plant.uses
    goal = np.array([u.wanted if u.wanted is not None and u.waits else np.nan for u in uses] or [0])
    lack = outcome.warmth - goal[outcome.draws.use]
    lack = np.where(np.isfinite(lack), lack, np.inf).min(axis=1, initial=np.inf)
    return np.where(np.isfinite(lack), np.minimum(lack, 0.0), 0.0)


def _charge(outcome: Outcome) -> Array:
    return outcome.charge_end.copy()
