"""Joint reliability against printed limits, scipy's own test, and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.shop.record.reliability import (
    Tally,
    clean_joints_for,
    clopper_pearson,
    jeffreys,
    next_van,
    one_more_clean_van,
)


# Clopper and Pearson 1934, two-sided 95 %, as computed by scipy
@pytest.mark.parametrize(
    "weeps, joints, low, high",
    [
        (0, 300, 0.0, 0.012221),
        (2, 300, 0.000808, 0.023873),
        (1, 20, 0.001265, 0.248733),
        (3, 100, 0.006230, 0.085176),
    ],
)
def test_clopper_pearson(weeps: int, joints: int, low: float, high: float) -> None:
    got = clopper_pearson(weeps, joints)
    assert got.low == pytest.approx(low, abs=1e-6)
    assert got.high == pytest.approx(high, abs=1e-6)


@settings(max_examples=cases(20), deadline=None)
@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_clopper_pearson_is_scipy_s_exact_interval(case: tuple[int, int]) -> None:
    from scipy.stats import binomtest

    weeps, joints = case
    judge = binomtest(weeps, joints).proportion_ci(0.95, method="exact")
    got = clopper_pearson(weeps, joints)
    assert (got.low, got.high) == pytest.approx((judge.low, judge.high), abs=1e-9)


def test_jeffreys_after_nothing() -> None:
    # none of 300: the lower end is zero by convention, the upper 0.00833
    got = jeffreys(0, 300)
    assert got.low == 0.0
    assert got.high == pytest.approx(0.00833, abs=5e-6)


def test_limits_hold_the_truth_as_often_as_they_say() -> None:
    from scipy.stats import binom

    joints = 60
    for true in (0.005, 0.02, 0.1):
        seen = np.arange(joints + 1)
        weight = binom.pmf(seen, joints, true)
        exact = [clopper_pearson(int(w), joints) for w in seen]
        held = sum(p for p, i in zip(weight, exact, strict=True) if i.low <= true <= i.high)
        assert held >= 0.95
        width = [i.high - i.low for i in exact]
        shorter = [jeffreys(int(w), joints) for w in seen]
        assert all(j.high - j.low <= w + 1e-12 for j, w in zip(shorter, width, strict=True))


def test_none_seen_gives_a_top_only() -> None:
    tally = Tally("expansion, PEX 1/2 in", 300, 0)
    assert tally.exact.one_sided
    # BMJ 311:619 (1995): exact 0.009936
    assert tally.exact.high == pytest.approx(0.009936, abs=5e-7)
    assert tally.mean > 0


def test_joints_without_a_weep_for_one_in_a_hundred() -> None:
    # ratio of logarithms: 299 at 95 %, 459 at 99 %
    assert clean_joints_for(0.01) == 299
    assert clean_joints_for(0.01, 0.99) == 459


def test_next_van_agrees_with_simulated_vans() -> None:
    tallies = {"a": Tally("a", 200, 2), "b": Tally("b", 40, 0)}
    plan = {"a": 30, "b": 8}
    got = next_van(tallies, plan)
    rng = np.random.default_rng(7)
    n = 200_000
    a = rng.beta(2.5, 198.5, n)
    b = rng.beta(0.5, 40.5, n)
    wept = (rng.binomial(30, a) + rng.binomial(8, b)) > 0
    assert got.expected == pytest.approx(wept.mean(), abs=4 * 0.5 / np.sqrt(n))
    assert got.low < got.expected < got.high
    assert got.joints == 38


def test_a_kind_never_tested_is_told_not_guessed() -> None:
    got = next_van({"a": Tally("a", 10, 0)}, {"a": 5, "new": 3})
    assert got.unknown == ("new",)
    assert got.joints == 5


def test_one_more_clean_van_helps_a_little_and_less_each_time() -> None:
    plan = {"a": 30}
    tally = Tally("a", 30, 0)
    gains = []
    for _ in range(4):
        step = one_more_clean_van({"a": tally}, plan)
        gains.append(step.now.expected - step.then.expected)
        tally = tally.more(30)
    assert all(g > 0 for g in gains)
    assert gains == sorted(gains, reverse=True)


@pytest.mark.parametrize(
    "weeps, joints, message",
    [(1, 0, "at least one joint"), (5, 4, "weeps must be 0 to 4, got 5"), (-1, 4, "weeps must be")],
)
def test_impossible_counts_are_refused(weeps: int, joints: int, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        clopper_pearson(weeps, joints)


def test_impossible_confidence_is_refused() -> None:
    with pytest.raises(ValueError, match="confidence must be between 0 and 1, got 1"):
        jeffreys(1, 4, 1.0)
    with pytest.raises(ValueError, match="chance must be between 0 and 1"):
        clean_joints_for(0.0)
