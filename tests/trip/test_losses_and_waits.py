"""Losses of runs, waits, frost, expansion and heights against libraries, printed values, hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from vanplumb.flow.engine import Flow
from vanplumb.pack import example
from vanplumb.trip.cold.frost import antifreeze_for, frost
from vanplumb.trip.hot_runs.loss import run_loss
from vanplumb.trip.hot_runs.paths import run_heat
from vanplumb.trip.hot_runs.waits import waits
from vanplumb.trip.play.draws import planned
from vanplumb.trip.play.make_plant import PlantError, make_plant
from vanplumb.trip.play.simulate import simulate
from vanplumb.van import Build
from vanplumb.van.heights import heights
from vanplumb.van.hot_ways import ways
from vanplumb.words.tables import table

PSI = 6894.757
AIR_1200_FT = 101325 * (1 - 0.0065 * 365.76 / 288.15) ** 5.2559
"""Standard atmosphere at 1200 ft, Pa."""


def tube(name: str) -> Any:
    return table("tubes")[name]


# Churchill and Chu with radiation (general reference library ht): water at 60 °C, still air at
# 20 °C, wall 0.41 W/(m K), emissivity 0.9, foam 0.040 W/(m K).  Correlations agree to 8 %.
LOSSES = [
    ("PEX 1/2 in", 0.0, 26.0),
    ("PEX 1/2 in", 0.009, 9.84),
    ("PEX 1/2 in", 0.013, 8.37),
    ("PEX 1/2 in", 0.019, 7.09),
    ("PEX 3/4 in", 0.0, 33.8),
    ("PEX 3/4 in", 0.009, 12.3),
    ("PEX 3/4 in", 0.013, 10.3),
    ("PEX 3/4 in", 0.019, 8.6),
]


@pytest.mark.parametrize("name, foam, watts", LOSSES)
def test_a_metre_of_run_loses_what_the_reference_says(name: str, foam: float, watts: float) -> None:
    found = run_loss(tube(name), foam, 333.15, 293.15, foam=0.040)
    assert found.power == pytest.approx(watts, rel=0.08)
    assert found.works["loss"].value == pytest.approx(found.power, rel=1e-9)


def test_the_librarys_own_film_gives_the_same_skin() -> None:
    """ht's Churchill-Chu with CoolProp's air at the film's temperature, solved to a balance."""
    conv = pytest.importorskip("ht.conv_free_immersed")
    props = pytest.importorskip("CoolProp.CoolProp").PropsSI
    found = run_loss(tube("PEX 1/2 in"), 0.0, 333.15, 293.15)
    outside = 0.625 * 0.0254
    film = (found.skin + 293.15) / 2
    density, sticky = (
        props("D", "T", film, "P", 101325, "Air"),
        props("V", "T", film, "P", 101325, "Air"),
    )
    conducts, prandtl = (
        props("L", "T", film, "P", 101325, "Air"),
        props("PRANDTL", "T", film, "P", 101325, "Air"),
    )
    grashof = 9.80665 * (found.skin - 293.15) / film * outside**3 * (density / sticky) ** 2
    convects = (
        conv.Nu_horizontal_cylinder_Churchill_Chu(Pr=prandtl, Gr=grashof) * conducts / outside
    )
    radiates = 0.9 * 5.670374e-8 * (found.skin**4 - 293.15**4) / (found.skin - 293.15)
    power = (convects + radiates) * np.pi * outside * (found.skin - 293.15)
    assert found.power == pytest.approx(power, rel=0.02)


def test_heat_loss_per_kelvin_is_in_the_range_of_laboratory_tests() -> None:
    """Bare half-inch tube: 0.37 Btu/(h ft °F), with 13 mm foam 0.12 (general reference, ht)."""
    for foam, printed in ((0.0, 0.37), (0.013, 0.12)):
        found = run_loss(tube("PEX 1/2 in"), foam, 333.15, 293.15)
        assert 1 / found.resistance / 1.730735 == pytest.approx(printed, rel=0.15)


@pytest.mark.parametrize("foam, bare, with_wall", [(0.0, 8.8, 12.2), (0.013, 26.0, 36.0)])
def test_a_hot_run_cools_to_lukewarm_in_the_reference_time(
    foam: float, bare: float, with_wall: float
) -> None:
    """From 60 to 40 °C in 20 °C air, water alone and with the wall's heat; lumped, to 15 %."""
    build = example("dipper")
    run = replace(build.run[0], tube="PEX 1/2 in", length=1.0, insulation=foam, place="cabin")
    warm = replace(build, van=replace(build.van, cabin=293.15, altitude=0.0))
    heat = run_heat(warm, run, 333.15)
    minutes = heat.cooling * np.log(40.0 / 20.0) / 60
    assert minutes == pytest.approx(with_wall, rel=0.15)
    assert minutes / (1 + heat.wall) == pytest.approx(bare, rel=0.15)


def test_wind_and_thin_foam_lose_more() -> None:
    still = run_loss(tube("PEX 1/2 in"), 0.013, 333.15, 263.15).power
    assert run_loss(tube("PEX 1/2 in"), 0.013, 333.15, 263.15, windy=True).power > still
    assert run_loss(tube("PEX 1/2 in"), 0.006, 333.15, 263.15).power > still


def test_ways_of_hot_water_end_at_the_taps() -> None:
    build = example("dipper")
    found = ways(build, build.heater[0])
    assert set(found) == {"sink", "shower", "basin"}
    names = [build.run[i].end.split(".")[0] for i in found["basin"].runs]
    assert names == ["hot manifold", "basin valve", "basin"]
    assert found["basin"].mixed_from == 2 and found["basin"].valve is build.mixing_valve[0]
    assert found["sink"].cold_too and not found["basin"].cold_too


def test_a_shut_zone_stops_hot_water() -> None:
    build = example("dipper")
    shut = tuple(
        replace(z, opening=0.0) if (z.manifold, z.name) == ("hot manifold", "wet room") else z
        for z in build.zone
    )
    assert set(ways(replace(build, zone=shut), build.heater[0])) == {"sink", "basin"}


def test_waits_of_dipper_by_hand() -> None:
    """Content and wall of both runs to the shower and of the header between, over what
    the network gives it alone.

    The wet room stands first on the hot header: half a tee to its centre and half a tee back, a
    stub of 2 1/4 in and a valve of twice 24 mm, all of the runs' own half inch.
    """
    shower = next(w for w in waits(example("dipper")) if w.fixture == "shower")
    alone = Flow(example("dipper")).solve(["shower"]).fixtures["shower"].flow
    assert alone > 1.6 * 3.785411784e-3 / 60  # more than it is rated for
    length = (60 + 48 + 2.25) * 0.0254 + 2 * 0.016 + 2 * 0.024
    content = np.pi / 4 * (0.475 * 0.0254) ** 2 * length
    assert shower.content == pytest.approx(content, rel=1e-9)
    assert shower.bare == pytest.approx(content / alone, rel=1e-6)
    assert 1.1 <= shower.wait / shower.bare <= 1.5
    assert shower.wasted == pytest.approx(shower.wait * shower.flow, rel=1e-12)


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_the_first_wait_of_a_played_day_is_the_computed_one(name: str) -> None:
    """Played from cold, the first use at each tap waits as the sum over its runs says.

    A flow-through heater's end of the wait is fixed a little differently in the two, and a
    played trunk may still be warm from an earlier use: 25 %.
    """
    build = example(name)
    for habit in build.use:
        if habit.temperature is None:
            continue
        plant = make_plant(replace(build, use=(replace(habit, hours=("12:00",)),)))
        outcome = simulate(plant, planned(plant, 4), days=4)
        wait = outcome.wait[0][outcome.wait[0] > 0][0]
        still = next(w for w in waits(build) if w.fixture == habit.fixture)
        assert wait == pytest.approx(still.wait, rel=0.25)


def cold_night(build: Build, celsius: float, **changes: Any) -> Any:
    van = replace(build.van, outside=celsius + 273.15, outside_day=celsius + 273.15)
    return frost(replace(build, van=van, **changes))


def test_steady_cold_gives_the_formulas_times() -> None:
    """By the minute and by the formula: the same time to freezing in air that does not change."""
    found = cold_night(example("dipper"), -8.0)
    reel = next(r for r in found.runs if r.run.place == "underfloor")
    assert reel.to_zero is not None and reel.clock_zero is not None
    assert reel.to_blocked is not None and reel.clock_blocked is not None
    dusk = 18 * 3600
    assert (reel.clock_zero - dusk) % 86400 == pytest.approx(reel.to_zero, abs=61)
    assert (reel.clock_blocked - dusk) % 86400 == pytest.approx(reel.to_blocked, abs=121)


def test_a_warm_cabin_keeps_its_runs_and_a_cold_one_does_not() -> None:
    found = cold_night(example("dipper"), -8.0)
    inside = [r for r in found.runs if r.run.place == "cabin"]
    assert all(r.ice == 0 and not r.freezes for r in inside)
    assert all(r.parked > 0.2 for r in inside)
    assert [r.label for r in found.freezing] == ["cold manifold to hose reel"]


def test_a_mild_night_freezes_nothing_and_needs_no_antifreeze() -> None:
    found = cold_night(example("dipper"), 3.0)
    assert found.freezing == ()
    assert found.antifreeze is None
    assert all(r.parked == 0 for r in found.runs)


def test_foam_buys_time_and_ice_never_passes_one() -> None:
    build = example("dipper")
    thick = tuple(replace(r, insulation=0.025) if r.place == "underfloor" else r for r in build.run)
    thin = tuple(replace(r, insulation=0.004) if r.place == "underfloor" else r for r in build.run)
    times = []
    for runs in (thin, thick):
        reel = next(
            r for r in cold_night(build, -25.0, run=runs).runs if r.run.place == "underfloor"
        )
        assert 0 <= reel.ice <= 1
        times.append(reel.to_zero)
    assert times[0] < times[1]


def test_antifreeze_for_a_temperature_freezes_there() -> None:
    """Melinder: 40 % by mass begins to freeze at -20.6 °C, of which half a kelvin is kept back."""
    found = antifreeze_for(273.15 - 20.57 + 0.5, 2e-3)
    assert found is not None
    assert found.by_mass == pytest.approx(0.40, abs=0.005)
    assert found.works[0].value == pytest.approx(273.15 - 20.57, abs=0.01)
    assert found.works[1].value == pytest.approx(273.15 - 20.07, abs=0.01)
    assert found.by_volume < found.by_mass
    assert antifreeze_for(273.15 - 55, 2e-3) is None


def test_heights_follow_the_rises() -> None:
    build = example("dipper")
    at = heights(build)
    inch = 0.0254
    assert at["fresh"] == pytest.approx(3 * inch)
    assert at["pump"] == pytest.approx((3 + 2) * inch)
    assert at["cold manifold"] == pytest.approx((5 + 4 + 18) * inch)


def test_a_store_without_a_volume_is_named() -> None:
    build = example("dipper")
    with pytest.raises(PlantError, match="heater 'heater': needs a volume"):
        make_plant(replace(build, heater=(replace(build.heater[0], volume=None),)))
