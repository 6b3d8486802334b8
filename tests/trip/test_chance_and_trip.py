"""Chance, ranking, schedules, tables and chapters of a trip."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from trip_plants import plant, use

from tests.examples import pack_of
from vanplumb.drawings.charts.trip import trip_chart, trip_picture
from vanplumb.pack import Pack, example
from vanplumb.trip.play.chance import chance, ranking, wanted
from vanplumb.trip.play.draws import ALIKE, factor, planned, random_draws, ranks
from vanplumb.trip.play.outcome import FAILURES
from vanplumb.trip.play.plant import Options
from vanplumb.trip.trip import Failure, Trip, failures


def test_a_rank_of_one_half_is_the_usual() -> None:
    assert factor(np.array([0.5]), 0.4)[0] == pytest.approx(1.0)
    many = factor(np.random.default_rng(0).random(200_000), 0.25)
    assert np.log(many).std() == pytest.approx(0.25, rel=0.01)


def test_planned_draws_come_as_often_as_said_in_order() -> None:
    van = plant("", uses=(use("odd", 0.5, 10.0), use("many", 7, 10.0, hours=(3e4, 6e4))))
    draws = planned(van, 6)
    assert (np.diff(draws.time[0]) >= 0).all()
    assert (draws.use[0] == 0).sum() == 3
    assert (draws.use[0] == 1).sum() == 42


def test_random_draws_come_as_often_as_said_on_average() -> None:
    van = plant("", uses=(use("hands", 5, 12.0, spread=0.0),))
    generator = np.random.default_rng(2)
    draws = random_draws(van, 3, ranks(van, 400, generator), generator)
    count = np.isfinite(draws.time).sum(axis=1)
    assert count.mean() == pytest.approx(15.0, rel=0.02)
    assert (np.diff(np.where(np.isfinite(draws.time), draws.time, 1e12), axis=1) >= 0).all()


def test_chances_only_rise_from_night_to_night_and_are_chances() -> None:
    found = chance(plant("storage"), 80, seed=2, nights=4)
    assert set(found.by_night) == set(FAILURES)
    for by_night in found.by_night.values():
        assert (np.diff(by_night) >= 0).all()
        assert ((by_night >= 0) & (by_night <= 1)).all()
    assert found.upper == pytest.approx(1 - 0.05 ** (1 / 80))
    assert (np.diff(found.use) >= 0).all()


def test_none_in_a_hundred_leaves_three_percent_open() -> None:
    """0 of 100: 0.029513 (Clopper and Pearson, scipy); the rule of three says 3/n."""
    found = chance(plant("", fresh=1.0), 100, seed=1, nights=1)
    assert found.whole("runs dry") == 0
    assert found.upper == pytest.approx(0.029513, abs=1e-6)


def test_a_certain_failure_has_chance_one() -> None:
    found = chance(plant("", fresh=1e-3), 20, seed=1, nights=2)
    assert found.whole("runs dry") == 1.0
    with pytest.raises(ValueError, match="needs two trips or more, got 1"):
        chance(plant(""), 1)


def test_the_chance_settles_as_trips_grow() -> None:
    """Two seeds of 400 trips differ by no more than sampling allows (binomial, 4 sigma)."""
    van = plant("")
    first, second = (chance(van, 400, seed=s, nights=3).whole("runs dry") for s in (1, 2))
    middle = (first + second) / 2
    assert abs(first - second) < 4 * np.sqrt(2 * max(middle * (1 - middle), 1e-3) / 400)


def test_the_ranking_finds_the_habit_that_is_made_to_matter() -> None:
    """One bath a day against a sip: the bath rules the water left, by any ranking."""
    van = plant(
        "",
        uses=(use("bath", 1, 600.0, spread=0.5), use("sip", 1, 2.0, spread=0.5)),
        fresh=0.2,
    )
    found = {one.figure: one.factors for one in ranking(van, base=32, nights=2)}
    names = [name for name, _ in found["water left at the end"]]
    assert names[0] == "bath: how much"
    shares = dict(found["water left at the end"])
    assert shares["bath: how much"] > 10 * shares["sip: how much"]
    assert "coldest of the warm draws" not in found, "nothing is warm here"


def test_the_ranking_of_a_sum_goes_by_the_squares_of_its_spreads() -> None:
    """Water left is nearly linear in the habits, so by theory (Sobol) their shares are the
    squares of the volumes' spreads over their sum, to the scatter of so few runs.
    """
    van = plant(
        "",
        uses=(use("a", 1, 300.0, spread=0.2), use("b", 1, 200.0, spread=0.2)),
        fresh=0.5,
        battery=None,
    )
    factors = dict(ranking(van, base=128, nights=4)[0].factors)
    spread_a, spread_b = 300.0**2, 200.0**2
    expected = spread_a / (spread_a + spread_b)
    both = factors["a: how much"] + factors["b: how much"]
    assert factors["a: how much"] / both == pytest.approx(expected, abs=0.1)


def test_demand_does_not_depend_on_the_tank() -> None:
    big = chance(plant("", fresh=1.0), 30, seed=4, nights=2)
    small = chance(plant("", fresh=0.01), 30, seed=4, nights=2)
    assert wanted(big.outcome) == pytest.approx(wanted(small.outcome))


def test_first_failure_reads_as_a_sentence() -> None:
    assert str(Failure("runs dry", 86400 + 7.5 * 3600, "shower")) == (
        "runs dry on day 2 at 07:30, shower"
    )
    build = example("dipper")
    trip = Trip(replace(build, crew=replace(build.crew, people=4)))
    assert trip.first_failure is not None
    assert trip.first_failure == trip.failures[0]
    assert [f.when for f in trip.failures] == sorted(f.when for f in trip.failures)
    assert Trip(example("wren")).first_failure is None


def test_the_timeline_is_a_table_in_the_readers_units() -> None:
    table = Trip(example("dipper")).timeline()
    assert {"day", "clock", "fresh, gal", "grey, gal", "battery, Wh", "fuel, lb"} <= set(table)
    assert table["fresh, gal"].iloc[0] == pytest.approx(40 * 18 * 13.5 / 231, abs=0.1)
    assert (table["hour"].diff().dropna() >= 0).all()
    assert list(Trip(example("wren")).timeline()) == [
        "day", "clock", "hour", "fresh, L", "grey, L", "flow, L/min",
    ]  # fmt: skip
    draws = Trip(example("heron")).draws()
    assert {"wait, s", "run off, L", "was, °C", "ended"} <= set(draws)


def test_options_change_what_happens() -> None:
    build = example("dipper")
    always = Trip(build).planned
    mornings = Trip(build, Options(heater_hours=("06:00-08:00",))).planned
    assert mornings.heat_in[0] < always.heat_in[0]
    back = Trip(build, Options(return_line=True)).planned
    assert back.tank_end[0].sum() > always.tank_end[0].sum()


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
@pytest.mark.parametrize("days", [None, 7])
def test_the_chart_is_whole_and_the_same_every_time(name: str, days: int | None) -> None:
    from xml.etree import ElementTree

    build = example(name)
    first = trip_chart(Trip(build).play(days=days), build.van.units)
    second = trip_chart(Trip(build).play(days=days), build.van.units)
    assert first == second
    root = ElementTree.fromstring(first)
    assert root.attrib["width"].endswith("mm")
    numbers = [float(n) for n in re.findall(r'(?:x|cx|x1|x2)="([-0-9.]+)"', first)]
    assert min(numbers) >= 0 and max(numbers) <= float(root.attrib["width"][:-2])
    assert "nan" not in first and "inf" not in first


def test_names_in_the_chart_are_plain_text() -> None:
    build = example("dipper")
    uses = tuple(
        replace(u, name="<script>alert(1)</script>", per_person=40.0, per_day=None)
        for u in build.use
    )
    trip = Trip(replace(build, use=uses))
    drawn = trip_chart(trip.planned, "US")
    assert trip.first_failure is not None and "script" in trip.first_failure.use
    assert "<script" not in drawn and "&lt;script&gt;" in drawn


def test_a_trip_that_was_not_recorded_has_no_chart() -> None:
    from vanplumb.trip.play.simulate import simulate

    van = plant("storage")
    with pytest.raises(ValueError, match="was not recorded"):
        trip_chart(simulate(van, planned(van, 1), days=1), "SI")


def test_chapters_of_the_examples() -> None:
    for name, keys in (
        ("dipper", ["trip", "chance", "waiting", "frost"]),
        ("heron", ["trip", "chance", "waiting", "frost"]),
        ("wren", ["trip", "chance", "frost"]),
    ):
        trip = pack_of(name).trip
        every = {"trip", "chance", "waiting", "frost"}
        found = [c for c in pack_of(name).chapters if c.key in every]
        assert [c.key for c in found] == keys
        assert trip_picture(trip).svg.startswith("<svg")
        for chapter in found:
            for system in ("US", "SI"):
                assert all(a.shown(system) for a in chapter.answers)
                for grid in chapter.grids:
                    heads, rows = grid.shown(system)
                    assert all(len(row) == len(heads) for row in rows)


def test_a_build_that_cannot_be_played_says_why_on_the_sheet() -> None:
    build = example("dipper")
    pack = Pack(replace(build, heater=(replace(build.heater[0], volume=None),)))
    days = next(c for c in pack.chapters if c.title == "Days and nights")
    assert "needs a volume" in days.not_computed[0]
    assert "frost" in [c.key for c in pack.chapters], "what can be worked out is"


def test_failures_of_a_quiet_trip_are_none() -> None:
    van = plant("", uses=())
    from vanplumb.trip.play.simulate import simulate

    assert failures(simulate(van, planned(van, 1), days=1)) == ()


def test_deviates_are_those_of_the_normal_distribution() -> None:
    from scipy.special import ndtri

    from vanplumb.trip.play.draws import deviate

    rank = np.linspace(1e-6, 1 - 1e-6, 501).reshape(3, 167)
    np.testing.assert_allclose(deviate(rank), ndtri(rank), rtol=0, atol=1e-9)


def test_the_habits_of_one_crew_go_together_and_each_keeps_its_crowd() -> None:
    """Ranks are even between 0 and 1, and any two go together as much as is assumed.

    The deviates of two such ranks have that correlation by how they are made; the ranks'
    own is Spearman's, 6/π asin(ρ/2) of normal deviates (Pearson 1907).
    """
    van = plant(uses=(use("one", 1, 60), use("two", 1, 60)))
    found = ranks(van, 20_000, np.random.default_rng(3))
    both = np.column_stack([found.often, found.long])
    expected = 6 / np.pi * np.arcsin(ALIKE / 2)
    for column in both.T:
        assert np.sort(column) == pytest.approx(np.linspace(0, 1, len(column)), abs=0.015)
    pairs = np.corrcoef(both.T)[np.triu_indices(4, 1)]
    assert pairs == pytest.approx(np.full(6, expected), abs=0.02)
