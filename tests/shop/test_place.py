"""What each region asks of the fitting out, on the example vans."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vanplumb.chapters.place import place_chapter
from vanplumb.pack import Pack, example
from vanplumb.shop.place import Place
from vanplumb.van import Build, loads
from vanplumb.van.file.write import changed
from vanplumb.van.parts import LinePart

REGIONS = ("US", "UK", "EU", "AU-NZ")


def heron(region: str, **van: str) -> Build:
    values = {"van.region": region} | {f"van.{k}": v for k, v in van.items()}
    return loads(changed(example("heron").text, values))


@pytest.mark.parametrize("region", REGIONS)
def test_a_fuse_lies_between_the_current_and_the_wire(region: str) -> None:
    place = Place(heron(region))
    assert place.consumers and place.wires
    for one in place.consumers:
        assert one.fuse is not None and one.fuse.number("current") >= 1.25 * one.current
    for wire in place.wires:
        fuse = float(wire.fuse.split()[0])
        assert fuse <= wire.current
        assert wire.reach["other"].value == pytest.approx(wire.reach["critical"].value / 0.3)


def test_all_that_runs_at_low_voltage_has_its_fuse() -> None:
    """A 24 V element on 25.6 V: 250/24² × 25.6 = 11.1 A; fan, circulator and lamp beside it."""
    text = (
        example("heron").text
        + """
[[recirculation_pump]]
name = "circulator"
control = "timer"
power = "12 W"
"""
    )
    build = loads(changed(text, {"battery.voltage": "25.6 V"}))
    heater = replace(
        build.heater[0], element_power=250.0, element_voltage=24.0, burner_electric=30.0
    )
    lamp = LinePart(name="lamp", kind="lamp", power=20.0, voltage=12.0)
    mains = LinePart(name="mains lamp", kind="lamp", power=40.0, voltage=230.0)
    build = replace(build, heater=(heater,), line_part=(lamp, mains))
    found = {one.name: one.current for one in Place(build).consumers}
    assert found["heater"] == pytest.approx(11.11, abs=0.01)
    assert found["fan and control of heater"] == pytest.approx(30 / 25.6)
    assert found["circulator"] == pytest.approx(12 / 25.6)
    assert found["lamp"] == pytest.approx(20 / 12)
    assert "mains lamp" not in found and "pump" in found


def test_no_wire_below_a_square_millimetre_where_the_rule_says_so() -> None:
    """ISO 10133, 7.7: single wires of 1 mm² and more."""
    assert not any(w.size == "0.75 mm²" for w in Place(heron("EU")).wires)


def test_straps_pull_by_their_full_mass() -> None:
    place = Place(heron("EU"))
    for strap in place.straps:
        assert strap.forward.value / strap.mass == pytest.approx(0.8 * 9.80665)
        assert strap.sideways.value / strap.mass == pytest.approx(0.6 * 9.80665)


def test_straps_of_what_says_no_mass_are_not_told_as_nothing() -> None:
    """A flow-through heater holds no water to speak of: without its mass nothing is known."""
    whole = heron("EU")
    told = Place(whole)
    assert {s.name for s in told.straps} == {t.name for t in whole.tank} | {"heater"}
    assert told.unweighed == ()
    silent = replace(whole.heater[0], mass=None, volume=None)
    place = Place(replace(whole, heater=(silent,)))
    assert [s.name for s in place.straps] == [t.name for t in whole.tank]
    assert place.unweighed == ("heater",)
    answers = {a.label: a for a in place_chapter(Pack(replace(whole, heater=(silent,)))).answers}
    assert answers["straps of heater, braking"].value == "not known"


def test_belongings_need_a_rule_and_a_length() -> None:
    whole = heron("EU")
    assert Place(replace(whole, van=replace(whole.van, length=None))).belongings is None
    found = Place(heron("EU", length="6 m")).belongings
    assert found is not None and found[1].value == pytest.approx(4 * 10 + 6 * 10)
    assert Place(heron("US", length="20 ft")).belongings is None


@pytest.mark.parametrize("region", REGIONS)
def test_the_chapter_says_its_region_and_what_is_not_known(region: str) -> None:
    chapter = place_chapter(Pack(heron(region)))
    assert Place(heron(region)).region.title in chapter.title
    known = {a.label: a for a in chapter.answers}
    assert known["pressure test"].basis and known["disinfecting"].basis
    text = " ".join(chapter.not_computed)
    for subject, unknown in (
        ("flow that a building", region == "AU-NZ"),
        ("distance of plastic tube", region == "EU"),
        ("belongings that the van", region in ("US", "AU-NZ")),
    ):
        assert (f"{subject}" in text and "not known for this region" in text) or not unknown
    if region == "AU-NZ":
        assert known["test by air"].value == "not known for this region"
