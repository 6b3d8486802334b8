"""What pointers mean, what is joined, and what water is where."""

from __future__ import annotations

import pytest

from vanplumb.van import Build, BuildError, load, loads
from vanplumb.van.pointers import WiringError, kind_of, ports, resolve
from vanplumb.van.wiring import ends, loose_ports, passages, runs_at, sides
from vanplumb.words.tables import example_builds

DIPPER = load(example_builds()["dipper"])
HERON = load(example_builds()["heron"])


@pytest.mark.parametrize(
    "pointer, leaving, node",
    [
        ("heater", False, "heater.cold"),
        ("heater", True, "heater.hot"),
        ("heater.hot", True, "heater.hot"),
        ("hot manifold", False, "hot manifold.inlet"),
        ("hot manifold.wet room", True, "hot manifold.wet room"),
        ("basin valve", True, "basin valve.mixed"),
        ("basin valve.cold", False, "basin valve.cold"),
        ("fresh", True, "fresh.outlet"),
        ("fresh", False, "fresh.fill"),
        ("basin", False, "basin.inlet"),
        ("sink.hot", False, "sink.hot"),
        ("supply tee", True, "supply tee.any"),
        ("supply tee", False, "supply tee.any"),
        ("accumulator", False, "accumulator.inlet"),
        ("shore inlet", True, "shore inlet.outlet"),
    ],
)
def test_a_pointer_names_one_port(pointer: str, leaving: bool, node: str) -> None:
    assert str(resolve(DIPPER, pointer, leaving)) == node


@pytest.mark.parametrize(
    "pointer, leaving, message",
    [
        ("heter", True, 'no component of this build; did you mean "heater"'),
        ("", True, "names nothing"),
        ("hot manifold", True, 'which zone of "hot manifold": "hot manifold.sink", "hot'),
        ("basin valve", False, 'which port of "basin valve": "basin valve.hot" or'),
        ("basin", True, "no run may leave a fixture"),
        ("accumulator", True, "no run may leave an accumulator"),
        ("shore inlet", False, "no run may arrive at a shore inlet"),
        ("heater.cold", True, "which is an inlet"),
        ("heater.hot", False, "which is an outlet"),
        ("heater.drain", True, 'names no port of "heater" .heater.: "drain"; it has "hot"'),
    ],
)
def test_a_pointer_that_means_nothing_says_why(pointer: str, leaving: bool, message: str) -> None:
    with pytest.raises(WiringError, match=message):
        resolve(DIPPER, pointer, leaving)


@pytest.mark.parametrize("build", [DIPPER, HERON], ids=["dipper", "heron"])
def test_every_run_of_an_example_joins_an_outlet_to_an_inlet(build: Build) -> None:
    for leaves, arrives in ends(build):
        assert leaves.port in ports(build, build.component(leaves.component))[1]
        assert arrives.port in ports(build, build.component(arrives.component))[0]
    assert list(loose_ports(build)) == []


def test_loose_ports_are_found() -> None:
    text = DIPPER.text.replace('[[run]]\nfrom = "basin valve"\nto = "basin"', "[[run]]\n", 1)
    text = text.replace("[[run]]\n\ntube", '[[run]]\nfrom = "strainer"\nto = "basin"\ntube', 1)
    with pytest.raises(BuildError, match="run 2 is already: part them with"):
        loads(text)
    blocks = DIPPER.text.split("[[run]]\n")
    cut = "[[run]]\n".join(b for b in blocks if not b.startswith('from = "basin valve"\n'))
    assert [str(p) for p in loose_ports(loads(cut))] == ["basin valve.mixed", "basin.inlet"]


def test_water_is_hot_behind_the_heater_and_mixed_behind_the_valve() -> None:
    side = sides(HERON)
    assert side["pump.inlet"] == side["galley.cold"] == side["heater.cold"] == "cold"
    assert side["heater.hot"] == side["galley.hot"] == side["bath valve.hot"] == "hot"
    assert side["bath valve.mixed"] == side["basin.inlet"] == side["shower.inlet"] == "mixed"


def test_hot_and_cold_that_meet_in_a_tee_are_mixed() -> None:
    text = DIPPER.text + (
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
    assert passages(DIPPER, DIPPER.component("basin valve")) == (
        ("hot", "mixed"),
        ("cold", "mixed"),
    )
    assert passages(DIPPER, DIPPER.component("fresh")) == ()
    assert len(passages(DIPPER, DIPPER.component("cold manifold"))) == 5
    assert len(runs_at(DIPPER, "supply tee")) == 3
    assert [r.end for r in runs_at(DIPPER, "heater", "hot")] == ["hot manifold"]
    assert kind_of(DIPPER.component("basin valve")) == "mixing valve"


@pytest.mark.parametrize(
    "more, message",
    [
        ('[[zone]]\nmanifold = "warm manifold"\nname = "x"\n', 'no manifold.*"warm manifold"'),
        ('[[zone]]\nmanifold = "hot manifold"\nname = "sink"\n', "used twice in"),
        ('[[zone]]\nmanifold = "hot manifold"\nname = "inlet"\n', "manifold's own port"),
        ('[[fixture]]\nname = "f"\nkind = "shower"\ngrey = "gray"\n', 'no tank.*mean "grey"'),
        ('[[fixture]]\nname = "f"\nkind = "shower"\ngrey = "fresh"\n', "holds fresh water"),
        ('[[use]]\nname = "u"\nfixture = "tap"\nper_day = 1\nduration = "1 s"\n', "no fixture"),
        ('[[situation]]\nname = "s"\nopen = ["sink", "showr"]\n', 'did you mean "shower"'),
        ('[[situation]]\nname = "shower alone"\n', 'is used twice: "shower alone"'),
        (
            '[[run]]\nfrom = "cold manifold.sink"\nto = "supply tee"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            r'"cold manifold.sink", where run 22 is already.*\[\[tee\]\]',
        ),
        (
            '[[zone]]\nmanifold = "cold manifold"\nname = "x"\n'
            '[[run]]\nfrom = "cold manifold.x"\nto = "sink"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "name the ports of both",
        ),
        (
            '[[run]]\nfrom = "supply tee"\nto = "supply tee"\n'
            'tube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "is where the run comes from",
        ),
        (
            '[[manifold]]\nname = "m"\nside = "cold"\ntube = "PEX 1/2 in"\n'
            '[[run]]\nfrom = "m"\nto = "supply tee"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n',
            "which has no zone yet",
        ),
    ],
)
def test_parts_that_do_not_fit_each_other(more: str, message: str) -> None:
    text = f"{DIPPER.text}\n{more}"
    start = DIPPER.text.count("\n") + 1
    with pytest.raises(BuildError, match=message) as caught:
        loads(text)
    assert all(p.line > start or "name the ports" in p.message for p in caught.value.problems), str(
        caught.value
    )
