"""Chance on the sheet: how likely each failure is, and what decides it."""

from __future__ import annotations

from ..words.report import Answer, Chapter, Column, Grid
from .chance import QUANTILES, Chance, Ranking
from .outcome import FAILURES


def chance_chapter(chance: Chance, ranking: tuple[Ranking, ...] = ()) -> Chapter:
    """How likely each failure is by the end of each night, and what decides it."""
    nights = range(1, chance.nights + 1)
    rows = []
    for name in FAILURES:
        by_night = chance.by_night[name]
        if by_night[-1] > 0:
            rows.append((name, *(float(c) for c in by_night)))
    unseen = [name for name in FAILURES if chance.by_night[name][-1] == 0]
    unit_day = {q: float(v) for q, v in zip(QUANTILES, chance.use, strict=True)}
    answers = [
        Answer("Water that half of all crews want in a day, at most", unit_day[0.5], "volume"),
        Answer("Water that one crew in twenty exceeds in a day", unit_day[0.95], "volume"),
        Answer(
            "Chance that the tank runs dry on the stay",
            chance.whole("runs dry"),
            "share",
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
            "Each crew does each thing more or less often and long, by the habit's spread; the "
            "water's temperature, the taps' flow, the store's loss, the charge at the start and "
            "other loads differ too (spreads assumed).",
        ),
        answers=tuple(answers),
        grids=(
            *_ranking_grid(ranking),
            Grid(
                "Chance of having failed by the end of each night",
                (Column("what"), *(Column(f"night {n}", "share", "right") for n in nights)),
                tuple(rows),
                key="chance",
                note=note,
            ),
        ),
        not_computed=("Failures of parts, leaks and mistakes in use.",),
    )


def _ranking_grid(ranking: tuple[Ranking, ...]) -> tuple[Grid, ...]:
    """The three things that matter most to each figure."""
    if not ranking:
        return ()
    rows = []
    for one in ranking:
        for place, (name, share) in enumerate(one.factors[:3]):
            rows.append((one.figure if place == 0 else "", name, min(share, 1.0)))
    return (
        Grid(
            "What matters most",
            (Column("to"), Column("this"), Column("share of the spread", "share", "right")),
            tuple(rows),
            key="ranking",
            note="Each thing's part in the spread, alone and with the others (total indices), over "
            "crews and vans, heater and tank up to a fifth smaller or greater; shares overlap "
            "where things act together.",
        ),
    )
