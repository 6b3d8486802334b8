"""What the flow counts of the fittings that the kit picks: from the lists, and nothing twice."""

from __future__ import annotations

import re
from math import pi

import numpy as np
import pytest
from pytest import approx

from tests.examples import pack_of
from tests.flow.random_builds import random_build
from tests.small_van import head, run, tap
from vanplumb.flow.changed_build import vary
from vanplumb.flow.engine import Flow
from vanplumb.flow.van_network import network
from vanplumb.pack import Pack
from vanplumb.van import loads
from vanplumb.van.board_stock import BoardStock
from vanplumb.van.run_ends import RunEnds, picked_losses
from vanplumb.words.tables import table

SEEDS = (0, 1, 5, 12, 14, 17, 18, 22)
PLAIN = head() + tap() + run("fresh", "pump") + run("pump", "tap", length="6 ft", tube="PEX 3/4 in")


def check(pack: Pack) -> None:
    """The fittings that the flow counts are those that lists, bill and joints have."""
    ends = RunEnds(pack.build)
    for way in pack.lists.ways.runs:
        first, last = (c.steps for c in way.chains) if way.chains else ((), ())
        listed = [step.part.name for step in (*first, *last[::-1])]
        assert [part.name for part in ends.picked(way.index)] == listed, way.index + 1


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_the_flow_counts_the_fittings_of_the_lists(name: str) -> None:
    check(pack_of(name))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_flow_counts_the_fittings_of_the_lists_of_random_vans(seed: int) -> None:
    """Vans without manifolds: no board has to be laid out for them."""
    pack = Pack(loads(random_build(seed)))
    assert not pack.build.manifold
    check(pack)


def test_a_narrow_way_counts_at_its_own_bore() -> None:
    """By hand: the 3/4 in tube leaves a pump of 1/2 in: the speed is that in the half inch."""
    build = loads(PLAIN)
    ends = RunEnds(build)
    names = [part.name for part in ends.picked(1)]
    assert names and ends.unstated(1)
    flow = Flow(build).solve(["tap"])
    link = flow.links["run 2"]
    speed = link.flow / (pi / 4 * link.diameter**2)
    heads = link.parts["fittings"] / (link.density * speed**2 / 2)
    assert heads == approx(ends.loss(1), rel=1e-9)
    assert heads > 0.64 * len(names)  # 0.64 each, were its way as wide as the tube


def test_what_the_file_counts_is_not_counted_twice() -> None:
    bare = loads(PLAIN)
    for count in (1, 2, 3):
        stated = PLAIN.replace(
            'length = "3 ft"', f'length = "3 ft"\nfittings = {{ "insert adapter" = {count} }}'
        )
        loss = float(network(loads(stated)).net.link("run 1").loss)
        assert loss == approx(max(float(network(bare).net.link("run 1").loss), 0.64 * count))
    assert picked_losses(bare)[0] == approx(2 * 0.64)


def test_variants_have_the_fittings_of_their_own_tubes() -> None:
    build = loads(PLAIN)
    tubes = ["PEX 3/8 in", "PEX 1/2 in", "PE-X 16x2.0"]
    many = np.asarray(picked_losses(vary(build, {"run.2.tube": tubes}))[1])
    for tube, loss in zip(tubes, many, strict=True):
        assert loss == approx(picked_losses(vary(build, {"run.2.tube": tube}))[1])
    text = re.sub('tube = "PEX 3/4 in"', f'tube = "{tubes[0]}"', PLAIN)
    assert many[0] == approx(picked_losses(loads(text))[1])


def with_manifolds(tube: str) -> Pack:
    """A van whose mixing valve is fed by two manifolds of a tube."""
    run = f'tube = "{tube}"\nlength = "3 ft"\n'
    parts = "".join(
        f'[[manifold]]\nname = "{side}"\nside = "{side}"\ntube = "{tube}"\n'
        + "".join(f'[[zone]]\nmanifold = "{side}"\nname = "{zone}"\n' for zone in ("tap", "valve"))
        for side in ("cold", "hot")
    )
    ways = (
        ("pump", "heater tee"), ("heater tee", "heater"), ("heater tee", "cold"),
        ("heater", "hot"), ("cold.valve", "valve.cold"), ("hot.valve", "valve.hot"),
        ("valve", "basin"), ("cold.tap", "sink.cold"), ("hot.tap", "sink.hot"),
    )  # fmt: skip
    text = (
        PLAIN.split("[[fixture]]", maxsplit=1)[0] + parts
        + '[[tee]]\nname = "heater tee"\n[[heater]]\nname = "heater"\nkind = "storage"\n'
        + 'volume = "4 gal"\nsetpoint = "140 °F"\nelement_power = "800 W"\n'
        + '[[mixing_valve]]\nname = "valve"\n'
        + 'kind = "thermostatic"\nsetting = "100 °F"\n[[fixture]]\nname = "basin"\n'
        + 'kind = "basin tap"\n[[fixture]]\nname = "sink"\nkind = "galley tap"\n'
        + f'[[run]]\nfrom = "fresh"\nto = "pump"\n{run}'
        + "".join(f'[[run]]\nfrom = "{a}"\nto = "{b}"\n{run}' for a, b in ways)
    )  # fmt: skip
    return Pack(loads(text))


@pytest.mark.parametrize("tube", ["PEX 5/8 in", "PEX 1/2 in"])
def test_a_valve_fed_by_zones_has_its_fittings_board_or_not(tube: str) -> None:
    """No board part holds 5/8 in tube: the runs to the valve have what joins them without one."""
    pack = with_manifolds(tube)
    fed = [n for n, (_, end) in enumerate(pack.build.run_ends) if end.component == "valve"]
    assert bool(pack.board.trouble) == (tube == "PEX 5/8 in")
    check(pack)
    picked = [len(RunEnds(pack.build).picked(n)) for n in fed]
    assert all(picked) if pack.board.trouble else not any(picked)


@pytest.mark.parametrize("tube", [*table("tubes")][::4])
def test_whether_there_can_be_a_board_is_known_without_laying_it_out(tube: str) -> None:
    pack = with_manifolds(tube)
    assert bool(BoardStock(pack.build).why_none()) == bool(pack.board.trouble)
