"""Mixing against heat balances, live enthalpies and a solver that knows no closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from vanplumb.formulas.mixing import (
    burn_time,
    hot_needed,
    hot_share,
    hot_share_by_enthalpy,
    joined_pressure,
    kv_by_mass,
    kv_of_opening,
    mixed_temperature,
    mixed_yield,
    opening_for_share,
    share_after_drift,
    small_drift,
    temperature_from_share,
    valve_mass_flow,
)
from vanplumb.formulas.valves import valve_flow
from vanplumb.formulas.water import water_specific_heat
from vanplumb.words.units import Q

BALANCES = [
    (140, 60, 105, "°F", 0.5625),
    (120, 60, 105, "°F", 0.750),
    (140, 50, 105, "°F", 0.611),
    (60, 10, 38, "°C", 0.560),
    (60, 10, 40, "°C", 0.600),
    (60, 15, 41, "°C", 0.578),
]


@pytest.mark.checks("hot_share", "temperature_from_share", "mixed_temperature")
@pytest.mark.parametrize("hot, cold, mixed, unit, printed", BALANCES)
def test_hot_share(hot: float, cold: float, mixed: float, unit: str, printed: float) -> None:
    """Heat balances worked with a reference library; the outlet follows from the share again."""
    supplies = {"temperature_hot": Q(hot, unit), "temperature_cold": Q(cold, unit)}
    share = hot_share(temperature_mixed=Q(mixed, unit), **supplies)
    assert share.magnitude == pytest.approx(printed, abs=0.001)
    back = temperature_from_share(share_hot=share, **supplies)
    streams = mixed_temperature(
        mass_flow_hot=Q(printed, "kg/min"), mass_flow_cold=Q(1 - printed, "kg/min"), **supplies
    )
    wanted = Q(mixed, unit).to("K").magnitude
    assert back.to("K").magnitude == pytest.approx(wanted, rel=1e-12)
    assert streams.to("K").magnitude == pytest.approx(wanted, abs=0.001 * (hot - cold))


@pytest.mark.checks("hot_share_by_enthalpy")
@pytest.mark.parametrize("hot, cold, mixed", [(140, 60, 105), (140, 40, 105), (180, 40, 120)])
def test_hot_share_by_enthalpy(hot: float, cold: float, mixed: float) -> None:
    """140 and 60 to 105 °F is 0.56248 by enthalpies of IAPWS-95; live from CoolProp.

    A specific heat halfway stands for its mean, which near freezing leaves 0.0002.
    """
    from CoolProp.CoolProp import PropsSI

    kelvin = [(f + 459.67) / 1.8 for f in (hot, cold, mixed)]
    of_hot, of_cold, of_mixed = (PropsSI("H", "T", t, "P", 101325, "Water") for t in kelvin)
    live = (of_mixed - of_cold) / (of_hot - of_cold)
    found = hot_share_by_enthalpy.si(
        temperature_mixed=kelvin[2],
        temperature_hot=kelvin[0],
        temperature_cold=kelvin[1],
        specific_heat_hot=water_specific_heat.si((kelvin[0] + kelvin[2]) / 2),
        specific_heat_cold=water_specific_heat.si((kelvin[1] + kelvin[2]) / 2),
    )
    assert found == pytest.approx(live, abs=2.5e-4)
    assert hot_share.si(kelvin[2], kelvin[0], kelvin[1]) == pytest.approx(live, abs=0.001)
    if (hot, cold, mixed) == (140, 60, 105):
        assert found == pytest.approx(0.56248, abs=1e-4)


@pytest.mark.checks("mixed_yield", "hot_needed")
@given(st.floats(1e-3, 0.1), st.floats(320, 360), st.floats(275, 300), st.floats(0.05, 0.95))
def test_mixing_loses_no_heat(volume: float, hot: float, cold: float, part: float) -> None:
    """Heat above the cold supply, before and after; and the one undoes the other."""
    mixed = cold + part * (hot - cold)
    made = mixed_yield.si(volume, hot, cold, mixed)
    assert made * (mixed - cold) == pytest.approx(volume * (hot - cold), rel=1e-9)
    assert hot_needed.si(made, hot, cold, mixed) == pytest.approx(volume, rel=1e-9)


@pytest.mark.checks("mixed_yield")
def test_what_a_six_gallon_store_mixes_to() -> None:
    """4.2 gal at 140 °F with 60 °F water make 7.47 gal of 105 °F: 4.2 / 0.5625."""
    made = mixed_yield(
        volume_hot="4.2 gal",
        temperature_hot="140 °F",
        temperature_cold="60 °F",
        temperature_mixed="105 °F",
    )
    assert made.to("gal").magnitude == pytest.approx(4.2 / 0.5625, rel=1e-9)


@pytest.mark.checks("valve_mass_flow", "kv_by_mass")
@given(st.floats(1e-5, 1e-3), st.floats(1e3, 5e5), st.floats(950, 1000))
def test_mass_through_an_opening_is_density_times_flow(
    kv: float, lost: float, density: float
) -> None:
    mass = valve_mass_flow.si(flow_coefficient=kv, density=density, pressure_loss=lost)
    assert mass == pytest.approx(density * valve_flow.si(kv, lost, density), rel=1e-9)
    heavy = kv_by_mass.si(flow_coefficient=kv, density=density)
    assert 1000 * valve_flow.si(heavy, lost, 1000.0) == pytest.approx(mass, rel=1e-9)


coefficients = st.floats(1e-5, 1e-3)
supplies = st.floats(5e4, 5e5)


@pytest.mark.checks("kv_of_opening")
@given(coefficients, st.floats(0.05, 0.95), supplies)
def test_both_openings_together_pass_what_the_valve_passes(
    kv: float, share: float, lost: float
) -> None:
    parts = [kv_of_opening.si(flow_coefficient=kv, share=x) for x in (share, 1 - share)]
    passed = [valve_flow.si(part, lost, 998.0) for part in parts]
    assert sum(passed) == pytest.approx(valve_flow.si(kv, lost, 998.0), rel=1e-9)
    assert passed[0] / sum(passed) == pytest.approx(share, rel=1e-9)


@pytest.mark.checks("opening_for_share", "valve_mass_flow")
@given(st.floats(0.05, 0.95), st.floats(970, 1000), st.floats(970, 1000), supplies)
def test_an_opening_for_a_share_passes_that_share(
    share: float, hot: float, cold: float, lost: float
) -> None:
    opening = opening_for_share.si(share_hot=share, density_hot=hot, density_cold=cold)
    first = valve_mass_flow.si(3e-4 * opening, hot, lost)
    second = valve_mass_flow.si(3e-4 * (1 - opening), cold, lost)
    assert first / (first + second) == pytest.approx(share, rel=1e-9)


@pytest.mark.checks("joined_pressure")
@given(coefficients, st.floats(0.1, 0.9), coefficients, supplies, st.floats(0.5, 2.0))
def test_where_hot_and_cold_join(
    kv: float, share: float, outlet: float, hot: float, times: float
) -> None:
    """scipy finds the pressure at which what comes in goes out, from the flows alone."""
    cold = hot * times
    first = kv_of_opening.si(flow_coefficient=kv, share=share)
    second = kv_of_opening.si(flow_coefficient=kv, share=1 - share)

    def left_over(pressure: float) -> float:
        given_in = first * math.sqrt(hot - pressure) + second * math.sqrt(cold - pressure)
        return given_in - outlet * math.sqrt(pressure)

    assume(left_over(min(hot, cold)) < -1e-9)
    there = brentq(left_over, 0.0, min(hot, cold), xtol=1e-9, rtol=1e-14)
    assert joined_pressure.si(first, second, outlet, hot, cold) == pytest.approx(there, rel=1e-6)


def valve_outlet(
    first: float, second: float, outlet: float, hot: float, cold: float, warm: float, cool: float
) -> tuple[float, float]:
    """Outlet temperature and hot share of two fixed openings, from flows alone."""
    pressure = joined_pressure.si(first, second, outlet, hot, cold)
    one, two = first * math.sqrt(hot - pressure), second * math.sqrt(cold - pressure)
    return (one * warm + two * cool) / (one + two), one / (one + two)


@pytest.mark.checks("share_after_drift", "small_drift")
@given(
    st.floats(0.2, 0.8),
    st.floats(-3, 3),
    st.floats(-3, 3),
    st.floats(-0.02, 0.02),
    st.floats(-0.02, 0.02),
)
def test_how_a_set_valve_drifts(
    share: float, warmer: float, cooler: float, more_hot: float, more_cold: float
) -> None:
    """Two openings solved before and after, against the share and against the three drifts."""
    hot, cold, warm, cool, outlet = 2.5e5, 2.4e5, 333.15, 288.15, 3e-4
    first, second = 4e-4 * share, 4e-4 * (1 - share)
    before, was = valve_outlet(first, second, outlet, hot, cold, warm, cool)
    base = joined_pressure.si(first, second, outlet, hot, cold)
    hot_now, cold_now = hot * (1 + more_hot), cold * (1 + more_cold)
    after, now = valve_outlet(
        first, second, outlet, hot_now, cold_now, warm + warmer, cool + cooler
    )
    then = joined_pressure.si(first, second, outlet, hot_now, cold_now)
    ratios = (hot_now - then) / (hot - base), (cold_now - then) / (cold - base)
    assert share_after_drift.si(was, *ratios) == pytest.approx(now, rel=1e-9)
    drift = small_drift.si(was, warm - cool, warmer, cooler, ratios[0] - 1, ratios[1] - 1)
    second_order = 6 * max(abs(ratios[0] - 1), abs(ratios[1] - 1), 1e-6) ** 2 * (warm - cool) / 4
    crossed = 3 * abs(now - was)
    assert drift == pytest.approx(after - before, abs=second_order + crossed * 2 + 1e-9)


def test_drift_in_round_figures() -> None:
    """Hot 10 K hotter at a hot share of 0.56 warms the outlet by 5.6 K, whoever sells the valve."""
    assert small_drift.si(0.56, 45.0, 10.0, 0.0, 0.0, 0.0) == pytest.approx(5.6)
    assert small_drift.si(0.56, 45.0, 0.0, 10.0, 0.0, 0.0) == pytest.approx(4.4)
    stronger = np.array([0.02, 0.04])
    gains = small_drift.si(0.56, 45.0, 0.0, 0.0, stronger, 0.0)
    assert gains[1] == pytest.approx(2 * gains[0])


@pytest.mark.checks("burn_time")
def test_burn_time_between_printed_lines() -> None:
    """US CPSC doc. 5098: 5 min at 120 °F, 6 s at 140 °F: fifty times; ten times in about 6.5 °C.

    Its own line between them, 30 s at 130 °F, is within a third of the straight line.
    """
    lines = {
        "temperature_low": "120 °F",
        "temperature_high": "140 °F",
        "duration_at_low": "5 min",
        "duration_at_high": "6 s",
    }
    for fahrenheit, seconds in ((120, 300), (140, 6)):
        found = burn_time(temperature=Q(fahrenheit, "°F"), **lines).to("s").magnitude
        assert found == pytest.approx(seconds, rel=1e-9)
    assert burn_time(temperature="130 °F", **lines).to("s").magnitude == pytest.approx(30, rel=0.5)
    first = burn_time(temperature=Q(52.0, "°C"), **lines)
    later = burn_time(temperature=Q(58.5, "°C"), **lines)
    assert (first / later).magnitude == pytest.approx(10, rel=0.02)
