"""Friction over the whole range of flow: against fluids, and without steps."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from vanplumb.formulas.tube import bridged_friction, colebrook_residual, explicit_friction
from vanplumb.network.losses import (
    friction_factor,
    friction_number,
    friction_with_slope,
    friction_work,
    turbulent_friction,
    wall_numbers,
)

WALLS = [0.0, 1e-6, 1e-4, 1e-3, 1e-2, 5e-2]
reynolds_numbers = st.floats(1.0, 1e8)
walls = st.sampled_from(WALLS)


@pytest.mark.checks("colebrook_residual")
def test_turbulent_friction_is_colebrook_as_fluids_solves_it() -> None:
    from fluids.friction import Colebrook

    flows = np.geomspace(4000, 1e8, 60)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        there = np.array([[Colebrook(re, wall) for wall in WALLS] for re in flows])
    here = friction_factor(flows[:, None], np.array(WALLS))
    assert here.shape == (60, 6)
    assert here == pytest.approx(there, rel=1e-12)
    residual = colebrook_residual.si(here, flows[:, None], np.array(WALLS))
    assert np.abs(residual).max() < 1e-11


@pytest.mark.checks("explicit_friction")
def test_the_explicit_formula_is_within_three_percent_of_colebrook() -> None:
    """As its authors claim for e/D of 1e-6 to 1e-2 and Re from 5000 on."""
    flows = np.geomspace(5000, 1e8, 60)[:, None]
    rough = np.array([1e-6, 1e-4, 1e-3, 1e-2])
    assert explicit_friction.si(flows, rough) == pytest.approx(
        turbulent_friction(flows, rough), rel=0.03
    )


@example(2300.0, 0.001)  # on the bridge between the laws, where few draws fall
@example(3500.0, 0.0)
@given(reynolds_numbers, walls)
def test_the_slope_is_the_change_of_the_factor(reynolds: float, wall: float) -> None:
    step = reynolds * 1e-5
    ends = friction_factor(np.array([reynolds - step, reynolds + step]), wall)
    change = (ends[1] - ends[0]) / (2 * step)
    scale = float(friction_factor(reynolds, wall)) / reynolds
    assert float(friction_with_slope(reynolds, wall)[1]) == pytest.approx(change, abs=3e-4 * scale)


@pytest.mark.checks("bridged_friction")
@pytest.mark.parametrize("wall", WALLS)
def test_there_is_no_step_where_one_law_gives_way_to_the_next(wall: float) -> None:
    for edge in (2000.0, 4000.0):
        sides = np.array([edge * (1 - 1e-9), edge * (1 + 1e-9)])
        factors, slopes = friction_with_slope(sides, wall)
        assert factors[0] == pytest.approx(factors[1], rel=1e-8)
        assert slopes[0] == pytest.approx(slopes[1], rel=1e-6)
    between = np.linspace(2001, 3999, 50)
    bridged = bridged_friction.si(between, 64 / between, turbulent_friction(between, wall))
    assert friction_factor(between, wall) == pytest.approx(bridged, rel=1e-12)


@given(st.floats(0.1, 1e6), st.floats(1.0001, 2.0), walls)
def test_more_flow_always_costs_more(reynolds: float, times: float, wall: float) -> None:
    """Loss goes with f·Re²; were it to fall anywhere, a network could have two answers."""
    pair = np.array([reynolds, reynolds * times])
    loss = friction_factor(pair, wall) * pair**2
    assert loss[1] > loss[0]


def test_standing_water_has_a_finite_drag() -> None:
    number, growth = friction_number(np.array([0.0, 10.0, 1999.0]), *wall_numbers(1e-4))
    assert number == pytest.approx([64.0, 64.0, 64.0])
    assert growth == pytest.approx([0.0, 0.0, 0.0])
    assert np.isfinite(friction_factor(0.0, 1e-4))


@pytest.mark.parametrize(
    "reynolds, names",
    [
        (1500.0, ["laminar_friction"]),
        (3000.0, ["colebrook_residual", "bridged_friction"]),
        (30_000.0, ["colebrook_residual"]),
    ],
)
def test_worked_steps_show_the_law_that_holds(reynolds: float, names: list[str]) -> None:
    steps = friction_work(reynolds, 1e-4)
    assert [work.name for work in steps] == names
    assert steps[-1].value == pytest.approx(float(friction_factor(reynolds, 1e-4)), rel=1e-12)
