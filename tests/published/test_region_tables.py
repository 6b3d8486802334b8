"""Rules of the regions against printed figures.  Each test names what was printed where."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import pytest

from vanplumb.words.tables import table, table_names

REGIONS = ("US", "UK", "EU", "AU-NZ")
FOOT = 0.3048

# British Standard pipe threads (ISO 7-1, ISO 228-1) as a published table has them, mm:
# threads per inch, pitch, greatest diameter, gauge length.
PIPE_THREADS = {
    "3/8": (19, 1.337, 16.662, 6.4),
    "1/2": (14, 1.814, 20.955, 8.2),
    "3/4": (14, 1.814, 26.441, 9.5),
    "1": (11, 2.309, 33.249, 10.4),
}


@pytest.mark.parametrize("size", PIPE_THREADS)
def test_pipe_threads_of_iso_7_and_228(size: str) -> None:
    tpi, pitch, outside, gauge = PIPE_THREADS[size]
    taper = table("threads")[f"R {size}"]
    assert taper.number("hand_tight") == pytest.approx(gauge / 1000)
    for family in ("R", "G"):
        row = table("threads")[f"{family} {size}"]
        assert row.number("threads_per_inch") == tpi
        assert 25.4 / row.number("threads_per_inch") == pytest.approx(pitch, abs=0.0005)
        assert row.number("outside_diameter") == pytest.approx(outside / 1000)
        # the form of the thread (55°, rounded): its depth is 0.640327 of the pitch
        depth = 0.640327 * 25.4e-3 / tpi
        assert row.number("pitch_diameter") == pytest.approx(
            row.number("outside_diameter") - depth, abs=0.6e-6
        )
    # ISO 7-1 (from memory): the useful thread is the gauge length and 2 3/4 turns
    assert taper.number("effective") == pytest.approx(
        (gauge + 2.75 * 25.4 / tpi) / 1000, abs=0.06e-3
    )


def test_half_inch_threads_look_alike_and_do_not_fit() -> None:
    american, european = table("threads")["NPT 1/2"], table("threads")["R 1/2"]
    assert american["threads_per_inch"] == european["threads_per_inch"]
    assert american["flank_angle"] != european["flank_angle"]
    mates = {name: row["mates"] for name, row in table("end_kinds").items()}
    assert not [m for m in mates["NPT male"] if m.startswith(("R", "G"))]
    assert not [m for m in mates["R male"] if m.startswith(("NPT", "NPSM"))]


@pytest.mark.parametrize(
    "name, flow, least",
    [
        ("basin in Europe", 0.1, 0.1),
        ("sink or shower in Europe", 0.2, 0.15),
        ("garden tap in Europe", 0.5, 0.4),
    ],
)
def test_draw_offs_of_en_806_3(name: str, flow: float, least: float) -> None:
    """EN 806-3:2006, table 2, L/s."""
    row = table("draw_offs")[name]
    assert (row["flow"], row["flow_least"]) == pytest.approx((flow / 1000, least / 1000))


def test_speeds_of_en_806_3() -> None:
    """EN 806-3:2006, 4.4: headers 2.0 m/s, connection to one fitting 4.0 m/s."""
    rows = table("velocities")
    assert rows["headers in the EU"]["velocity"] == pytest.approx(2.0)
    assert rows["to one fixture in the EU"]["velocity"] == pytest.approx(4.0)


def test_five_feet_a_second_is_for_hot_copper_only() -> None:
    slow = [r for r in table("velocities").values() if r["velocity"] == pytest.approx(5 * FOOT)]
    assert [(r["materials"], r["hot"]) for r in slow] == [(("copper",), True)]


# ABYC E-11, conductors sized for 3 % drop at 12 V, as printed on a trade page: length there and
# back in ft, current in A, gauge.
DROPS = [(10, 10, 14), (15, 10, 12), (10, 5, 18), (15, 5, 16), (20, 5, 14), (10, 15, 12)]


@pytest.mark.parametrize("length, current, gauge", DROPS)
def test_printed_wire_sizes_hold_three_percent(length: float, current: float, gauge: int) -> None:
    """The printed gauge holds 3 % (within a twentieth: the printed table counts by strands), and
    the next thinner one does not."""

    def drop(name: str) -> float:
        area = table("wires")[name].number("area")
        return 1.724e-8 * length * FOOT / area * current / 12

    assert drop(f"{gauge} AWG") <= 0.03 * 1.05
    if gauge < 18:
        assert drop(f"{gauge + 2} AWG") > 0.03 * 0.95


def test_gauges_follow_their_definition() -> None:
    """AWG n is 0.005 in · 92^((36 − n)/39) across."""
    for name, row in table("wires").items():
        if name.endswith("AWG"):
            across = 0.005 * 0.0254 * 92 ** ((36 - int(name.split()[0])) / 39)
            assert row.number("area") == pytest.approx(pi / 4 * across**2, rel=0.005)


def test_wires_carry_more_as_they_grow() -> None:
    for region in REGIONS:
        rows = [r for r in table("wires").values() if region in r["regions"]]
        for thin, thick in pairwise(rows):
            assert thin["area"] < thick["area"] and thin["current"] < thick["current"]


@pytest.mark.parametrize(
    "name, celsius",
    [
        ("bidet", 38),  # TMV3 and D08
        ("shower", 41),
        ("bath", 44),
        ("bath in a new home", 48),  # part G
        ("public tap", 43),  # EN 806-2, 9.3.2
        ("shower or tap for children", 38),
        ("delivery to the frail", 45),  # NCC 2022, B2D5
        ("delivery to others", 50),
        ("young children in New Zealand", 40),  # G12/AS1, November 2023
    ],
)
def test_mixed_limits_in_celsius(name: str, celsius: float) -> None:
    assert table("mixed_limits")[name]["temperature"] == pytest.approx(celsius + 273.15)


def test_stages_of_en_806_4() -> None:
    """The record of an Austrian textbook: A 10 min; B 30 min pumped, 30 min at half; C 180 min."""

    def stages(rule: str) -> list[tuple[str, float, float]]:
        return [
            (r["kind"], r["share"], r["duration"] / 60)
            for r in table("test_stages").values()
            if r["rule"] == rule
        ]

    assert stages("EN 806-4 A") == [("watch", 1, 10)]
    assert stages("EN 806-4 B") == [("pump", 1, 30), ("watch", 0.5, 30)]
    assert sum(t for _, _, t in stages("EN 806-4 C")) == pytest.approx(180)
    # UK regulations, as a published course has them: test A 30 and 90 min, test B 180 min
    assert [round(t) for _, _, t in stages("UK regulations A")] == [30, 90]
    assert sum(t for _, _, t in stages("UK regulations B")) == pytest.approx(180)


# what one table says of another


def test_regions_are_told_alike_everywhere() -> None:
    assert tuple(table("regions")) == REGIONS
    for name in table_names():
        if "regions" in table(name).columns:
            for row in table(name).values():
                assert row["regions"] and set(row["regions"]) <= set(REGIONS), (name, row.name)


def test_what_a_region_takes_by_default_is_a_rule_of_its_own() -> None:
    asks = {
        "test_water": "test_rules",
        "test_metal": "test_rules",
        "test_air": "test_rules",
        "disinfection": "disinfection_rules",
        "mixed_other": "mixed_limits",
    }
    for key, region in table("regions").items():
        for column, where in asks.items():
            if region[column]:
                assert key in table(where)[region[column]]["regions"], (key, column)
        families = {name.split()[0] for name in table("threads")}
        assert region["taper"] in families
        assert region["parallel"] is None or region["parallel"] in families


def test_every_test_rule_has_its_stages_and_ends_with_a_look() -> None:
    for name, rule in table("test_rules").items():
        stages = [r for r in table("test_stages").values() if r["rule"] == name]
        assert [r["order"] for r in stages] == list(range(1, len(stages) + 1)), name
        assert stages and stages[-1]["kind"] == "watch"
        watched = sum(r["duration"] for r in stages if r["kind"] == "watch")
        assert watched == pytest.approx(rule.number("duration"))
        assert all((r["fall_greatest"] is None) == (r["kind"] == "pump") for r in stages)
    assert {r["rule"] for r in table("test_stages").values()} == set(table("test_rules"))


def test_fixtures_that_rules_speak_of_exist() -> None:
    for row in table("draw_offs").values():
        assert set(row["sorts"]) <= {one["sort"] for one in table("fixtures").values()}
