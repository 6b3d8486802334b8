"""The zones of a header: in one order, which neither the file's order nor names tell."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from tests.board.boards import build_of
from vanplumb import example
from vanplumb.board.plan import BoardPlan
from vanplumb.flow.van_network import network
from vanplumb.lists.engine import Lists
from vanplumb.van import Build
from vanplumb.van.zone_order import heater_zones, natural, zones_along


def shuffled(build: Build, seed: int) -> Build:
    zones, runs = list(build.zone), list(build.run)
    random.Random(seed).shuffle(zones)
    random.Random(seed + 1).shuffle(runs)
    return replace(build, zone=tuple(zones), run=tuple(runs))


def test_the_most_is_drawn_nearest_the_feed() -> None:
    """Hose outlet, shower, galley tap, cold tap, basin tap: 2, 1.5, 1, 1 and 0.8 gpm by the table.

    Of the two alike the longer run stands first.
    """
    names = [zone.name for zone in zones_along(example("dipper"), "cold manifold")]
    assert names == ["hose reel", "wet room", "sink", "drinking", "basin"]


def test_a_pinned_order_is_that_of_flow_and_lists() -> None:
    build = example("dipper")
    order = "drinking, sink, basin, hose reel, wet room"
    pinned = replace(build, board=replace(build.board, pin=(f"cold manifold order {order}",)))
    names = [zone.name for zone in zones_along(pinned, "cold manifold")]
    assert ", ".join(names) == order
    net = network(pinned).net
    starts = [net.link(f"cold manifold.{name}").start for name in names]
    stubs = [net.link(f"cold manifold stub {n}") for n in range(1, 5)]
    assert starts == ["cold manifold.inlet", *(stub.end for stub in stubs)]
    made = Lists(pinned).headers.made
    ways = [p.name for p in made.pieces if p.kind == "header" and p.name.startswith("cold")]
    assert ways[0] == "cold manifold stub between drinking and sink"


def test_a_heaters_zone_stands_first() -> None:
    build = example("dipper")
    runs = tuple(
        replace(run, end="heater") if run.start == "cold manifold.drinking" else run
        for run in build.run
        if run.end not in ("heater", "heater valve", "drinking tap")
    )
    fed = replace(build, run=runs)
    assert heater_zones(fed) == {"cold manifold.drinking"}
    assert zones_along(fed, "cold manifold")[0].name == "drinking"


def test_numbers_in_names_count_as_numbers() -> None:
    names = ["zone 10", "zone 2", "zone 1", "tap"]
    assert sorted(names, key=natural) == ["tap", "zone 1", "zone 2", "zone 10"]


@pytest.mark.parametrize("seed", (1,))
def test_the_order_of_blocks_changes_neither_header_nor_board(seed: int) -> None:
    build = build_of(3, 2, mixing=True)
    runs = tuple(replace(run, length=1.0 + n / 10) for n, run in enumerate(build.run))
    tanks = tuple(replace(tank, shape="stated", volume=0.04) for tank in build.tank)
    build = replace(build, run=runs, tank=tanks)
    other = shuffled(build, seed)
    assert other.zone != build.zone
    for manifold in build.manifold:
        assert zones_along(other, manifold.name) == zones_along(build, manifold.name)
    links = [{k.name: (k.start, k.end) for k in network(one).net.links if k.kind == "zone"}
             for one in (build, other)]  # fmt: skip
    assert links[0] == links[1]
    one, two = BoardPlan(build).layout, BoardPlan(other).layout
    assert one.state == two.state
    assert sorted((p.part.name, p.x, p.y) for p in one.placed) == sorted(
        (p.part.name, p.x, p.y) for p in two.placed
    )
