"""The worst that a van's mixing valves give: against every combination one by one, and bounds."""

from __future__ import annotations

import time
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

PLOVER = Flow(example("plover"))
RINSE = valve_checks(PLOVER)["rinse valve"]


def test_the_hottest_is_that_of_every_combination_solved_alone():
    """Each state of the other taps one by one, through another door: a changed build."""
    build = PLOVER.build
    heater = build.heater[0]
    hot = vary(
        build,
        {
            "heater.heater.setpoint": heater.setpoint + heater.differential,
            "van.cold_water": build.van.cold_water + 10,
        },
    )
    flow = Flow(hot, PLOVER.positions)
    cut_in, cut_out = (
        getattr(PLOVER.made.net.link("pump").curve, k) for k in ("cut_in", "cut_out")
    )
    ways = ("shut", "mixed", "hot", "cold")
    worst = 0.0
    for galley, shower, pressure in product(ways, ways, (cut_in, cut_out, None)):
        opened = {"rinse": "mixed", "galley": galley, "shower": shower}
        moment = flow.solve(
            {k: v for k, v in opened.items() if v != "shut"},
            source="shore" if pressure is None else "pump",
            pump_pressure=pressure,
        )
        worst = max(worst, moment.fixtures["rinse"].temperature)
    assert RINSE.all_tried and RINSE.hottest is not None
    assert RINSE.hottest.temperature == approx(worst, abs=0.06)


def test_the_worst_lie_within_the_supplies_and_beyond_the_usual():
    for name in ("plover", "heron"):
        flow = Flow(example(name))
        for check in valve_checks(flow).values():
            assert check.hottest and check.coldest and check.usual
            for one in (check.hottest, check.coldest, check.usual):
                low, high = sorted((one.temperature_hot, one.temperature_cold))
                assert low - 0.5 < one.temperature < high + 0.5
            assert check.coldest.temperature <= check.usual.temperature
            assert check.usual.temperature <= check.hottest.temperature + 0.05
            assert check.usual.temperature == approx(check.setting, abs=0.1)


def test_with_cold_shut_a_set_once_valve_gives_the_heat_of_the_heater():
    assert RINSE.cold_shut and RINSE.hot_shut
    heater = PLOVER.build.heater[0]
    assert RINSE.cold_shut.temperature == approx(heater.setpoint + heater.differential, abs=0.05)
    assert RINSE.hot_shut.temperature == approx(PLOVER.build.van.cold_water - 10, abs=0.05)


def test_worked_steps_end_at_what_is_told():
    for one in (RINSE.hottest, RINSE.coldest):
        assert one and one.works
        assert one.works[-1].value == approx(one.temperature, abs=0.02)


def thermostatic(**changes: object) -> ValveCheck:
    build = PLOVER.build
    valve = replace(build.mixing_valve[0], kind="thermostatic", **changes)
    return valve_checks(Flow(replace(build, mixing_valve=(valve,))))["rinse valve"]


def test_a_thermostatic_valve_has_its_band_and_its_lead():
    check = thermostatic()
    assert check.band > 0
    assert check.most == approx(check.setting + check.band, abs=0.05)
    heater = PLOVER.build.heater[0]
    assert check.lead <= heater.setpoint - heater.differential - check.setting + 0.05
    assert not check.lead_fails and check.cold_shut is None
    near = heater.setpoint - heater.differential - 5
    assert thermostatic(setting=near).lead_fails


def test_a_thermostatic_valve_shuts_hot_off_when_cold_fails():
    build = PLOVER.build
    valve = replace(build.mixing_valve[0], kind="thermostatic")
    flow = Flow(replace(build, mixing_valve=(valve,)))
    rinse = flow.solve(["rinse"]).fixtures["rinse"]
    shut = flow.solve(
        ["rinse"], changes={f"zone.{_zone_to(build, 'rinse valve', 'cold')}.opening": 0.0}
    )
    assert shut.found and shut.fixtures["rinse"].flow < 0.01 * rinse.flow


def _zone_to(build, component: str, port: str) -> str:
    """The label of the zone that feeds a port."""
    for run in build.run:
        start, end = build.ends(run)
        if (end.component, end.port) == (component, port):
            return f"{start.component}.{start.port}"
    raise AssertionError(port)


def test_a_valve_on_its_own_stands_as_in_the_van():
    valve, now = valve_of(PLOVER, PLOVER.build.mixing_valve[0])
    moment = PLOVER.solve(["rinse"])
    assert now.pressure_hot == approx(moment.nodes["rinse valve.hot"].pressure)
    assert valve.when_set.temperature_hot == approx(PLOVER.build.heater[0].setpoint)


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


@pytest.mark.parametrize("name", ["plover", "heron"])
def test_the_greatest_change_is_no_less_than_that_of_any_pair(name):
    flow = Flow(example(name))
    for fixture, changes in flow.changes.items():
        pairs = [j for j in flow.jumps if j.fixture == fixture]
        assert max(c.rise for c in changes) >= max(j.rise for j in pairs) - 0.05
        assert min(c.rise for c in changes) <= min(j.rise for j in pairs) + 0.05
        assert min(c.flow for c in changes) <= min(j.flow for j in pairs) * (1 + 1e-6)


def test_a_search_is_quick_beside_single_solves():
    """All combinations of a valve together cost less than a seventh of them one by one."""
    flow = Flow(example("plover"))
    valve_checks(flow)

    def clock(work) -> float:
        least = np.inf
        for _ in range(3):
            start = time.process_time()
            work()
            least = min(least, time.process_time() - start)
        return least

    one = clock(lambda: flow.solve(["rinse", "galley"]))
    assert clock(lambda: valve_checks(flow)) < one * RINSE.tried / 7
