"""The region of a build, the rules that it brings, and rules that don't belong to it."""

from __future__ import annotations

import pytest

from vanplumb.pack import example
from vanplumb.van import Build, BuildError, loads
from vanplumb.van.file.write import changed
from vanplumb.van.region import (
    backflow_devices,
    clip_distance,
    clips_of_run,
    disinfection,
    heater_distance,
    mixed_limit,
    pressure_test_rule,
    region_of,
    rules_of,
    speed_limit,
    water_temperature,
)

REGIONS = ("US", "UK", "EU", "AU-NZ")
FOOT = 0.3048


def change(build: Build, values: dict[str, str]) -> Build:
    """The build that the file would give with these values in it."""
    return loads(changed(build.text, values))


def test_the_units_say_the_region_if_the_file_does_not() -> None:
    american, european = region_of(example("dipper")), region_of(example("heron"))
    assert (american.key, european.key) == ("US", "EU")
    assert american.basis == "taken from the units, US"
    british = region_of(change(example("heron"), {"van.region": "UK"}))
    assert (british.key, british.basis) == ("UK", "given")


def test_mars_is_refused() -> None:
    with pytest.raises(
        BuildError, match=r'van\.region must be "US", "UK", "EU" or "AU-NZ", got "Mars"'
    ):
        change(example("heron"), {"van.region": "Mars"})


def test_each_region_tests_by_its_own_rule() -> None:
    found = {}
    for region in REGIONS:
        build = change(example("heron"), {"van.region": region})
        rule = pressure_test_rule(build)
        assert rule is not None and region in rule["regions"]
        found[region] = rule.name
    assert found == {
        "US": "water at working pressure",
        "UK": "EN 806-4 A in the UK",
        "EU": "EN 806-4 A",
        "AU-NZ": "water 1500 kPa",
    }


def test_wide_plastic_tube_takes_procedure_b() -> None:
    """EN 806-4: procedure A up to DN/OD 63 for plastics; wider than that B."""
    build = example("heron")
    name = build.run[0].tube
    rows = {"tubes": {name: {"od": 0.075, "bore": 0.061}}}
    from dataclasses import replace

    wide = replace(build, rows={**build.rows, **rows})
    rule = pressure_test_rule(wide)
    assert rule is not None and rule.name == "EN 806-4 B"


def test_air_is_no_test_everywhere() -> None:
    assert pressure_test_rule(example("dipper"), "air") is not None
    australian = change(example("heron"), {"van.region": "AU-NZ"})
    assert pressure_test_rule(australian, "air") is None


@pytest.mark.parametrize(
    "key, value, said",
    [
        ("test_rule", "EN 806-4 A", "is no rule of the region US"),
        ("test_rule", "air 50 psi", "is not for plastic tube"),
        ("disinfection", "hydrogen peroxide", "is no rule of the region US"),
        ("mixed_limit", "public tap", "is no rule of the region US"),
    ],
)
def test_a_rule_that_does_not_belong_is_refused(key: str, value: str, said: str) -> None:
    with pytest.raises(BuildError, match=rf"limits\.{key}.*{said}"):
        change(example("dipper"), {f"limits.{key}": value})


WRONG_PAIRS = [
    ("UK", "test_rule", "EN 806-4 A", "no rule of the region UK"),  # design pressure is another
    ("EU", "test_rule", "UK regulations B", "no rule of the region EU"),
    ("UK", "test_rule", "dry test 150 mbar", "no rule of the region UK"),
    ("UK", "test_rule", "UK regulations metal", "not for plastic tube, and this build has some"),
    ("AU-NZ", "test_rule", "EN 806-4 A", 'it has "water 1500 kPa"'),
    ("US", "test_rule", "movable home by air", "not for plastic tube, and this build has some"),
    ("US", "test_rule", "uniform code, air", "not for plastic tube, and this build has some"),
    ("US", "test_rule", "dry load test 3 bar", "no rule of the region US"),
    ("AU-NZ", "disinfection", "plastics half a day", "no rule of the region AU-NZ"),
    ("UK", "disinfection", "hydrogen peroxide", 'it has "one hour with 30 left"'),
    ("EU", "disinfection", "camper rule", "no rule of the region EU"),
    ("UK", "mixed_limit", "delivery to the frail", "no rule of the region UK"),
    ("EU", "mixed_limit", "shower or bath by code", "no rule of the region EU"),
]


@pytest.mark.parametrize("region, key, value, said", WRONG_PAIRS)
def test_wrong_pairs_are_refused_with_the_rules_that_there_are(
    region: str, key: str, value: str, said: str
) -> None:
    with pytest.raises(BuildError, match=rf"line \d+: limits\.{key} is .*{said}"):
        change(example("heron"), {"van.region": region, f"limits.{key}": value})


@pytest.mark.parametrize(
    "region, said",
    [("uk", 'did you mean "UK"'), ("USA", 'did you mean "US"'), ("Australia", "got")],
)
def test_a_region_said_otherwise_is_refused(region: str, said: str) -> None:
    with pytest.raises(BuildError, match=rf"van\.region must be .*{said}"):
        change(example("heron"), {"van.region": region})


def test_a_rule_that_was_chosen_is_taken() -> None:
    build = change(example("dipper"), {"limits.test_rule": "manufactured home"})
    rule = pressure_test_rule(build)
    assert rule is not None and rule.name == "manufactured home"
    way = disinfection(change(build, {"limits.disinfection": "short soak"}))
    assert way is not None and way.name == "short soak"
    limit = mixed_limit(change(build, {"limits.mixed_limit": "public tempered water"}))
    assert limit is not None and limit["temperature"] == pytest.approx((110 + 459.67) * 5 / 9)


@pytest.mark.parametrize(
    "region, fixture, vulnerable, celsius",
    [
        ("UK", "shower", False, 41),
        ("UK", "sink", False, 48),
        ("EU", "shower", False, 43),
        ("EU", "shower", True, 38),
        ("AU-NZ", "shower", False, 50),
        ("AU-NZ", "sink", True, 45),
        ("US", "shower", False, 48.9),
        ("US", "shower", True, 37.8),
        ("US", "basin", False, 43.3),
    ],
)
def test_mixed_limits_by_fixture_user_and_country(
    region: str, fixture: str, vulnerable: bool, celsius: float
) -> None:
    build = change(example("heron"), {"van.region": region})
    limit = mixed_limit(build, fixture, vulnerable=vulnerable)
    assert limit is not None
    assert limit["temperature"] - 273.15 == pytest.approx(celsius, abs=0.06)
    assert region in limit["regions"]


def test_the_vulnerable_are_never_given_more_than_others() -> None:
    for region in REGIONS:
        build = change(example("heron"), {"van.region": region})
        for fixture in ("shower", "basin", "sink", "outside shower"):
            strict = mixed_limit(build, fixture, vulnerable=True)
            loose = mixed_limit(build, fixture)
            assert strict is not None and loose is not None
            assert strict["temperature"] <= loose["temperature"]


def test_clips_by_size_run_and_region() -> None:
    """UK course: 10 and 15 mm 300 level and 500 upright, 22 mm 500 and 800."""
    british = change(example("heron"), {"van.region": "UK"})
    narrow, wide = "PE-X 12x2.0", "PE-X 20x1.9"
    found = [clip_distance(british, t, upright=u) for t in (narrow, wide) for u in (False, True)]
    assert [c and round(c.value * 1000) for c in found] == [300, 500, 500, 800]
    # IRC P2605.1: 32 in level, 10 ft upright
    american = clip_distance(example("dipper"), "PEX 1/2 in", upright=True)
    assert american is not None and american.value == pytest.approx(10 * FOOT)
    european = example("heron")
    assert clip_distance(european, "PE-X 16x2.0", upright=True) is None


def test_clips_of_a_run_are_held_to_what_asks_for_less() -> None:
    """In the UK 15 mm plastic: 300 mm level, 500 mm upright."""
    runs = {"run.1.tube": "PE-X 15x1.7", "run.1.length": "1 m", "run.1.rise": "0 m"}
    british = {"van.region": "UK", **runs}
    level = clips_of_run(change(example("heron"), british), 0)
    assert not level.upright and level.allowed == pytest.approx(0.3) and not level.too_far
    assert level.count(1.0) == 4  # at 0.1, 0.4, 0.7 and 1.0 m or so: bays of 300 mm
    upright = clips_of_run(change(example("heron"), british | {"run.1.rise": "0.9 m"}), 0)
    assert upright.upright and upright.allowed == pytest.approx(0.5)
    wide = change(example("heron"), british | {"run.1.clip_spacing": "400 mm"})
    assert clips_of_run(wide, 0).too_far and clips_of_run(wide, 0).count(1.0) == 4
    close = change(example("heron"), british | {"run.1.clip_spacing": "200 mm"})
    assert not clips_of_run(close, 0).too_far and clips_of_run(close, 0).count(1.0) == 6


def test_five_feet_a_second_is_asked_of_hot_copper_only() -> None:
    build = example("dipper")
    copper = speed_limit(build, "copper M 1/2 in", hot=True, single=True)
    plastic = speed_limit(build, "PEX 1/2 in", hot=True, single=True)
    assert copper is not None and copper.value == pytest.approx(5 * FOOT)
    assert plastic is not None and plastic.value == pytest.approx(8 * FOOT)
    european = [speed_limit(example("heron"), "PE-X 16x2.0", hot=False, single=s) for s in (0, 1)]
    assert [s and s.value for s in european] == [2.0, 4.0]


def test_what_is_not_known_is_none() -> None:
    european = example("heron")
    assert heater_distance(european, "PE-X 16x2.0", "flow-through") is None
    american = heater_distance(example("dipper"), "PEX 1/2 in", "storage")
    assert american is not None and american.value == pytest.approx(18 * 0.0254)
    assert rules_of(change(european, {"van.region": "AU-NZ"}), "belongings") == {}


def test_an_inlet_that_is_left_on_needs_a_device_for_continuous_pressure() -> None:
    for region in REGIONS:
        build = change(example("heron"), {"van.region": region})
        devices = backflow_devices(build, "shore inlet", continuous=True)
        assert devices and all(d["continuous"] for d in devices), region
        for place in ("hand shower", "outside shower"):
            known = backflow_devices(build, place, continuous=False)
            assert known or (region, place) == ("AU-NZ", "outside shower")


def test_cold_water_has_its_limit_in_each_region() -> None:
    limits = {}
    for region in REGIONS:
        row = water_temperature(change(example("heron"), {"van.region": region}), "cold")
        limits[region] = row and round(row.number("greatest") - 273.15)
    assert limits == {"US": 25, "UK": 20, "EU": 25, "AU-NZ": 20}
