"""What a week costs, what a thousand weeks cost, and what the trip adds to a pack."""

from __future__ import annotations

import pytest

from vanplumb.chapters.chance import TRIPS
from vanplumb.chapters.trip import days_chapter
from vanplumb.pack import example
from vanplumb.trip.play.draws import planned, random_draws, ranks
from vanplumb.trip.play.make_plant import make_plant
from vanplumb.trip.play.simulate import simulate
from vanplumb.trip.trip import Trip

from .bench import least, report, report_time

DAYS = 7


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_a_week_and_a_thousand_weeks(name: str) -> None:
    import numpy as np

    plant = make_plant(example(name))
    schedule = planned(plant, DAYS)
    one = least(lambda: simulate(plant, schedule, days=DAYS), rounds=5)
    report_time(f"{name}, one trip of seven days", one, 4)
    generator = np.random.default_rng(1)
    many = random_draws(plant, DAYS, ranks(plant, 1000, generator), generator)
    thousand = least(lambda: simulate(plant, many, days=DAYS), rounds=2)
    report(f"{name}, 1000 random trips over one", thousand / one, 60)


def test_the_trip_of_a_pack() -> None:
    """What the sheet asks for: the planned stay, 300 random ones, waits, frost, heating."""
    build = example("heron")

    def asked() -> None:
        trip = Trip(build)
        days_chapter(trip)
        assert trip.chance(TRIPS) and trip.waits and trip.frost

    cost = least(asked, rounds=3)
    report_time("heron, all chapters of the trip", cost, 15)
