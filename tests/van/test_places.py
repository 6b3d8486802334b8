"""Ports and runs in plain words."""

from __future__ import annotations

import re

import pytest

from vanplumb import example
from vanplumb.flow.engine import Flow
from vanplumb.van import Build, loads
from vanplumb.van.trace import title
from vanplumb.van.wiring import place, run_words


@pytest.fixture(scope="module")
def dipper() -> Build:
    return example("dipper")


@pytest.mark.parametrize(
    "node, words",
    [
        ("cold manifold.sink", "cold manifold, outlet sink"),
        ("cold manifold.inlet", "cold manifold, inlet"),
        ("heater.cold", "heater, cold inlet"),
        ("heater.hot", "heater, hot outlet"),
        ("basin valve.mixed", "basin valve, mixed outlet"),
        ("sink.hot", "sink, hot inlet"),
        ("pump.outlet", "pump, outlet"),
        ("supply tee.any", "supply tee"),
        ("heater", "heater"),
        ("open air", "open air"),
        ("cold manifold, tee 2", "cold manifold, tee 2"),
    ],
)
def test_a_node_in_words(dipper: Build, node: str, words: str) -> None:
    assert place(dipper, node) == words


def test_a_run_is_told_by_its_ends(dipper: Build) -> None:
    ends = {(r.start, r.end): n for n, r in enumerate(dipper.run)}
    fed = ends["heater valve", "heater"]
    assert run_words(dipper, fed) == title(dipper, fed) == "heater valve to heater"
    hot = ends["hot manifold.basin", "basin valve.hot"]
    assert run_words(dipper, hot) == "hot manifold to basin valve, hot inlet"


def test_the_outlet_is_told_where_two_runs_would_read_alike(dipper: Build) -> None:
    """Two zones that feed one tee."""
    text = dipper.text + (
        '\n[[tee]]\nname = "twin"\n'
        '[[zone]]\nmanifold = "cold manifold"\nname = "left"\n'
        '[[zone]]\nmanifold = "cold manifold"\nname = "right"\n'
        '[[run]]\nfrom = "cold manifold.left"\nto = "twin"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n'
        '[[run]]\nfrom = "cold manifold.right"\nto = "twin"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n'
    )
    build = loads(text)
    told = [run_words(build, n) for n in range(len(build.run))][-2:]
    assert told == ["cold manifold, outlet left to twin", "cold manifold, outlet right to twin"]


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_runs_of_an_example_read_unlike_and_without_points(name: str) -> None:
    build = example(name)
    told = [run_words(build, n) for n in range(len(build.run))]
    assert len(set(told)) == len(told)
    assert not any(re.search(r"\w\.\w", words) for words in told)
    moment = Flow(build).situation_of(tuple(f.name for f in build.fixture))
    nodes = [place(build, n) for n in moment.nodes]
    assert len(set(nodes)) == len(nodes)
