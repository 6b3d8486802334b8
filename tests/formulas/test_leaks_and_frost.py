"""Leaks, trapped work and ice, each by another way that a wrong factor would fail."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.frost import time_to_ice
from vanplumb.formulas.heater import cushioned_water
from vanplumb.formulas.pressure import (
    air_compliance,
    leak_rate,
    lost_volume,
    tube_compliance,
    water_compliance,
    water_energy,
)
from vanplumb.formulas.tube import wave_speed
from vanplumb.words.units import Q


@pytest.mark.checks("tube_compliance", "water_compliance")
@given(st.floats(0.005, 0.05), st.floats(0.001, 0.01), st.floats(1e8, 2e11))
def test_what_gives_under_pressure_sets_the_speed_of_its_waves(
    bore: float, wall: float, modulus: float
) -> None:
    """Korteweg: ρ a² is volume over the compliance of water and tube together."""
    volume, density, squeeze = 2e-3, 998.0, 4.6e-10
    give = tube_compliance.si(volume, bore, wall, modulus) + water_compliance.si(volume, squeeze)
    speed = wave_speed.si(1 / squeeze, modulus, density, bore, wall)
    assert density * speed**2 == pytest.approx(volume / give, rel=1e-9)


@pytest.mark.checks("air_compliance")
@given(st.floats(1e-4, 1e-2), st.floats(5e4, 6e5))
def test_trapped_air_gives_as_boyle_says(volume: float, pressure: float) -> None:
    """The slope of what a cushioned vessel takes in, by a small step of pressure."""
    step = 1.0
    more = cushioned_water.si(volume, pressure, pressure + step, 101_325.0, 1.0)
    less = cushioned_water.si(volume, pressure, pressure - step, 101_325.0, 1.0)
    assert air_compliance.si(volume, pressure) == pytest.approx((more - less) / 2, rel=1e-8)


@pytest.mark.checks("lost_volume", "leak_rate")
def test_a_leak_by_counting() -> None:
    """A system that takes 2 mL for each bar and falls by half a bar in ten minutes has lost 1 mL:
    0.1 mL a minute."""
    give = Q(2, "mL") / Q(1, "bar")
    fall = Q(0.5, "bar")
    lost = lost_volume(compliance=give, pressure_loss=fall)
    assert lost.to("mL").magnitude == pytest.approx(1.0, rel=1e-12)
    leak = leak_rate(compliance=give, pressure_loss=fall, duration="10 min")
    assert leak.to("mL/min").magnitude == pytest.approx(0.1, rel=1e-12)


@pytest.mark.checks("water_energy")
def test_work_of_water_is_the_area_under_its_line() -> None:
    give, pressure = 2e-11, 3.5e5
    pressures = np.linspace(0, pressure, 11)
    assert water_energy.si(pressure, give) == pytest.approx(
        float(np.trapezoid(pressures, give * pressures)), rel=1e-9
    )


@pytest.mark.checks("time_to_ice")
@given(st.floats(0.005, 0.03), st.floats(0.1, 1.0), st.floats(0.5, 10.0), st.floats(1.0, 30.0))
def test_the_heat_that_ice_gives_up_flows_out(
    bore: float, share: float, resistance: float, below: float
) -> None:
    """Heat lost per metre in that time is the latent heat of the ice; 333.6 kJ/kg."""
    time = time_to_ice.si(999.8, bore, 333.6e3, share, resistance, below)
    ice = 999.8 * math.pi * bore**2 / 4 * share
    assert time * below / resistance == pytest.approx(333.6e3 * ice, rel=1e-9)
