"""The layered store against its two limits, the analytic cooling and conservation of heat."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.formulas.runs_heat import cooled
from vanplumb.trip.hot_runs.lines import Lines, Segment
from vanplumb.trip.hot_runs.plug import push, rise, settle, volumes
from vanplumb.trip.play.store import Store

HEAT = 4.15e6
HOT, COLD, AIR = 333.15, 288.15, 293.15
one = np.ones(1)
row = np.zeros(1, dtype=np.intp)


def store(mixed_share: float, loss_rate: float = 0.0, start: float = HOT) -> Store:
    return Store(
        1,
        volume=0.02,
        mixed_share=mixed_share,
        cells=40,
        heat_per_volume=HEAT,
        loss_rate=loss_rate,
        start=start,
    )


def test_a_store_without_mixing_is_a_pure_plug() -> None:
    """All of its content leaves as hot as it stood, then all is cold."""
    tank = store(1e-6)
    outlet = [float(tank.draw(row, 0.0005 * one, 0 * one, one, COLD * one)[0]) for _ in range(42)]
    assert outlet[:39] == pytest.approx([HOT] * 39, abs=1e-6)
    assert outlet[41] == pytest.approx(COLD, abs=1e-3)


@pytest.mark.parametrize("steps", [1, 7, 300])
def test_a_store_fully_mixed_fades_as_an_exponential(steps: int) -> None:
    """One store's content drawn, in any number of steps: warmth falls to 1/e (Euler's law)."""
    tank = store(1.0)
    out = np.array(
        [tank.draw(row, 0.02 / steps * one, 0 * one, one, COLD * one)[0] for _ in range(steps)]
    )
    assert tank.bottom[0] - COLD == pytest.approx((HOT - COLD) * np.exp(-1.0), rel=1e-9)
    assert out.mean() - COLD == pytest.approx((HOT - COLD) * (1 - np.exp(-1.0)), rel=1e-9)


def test_a_stirred_third_gives_the_usual_usable_share() -> None:
    """ASHRAE, from memory: 60 to 80 % of a store comes out hot.  The end of a draw is taken
    as in 10 CFR 430 (from memory): when its outlet has cooled by 15 °F."""
    tank = store(0.30)
    drawn = 0.0
    while tank.top[0] > HOT - 15 / 1.8:
        tank.draw(row, 0.0001 * one, 0 * one, one, COLD * one)
        drawn += 0.0001
    assert 0.60 <= drawn / 0.02 <= 0.80


@pytest.mark.parametrize("mixed", [1e-6, 0.3, 1.0])
@pytest.mark.parametrize("steps", [1, 13])
def test_a_still_tank_cools_as_the_formula_says(mixed: float, steps: int) -> None:
    tank = store(mixed, loss_rate=2e-5)
    lost = sum(float(tank.rest(36000.0 / steps * one, 0 * one, AIR * one)[0]) for _ in range(steps))
    expected = cooled.si(HOT, AIR, 36000.0, 1 / 2e-5)
    assert tank.top[0] == pytest.approx(expected, rel=1e-12)
    assert lost == pytest.approx(HEAT * 0.02 * (HOT - expected), rel=1e-9)


@pytest.mark.parametrize("steps", [1, 2, 50])
def test_heat_from_below_raises_the_cold_and_leaves_the_hot(steps: int) -> None:
    """In any number of steps the same: a layered store heated from below, with losses."""
    tank = store(0.2, loss_rate=1e-6)
    tank.draw(row, 0.01 * one, 0 * one, one, COLD * one)
    before = tank.energy(AIR)[0]
    lost = sum(
        float(tank.rest(600.0 / steps * one, 1000.0 * one, AIR * one)[0]) for _ in range(steps)
    )
    assert tank.energy(AIR)[0] - before + lost == pytest.approx(600e3, rel=1e-9)
    profile = tank.profile()[0][0]
    assert (np.diff(profile) <= 1e-6).all(), "warm lies over cold"
    if steps > 1:
        single = store(0.2, loss_rate=1e-6)
        single.draw(row, 0.01 * one, 0 * one, one, COLD * one)
        single.rest(600.0 * one, 1000.0 * one, AIR * one)
        assert profile == pytest.approx(single.profile()[0][0], abs=1e-6)


def test_the_time_to_warm_is_when_it_is_warm() -> None:
    tank = store(0.2, loss_rate=1e-5)
    tank.draw(row, 0.013 * one, 0 * one, one, COLD * one)
    time = tank.time_to_warm(HOT, 1500.0 * one, AIR * one)
    tank.rest(time, 1500.0 * one, AIR * one)
    assert tank.bottom[0] == pytest.approx(HOT, abs=1e-6)
    assert np.isinf(tank.time_to_warm(HOT + 60, 5.0 * one, AIR * one)[0])


def test_the_time_to_heat_six_gallons_is_the_reference_one() -> None:
    """22.7 L from 10 to 60 °C take 1.319 kWh: 0.916 h at 1.44 kW (heat and mass, IAPWS)."""
    tank = Store(
        1,
        volume=22.7e-3,
        mixed_share=0.3,
        cells=12,
        heat_per_volume=1.319 * 3.6e6 / (22.7e-3 * 50.0),
        loss_rate=0.0,
        start=283.15,
    )
    time = tank.time_to_warm(333.15, 1440.0 * one, 293.15 * one)
    assert time[0] / 3600 == pytest.approx(0.916, rel=0.003)


def test_the_time_to_cool_is_when_it_is_cool() -> None:
    tank = store(0.2, loss_rate=1e-5)
    time = tank.time_to_cool(HOT - 5.0, AIR * one)
    tank.rest(time, 0 * one, AIR * one)
    assert tank.bottom[0] == pytest.approx(HOT - 5.0, abs=1e-9)
    assert np.isinf(tank.time_to_cool(AIR - 5.0, AIR * one)[0])


def test_a_mixed_share_outside_its_bounds_is_refused() -> None:
    with pytest.raises(ValueError, match="mixed_share must be above 0 up to 1, got 0"):
        store(0.0)


@settings(max_examples=cases(20), deadline=None)
@given(st.integers(1, 12), st.integers(0, 2**32 - 1))
def test_pushing_conserves_heat_and_keeps_within_what_there_was(cells: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    temperature, fill = 280 + 60 * rng.random((4, cells + 1)), np.ones(4)
    for _ in range(25):
        shift = rng.exponential(1.0, 4) * (rng.random(4) > 0.2)
        entering = 280 + 60 * rng.random(4)
        before = (temperature * volumes(fill, cells)).sum(axis=1)
        temperature, fill, out = push(temperature, fill, shift, entering)
        after = (temperature * volumes(fill, cells)).sum(axis=1)
        assert after == pytest.approx(before + shift * (entering - out), rel=1e-9)
        assert ((out > 279.99) & (out < 340.01)).all()
        assert ((fill > 0) & (fill <= 1)).all()


def test_a_front_stays_sharp() -> None:
    temperature, fill = np.zeros((1, 9)), np.ones(1)
    outlet = []
    for _ in range(40):
        temperature, fill, out = push(temperature, fill, 0.25 * one, 100.0 * one)
        outlet.append(float(out[0]))
    assert outlet == [0.0] * 32 + [100.0] * 8


@settings(max_examples=cases(26), deadline=None)
@given(st.lists(st.floats(280, 360), min_size=2, max_size=14), st.integers(0, 1000))
def test_settling_conserves_heat_and_is_what_pooling_layer_by_layer_gives(
    layers: list[float], seed: int
) -> None:
    volume = 0.1 + np.random.default_rng(seed).random(len(layers))
    found = settle(np.array([layers]), volume[None, :])[0]
    assert (found * volume).sum() == pytest.approx((np.array(layers) * volume).sum(), rel=1e-12)
    pools: list[list[float]] = []  # temperature, volume, layers: pooled one after the other
    for temperature, held in zip(layers, volume, strict=True):
        pools.append([temperature, held, 1])
        while len(pools) > 1 and pools[-1][0] > pools[-2][0]:
            low = pools.pop()
            high = pools[-1]
            mean = (low[0] * low[1] + high[0] * high[1]) / (low[1] + high[1])
            pools[-1] = [mean, low[1] + high[1], low[2] + high[2]]
    expected = [p[0] for p in pools for _ in range(int(p[2]))]
    assert found == pytest.approx(expected, abs=1e-6)


def lines(cooling: float = 1000.0) -> Lines:
    parts = (
        Segment("trunk", 0.2e-3, 0.28e-3, cooling, AIR),
        Segment("branch", 0.3e-3, 0.40e-3, cooling, AIR),
    )
    return Lines(1, parts, HEAT, [((0, 1), 2)])


def test_hot_comes_after_the_content_and_its_wall() -> None:
    runs = lines()
    ahead, found = runs.cold_ahead(row, row, 330.0 * one, mixed=False)
    assert ahead[0] == pytest.approx(0.68e-3) and not found[0]
    runs.push(row, row, ahead, HOT * one, mixed=False)
    ahead, found = runs.cold_ahead(row, row, 330.0 * one, mixed=False)
    assert ahead[0] == pytest.approx(0.0, abs=1e-12) and found[0]


def test_runs_cool_as_the_formula_says_and_count_what_they_lose() -> None:
    runs = lines()
    runs.push(row, row, 1e-3 * one, HOT * one, mixed=False)
    before = runs.energy(AIR * one)[0]
    runs.refresh(row, row, 700.0 * one)
    assert runs.temperature == pytest.approx(cooled.si(HOT, AIR, 700.0, 1000.0), rel=1e-12)
    assert runs.lost[0] == pytest.approx(before - runs.energy(AIR * one)[0], rel=1e-12)


@settings(max_examples=cases(15), deadline=None)
@given(st.lists(st.floats(1e-6, 2e-3), min_size=1, max_size=20), st.integers(0, 1000))
def test_heat_that_goes_into_a_way_comes_out_or_stays(draws: list[float], seed: int) -> None:
    rng = np.random.default_rng(seed)
    runs = lines()
    for volume in draws:
        entering = 280 + 60 * rng.random(1)
        before = runs.energy(AIR * one)[0]
        out = runs.push(row, row, volume * one, entering, mixed=False)
        gained = HEAT * volume * (entering[0] - out[0])
        assert runs.energy(AIR * one)[0] - before == pytest.approx(gained, rel=1e-9, abs=1e-3)


@given(
    st.lists(st.floats(274.0, 350.0), min_size=1, max_size=14),
    st.lists(st.floats(0.01, 1.0), min_size=15, max_size=15),
    st.floats(0.0, 60.0),
)
def test_warmth_from_below_rises_as_in_any_pooling(
    above: list[float], volume: list[float], rise_of_last: float
) -> None:
    """Where only the last layer is too warm, the short way gives what the general one gives."""
    layers = np.array([*sorted(above, reverse=True), min(above) + rise_of_last])[None, :]
    held = np.array(volume[: layers.shape[1]])[None, :]
    risen = rise(layers, held)
    assert risen == pytest.approx(settle(layers, held), abs=1e-7)
    assert (risen * held).sum() == pytest.approx((layers * held).sum(), rel=1e-12)
    assert (np.diff(risen[0]) <= 1e-9).all()
