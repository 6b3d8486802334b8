"""What a kind of part does is written once, in its module, and asked there by everybody."""

from __future__ import annotations

import ast
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from vanplumb import example, loads
from vanplumb.flow.pumps import pump_curve
from vanplumb.trip.stay.pumping import pumping_of
from vanplumb.van.kinds import heaters, mixing_valves, pumps
from vanplumb.van.parts import Heater, MixingValve, Pump

PACKAGE = Path(__file__).parents[2] / "vanplumb"
WORDS = {*pumps.KINDS, *heaters.KINDS, mixing_valves.FIXED, mixing_valves.THERMOSTATIC}
OWN = {"flow/mixing/valve.py", "flow/mixing/check.py", "worksheets/van/heater.py"}
"""Files with a valve or a form of their own, which is no part of a build."""


def choices(part: type) -> set[str]:
    entry = next(f for f in fields(part) if f.name == "kind").metadata["entry"]
    return set(entry.options)


def test_every_kind_of_the_build_file_is_written_down() -> None:
    assert choices(Pump) == set(pumps.KINDS)
    assert choices(Heater) == set(heaters.KINDS)
    assert choices(MixingValve) == {mixing_valves.FIXED, mixing_valves.THERMOSTATIC}


def compared(source: str) -> list[str]:
    """Where a text compares somebody's kind with a word of pumps, heaters or valves."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare) and ast.unparse(node.left).endswith(".kind"):
            words = {n.value for n in ast.walk(node) if isinstance(n, ast.Constant)}
            if words & WORDS:
                found.append(f"line {node.lineno}: {ast.unparse(node)}")
    return found


def test_nobody_asks_for_the_word_of_a_kind() -> None:
    found = {}
    for path in PACKAGE.rglob("*.py"):
        name = path.relative_to(PACKAGE).as_posix()
        if name not in OWN and (lines := compared(path.read_text(encoding="utf-8"))):
            found[name] = lines
    assert found == {}


def test_a_word_that_is_asked_for_would_be_noticed() -> None:
    asked = compared('if pump.kind == "electric":\n    pass\n')
    assert asked == ["line 1: pump.kind == 'electric'"]


def test_a_coil_in_a_store_is_a_store_and_one_without_is_none() -> None:
    coil = Heater(name="coil", kind="coolant coil", setpoint=333.0, coolant_power=5e3)
    assert not heaters.has_store(coil) and heaters.content(coil) == heaters.FLOW_THROUGH_CONTENT
    assert heaters.has_store(replace(coil, volume=0.015))
    through = Heater(name="t", kind="flow-through", setpoint=323.0, volume=6e-4, burner_power=1e4)
    assert not heaters.has_store(through) and heaters.follows_flow(through)


def test_heat_comes_from_the_burner_first_and_all_sources_add_up() -> None:
    both = Heater(
        name="h", kind="storage", setpoint=333.0, volume=0.01, burner_power=2000.0,
        burner_efficiency=0.8, element_power=500.0, coolant_power=300.0,
    )  # fmt: skip
    assert [s.name for s in heaters.sources(both)] == ["burner", "element", "coolant"]
    first = heaters.first_source(both)
    assert first is not None and first.power * first.efficiency == pytest.approx(1600.0)
    assert float(heaters.most_power(both)) == pytest.approx(1600 + 500 + 300)
    assert heaters.hottest(both) == heaters.COOLANT
    assert heaters.hottest(replace(both, coolant_power=0.0)) == pytest.approx(338.0)


@pytest.mark.parametrize("voltage, mains", [(12.0, False), (48.0, False), (120.0, True)])
def test_mains_begins_above_extra_low_voltage(voltage: float, mains: bool) -> None:
    """IEC 61140: 50 V a.c.; what is above it is fed through the inverter."""
    build = example("dipper")
    heater = replace(build.heater[0], element_power=400.0, element_voltage=voltage)
    assert heaters.on_mains(heater) is mains
    assert build.battery is not None
    expected = build.battery.inverter_efficiency if mains else 1.0
    assert heaters.inverter_efficiency(build, heater) == expected


def test_a_pump_without_a_switch_gives_the_top_of_its_curve() -> None:
    """Rows of the table: 0.55 bar for the submersible one, 40 psi where the switch stops."""
    build = example("dipper")
    sunk = Pump(name="p", kind="electric", curve="12 V submersible 8 L/min")
    assert pumps.highest(build, sunk)[0] == pytest.approx(0.55e5)
    assert not pumps.has_switch(build, sunk)
    switched = Pump(name="p", kind="electric", curve="12 V 2.8 gpm 40 psi")
    assert pumps.highest(build, switched)[0] == pytest.approx(40 * 6894.757, rel=1e-6)
    foot = Pump(name="p", kind="foot", curve="foot pump")
    assert pumps.points(build, foot) is None and not pumps.holds_back(build, foot)
    assert pumps.stroke_volume(build, foot) == pytest.approx(0.2e-3)
    assert pumps.stroke_volume(build, replace(foot, curve="")) == pumps.STROKE_VOLUME


def test_a_pump_by_strokes_is_as_its_row_says_unless_the_file_does() -> None:
    """The printed row of the hand pump: 0.10 L, 40 strokes a minute, 0.5 bar at the most."""
    build = example("wren")
    hand = Pump(name="h", kind="hand", curve="hand pump")
    assert float(pumps.stroke_flow(build, hand)) == pytest.approx(0.1e-3 * 40 / 60)
    assert pumps.highest(build, hand)[0] == pytest.approx(0.5e5)
    own = replace(hand, stroke_rate=0.5, stroke_pressure=0.3e5)
    assert float(pumps.stroke_flow(build, own)) == pytest.approx(0.05e-3)
    assert pumps.highest(build, own)[0] == pytest.approx(0.3e5)
    assert pumps.lift(build, hand) == pytest.approx(0.8)
    assert pumps.lift(build, replace(own, lift=0.5)) == 0.5
    sunk = Pump(name="s", kind="electric", curve="12 V submersible 8 L/min")
    assert pumps.has_check(build, hand) and not pumps.has_check(build, sunk)
    assert pumps.has_check(build, replace(sunk, check=True))
    with pytest.raises(ValueError, match="some of its curves"):
        pumps.has_check(build, replace(sunk, curve=np.array([sunk.curve, "12 V 2.0 gpm 30 psi"])))


def test_a_row_of_another_voltage_gives_its_own_flow_and_power() -> None:
    """One's own row at 24 V: fed with 24 V it runs on its printed curve, not at twice its speed."""
    text = example("dipper").text
    row = '\n[[rows.pumps]]\nname = "big"\nlike = "12 V 2.8 gpm 40 psi"\nvoltage = "24 V"\n'
    build = loads(text + row)
    pump = replace(build.pump[0], curve="big", supply_voltage=24.0)
    plain = replace(build.pump[0], curve="12 V 2.8 gpm 40 psi", supply_voltage=None)
    assert pump_curve(build, pump).flow == pytest.approx(pump_curve(build, plain).flow)
    told = pumping_of(build, replace(pump, supply_voltage=None))
    assert told.power == pytest.approx(2 * pumping_of(build, plain).power)
