"""Burns, limits of mixed water and antifreeze against printed figures."""

from __future__ import annotations

import math

import pytest

from vanplumb.formulas.frost import antifreeze_mass, thinned_share
from vanplumb.formulas.mixing import burn_time, skin_damage_time
from vanplumb.words.tables import table


# Henriques 1947 (constants from memory): seconds at a skin temperature in °C
@pytest.mark.checks("skin_damage_time")
@pytest.mark.parametrize("celsius, printed", [(44, 16260), (49, 414), (55, 5.87), (60, 0.19)])
def test_skin_damage(celsius: float, printed: float) -> None:
    assert skin_damage_time.si(celsius + 273.15) == pytest.approx(printed, rel=0.02)


@pytest.mark.checks("skin_damage_time")
def test_skin_damage_near_the_observed_six_hours() -> None:
    # Moritz and Henriques 1947, as summed up: irreversible at 44 °C after about 6 h, ±30 %
    assert skin_damage_time.si(44 + 273.15) == pytest.approx(6 * 3600, rel=0.30)


def test_burn_times_as_printed() -> None:
    # US CPSC doc. 5098: 150/140/130/120 °F
    adult = [
        (r.number("temperature"), r.number("duration"))
        for r in table("burns").values()
        if r["who"] == "adult"
    ]
    assert [round((t - 273.15) * 1.8 + 32) for t, _ in adult] == [150, 140, 130, 120]
    assert [d for _, d in adult] == [2, 6, 30, 300]
    # trade table: a child's time is a quarter of an adult's at 150 °F
    assert table("burns")["150 °F child"].number("duration") == 0.5


def test_straight_line_between_120_and_140() -> None:
    # from the printed 5 min and 6 s: fifty times in 20 °F, ten times in about 6.5 °C
    tenfold = (20 / 1.8) / math.log10(50)
    assert tenfold == pytest.approx(6.5, abs=0.05)
    at_120, at_140 = (120 + 459.67) / 1.8, (140 + 459.67) / 1.8
    ends = {"temperature_low": at_120, "temperature_high": at_140}
    times = {"duration_at_low": 300.0, "duration_at_high": 6.0}
    middle = burn_time.si((at_120 + at_140) / 2, **ends, **times)
    assert middle == pytest.approx(math.sqrt(300 * 6), rel=1e-9)
    # 6.5 °C hotter from 5 min is half a minute
    assert burn_time.si(at_120 + tenfold, **ends, **times) == pytest.approx(30.0, rel=1e-9)


def test_limits_of_mixed_water_as_printed() -> None:
    limits = table("mixed_limits")
    # UK TMV3 / D08; IPC 416.5 and 412.3; AS/NZS 3500.4
    printed = {
        "bidet": 38,
        "shower": 41,
        "basin": 41,
        "bath": 44,
        "bath with help": 46,
        "public tempered water": 43.33,
        "shower or bath by code": 48.89,
        "delivery to the frail": 45,
        "delivery to others": 50,
    }
    for name, celsius in printed.items():
        assert limits[name].number("temperature") - 273.15 == pytest.approx(celsius, abs=0.005)


def test_glycol_table_is_the_library_s() -> None:
    import CoolProp.CoolProp as props

    for row in table("glycol").values():
        share = row.number("share")
        fluid = f"INCOMP::MPG[{share}]"
        freeze = props.PropsSI("T_FREEZE", "T", 300, "P", 101325, fluid)
        assert row.number("temperature_freeze") == pytest.approx(freeze, abs=0.006)
        density = props.PropsSI("D", "T", 293.15, "P", 101325, fluid)
        assert row.number("density") == pytest.approx(density, abs=0.06)
        viscosity = props.PropsSI("V", "T", 293.15, "P", 101325, fluid)
        assert row.number("viscosity") == pytest.approx(viscosity, abs=6e-6)


def test_glycol_freezing_points_of_melinder() -> None:
    # Melinder, mass shares 0.1 to 0.6
    printed = [-2.87, -7.17, -12.79, -20.57, -32.19, -50.0]
    got = [r.number("temperature_freeze") - 273.15 for r in table("glycol").values()]
    assert got == pytest.approx(printed, abs=0.006)


@pytest.mark.checks("thinned_share", "antifreeze_mass")
def test_thinning_conserves_glycol() -> None:
    left = 1.7
    needed = antifreeze_mass.si(share_glycol=0.5, share_wanted=0.35, mass_water=left)
    assert thinned_share.si(0.5, needed, left) == pytest.approx(0.35)
    assert needed * 0.5 == pytest.approx((needed + left) * 0.35)
