"""What pointers mean, what is joined, and what water is where."""

from __future__ import annotations

import pytest

from vanplumb.van import Build, BuildError, load, loads
from vanplumb.van.pointers import WiringError, kind_of, ports, resolve
from vanplumb.van.wiring import ends, loose_ports, passages, runs_at, sides
from vanplumb.words.tables import example_builds

PLOVER = load(example_builds()["plover"])
HERON = load(example_builds()["heron"])


@pytest.mark.parametrize(
    "pointer, leaving, node",
    [
        ("heater", False, "heater.cold"),
        ("heater", True, "heater.hot"),
        ("heater.hot", True, "heater.hot"),
        ("hot manifold", False, "hot manifold.inlet"),
        ("hot manifold.shower", True, "hot manifold.shower"),
        ("rinse valve", True, "rinse valve.mixed"),
        ("rinse valve.cold", False, "rinse valve.cold"),
        ("fresh", True, "fresh.outlet"),
        ("fresh", False, "fresh.fill"),
        ("rinse", False, "rinse.inlet"),
        ("galley.hot", False, "galley.hot"),
        ("supply cross", True, "supply cross.any"),
        ("supply cross", False, "supply cross.any"),
        ("accumulator", False, "accumulator.inlet"),
        ("shore inlet", True, "shore inlet.outlet"),
    ],
)
def test_a_pointer_names_one_port(pointer: str, leaving: bool, node: str) -> None:
    assert str(resolve(PLOVER, pointer, leaving)) == node


@pytest.mark.parametrize(
    "pointer, leaving, message",
    [
        ("heter", True, 'no component of this build; did you mean "heater"'),
        ("", True, "names nothing"),
        ("hot manifold", True, 'which zone of "hot manifold": "hot manifold.galley", "hot'),
        ("rinse valve", False, 'which port of "rinse valve": "rinse valve.hot" or'),
        ("rinse", True, "no run may leave a fixture"),
        ("accumulator", True, "no run may leave an accumulator"),
        ("shore inlet", False, "no run may arrive at a shore inlet"),
        ("heater.cold", True, "which is an inlet"),
        ("heater.hot", False, "which is an outlet"),
        ("heater.drain", True, 'names no port of "heater" .heater.: "drain"; it has "hot"'),
    ],
)
def test_a_pointer_that_means_nothing_says_why(pointer: str, leaving: bool, message: str) -> None:
    with pytest.raises(WiringError, match=message):
        resolve(PLOVER, pointer, leaving)


@pytest.mark.parametrize("build", [PLOVER, HERON], ids=["plover", "heron"])
def test_every_run_of_an_example_joins_an_outlet_to_an_inlet(build: Build) -> None:
    for leaves, arrives in ends(build):
        assert leaves.port in ports(build, build.component(leaves.component))[1]
        assert arrives.port in ports(build, build.component(arrives.component))[0]
    assert list(loose_ports(build)) == []


def test_loose_ports_are_found() -> None:
    text = PLOVER.text.replace('[[run]]\nfrom = "rinse valve"\nto = "rinse"', "[[run]]\n", 1)
    text = text.replace("[[run]]\n\ntube", '[[run]]\nfrom = "tank valve"\nto = "rinse"\ntube', 1)
    with pytest.raises(BuildError, match="run 2 is already: part them with"):
        loads(text)
    cut = PLOVER.text.split('[[run]]\nfrom = "rinse valve"')[0]
    assert [str(p) for p in loose_ports(loads(cut))] == ["rinse valve.mixed", "rinse.inlet"]


def test_water_is_hot_behind_the_heater_and_mixed_behind_the_valve() -> None:
    side = sides(HERON)
    assert side["pump.inlet"] == side["galley.cold"] == side["heater.cold"] == "cold"
    assert side["heater.hot"] == side["galley.hot"] == side["bath valve.hot"] == "hot"
    assert side["bath valve.mixed"] == side["basin.inlet"] == side["shower.inlet"] == "mixed"


def test_hot_and_cold_that_meet_in_a_tee_are_mixed() -> None:
    text = PLOVER.text + (
        '[[tee]]\nname = "bypass"\n[[fixture]]\nname = "extra"\nkind = "cold tap"\n'
        '[[zone]]\nmanifold = "hot manifold"\nname = "extra"\n'
        '[[zone]]\nmanifold = "cold manifold"\nname = "extra"\n'
    )
    for start, end in (
        ("hot manifold.extra", "bypass"),
        ("cold manifold.extra", "bypass"),
        ("bypass", "extra"),
    ):
        text += f'[[run]]\nfrom = "{start}"\nto = "{end}"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n'
    assert sides(loads(text))["extra.inlet"] == "mixed"


def test_passages_and_runs_at_a_component() -> None:
    assert passages(PLOVER, PLOVER.component("rinse valve")) == (
        ("hot", "mixed"),
        ("cold", "mixed"),
    )
    assert passages(PLOVER, PLOVER.component("fresh")) == ()
    assert len(passages(PLOVER, PLOVER.component("cold manifold"))) == 4
    assert len(runs_at(PLOVER, "supply cross")) == 4
    assert [r.end for r in runs_at(PLOVER, "heater", "hot")] == ["hot manifold"]
    assert kind_of(PLOVER.component("rinse valve")) == "mixing valve"


@pytest.mark.parametrize(
    "more, message",
    [
        ('[[zone]]\nmanifold = "warm manifold"\nname = "x"\n', 'no manifold.*"warm manifold"'),
        ('[[zone]]\nmanifold = "hot manifold"\nname = "galley"\n', "used twice in"),
        ('[[zone]]\nmanifold = "hot manifold"\nname = "inlet"\n', "manifold's own port"),
        ('[[fixture]]\nname = "f"\nkind = "shower"\ngrey = "gray"\n', 'no tank.*mean "grey"'),
        ('[[fixture]]\nname = "f"\nkind = "shower"\ngrey = "fresh"\n', "holds fresh water"),
        ('[[use]]\nname = "u"\nfixture = "tap"\nper_day = 1\nduration = "1 s"\n', "no fixture"),
        ('[[situation]]\nname = "s"\nopen = ["galley", "showr"]\n', 'did you mean "shower"'),
        ('[[situation]]\nname = "shower alone"\n', 'is used twice: "shower alone"'),
        (
            '[[run]]\nfrom = "cold manifold.galley"\nto = "supply cross"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            r'"cold manifold.galley", where run 13 is already.*\[\[tee\]\]',
        ),
        (
            '[[zone]]\nmanifold = "cold manifold"\nname = "x"\n'
            '[[run]]\nfrom = "cold manifold.x"\nto = "galley"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "name the ports of both",
        ),
        (
            '[[run]]\nfrom = "supply cross"\nto = "supply cross"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "is where the run comes from",
        ),
        (
            '[[manifold]]\nname = "m"\nside = "cold"\ntube = "PEX 1/2 in"\n'
            '[[run]]\nfrom = "m"\nto = "supply cross"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "which has no zone yet",
        ),
    ],
)
def test_parts_that_do_not_fit_each_other(more: str, message: str) -> None:
    text = f"{PLOVER.text}\n{more}"
    start = PLOVER.text.count("\n") + 1
    with pytest.raises(BuildError, match=message) as caught:
        loads(text)
    assert all(p.line > start or "name the ports" in p.message for p in caught.value.problems), str(
        caught.value
    )
