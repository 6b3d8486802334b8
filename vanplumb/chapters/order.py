"""The order list: what is bought where, with room for its numbers, and what is left over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..board.parts.catalogue import rule
from ..board.place.state import mm, ticks
from ..lists.bill import TUBE, Line
from ..shop.record.claims import FittedPart
from ..van.region import region_of
from ..words.regions import local
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import show

if TYPE_CHECKING:
    from ..lists import Lists

BLANK = "_" * 16
"""A line to write on."""


def order_chapter(lists: Lists, parts: Sequence[FittedPart] = ()) -> Chapter:
    """What to order of a van's bill.  ``parts`` are those whose numbers its record knows."""
    bill = lists.bill
    known = {p.part: p for p in parts}
    grids = [_group(lists, where, group, known) for where, group in bill.groups.items()]
    grids += [_left(lists), numbers_grid(parts)]
    ordered = sum(1 for g in grids[: len(bill.groups)] for _ in g.rows)
    answers = [
        Answer("Lines to order", float(ordered), "count"),
        Answer("Places to buy at", float(sum(bool(g.rows) for g in grids[:-2])), "count"),
    ]
    if bill.cost:
        money = f"{bill.cost:.2f} {bill.currency}".strip()
        note = f"{len(bill.unpriced)} lines have no price" if bill.unpriced else ""
        answers.append(Answer("Cost of the priced lines", money, note=note))
    return Chapter(
        "order",
        "Order list",
        basis=(
            "All lines of the bill, spares among them; tube that is on the shelf is not ordered. "
            "Where a thing is bought is common practice: write your own under "
            "[[rows.where_bought]].",
            "Numbers go from the delivery into the record: vanplumb record FILE fitted PART "
            "--serial … --batch … --warranty …, and the batch of rings, fittings and compound "
            "with the joints that are made of them: made … --batch ….",
        ),
        answers=tuple(answers),
        grids=tuple(g for g in grids if g.rows),
        cautions=(
            Caution("NOTICE", "Everything that water touches bears a mark for drinking water. "
                    "Keep the papers that come with parts: a warranty asks for them."),
        ),
        not_computed=(
            *(f"Whether it fits: {told}." for told in lists.trouble),
            "Wires, fuel and waste pipes; supports of tanks and heater.",
        ),
    )  # fmt: skip


def _bought(lists: Lists, line: Line) -> float:
    """How many are ordered: of tube only the lengths that the shelf lacks."""
    if line.kind == TUBE and line.name in lists.cut_plan:
        return float(lists.cut_plan[line.name].bought)
    return line.bought


def _group(lists: Lists, where: str, group: Sequence[Line], known: dict[str, FittedPart]) -> Grid:
    units = lists.build.van.units

    def many(line: Line, value: float) -> str:
        # as it is asked for at the counter: 7.26 m, not 7260 mm
        return show(value, "height", units) if line.unit == "m" else f"{value:g}"

    def numbers(line: Line) -> str:
        part = known.get(line.name)
        if part is None:
            return BLANK
        return f"{part.serial}, batch {part.batch}" if part.batch else part.serial

    def remark(line: Line) -> str:
        if line.kind != TUBE:
            return line.about
        plan = lists.cut_plan.get(line.name)
        lengths = Counter(b.length for b in plan.bars if b.bought) if plan else Counter[int]()
        return ", ".join(
            f"{n} × {show(mm(length) / 1000, 'height', units)}" for length, n in lengths.items()
        )

    columns: dict[str, Getter | tuple[Getter, str]] = {
        "Tick": lambda line: "☐",
        "Order": (lambda line: many(line, _bought(lists, line)), RIGHT),
        "What": "name",
        "Spares": (lambda line: many(line, line.spare) if line.spare else "", RIGHT),
        "Remark": remark,
        "Serial or batch": numbers,
    }
    rows = [line for line in group if _bought(lists, line)]
    key = f"order-{local(where, region_of(lists.build).key)}"  # its file's name
    return grid(f"From the {where}", rows, columns, key=key)


def _left(lists: Lists) -> Grid:
    """What should be left when the van is done: ends of tube that are kept, spares."""
    build = lists.build
    units, least = build.van.units, ticks(rule(build, "offcut kept"))
    rows = []
    for tube, plan in lists.cut_plan.items():
        ends = sorted(plan.offcuts(least), reverse=True)
        if ends:
            told = ", ".join(show(mm(end) / 1000, "length", units) for end in ends)
            rows.append((tube, told, "ends of tube, if each spoiled-cut allowance is used up"))
    rows += [
        (line.name,
         show(line.spare, "height", units) if line.unit == "m" else f"{line.spare:g}", "spare")
        for line in lists.bill.lines if line.spare
    ]  # fmt: skip
    note = f"Ends shorter than {show(mm(least) / 1000, 'length', units)} are scrap."
    columns: dict[str, Getter] = {"What": 0, "Left over": 1, "": 2, "Counted": lambda row: BLANK}
    return grid("What is left over", rows, columns, key="order-left", note=note)


def numbers_grid(parts: Sequence[FittedPart]) -> Grid:
    """Parts with their numbers and the terms of their warranties, from the record."""
    columns: dict[str, Getter] = {
        "Part": "part",
        "Serial number": "serial",
        "Batch": "batch",
        "Fitted": lambda p: p.fitted[:10],
        "By": "by",
        "Warranty": "term",
        "To": "until",
    }
    note = (
        "Terms are those of the papers that came with the parts, as typed in; they begin with the "
        "hand-over, or when a part was fitted later. The seller's paper goes first."
    )
    return grid("Serial numbers and warranty", parts, columns, key="order-numbers", note=note)
