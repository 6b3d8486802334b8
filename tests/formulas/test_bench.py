"""Centre to centre there and back, and the later of two moments."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.joints import cut_length, latest_ready, least_centres

sizes = st.floats(0.001, 1.0)


@pytest.mark.checks("least_centres")
@pytest.mark.checks("cut_length")
@given(sizes, sizes, sizes)
def test_the_tube_cut_for_its_least_centres_is_the_shortest_tube(
    a: float, b: float, c: float
) -> None:
    centres = least_centres.si(length_stub=a, length_first=b, length_second=c)
    back = cut_length.si(length_centres=centres, width_one=b, width_other=c)
    assert back == pytest.approx(a, rel=1e-9)
    assert centres > a and centres > b + c


@pytest.mark.checks("latest_ready")
@pytest.mark.parametrize(
    "first, wait, last, short, hours",
    [(1, 72, 20, 0.5, 73), (1, 24, 30, 0.5, 30.5)],  # by the clock on the wall
)
def test_the_test_waits_for_whichever_is_ready_last(
    first: float, wait: float, last: float, short: float, hours: float
) -> None:
    assert latest_ready.si(first, wait, last, short) == hours
