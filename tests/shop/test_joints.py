"""Joints: all of them, each placed, and none that does not belong."""

from __future__ import annotations

import pytest

from vanplumb.lists import Lists
from vanplumb.lists.joints import Joint, counts
from vanplumb.lists.threads import engagement, fit_for, refusal
from vanplumb.shop.joints.compounds import cure, joint_wait
from vanplumb.van import Build, loads
from vanplumb.van.ends import methods_for, mismatch
from vanplumb.words.tables import table


def by_name(van: Build) -> dict[str, Joint]:
    return {j.name: j for j in Lists(van).joints}


def test_every_part_has_its_joints_whether_an_adapter_is_written_or_not(van: Build) -> None:
    """The bench van writes adapters at some of its parts only; each of these needs one."""
    named = by_name(van)
    for part in ("fresh outlet", "strainer inlet", "strainer outlet", "pump inlet", "pump outlet",
                 "cushion", "heater cold", "heater hot", "galley cold", "galley hot",
                 "mixer cold", "mixer hot", "mixer mixed", "wash tub"):  # fmt: skip
        assert f"{part} thread" in named, part
        assert f"adapter at {part} tube" in named or any(
            n.startswith(f"reducer at {part}") for n in named
        )
    assert {"heater relief valve thread", "heater relief drain thread"} <= set(named)
    assert "fresh outlet through the wall" in named


def test_each_end_of_each_piece_is_one_joint(van: Build) -> None:
    lists = Lists(van)
    on_tube = [j for j in lists.joints if j.tube]
    drains = [j for j in on_tube if "relief drain" in j.name]  # its tube's length is not said
    assert len(on_tube) - len(drains) == 2 * len(lists.pieces)


def test_names_and_places_are_unique(van: Build) -> None:
    joints = Lists(van).joints
    assert len({j.name for j in joints}) == len(joints)
    assert all(j.place for j in joints)


def header(van: Build) -> list[Joint]:
    return [j for j in Lists(van).joints if j.place.startswith("cold header")]


def test_a_header_of_tees_has_two_joints_a_stub(van: Build) -> None:
    # two zones: one stub between the tees and one to each valve, two joints each
    assert len(header(van)) == 2 * (1 + 2)
    assert {j.where for j in header(van)} == {"bench"}


def test_a_ready_block_has_only_the_stubs_to_its_valves(text: str) -> None:
    block = text.replace(
        'name = "cold"\nside = "cold"', 'name = "cold"\nside = "cold"\nform = "block"'
    )
    assert len(header(loads(block))) == 2 * 2


def test_rings_and_expansions_go_by_size_and_tool(van: Build, text: str) -> None:
    powered = loads(text.replace("[shop]", '[shop]\nexpansion_tool = "powered"'))
    by_sort = {j.sort: j for j in Lists(powered).joints}
    half, wide = by_sort["expansion, PEX 1/2 in"], by_sort["expansion, PEX 3/4 in"]
    # common practice, no source: six expansions for half inch, one ring an end
    assert (half.expansions, half.rings) == (6, 1)
    assert wide.expansions is not None and wide.expansions > 6
    assert half.steps[0] == "cut, and check that the cut is square"
    assert any("6 expansions" in step for step in half.steps)
    unknown = {j.sort: j for j in Lists(van).joints}["expansion, PEX 1/2 in"]
    assert unknown.expansions is None and "expansions by the tool's sheet" in unknown.steps


def test_joints_count_by_kind_and_size(van: Build) -> None:
    joints = Lists(van).joints
    assert sum(counts(joints).values()) == len(joints)
    # three stubs of the 3/4 in header, its feed, and a stub to the reducer of each zone
    wide = [p for p in Lists(van).pieces if p.tube == "PEX 3/4 in"]
    assert counts(joints)["expansion, PEX 3/4 in"] == 2 * len(wide)


def test_hot_threads_take_the_hot_compound_and_the_heater_is_hot_at_both_ends(van: Build) -> None:
    named = by_name(van)
    assert named["heater hot thread"].compound == "high-temperature sealant"
    assert named["heater cold thread"].compound == "high-temperature sealant"
    assert named["strainer inlet thread"].compound == "PTFE tape"
    assert not any(j.refused for j in named.values())


def test_threads_with_washers_take_no_compound_and_no_count_of_turns(van: Build) -> None:
    pump, tap = by_name(van)["pump inlet thread"], by_name(van)["galley cold thread"]
    for joint in (pump, tap):
        assert joint.kind == "washer thread" and joint.washer and not joint.thread
        assert not joint.compound and joint.engagement is None
        assert "no compound" in joint.steps[0]


def test_turns_go_by_the_softer_side(van: Build) -> None:
    """Plastics distributor's page: hand-tight and 1 or 2 turns; trade: 2 to 3 for metal."""
    named = by_name(van)
    soft, hard = named["strainer inlet thread"], named["heater hot thread"]
    assert soft.material == "plastic" and set(soft.materials) == {"brass", "plastic"}
    assert soft.engagement is not None and hard.engagement is not None
    assert (soft.engagement.wrench_least, soft.engagement.wrench_turns) == (1, 2)
    assert (hard.engagement.wrench_least, hard.engagement.wrench_turns) == (2, 3)
    assert any("never a third turn" in step for step in soft.steps)
    assert not any("third turn" in step for step in hard.steps)


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
    refused = [j for j in Lists(build).joints if j.refused]
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


def test_strainer_threads_are_taken_as_plastic_so_anaerobic_sealant_is_refused(text: str) -> None:
    build = loads(text.replace("[shop]", '[shop]\ncold_compound = "anaerobic sealant"'))
    refused = {j.name for j in Lists(build).joints if j.refused}
    assert "strainer outlet thread" in refused
    assert "cushion thread" not in refused  # the accumulator's thread is taken as metal


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
        'to = "wash tub"\ntube = "PEX 1/2 in"',
        'to = "wash tub"\njoint = "solder"\ntube = "PEX 1/2 in"',
    )
    refused = [j for j in Lists(loads(swapped)).joints if j.refused]
    assert [j.name for j in refused] == ["mixer mixed tube", "wash tub tube"]
    assert "not for PEX 1/2 in" in refused[0].refused[0]


def test_engagement_of_half_inch_taper_thread() -> None:
    # ASME B1.20.1: 4.48 turns by hand, 0.534 in made up
    found = engagement("NPT 1/2")
    assert found is not None
    assert found.hand_turns == pytest.approx(4.48, abs=0.005)
    assert found.length / 0.0254 == pytest.approx(0.534, abs=0.0005)
    assert engagement("G 1/2") is None  # parallel: it seals by a washer
    # ISO 7-1: gauge length 8.2 mm at 14 threads an inch
    metric = engagement("R 1/2")
    assert metric is not None and metric.hand_turns == pytest.approx(8.2 / 25.4 * 14, abs=0.01)


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
