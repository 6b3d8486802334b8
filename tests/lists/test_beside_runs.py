"""What no run has: bypasses, tanks' hoses, relief drains; and parts by their sort."""

from __future__ import annotations

from math import pi

import pytest
from pytest import approx

from tests.lists.test_random_vans import check
from tests.van.all_parts import TEXT
from vanplumb.lists import Lists
from vanplumb.lists.unions import serviced, union_offers
from vanplumb.van import Build, loads
from vanplumb.words.tables import table

KEYS = {
    'name = "fresh"\n': 'name = "fresh"\nfill_diameter = "38 mm"\nvent_diameter = "19 mm"\n'
    'overflow_diameter = "25 mm"\nfill_hose = "0.9 m"\noverflow_hose = "0.5 m"\n',
    'relief_drain = "under the floor"': 'relief_drain = "under the floor"\n'
    'relief_drain_length = "1.2 m"\nbypass_length = "250 mm"',
    'name = "carbon"\n': 'name = "carbon"\nbypass = true\n',
    'name = "washer"\n': 'name = "washer"\nmass = "19 kg"\n',
}


def build_of(keys: dict[str, str] = KEYS) -> Build:
    text = TEXT
    for old, new in keys.items():
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return loads(text)


@pytest.fixture(scope="module")
def lists() -> Lists:
    return Lists(build_of())


def test_the_laws_of_all_lists_hold_with_every_part(lists: Lists) -> None:
    check(lists)
    check(Lists(loads(TEXT)))


def test_a_bypass_has_four_joints_and_is_bought_and_weighed(lists: Lists) -> None:
    """Two threads between the part and its lines, two ends of the tube across."""
    for name, place in (("boiler", "boiler, bypass"), ("carbon", "carbon, bypass")):
        own = [j for j in lists.joints if j.place.startswith(place)]
        assert [bool(j.tube) for j in own].count(True) == 2
        assert [bool(j.thread or j.washer) for j in own].count(True) == 2
        line = lists.bill.line(f"bypass of {name}")
        assert line.kind == "device" and line.mass == approx(0.9)
        assert next(x.mass for x in lists.weight.loads if x.name == line.name) == approx(0.9)
    bare = Lists(loads(TEXT.replace('bypass = "three valves"\n', "")))
    assert not any("bypass" in j.name for j in bare.joints)


def test_the_tube_of_a_bypass_or_a_drain_is_cut_where_its_length_is_said(lists: Lists) -> None:
    cut = {p.name: p.length for p in lists.pieces if p.kind == "device"}
    assert cut == {"bypass of boiler": approx(0.25), "boiler relief drain": approx(1.2)}
    without = Lists(loads(TEXT))
    more = lists.bill.line("PE-X 16x2.0").total - without.bill.line("PE-X 16x2.0").total
    row = table("tubes")["PE-X 16x2.0"]
    metre = pi / 4 * (row.number("od") ** 2 - row.number("bore") ** 2) * row["density"]
    assert more == approx(1.45 * metre)
    notes = " ".join(lists.ways.devices.notes)
    assert "bypass of carbon: the length of its tube is not said" in notes
    assert "boiler relief drain: full size, falling all the way" in notes


def test_hoses_of_a_tank_have_a_clamp_at_each_end(lists: Lists) -> None:
    own = [j for j in lists.joints if j.hose]
    assert [j.name for j in own] == [
        f"fresh {to} hose at {at}"
        for to in ("filler", "vent", "overflow") for at in ("fresh", to)
    ]  # fmt: skip
    assert lists.bill.line("clamp for hose, inside 38 mm").needed == 2
    hose = lists.bill.line("hose for drinking water, inside 38 mm")
    assert hose.needed == approx(0.9) and hose.unit == "m"
    # a ring of soft PVC 4 mm thick, 1250 kg/m³, round 38 mm
    assert hose.total == approx(0.9 * pi / 4 * (0.046**2 - 0.038**2) * 1250)
    assert any("fresh vent hose: its length is not said" in n for n in lists.ways.devices.notes)


def test_a_washing_machine_is_no_tap(lists: Lists) -> None:
    assert lists.bill.line("washer").mass == approx(19)
    typical = Lists(loads(TEXT)).bill
    assert typical.line("washer").mass == approx(25)
    assert typical.line("shower box").mass == approx(1.3)
    assert typical.line("sink").mass == approx(0.7)
    (thread,) = (j for j in lists.joints if j.fitting == "washer" and not j.tube)
    assert {str(end) for end in thread.ends} == {"3/4 in G male brass", "3/4 in G swivel plastic"}
    toilet = Lists(loads(TEXT.replace('kind = "washing machine"', 'kind = "toilet"')))
    assert toilet.bill.line("washer").mass == approx(8)


@pytest.mark.parametrize("tube", sorted(table("tubes")))
def test_machine_and_toilet_are_reached_by_every_tube(tube: str) -> None:
    """Whatever the van is piped with, the tables join it to these two."""
    for kind in ("washing machine", "toilet"):
        text = (
            'format = 1\n[van]\nname = "x"\nunits = "SI"\n'
            '[[tank]]\nname = "fresh"\nshape = "stated"\nvolume = "60 L"\n'
            f'[[fixture]]\nname = "it"\nkind = "{kind}"\n'
            f'[[run]]\nfrom = "fresh"\nto = "it"\ntube = "{tube}"\nlength = "2 m"\n'
        )
        (way,) = Lists(loads(text)).ways.runs
        assert not way.chains[1].trouble, way.chains[1].trouble


def test_a_quick_connector_comes_apart_by_itself() -> None:
    build = loads(TEXT)
    out = serviced(build, frozenset())
    assert "carbon" in out and "box coupling" not in out and "union" not in out


@pytest.mark.parametrize("tube, size", [("PEX 1/2 in", "1/2 in"), ("PEX 3/4 in", "3/4 in"),
                                        ("PE-X 16x2.0", "1/2 in")])  # fmt: skip
def test_a_union_is_as_wide_as_its_tube(tube: str, size: str) -> None:
    lists = Lists(loads(TEXT.replace("PE-X 16x2.0", tube)))
    number = next(n for n, r in enumerate(lists.build.run) if r.end == "carbon")
    assert union_offers(lists, [number])[number].fitting.startswith(f"union, {size}")
