"""Setting a mixing valve: two flows, both supplies, and what they say."""

from __future__ import annotations

import pytest

from vanplumb.shop.readings.setting import AtFlow, judge_setting, limit_of, setting_steps
from vanplumb.van import Build, loads
from vanplumb.words.quantity import read


def f(text: str) -> float:
    return read(text, "temperature")


FULL, HALF = 9e-5, 4.5e-5


def test_hot_share_and_the_hottest_day(van: Build) -> None:
    # heat balance, 140 and 60 °F to 105 °F: 0.5625 of it hot
    found = judge_setting(
        van, van.mixing_valve[0], AtFlow(FULL, f("105 °F")), AtFlow(HALF, f("104 °F")),
        f("140 °F"), f("60 °F"),
    )  # fmt: skip
    assert found.share == pytest.approx(0.5625, abs=0.0001)
    # the heater's top is 149 °F, summer's cold water 59 + 18 = 77 °F: 77 + 0.5625 * 72 = 117.5 °F
    assert found.hottest == pytest.approx(f("117.5 °F"), abs=0.02)
    assert found.spread == pytest.approx(1 / 1.8)
    assert any("set it again" in r.text for r in found.remarks)  # it was to be 102 °F


def test_a_valve_as_it_should_be_is_good(van: Build) -> None:
    found = judge_setting(
        van, van.mixing_valve[0], AtFlow(HALF, f("101 °F")), AtFlow(FULL, f("102 °F")),
        f("145 °F"), f("58 °F"),
    )  # fmt: skip
    assert found.good
    assert [r.level for r in found.remarks] == ["NOTICE"]


def test_too_hot_is_danger_and_hot_days_are_a_warning(van: Build) -> None:
    # International Plumbing Code 412.3: 120 °F
    limit, source = limit_of(van)
    assert limit == pytest.approx(f("120 °F"), abs=0.01)
    assert "International Plumbing Code" in str(source)
    hot = judge_setting(
        van, van.mixing_valve[0], AtFlow(FULL, f("123 °F")), AtFlow(HALF, f("123 °F")),
        f("140 °F"), f("60 °F"),
    )  # fmt: skip
    assert hot.remarks[0].level == "DANGER" and not hot.good
    later = judge_setting(
        van, van.mixing_valve[0], AtFlow(FULL, f("117 °F")), AtFlow(HALF, f("117 °F")),
        f("130 °F"), f("60 °F"),
    )  # fmt: skip
    assert later.remarks[0].level == "WARNING"
    assert "heater at its hottest" in later.remarks[0].text


def test_an_outlet_that_wanders_is_told(van: Build) -> None:
    # ASSE 1016: within 3 °F
    found = judge_setting(
        van, van.mixing_valve[0], AtFlow(FULL, f("102 °F")), AtFlow(HALF, f("97 °F")),
        f("140 °F"), f("60 °F"),
    )  # fmt: skip
    assert "moves by 5 °F between the two flows" in found.remarks[0].text


def test_own_limit_comes_first(text: str) -> None:
    build = loads(text.replace("[shop]", '[limits]\noutlet_temperature = "105 °F"\n[shop]'))
    assert limit_of(build)[0] == pytest.approx(f("105 °F"))
    assert any("never above 105 °F" in s for s in setting_steps(build))


def test_measurements_that_can_not_be_are_refused(van: Build) -> None:
    valve = van.mixing_valve[0]
    good, same = AtFlow(FULL, f("102 °F")), AtFlow(FULL * 0.9, f("102 °F"))
    with pytest.raises(ValueError, match="flows must differ by at least a third"):
        judge_setting(van, valve, good, same, f("140 °F"), f("60 °F"))
    half = AtFlow(HALF, f("102 °F"))
    with pytest.raises(ValueError, match="hot supply must be warmer"):
        judge_setting(van, valve, good, half, f("60 °F"), f("60 °F"))
    with pytest.raises(ValueError, match="102 °F is not between the supplies"):
        judge_setting(van, valve, good, half, f("95 °F"), f("60 °F"))
