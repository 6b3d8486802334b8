"""The highest pressure that each part may see, against hand sums, a library's water and laws."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from iapws import IAPWS95

from tests.examples import pack_of
from vanplumb import Pack, example
from vanplumb.flow.closed_heating import MARGIN, QUICK, RECKONED, SLOW, pressure_after
from vanplumb.flow.service_pressure import ServicePressures, service_pressures
from vanplumb.review import RULES, pressure
from vanplumb.van.kinds.heaters import COOLANT
from vanplumb.van.model import Build, Port
from vanplumb.van.parts import Heater, Run, ShoreInlet

PSI = 6894.757
AIR = 101325 * (1 - 0.0065 * 365.76 / 288.15) ** 5.2559
"""Standard atmosphere at 1200 ft, where Dipper camps, Pa (ISO 2533)."""


def dense(kelvin: float) -> float:
    return float(IAPWS95(T=kelvin, P=0.101325).rho)


def changed(build: Build, **parts: Any) -> Build:
    """Figures of the first part of some kinds."""
    said = {}
    for kind, values in parts.items():
        first, *rest = getattr(build, kind)
        said[kind] = (replace(first, **values), *rest)
    return replace(build, **said)


def rules(build: Build) -> dict[str, str]:
    """What the rules on pressure find, and how bad that is."""
    pack = Pack(build)
    mine = {name: one for name, one in RULES.items() if one.__module__ == pressure.__name__}
    return {name: found.severity for name, one in mine.items() for found in one(pack)}


def test_dippers_growth_and_cushion_by_hand() -> None:
    """5 gal from 57 °F to the setpoint and its differential, 148 °F; the vessel takes most."""
    (one,) = service_pressures(example("dipper")).heatings
    cold, hot = (57 + 459.67) / 1.8, (140 + 8 + 459.67) / 1.8
    growth = 5 * 3.785411784e-3 * (dense(cold) / dense(hot) - 1)
    assert one.hottest == pytest.approx(hot, abs=0.01)
    assert one.growth == pytest.approx(growth, rel=0.002)
    vessel = 68 * 29.5735e-6
    for exponent, found in ((SLOW, one.slow), (RECKONED, one.pressure), (QUICK, one.quick)):
        cushion = vessel * ((35 * PSI + AIR) / (one.start + AIR)) ** (1 / exponent)
        left = cushion - (growth - one.compliance * (found - one.start))
        alone = (one.start + AIR) * (cushion / left) ** exponent - AIR
        assert found == pytest.approx(alone, rel=0.01)
    assert one.slow < one.pressure < one.quick


def test_it_begins_at_the_cut_out_less_the_height() -> None:
    """The pump's cut-out, 50 psi, is above the regulator's 45; the column of water counts."""
    found = service_pressures(example("dipper"))
    (one,) = found.heatings
    drop = found.height["pump"] - found.height["heater"]
    assert one.start == pytest.approx(50 * PSI + dense(287.0) * 9.80665 * drop, abs=60)
    assert found.held.supply == pytest.approx(50 * PSI, rel=1e-3)


def test_without_a_vessel_the_relief_valve_opens_and_drips() -> None:
    build = replace(example("dipper"), accumulator=())
    build = replace(build, run=tuple(r for r in build.run if r.end != "accumulator"))
    (one,) = service_pressures(build).heatings
    assert one.opens and one.opens_at is not None and one.relief is not None
    assert build.van.cold_water < one.opens_at < one.hottest
    assert 0 < one.discharge < one.growth
    assert one.pressure == pytest.approx(one.bare, rel=1e-6)
    assert one.end == one.relief


def test_the_least_vessel_stays_its_margin_under_the_lowest_rating() -> None:
    build = example("dipper")
    (one,) = service_pressures(build).heatings
    assert one.vessel is not None and one.limit is not None and one.relief is not None
    assert one.limit.pressure < one.relief, "hot tube bears less than the valve opens at"
    vessel = replace(build.accumulator[0], volume=one.vessel, precharge=one.start)
    end = pressure_after(np.array([one.growth]), one.start, 1e-18, (vessel,), AIR)[0]
    assert end == pytest.approx((1 - MARGIN) * one.limit.pressure, rel=1e-3)


def test_water_that_can_go_back_to_the_tank_stays_at_its_pressure() -> None:
    build = example("heron")
    assert not build.check_valve
    (one,) = service_pressures(changed(build, pump={"check": False})).heatings
    assert not one.closed and not one.opens
    assert one.end == one.start
    assert service_pressures(example("wren")).heatings == ()


def test_pressure_climbs_with_every_kelvin_and_takes_up_all_growth() -> None:
    for name in ("heron", "dipper"):
        (one,) = service_pressures(example(name)).heatings
        _, pressure = one.path
        assert (np.diff(pressure) >= 0).all() and pressure[0] == pytest.approx(one.start)
        assert abs(one.works["pressure"].steps[-1].value) < 1e-6, "the residual of the solved"


def test_coolant_makes_it_hotter_than_the_setpoint() -> None:
    plain = service_pressures(example("dipper")).heatings[0]
    heated = service_pressures(changed(example("dipper"), heater={"coolant_power": 5e3}))
    assert heated.heatings[0].hottest == COOLANT
    assert heated.heatings[0].growth > 1.3 * plain.growth


def test_the_cold_side_behind_the_check_valve_sees_the_heating_too() -> None:
    build = example("dipper")
    found = service_pressures(build)
    cold = found.at(Port("sink", "cold"))
    assert cold.heated is not None and cold.value == cold.heated > cold.supply
    before = found.at(Port("pump check", "inlet"))
    assert before.heated is None and before.value == pytest.approx(50 * PSI, rel=1e-3)
    suction = found.at(Port("pump", "inlet"))
    assert suction.value < 0.1e5, "the suction side sees the tank's column only"


def test_shore_water_without_its_regulator_counts_where_it_gets_to() -> None:
    build = example("dipper")
    found = service_pressures(build)
    inlet = found.at(Port("regulator", "inlet"))
    assert inlet.supply == pytest.approx(55 * PSI, rel=1e-3)
    assert found.supply.supply < 53 * PSI, "what stands before a regulator is not in service"
    ends = {("shore inlet", "regulator"), ("regulator", "shore check")}
    runs = [r for r in build.run if (r.start, r.end) not in ends]
    first = next(r for r in build.run if (r.start, r.end) == ("shore inlet", "regulator"))
    bare = replace(build, regulator=(), run=(*runs, replace(first, end="shore check")))
    assert service_pressures(bare).supply.supply == pytest.approx(55 * PSI, rel=0.02)


def with_second_heater(above: float) -> Build:
    """Dipper with another such heater before its own, so many metres higher."""
    build = example("dipper")
    second = replace(build.heater[0], name="second")
    runs: list[Run] = []
    for run in build.run:
        if run.end == "heater":
            runs.append(replace(run, end="second", rise=run.rise + above))
            runs.append(replace(run, start="second", length=above + 0.2, rise=-above))
        else:
            runs.append(run)
    return replace(build, heater=(*build.heater, second), run=tuple(runs))


def test_two_heaters_on_the_same_water_grow_together() -> None:
    build, both = example("dipper"), with_second_heater(0.0)
    (one,) = service_pressures(both).heatings  # one water, one heat-up
    assert set(one.heaters) == {"heater", "second"}
    alone = service_pressures(build).heatings[0]
    assert one.growth == pytest.approx(2 * alone.growth, rel=1e-9)
    assert one.pressure > alone.pressure
    swapped = service_pressures(replace(both, heater=both.heater[::-1]))
    assert swapped.heatings[0].end == pytest.approx(one.end)


def test_what_is_printed_first_is_what_the_table_has_for_each_of_two_heaters() -> None:
    """The second hangs a metre higher: less by the water between them, and the same in both."""
    found = service_pressures(with_second_heater(1.0))
    (one,) = found.heatings
    assert one.heater == "heater" and found.of_part("heater").value == pytest.approx(one.end)
    above = found.of_part("second").value
    assert one.end - above == pytest.approx(found.column * 1.0)


def test_a_cut_out_above_the_relief_is_a_danger() -> None:
    """The relief valve stands open all the time, whether the pump or the shore holds it."""
    high = changed(example("dipper"), pump={"cut_in": 140 * PSI, "cut_out": 155 * PSI})
    assert rules(high)["relief_stands_open"] == "DANGER"
    shore = changed(example("dipper"), shore_inlet={"pressure": 2e6}, regulator={"setting": 11e5})
    assert rules(shore)["relief_stands_open"] == "DANGER"
    near = changed(example("dipper"), pump={"cut_in": 120 * PSI, "cut_out": 140 * PSI})
    assert rules(near)["relief_stands_open"] == "CAUTION"
    assert "relief_stands_open" not in rules(example("dipper"))


def test_a_vessel_too_small_lets_the_relief_valve_open_at_each_heating() -> None:
    small = changed(example("dipper"), accumulator={"volume": 0.12e-3})
    assert rules(small)["relief_opens_at_each_heating"] == "CAUTION"
    assert "relief_opens_at_each_heating" not in rules(example("dipper"))


def test_a_supply_above_a_rating_is_found_at_heater_and_vessel() -> None:
    build = changed(
        example("dipper"),
        pump={"cut_in": 60 * PSI, "cut_out": 90 * PSI},
        heater={"pressure_rating": 80 * PSI, "relief": 75 * PSI},
        accumulator={"pressure_rating": 85 * PSI},
    )
    found = rules(build)
    assert found["heater_over_rating"] == "DANGER"
    assert found["vessel_over_rating"] == "WARNING"
    assert found["relief_stands_open"] == "DANGER"


def test_a_stated_working_pressure_below_what_the_parts_make_is_found() -> None:
    build = example("dipper")
    low = replace(build, limits=replace(build.limits, working_pressure=30 * PSI))
    assert rules(low)["stated_working_pressure_exceeded"] == "WARNING"
    high = replace(build, limits=replace(build.limits, working_pressure=149 * PSI))
    assert "stated_working_pressure_exceeded" not in rules(high)


def test_heated_past_what_holds_it_without_a_relief_valve_is_a_danger() -> None:
    build = replace(example("dipper"), accumulator=())
    build = replace(build, run=tuple(r for r in build.run if r.end != "accumulator"))
    (past,) = RULES["heated_past_a_rating"](Pack(changed(build, heater={"relief": None})))
    assert past.severity == "DANGER" and isinstance(past.value, str)
    assert "past" in past.value, "no pressure is printed that nothing would live to see"


def test_order_names_and_unused_parts_change_nothing() -> None:
    build = example("dipper")
    plain = service_pressures(build)
    turned = replace(
        build,
        run=build.run[::-1],
        shut_off=build.shut_off[::-1],
        check_valve=build.check_valve[::-1],
        fixture=build.fixture[::-1],
    )
    unused = replace(
        build,
        heater=(*build.heater, Heater(name="spare", kind="storage", volume=0.01, setpoint=350.0)),
        shore_inlet=(*build.shore_inlet, ShoreInlet(name="loose", pressure=9e5)),
    )
    for other in (turned, unused):
        found = service_pressures(other)
        for part in plain.height:
            assert found.of_part(part).value == pytest.approx(plain.of_part(part).value, rel=1e-9)


def _table(pack: Pack) -> dict[str, float]:
    chapter = next(c for c in pack.chapters if c.key == "expansion")
    return {str(row[0]): row[4] for row in chapter.grids[0].rows}


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_one_pressure_in_every_chapter(name: str) -> None:
    """The table, the owner's paper, the test and the findings read the same engine."""
    pack = pack_of(name)
    found: ServicePressures = pack.pressures
    assert max(_table(pack).values()) >= found.highest.value - 1.0
    owner = next(a for a in hand_over(pack).answers if a.label == "highest pressure in service")
    assert owner.value == pytest.approx(found.highest.value)
    stated = pack.build.limits.working_pressure or 0.0
    assert pack.shop.test.working == pytest.approx(max(found.highest.value, stated))
    for finding in pack.findings:
        if finding.rule == "heater_over_rating":
            assert finding.value == pytest.approx(found.of_part(finding.where).value)


def hand_over(pack: Pack) -> Any:
    from vanplumb.chapters.hand_over import owner_paper

    return owner_paper(pack.shop)
