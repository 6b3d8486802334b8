"""Ready headers or tees, by the fewest joints: against brute force, and against the tubes laid."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations_with_replacement

import pytest

from tests.board.boards import build_of
from vanplumb.board.parts.needs import needs_of
from vanplumb.board.place.rows import build_row
from vanplumb.board.place.spacing import Spacer
from vanplumb.flow.van_network import header_links
from vanplumb.van.header_form import covering, form_of, header_form
from vanplumb.van.model import Build


def tube_ends(build: Build) -> int:
    """Ends of tubes on the header and its plugs, as a plain row has them."""
    needs = needs_of(build)
    row = build_row(needs, Spacer(needs).plain["cold manifold"])
    return 2 * sum(tube.kind in ("header", "plug") for tube in row.tubes)


@pytest.mark.parametrize("zones", range(1, 14))
@pytest.mark.parametrize("form", ["tees", "block"])
def test_joints_are_the_ends_of_the_tubes_that_are_laid(zones: int, form: str) -> None:
    build = build_of(zones, form=form)
    assert header_form(build, build.manifold[0]).joints == tube_ends(build)


@pytest.mark.parametrize("zones", range(1, 11))
@pytest.mark.parametrize("counts", [(2, 3, 4, 6), (3, 4), (2,), (4,)], ids=str)
def test_no_other_ready_headers_take_fewer_joints(zones: int, counts: tuple[int, ...]) -> None:
    def joints(outlets: tuple[int, ...]) -> int:
        between, plug, unused = 2 * len(outlets) - 2, 2, 2 * (sum(outlets) - zones)
        return between + plug + unused

    every = [
        way
        for many in range(1, zones + 1)
        for way in combinations_with_replacement(counts, many)
        if sum(way) >= zones
    ]
    taken = covering(zones, counts)
    assert sum(taken) >= zones and joints(taken) == min(map(joints, every))


@pytest.mark.parametrize("zones, form", [(1, "tees"), (2, "tees"), (3, "block"), (5, "block")])
def test_the_form_with_fewer_joints_is_taken_and_flows_like_it(zones: int, form: str) -> None:
    """Two zones: a tee and an elbow take as many as a ready header and its plug."""
    build = build_of(zones, form="fewest joints")
    assert form_of(build, build.manifold[0]) == form
    stated = build_of(zones, form=form)
    assert tube_ends(build) == tube_ends(stated)
    one, other = (
        [(k.name, k.loss, k.length) for k in header_links(b, b.manifold[0])]
        for b in (build, stated)
    )
    assert one == other


def test_where_the_table_has_no_ready_header_tees_are_taken() -> None:
    build = build_of(5, tube="PEX 3/8 in", form="fewest joints")
    found = header_form(build, build.manifold[0])
    assert found.form == "tees" and found.joints_block is None and found.joints == 8
    runs = tuple(replace(r, tube="PEX 3/8 in") if "zone 1" in r.start else r for r in build.run)
    assert header_form(replace(build, run=runs), build.manifold[0]).form == "tees"
