"""Accumulators: what they hold and give, by Boyle's law and the trade's figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.heater import cushioned_water, drawdown, expansion_vessel
from vanplumb.words.units import Q

PRINTED = [
    # volume, precharge, cut-in, cut-out, air, given, unit, tolerance
    ("85 gal", "28 psi", "30 psi", "50 psi", "14.7 psi", 25.1, "gal", {"abs": 0.05}),
    ("0.1875 gal", "30 psi", "40 psi", "55 psi", "14.7 psi", 4.22, "fluid_ounce", {"rel": 0.01}),
    ("0.1875 gal", "40 psi", "40 psi", "55 psi", "14.7 psi", 5.16, "fluid_ounce", {"rel": 0.01}),
    ("1 L", "1.5 bar", "1.7 bar", "2.8 bar", "1.01325 bar", 0.267, "L", {"rel": 0.01}),
    ("1 gal", "28 psi", "30 psi", "50 psi", "14.7 psi", 0.295, "gal", {"abs": 0.005}),
]


@pytest.mark.checks("drawdown")
@pytest.mark.parametrize("volume, precharge, low, high, air, printed, unit, tolerance", PRINTED)
def test_drawdown(  # type: ignore[no-untyped-def]
    volume, precharge, low, high, air, printed, unit, tolerance
) -> None:
    """A trade column on well tanks (2006 and 2008) for the first and the last, its formula for
    the three of a van's size."""
    found = drawdown(
        volume=volume,
        pressure_precharge=precharge,
        pressure_in=low,
        pressure_out=high,
        pressure_absolute_air=air,
    )
    assert found.to(unit).magnitude == pytest.approx(printed, **tolerance)


pressures = st.floats(5e4, 6e5)


@pytest.mark.checks("drawdown", "cushioned_water")
@given(st.floats(1e-4, 0.1), pressures, pressures, pressures)
def test_drawdown_is_what_the_vessel_held_less_what_it_keeps(
    volume: float, first: float, second: float, third: float
) -> None:
    """And the air keeps its pressure times volume (Boyle), counted from the air's own side."""
    precharge, low, high = sorted((first, second, third))
    held = [cushioned_water.si(volume, precharge, p, 101_325.0, 1.0) for p in (high, low)]
    given_out = drawdown.si(volume, precharge, low, high, 101_325.0)
    assert given_out == pytest.approx(held[0] - held[1], rel=1e-9, abs=1e-15)
    for pressure, water in zip((high, low), held, strict=True):
        air = (pressure + 101_325.0) * (volume - water)
        assert air == pytest.approx((precharge + 101_325.0) * volume, rel=1e-9)


@pytest.mark.checks("cushioned_water", "expansion_vessel")
@given(st.floats(1e-4, 0.1), pressures, pressures, st.floats(1.0, 1.4))
def test_air_that_keeps_part_of_its_heat_takes_up_less(
    volume: float, first: float, second: float, exponent: float
) -> None:
    """Pressure times volume to the exponent stays; a vessel made for a growth takes it up."""
    precharge, high = sorted((first, second + 1e4))
    water = cushioned_water.si(volume, precharge, high, 101_325.0, exponent)
    air = (high + 101_325.0) * (volume - water) ** exponent
    assert air == pytest.approx((precharge + 101_325.0) * volume**exponent, rel=1e-9)
    assert water <= cushioned_water.si(volume, precharge, high, 101_325.0, 1.0) + 1e-15
    if water > 1e-9:
        made = expansion_vessel.si(water, precharge, high, 101_325.0, exponent)
        assert made == pytest.approx(volume, rel=1e-6)


def test_height_helps_an_accumulator() -> None:
    """In thin air the same gauge pressures are a larger ratio, so more water comes out."""
    sea, pass_ = (
        drawdown(
            volume="1 L",
            pressure_precharge="1.5 bar",
            pressure_in="1.7 bar",
            pressure_out="2.8 bar",
            pressure_absolute_air=Q(kilopascals, "kPa"),
        )
        .to("L")
        .magnitude
        for kilopascals in (101.3, 70.1)
    )
    assert pass_ > sea
