"""A test of a van whose waters no tube joins: one gauge sees one of them."""

from __future__ import annotations

from math import pi

import pytest
from pytest import approx

from tests.waters_apart import THREE_WATERS
from vanplumb.chapters.hand_over import owner_paper
from vanplumb.chapters.owner_page import _switch
from vanplumb.pack import Pack
from vanplumb.shop.test.pressure_test import plan_test
from vanplumb.shop.test.stiffness import stiffness, under_test
from vanplumb.van import loads


def test_a_gauge_sees_the_line_of_its_own_pump_only() -> None:
    build = loads(THREE_WATERS)
    seen = under_test(build)
    titles = [(build.run[i].start, build.run[i].end) for i in seen.runs]
    assert titles == [("pump", "shower")]
    assert [[build.run[i].start for i in one] for one in seen.apart] == [["pedal"]]
    assert seen.falling == ("galley",) and seen.heaters == ()
    # 3 m of 12 mm bore, and nothing of the hose, which gives fifty times as much, or of the store
    assert stiffness(build, 2e5).volume == approx(pi / 4 * 0.012**2 * 3.0)
    alone = (
        THREE_WATERS[: THREE_WATERS.index("[[tank]]")]
        + THREE_WATERS[THREE_WATERS.index('[[tank]]\nname = "wash tank"') :]
    )
    assert stiffness(build, 2e5).compliance == approx(stiffness(loads(alone), 2e5).compliance)


def test_what_it_does_not_see_is_told_and_bounds_nothing() -> None:
    plan = plan_test(loads(THREE_WATERS))
    assert {bound.part for bound in plan.bounds} == {"PE-X 16x2.0"}
    beside = plan.steps[-2:]
    assert beside[0].startswith("the line of spout is not joined to this one: test it by itself")
    assert beside[1].startswith("water only runs down to galley, past no pump")
    assert not any("relief valve" in step for step in plan.steps)


def test_a_heater_that_is_shut_off_holds_none_of_the_water_under_test(text: str) -> None:
    low = plan_test(loads(text.replace("[shop]", '[shop]\ntest_pressure = "60 psi"')))
    high = plan_test(loads(text.replace("[shop]", '[shop]\ntest_pressure = "120 psi"')))
    assert low.relief_stays and not high.relief_stays
    gallons = 6 * 3.785411784e-3  # the heater's, by the build file
    assert low.stiffness.volume - high.stiffness.volume == approx(gallons, rel=1e-6)
    assert any("heater with its relief valve" in step for step in high.steps)


def test_the_owner_reads_which_tank_feeds_what_and_where_a_drain_sits() -> None:
    drain = (
        '[[drain_valve]]\nname = "low drain"\n[[tee]]\nname = "low tee"\n'
        '[[run]]\nfrom = "low tee"\nto = "low drain"\ntube = "PE-X 16x2.0"\nlength = "0.2 m"\n'
        'place = "underfloor"\n'
        '[[run]]\nfrom = "low tee"\nto = "shower"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
    )
    text = THREE_WATERS.replace('from = "pump"\nto = "shower"', 'from = "pump"\nto = "low tee"')
    coil = text.replace(
        'element_power = "200 W"\nelement_voltage = "12 V"', 'coolant_power = "5 kW"'
    )
    pack = Pack(loads(coil + drain))
    assert list(_switch(pack.build)) == [
        "the roof tank feeds galley alone",
        "the can feeds spout alone",
        "the wash tank feeds shower alone",
        "no pipe joins the tanks: none helps out when another is empty",
    ]
    paper = owner_paper(pack.shop)
    [where] = [g for g in paper.grids if g.title == "What is where"]
    assert {row[0]: row[2] for row in where.rows}["low drain"] == "underfloor"
    [hot] = [a for a in paper.answers if "may get as hot" in a.label]
    assert hot.note.startswith("by the engine's coolant")


@pytest.mark.parametrize("pressure, spoken", [("1.5 bar", 1), ("9 bar", 0)])
def test_a_test_below_its_rule_is_found(pressure: str, spoken: int) -> None:
    """EN 806-4 as the UK takes it: 1.1 times 1.5 times the highest in service."""
    from types import SimpleNamespace

    from vanplumb.review import RULES

    more = f'region = "UK"\n[shop]\ntest_pressure = "{pressure}"\n'
    text = THREE_WATERS.replace('units = "SI"\n', 'units = "SI"\n' + more)
    plan = plan_test(loads(text))
    assert plan.asked == approx(1.65 * plan.working)
    answers = SimpleNamespace(shop=SimpleNamespace(test=plan), build=loads(text))
    told = [f.what for f in RULES["test_pressure_too_low"](answers) if "its rule" in f.what]
    assert len(told) == spoken
