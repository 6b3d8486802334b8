"""The row of showers shows the engine's figures, and the store the heat that it holds."""

from __future__ import annotations

import numpy as np
import pytest

from vanplumb.drawings.charts.showers import FOOT, SECONDS, TOP, showers_picture, showers_scene
from vanplumb.drawings.warmth import colour
from vanplumb.trip.play.session import session
from vanplumb.words.show import show


@pytest.fixture(scope="module")
def found():
    return session(volume=0.015, count=3)


def track(scene, part, key):
    return next(t[key] for t in scene["tracks"] if t["part"] == part and key in t)


def test_hot_over_cold_holds_the_heat_of_the_store(found):
    scene = showers_scene(found, "SI")
    times = np.array(scene["play"]["times"]) / SECONDS * found.time[-1]
    heights, warm = track(scene, "hot", "values"), track(scene, "hot", "warm")
    for n in range(0, len(times), 9):
        kept = max(int(np.searchsorted(found.time, times[n] + 0.05, side="right")) - 1, 0)
        share = heights[n] / (FOOT - TOP)
        mean = share * (warm[n] + 273.15) + (1 - share) * found.cold
        assert mean == pytest.approx(found.mean[kept], abs=1.0)


def test_the_spray_runs_just_while_a_shower_does(found):
    scene = showers_scene(found, "US")
    times = np.array(scene["play"]["times"]) / SECONDS * found.time[-1]
    on, told = track(scene, "spray", "values"), track(scene, "tap", "text")
    for time, runs, said in zip(times, on, told, strict=True):
        inside = any(s.start - 0.05 <= time <= s.end + 0.05 for s in found.showers)
        assert bool(runs) == inside or any(
            min(abs(time - s.start), abs(time - s.end)) < 0.1 for s in found.showers
        )
        assert runs or said == "shut"
    warm = f"{found.warm} of 3 showers were warm."
    assert scene["play"]["says"][-1] == warm or found.recovered is None


def test_the_still_tells_each_shower_in_its_colour(found):
    svg = showers_picture(found, "US")
    for one in found.showers:
        assert f'r="10" fill="{colour(one.warmth)}"' in svg
    assert f"wanted {show(found.wanted, 'temperature', 'US')}" in svg


def test_a_flow_through_heater_has_no_store():
    scene = showers_scene(session(kind="flow-through", count=1), "SI")
    assert "hot" not in {t["part"] for t in scene["tracks"]}
    lengths = {len(v) for t in scene["tracks"] for v in t.values() if isinstance(v, list)}
    assert lengths == {len(scene["play"]["times"])}
