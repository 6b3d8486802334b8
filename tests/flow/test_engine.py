"""The flow of the example builds: taps, pairs, sources, sweeps, limits, reasons, the chapter."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest import approx

from vanplumb import example
from vanplumb.chapters.flow import flow_chapter, main_moment
from vanplumb.flow.changed_build import vary
from vanplumb.flow.components import suction_pressure
from vanplumb.flow.engine import Flow
from vanplumb.van import loads
from vanplumb.van.parts import Tank
from vanplumb.van.ratings import rating_at
from vanplumb.words.tables import table

PSI = 6894.757


@pytest.fixture(scope="module")
def dipper() -> Flow:
    return Flow(example("dipper"))


@pytest.fixture(scope="module")
def heron() -> Flow:
    return Flow(example("heron"))


@pytest.fixture(autouse=True)
def _no_warning_leaks():
    with np.errstate(all="raise"):
        yield


def test_every_situation_of_every_example_closes(dipper, heron):
    for flow in (dipper, heron, Flow(example("wren"))):
        for moment in flow.situations:
            assert moment.found, moment
            assert moment.imbalance < 1e-9
            assert max(abs(k.left) for k in moment.links.values()) < 1e-9 * 6e5


def test_situations_hold_each_alone_each_pair_all_and_the_builds_own(heron):
    opens = {(frozenset(m.open), m.source) for m in heron.situations}
    names = heron.fixtures
    for a in names:
        assert (frozenset((a,)), "pump") in opens
        for b in names:
            assert (frozenset((a, b)), "pump") in opens
    assert (frozenset(names), "shore") in opens and (frozenset(), "pump") in opens
    assert heron.situation("shower while the dishes are done").open == ("shower", "galley")
    with pytest.raises(KeyError, match="no situation 'x'; there are"):
        heron.situation("x")


def test_a_tap_set_alone_gives_what_was_wanted(dipper):
    for name, wanted in (("sink", 112), ("shower", 104), ("basin", 98)):
        kelvin = (wanted + 459.67) / 1.8
        assert dipper.solve([name]).fixtures[name].temperature == approx(kelvin, abs=0.02)


def test_another_tap_takes_flow_and_changes_the_temperature(heron):
    tub = "laundry tub"  # behind a valve that was set once
    alone, both = heron.solve([tub]), heron.solve([tub, "galley"])
    assert both.fixtures[tub].flow < 0.9 * alone.fixtures[tub].flow
    assert both.fixtures[tub].temperature < alone.fixtures[tub].temperature - 2
    jump = next(j for j in heron.jumps if (j.fixture, j.other) == (tub, "galley"))
    assert jump.rise == approx(
        both.fixtures[tub].temperature - alone.fixtures[tub].temperature, abs=1e-6
    )


def test_a_thermostatic_valve_holds_beside_another_tap(heron):
    both = heron.solve(["shower", "laundry tub"])
    assert both.fixtures["shower"].temperature == approx(311.15, abs=0.05)


def test_the_pump_runs_on_its_curve_or_cycles_between_its_switch_points(dipper):
    wide = dipper.solve(dipper.fixtures).pumps["pump"]
    row = table("pumps")["12 V 3.4 gpm 50 psi"]
    flow, pressure = np.array(row["curve_flow"]), np.array(row["curve_pressure"])
    shift = flow.max() * (12.5 / 12.0 - 1)
    assert wide.flow == approx(np.interp(wide.rise, pressure, flow + shift), rel=1e-6)
    assert not wide.cycling
    narrow = dipper.solve(["sink"]).pumps["pump"]
    assert narrow.cycling and 0 < narrow.share_running < 1
    assert 37 * PSI < narrow.outlet < 50 * PSI


def test_starts_follow_from_what_the_accumulator_gives(dipper):
    """A cycle is the draw of what it stores and the filling of it again."""
    from vanplumb.formulas.heater import drawdown

    pump = dipper.solve(["sink"]).pumps["pump"]
    vessel = dipper.build.accumulator[0]
    air = 101325 * (1 - 0.0065 * 365.76 / 288.15) ** 5.2559  # standard atmosphere at 1200 ft
    stored = drawdown.si(vessel.volume, vessel.precharge, 37 * PSI, 50 * PSI, air)
    gives = pump.flow / pump.share_running
    # a little more flows while it fills than while it rests, which this leaves out
    assert pump.starts == approx(1 / (stored / pump.flow + stored / (gives - pump.flow)), rel=0.03)


def test_more_volts_more_water(dipper):
    frame = dipper.sweep(
        {"pump.pump.supply_voltage": ["10 V", "11 V", "12 V", "13 V"]}, open=["shower"]
    )
    assert np.all(np.diff(frame["shower flow, gpm"]) > 0)


def test_a_sweep_equals_moments_solved_one_by_one(heron):
    lengths, setpoints = ["0.5 m", "3 m"], ["45 °C", "50 °C"]
    frame = heron.sweep(
        {"run.9.length": lengths, "heater.heater.setpoint": setpoints}, open=["galley", "shower"]
    )
    assert len(frame) == 4 and frame["found"].all()
    for i, row in frame.iterrows():
        changes = {
            "run.9.length": lengths[i // 2],
            "heater.heater.setpoint": setpoints[i % 2],
        }
        one = Flow(vary(heron.build, changes)).solve(["galley", "shower"])
        for name in ("galley", "shower"):
            assert row[f"{name} flow, L/min"] == approx(one.fixtures[name].flow * 60_000, rel=1e-6)
            assert row[f"{name} temperature, °C"] == approx(
                one.fixtures[name].temperature - 273.15, abs=1e-4
            )


def test_a_sweep_in_step_and_over_words(dipper):
    frame = dipper.sweep(
        {
            "run.21.tube": ["PEX-B 3/8 in", "PEX-B 1/2 in"],
            "zone.hot manifold.wet room.opening": [1, 0.5],
        },
        open=["shower"],
        grid=False,
    )
    assert list(frame["run.21.tube"]) == ["PEX-B 3/8 in", "PEX-B 1/2 in"]
    assert frame.attrs["units"]["shower flow, gpm"] == "gpm"
    curves = dipper.sweep(
        {"pump.pump.curve": ["12 V 2.0 gpm 30 psi", "12 V 3.4 gpm 50 psi"]}, open=["shower"]
    )
    assert curves["shower flow, gpm"][1] > curves["shower flow, gpm"][0]
    with pytest.raises(ValueError, match="equally long"):
        dipper.sweep({"run.21.length": ["1 ft"], "run.22.length": ["1 ft", "2 ft"]}, grid=False)
    with pytest.raises(ValueError, match=r"run\.99\.length: names no part"):
        dipper.sweep({"run.99.length": ["1 ft"]})


def test_shares_of_the_pressure_add_up(dipper):
    found = dipper.limits("shower")
    for side in ("hot", "cold"):
        way = found.ways[side]
        assert sum(s.loss for s in way if s.loss > 0) == approx(found.given[side], rel=2e-3)
        assert way[-1].name == "shower"
    assert dipper.limits("basin").worst.kind in ("run", "mixing valve", "strainer")
    with pytest.raises(ValueError, match="no fixture 'x'"):
        dipper.limits("x", open=["shower"])
    with pytest.raises(ValueError, match="nothing flows at basin"):
        dipper.limits("basin", open=["shower"])


def test_shore_water_comes_through_the_regulator(dipper):
    static = dipper.solve([], source="shore")
    setting = 45 * PSI
    assert static.nodes["regulator.outlet"].pressure == approx(setting, rel=1e-3)
    assert dipper.solve(["shower"], source="shore").pumps["pump"].flow == approx(0, abs=1e-12)


def test_an_accumulator_pushes_at_the_moment_that_it_is_full(dipper):
    pushed = dipper.solve(["shower"], source="gravity", accumulator="40 psi")
    assert pushed.fixtures["shower"].flow > 1e-5
    assert pushed.links["accumulator"].flow < 0
    assert dipper.solve(["shower"], source="gravity").fixtures["shower"].flow < 1e-9


def test_reasons_are_told(dipper):
    assert dipper.solve([]).reasons == ("every fixture is shut, so nothing flows",)
    dry = dipper.solve(["shower"], changes={"tank.fresh.fill_share": 0.02})
    assert dry.reasons[0] == "the water stands below the pickup: the pump runs dry"
    assert dry.fixtures["shower"].flow == 0.0
    deep = dipper.solve(["shower"], changes={"run.2.rise": "9 ft", "run.2.length": "9 ft"})
    assert "lies deeper than it can lift" in deep.reasons[0]
    with pytest.raises(ValueError, match="no fixture 'bath'; there are basin, drinking tap"):
        dipper.solve(["bath"])
    with pytest.raises(ValueError, match="source must be one of pump, shore, gravity, got 'rain'"):
        dipper.solve(["shower"], source="rain")


def test_wrong_changes_are_told_at_once(dipper):
    with pytest.raises(ValueError) as told:
        dipper.solve(changes={"heater.heater.setpoint": "5 gal", "van.wheels": 4, "moon": 1})
    for part in ("heater.heater.setpoint: needs a temperature", "van.wheels: has no value", "moon"):
        assert part in str(told.value)


def test_a_tank_higher_up_gives_more(dipper):
    """A foot of water is 0.4335 psi (NIST SP 811 factors)."""
    low, high = (
        dipper.solve([], source="gravity", changes={"run.1.rise": rise, "run.1.length": "2 ft"})
        for rise in ("0 in", "-1 ft")
    )
    gained = high.nodes["pump.inlet"].pressure - low.nodes["pump.inlet"].pressure
    assert gained / PSI == approx(0.4335, rel=2e-3)


def test_what_keeps_water_from_boiling_at_the_pump_is_air_and_column_less_its_vapour() -> None:
    """By hand: standard air of 101.325 kPa; water at 50 °F boils at 1.228 kPa, steam tables."""
    moment = Flow(vary(example("dipper"), {"van.altitude": 0.0, "van.cold_water": 283.15})).solve(
        ["sink"]
    )
    pump = moment.pumps["pump"]
    assert pump.npsh == approx((101325 + pump.inlet - 1228) / (999.7 * 9.80665), rel=1e-4)


def test_a_pickup_has_the_water_above_it_and_not_that_below():
    """By hand: 12 in deep and half full, a pickup 1 in up: 5 in stand on it.

    One inch of water of 60 °F is 248.84 Pa (NIST SP 811, from memory).
    """
    box = {"shape": "box", "length": 0.6, "width": 0.4, "height": 12 * 0.0254}
    tank = Tank(name="box", **box, fill_share=0.5, pickup_height=0.0254)
    assert suction_pressure(tank, 999.016) == approx(5 * 248.84, rel=1e-4)


def test_a_tap_turned_wholly_cold_loses_as_much_in_its_cartridge_as_in_its_spout(dipper):
    moment = dipper.solve({"sink": "cold"})
    before, inside = (moment.nodes[f"sink.{at}"].pressure for at in ("cold", "mixed"))
    assert inside > 1e3
    assert before - inside == approx(inside, rel=1e-3)  # into the open: all that is left


def test_height_of_the_van_moves_nothing_but_suction(dipper):
    sea, mountain = (
        dipper.solve(["shower"], changes={"van.altitude": h}) for h in ("0 m", "3000 m")
    )
    assert sea.fixtures["shower"].flow == approx(mountain.fixtures["shower"].flow, rel=1e-12)
    lost = sea.pumps["pump"].npsh - mountain.pumps["pump"].npsh
    assert lost == approx((101.3e3 - 70.1e3) / 9800, rel=0.01)  # ISA: 101.3 and 70.1 kPa


def test_water_hammer_stays_between_slow_and_sudden(dipper):
    for surge in dipper.surges:
        assert 0 < surge.rise < 1000 * surge.wave * surge.speed
        assert surge.wave < 1000  # plastic tube: far slower than in steel
        tube = table("tubes")["PEX 1/2 in"]
        if surge.rating is not None:
            assert surge.rating <= rating_at(tube, 280.0) * 1.001


def test_a_surge_counts_each_run_with_its_own_wave(heron):
    """There and back is the sum over the runs, each with the wave of its own wall: Korteweg's
    formula written out, with 2.2 to 2.4 GPa for water between 10 and 60 °C."""
    tubes, give = table("tubes", heron.build.rows), table("give", heron.build.rows)

    def wave(name: str, water: float) -> float:
        row = tubes[name]
        wall = row["wall"] or (row["od"] - row["bore"]) / 2
        soft = water * row["bore"] / (give[row["material"]].number("modulus") * wall)
        return math.sqrt(water / 990 / (1 + soft))

    bands = [(wave(r.tube, 2.1e9) * 0.99, wave(r.tube, 2.4e9) * 1.01) for r in heron.build.run]
    for surge in heron.surges:
        ways = [w.value for w in surge.works if w.name == "reflection_time"]
        assert surge.back == approx(sum(ways))
        assert any(low < surge.wave < high for low, high in bands)
        mean = 2 * surge.length / surge.back
        assert min(low for low, _ in bands) < mean < max(high for _, high in bands)
        assert surge.rise <= surge.instant * (1 + 1e-9)
        if surge.shutting > surge.back:
            assert surge.rise == approx(surge.instant * surge.back / surge.shutting)


def test_the_chapter_can_be_checked_by_hand(dipper):
    made = flow_chapter(dipper)
    network = next(g for g in made.grids if g.key == "network")
    moment = main_moment(dipper)
    assert max(abs(k.left) for k in moment.links.values()) < 1e-4
    assert max(abs(n.left) for n in moment.nodes.values()) < 1e-10
    assert "each loss to within 0.0000001 % of the greatest" in network.note
    nodes = next(g for g in made.grids if g.key == "nodes")
    assert "to within 0.0000001 % of the greatest flow" in nodes.note
    worked = [a for a in made.answers if a.work]
    assert worked and all(math.isfinite(w.value) for a in worked for w in a.work)
    for grid in made.grids:
        grid.shown("US"), grid.shown("SI")


def test_a_build_without_a_way_for_water_says_so():
    text = 'format = 1\n[van]\nname = "Dry"\nunits = "SI"\n'
    flow = Flow(loads(text))
    assert flow.problem == "the build names no fixture"
    assert flow_chapter(flow).not_computed == ("Pressures and flows: the build names no fixture.",)


def test_rises_that_do_not_close_are_told():
    build = example("dipper")
    flow = Flow(vary(build, {"run.12.rise": "20 in"}))
    assert sum(gap > 0.1 for gap in flow.made.gaps.values()) >= 1
    assert Flow(build).made.gaps == {}
