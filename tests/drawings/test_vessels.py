"""The stay as it is played holds, at every instant, what the engine says."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from vanplumb import example
from vanplumb.drawings.charts.lanes import SCREEN
from vanplumb.drawings.charts.trip import trip_chart
from vanplumb.drawings.charts.vessels import FOOT, SECONDS, TOP, stay_picture, stay_scene
from vanplumb.trip.play.timeline import track
from vanplumb.trip.trip import Trip, failures
from vanplumb.words.show import show

DAY = 86400.0
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def outcome():
    return Trip(example("heron")).planned


def one(scene, part, key):
    return next(t for t in scene["tracks"] if t["part"] == part and key in t)


def test_levels_and_figures_follow_the_engine(outcome):
    scene, kept = stay_scene(outcome, "SI"), track(outcome)
    times = np.array(scene["play"]["times"]) / SECONDS * DAY
    heights = next(t for t in scene["tracks"] if t["part"] == "fresh" and t["attr"] == "height")
    told = one(scene, "fresh-told", "text")["text"]
    for n in range(0, len(times), 23):
        at = int(np.searchsorted(kept["time"], times[n] + 1, side="right") - 1)
        if at >= 0 and abs(kept["time"][at] - times[n]) < 60:
            fresh = float(kept["fresh"][at])
            share = heights["values"][n] / (FOOT - TOP)
            assert share == pytest.approx(fresh / kept["fresh"].max(), abs=0.01)
            assert told[n] == show(fresh, "volume", "SI")
    wasted = one(scene, "run-off-told", "text")["text"][-1]
    assert wasted == show(float(outcome.wasted.sum()), "volume", "SI")


def test_what_fails_is_said_from_then_on_and_flagged(outcome):
    scene = stay_scene(outcome, "SI")
    times = np.array(scene["play"]["times"]) / SECONDS * DAY
    found = sorted(failures(outcome), key=lambda f: f.when)
    assert found
    for time, said in zip(times, scene["play"]["says"], strict=True):
        assert said.startswith("Nothing has failed yet.") == (time < found[0].when)
    root = ET.fromstring(stay_picture(outcome, "SI"))
    flags = [e.text for e in root.iter(f"{SVG}title")]
    assert flags == [str(f) for f in failures(outcome)]


@pytest.mark.parametrize("name", ["dipper", "wren"])
def test_other_vans_are_drawn_with_what_they_have(name):
    played = Trip(example(name)).planned
    root = ET.fromstring(stay_picture(played, "US", at=0.0))
    words = [e.text for e in root.iter(f"{SVG}text")]
    assert ("battery" in words) == (played.plant.battery is not None)
    scene = stay_scene(played, "US")
    parts = {e.get("data-part") for e in root.iter() if e.get("data-part")}
    assert {t["part"] for t in scene["tracks"]} == parts
    lengths = {len(v) for t in scene["tracks"] for v in t.values() if isinstance(v, list)}
    assert lengths == {len(scene["play"]["times"])}


@pytest.mark.parametrize("name", ["heron", "dipper"])
def test_the_headline_of_the_chart_is_not_clipped(name):
    """A letter of a sans serif is half its size wide or a little more, over a sentence."""
    chart = trip_chart(Trip(example(name)).planned, "US", wide=SCREEN)
    found = re.findall(
        r'<text x="([\d.]+)" y="(?:5.00|9.80)" font-size="([\d.]+)"[^>]*>([^<]+)</text>', chart
    )
    assert len(found) == 2
    for x, size, words in found:
        assert float(x) + 0.55 * float(size) * len(words) <= SCREEN
