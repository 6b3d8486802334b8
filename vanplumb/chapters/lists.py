"""What the van is put together from: what joins what, pieces, cut plan, bill."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any

from ..board.parts.catalogue import rule
from ..board.place.state import mm, ticks
from ..formulas.joints import cut_length
from ..van.port_ends import STATED, PortEnd
from ..van.wiring import run_words
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import capital, counted, show
from ..words.tables import table

if TYPE_CHECKING:
    from ..lists import Lists
    from ..lists.bill import Line
    from ..lists.ways import RunWay
    from ..van.model import Build

NEAREST = {
    "US": "Each length to the nearest 1/16 in, so that take-offs and cut may add up to 1/16 in "
    "more or less than the centres.",
    "SI": "",
}
"""How lengths are told that are read off a tape."""


def joining_grid(lists: Lists) -> Grid:
    """For each run, the fittings between its tube and the parts at its ends."""
    rows = []
    for way in lists.ways.runs:
        made = ["on the board", "on the board"]
        if way.chains:
            made = [_chain_words(chain.words, chain.stated) for chain in way.chains]
        words = run_words(lists.build, way.index)
        rows.append((str(way.index + 1), words, way.run.tube, *made))
    heads = ("run", "from and to", "tube", "joined at its start by", "at its end by")
    note = (
        "Fittings are those with the fewest joints; other ones can be named for a run under "
        "start_fittings and end_fittings, each from the part to the tube."
    )
    return grid(
        "What joins what",
        rows,
        {head: n for n, head in enumerate(heads)},
        key="joined",
        note=note,
    )


def ends_of_parts(lists: Lists) -> list[PortEnd]:
    """The ends of the parts that runs come to, but for what a fitting says: a tee, a valve."""
    ends = (end for way in lists.ways.runs for end in way.ends if not end.owner)
    found: dict[tuple[str, str], PortEnd] = {}
    for end in ends:
        found.setdefault((end.component, end.port), end)
    return list(found.values())


def ends_grid(lists: Lists) -> Grid:
    """The ends of the parts that runs come to: what they are, where they seal and stand."""
    note = (
        "Typical ends are those of parts of their kind: look at yours and say it in the build "
        "file, under ends of the part: a size, a kind and a material."
    )
    return grid(
        "Ends of the parts",
        ends_of_parts(lists),
        {
            "part": "component",
            "port": "port",
            "end": lambda e: str(e.end),
            "sealed by": lambda e: e.end.seal,
            "where it stands": "at",
            "from": lambda e: "given" if e.basis == STATED else "typical, look at yours",
        },
        key="ends",
        note=note,
    )


def _chain_words(words: str, stated: bool) -> str:
    return f"{words} (as stated)" if stated else words


def tape(build: Build) -> str:
    """The word by which every length of a cut list is shown: as a tape reads, one way in all."""
    return "length" if build.van.units == "US" else "thickness"


def pieces_grid(lists: Lists) -> Grid:
    """The pieces of each run between its fittings; pieces alike are one line."""
    rows: list[tuple[Any, ...]] = []
    for way in lists.ways.runs:
        if way.on_board:
            continue
        for (tube, length), same in groupby(
            way.made.pieces, key=lambda p: (p.tube, round(p.length, 6))
        ):
            pieces = list(same)
            first = pieces[0]
            rows.append(
                (
                    str(way.index + 1), tube, str(len(pieces)), length, sum(first.insertions),
                    _between([p.between for p in pieces]),
                    _remark(way, first.assumed, first.kind, lists.build),
                )
            )  # fmt: skip
    for tee in lists.ways.tees.values():
        for p in tee.made.pieces:
            between = " and ".join(p.between)
            rows.append(("", p.tube, "1", p.length, sum(p.insertions), between, "stub"))
    word = tape(lists.build)
    note = (
        "Pieces, and the take-offs of the fittings between them, are the run's length. Take-offs "
        "are typical for each fitting: measure yours, and correct it once under "
        "[[rows.fitting_parts]]. Tubes of the board stand in its own cut list. "
        + NEAREST[lists.build.van.units]
    ).strip()
    return grid(
        "Pieces of the runs",
        rows,
        {
            "Run": 0,
            "Tube": 1,
            "Pieces": (2, RIGHT),
            "Cut each": (3, word),
            "Of it on fittings": (4, word),
            "Between": 5,
            "Remark": 6,
        },
        key="pieces",
        note=note,
    )


def _between(pairs: list[tuple[str, str]]) -> str:
    first, last = pairs[0][0], pairs[-1][1]
    inner = f", {len(pairs) - 1} fittings between" if len(pairs) > 1 else ""
    return f"{first} and {last}{inner}"


def _remark(way: RunWay, assumed: bool, kind: str, build: Build) -> str:
    bent, units = build.bent, build.van.units
    said = []
    if kind == "stub":
        said.append("stub")
    if assumed:
        said.append("alike, as no legs are said: measure each")
    if way.bends and kind != "stub":
        made = next((b for b in bent if b.index == way.index and not b.refused), None)
        of = f" of {show(made.radius, 'length', units)} at least" if made else ""
        said.append(f"{counted(way.bends, 'bend')} in the run{of}")
    return "; ".join(said)


def cut_plan_grid(lists: Lists) -> Grid:
    """Which piece is cut from which length."""
    build = lists.build
    kept, system = ticks(rule(build, "offcut kept")), build.van.units
    rows: list[tuple[Any, ...]] = []
    for tube, cuts in lists.cut_plan.items():
        names = _names_by_length([(p.name, ticks(p.length * 1000)) for p in lists.by_tube[tube]])
        for number, bar in enumerate(cuts.bars, 1):
            where = "buy" if bar.bought else "shelf"
            first = f"{number}, {where}, {show(mm(bar.length) / 1000, 'length', system)}"
            for length, same in groupby(bar.pieces):
                many = len(list(same))
                labels = [names[length].pop(0) for _ in range(many)]
                rows.append((tube, first, many, mm(length) / 1000, _for(labels), None, ""))
                first = ""
            back = "keep" if bar.left >= kept else "scrap"
            rows[-1] = (*rows[-1][:5], mm(bar.left) / 1000, back)
        for piece in cuts.missing:
            label = names[piece].pop(0)
            rows.append((tube, "none is long enough", 1, mm(piece) / 1000, label, None, ""))
    spare = show(build.shop.cut_allowance, "length", system)
    note = (
        f"Cut from each length in this order. {spare} is kept spare for each piece, for a spoiled "
        "cut (set in the build file: [shop] cut_allowance); what is left is what stays if all of "
        "that is used up. Measure in the van before cutting. "
        + " ".join(f"{tube}: {c.verdict}" for tube, c in lists.cut_plan.items())
    )
    return grid(
        "Cut plan",
        rows,
        {
            "Tube": 0,
            "Length no.": 1,
            "Pieces": (2, RIGHT),
            "Cut each": (3, "length"),
            "For": 4,
            "Left": (5, "length"),
            "": 6,
        },
        key="cut-plan",
        note=note,
    )


def _for(labels: list[str]) -> str:
    """What the pieces are for; a long list is left to the cut list."""
    if len(labels) > 5 and not any(label.startswith("run ") for label in labels):
        return "tubes of that length in the cut list"
    return "; ".join(labels)


def _names_by_length(pieces: list[tuple[str, int]]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for name, length in pieces:
        found.setdefault(length, []).append(name)
    return found


def bill_grid(lists: Lists) -> Grid:
    """All that is bought, by where one buys it, by the names that tables and cut plan have."""
    bill, units = lists.bill, lists.build.van.units

    def number(value: float, line: Line) -> str:
        return show(value, "height", units) if line.unit == "m" else f"{value:g}"

    def money(amount: float | None) -> str:
        return "" if amount is None else f"{amount:.2f}"

    priced = any(line.price is not None for line in bill.lines)
    costs: dict[str, tuple[Getter, str]] = {
        f"Price, {bill.currency}" if bill.currency else "Price": (
            lambda row: money(row[1].price),
            RIGHT,
        ),
        "Cost": (lambda row: money(row[1].cost), RIGHT),
    }
    note = (
        "Prices are those of the build file: price of a component, or of a row under "
        "[[rows.board_parts]] or [[rows.fitting_parts]] with the name of the line; a tube's is for "
        "one length. Spares are common practice, no source. Masses are without spares."
    )
    return grid(
        "Bill",
        [(where, line) for where, group in bill.groups.items() for line in group],
        {
            "Bought at": 0,
            "What": lambda row: row[1].name,
            "Needed": (lambda row: number(row[1].needed, row[1]), RIGHT),
            "Spare": (lambda row: number(row[1].spare, row[1]) if row[1].spare else "", RIGHT),
            "Buy": (lambda row: number(row[1].bought, row[1]), RIGHT),
            "In the van": (lambda row: row[1].total or None, "mass"),
            **(costs if priced else {}),
            "Remark": lambda row: row[1].about,
        },
        key="bill",
        note=note,
    )


def tools_grid(lists: Lists) -> Grid:
    """What each tool is for, how often, and how long joints take; what cuts and drills, too."""
    found: dict[str, tuple[set[str], int, float]] = {}
    for joint in lists.joints:
        kinds, many, time = found.get(joint.tool, (set(), 0, 0.0))
        found[joint.tool] = (kinds | {joint.kind}, many + 1, time + joint.time)
    rows = [
        (tool or "none", ", ".join(sorted(kinds)), float(many), show(time, "duration"))
        for tool, (kinds, many, time) in found.items()
    ]
    rows += [(tool, what, float(many), "") for tool, what, many in _cutting_and_drilling(lists)]
    note = "Times of work are common practice, no source; write your own under [[rows.labour]]."
    columns: dict[str, Getter | tuple[Getter, str]] = {
        "Tool": 0,
        "For": 1,
        "How many": (2, "count"),
        "They take": (3, RIGHT),
    }
    return grid("Tools", rows, columns, key="tools", note=note)


CUTTERS = {"hose": "sharp knife", "copper": "tube cutter for copper, reamer"}
"""What a tube of a stuff is cut with, where that is no cutter for plastic tube."""


def _cutting_and_drilling(lists: Lists) -> Iterator[tuple[str, str, int]]:
    """Tools that make no joint (common practice, no source): what they do and how often."""
    stuffs = table("tubes", lists.build.rows)
    cut: Counter[str] = Counter()
    for tube, plan in lists.cut_plan.items():
        tool = CUTTERS.get(str(stuffs[tube]["material"]), "tube cutter for plastic tube")
        cut[tool] += sum(len(bar.pieces) for bar in plan.bars)
    yield from ((tool, "cuts across tube", many) for tool, many in cut.items() if many)
    screws = [line for line in lists.bill.lines if line.kind == "screw"]
    if screws:
        bits = " and ".join(line.about.removeprefix("for holes of ") for line in screws)
        yield f"drill, bits of {bits}", "holes for screws", round(sum(s.needed for s in screws))
    walls = sum(joint.kind == "bulkhead" for joint in lists.joints)
    if walls:
        yield "drill and hole saw", "holes for bulkhead fittings", walls


def lists_chapter(lists: Lists) -> Chapter:
    """Everything that the van is put together from."""
    bill = lists.bill
    makers = (ends_grid, joining_grid, pieces_grid, cut_plan_grid, bill_grid, tools_grid)
    grids = [make(lists) for make in makers]
    return Chapter(
        "lists",
        "Parts, pieces and bill of the whole van",
        basis=(
            "Each run joins two ends; the fittings between are searched for the fewest joints.",
            "A run's length is measured along its centre line, from where a tube would stop at "
            "the one part to where it would stop at the other, to the centre of a tee.",
            "Pieces and take-offs are the run; what goes onto fittings is part of a piece.",
        ),
        inputs=_inputs(lists),
        answers=_answers(lists),
        grids=tuple(grid for grid in grids if grid.rows),
        cautions=(
            Caution(
                "NOTICE",
                "NPT and R threads look alike and do not fit each other: count the threads in an "
                "inch and look at both halves before anything is bought.",
            ),
        ),
        not_computed=(
            *(f"{capital(told)}." for told in (*lists.trouble, *lists.made.notes)),
            *((f"Masses that nobody has said: {', '.join(bill.unweighed)}.",) if bill.unweighed
              else ()),
            "Wires, fuel and waste pipes; supports of tanks and heater.",
        ),
    )  # fmt: skip


def _inputs(lists: Lists) -> tuple[Answer, ...]:
    build = lists.build
    given = "shop.cut_allowance" in build.given
    return (
        Answer("Lost at each cut", rule(build, "kerf") / 1000, "length",
               basis="common practice, no source"),
        Answer("Kept spare for each piece, for a spoiled cut", build.shop.cut_allowance, "length",
               basis="given" if given else "common practice, no source"),
    )  # fmt: skip


def _answers(lists: Lists) -> tuple[Answer, ...]:
    bill = lists.bill
    answers = [
        Answer("Joints", float(len(lists.joints)), "count"),
        Answer("Fittings, beside those of the board", float(len(lists.fittings)), "count"),
        Answer("Pieces of tube to cut", float(len(lists.pieces)), "count"),
        Answer("Parts in the van, without water and fuel", bill.mass, "mass", key=True),
    ]
    hung = sum(line.on_board * (line.mass or 0.0) for line in bill.lines)
    hung += sum(part.mass for part in lists.headers.devices.values())
    if hung:
        note = "without its tubes; typical, weigh yours"
        answers.append(Answer("Of it, fittings and devices on the board", hung, "mass", note=note))
    piece = next(
        (p for p in lists.pieces if p.kind == "run" and p.length > 0 and min(p.take_offs) > 0), None
    )
    if piece is not None:
        one, other = piece.take_offs
        work = cut_length.work(length_centres=piece.centres, width_one=one, width_other=other)
        answers.append(Answer(f"Cut length, {piece.name}", work.value, "length", (work,)))
    if bill.cost:
        money = f"{bill.cost:.2f} {bill.currency}".strip()
        note = f"{len(bill.unpriced)} lines have no price" if bill.unpriced else ""
        answers.append(Answer("Cost of the priced lines", money, note=note, key=True))
    return tuple(answers)
