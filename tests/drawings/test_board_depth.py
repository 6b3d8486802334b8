"""The board in depth shows the pieces that the layout is checked with, and handles that turn."""

from __future__ import annotations

import pytest
import shapely
from shapely.affinity import rotate

from vanplumb import Pack, example
from vanplumb.board.parts.shapes import BODY, LEAD, REST
from vanplumb.drawings.board.depth import board_depth
from vanplumb.drawings.board.front import board_size


@pytest.fixture(scope="module")
def layout():
    return Pack(example("dipper")).board.layout


def test_each_body_stands_between_its_heights(layout):
    solids = board_depth(layout)[1]["solids"]
    shown = {(s["low"], s["high"]) for s in solids}
    for piece in layout.pieces:
        if piece.role == BODY:
            assert (round(float(piece.low), 1), round(float(piece.high), 1)) in shown
    frame = shapely.box(-0.1, -0.1, *(c + 0.1 for c in board_size(layout)))
    tubes = [p.shape.intersection(frame).area for p in layout.pieces if p.role in (BODY, LEAD)]
    drawn = [shapely.Polygon(s["points"]).area for s in solids[1:] if "pivot" not in s]
    round_ones = {p.owner for p in layout.placed if p.part.handle and p.part.handle.kind == "knob"}
    knobs = [p.shape.area for p in layout.pieces if p.role == REST and p.owner in round_ones]
    assert sum(drawn) == pytest.approx(sum(tubes) + sum(knobs), rel=0.03)


def test_a_handle_turns_from_its_open_to_its_shut_place(layout):
    scene = board_depth(layout)[1]
    shut = [p.shape for p in layout.pieces if p.role == REST]
    handles = [s for s in scene["solids"] if "pivot" in s]
    assert handles
    for one in handles:
        turned = max(one["turn"], key=abs)
        assert abs(turned) == 90 and one["turn"][0] == one["turn"][-1] == 0
        place = rotate(shapely.Polygon(one["points"]), turned, origin=tuple(one["pivot"]))
        assert min(place.symmetric_difference(s).area / s.area for s in shut) < 0.05
    assert scene["play"]["clock"][0].startswith("0 of ")
    assert len(scene["play"]["clock"]) == len(scene["play"]["times"])
