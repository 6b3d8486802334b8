"""Water against two reference libraries that did not write it, over the whole range."""

from __future__ import annotations

import ast
import inspect
import textwrap
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.water import (
    bulk_modulus,
    freezing_swell,
    sound_speed,
    specific_gravity,
    vapour_pressure,
    water_compressibility,
    water_conductivity,
    water_density,
    water_specific_heat,
    water_viscosity,
)
from vanplumb.words.formula import FormulaError
from vanplumb.words.units import Q

CELSIUS = [0.01, *range(1, 100)]
KELVIN = np.array([t + 273.15 for t in CELSIUS])
SR6_TEMPERATURES = KELVIN[:-1]


def coolprop(letter: str, quality: int | None = None) -> np.ndarray:
    """IAPWS-95 as CoolProp gives it, at one atmosphere or on the boiling line."""
    from CoolProp.CoolProp import PropsSI

    where = ("P", 101325.0) if quality is None else ("Q", quality)
    return np.array([PropsSI(letter, "T", t, *where, "Water") for t in KELVIN])


def iapws(letter: str) -> np.ndarray:
    """IAPWS-95 as the iapws library gives it, at one atmosphere."""
    from iapws import IAPWS95

    return np.array([getattr(IAPWS95(T=t, P=0.101325), letter) for t in KELVIN[::7]])


@pytest.mark.checks("water_density")
def test_density_is_iapws_95_within_a_fiftieth_of_a_kilogram() -> None:
    assert water_density.si(KELVIN) == pytest.approx(coolprop("D"), abs=0.02)
    assert water_density.si(KELVIN[::7]) == pytest.approx(iapws("rho"), abs=0.02)


@pytest.mark.checks("water_specific_heat")
def test_specific_heat_is_iapws_95_within_three_joules() -> None:
    assert water_specific_heat.si(KELVIN) == pytest.approx(coolprop("C"), abs=3.0)
    assert water_specific_heat.si(KELVIN[::7]) == pytest.approx(iapws("cp") * 1e3, abs=3.0)


@pytest.mark.checks("water_viscosity")
def test_viscosity_is_iapws_2008_within_a_fifth_of_a_percent() -> None:
    assert water_viscosity.si(KELVIN) == pytest.approx(coolprop("V"), rel=0.002)
    assert water_viscosity.si(KELVIN[::7]) == pytest.approx(iapws("mu"), rel=0.002)


@pytest.mark.checks("water_conductivity")
def test_conductivity_is_iapws_2011_within_a_percent() -> None:
    assert water_conductivity.si(KELVIN) == pytest.approx(coolprop("L"), rel=0.01)
    assert water_conductivity.si(KELVIN[::7]) == pytest.approx(iapws("k"), rel=0.01)


@pytest.mark.checks("vapour_pressure")
def test_vapour_pressure_is_the_boiling_line_within_a_fifth_of_a_percent() -> None:
    from iapws.iapws97 import _PSat_T

    assert vapour_pressure.si(KELVIN) == pytest.approx(coolprop("P", quality=0), rel=0.002)
    by_if97 = np.array([_PSat_T(t) * 1e6 for t in KELVIN])
    assert vapour_pressure.si(KELVIN) == pytest.approx(by_if97, rel=0.002)


@pytest.mark.checks("sound_speed")
def test_sound_speed_is_iapws_95_within_a_tenth_of_a_metre() -> None:
    assert sound_speed.si(KELVIN) == pytest.approx(coolprop("A"), abs=0.1)


@pytest.mark.checks("sound_speed")
def test_sound_is_fastest_in_water_near_74_celsius() -> None:
    """A known oddity of water: general physics, from memory."""
    assert CELSIUS[int(np.argmax(sound_speed.si(KELVIN)))] == pytest.approx(74, abs=1)


@pytest.mark.checks("bulk_modulus")
def test_bulk_modulus_is_the_inverse_of_the_adiabatic_compressibility() -> None:
    """Isothermal compressibility of CoolProp, made adiabatic by the ratio of specific heats."""
    stiff = bulk_modulus.si(water_density.si(KELVIN), sound_speed.si(KELVIN))
    squeeze = coolprop("ISOTHERMAL_COMPRESSIBILITY") * coolprop("O") / coolprop("C")
    assert stiff * squeeze == pytest.approx(np.ones(len(KELVIN)), rel=5e-4)


@pytest.mark.checks("water_compressibility")
def test_compressibility_is_iapws_95_within_a_fiftieth_of_a_percent() -> None:
    """The range and the bound of the docstring, by CoolProp; boiling at 1 atmosphere left out."""
    liquid = KELVIN[KELVIN < 373.0]
    there = coolprop("ISOTHERMAL_COMPRESSIBILITY")[: len(liquid)]
    assert water_compressibility.si(liquid) == pytest.approx(there, rel=2e-4)


@pytest.mark.checks("water_compressibility")
def test_compressibility_as_handbooks_print_it() -> None:
    """From memory, CRC Handbook: 5.09, 4.59 and 4.45 in 10⁻¹⁰/Pa at 0, 20 and 60 °C."""
    printed = {0: 5.09e-10, 20: 4.59e-10, 60: 4.45e-10}
    for celsius, squeeze in printed.items():
        assert water_compressibility.si(celsius + 273.15) == pytest.approx(squeeze, abs=0.005e-10)


@pytest.mark.checks("water_density")
def test_water_is_densest_at_four_celsius() -> None:
    fine = np.linspace(273.15, 283.15, 10_001)
    assert fine[np.argmax(water_density.si(fine))] - 273.15 == pytest.approx(3.98, abs=0.05)


@pytest.mark.checks("water_specific_heat", "water_conductivity", "water_viscosity")
def test_sr6_formulas_are_the_librarys_own_transcription() -> None:
    """Guards the coefficients: the same release, coded by someone else."""
    from iapws._iapws import _Liquid

    there = [_Liquid(t) for t in SR6_TEMPERATURES]
    assert water_viscosity.si(SR6_TEMPERATURES) == pytest.approx([w["mu"] for w in there], rel=1e-9)
    assert water_conductivity.si(SR6_TEMPERATURES) == pytest.approx(
        [w["k"] for w in there], rel=1e-9
    )
    assert water_specific_heat.si(SR6_TEMPERATURES) == pytest.approx(
        [w["cp"] * 1e3 for w in there], rel=1e-9
    )


def coefficients(code: Any) -> set[float]:
    """All numbers of some code with four figures or more: no exponents, no counts."""
    function = ast.parse(textwrap.dedent(inspect.getsource(code))).body[0]
    assert isinstance(function, ast.FunctionDef)
    body = (node for line in function.body for node in ast.walk(line))
    numbers = (n.value for n in body if isinstance(n, ast.Constant))
    floats = (float(v) for v in numbers if isinstance(v, float))
    return {v for v in floats if len(f"{v:.10e}".split("e")[0].rstrip("0").replace(".", "")) > 3}


@pytest.mark.checks("water_specific_heat", "water_conductivity", "water_viscosity")
@pytest.mark.parametrize(
    "formula, count", [(water_viscosity, 4), (water_conductivity, 4), (water_specific_heat, 8)]
)
def test_coefficients_are_those_of_iapws_sr6(formula: Any, count: int) -> None:
    """IAPWS SR6-08(2011), tables of coefficients, as the iapws library transcribes them."""
    from iapws._iapws import _Liquid

    mine = coefficients(formula.si)
    assert len(mine) == count
    assert mine <= coefficients(_Liquid)


@pytest.mark.checks("water_specific_heat", "water_conductivity", "water_viscosity")
def test_sr6_gives_the_values_printed_in_the_release() -> None:
    """IAPWS SR6-08(2011), values for checking a program at 298.15 K (from memory)."""
    assert water_viscosity.si(298.15) == pytest.approx(889.9968e-6, abs=0.00005e-6)
    assert water_conductivity.si(298.15) == pytest.approx(0.6065023, abs=0.00000005)
    assert water_specific_heat.si(298.15) == pytest.approx(4181.446, abs=0.0005)


@pytest.mark.checks("vapour_pressure")
def test_vapour_pressure_at_the_points_of_iapws_sr1() -> None:
    """IAPWS SR1-86(1992), table 1: triple point, boiling at one atmosphere, critical point."""
    printed = {273.16: (611.657, 0.0005), 373.1243: (0.101325e6, 0.5), 647.096: (22.064e6, 1.0)}
    for kelvin, (pascal, step) in printed.items():
        assert vapour_pressure.si(kelvin) == pytest.approx(pascal, abs=step)


@pytest.mark.checks("vapour_pressure")
def test_coefficients_are_those_of_iapws_sr1() -> None:
    """IAPWS SR1-86(1992), below eq. 1 (from memory); the boiling line itself by CoolProp."""
    from CoolProp.CoolProp import PropsSI

    warm = np.linspace(273.16, 640.0, 200)
    there = np.array([PropsSI("P", "T", t, "Q", 0, "Water") for t in warm])
    assert vapour_pressure.si(warm) == pytest.approx(there, rel=2.5e-4)
    assert coefficients(vapour_pressure.si) == {
        7.85951783, 1.84408259, 11.7866497, 22.6807411, 15.9618719, 1.80122502,
    }  # fmt: skip


@pytest.mark.checks("freezing_swell")
def test_ice_takes_a_tenth_more_room_than_water() -> None:
    """Ice by IAPWS-06 in the iapws library; the trade says 9 to 10 %."""
    from iapws._iapws import _Ice

    ice = _Ice(273.15, 0.101325)["rho"]
    swell = freezing_swell.si(density_water=water_density.si(273.15), density_ice=ice)
    assert ice == pytest.approx(916.7, abs=0.05)
    assert swell == pytest.approx(0.0905, abs=0.001)


@pytest.mark.checks("specific_gravity")
def test_specific_gravity_of_boiling_water() -> None:
    from CoolProp.CoolProp import PropsSI

    density = PropsSI("D", "T", 373.1, "P", 101325, "Water")
    assert specific_gravity(density=Q(density, "kg/m^3")).magnitude == pytest.approx(
        0.9584, abs=5e-5
    )


@given(st.floats(273.15, 373.15), st.floats(273.15, 373.15))
def test_warmer_water_is_thinner_and_nearer_to_boiling(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert water_viscosity.si(cold) >= water_viscosity.si(warm)
    assert vapour_pressure.si(cold) <= vapour_pressure.si(warm)
    assert water_conductivity.si(cold) <= water_conductivity.si(warm) * 1.0000001


@pytest.mark.parametrize("text", ["-1 °C", "101 °C", "213 °F", "30 °F"])
@pytest.mark.parametrize(
    "f",
    [water_density, water_viscosity, water_specific_heat, water_conductivity, sound_speed],
    ids=lambda f: f.name,
)
def test_water_that_would_freeze_or_boil_is_refused(f, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(FormulaError, match=rf"{f.name}\(\): `temperature` must be 0 °C to 100 °C"):
        f(temperature=text)
