"""Printed and reference values of water: IAPWS, and what the trade quotes."""

from __future__ import annotations

import numpy as np
import pytest

from vanplumb.formulas.tank import floor_pressure, surge_load, water_mass
from vanplumb.formulas.tube import elevation_pressure, head
from vanplumb.formulas.water import (
    vapour_pressure,
    water_conductivity,
    water_density,
    water_specific_heat,
    water_viscosity,
)
from vanplumb.words.units import Q

CELSIUS = (5, 20, 40, 60, 80)
WATER = [
    # formula, unit, live letter, values at those temperatures, absolute or relative tolerance
    (water_density, "kg/m^3", "D", (999.967, 998.207, 992.216, 983.196, 971.790), {"abs": 0.02}),
    (
        water_specific_heat,
        "kJ/(kg K)",
        "C",
        (4.2050, 4.1841, 4.1794, 4.1850, 4.1968),
        {"abs": 0.003},
    ),
    (water_viscosity, "mPa s", "V", (1.5182, 1.0016, 0.6527, 0.4660, 0.3541), {"rel": 0.002}),
    (water_conductivity, "W/(m K)", "L", (0.5678, 0.5980, 0.6285, 0.6510, 0.6670), {"rel": 0.01}),
    (vapour_pressure, "kPa", "P", (0.873, 2.339, 7.385, 19.95, 47.41), {"rel": 0.002}),
]


@pytest.mark.checks(
    "water_density",
    "water_specific_heat",
    "water_viscosity",
    "water_conductivity",
    "vapour_pressure",
)
@pytest.mark.parametrize(
    "f, unit, letter, printed, tolerance", WATER, ids=[w[0].name for w in WATER]
)
def test_water_at_five_temperatures(f, unit, letter, printed, tolerance) -> None:  # type: ignore[no-untyped-def]
    """IAPWS-95 and its releases on viscosity and conductivity, by CoolProp, at one atmosphere."""
    from CoolProp.CoolProp import PropsSI

    found = f(temperature=Q(np.array(CELSIUS, dtype=float), "°C")).to(Q(1, unit).units).magnitude
    assert found == pytest.approx(np.array(printed), **tolerance)
    where = ("Q", 0) if letter == "P" else ("P", 101325)
    live = np.array([PropsSI(letter, "T", t + 273.15, *where, "Water") for t in CELSIUS])
    here = f.si(np.array(CELSIUS) + 273.15)
    assert here == pytest.approx(live, rel=1e-4 if "abs" in tolerance else tolerance["rel"])


@pytest.mark.checks("water_density", "water_viscosity")
def test_water_at_sixty_fahrenheit() -> None:
    """IAPWS-95 and IAPWS 2008: 999.02 kg/m³ or 8.337 lb/gal, 1.1210 mPa·s."""
    density = water_density(temperature="60 °F")
    assert density.to("kg/m^3").magnitude == pytest.approx(999.02, rel=1e-4)
    assert density.to("lb/gal").magnitude == pytest.approx(8.337, rel=1e-4)
    viscosity = water_viscosity(temperature="60 °F").to("mPa*s").magnitude
    assert viscosity == pytest.approx(1.1210, rel=1e-4)


@pytest.mark.checks("water_density")
def test_water_at_its_densest() -> None:
    """IAPWS-95: 999.975 kg/m³ or 8.345 lb/gal at 4 °C."""
    density = water_density(temperature="4 °C")
    assert density.to("kg/m^3").magnitude == pytest.approx(999.975, abs=0.005)
    assert density.to("lb/gal").magnitude == pytest.approx(8.345, abs=0.0005)


@pytest.mark.checks("water_mass")
@pytest.mark.parametrize(
    "volume, printed, unit",
    [("20 gal", 166.8, "lb"), ("30 gal", 250.2, "lb"), ("100 L", 99.8, "kg")],
)
def test_what_a_tank_of_water_weighs(volume: str, printed: float, unit: str) -> None:
    """8.34 lb to the gallon, the trade's figure; 100 L at 20 °C by IAPWS-95."""
    mass = water_mass(density=water_density(temperature="20 °C"), volume=volume)
    assert mass.to(unit).magnitude == pytest.approx(printed, rel=0.002)


@pytest.mark.checks("elevation_pressure", "head", "floor_pressure")
def test_columns_of_water() -> None:
    """1 psi is 2.31 ft, 1 ft is 0.4335 psi (trade tables); 1 m is 9.79 kPa at 20 °C (IAPWS)."""
    trade = Q(62.4, "lb/ft^3")
    assert head(pressure="1 psi", density=trade).to("ft").magnitude == pytest.approx(2.31, abs=5e-3)
    foot = elevation_pressure(density=trade, height="1 ft").to("psi").magnitude
    assert foot == pytest.approx(0.4335, abs=2e-4)  # 62.4 for 62.43 moves it by 0.0002
    for column in (
        elevation_pressure(density=water_density(temperature="20 °C"), height="1 m"),
        floor_pressure(density=water_density(temperature="20 °C"), depth=Q(1, "m")),
    ):
        assert column.to("kPa").magnitude == pytest.approx(9.79, abs=5e-3)


@pytest.mark.checks("surge_load")
def test_push_of_a_tank_in_braking_and_in_a_crash() -> None:
    """100 L at 20 °C: 979 N at 1 g; 7.8 kN at 8 g (the 8 g from memory, low confidence)."""
    mass = water_mass(density=water_density(temperature="20 °C"), volume="100 L")
    braking = surge_load(mass=mass, acceleration=Q(1, "standard_gravity"))
    assert braking.to("N").magnitude == pytest.approx(979, abs=0.5)
    crash = surge_load(mass=mass, acceleration=Q(8, "standard_gravity"))
    assert crash.to("kN").magnitude == pytest.approx(7.8, abs=0.05)
