"""Chlorine: doses, exposure and flushing against printed figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.disinfection import (
    after_flushing,
    after_refill,
    bleach_volume,
    chlorine_exposure,
    flushing_volume,
    granule_mass,
    solution_strength,
    strength_by_weight,
)
from vanplumb.words.quantity import read
from vanplumb.words.tables import table

OUNCE = read("1 fl oz", "volume")


# mass balance, weight per volume: fl oz of bleach for a tank
@pytest.mark.checks("bleach_volume")
@pytest.mark.parametrize(
    "tank, strength, wanted, printed",
    [
        ("15 gal", 52.5, 0.050, 1.83),
        ("20 gal", 82.5, 0.050, 1.55),
        ("100 gal", 52.5, 0.050, 12.19),
        ("20 gal", 82.5, 0.200, 6.21),
    ],
)
def test_bleach_for_a_tank(tank: str, strength: float, wanted: float, printed: float) -> None:
    got = bleach_volume.si(wanted, read(tank, "volume"), strength)
    assert got / OUNCE == pytest.approx(printed, rel=0.005)


# the same when the label counts by weight
@pytest.mark.checks("strength_by_weight", "bleach_volume")
@pytest.mark.parametrize(
    "tank, name, share, printed",
    [
        ("15 gal", "household bleach 5.25 %", 0.0525, 1.71),
        ("20 gal", "household bleach 8.25 %", 0.0825, 1.40),
        ("100 gal", "household bleach 5.25 %", 0.0525, 11.4),
    ],
)
def test_bleach_by_weight_is_stronger(tank: str, name: str, share: float, printed: float) -> None:
    density = table("bleaches")[name].number("density")
    strength = strength_by_weight.si(share, density)
    got = bleach_volume.si(0.050, read(tank, "volume"), strength)
    assert got / OUNCE == pytest.approx(printed, rel=0.03)


@pytest.mark.checks("granule_mass", "solution_strength")
def test_one_percent_solution_of_the_field_guide() -> None:
    # AWWA C651 field guide: 1 lb of 65 % granules, or 3 L of 10 % liquid, in 8 gal.
    water = read("8 gal", "volume")
    granules = solution_strength.si(read("1 lb", "mass"), 0.65, water)
    assert granules / 1000 == pytest.approx(0.0097, abs=0.00005)
    liquid = 3e-3 * 100 / water
    assert liquid / 1000 == pytest.approx(0.0099, abs=0.00005)
    assert granule_mass.si(granules, water, 0.65) == pytest.approx(read("1 lb", "mass"))


@pytest.mark.checks("chlorine_exposure")
def test_exposures_of_the_ways() -> None:
    # IPC 610.1 both ways and the campers' rule, mg·min/L.
    ways = table("disinfection_rules")
    printed = {"long soak": 72_000, "short soak": 36_000, "camper rule": 12_000}
    for name, value in printed.items():
        row = ways[name]
        got = chlorine_exposure.si(row.number("concentration"), row.number("duration"))
        assert got * 1000 / 60 == pytest.approx(value)


def test_rules_as_printed() -> None:
    ways = table("disinfection_rules")
    # state code: 200 mg/L not longer than 6 h, 5 mg/L left; AWWA C651: 25 mg/L, 24 h, 10 mg/L left
    state, mains = ways["short soak with residual"], ways["mains"]
    assert state.number("duration_greatest") == 6 * 3600
    assert state.number("residual_least") == pytest.approx(0.005)
    assert (mains.number("concentration"), mains.number("residual_least")) == (0.025, 0.010)
    assert mains.number("duration") == 24 * 3600
    # ANSI A119.2, 10.8, as quoted: 50 mg/L for 4 h or 100 mg/L for 1 h
    short = ways["camper rule in an hour"]
    assert (short.number("concentration"), short.number("duration")) == (0.1, 3600)
    # BS 8558 as told by a water treatment company: 50 mg/L, 1 h, again if below 30 mg/L
    british = ways["one hour with 30 left"]
    assert (british.number("concentration"), british.number("residual_least")) == (0.05, 0.03)
    # plastics, after EN 806-4: chlorine 50 mg/L at most 12 h; peroxide 150 mg/L 24 h; 30 °C
    plastics, peroxide = ways["plastics half a day"], ways["hydrogen peroxide"]
    assert plastics.number("duration_greatest") == 12 * 3600
    assert (peroxide.number("concentration"), peroxide.number("duration")) == (0.15, 24 * 3600)
    assert peroxide.number("temperature_greatest") == pytest.approx(303.15)


@pytest.mark.checks("bleach_volume")
def test_quarter_cup_to_fifteen_gallons_is_about_fifty() -> None:
    # trade rule: a quarter cup of household bleach to 15 gal gives "50 mg/L"
    strength = 52.5
    cup = read("1/4 cup", "volume")
    dose = strength * cup / (read("15 gal", "volume") + cup)
    assert dose == pytest.approx(0.050, rel=0.12)
    assert bleach_volume.si(dose, read("15 gal", "volume"), strength) == pytest.approx(cup)


@pytest.mark.checks("bleach_volume")
@given(st.floats(0.001, 0.4), st.floats(0.001, 0.3), st.floats(40, 150))
def test_bleach_conserves_chlorine(dose: float, volume: float, strength: float) -> None:
    added = bleach_volume.si(dose, volume, strength)
    assert added * strength == pytest.approx(dose * (volume + added), rel=1e-9)


@pytest.mark.checks("after_refill", "after_flushing", "flushing_volume")
def test_flushing_is_the_limit_of_many_small_refills() -> None:
    volume, start, flushed, steps = 0.08, 0.05, 0.2, 20_000
    step = flushed / steps
    left = start
    for _ in range(steps):
        left = after_refill.si(left, volume, volume + step, 1)
    assert after_flushing.si(start, flushed, volume) == pytest.approx(left, rel=1e-3)
    assert flushing_volume.si(volume, start, left) == pytest.approx(flushed, rel=1e-3)
    assert np.isclose(after_flushing.si(start, 0.0, volume), start)


@pytest.mark.checks("after_refill")
def test_two_fillings_thin_twice() -> None:
    once = after_refill.si(0.05, 0.007, 0.14, 1)
    assert after_refill.si(0.05, 0.007, 0.14, 2) == pytest.approx(
        after_refill.si(once, 0.007, 0.14, 1)
    )
