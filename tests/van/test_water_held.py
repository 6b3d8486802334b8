"""Water in headers, tees and valves: by hand, along a way, and beside a board that is laid out."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from pytest import approx

from tests.board.boards import build_of
from tests.examples import pack_of
from vanplumb import Pack, example
from vanplumb.board.plan import BoardPlan
from vanplumb.flow.changed_build import vary
from vanplumb.shop.draining.passages import standing
from vanplumb.van.water_held import (
    beside,
    header_stretches,
    held_beside_runs,
    part_content,
    stretches,
)
from vanplumb.van.zone_order import zones_along
from vanplumb.words.tables import table

HALF = pi / 4 * (0.475 * 0.0254) ** 2
"""m², bore of half inch PEX: ASTM F876, SDR 9, least wall 0.070 in and half its tolerance."""


def test_a_header_by_hand() -> None:
    """Three zones: two tees and an elbow of 16 mm, stubs of 2 1/4 in, valves of twice 24 mm."""
    build = example("dipper")
    hot = next(m for m in build.manifold if m.name == "hot manifold")
    found = header_stretches(build, hot)
    stub, off, valve = 2.25 * 0.0254, 0.016, 2 * 0.024
    trunk = off + 2 * (off + stub + off)
    zones = 3 * (off + stub + valve)
    assert sum(one.length for one in found) == approx(trunk + zones)
    assert sum(one.volume for one in found) == approx(HALF * (trunk + zones), rel=2e-3)


def test_water_to_a_zone_passes_what_stands_before_it_and_no_more() -> None:
    """The last zone's way is the whole trunk and its own stub; the first's only its half tee."""
    build = example("dipper")
    hot = next(m for m in build.manifold if m.name == "hot manifold")
    found = header_stretches(build, hot)
    passes = {z: sum(one.length for one in found if z in one.zones)
              for z in ("wet room", "sink", "basin")}  # fmt: skip
    step = 2.25 * 0.0254 + 2 * 0.016
    assert passes["sink"] - passes["wet room"] == approx(step)
    assert passes["basin"] - passes["sink"] == approx(step)


def test_a_ready_header_holds_its_pitch_from_outlet_to_outlet() -> None:
    build = build_of(4, form="block")
    (manifold,) = build.manifold
    gaps = [one.length for one in header_stretches(build, manifold) if len(one.zones) > 0][::2]
    assert gaps == approx([0.025, 0.05, 0.05, 0.05])


def test_bodies_are_those_of_the_table_of_devices() -> None:
    build = example("dipper")
    rows = table("devices")
    kinds = {
        "basin valve": "mixing valve",
        "pump": "pump, electric",
        "heater valve": "shut-off",
        "pump check": "check valve",
    }
    for component, row in kinds.items():
        assert part_content(build, build.component(component)) == rows[row].number("content")
    assert part_content(build, build.component("fresh")) == 0.0
    own = {"devices": {"mixing valve": {"content": 0.25e-3}}}
    other = replace(build, rows={**build.rows, **own})
    more = held_beside_runs(other) - held_beside_runs(build)
    assert more == approx(0.25e-3 - rows["mixing valve"].number("content"))


def test_variants_hold_what_each_holds_by_itself() -> None:
    build = example("dipper")
    tubes = ["PEX-B 1/2 in", "PEX-B 3/4 in", "PEX-B 1/2 in"]
    many = vary(build, {"manifold.hot manifold.tube": tubes})
    alone = [vary(build, {"manifold.hot manifold.tube": tube}) for tube in tubes]
    assert np.asarray(held_beside_runs(many)) == approx([held_beside_runs(one) for one in alone])
    runs = [n for n, (_, end) in enumerate(build.run_ends) if end.component == "hot manifold"]
    runs += [n for n, (start, _) in enumerate(build.run_ends) if str(start) == "hot manifold.sink"]
    each = [beside(one, runs) for one in alone]
    for place, (number, tube, held) in enumerate(beside(many, runs)):
        assert [each[i][place] for i in range(3)] == [
            (number, str(tube[i]), approx(held[i])) for i in range(3)
        ]


@pytest.mark.parametrize("count", (1, 3))
def test_a_board_tells_what_its_headers_hold(count: int) -> None:
    """By its own cut list and the take-offs of the parts that it placed."""
    plan = BoardPlan(build_of(count, tube="PEX 1/2 in"))
    assert not plan.trouble
    bore = table("tubes")["PEX 1/2 in"].number("bore")
    length = sum(cut.length for cut in plan.cut_list.cuts) / 1e7
    for placed in plan.layout.placed:
        if placed.part.kind in ("tee", "elbow", "valve", "plug"):
            length += sum(port.take_off for port in placed.part.ports) / 1000
    found = standing(plan.build, plan).in_headers
    assert found == approx(pi / 4 * bore**2 * length, rel=1e-6)


def test_dippers_board_is_what_every_sum_takes_for_its_headers() -> None:
    """Order, water and the runs on the board: one header, and no other as it usually is."""
    pack = pack_of("dipper")
    held = standing(pack.build, pack.board).in_headers
    names = {m.name for m in pack.build.manifold}
    taken = sum(one.volume for one in stretches(pack.build) if one.component in names)
    assert held == approx(taken, rel=1e-9)
    usual = sum(one.volume for one in stretches(pack.as_written) if one.component in names)
    assert usual != approx(taken, rel=0.05)
    for row in pack.board.state.rows:
        hung = [spot.zone.partition(".")[2] for spot in row.spots]
        assert [zone.name for zone in zones_along(pack.build, row.manifold)] == hung
    answers = {a.label: a for c in pack.chapters if c.key == "board" for a in c.answers}
    told = answers["Water in headers, stubs and valves"]
    assert told.value == approx(held) and "waits, test, dose and weight" in told.note


def test_a_run_on_the_board_is_as_long_as_its_pieces() -> None:
    pack = pack_of("dipper")
    on_board = [way for way in pack.lists.ways.runs if way.on_board]
    assert on_board
    for way in on_board:
        pieces = way.made.pieces
        centres = sum(piece.centres for piece in pieces)
        ends = pieces[0].take_offs[0] + pieces[-1].take_offs[1]
        run = pack.build.run[way.index]
        assert run.length == approx(centres - ends, rel=1e-9)
        assert run.length != approx(pack.as_written.run[way.index].length, rel=0.05)
        elbows = sum(many for name, many in run.fittings if "elbow" in name)
        assert elbows == len(pieces) - 1


def test_another_header_than_was_laid_out_is_as_it_usually_is() -> None:
    build = pack_of("dipper").build
    wider = vary(build, {"manifold.hot manifold.tube": "PEX-B 3/4 in"})
    hot = next(m for m in wider.manifold if m.name == "hot manifold")
    plain = replace(wider, laid=())
    assert header_stretches(wider, hot) == header_stretches(plain, hot)
    cold = next(m for m in wider.manifold if m.name == "cold manifold")
    assert header_stretches(wider, cold) != header_stretches(plain, cold)
    assert Pack(build).build == build  # laid out once more it is the same
