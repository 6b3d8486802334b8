"""Joints: all of them, each placed, and none that does not belong."""

from __future__ import annotations

import pytest

from vanplumb.shop.joints.compounds import cure, fit_for, joint_wait, refusal
from vanplumb.shop.joints.list import counts, joints_of
from vanplumb.shop.joints.sizes import engagement, thread_for
from vanplumb.van import Build, loads
from vanplumb.van.ends import methods_for, mismatch
from vanplumb.words.tables import table


def test_every_tube_end_has_a_joint_and_every_adapter_a_thread(van: Build) -> None:
    joints = joints_of(van)
    fittings = table("fittings")
    for index, run in enumerate(van.run):
        mine = [j for j in joints if j.run == index]
        ends = 2 + sum(n * int(fittings[f]["tube_ends"] or 0) for f, n in run.fittings)
        threads = sum(n * int(fittings[f]["threads"] or 0) for f, n in run.fittings)
        assert len([j for j in mine if not j.thread]) == ends
        assert len([j for j in mine if j.thread]) == threads


def test_names_and_places_are_unique(van: Build) -> None:
    joints = joints_of(van)
    assert len({j.name for j in joints}) == len(joints)
    assert all(j.place for j in joints)


def test_a_header_of_tees_has_two_joints_a_stub(van: Build) -> None:
    # two zones: one stub between the tees and one to each valve, two joints each
    header = [j for j in joints_of(van) if j.name.startswith("HC-")]
    assert len(header) == 2 * (1 + 2)
    assert {j.where for j in header} == {"bench"}


def test_a_ready_block_has_only_the_stubs_to_its_valves(text: str) -> None:
    block = text.replace(
        'name = "cold"\nside = "cold"', 'name = "cold"\nside = "cold"\nform = "block"'
    )
    header = [j for j in joints_of(loads(block)) if j.name.startswith("HC-")]
    assert len(header) == 2 * 2


def test_rings_and_expansions_go_by_size(van: Build) -> None:
    by_sort = {j.sort: j for j in joints_of(van)}
    half, wide = by_sort["expansion, PEX 1/2 in"], by_sort["expansion, PEX 3/4 in"]
    # common practice, no source: six expansions for half inch, one ring an end
    assert (half.expansions, half.rings) == (6, 1)
    assert wide.expansions is not None and wide.expansions > 6
    assert half.steps[0] == "cut, and check that the cut is square"
    assert any("6 expansions" in step for step in half.steps)


def test_joints_count_by_kind_and_size(van: Build) -> None:
    joints = joints_of(van)
    assert sum(counts(joints).values()) == len(joints)
    assert counts(joints)["expansion, PEX 3/4 in"] == 6


def test_hot_threads_take_the_hot_compound_and_the_heater_is_hot_at_both_ends(van: Build) -> None:
    threads = {j.name: j for j in joints_of(van) if j.thread}
    assert threads["R7-1T"].compound == "high-temperature sealant"
    assert threads["R6-2T"].compound == "high-temperature sealant"  # heater's cold inlet
    assert threads["R2-2T"].compound == "PTFE tape"
    assert not any(j.refused for j in threads.values())


@pytest.mark.parametrize(
    "compound, why",
    [
        ("general pipe dope", "not rated for drinking water"),
        ("gas thread sealant", "not rated for drinking water"),
    ],
)
def test_a_compound_that_is_not_for_drinking_water_is_refused(
    text: str, compound: str, why: str
) -> None:
    build = loads(text.replace("high-temperature sealant", compound))
    refused = [j for j in joints_of(build) if j.refused]
    assert refused
    assert all(why in j.refused[0] for j in refused)


def test_a_compound_beyond_its_temperature_or_material_is_refused() -> None:
    rows = table("compounds")
    hemp = refusal(rows["hemp and paste"], 373.15, "metal", "SI")
    assert "for 95 °C at most and the joint reaches 100 °C" in hemp
    # typical published data: anaerobic sealant is for metal only
    assert "for metal threads, not plastic" in refusal(rows["anaerobic sealant"], 300, "plastic")
    assert refusal(rows["PTFE tape"], 338, "plastic") == ""


def test_fit_compounds_are_those_that_are_not_refused() -> None:
    for material in ("metal", "plastic"):
        for heat in (280.0, 340.0, 400.0):
            for name in fit_for(heat, material):
                assert refusal(table("compounds")[name], heat, material) == ""
    assert "general pipe dope" not in fit_for(280.0, "metal")


def test_pump_threads_are_taken_as_plastic_so_anaerobic_sealant_is_refused(text: str) -> None:
    build = loads(text.replace("[shop]", '[shop]\ncold_compound = "anaerobic sealant"'))
    refused = {j.name for j in joints_of(build) if j.refused}
    assert "R2-2T" in refused
    assert "R4-2T" not in refused  # the accumulator's thread is taken as metal


@pytest.mark.parametrize(
    "method, tube, why",
    [
        ("expansion", "PE-X 16x2.0", "must stretch over the fitting"),
        ("expansion", "copper L 1/2 in", "for it there are: solder"),
        ("solder", "PEX 1/2 in", "it takes copper"),
        ("hose clamp", "PEX 1/2 in", "soft hose"),
        ("NPT thread", "PEX 1/2 in", "holds no tube"),
    ],
)
def test_a_method_that_does_not_belong_to_a_tube_is_refused(
    method: str, tube: str, why: str
) -> None:
    assert why in mismatch(method, tube)


def test_methods_that_belong(van: Build) -> None:
    assert mismatch("expansion", "PEX 1/2 in") == ""
    assert methods_for("PEX 1/2 in")[0] == "expansion"
    assert methods_for("hose 12 mm") == ("hose clamp",)


def test_a_refused_joint_is_in_the_list_with_its_reason(text: str) -> None:
    swapped = text.replace(
        'to = "rinse"\ntube = "PEX 1/2 in"', 'to = "rinse"\njoint = "solder"\ntube = "PEX 1/2 in"'
    )
    refused = [j for j in joints_of(loads(swapped)) if j.refused]
    assert [j.name for j in refused] == ["R12-1", "R12-2"]
    assert "not for PEX 1/2 in" in refused[0].refused[0]


def test_engagement_of_half_inch_taper_thread() -> None:
    # ASME B1.20.1: 4.48 turns by hand, 0.534 in made up
    found = engagement("NPT 1/2")
    assert found is not None
    assert found.hand_turns == pytest.approx(4.48, abs=0.005)
    assert found.length / 0.0254 == pytest.approx(0.534, abs=0.0005)
    assert engagement("BSP 1/2") is None
    assert thread_for("PE-X 16x2.0")[0] == "BSP 1/2"
    assert thread_for("PEX 5/8 in")[0] == "NPT 1/2"


def test_cure_follows_the_temperature() -> None:
    # typical published data: about 24 h at 20 °C, roughly 72 h at 5 °C
    assert cure("anaerobic sealant", 293.15).duration == 24 * 3600
    assert cure("anaerobic sealant", 278.15).duration == pytest.approx(72 * 3600)
    middle = cure("anaerobic sealant", 285.65).duration
    assert middle == pytest.approx(24 * 3600 * 3**0.5)
    assert cure("anaerobic sealant", 270.0).duration is None
    assert cure("anaerobic sealant", 300.0).duration == 24 * 3600
    # common practice, no source: three days for the full set
    assert cure("high-temperature sealant", 293.15).duration == 72 * 3600
    assert "assumed to slow" in cure("high-temperature sealant", 283.15).basis
    assert cure("PTFE tape", 260.0).duration == 0.0


def test_expansion_joints_wait_longer_in_the_cold() -> None:
    def hours(fahrenheit: float) -> float | None:
        wait = joint_wait("expansion", (fahrenheit + 459.67) / 1.8).duration
        return None if wait is None else wait / 3600

    # trade article: 30 min at 40 to 70 °F; colder steps from memory
    assert hours(70) == hours(40) == 0.5
    assert hours(35) == 3
    assert hours(25) == 10
    assert hours(10) == 24
    assert hours(0) is None
    assert "don't make it below" in joint_wait("expansion", 255.0).basis
