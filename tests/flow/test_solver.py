"""The solver's own rules: what holds, what shuts, what stands still, and what it says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from tests.cases import cases
from vanplumb import example
from vanplumb.flow.engine import Flow, open_flags
from vanplumb.formulas.water import water_density
from vanplumb.network.linear_systems import ROW_BY_ROW, Elimination
from vanplumb.network.network import Curve, Heat, Link, Mixer, Network
from vanplumb.network.newton import Batch

G = 9.80665


@pytest.fixture(autouse=True)
def _no_warning_leaks():
    with np.errstate(all="raise"):
        yield


def tube(name, start, end, **more):
    return Link(name=name, start=start, end=end, **{"length": 2.0, "diameter": 0.0121, **more})


def gravity(**more) -> Network:
    """A tank 1 m above an outlet."""
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("tank")
    net.hold("air")
    net.add(tube("down", "tank", "tap", rise=-1.0, **more))
    net.add(Link(name="tap", start="tap", end="air", kv=2e-4))
    return net


def pumped(pressure=3e5, **more) -> Network:
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("tank")
    net.hold("air")
    curve = Curve(flow=[0.0, 1e-4, 2e-4], pressure=[pressure, 0.6 * pressure, 0.0], **more)
    net.add(Link(name="pump", start="tank", end="out", curve=curve, one_way=1))
    net.add(tube("line", "out", "tap"))
    net.add(Link(name="tap", start="tap", end="air", kv=2e-4))
    return net


def test_a_shut_tap_lets_nothing_pass_and_shows_the_static_pressure():
    answer = gravity().solve(open={"tap": False})
    assert answer.flow["down"] == 0.0
    assert answer.pressure["tap"] == approx(1000 * G * 1.0, rel=1e-12)


def test_nothing_flows_between_equal_levels():
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("one", pressure=5e3)
    net.hold("other", pressure=5e3)
    net.add(tube("between", "one", "other"))
    answer = net.solve()
    assert answer.found.all()
    assert abs(answer.flow["between"]) < 1e-15


def test_a_dead_pump_gives_nothing():
    answer = pumped(pressure=0.0).solve()
    assert answer.found.all()
    assert abs(answer.flow["tap"]) < 1e-12


def test_a_reversed_check_valve_stops_everything():
    net = gravity()
    net = net.with_link("down", one_way=-1)
    answer = net.solve()
    assert answer.flow["tap"] == 0.0
    assert np.isnan(answer.pressure["tap"]) or answer.pressure["tap"] == approx(0.0)


def test_a_check_valve_costs_its_cracking_pressure_and_no_more():
    plain, checked = gravity(), gravity()
    checked = checked.with_link("down", one_way=1, cracking=2000.0)
    low = gravity()
    low = low.with_link("down", rise=-(1.0 - 2000.0 / (1000 * G)))
    assert checked.solve().flow["tap"] < plain.solve().flow["tap"]
    assert checked.solve().flow["tap"] == approx(low.solve().flow["tap"], rel=1e-10)


def test_a_drip_is_laminar():
    """Poiseuille: Q = π·Δp·D⁴ / (128·μ·L), from memory."""
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("tank", pressure=20.0)
    net.hold("air")
    net.add(Link(name="hair", start="tank", end="air", length=3.0, diameter=0.002))
    expected = np.pi * 20.0 * 0.002**4 / (128 * 1e-3 * 3.0)
    assert net.solve().flow["hair"] == approx(expected, rel=1e-12)


def test_a_regulator_holds_its_setting_and_passes_less_if_it_must():
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("shore", pressure=np.array([4e5, 2.0e5, 1e5]))
    net.hold("air")
    net.add(Link(name="regulator", start="shore", end="van", kv=4e-4, one_way=1, setting=2.5e5))
    net.add(Link(name="tap", start="van", end="air", kv=1e-4))
    answer = net.solve()
    assert answer.pressure["van"][0] == approx(2.5e5, rel=2e-3)
    assert answer.pressure["van"][1] < 2.0e5
    assert list(answer.holding["regulator"]) == [True, False, False]
    static = net.solve(open={"tap": False})
    assert static.pressure["van"] == approx(np.array([2.5e5, 2.0e5, 1e5]), rel=1e-6)


def test_a_regulator_lets_nothing_back():
    net = Network(density=1000.0)
    net.hold("shore", pressure=1e5)
    net.hold("van", pressure=3e5)
    net.add(Link(name="regulator", start="shore", end="van", kv=4e-4, one_way=1, setting=2.5e5))
    assert net.solve().flow["regulator"] == 0.0


def test_a_pump_above_its_cut_out_cycles_between_its_switch_points():
    net = pumped(cut_in=1.0e5, cut_out=1.6e5)
    net = net.with_link("tap", kv=4e-5)
    answer = net.solve()
    assert answer.cycling["pump"]
    assert 1.0e5 < answer.pressure["out"] < 1.6e5
    assert 0 < answer.running_share["pump"] < 1
    net = net.with_link("tap", kv=4e-4)
    wide = net.solve()
    assert not wide.cycling["pump"]
    assert wide.pressure["out"] < 1.6e5


def test_the_duty_point_lies_on_the_curve():
    answer = pumped().solve()
    flow, rise = answer.flow["pump"], answer.pressure["out"]
    assert rise == approx(np.interp(flow, [0.0, 1e-4, 2e-4], [3e5, 1.8e5, 0.0]), rel=1e-9)


def test_a_limited_fixture_holds_its_flow():
    net = Network(density=1000.0)
    net.hold("tank", pressure=np.array([0.5e5, 1e5, 3e5, 6e5]))
    net.hold("air")
    kv = 1e-4 / np.sqrt(1.0)
    net.add(Link(name="shower", start="tank", end="air", kv=kv, flow_limit=1e-4))
    flow = net.solve().flow["shower"]
    assert flow[0] == approx(1e-4 * np.sqrt(0.5), rel=1e-6)
    assert flow[1:] == approx(np.full(3, 1e-4), rel=6e-3)
    assert np.all(np.diff(flow) > 0)


def mixing(**more) -> Network:
    net = Network()
    net.hold("hot", pressure=2.0e5, temperature=more.pop("hot", 333.15))
    net.hold("cold", pressure=more.pop("cold", 2.0e5), temperature=288.15)
    net.hold("air")
    for side in ("hot", "cold"):
        net.add(tube(f"{side} run", side, f"{side} inlet"))
        net.add(Link(name=side, start=f"{side} inlet", end="mixed", kv=3e-4))
    net.mix(Mixer(hot="hot", cold="cold", setting=311.15, **more))
    net.add(Link(name="shower", start="mixed", end="air", kv=1e-4))
    return net


@given(st.floats(1.2e5, 4e5), st.floats(320.0, 350.0))
@settings(max_examples=cases(20), deadline=None)
def test_a_thermostatic_valve_holds_its_temperature(cold, hot):
    answer = mixing(cold=cold, hot=hot, thermostatic=True).solve()
    assert answer.found.all()
    position = answer.position["hot"]
    if 0.002 < position < 0.998:
        assert answer.temperature["mixed"] == approx(311.15, abs=1e-3)
        share = answer.mass_flow["hot"] / answer.mass_flow["shower"]
        assert share == approx((311.15 - 288.15) / (hot - 288.15), rel=1e-6)


def test_hot_share_as_published():
    """60 and 15 °C to 41 °C: 0.578 of the water is hot (heat balance)."""
    net = mixing(thermostatic=True)
    net = replace(net, mixers=(replace(net.mixers[0], setting=314.15),))
    answer = net.solve()
    assert answer.mass_flow["hot"] / answer.mass_flow["shower"] == approx(0.578, abs=0.001)


def test_a_fixed_valve_follows_its_supplies():
    net = mixing(position=0.5, cold=np.array([2.0e5, 1.9e5]))
    warm = net.solve().temperature["mixed"]
    assert warm[1] > warm[0] + 1.0


def test_water_crosses_a_valve_without_checks_when_its_outlet_is_shut():
    net = mixing(position=0.5, cold=1.9e5)
    answer = net.solve(open={"shower": False})
    assert answer.mass_flow["hot"] > 0.01
    assert answer.mass_flow["cold"] == approx(-answer.mass_flow["hot"], rel=1e-9)
    for side in ("hot", "cold"):
        net = net.with_link(side, one_way=1)
    shut = net.solve(open={"shower": False})
    assert shut.mass_flow["hot"] == 0.0 and shut.mass_flow["cold"] == 0.0


def heated(power, flow_least=0.0, kv=1e-4) -> Network:
    net = Network()
    net.hold("tank", pressure=1e5, temperature=288.15)
    net.hold("air")
    heat = Heat(setpoint=323.15, power=power, flow_least=flow_least)
    net.add(Link(name="heater", start="tank", end="hot", kv=4e-4, heat=heat))
    net.add(Link(name="tap", start="hot", end="air", kv=kv))
    return net


def test_a_flow_through_heater_gives_what_its_power_gives():
    answer = heated(6000.0).solve()
    rise = answer.temperature["hot"] - 288.15
    assert answer.mass_flow["tap"] * 4186.0 * rise == approx(6000.0, rel=1e-9)
    assert heated(60_000.0).solve().temperature["hot"] == approx(323.15, abs=1e-7)


def test_a_flow_through_heater_does_not_start_at_a_drip():
    answer = heated(6000.0, flow_least=3e-5, kv=1e-5).solve()
    assert answer.temperature["hot"] == approx(288.15, abs=1e-7)


@pytest.mark.parametrize("method", ["dense", "sparse"])
def test_both_ways_of_elimination_agree(method):
    net = mixing(thermostatic=True, cold=np.linspace(1.5e5, 2.5e5, 7))
    one, other = net.solve(method=method), net.solve()
    for name in ("hot", "cold", "shower"):
        assert one.mass_flow[name] == approx(other.mass_flow[name], rel=1e-9)


def test_a_batch_equals_its_variants_one_by_one():
    colds = np.linspace(1.2e5, 3e5, 90)
    batch = mixing(thermostatic=True, cold=colds).solve()
    for i in (0, 33, 89):
        one = mixing(thermostatic=True, cold=float(colds[i])).solve()
        assert batch.mass_flow["shower"][i] == approx(one.mass_flow["shower"], rel=1e-8)
        assert batch.temperature["mixed"][i] == approx(one.temperature["mixed"], abs=1e-6)


def test_links_in_a_row_add_up():
    """Water does not know where one run ends and the next begins."""
    net = Network(density=1000.0, viscosity=1e-3)
    net.hold("a", pressure=1e5)
    net.hold("b")
    for i, (start, end) in enumerate((("a", "x"), ("y", "x"), ("y", "b"))):
        net.add(tube(f"part {i}", start, end))
    whole = Network(density=1000.0, viscosity=1e-3)
    whole.hold("a", pressure=1e5)
    whole.hold("b")
    whole.add(tube("all", "a", "b", length=6.0))
    answer, plain = net.solve(), whole.solve()
    assert answer.flow["part 0"] == approx(plain.flow["all"], rel=1e-12)
    assert answer.flow["part 1"] == approx(-plain.flow["all"], rel=1e-12)
    assert answer.pressure["y"] == approx(1e5 / 3, rel=1e-9)


def test_what_is_asked_wrongly_is_told():
    net = Network()
    net.add(tube("one", "a", "b"))
    with pytest.raises(ValueError, match="no pressure is held anywhere"):
        net.solve()
    with pytest.raises(ValueError, match="two links are named 'one'"):
        net.add(tube("one", "b", "c"))
    net.add(tube("two", "b", "c"))
    with pytest.raises(ValueError, match="must end at one node"):
        net.mix(Mixer(hot="one", cold="two"))
    net.hold("a")
    with pytest.raises(KeyError, match="none"):
        net.solve(open={"none": True})


def test_a_part_that_nothing_reaches_has_no_pressure():
    net = gravity()
    net.add(tube("far", "x", "y"))
    answer = net.solve()
    assert np.isnan(answer.pressure["x"])
    assert answer.flow["far"] == 0.0
    assert answer.flow["tap"] > 0


@pytest.mark.parametrize(
    "figures, word",
    [
        ({"diameter": -0.01}, "diameter"),
        ({"kv": 0.0}, "kv"),
        ({"length": -1.0, "roughness": -1e-6}, "length and roughness"),
        ({"curve": Curve(flow=[0.0, 1e-4], pressure=[1e5, 2e5])}, "must fall"),
    ],
)
def test_a_size_that_nothing_has_is_refused(figures: dict[str, Any], word: str) -> None:
    with pytest.raises(ValueError, match=f"link 'odd': .*{word}"):
        Network().add(Link(name="odd", start="a", end="b", **figures))


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_leg_that_neither_warm_nor_cold_water_can_fill_stands_half_filled(share):
    """Hot water above, cold below, and a pressure below that water in between just balances.

    Hot water in the leg lets the cold push up, and cold water sinks and draws hot water in: there
    is only the balance in between, whose density follows from the pressures alone.
    """
    net = Network()
    cold, hot = 283.15, 333.15
    dense = [float(water_density.si(t)) for t in (cold, hot)]
    between = dense[0] + share * (dense[1] - dense[0])
    net.hold("above", pressure=0.0, temperature=hot)
    net.hold("below", pressure=between * G, temperature=cold)
    net.add(tube("leg", "above", "middle", length=0.5, rise=-0.5))
    net.add(tube("foot", "middle", "below", length=0.5, rise=-0.5, diameter=0.012))
    answer = net.solve()
    assert answer.found.all()
    assert abs(answer.mass_flow["leg"]) < 1e-4
    held = 0.5 * (answer.density["leg"] + answer.density["foot"])
    assert held == approx(between, abs=0.01)  # what the trickle loses by friction is the rest
    assert answer.exchanged.max() <= 1e-5


def test_one_system_alone_is_solved_as_beside_others():
    """Entries are not alike on both sides of the diagonal, as behind a thermostatic valve."""
    shape = Elimination(4, [(0, 1), (1, 2), (2, 3)])
    rng = np.random.default_rng(7)
    values, right = rng.uniform(-1.0, 1.0, (3, shape.size)), rng.uniform(-1.0, 1.0, (3, 4))
    values[:, [shape.entry[i, i] for i in range(4)]] += 5.0
    matrix = np.zeros((3, 4, 4))
    matrix[:, shape.rows, shape.cols] = values
    for method in ("dense", "sparse"):
        each = np.concatenate(
            [shape.solve(values[i : i + 1], right[i : i + 1], method) for i in range(3)]
        )
        assert (matrix @ each[..., None])[..., 0] == approx(right, abs=1e-12)
        assert each == approx(shape.solve(values, right, method), rel=1e-12, abs=1e-14)


@pytest.mark.parametrize("many", [5, ROW_BY_ROW])
def test_elimination_in_levels_solves_stars_chains_and_rings(many: int) -> None:
    """Unknowns that go together may give to the same entry, as the leaves of a star do."""
    star = [(0, i) for i in range(1, 8)]
    chain = [(i, i + 1) for i in range(7, 20)]
    shape = Elimination(21, [*star, *chain, (20, 3), (12, 16)])
    rng = np.random.default_rng(11)
    values, right = rng.uniform(-1.0, 0.0, (many, shape.size)), rng.uniform(-1.0, 1.0, (many, 21))
    values[:, [shape.entry[i, i] for i in range(21)]] = 9.0
    matrix = np.zeros((many, 21, 21))
    matrix[:, shape.rows, shape.cols] = values
    found = shape.solve(values, right, "sparse")
    assert (matrix @ found[..., None])[..., 0] == approx(right, abs=1e-12)
    assert len(shape.levels) < 10


def test_a_state_that_leaves_a_part_without_pressure_gives_the_least_change():
    """A pump that gets no water, tried on the way, cuts what is behind it off from any pressure."""
    shape = Elimination(3, [(0, 1)])
    values = np.zeros((1, shape.size))
    for cell, figure in {(0, 0): 1, (1, 1): 1, (0, 1): -1, (1, 0): -1, (2, 2): 4}.items():
        values[0, shape.entry[cell]] = figure
    for method in ("dense", "sparse"):
        found = shape.solve(values, np.array([[2.0, -2.0, 8.0]]), method)
        assert found[0] == approx([1.0, -1.0, 2.0])


def test_a_burner_that_is_plainly_lit_is_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in rounds, which no machine makes longer.  Near its least flow it is first out, and
    then begins where the unlit water ended: 25 rounds when each began anew, from half open."""
    flow = Flow(example("heron"))
    build, positions = flow.build, flow.positions
    counted: list[int] = []
    one_round = Batch.round

    def round_(batch: Batch, turn: int) -> Any:
        counted.append(turn)
        return one_round(batch, turn)

    def solved(least: float) -> Any:
        net = flow.made.net
        heat = net.link("heater").heat
        assert heat is not None
        net = net.with_link("heater", heat=replace(heat, flow_least=least))
        flags = open_flags(flow.made, [flow.fixtures], [flow.source])
        acting = [flow.made.self_acting]
        counted.clear()
        answer = net.solve(flags, positions=positions, thermostatic=acting)
        assert answer.found.all()
        return answer

    monkeypatch.setattr(Batch, "round", round_)
    at_once = solved(float(build.heater[0].flow_least))
    assert counted.count(0) == 1
    assert len(counted) <= 7
    near = solved(at_once.flow["heater"] / 1.1)
    assert counted.count(0) == 3, "at once, unlit, then lit"
    assert len(counted) <= 20
    assert near.temperature["heater.hot"] > build.van.cold_water + 20
    for name in flow.fixtures:
        assert near.flow[name] == approx(at_once.flow[name], rel=1e-9)
