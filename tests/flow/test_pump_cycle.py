"""Pumps that their switch cycles or their suction cuts, against integration and by hand."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from pytest import approx
from scipy.integrate import quad
from scipy.optimize import brentq

from vanplumb import example
from vanplumb.flow.changed_build import vary
from vanplumb.flow.engine import Flow
from vanplumb.flow.pumps import SwitchCycle
from vanplumb.network.network import Curve, Link, Network
from vanplumb.network.pump_cycle import STEPS
from vanplumb.van import loads

FLOW = np.array([0.0, 6e-5, 1.2e-4, 2e-4])
PRESSURE = np.array([4.5e5, 3.0e5, 1.6e5, 0.0])
CUT_IN, CUT_OUT = 1.7e5, 2.8e5
STRAINER = 1e-3
DENSITY = 998.0
VOLUME, CHARGE, AIR = 0.75e-3, 1.5e5, 1.0e5


def stored() -> np.ndarray:
    """Boyle's law, by hand: the water in a vessel between two pressures."""
    at = np.linspace(CUT_IN, CUT_OUT, STEPS + 1) + AIR
    return np.diff(-VOLUME * (CHARGE + AIR) / at)


def pumped(kv: float, faster: float = 1.0, **more: object) -> Network:
    net = Network(density=DENSITY, viscosity=1e-3)
    net.hold("tank")
    net.hold("air")
    curve = Curve(
        flow=FLOW + FLOW[-1] * (faster - 1),
        pressure=PRESSURE,
        **{"cut_in": CUT_IN, "cut_out": CUT_OUT, "stored": stored(), **more},
    )
    net.add(
        Link(name="strainer", start="tank", end="in", kv=STRAINER),
        Link(name="pump", start="in", end="out", curve=curve),
        Link(name="tap", start="out", end="air", kv=kv),
    )
    return net


def over_time(kv: float, faster: float) -> tuple[float, float, float]:
    """Mean flow, share of time that the pump runs and duration, by integration over time."""
    points = FLOW + FLOW[-1] * (faster - 1)

    def drawn(p: float) -> float:
        return kv * sqrt(p / 1e5 * 1000 / DENSITY)

    def gives(p: float) -> float:
        return brentq(
            lambda q: (
                np.interp(q, points, PRESSURE) - 1e5 * DENSITY / 1000 * (q / STRAINER) ** 2 - p
            ),
            0,
            points[-1],
            xtol=1e-13,
        )

    def holds(p: float) -> float:
        return VOLUME * (CHARGE + AIR) / (p + AIR) ** 2

    def over(f) -> float:
        return quad(f, CUT_IN, CUT_OUT, limit=400)[0]

    fill = over(lambda p: holds(p) / (gives(p) - drawn(p)))
    draw = over(lambda p: holds(p) / drawn(p))
    water = over(lambda p: drawn(p) * holds(p) / (gives(p) - drawn(p))) + over(holds)
    return water / (fill + draw), fill / (fill + draw), fill + draw


@pytest.mark.parametrize("faster", [1.19, 1.22, 1.3, 1.45])
@pytest.mark.parametrize("kv", [6e-5, 3e-5, 1e-5])
def test_a_cycle_is_the_mean_over_filling_and_drawing(kv, faster):
    answer = pumped(kv, faster).solve()
    flow, share, duration = over_time(kv, faster)
    assert answer.cycling["pump"]
    assert answer.flow["tap"] == approx(flow, rel=5e-5)
    assert answer.running_share["pump"] == approx(share, rel=2e-4)
    assert answer.cycle_duration["pump"] == approx(duration, rel=5e-4)


def test_the_mean_goes_over_into_the_duty_point_at_the_cut_out():
    """No step: where the duty point passes the cut-out, twice as fine a sweep has half the step."""

    def greatest(count: int) -> float:
        flows = [pumped(6e-5, f).solve().flow["tap"] for f in np.linspace(1.14, 1.19, count)]
        return float(np.max(np.abs(np.diff(flows))) / flows[0])

    coarse, fine = greatest(51), greatest(401)
    assert coarse < 0.01
    assert fine < coarse / 6


def test_away_from_the_cut_out_the_switch_is_sharp():
    """Beyond the band in which it repeats, the mean is that of a switch that always trips there."""
    assert pumped(6e-5, 1.14).solve().cycling["pump"] == 0
    flow = over_time(6e-5, 1.185)[0]
    assert pumped(6e-5, 1.185).solve().flow["tap"] == approx(flow, rel=5e-5)


def test_more_volts_never_draw_more_from_a_pump_that_cycles_anyway():
    flows = [pumped(6e-5, f).solve().flow["tap"] for f in np.linspace(1.19, 1.5, 67)]
    assert np.all(np.diff(flows) < 0)
    assert np.max(np.abs(np.diff(flows))) < 0.01 * flows[0]


def beside(**more: object) -> Network:
    """A second pump beside the first."""
    net = pumped(6e-5, 1.0, **more)
    curve = net.link("pump").curve
    net.add(Link(name="second", start="in", end="out", curve=curve, one_way=1))
    return net


@pytest.mark.parametrize("kv", [2e-4, 1e-4, 8e-5, 6e-5, 5e-5, 4e-5, 2e-5])
def test_a_second_pump_never_lowers_the_flow(kv):
    one = pumped(kv).with_link("pump", one_way=1).solve()
    two = beside().with_link("tap", kv=kv).with_link("pump", one_way=1).solve()
    assert one.found.all() and two.found.all()
    assert two.flow["tap"] >= one.flow["tap"] * (1 - 1e-6)


def test_one_of_two_pumps_rests_where_one_is_enough():
    both = beside().with_link("pump", one_way=1).solve()
    assert both.resting["pump"] + both.resting["second"] == 1
    assert both.flow["tap"] == approx(pumped(6e-5).solve().flow["tap"], rel=1e-6)


def test_suction_cuts_the_flow_at_its_least_pressure():
    least = -0.2e5
    answer = pumped(5e-4, 1.0, inlet_least=least).with_link("strainer", kv=2e-4).solve()
    assert answer.starved["pump"]
    assert answer.pressure["in"] == approx(least, abs=2.0)
    by_hand = 2e-4 * sqrt(0.2 * 1000 / DENSITY)  # what the strainer lets through at that pressure
    assert answer.flow["tap"] == approx(by_hand, rel=1e-3)


def test_suction_far_from_its_limit_changes_nothing():
    free, bound = pumped(5e-4).solve(), pumped(5e-4, inlet_least=-0.9e5).solve()
    assert not bound.starved["pump"]
    assert bound.flow["tap"] == approx(free.flow["tap"], rel=1e-12)


def test_a_shut_suction_gives_nothing():
    answer = pumped(5e-4, inlet_least=-0.5e5).solve(open={"strainer": False})
    assert answer.found.all()
    assert answer.flow["tap"] == 0.0
    assert answer.pressure["in"] == approx(-0.5e5, abs=1.0)


def test_the_flow_has_no_step_where_the_suction_begins_to_cut():
    kvs = np.linspace(1.0e-4, 6e-4, 401)
    net = pumped(5e-4, inlet_least=-0.2e5).with_link("strainer", kv=kvs)
    answer = net.solve()
    flow = answer.flow["tap"]
    starved = answer.starved["pump"]
    assert 0 < np.sum(starved) < len(kvs)
    assert np.all(np.diff(flow) >= 0)
    assert np.max(np.diff(flow)) < 1.02 * np.max(np.diff(flow)[:50])


def test_the_pump_of_a_van_cycles_as_its_own_curve_says():
    """What the van draws at pressures between the switch points, put through the integral."""
    flow = Flow(example("dipper"))
    pump = flow.solve(["sink"]).pumps["pump"]
    made = flow.made.net
    curve = made.link("pump").curve
    held = np.linspace(pump.cut_in, pump.cut_out, 9)
    drawn = [flow.solve(["sink"], pump_pressure=float(p)).pumps["pump"].flow for p in held]
    cycle = SwitchCycle(curve)
    assert pump.state == "cycling"
    still = flow.solve([]).pumps["pump"].inlet
    gives = np.full(len(held), pump.flow)
    for _ in range(30):  # the faster the pump fills, the more its suction line takes
        inlet = still + (pump.inlet - still) * (gives / pump.flow) ** 2
        gives = np.interp(-(held - inlet), -curve.pressure, curve.flow)
    at = np.linspace(pump.cut_in, pump.cut_out, 4001)
    out, into = np.interp(at, held, drawn), np.interp(at, held, gives)
    vessel = flow.build.accumulator[0]
    air = 101325 * (1 - 0.0065 * flow.build.van.altitude / 288.15) ** 5.2559
    holds = np.where(at >= vessel.precharge, (at + air) ** -2.0, 0.0)  # Boyle's law
    fill, draw = holds / (into - out), holds / out
    mean = np.trapezoid(out * (fill + draw), at) / np.trapezoid(fill + draw, at)
    assert pump.flow == approx(mean, rel=2e-3)
    # without its suction line the pump fills a little faster, and starts the oftener
    assert pump.starts < float(cycle.starts(np.array([pump.flow]))[0]) < 1.1 * pump.starts


SHUT_SUCTION = """
format = 1
[van]
name = "Shut"
units = "SI"
[[tank]]
name = "fresh"
shape = "box"
length = "0.8 m"
width = "0.4 m"
height = "0.3 m"
[[shut_off]]
name = "tank valve"
opening = 0
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 9 L/min 2.0 bar"
[[fixture]]
name = "tap"
kind = "cold tap"
[[run]]
from = "fresh"
to = "tank valve"
tube = "PE-X 12x2.0"
length = "0.5 m"
[[run]]
from = "tank valve"
to = "pump"
tube = "PE-X 12x2.0"
length = "0.5 m"
[[run]]
from = "pump"
to = "tap"
tube = "PE-X 12x2.0"
length = "2 m"
"""


def test_a_van_with_its_tank_valve_shut_says_so():
    moment = Flow(loads(SHUT_SUCTION)).solve(["tap"])
    assert moment.found and moment.fixtures["tap"].flow == 0.0
    assert moment.pumps["pump"].state == "starved"
    assert moment.pumps["pump"].npsh >= -1e-3
    assert any("its suction is shut" in r for r in moment.reasons)


def test_a_van_with_a_narrow_suction_is_cut_and_says_so():
    text = SHUT_SUCTION.replace("opening = 0", "opening = 0.12")
    moment = Flow(loads(text)).solve(["tap"])
    pump = moment.pumps["pump"]
    assert pump.state == "starved" and pump.flow > 0
    assert pump.lift == approx(pump.lift_most, rel=1e-3)
    assert any("is cut by its suction" in r for r in moment.reasons)


def test_a_pump_lifts_less_where_the_air_is_thin():
    """ISO 2533:1975, table of the standard atmosphere: 74 692 Pa at 2500 m, 101 325 Pa at 0."""
    most = [
        Flow(vary(example("dipper"), {"van.altitude": high}))
        .solve(["sink"])
        .pumps["pump"]
        .lift_most
        for high in (0.0, 2500.0)
    ]
    assert most[1] / most[0] == approx(74_692 / 101_325, rel=2e-4)
