"""The pictures of a mixing valve say what the state says."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.drawings.charts.mixing import (
    FOOT,
    TOP,
    height_of,
    scale_picture,
    spread,
)
from vanplumb.drawings.charts.valve import streams, valve_picture, valve_scene
from vanplumb.flow.mixing.valve import MixingState, Supplies, Valve, drifts, mixing_state

DAY = Supplies(333.15, 288.15, 2e5, 2e5)


def state(kind: str = "fixed", **now: float) -> MixingState:
    valve = Valve(kind, 314.15, DAY, 1.2 / 3600, 9.5e-5, 1.4e5, checks=kind == "fixed")
    return mixing_state(valve, Supplies(**{**vars(DAY), **now}))


def texts(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter() if node.tag.endswith("text")]


@pytest.mark.parametrize(
    "units, outlet, supply", [("SI", "41 °C", "60 °C"), ("US", "106 °F", "140 °F")]
)
def test_figures_stand_in_the_readers_units(units: str, outlet: str, supply: str) -> None:
    one = state()
    assert outlet in texts(valve_picture(one, units))
    assert any(text.startswith(supply) for text in texts(valve_picture(one, units)))
    assert outlet in texts(scale_picture(one, drifts(one, units), units))


@pytest.mark.parametrize("kind", ["fixed", "thermostatic"])
@pytest.mark.parametrize(
    "now",
    [
        {},
        {"pressure_cold": 0.0},
        {"pressure_hot": 0.0},
        {"pressure_hot": 0.0, "pressure_cold": 0.0},
        {"pressure_cold": 5e5},
        {"temperature_hot": 371.0},
    ],
)
def test_every_state_can_be_drawn(kind: str, now: dict[str, float]) -> None:
    one = state(kind, **now)
    for svg in (valve_picture(one, "US"), scale_picture(one, drifts(one, "US"), "US")):
        ET.fromstring(svg)
        assert "nan" not in svg


def test_the_picture_changes_with_the_state() -> None:
    assert valve_picture(state(), "SI") != valve_picture(state(pressure_hot=2.1e5), "SI")
    assert "no flow" in texts(valve_picture(state(pressure_cold=0.0), "SI"))


def test_hotter_stands_higher() -> None:
    assert height_of(300.0) > height_of(310.0)
    assert height_of(100.0) == FOOT
    assert height_of(500.0) == TOP


@given(st.lists(st.floats(TOP, FOOT), max_size=12))
def test_labels_keep_their_distance_and_order(places: list[float]) -> None:
    falling = sorted(places, reverse=True)
    found = spread(falling, 15.0, TOP, FOOT)
    assert len(found) == len(falling)
    assert all(TOP - 1e-6 <= y <= FOOT + 1e-6 for y in found)
    assert all(a - b >= 15.0 - 1e-6 for a, b in pairwise(found))


@given(st.floats(0.5e5, 4e5), st.floats(0.5e5, 4e5))
def test_both_streams_are_together_as_wide_as_the_outlet(hot: float, cold: float) -> None:
    one = state("thermostatic", pressure_hot=hot, pressure_cold=cold)
    (_, a, wide_a), (_, b, wide_b), (_, out, wide) = streams(one).values()
    if min(a, b) > 0.1 * out:
        assert wide_a + wide_b == pytest.approx(wide, rel=0.02)  # warm water takes more room
    passing = {f["key"]: f["speed"] / f["gap"] for f in valve_scene(one, "SI")["flows"]}
    for key, flow in (("hot", a), ("cold", b), ("out", out)):
        if key in passing:
            assert passing[key] == pytest.approx(abs(flow) / 30e-6)  # dashes of 30 mL a second


def test_what_the_outlet_gave_before_stands_beside_it() -> None:
    old, new = state(), state(pressure_cold=3e5)
    [told] = [t for t in texts(valve_picture(new, "US", old)) if "°F" in t and "→" in t]
    assert told.startswith("106 → ") and int(told.split()[2]) < 106
    assert not any("→" in t for t in texts(valve_picture(old, "US", old)))


@pytest.mark.parametrize("setting", [43.0, 43.33, 45.5, 48.0, 49.0, 51.0])
def test_the_outlet_and_the_limits_keep_their_figures_apart(setting: float) -> None:
    """Between two limits that stand close, and on one, each has a line of its own."""
    valve = Valve("fixed", setting + 273.15, DAY, 1.2 / 3600, 9.5e-5, 1.4e5)
    one = mixing_state(valve, DAY)
    svg = ET.fromstring(scale_picture(one, (), "US"))
    left = [n for n in svg.iter() if n.tag.endswith("text") and n.get("text-anchor") == "end"]
    heights = sorted(float(n.get("y", "nan")) for n in left)
    assert len(heights) == 3
    assert all(b - a >= 15.5 for a, b in pairwise(heights))
