"""How sure a stay is: the chances of what may fail in it, over many random trips."""

from __future__ import annotations

from ..shop.record.reliability import clopper_pearson
from ..trip.play.chance import QUANTILES, Chance, Ranking
from ..trip.play.draws import ALIKE
from ..trip.play.outcome import FAILURES
from ..words.report import Answer, Chapter, Grid, grid
from ..words.show import show

TRIPS = 300
"""Random trips behind the chances on a sheet; a worksheet plays more."""


def chance_chapter(chance: Chance, ranking: tuple[Ranking, ...] = ()) -> Chapter:
    """How likely each failure is by the end of each night, and what decides it."""
    nights = range(1, chance.nights + 1)
    seen = [name for name in FAILURES if chance.by_night[name][-1] > 0]
    unseen = [name for name in FAILURES if name not in seen]
    unit_day = {q: float(v) for q, v in zip(QUANTILES, chance.use, strict=True)}
    answers = [
        Answer("Water that half of all crews want in a day, at most", unit_day[0.5], "volume"),
        Answer("Water that one crew in twenty exceeds in a day", unit_day[0.95], "volume"),
        Answer(
            "Chance that the tank runs dry on the stay",
            chance.whole("runs dry"),
            "share",
            note=f"{_between(chance, 'runs dry')} as far as {chance.trips} trips can tell",
            key=True,
        ),
    ]
    note = ""
    if unseen:
        note = (
            f"Never seen in {chance.trips} trips: {', '.join(unseen)}; so each has a chance under "
            f"{chance.upper * 100:.1f} %, as far as 95 % confidence goes."
        )
    return Chapter(
        key="chance",
        title="How sure that is",
        basis=(
            f"{chance.trips} random trips of {chance.nights} nights, seed {chance.seed}.",
            "Each crew does each thing more or less often and long, by the habit's spread; who is "
            f"thrifty with one thing is so with others (correlation {ALIKE:g}, assumed); the "
            "water's temperature, the taps' flow, the store's loss, the charge at the start and "
            "other loads differ too (spreads assumed).",
        ),
        answers=tuple(answers),
        grids=(
            *_ranking_grid(ranking),
            grid(
                "Chance of having failed by the end of each night",
                [
                    (name, *map(float, chance.by_night[name]), *_sampling(chance, name))
                    for name in seen
                ],
                {
                    "what": 0,
                    **{f"night {n}": (n, "share") for n in nights},
                    "on the stay, at least": (chance.nights + 1, "share"),
                    "at most": (chance.nights + 2, "share"),
                },
                key="chance",
                note=note,
            ),
        ),
        not_computed=("Failures of parts, leaks and mistakes in use.",),
    )


def _sampling(chance: Chance, name: str) -> tuple[float, float]:
    """Bounds of a chance on the whole stay at 95 %: so many trips tell it no closer."""
    seen = round(chance.whole(name) * chance.trips)
    found = clopper_pearson(seen, chance.trips)
    return found.low, found.high


def _between(chance: Chance, name: str) -> str:
    low, high = (show(bound, "share") for bound in _sampling(chance, name))
    return f"{low} to {high}"


def _ranking_grid(ranking: tuple[Ranking, ...]) -> tuple[Grid, ...]:
    """The three things that matter most to each figure."""
    if not ranking:
        return ()
    rows = [
        ("" if place else one.figure, name, min(share, 1.0))
        for one in ranking
        for place, (name, share) in enumerate(one.factors[:3])
    ]
    return (
        grid(
            "What matters most",
            rows,
            {"to": 0, "this": 1, "share of the spread": (2, "share")},
            key="ranking",
            note="Each thing's part in the spread, alone and with the others (total indices), over "
            "crews and vans, heater and tank up to a fifth smaller or greater; shares overlap "
            "where things act together.",
        ),
    )
