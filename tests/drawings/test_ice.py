"""The run in its cold night holds, at every instant, the ice that the engine says."""

from __future__ import annotations

from math import pi

import pytest

from vanplumb.drawings.charts.ice import SLICES, _radii, ice_picture, ice_scene
from vanplumb.trip.cold.frost import BLOCKED
from vanplumb.trip.cold.night import cold_night
from vanplumb.words.show import show


@pytest.fixture(scope="module")
def night():
    return cold_night()


def track(scene, part, key):
    return next(t[key] for t in scene["tracks"] if t["part"] == part and key in t)


def test_what_is_still_water_has_its_share_of_the_section(night):
    scene, bore = ice_scene(night, "US"), _radii(night)[2]
    cores = track(scene, "middle", "values")
    step = (len(night.night.ice) - 1) / (len(cores) - 1)
    for n in range(0, len(cores), 7):
        water = pi * cores[n] ** 2 / (pi * bore**2)
        assert 1 - water == pytest.approx(night.night.ice[round(n * step)], abs=0.003)
        assert track(scene, "ice", "text")[n] == show(
            float(night.night.ice[round(n * step)]), "share", "US"
        )


def test_it_says_blocked_just_when_it_is(night):
    scene = ice_scene(night, "SI")
    cores, bore = track(scene, "middle", "values"), _radii(night)[2]
    for core, said in zip(cores, scene["play"]["says"], strict=True):
        share = 1 - (core / bore) ** 2
        if abs(share - BLOCKED) > 0.01:
            assert said.startswith("Blocked") == (share > BLOCKED)
    mild = ice_scene(cold_night(coldest=275.0, warmest=280.0), "SI")
    assert set(mild["play"]["says"]) == {"No ice."}


def test_it_whitens_from_its_ends_as_bare_metal_does(night):
    """The slices run from the share of ice in a bare brass tube to that of the run."""
    scene, bore = ice_scene(night, "US"), _radii(night)[2]
    slices = [track(scene, f"slice-{k}", "values") for k in range(SLICES)]
    middle = track(scene, "middle", "values")
    step = (len(night.night.ice) - 1) / (len(middle) - 1)
    early = 0
    for n in range(len(middle)):
        heights = [one[n] / 2 for one in slices]
        assert heights == sorted(heights)
        assert heights[-1] <= middle[n] + 0.06
        end, run = (float(one.ice[round(n * step)]) for one in (night.ends, night.night))
        water = (heights[0] / bore) ** 2
        assert 1 - max(end, run) - 0.02 <= water <= 1 - run + 0.02
        early += heights[0] < bore - 0.1 and middle[n] > bore - 0.01
    assert early > 0
    assert night.ends.clock_freezing < night.night.clock_freezing


def test_a_kept_warm_cabin_leaves_its_ends_alone():
    warm = cold_night(place="cabin")
    assert not warm.ends.ice.any()
    assert set(ice_scene(warm, "SI")["play"]["says"]) == {"No ice."}


@pytest.mark.parametrize("foam", [0.0, 0.0127, 0.0508])
def test_foam_tube_and_bore_lie_inside_one_another(foam):
    found = cold_night(insulation=foam)
    outer, wall, bore = _radii(found)
    assert outer >= wall > bore >= 15
    assert "nan" not in ice_picture(found, "SI")
