"""Water in a run freezes at the ice point, gives up its latent heat first, and blocks the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.pack import example
from vanplumb.trip.hot_runs.ice import (
    BLOCKED,
    LATENT,
    after,
    melting,
    share_of_ice,
    temperature,
)
from vanplumb.trip.hot_runs.lines import Lines, Segment
from vanplumb.trip.play.outcome import STATES
from vanplumb.trip.trip import Trip
from vanplumb.words.glossary import ICE_POINT

HEAT = 4.19e6
one = np.ones(1)
row = np.zeros(1, dtype=np.intp)


def by_small_steps(heat: float, melts: float, air: float, constant: float, time: float) -> float:
    """The same cooling, a little at a time, by nothing but the law of cooling."""
    steps = 20_000
    for _ in range(steps):
        now = heat if heat > ICE_POINT else min(heat + melts, ICE_POINT)
        heat += (air - now) * time / steps / constant
    return heat


@pytest.mark.parametrize("start", [-90.0, -40.0, -1.0, 0.0, 20.0])
@pytest.mark.parametrize("air", [-25.0, -3.0, 4.0, 30.0])
@pytest.mark.parametrize("time", [300.0, 4000.0, 40_000.0])
def test_freezing_and_thawing_follow_the_law_of_cooling(
    start: float, air: float, time: float
) -> None:
    melts, constant = 60.0, 2000.0
    found = after(
        np.array([ICE_POINT + start]), melts * one, ICE_POINT + air * one, constant, time * one
    )
    slow = by_small_steps(ICE_POINT + start, melts, ICE_POINT + air, constant, time)
    assert found[0] == pytest.approx(slow, abs=0.05)  # the small steps are off by as much


@given(
    st.floats(-150.0, 80.0),
    st.floats(-40.0, 40.0),
    st.floats(0.0, 1e5),
    st.floats(0.0, 1e5),
    st.floats(20.0, 80.0),
)
def test_two_waits_are_one_long_wait(
    start: float, air: float, first: float, then: float, melts: float
) -> None:
    own = (melts * one, ICE_POINT + air * one, 1500.0 * one)
    once = after(ICE_POINT + start * one, *own, (first + then) * one)
    twice = after(after(ICE_POINT + start * one, *own, first * one), *own, then * one)
    assert twice == pytest.approx(once, abs=1e-6)
    warm = temperature(once, own[0])
    begun = temperature(ICE_POINT + start * one, own[0])
    assert min(begun[0], own[1][0]) - 1e-9 <= warm[0] <= max(begun[0], own[1][0]) + 1e-9
    assert 0.0 <= share_of_ice(once, own[0])[0] <= 1.0


def test_a_litre_of_water_freezes_when_its_latent_heat_is_gone() -> None:
    """In air of -10 °C, from 0 °C on: the latent heat over what it loses a second."""
    run = Segment("run", 1e-3, 1e-3, 1000.0, ICE_POINT - 10.0)
    lines = Lines(1, (run,), HEAT, [((0,), 1)], ICE_POINT * one)
    seconds = LATENT * 0.9998 / (HEAT * 1e-3 / 1000.0 * 10.0)
    lines.refresh(row, row, seconds / 2 * one)
    share = share_of_ice(lines.temperature, lines.melts)
    assert share == pytest.approx(0.5 * np.ones(share.shape), rel=1e-9)
    assert lines.lost[0] == pytest.approx(LATENT * 0.9998 / 2, rel=1e-9)
    lines.refresh(row, row, seconds * one)
    assert temperature(lines.temperature, lines.melts) == pytest.approx(ICE_POINT)
    assert lines.blocked(row, row, seconds * one)[0]


def test_a_way_is_blocked_from_a_fifth_of_ice_on() -> None:
    run = Segment("run", 1e-3, 1.3e-3, 1000.0, ICE_POINT - 10.0)
    lines = Lines(1, (run,), HEAT, [((0,), 1)], ICE_POINT * one)
    fifth = BLOCKED * float(melting(1e-3 * one, 1.3e-3 * one, HEAT)[0]) * 1000.0 / 10.0
    assert not lines.blocked(row, row, 0.999 * fifth * one)[0]
    assert lines.blocked(row, row, 1.001 * fifth * one)[0]


@pytest.fixture(scope="module")
def frozen() -> Trip:
    """Heron skiing in hard frost, its hot runs led outside."""
    build = example("heron")
    hot = ("heater", "galley hot tee", "bath hot tee")
    runs = tuple(replace(r, place="outside") if r.start in hot else r for r in build.run)
    van = replace(build.van, outside=253.15, outside_day=258.15)
    return Trip(replace(build, run=runs, van=van))


def test_a_frozen_hot_line_gives_nothing_and_says_so(frozen: Trip) -> None:
    outcome = frozen.planned
    ended = [STATES[s] for s in outcome.state[0]]
    assert (
        "frozen" in ended
        and (outcome.drawn[0][outcome.state[0] == STATES.index("frozen")] == 0).all()
    )
    assert "hot line frozen" in [one.what for one in frozen.failures]


def test_no_draw_is_colder_than_ice_and_nothing_is_lost_count_of(frozen: Trip) -> None:
    """Random trips, with the lines outside just below freezing: slush, ice and warm water."""
    van = replace(frozen.build.van, outside=269.15, outside_day=273.15)
    trip = Trip(replace(frozen.build, van=van))
    for outcome in (frozen.planned, trip.planned, trip.chance(40).outcome):
        drawn = outcome.warmth[np.isfinite(outcome.warmth) & (outcome.drawn > 0)]
        assert drawn.min() >= ICE_POINT
        assert outcome.warmth_gap().max() < 1e-9
        assert outcome.heat_gap().max() < 1e-9
        assert outcome.water_gap().max() < 1e-9
