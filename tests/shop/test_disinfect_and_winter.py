"""Dosing, flushing and laying up a build."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vanplumb.pack import example
from vanplumb.shop.disinfect import plan_dose, shares, strip_says
from vanplumb.shop.winter import plan_winter
from vanplumb.trip.cold.glycol import freezing_point, share_for
from vanplumb.van import Build, loads
from vanplumb.van.file.write import changed
from vanplumb.van.tank_shapes import volume
from vanplumb.words.quantity import read

OUNCE = read("1 fl oz", "volume")


def test_dose_is_for_all_the_water(van: Build) -> None:
    (tank,) = (volume(one) for one in van.tank if one.holds == "fresh")
    lines = plan_dose(van, "long soak").volume - tank
    # 30 x 16 x 12 in are 24.94 gal; heater 6 gal and 39.5 ft of tube at 0.92 gal per 100 ft
    # (published chart of ASTM F876 tube, average bore)
    assert tank == pytest.approx(read("24.94 gal", "volume"), rel=0.001)
    length = sum(r.length for r in van.run)
    tube = read("0.92 gal", "volume") * length / read("100 ft", "length")
    # headers of two zones: a tee and an elbow, a stub between and one to each valve, the valves;
    # in 3/4 in take-offs of 20.5, stubs of 76.2, valves of 64.8 mm at 1.84 gal per 100 ft, in
    # 1/2 in 16, 50.8 and 48 mm, with the stub of a row of two tees; strainer, pump, mixing valve
    wide = 20.5 + (20.5 + 76.2 + 20.5) + 2 * (20.5 + 76.2 + 64.8)
    half = 16 + (16 + 50.8 + 16) + 2 * (16 + 50.8 + 48) + (16 + 50.8 + 16)
    per_mm = read("1 gal", "volume") / read("100 ft", "length") / 1000
    beside = (1.84 * wide + 0.92 * half) * per_mm + (120 + 100 + 40) * 1e-6
    assert lines == pytest.approx(read("6 gal", "volume") + tube + beside, rel=0.002)
    dose = plan_dose(van, "long soak")
    # mass balance against the dose for 15 gal, 1.83 fl oz of 5.25 % bleach
    assert dose.bleach / OUNCE == pytest.approx(
        1.83 * dose.volume / read("15 gal", "volume"), rel=0.005
    )
    assert dose.exposure * 1000 / 60 == pytest.approx(72_000)


def test_the_short_soak_is_stronger_and_shorter(van: Build) -> None:
    long, short = plan_dose(van, "long soak"), plan_dose(van, "short soak")
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
        assert dose.drinking == pytest.approx(0.004)  # US EPA, from memory
        assert dose.residual <= dose.drinking * (1 + 1e-9)
        left = dose.way.number("concentration")
        share = (dose.residual / left) ** (1 / dose.refills)
        assert left * share ** (dose.refills - 1) > dose.drinking or dose.refills == 1


def test_cold_mains_water_stands_twice_as_long(text: str) -> None:
    # AWWA C651 field guide: 48 h below 5 °C
    cold = loads(text.replace('units = "US"', 'units = "US"\ncold_water = "39 °F"'))
    assert plan_dose(cold, "mains").duration == 48 * 3600


def test_steps_name_the_heater_only_if_there_is_one(van: Build, text: str) -> None:
    assert any("heater off" in s for s in plan_dose(van).steps)
    assert any("goggles" in c.text for c in plan_dose(van).cautions)


def in_region(region: str, **limits: str) -> Build:
    values = {"van.region": region} | {f"limits.{k}": v for k, v in limits.items()}
    return loads(changed(example("heron").text, values))


def test_each_region_has_its_way() -> None:
    """ANSI A119.2 as quoted, BS 8558 as told, EN 806-4 for plastics, and a council's guidance."""
    found = {}
    for region in ("US", "UK", "EU", "AU-NZ"):
        dose = plan_dose(in_region(region))
        found[region] = (dose.way.number("concentration") * 1000, dose.duration / 3600)
        assert region in dose.way["regions"] and region in dose.chlorine["regions"]
    assert found["US"] == pytest.approx((50, 4))
    assert found["UK"] == pytest.approx((50, 1))
    assert found["EU"] == pytest.approx((50, 12))
    assert found["AU-NZ"] == pytest.approx((5, 0.5))


def test_a_water_carrier_doses_as_the_guidance_says() -> None:
    """Logan City Council: 12.5 mL of 4 % bleach in 100 L, or 4 mL of 12.5 %, give 5 mg/L."""
    build = in_region("AU-NZ")
    for agent, printed in (("household bleach 4 %", 12.5e-6), ("pool chlorine 12.5 %", 4e-6)):
        dose = plan_dose(build, chlorine=agent)
        assert dose.bleach / dose.volume * 0.1 == pytest.approx(printed, rel=0.005)


def test_peroxide_is_dosed_as_peroxide_only() -> None:
    build = in_region("EU")
    dose = plan_dose(build, "hydrogen peroxide")
    assert dose.agent == "hydrogen peroxide" and dose.chlorine["agent"] == "hydrogen peroxide"
    # mass balance: 150 mg/L of all the water out of 125 g/L
    assert dose.bleach * 125 == pytest.approx(0.150 * (dose.volume + dose.bleach), rel=1e-9)
    assert dose.duration == 24 * 3600 and "chlorine" in dose.cautions[0].text
    with pytest.raises(ValueError, match="is done with hydrogen peroxide"):
        plan_dose(build, "hydrogen peroxide", "household bleach 4 %")
    with pytest.raises(ValueError, match="no way of this region, United Kingdom"):
        plan_dose(in_region("UK"), "hydrogen peroxide")


def test_warm_water_is_said_to_be_too_warm() -> None:
    build = loads(changed(in_region("EU").text, {"van.cold_water": "32 °C"}))
    assert "warmer than the 30 °C" in plan_dose(build).problems[0]


def test_a_mixed_store_needs_three_times_its_content(van: Build) -> None:
    """Stirred tank: e⁻³ is 5 %; once through leaves e⁻¹, a third and more."""
    dose = plan_dose(van)
    store = sum(h.volume or 0 for h in van.heater)
    assert dose.through_heater / store == pytest.approx(3.0, abs=0.005)
    assert any("hot outlets" in s for s in dose.steps)


@pytest.mark.parametrize(
    "begin, end, result",
    [(50, 30, "passed"), (50, 25, "can't tell"), (50, 10, "failed"), (30, 30, "failed"),
     (45, 40, "can't tell"), (50, None, "can't tell")],
)  # fmt: skip
def test_strips_at_the_outlets(begin: float, end: float | None, result: str) -> None:
    """UK: 50 mg/L when the hour begins, 30 mg/L left when it is over, else again."""
    way = plan_dose(in_region("UK")).way
    after = None if end is None else end / 1000
    assert strip_says(way, begin / 1000, after)[0] == result


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
    found = plan_winter(van)
    assert any("heater, by its drain" in place for place in found.drains)
    assert any("bowl off" in place for place in found.drains)
    assert "bowl off" in " ".join(found.steps)
    assert any("poisonous" in c.text for c in plan_winter(van).cautions)


def test_each_of_two_tanks_gets_its_own_dose(van: Build) -> None:
    """Two parts of one whole: one joined to nothing is dosed for itself, and both are told."""
    fresh = next(t for t in van.tank if t.holds == "fresh")
    half = replace(fresh, name="second", length=fresh.length / 2)
    two = replace(van, tank=(*van.tank, half))
    dose = plan_dose(two)
    first, second = shares(two, dose)
    assert second[2].bleach == pytest.approx(dose.bleach * second[1] / dose.volume)
    assert first[2].bleach + second[2].bleach == pytest.approx(dose.bleach)
    (told,) = [s for s in dose.steps if s.startswith("stir")]
    assert f"for {fresh.name}" in told and "for second" in told
    assert "each tank" not in " ".join(plan_dose(van).steps)
