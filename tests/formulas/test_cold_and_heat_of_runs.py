"""Heat of runs, frost, antifreeze and closed heating against libraries, printed values and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas import frost as antifreeze
from vanplumb.formulas import frost as freezing
from vanplumb.formulas import frost as winter
from vanplumb.formulas import heater, runs_heat
from vanplumb.formulas import heater as closed_heating
from vanplumb.formulas.water import freezing_swell, water_density
from vanplumb.trip.cold.glycol import freezing_point, share_for
from vanplumb.words.units import Q

INCH, FOOT = 0.0254, 0.3048
CoolProp = pytest.importorskip("CoolProp.CoolProp")
some = st.floats(0.2, 20.0)


@pytest.mark.checks("air_conductivity")
@pytest.mark.parametrize("kelvins", [260.0, 300.0, 350.0])
def test_air_conducts_as_the_reference_library_says(kelvins: float) -> None:
    """White gives Sutherland's law for the conductivity of air as good to 2 %."""
    expected = CoolProp.PropsSI("L", "T", kelvins, "P", 101325, "Air")
    assert runs_heat.air_conductivity.si(kelvins) == pytest.approx(expected, rel=0.02)


@pytest.mark.checks("air_conductivity", "air_viscosity")
def test_air_at_300_kelvin_is_as_heat_transfer_books_print_it() -> None:
    """From memory, Incropera's table A.4 at 300 K: 26.3 mW/(m K) and 18.46 µPa s."""
    assert runs_heat.air_conductivity.si(300.0) == pytest.approx(26.3e-3, rel=0.01)
    assert runs_heat.air_viscosity.si(300.0) == pytest.approx(18.46e-6, rel=0.005)


@pytest.mark.checks("air_viscosity")
@pytest.mark.parametrize("kelvins", [260.0, 300.0, 350.0])
def test_air_is_as_sticky_as_the_reference_library_says(kelvins: float) -> None:
    expected = CoolProp.PropsSI("V", "T", kelvins, "P", 101325, "Air")
    assert runs_heat.air_viscosity.si(kelvins) == pytest.approx(expected, rel=0.01)


@pytest.mark.checks("still_air_film", "rayleigh")
@pytest.mark.parametrize("number_rayleigh", [1e2, 1e4, 1e6, 1e9])
def test_still_air_film_is_the_librarys_churchill_chu(number_rayleigh: float) -> None:
    conv = pytest.importorskip("ht.conv_free_immersed")
    prandtl, conductivity, diameter = 0.71, 0.026, 0.016
    nusselt = conv.Nu_horizontal_cylinder_Churchill_Chu(Pr=prandtl, Gr=number_rayleigh / prandtl)
    film = runs_heat.still_air_film.si(number_rayleigh, prandtl, conductivity, diameter)
    assert film * diameter / conductivity == pytest.approx(nusselt, rel=1e-9)
    # The same Rayleigh number from a rise and back: buoyancy goes with the cube of diameter.
    rise = number_rayleigh * 300 * (1.6e-5) ** 2 / (9.80665 * diameter**3 * prandtl)
    assert runs_heat.rayleigh.si(rise, diameter, 300.0, 1.6e-5, prandtl) == pytest.approx(
        number_rayleigh, rel=1e-12
    )


@pytest.mark.checks("radiation_film")
@given(st.floats(250, 370), st.floats(250, 370))
def test_radiation_film_times_the_rise_is_the_difference_of_fourth_powers(
    skin: float, air: float
) -> None:
    film = runs_heat.radiation_film.si(0.9, skin, air)
    expected = 0.9 * 5.670374419e-8 * (skin**4 - air**4)
    assert film * (skin - air) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.checks("shell_resistance")
def test_a_thin_shell_is_a_flat_wall() -> None:
    thin = runs_heat.shell_resistance.si(0.1001, 0.1, 0.4)
    assert thin == pytest.approx(0.00005 / (0.4 * math.pi * 0.10005), rel=1e-5)


@pytest.mark.checks("skin_resistance", "loss_per_length")
@given(some, st.floats(0.005, 0.1))
def test_skin_loses_its_film_times_its_area(film: float, diameter: float) -> None:
    resistance = runs_heat.skin_resistance.si(film, diameter)
    lost = runs_heat.loss_per_length.si(330.0, 290.0, resistance)
    assert lost == pytest.approx(film * math.pi * diameter * 40.0, rel=1e-12)


@pytest.mark.checks("wall_heat_ratio", "hot_wait")
def test_the_wall_makes_the_wait_longer_by_the_trade_factor() -> None:
    """15 ft of half-inch tube at 1.5 gpm: 5.5 s as a bare plug (general reference), and in
    truth 1.1 to 1.5 times that."""
    bore, outside = 0.475 * INCH, 0.625 * INCH
    ratio = runs_heat.wall_heat_ratio.si(940.0, 2300.0, outside, bore, 990.0, 4181.0)
    mass_wall = 940 * (outside**2 - bore**2)
    mass_water = 990 * bore**2
    assert ratio == pytest.approx(mass_wall * 2300 / (mass_water * 4181), rel=1e-12)
    content = math.pi / 4 * bore**2 * 15 * FOOT
    bare = runs_heat.hot_wait(volume=Q(content, "m^3"), number_wall=0, flow=Q("1.5 gpm"))
    assert content / 3.785411784e-3 == pytest.approx(0.138, abs=0.0005)
    assert bare.to("s").magnitude == pytest.approx(5.5, abs=0.05)
    slow = runs_heat.hot_wait(volume=Q(content, "m^3"), number_wall=ratio, flow=Q("1.5 gpm"))
    assert 1.1 <= float((slow / bare).magnitude) <= 1.5


@pytest.mark.checks("cooling_constant", "time_to_cool", "cooled")
@given(st.floats(1.1, 50.0), st.floats(10.0, 1e5))
def test_cooling_for_the_time_to_cool_ends_where_it_should(ratio: float, constant: float) -> None:
    time = runs_heat.time_to_cool.si(40.0, 40.0 / ratio, constant)
    left = runs_heat.cooled.si(330.0, 290.0, time, constant)
    assert left - 290.0 == pytest.approx(40.0 / ratio, rel=1e-9)
    slope = (runs_heat.cooled.si(330.0, 290.0, 1e-4 * constant, constant) - 330.0) / (
        1e-4 * constant
    )
    assert slope == pytest.approx(-40.0 / constant, rel=1e-3)
    per_metre = runs_heat.cooling_constant.si(1e-4, 1000.0, 4180.0, 0.3, 2.0)
    assert per_metre * 40.0 / 2.0 == pytest.approx(1000 * 4180 * 1e-4 * 1.3 * 40.0, rel=1e-12)


@pytest.mark.checks("slow_start")
def test_a_stirred_heater_comes_up_as_small_steps_add_up() -> None:
    """0.6 L with 16 kW and 5 L/min of 14 °C, stepped through by a millisecond."""
    volume, flow, heat = 0.6e-3, 5e-3 / 60, 4.15e6
    final = 16e3 / (heat * flow)
    rise, time = 0.0, 0.0
    while rise < 31.0:
        rise += 1e-3 * flow / volume * (final - rise)
        time += 1e-3
    assert runs_heat.slow_start.si(volume, flow, final, final - 31.0) == pytest.approx(
        time, rel=1e-3
    )


@pytest.mark.checks("time_to_freezing")
@pytest.mark.parametrize(
    "bore, outside, minutes",
    [
        (0.475, 0.625, {20: 28.5, 10: 18.6, 0: 13.9, -18: 9.6}),
        (0.671, 0.875, {20: 45.4, 10: 29.6, 0: 22.1, -18: 15.2}),
    ],
    ids=["1/2", "3/4"],
)
def test_time_to_freezing_as_the_handbook_formula_gives_it(
    bore: float, outside: float, minutes: dict[int, float]
) -> None:
    """Half an inch of foam (k 0.27 Btu in/(h ft² °F)) from 50 °F, with the foam alone as
    resistance, as the ASHRAE formula has it."""
    foam = 0.27 * 0.14422789  # Btu in/(h ft² °F) to W/(m K)
    resistance = runs_heat.shell_resistance.si((outside + 1.0) * INCH, outside * INCH, foam)
    for air, printed in minutes.items():
        time = freezing.time_to_freezing.si(
            density=999.7,
            specific_heat=4195.0,
            diameter=bore * INCH,
            resistance_per_length=resistance,
            rise_start=(50 - air) * 5 / 9,
            rise_freezing=(32 - air) * 5 / 9,
        )
        assert time / 60 == pytest.approx(printed, rel=0.02)


@pytest.mark.checks("time_to_ice")
def test_freezing_solid_takes_hours_and_a_fifth_of_it_a_fifth_of_the_time() -> None:
    """Half-inch tube, half an inch of foam, 10 °F: about 3.4 h, with 143.5 Btu/lb."""
    latent = 143.5 * 2326.0
    assert latent == pytest.approx(333.6e3, rel=1e-3)
    foam = runs_heat.shell_resistance.si(1.625 * INCH, 0.625 * INCH, 0.27 * 0.14422789)
    wall = runs_heat.shell_resistance.si(0.625 * INCH, 0.475 * INCH, 0.41)
    rise = 22 * 5 / 9
    solid = freezing.time_to_ice.si(999.8, 0.475 * INCH, latent, 1.0, foam, rise)
    fifth = freezing.time_to_ice.si(999.8, 0.475 * INCH, latent, 0.2, foam, rise)
    assert solid / 3600 == pytest.approx(3.4, rel=0.1)
    assert fifth / 3600 == pytest.approx(0.7, rel=0.1)
    slower = freezing.time_to_ice.si(999.8, 0.475 * INCH, latent, 1.0, foam + wall, rise)
    assert slower > solid


def test_ice_swells_by_nine_percent() -> None:
    """Density of ice 916.7 kg/m³ (IAPWS, from memory)."""
    assert freezing_swell.si(999.84, 916.7) == pytest.approx(0.0905, abs=0.001)


@pytest.mark.checks("night_air")
@given(st.floats(270, 300), st.floats(240, 269))
def test_the_nights_air_runs_from_cold_to_warm_and_back(day: float, night: float) -> None:
    hours = np.linspace(0, 86400, 97)
    air = freezing.night_air.si(day, night, hours, 86400.0)
    assert air.min() == pytest.approx(night) == air[0] == pytest.approx(air[-1])
    assert air.max() == pytest.approx(day)
    assert air[:-1].mean() == pytest.approx((day + night) / 2)


@pytest.mark.checks("glycol_freezing", "glycol_density", "glycol_viscosity")
@pytest.mark.parametrize("share", [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.45, 0.5, 0.55, 0.6])
def test_glycol_is_as_the_reference_library_has_it(share: float) -> None:
    """The fits lie that close to Melinder's own of the library: closer than a pump can feel."""
    fluid = f"INCOMP::MPG[{share}]"
    freezes = CoolProp.PropsSI("T_freeze", "T", 293.15, "P", 101325, fluid)
    assert antifreeze.glycol_freezing.si(share) == pytest.approx(freezes, abs=0.03)
    density = CoolProp.PropsSI("D", "T", 293.15, "P", 101325, fluid)
    assert antifreeze.glycol_density.si(share) == pytest.approx(density, abs=0.12)
    viscosity = CoolProp.PropsSI("V", "T", 293.15, "P", 101325, fluid)
    assert antifreeze.glycol_viscosity.si(share) == pytest.approx(viscosity, rel=0.0085)


@pytest.mark.checks("glycol_freezing")
def test_glycol_freezes_where_melinder_says() -> None:
    printed = {0.1: -2.87, 0.2: -7.17, 0.3: -12.79, 0.4: -20.57, 0.5: -32.19, 0.6: -50.0}
    for share, celsius in printed.items():
        assert antifreeze.glycol_freezing.si(share) - 273.15 == pytest.approx(celsius, abs=1.0)


@pytest.mark.checks("glycol_density", "glycol_viscosity")
def test_glycol_is_as_heavy_and_thick_as_melinder_says() -> None:
    assert antifreeze.glycol_density.si(0.3) == pytest.approx(1023.8, rel=0.01)
    assert antifreeze.glycol_density.si(0.5) == pytest.approx(1039.1, rel=0.01)
    assert antifreeze.glycol_viscosity.si(0.3) == pytest.approx(2.96e-3, rel=0.05)
    assert antifreeze.glycol_viscosity.si(0.5) == pytest.approx(6.39e-3, rel=0.05)


@pytest.mark.checks("share_by_volume", "share_by_mass")
@given(st.floats(0.0, 0.6))
def test_shares_by_volume_and_by_mass_undo_each_other(share: float) -> None:
    volume = antifreeze.share_by_volume.si(share, 1036.0, 998.2)
    assert antifreeze.share_by_mass.si(volume, 1036.0, 998.2) == pytest.approx(share, abs=1e-12)
    assert volume <= share


@pytest.mark.checks("closed_heating_residual")
@given(st.floats(1e-5, 1e-3), st.floats(1e5, 5e5))
def test_without_give_the_cushion_is_boyles_law(growth: float, start: float) -> None:
    """With a vessel sized by the printed rule for a ceiling, the ceiling is the answer."""
    air, ceiling = 101325.0, start + 4e5
    vessel = heater.expansion_vessel.si(growth, start, ceiling, air, 1.0)
    taken = vessel * (1 - (start + air) / (ceiling + air))
    left = closed_heating.closed_heating_residual.si(ceiling, start, growth, 0.0, taken)
    assert left == pytest.approx(0.0, abs=1e-9)
    stiff = closed_heating.closed_heating_residual.si(ceiling, start, growth, growth / 4e5, 0.0)
    assert stiff == pytest.approx(0.0, abs=1e-9)


HANDBOOK = {0.1: (-3, -3), 0.2: (-8, -7), 0.3: (-14, -13), 0.4: (-22, -21), 0.5: (-34, -33)}
"""°C of first ice over the share by volume, between handbooks; from memory."""


@pytest.mark.checks("glycol_freezing", "share_by_mass")
@pytest.mark.parametrize("by_volume", HANDBOOK)
def test_first_ice_by_volume_is_in_the_handbooks_band_or_warmer(by_volume: float) -> None:
    """The fit lies in the band; what is used is never colder than its warm end."""
    cold, warm = (273.15 + t for t in HANDBOOK[by_volume])
    share = antifreeze.share_by_mass.si(by_volume, 1036.0, 998.2)
    fitted = antifreeze.glycol_freezing.si(share)
    assert cold - 0.05 <= fitted <= warm + 0.05
    assert warm - 0.05 <= freezing_point(share) <= warm + 0.5


def test_first_ice_falls_smoothly_and_is_never_colder_than_the_library_says() -> None:
    """A straight line between printed points would be: as much as 0.9 K, at 55 %."""
    shares = np.linspace(0.0, 0.6, 121)
    taken = np.array([freezing_point(s) for s in shares])
    there = [
        CoolProp.PropsSI("T_freeze", "T", 293.15, "P", 101325, f"INCOMP::MPG[{s}]")
        for s in shares[1:]
    ]
    assert (np.diff(taken) <= 0).all()
    assert (taken[1:] >= np.array(there)).all()
    assert (taken[1:] <= np.array(there) + 0.6).all()
    printed = [0.0, -2.87, -7.17, -12.79, -20.57, -32.19, -50.0]
    straight = np.interp(shares, np.arange(7) / 10, printed) + 273.15
    assert (straight[1:] - there).min() < -0.8


@pytest.mark.checks("first_ice")
def test_first_ice_is_taken_warmer_and_never_above_that_of_water() -> None:
    assert antifreeze.first_ice.si(253.15, 0.5) == pytest.approx(253.65)
    assert antifreeze.first_ice.si(273.0, 0.5) == 273.15


def test_share_for_a_temperature_undoes_its_first_ice() -> None:
    for share in (0.05, 0.2, 0.45, 0.6):
        assert share_for(freezing_point(share)) == pytest.approx(share, abs=1e-9)
    assert share_for(273.15) == 0.0 and share_for(200.0) is None


@pytest.mark.checks("water_left", "filling_mass")
def test_what_stays_and_what_fills_are_masses_of_parts_of_the_content() -> None:
    """Two litres of runs: 300 g of water stay of 15 %; 40 % glycol at 1032.3 kg/m³ fills them."""
    assert winter.water_left.si(0.15, 2e-3, 1000.0) == pytest.approx(0.3)
    assert winter.filling_mass.si(2e-3, 1032.3) == pytest.approx(2.0646)


@pytest.mark.checks("hot_flow", "run_off")
def test_flows_and_what_runs_off_by_a_bucket() -> None:
    """A bucket of 6 L fills in a minute; two thirds of it is hot, and 20 s of it are 2 L."""
    whole = 6e-3 / 60
    assert runs_heat.hot_flow.si(2 / 3, whole) == pytest.approx(4e-3 / 60)
    assert runs_heat.run_off.si(whole, 20.0) == pytest.approx(2e-3)


@pytest.mark.checks("relief_discharge")
def test_what_is_not_taken_up_drips() -> None:
    assert closed_heating.relief_discharge.si(3e-4, 1e-4) + 1e-4 == pytest.approx(3e-4)


def test_six_gallons_from_60_to_140_fahrenheit_need_the_printed_vessel() -> None:
    """40 psi cold, at most 100 psi: 0.0966 gal to take up, a vessel of 0.185 gal (IAPWS)."""
    cold, hot = (60 + 459.67) * 5 / 9, (140 + 459.67) * 5 / 9
    growth = heater.expansion_volume.si(6.0, water_density.si(cold), water_density.si(hot))
    psi = 6894.757
    vessel = heater.expansion_vessel.si(growth, 40 * psi, 100 * psi, 101325.0, 1.0)
    assert growth == pytest.approx(0.0966, rel=0.01)
    assert vessel == pytest.approx(0.185, rel=0.01)
