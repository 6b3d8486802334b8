"""Rules on heaters beyond their setpoint: each speaks where it must, and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vanplumb.pack import Pack, example
from vanplumb.review import RULES, Finding
from vanplumb.van import Build
from vanplumb.van.parts import CheckValve, Run
from vanplumb.words.show import show

EXAMPLES = ("dipper", "heron", "wren")


def found(build: Build, name: str) -> list[Finding]:
    return list(RULES[name](Pack(build)))


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_left_alone(name: str) -> None:
    build = example(name)
    for rule in (
        "coolant_past_setpoint",
        "flow_through_without_relief",
        "vessel_cut_off_from_heater",
    ):
        assert found(build, rule) == []


def with_coil(kind: str) -> Build:
    """Dipper on the engine's coolant, its thermostat at only 45 °C."""
    build = example("dipper")
    heater = replace(build.heater[0], coolant_power=5000.0, burner_power=0.0, setpoint=311.15)
    valve = replace(build.mixing_valve[0], kind=kind, set_hot=318.15)
    return replace(build, heater=(heater,), mixing_valve=(valve,))


def test_coolant_is_told_at_every_outlet_without_a_thermostatic_valve() -> None:
    hits = found(with_coil("fixed"), "coolant_past_setpoint")
    assert {f.where for f in hits} == {"sink", "shower", "basin"}
    assert {f.severity for f in hits} == {"DANGER"}
    at_shower = next(f for f in hits if f.where == "shower")
    assert at_shower.value == pytest.approx(353.15)
    assert at_shower.limit == pytest.approx(120 / 1.8 + 459.67 / 1.8)  # 120 °F
    kept = found(with_coil("thermostatic"), "coolant_past_setpoint")
    assert {f.where for f in kept} == {"sink", "shower"}


def test_a_relief_valve_that_opens_on_heat_is_told_where_the_heater_gets_there() -> None:
    build = example("dipper")
    heater = build.heater[0]
    assert heater.relief_temperature is not None
    assert found(build, "relief_opens_on_heat_in_use") == []
    low = replace(heater, relief_temperature=heater.setpoint + heater.differential)
    (one,) = found(replace(build, heater=(low,)), "relief_opens_on_heat_in_use")
    assert one.severity == "WARNING" and one.value == one.limit == low.relief_temperature
    none = replace(heater, relief_temperature=None)
    assert found(replace(build, heater=(none,)), "relief_opens_on_heat_in_use") == []


def test_flow_through_heater_without_a_relief_valve() -> None:
    build = example("heron")
    bare = replace(build, heater=(replace(build.heater[0], relief=None),))
    assert [f.severity for f in found(bare, "flow_through_without_relief")] == ["WARNING"]
    open_line = replace(
        bare, check_valve=(), pump=tuple(replace(p, check=False) for p in bare.pump)
    )
    assert found(open_line, "flow_through_without_relief") == []


def checked(*, at: str, reversed: bool = False) -> Build:
    """Dipper with one more check valve, in the run to the heater or in the run from it."""
    build = example("dipper")
    new = CheckValve(name="extra check", reversed=reversed)
    runs: list[Run] = []
    for run in build.run:
        if getattr(run, at) != "heater":
            runs.append(run)
            continue
        runs.append(replace(run, end="extra check"))
        runs.append(replace(run, start="extra check", length=0.1, rise=0.0))
    return replace(build, check_valve=(*build.check_valve, new), run=tuple(runs))


def test_vessel_behind_a_check_valve_does_not_count() -> None:
    hits = found(checked(at="end"), "vessel_cut_off_from_heater")
    assert [f.severity for f in hits] == ["CAUTION"]
    assert "the pressure climbs at each heating" in hits[0].what


def test_vessel_that_is_still_reached_counts() -> None:
    # A check valve behind the heater bars nothing on the heater's cold side.
    assert found(checked(at="start"), "vessel_cut_off_from_heater") == []
    # The wrong way round it lets water back to the vessel, if none in from it.
    assert found(checked(at="end", reversed=True), "vessel_cut_off_from_heater") == []


def test_the_builders_own_limit_holds_for_a_plain_tap_too() -> None:
    build = example("heron")
    cooler = replace(build, heater=(replace(build.heater[0], setpoint=311.15),))
    assert build.limits.outlet_temperature == pytest.approx(313.15)
    (hit,) = RULES["unmixed_hot_at_fixture"](Pack(cooler))
    assert (hit.where, hit.limit) == ("galley", pytest.approx(313.15))
    assert "store" not in hit.advice  # it heats as it flows
    kept = replace(cooler.heater[0], kind="storage", volume=0.01)
    (hit,) = RULES["unmixed_hot_at_fixture"](Pack(replace(cooler, heater=(kept,))))
    assert "flush the store hot" in hit.advice
    free = replace(cooler, limits=replace(build.limits, outlet_temperature=None))
    # EN 806-2: 43 °C where anybody opens the tap; 38 °C and a differential are below it
    assert [f.limit for f in RULES["unmixed_hot_at_fixture"](Pack(free))] == []


@pytest.mark.parametrize("system", ["US", "SI"])
def test_water_hotter_than_the_setpoint_says_why(system: str) -> None:
    build = example("heron")
    build = replace(build, van=replace(build.van, units=system))
    heater = build.heater[0]
    (hit,) = RULES["unmixed_hot_at_fixture"](Pack(build))
    assert hit.value == pytest.approx(heater.setpoint + heater.differential)
    told = show(heater.setpoint, "temperature", system), show(heater.differential, "rise", system)
    assert f"The setpoint of {heater.name} is {told[0]}, and its thermostat may" in hit.what
    assert f"as much as {told[1]} above" in hit.what
    exact = replace(build, heater=(replace(heater, differential=0.0),))
    (hit,) = RULES["unmixed_hot_at_fixture"](Pack(exact))
    assert "setpoint" not in hit.what and hit.value == pytest.approx(heater.setpoint)


def test_the_worst_together_are_the_hottest() -> None:
    """By the balance of heat x = (98-57)/(140-57); 75 + x (148-75) is 111 °F.

    What the cold way loses to other taps makes it hotter still; 148 °F is the heater's hottest.
    """
    build = example("dipper")
    valve = replace(build.mixing_valve[0], kind="fixed", set_hot=333.15, set_cold=287.04)
    found = Pack(replace(build, mixing_valve=(valve,))).mixing["basin valve"]
    assert found.hottest is not None
    assert found.hottest.heater == "heater at its hottest"
    assert found.hottest.cold == "cold water of summer"
    balance = 75 + (98 - 57) / (140 - 57) * (148 - 75)
    assert balance < found.most * 1.8 - 459.67 < 148


def test_a_burner_high_up_is_told_to_be_weaker() -> None:
    """4 % for each 1000 ft above sea level, from 2000 ft on: 20 % at 5000 ft."""

    def at(height: float) -> list[str]:
        build = example("heron")
        high = replace(build, van=replace(build.van, altitude=height))
        return [f.what for f in RULES["burner_weaker_in_thin_air"](Pack(high))]

    assert at(200.0) == at(609.0) == []
    (said,) = at(1524.0)
    assert "some 20 %" in said


def test_relief_valve_is_held_against_all_heat_put_in() -> None:
    """Burner 10 000 Btu/h (2931 W) and element 1000 W together, by hand 3931 W."""
    build = example("dipper")

    def rated(**said: float) -> list[Finding]:
        heater = replace(build.heater[0], relief_capacity=None, relief_flow=None)
        return found(replace(build, heater=(replace(heater, **said),)), "relief_too_small")

    (unknown,) = rated()
    assert (unknown.severity, unknown.limit) == ("NOTICE", "not known")
    assert unknown.value == pytest.approx(3931, abs=1)
    assert rated(relief_capacity=3940.0) == []
    (small,) = rated(relief_capacity=3920.0)
    assert (small.severity, small.limit) == ("DANGER", 3920.0)
    # as water: 60 °C and its differential over cold, some 4.1 MJ/m³ K
    (slow,) = rated(relief_capacity=9000.0, relief_flow=1e-5)
    assert slow.limit == pytest.approx(1e-5 * 4.1e6 * 50, rel=0.15)
    assert rated(relief_flow=1e-4) == []
