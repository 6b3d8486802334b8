"""The bill, the pieces and the cut plan of a whole van, board or no board."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import ceil

import pytest
from pytest import approx

from tests.examples import pack_of
from tests.small_van import SMALL_VAN
from vanplumb.board.plan import BoardPlan
from vanplumb.chapters.lists import lists_chapter, tools_grid
from vanplumb.lists import Lists
from vanplumb.pack import Pack, example
from vanplumb.van import loads
from vanplumb.van.region import clips_along

INCH, FOOT = 0.0254, 0.3048
PRICED = """
[[rows.board_parts]]
name = "ball valve, lever, crimp 1/2 in"
price = 11.5
[[rows.board_parts]]
name = "PEX-B 1/2 in"
kind = "tube"
price = 9
[[rows.fitting_parts]]
name = "adapter, crimp 1/2 in × 1/2 in NPSM swivel"
price = 4.25
"""


@pytest.fixture(scope="module")
def dipper() -> Pack:
    return pack_of("dipper")


def test_the_bill_holds_what_hangs_on_the_board_and_what_does_not(dipper: Pack) -> None:
    bill, board = dipper.lists.bill, dipper.board
    on_board = Counter(p.part.name for p in board.layout.placed if p.owner != "basin valve")
    for name, many in on_board.items():
        assert bill.line(name).on_board == many
        assert bill.line(name).needed >= many
    for name in ("pump", "heater", "accumulator", "fresh", "sink", "basin valve"):
        assert bill.line(name).kind == "device" and bill.line(name).needed == 1
    assert bill.line("relief valve of heater").needed == 1
    # the elbows of all runs of the file that aren't on the board, and those that the board has
    runs = sum(
        many for way in dipper.lists.ways.runs if not way.on_board
        for name, many in way.run.fittings if "elbow" in name
    )  # fmt: skip
    half = bill.line("elbow, crimp 1/2 in")
    thin = bill.line("elbow, crimp 3/8 in")
    assert half.needed - half.on_board + thin.needed - thin.on_board == runs


def test_what_is_ordered_says_its_sizes_and_threads(dipper: Pack) -> None:
    """What a counter asks for: sides and content, powers as the file has them, size and gender of
    a thread that the fitting's name leaves out; written twice, it would be read as two."""
    told = {line.name: line.about for line in dipper.lists.bill.lines}
    assert told["fresh"] == "tank, 40 × 18 × 14 in inside"
    assert told["heater"] == "heater, storage, 5.0 gal, burner 10000 Btu/h, element 1000 W"
    assert told["regulator"] == "regulator, set to 45 psi"
    assert told["thread adapter, crimp 1/2 in"] == "1/2 in NPT male"
    assert told["adapter, crimp 1/2 in × 1/2 in NPT female"] == ""


def test_rings_are_enough_for_every_joint(dipper: Pack) -> None:
    rings = sum(j.rings for j in dipper.shop.joints if j.tube == "PEX-B 1/2 in")
    line = dipper.lists.bill.line("crimp ring for PEX-B 1/2 in")
    assert line.needed == rings > 100
    assert line.spare >= ceil(0.1 * rings)


def test_a_ring_weighs_its_strip_of_tube() -> None:
    """By hand: 49.9 mm round half-inch tube, 16 mm wide, 3.5 mm thick, 0.94 g/cm³: 2.63 g."""
    line = Lists(loads(SMALL_VAN)).bill.line("ring for PEX 1/2 in")
    assert line.mass == approx(4.99 * 1.6 * 0.35 * 0.94e-3, rel=2e-3)


def test_prices_come_from_the_build_alone(dipper: Pack) -> None:
    assert dipper.lists.bill.cost == 0
    assert all(line.price is None for line in dipper.lists.bill.lines)
    text = dipper.build.text.replace('name = "pump"', 'name = "pump"\nprice = 140', 1)
    build = loads(text + PRICED)
    bill = Lists(build, BoardPlan(build)).bill
    valves, tails = (
        bill.line("ball valve, lever, crimp 1/2 in"),
        bill.line("adapter, crimp 1/2 in × 1/2 in NPSM swivel"),
    )
    lengths = bill.line("PEX-B 1/2 in")
    expected = 140 + 11.5 * valves.bought + 4.25 * tails.bought + 9 * lengths.bought
    assert bill.cost == approx(expected)
    assert "heater" in bill.unpriced and "pump" not in bill.unpriced


def test_screws_are_sold_in_the_sizes_of_the_region() -> None:
    inch = {line.name for line in Lists(example("dipper")).bill.lines if line.kind == "screw"}
    metric = {line.name for line in Lists(example("heron")).bill.lines if line.kind == "screw"}
    assert inch and all(name.startswith("screw #") for name in inch)
    assert metric and all(name.endswith(" mm") for name in metric)


def test_clips_keep_the_distance_of_the_code() -> None:
    # IRC 2018, table P2605.1: 32 in; a run of 108 in has bays of 32, 32, 32 and 12 in
    assert clips_along(32 * INCH, 108 * INCH) == 4
    for length in (0.05, 0.8128, 0.82, 2.5, 9.99):
        many = clips_along(0.8128, length)
        assert length / many <= 0.8128 + 1e-9


def test_insulation_is_as_long_as_the_runs_that_it_goes_on(dipper: Pack) -> None:
    long = sum(r.length for r in dipper.build.run if r.insulation and r.tube == "PEX-B 1/2 in")
    lines = [x for x in dipper.lists.bill.lines if x.kind == "insulation" and "1/2 in" in x.name]
    assert sum(line.needed for line in lines if "PEX-B 1/2" in line.name) == approx(long, abs=0.01)


def test_compound_goes_by_the_threads_that_it_seals(dipper: Pack) -> None:
    threads = Counter(j.compound for j in dipper.shop.joints if j.thread)
    for compound, many in threads.items():
        line = dipper.lists.bill.line(compound)
        assert f"for {many} threads" in line.about and not line.total


def test_a_run_of_ten_feet_with_four_elbows_is_five_pieces(dipper: Pack) -> None:
    way = dipper.lists.ways.runs[23]
    assert way.length == approx(120 * INCH)
    assert len(way.made.pieces) == 5 and all(p.assumed for p in way.made.pieces)
    # board_parts: an elbow of 1/2 in takes 16 mm on each side; the adapter 8 mm and its swivel
    adapter = next(
        u.part for u in dipper.lists.fittings if u.run == 23 and u.part.kind == "adapter"
    )
    gone = 4 * 2 * 0.016 + sum(adapter.take_offs)
    assert sum(p.length for p in way.made.pieces) == approx(120 * INCH - gone, abs=1e-9)


def test_legs_say_where_the_elbows_are(dipper: Pack) -> None:
    long, said = 'length = "10 ft"', 'legs = ["2 ft", "42 in", "18 in", "2 ft", "12 in"]'
    text = dipper.build.text.replace(long, f"{long}\n{said}", 1)
    build = loads(text)
    way = Lists(build).ways.runs[23]
    legs = [24 * INCH, 42 * INCH, 18 * INCH, 24 * INCH, 12 * INCH]
    pieces = way.made.pieces
    assert len(pieces) == 5 and not any(p.assumed for p in pieces)
    # from elbow to elbow centre to centre, each elbow taking 16 mm
    assert pieces[1].length == approx(legs[1] - 0.032) and pieces[2].length == approx(
        legs[2] - 0.032
    )
    assert pieces[0].length == approx(legs[0] - 0.016)
    assert [p.centres for p in pieces[:4]] == approx(legs[:4])


def test_one_row_corrects_a_take_off_in_every_run(dipper: Pack) -> None:
    own = '\n[[rows.board_parts]]\nname = "elbow, crimp 1/2 in"\ntake_off = "20 mm"\n'
    build = loads(dipper.build.text + own)
    before, after = Lists(dipper.build), Lists(build)
    for one, other in zip(before.ways.runs, after.ways.runs, strict=True):
        elbows = sum(
            many for name, many in one.run.fittings if "elbow" in name
        ) if one.run.tube == "PEX-B 1/2 in" else 0  # fmt: skip
        assert other.take_offs - one.take_offs == approx(elbows * 2 * 0.004, abs=1e-9)


def test_offcuts_are_used_first() -> None:
    """Wren's two pieces come from two ends on the shelf, and its whole length stays."""
    build = example("wren")
    ends = tuple(replace(build.stock[0], length=length) for length in (1.0, 1.4))
    plan = Lists(replace(build, stock=(*build.stock, *ends))).cut_plan["hose 12 mm"]
    assert sorted(bar.length for bar in plan.bars) == [10_000_000, 14_000_000]


def test_without_stock_tube_is_bought_in_lengths_of_the_region() -> None:
    build = replace(example("heron"), stock=())
    sold = {round(length * 1e7) for length in (5.0, 50.0, 100.0)}  # the table for the EU
    for plan in Lists(build).cut_plan.values():
        assert plan.bought == len(plan.bars) and {bar.length for bar in plan.bars} <= sold


def test_the_builder_says_what_is_kept_spare_for_a_spoiled_cut() -> None:
    build = example("dipper")
    usual = Lists(build)
    tube, spare = "PEX-B 1/2 in", 0.0127
    for bar in usual.cut_plan[tube].bars:
        used = sum(bar.pieces) + 1e7 * spare * len(bar.pieces)
        assert bar.left == approx(bar.length - used, abs=1)
    told = next(a for a in lists_chapter(usual).inputs if "spoiled cut" in a.label)
    assert told.value == spare and told.basis == "common practice, no source"


def test_the_chapter_tells_all_of_it(dipper: Pack) -> None:
    chapter = lists_chapter(dipper.lists)
    keys = [grid.key for grid in chapter.grids]
    assert keys == [
        "ends",
        "joined",
        "pieces",
        "cut-plan",
        "bill",
        "tools",
    ]
    bill = chapter.grids[4]
    assert len(bill.rows) == len(dipper.lists.bill.lines)
    for grid in chapter.grids:
        for system in ("US", "SI"):
            heads, rows = grid.shown(system)
            assert all(len(row) == len(heads) for row in rows)
    assert any("relief drain" in told for told in chapter.not_computed)


def test_what_cuts_and_drills_is_among_the_tools(dipper: Pack) -> None:
    rows = {row[0]: row for row in tools_grid(dipper.lists).rows}
    cuts = rows["tube cutter for plastic tube"][2]
    assert cuts == sum(len(bar.pieces) for p in dipper.lists.cut_plan.values() for bar in p.bars)
    drill = next(row for tool, row in rows.items() if tool.startswith("drill, bits of "))
    screws = [line for line in dipper.lists.bill.lines if line.kind == "screw"]
    assert drill[2] == sum(line.needed for line in screws) and "9/64 in" in drill[0]
    assert rows["drill and hole saw"][2] == sum(j.kind == "bulkhead" for j in dipper.lists.joints)
    wren = {row[0] for row in tools_grid(pack_of("wren").lists).rows}
    assert "sharp knife" in wren and not any("tube cutter" in tool for tool in wren)


def test_a_tube_has_one_name_in_the_bill_and_the_cut_plan() -> None:
    """A metric hose in a van told in inches keeps the name that its row has."""
    build = example("wren")
    lists = Lists(replace(build, van=replace(build.van, units="US")))
    grids = {grid.key: grid for grid in lists_chapter(lists).grids}
    bought = {row[1] for row in grids["bill"].rows}
    assert {row[0] for row in grids["cut-plan"].rows} == {"hose 12 mm"} <= bought


def test_a_van_without_a_board_has_a_bill_too() -> None:
    for name in ("heron", "wren"):
        lists = pack_of(name).lists
        assert lists.bill.lines and lists.bill.mass > 3
