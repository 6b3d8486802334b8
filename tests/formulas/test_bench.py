"""Centre to centre there and back, and the later of two moments."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.joints import (
    bent_length,
    cure_in_the_cold,
    cut_length,
    latest_ready,
    least_centres,
)

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


@pytest.mark.checks("cut_length")
def test_cut_length_against_a_tape_measure_example() -> None:
    """From memory: 10 in centre to centre, two take-offs of 5/8 in, leaves 8 3/4 in."""
    inch = 0.0254
    length = cut_length.si(10 * inch, 0.625 * inch, 0.625 * inch)
    assert length == pytest.approx(8.75 * inch, abs=1e-12)


@pytest.mark.checks("bent_length")
def test_a_bend_is_shorter_than_its_corner_by_the_known_share_of_its_radius() -> None:
    """A quarter circle leaves out (2 − π/2) of its radius, 0.4292 of it (geometry)."""
    assert 2.0 - bent_length.si(1.0, 1.0, 1.0) == pytest.approx(0.4292, abs=5e-5)
    assert bent_length.si(0.3, 0.4, 0.0) == pytest.approx(0.7)


@pytest.mark.checks("cure_in_the_cold")
def test_a_sealant_slows_as_the_printed_one_does() -> None:
    """Typical published: an anaerobic one is full in 24 h at 20 °C and in about 72 h at 5 °C."""
    hour = 3600.0
    slowed = cure_in_the_cold.si
    assert slowed(24 * hour, 72 * hour, 24 * hour, 15.0, 15.0) == pytest.approx(72 * hour)
    assert slowed(24 * hour, 72 * hour, 24 * hour, 0.0, 15.0) == pytest.approx(24 * hour)
    # half way down the logarithm: the geometric mean of both
    middle = slowed(24 * hour, 72 * hour, 24 * hour, 7.5, 15.0)
    assert middle == pytest.approx(hour * (24 * 72) ** 0.5)
