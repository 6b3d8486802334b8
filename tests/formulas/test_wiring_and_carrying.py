"""Wire, straps and belongings against printed figures and laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.carrying import (
    axle_load_front,
    axle_load_rear,
    axle_room,
    belongings_mass,
    restraint_force,
)
from vanplumb.formulas.wiring import wire_reach
from vanplumb.words.units import Q

FOOT = 0.3048


@pytest.mark.checks("wire_reach")
def test_reach_at_three_percent_is_that_of_the_printed_table() -> None:
    """ABYC E-11, 3 % at 12 V: 15 A on 15 ft there and back takes 10 gauge, on 10 ft 12 gauge.

    So 10 gauge (5.26 mm²) reaches 7.5 ft one way and more, and 12 gauge (3.31 mm²) does not.
    """
    ten = wire_reach(share_drop=0.03, voltage=Q("12 V"), area=Q("5.26 mm^2"), current=Q("15 A"))
    twelve = wire_reach(share_drop=0.03, voltage=Q("12 V"), area=Q("3.31 mm^2"), current=Q("15 A"))
    assert ten.to("ft").magnitude > 7.5 > twelve.to("ft").magnitude > 5.0


@pytest.mark.checks("wire_reach")
@given(st.floats(0.01, 0.2), st.floats(5, 50), st.floats(5e-7, 5e-5), st.floats(0.5, 50))
def test_the_drop_at_the_reach_is_the_share(
    share: float, voltage: float, area: float, current: float
) -> None:
    """Back by Ohm's law with the resistance of both wires, at 58 MS/m of annealed copper.

    Strands in use conduct a few percent less than that, so as much less is lost than the share.
    """
    reach = float(wire_reach.si(share, voltage, area, current))
    resistance = 2 * reach / (58.0e6 * area)
    assert 0.95 * share * voltage < current * resistance < share * voltage


@pytest.mark.checks("restraint_force")
def test_braking_at_one_g_pulls_with_the_weight() -> None:
    """99.8 kg, 100 L of water at 20 °C, at 1 g: 979 N."""
    assert restraint_force.si(99.8, 1.0) == pytest.approx(979, abs=0.5)
    assert restraint_force.si(99.8, 0.8) == pytest.approx(0.8 * 979, abs=0.5)


@pytest.mark.checks("belongings_mass")
def test_belongings_of_a_family_in_a_six_metre_van() -> None:
    """EN 1646-2 as told: 10 kg a passenger and 10 kg a metre; four in 6 m are 100 kg."""
    assert belongings_mass.si(4, 10.0, 6.0, 10.0) == pytest.approx(100.0)


@pytest.mark.checks("axle_load_front", "axle_load_rear")
@given(st.floats(0.1, 500), st.floats(-1.5, 7.0), st.floats(2.0, 6.0))
def test_axles_balance_a_load(mass: float, place: float, wheelbase: float) -> None:
    """Statics: what both axles bear is the load, and about the load itself nothing turns."""
    front = float(axle_load_front.si(mass, place, wheelbase))
    rear = float(axle_load_rear.si(mass, place, wheelbase))
    assert front + rear == pytest.approx(mass, rel=1e-9)
    assert front * place == pytest.approx(rear * (wheelbase - place), abs=1e-7 * mass)


@pytest.mark.checks("axle_load_front", "axle_load_rear")
def test_a_load_over_an_axle_is_all_on_it_and_one_behind_lifts_the_other() -> None:
    assert axle_load_front.si(100.0, 0.0, 4.0) == pytest.approx(100.0)
    assert axle_load_rear.si(100.0, 4.0, 4.0) == pytest.approx(100.0)
    # a lever of five parts, one of them behind the fulcrum
    assert axle_load_rear.si(100.0, 5.0, 4.0) == pytest.approx(125.0)
    assert axle_load_front.si(100.0, 5.0, 4.0) == pytest.approx(-25.0)


@pytest.mark.checks("axle_room")
def test_what_is_left_goes_back_to_what_is_allowed() -> None:
    left = float(axle_room.si(1900.0, 1240.0, 290.0))
    assert left + 1240.0 + 290.0 == pytest.approx(1900.0)
    assert axle_room.si(1900.0, 1700.0, 290.0) < 0
