"""The worst that a van's mixing valves give: against every combination one by one, and bounds."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from pytest import approx

from vanplumb import example
from vanplumb.flow.changed_build import vary
from vanplumb.flow.combinations import greatest
from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import ValveCheck, valve_checks, valve_of
from vanplumb.van import loads
from vanplumb.van.kinds import heaters

HERON, DIPPER = Flow(example("heron")), Flow(example("dipper"))
TUB = valve_checks(HERON)["laundry valve"]


def test_the_hottest_is_that_of_every_combination_solved_alone():
    """Each state of the other taps one by one, through another door: a changed build."""
    build = HERON.build
    heater = build.heater[0]
    hot = vary(
        build,
        {
            "heater.heater.setpoint": heaters.hottest(heater),
            "van.cold_water": build.van.cold_water + 10,
        },
    )
    flow = Flow(hot, HERON.positions)
    curve = HERON.made.net.link("pump").curve
    worst = 0.0
    for galley, basin, shower, pressure in product(
        ("shut", "mixed", "hot", "cold"),
        ("shut", "mixed"),
        ("shut", "mixed"),
        (curve.cut_in, curve.cut_out, None),
    ):
        opened = {"laundry tub": "mixed", "galley": galley, "basin": basin, "shower": shower}
        moment = flow.solve(
            {k: v for k, v in opened.items() if v != "shut"},
            source="shore" if pressure is None else "pump",
            pump_pressure=pressure,
        )
        if moment.found:
            worst = max(worst, moment.fixtures["laundry tub"].temperature)
    assert TUB.all_tried and TUB.hottest is not None
    assert TUB.hottest.temperature > worst - 0.06
    assert TUB.hottest.leak or TUB.hottest.temperature == approx(worst, abs=0.06)


def test_the_worst_lie_within_the_supplies_and_beyond_the_usual():
    for flow in (HERON, DIPPER):
        for check in valve_checks(flow).values():
            assert check.hottest and check.coldest and check.usual
            for one in (check.hottest, check.coldest, check.usual):
                low, high = sorted((one.temperature_hot, one.temperature_cold))
                assert low - 0.5 < one.temperature < high + 0.5
            assert check.coldest.temperature <= check.usual.temperature + 0.05
            assert check.usual.temperature <= check.hottest.temperature + 0.05
            assert check.usual.temperature == approx(check.setting, abs=0.1)


def test_with_cold_shut_a_set_once_valve_gives_the_heat_of_the_heater():
    assert TUB.cold_shut and TUB.hot_shut
    hottest = heaters.hottest(HERON.build.heater[0])
    assert TUB.cold_shut.temperature == approx(hottest, abs=0.05)
    assert TUB.hot_shut.temperature == approx(HERON.build.van.cold_water - 10, abs=0.05)


def test_worked_steps_end_at_what_is_told():
    assert TUB.hottest and TUB.hottest.works
    assert TUB.hottest.works[-1].value == approx(TUB.hottest.temperature, abs=0.02)


def basin_valve(**changes: object) -> ValveCheck:
    build = DIPPER.build
    valve = replace(build.mixing_valve[0], **changes)
    return valve_checks(Flow(replace(build, mixing_valve=(valve,))))["basin valve"]


def test_a_thermostatic_valve_has_its_band_and_its_lead():
    check = basin_valve()
    assert check.thermostatic and check.band > 0
    assert check.most == approx(check.setting + check.band, abs=0.05)
    heater = DIPPER.build.heater[0]
    bottom = heater.setpoint - heater.differential
    assert check.lead <= bottom - check.setting + 0.05
    assert not check.lead_fails and check.cold_shut is None
    assert basin_valve(setting=bottom - 5).lead_fails


def test_no_band_makes_a_valve_give_more_than_its_supplies():
    """A hot supply one kelvin above the setting can't give two more; what it gives has no jump."""
    check = basin_valve()
    assert check.hottest and check.coldest
    most = []
    for lead in np.arange(-3.0, 6.0, 0.25):
        hot = check.setting + lead
        at = min(hot, check.setting)
        one = replace(check.hottest, temperature=at, temperature_hot=hot)
        most.append(replace(check, hottest=one).most)
        assert at <= most[-1] <= max(hot, check.setting + check.band)
        assert most[-1] <= hot + 1e-9
    assert max(np.diff(most)) <= 0.25 + 1e-9
    warm = replace(check.coldest, temperature_cold=check.setting - 0.5)
    assert replace(check, coldest=warm).least == approx(check.setting - 0.5)


def test_a_thermostatic_valve_shuts_hot_off_when_cold_fails():
    build = DIPPER.build
    basin = DIPPER.solve(["basin"]).fixtures["basin"]
    shut = DIPPER.solve(
        ["basin"], changes={f"zone.{_zone_to(build, 'basin valve', 'cold')}.opening": 0.0}
    )
    assert shut.found and shut.fixtures["basin"].flow < 0.01 * basin.flow


def _zone_to(build, component: str, port: str) -> str:
    """The label of the zone that feeds a port."""
    for run in build.run:
        start, end = build.ends(run)
        if (end.component, end.port) == (component, port):
            return f"{start.component}.{start.port}"
    raise AssertionError(port)


def test_a_valve_on_its_own_stands_as_in_the_van():
    valve, now = valve_of(HERON, HERON.build.mixing_valve[1])
    moment = HERON.solve(["laundry tub"])
    assert now.pressure_hot == approx(moment.nodes["laundry valve.hot"].pressure)
    assert now.temperature_hot == approx(moment.nodes["laundry valve.hot"].temperature)
    assert valve.setting == HERON.build.mixing_valve[1].setting


def test_a_search_by_steps_finds_the_peak_of_a_hill():
    rng = np.random.default_rng(3)
    slopes = [rng.uniform(-1, 1, 4) for _ in range(9)]

    def figures(some):
        return np.array([sum(s[k] for s, k in zip(slopes, c, strict=True)) for c in some])

    found = greatest([4] * 9, figures)
    assert found is not None and not found[3]
    most, least, tried, _ = found
    assert most == tuple(int(np.argmax(s)) for s in slopes)
    assert least == tuple(int(np.argmin(s)) for s in slopes)
    assert tried < 2000


def test_which_of_two_alike_is_named_does_not_hang_on_the_last_digits():
    rng = np.random.default_rng(5)

    def figures(some):
        alike = np.array([277.15 if c[0] else 300.0 for c in some])
        return alike + 1e-12 * rng.standard_normal(len(some))

    for _ in range(8):
        found = greatest([3, 3, 3], figures)
        assert found is not None and found[1] == (1, 0, 0)


@pytest.mark.parametrize("size", [300.0, 1e-4, 1e-9])
def test_what_differs_in_the_seventh_digit_is_told_apart(size):
    def figures(some):
        return np.array([size * (1 + 1e-7 * (c == (1, 1))) for c in some])

    found = greatest([2, 2], figures)
    assert found is not None and found[0] == (1, 1) and found[1] == (0, 0)


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_the_greatest_change_is_no_less_than_that_of_any_pair(name):
    flow = Flow(example(name))
    for fixture, changes in flow.changes.items():
        pairs = [j for j in flow.jumps if j.fixture == fixture]
        assert max(c.rise for c in changes) >= max(j.rise for j in pairs) - 0.05
        assert min(c.rise for c in changes) <= min(j.rise for j in pairs) + 0.05
        assert min(c.flow for c in changes) <= min(j.flow for j in pairs) * (1 + 1e-6)


def test_a_pump_and_a_heater_that_nothing_leads_to_change_nothing():
    """Put on the drawing and not joined yet, they are no part of the network."""
    stray = (
        '[[pump]]\nname = "spare"\nkind = "electric"\ncurve = "12 V 9 L/min 2.0 bar"\n'
        '[[heater]]\nname = "spare heater"\nkind = "storage"\nvolume = "5 L"\n'
        'setpoint = "50 °C"\nelement_power = "300 W"\n'
    )
    with_them = valve_checks(Flow(loads(HERON.build.text + stray)))["laundry valve"]
    assert with_them.hottest.temperature == approx(TUB.hottest.temperature)
