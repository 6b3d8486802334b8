"""Chances from few trials against printed and computed figures."""

from __future__ import annotations

import pytest

from vanplumb.formulas.joints import chance_of_any, rule_of_three, trials_needed, upper_chance_none


@pytest.mark.checks("rule_of_three", "upper_chance_none")
def test_rule_of_three_in_the_bmj() -> None:
    # BMJ 311:619 (1995): none of 300, about 3/n
    assert rule_of_three.si(300) == pytest.approx(0.0100, abs=5e-5)
    assert upper_chance_none.si(0.95, 300) == pytest.approx(0.009936, abs=5e-7)


# Clopper and Pearson 1934, one-sided 95 %, none of n
@pytest.mark.checks("upper_chance_none")
@pytest.mark.parametrize(
    "n, printed", [(10, 0.258866), (20, 0.139108), (50, 0.058155), (100, 0.029513)]
)
def test_upper_limit_after_none(n: int, printed: float) -> None:
    from scipy.stats import beta

    got = upper_chance_none.si(0.95, n)
    assert got == pytest.approx(printed, abs=1e-6)
    assert got == pytest.approx(beta.ppf(0.95, 1, n), abs=1e-12)


@pytest.mark.checks("trials_needed")
def test_trials_without_failure() -> None:
    # ratio of logarithms: 298.07 and 458.2 for one in a hundred
    assert trials_needed.si(0.95, 0.01) == pytest.approx(298.07, abs=0.005)
    assert trials_needed.si(0.99, 0.01) == pytest.approx(458.2, abs=0.05)


@pytest.mark.checks("chance_of_any")
@pytest.mark.parametrize("joints, printed", [(20, 0.0646), (60, 0.1815)])
def test_chance_of_a_leak_in_a_van(joints: int, printed: float) -> None:
    from scipy.stats import binom

    got = chance_of_any.si(1 / 300, joints)
    assert got == pytest.approx(printed, abs=5e-5)
    assert got == pytest.approx(1 - binom.pmf(0, joints, 1 / 300), abs=1e-12)
