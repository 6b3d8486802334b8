"""What a notebook or a script sees of a pack: short lines, tables with units in their heads."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import cached_property
from typing import Any

import pytest

import vanplumb as vp
from tests.examples import pack_of
from vanplumb.words.brief import LINE
from vanplumb.words.report import Tables
from vanplumb.words.show import value

DEPTH = 3


@pytest.fixture(scope="module", params=["dipper", "wren"])
def pack(request: pytest.FixtureRequest) -> vp.Pack:
    return pack_of(request.param)


def results(found: Any, path: str, seen: set[int], depth: int = 0) -> Iterator[tuple[str, Any]]:
    """Everything of the kit's own that attributes lead to, with the way there."""
    if depth > DEPTH or id(found) in seen:
        return
    seen.add(id(found))
    if isinstance(found, tuple | list) and not type(found).__module__.startswith("vanplumb"):
        for one in found[:3]:
            yield from results(one, f"{path}[]", seen, depth)
        return
    if isinstance(found, dict):
        for one in list(found.values())[:3]:
            yield from results(one, f"{path}{{}}", seen, depth)
        return
    if not type(found).__module__.startswith("vanplumb") or isinstance(found, type):
        return
    yield path, found
    names = [f.name for f in dataclasses.fields(found)] if dataclasses.is_dataclass(found) else []
    for kind in type(found).__mro__:
        names += [n for n, v in vars(kind).items() if isinstance(v, property | cached_property)]
    for name in dict.fromkeys(n for n in names if not n.startswith("_")):
        try:
            one = getattr(found, name)
        except (ValueError, KeyError):
            continue
        yield from results(one, f"{path}.{name}", seen, depth + 1)


def test_every_result_shows_itself_in_one_short_line(pack: vp.Pack) -> None:
    shown = [
        (path, repr(one))
        for path, one in results(pack, "pack", set())
        if not isinstance(one, vp.review.Findings | Tables)
    ]
    assert len(shown) > 80
    long = {path: len(text) for path, text in shown if len(text) > 2 * LINE or " at 0x" in text}
    assert long == {}


def test_a_build_and_a_pack_read_well_in_a_notebook(pack: vp.Pack) -> None:
    build = pack.build
    parts = len(list(build.components))
    assert repr(build) == f"Build of {build.van.name}: {parts} components, {len(build.run)} runs"
    page = build._repr_html_()
    assert all(tank.name in page for tank in build.tank)
    opening = [a for c in pack.chapters for a in c.answers if a.key]
    assert pack._repr_html_().count("<tr>") == 1 + len(opening) + 1 + len(pack.findings)


def test_findings_are_a_tuple_and_a_table(pack: vp.Pack) -> None:
    found = pack.findings
    assert isinstance(found, tuple) and all(isinstance(f, vp.review.Finding) for f in found)
    frame = found.frame()
    assert list(frame["severity"]) == [f.severity for f in found]
    assert list(frame["is"]) == [f.shown(pack.build.van.units)[0] for f in found]
    assert repr(found).count("\n") == max(len(found) - 1, 0)
    assert len(found) > 0 or pack.build.van.name == "Wren"  # the plainest van may have none


def test_tables_have_figures_in_the_units_of_their_heads(pack: vp.Pack) -> None:
    system = pack.build.van.units
    frame = pack.tables["runs"].frame()
    head = {"US": "length, in", "SI": "length, mm"}[system]
    assert list(frame[head]) == pytest.approx(
        [value(run.length, "length", system) for run in pack.flow.runs]
    )
    assert head in pack.tables["runs"]._repr_html_()
    for key, table in pack.tables.items():
        assert table.frame().shape == (len(table.grid.rows), len(table.grid.columns)), key


def test_the_flow_gives_its_situations_as_a_table(pack: vp.Pack) -> None:
    frame = pack.flow.frame()
    head = {"US": "flow, gpm", "SI": "flow, L/min"}[pack.build.van.units]
    rows = [(one.name, f) for one in pack.flow.situations for f in one.opened]
    assert rows
    for name, fixture in rows:
        row = frame[(frame["situation"] == name) & (frame["fixture"] == fixture.name)]
        figure = value(fixture.flow, "flow", pack.build.van.units)
        assert row[head].item() == pytest.approx(figure)


def test_trip_board_and_shop_give_themselves_as_tables(pack: vp.Pack) -> None:
    """Each in the reader's units, which the heads name."""
    system = pack.build.van.units
    volume, length, time = {
        "US": ("gal", "in", "s"), "SI": ("L", "mm", "s")
    }[system]  # fmt: skip
    days = pack.trip.frame()
    start = value(pack.trip.plant.fresh, "volume", system)
    assert days[f"fresh, {volume}"].iloc[0] == pytest.approx(start)
    tasks = pack.shop.frame()
    plan = pack.shop.clock
    assert list(tasks["task"]) == [task.name for task in plan.tasks]
    worked = sum((task.end - task.start).total_seconds() for task in plan.tasks)
    assert tasks[f"work, {time}"].sum() == pytest.approx(worked)
    if pack.board.trouble:
        with pytest.raises(ValueError, match="no manifold"):
            pack.board.frame()
        return
    cuts = pack.board.frame()
    assert len(cuts) == len(pack.board.cut_list.cuts)
    ends = cuts[f"take-off at the start, {length}"] + cuts[f"take-off at the end, {length}"]
    left = cuts[f"centre to centre, {length}"] - ends
    unbent = [not cut.bends for cut in pack.board.cut_list.cuts]
    tick = {"US": 1 / 16, "SI": 1.0}[system]
    off = (cuts[f"cut, {length}"] - left)[unbent].abs()
    assert off.max() <= tick, "centres less take-offs, to a mark of the tape"


def test_an_unknown_table_says_which_there_are(pack: vp.Pack) -> None:
    with pytest.raises(KeyError, match="no table 'pipes'; there are uses, tanks"):
        pack.tables["pipes"]
