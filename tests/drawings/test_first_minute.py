"""The first minute: water and warm front move as the engine's wait has it."""

from __future__ import annotations

import re

import pytest

from vanplumb import Pack, example
from vanplumb.drawings.charts.first_minute import FirstMinute, minute_picture, minute_scene
from vanplumb.drawings.warmth import colour
from vanplumb.words.show import show


@pytest.fixture(scope="module")
def minute() -> FirstMinute:
    pack = Pack(example("dipper"))
    wait = next(one for one in pack.trip.waits if one.fixture == "shower")
    return FirstMinute(
        wait.length,
        wait.content,
        wait.flow,
        wait.wait,
        wait.wasted,
        pack.build.heater[0].setpoint,
        pack.build.van.cold_water,
    )


def test_the_front_arrives_with_the_wait_and_the_jug_then_holds_what_ran_off(minute):
    scene = minute_scene(minute, "US")
    times, [tube] = scene["play"]["times"], scene["tubes"]
    for time, share in zip(times, tube["front"], strict=True):
        assert share == pytest.approx(min(time / minute.wait, 1.0), abs=1e-3)
    told = next(t["text"] for t in scene["tracks"] if t["part"] == "jug-told")
    tap = next(t["text"] for t in scene["tracks"] if t["part"] == "tap")
    arrived = tube["front"].index(1.0)
    assert told[0] == show(0.0, "volume_small", "US")
    assert told[arrived] == told[-1] == show(minute.wasted, "volume_small", "US")
    assert tap[arrived - 1] == show(minute.cold, "temperature", "US")
    assert tap[arrived] == show(minute.hot, "temperature", "US")


def test_water_outruns_the_front_by_the_heat_of_the_wall(minute):
    """Water passes a run in content over flow; the front takes the wall's share longer."""
    [flow] = minute_scene(minute, "SI")["flows"]
    through = flow["length"] / flow["speed"]
    assert through == pytest.approx(minute.content / minute.flow)
    assert 1.1 < minute.wait / through < 2.0
    assert flow["speed"] / flow["gap"] == pytest.approx(minute.flow / 30e-6)


def test_the_still_picture_shows_a_part_of_the_way_warm(minute):
    half = minute_picture(minute, "US")
    assert colour(minute.hot) in half and colour(minute.cold) in half
    assert show(minute.wasted / 2, "volume_small", "US") in half
    end = minute_picture(minute, "US", at=1.0)
    assert re.search(rf'data-part="tap"[^>]*>{show(minute.hot, "temperature", "US")}<', end)
