"""Dosing, flushing and laying up a build."""

from __future__ import annotations

import pytest

from vanplumb.shop.disinfect import DRINKING, plan_dose, water_in
from vanplumb.shop.winter import plan_winter
from vanplumb.trip.cold.glycol import freezing_point, share_for
from vanplumb.van import Build, loads
from vanplumb.words.quantity import read

OUNCE = read("1 fl oz", "volume")


def test_dose_is_for_all_the_water(van: Build) -> None:
    tank, lines = water_in(van)
    # 30 x 16 x 12 in are 24.94 gal; heater 6 gal and 39.5 ft of tube at 0.92 gal per 100 ft
    # (published chart of ASTM F876 tube, average bore)
    assert tank == pytest.approx(read("24.94 gal", "volume"), rel=0.001)
    length = sum(r.length for r in van.run)
    tube = read("0.92 gal", "volume") * length / read("100 ft", "length")
    assert lines == pytest.approx(read("6 gal", "volume") + tube, rel=0.005)
    dose = plan_dose(van)
    # mass balance against the dose for 15 gal, 1.83 fl oz of 5.25 % bleach
    assert dose.bleach / OUNCE == pytest.approx(
        1.83 * dose.volume / read("15 gal", "volume"), rel=0.005
    )
    assert dose.exposure * 1000 / 60 == pytest.approx(72_000)


def test_the_short_soak_is_stronger_and_shorter(van: Build) -> None:
    long, short = plan_dose(van), plan_dose(van, "short soak")
    assert short.bleach == pytest.approx(4 * long.bleach, rel=0.01)
    assert short.duration == 3 * 3600
    assert short.exposure == pytest.approx(long.exposure / 2)


def test_granules_are_weighed(van: Build) -> None:
    dose = plan_dose(van, chlorine="calcium hypochlorite 65 %")
    assert dose.by_mass and dose.told("US").endswith(" g")
    assert dose.bleach * 0.65 == pytest.approx(0.050 * dose.volume)


def test_a_label_by_weight_needs_less(van: Build) -> None:
    weight = plan_dose(van, by_weight=0.0525).bleach
    assert weight / plan_dose(van).bleach == pytest.approx(1.71 / 1.83, rel=0.01)


def test_refills_bring_the_residual_down(van: Build) -> None:
    for way in ("long soak", "short soak", "camper rule"):
        dose = plan_dose(van, way)
        assert dose.residual <= DRINKING * (1 + 1e-9)
        left = dose.way.number("concentration")
        share = (dose.residual / left) ** (1 / dose.refills)
        assert left * share ** (dose.refills - 1) > DRINKING or dose.refills == 1


def test_cold_mains_water_stands_twice_as_long(text: str) -> None:
    # AWWA C651 field guide: 48 h below 5 °C
    cold = loads(text.replace('units = "US"', 'units = "US"\ncold_water = "39 °F"'))
    assert plan_dose(cold, "mains").duration == 48 * 3600


def test_steps_name_the_heater_only_if_there_is_one(van: Build, text: str) -> None:
    assert any("heater off" in s for s in plan_dose(van).steps)
    assert any("goggles" in c.text for c in plan_dose(van).cautions)


def test_freezing_points_between_the_rows() -> None:
    # Melinder: 30 % by mass, and half a kelvin kept back; the fit is within 0.02 K of it
    assert freezing_point(0.3) - 273.15 == pytest.approx(-12.79 + 0.5, abs=0.02)
    assert freezing_point(0.4) < freezing_point(0.35) < freezing_point(0.3)
    assert share_for(freezing_point(0.35)) == pytest.approx(0.35)
    assert share_for(280.0) == 0.0
    assert share_for(200.0) is None
    with pytest.raises(ValueError, match="must be 0 to 60 %"):
        freezing_point(0.9)


def test_antifreeze_fills_the_runs_and_stays_strong_enough(van: Build) -> None:
    found = plan_winter(van, coldest=263.15)
    assert found.antifreeze > found.lines
    assert found.freezes < 263.15
    assert not found.problems
    worse = plan_winter(van, coldest=230.0)
    assert "not cold enough" in worse.problems[0]


def test_where_water_stays_is_named(van: Build) -> None:
    places = " ".join(plan_winter(van).drains)
    assert "the run from the mixer to the rinse (run 12), under the floor" in places
    assert "heater, by its drain" in places
    assert any("poisonous" in c.text for c in plan_winter(van).cautions)
