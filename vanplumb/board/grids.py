"""The lists of a board as tables: cut plan, parts, order of making, problems, ways out."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from vanplumb.words.report import Column, Grid
from vanplumb.words.show import show

from .catalogue import rule
from .checks import in_units
from .state import mm, ticks

if TYPE_CHECKING:
    from .plan import BoardPlan

MOST = 12
"""Problems that are listed on the sheet."""


def stock_grid(plan: BoardPlan) -> Grid:
    """Which piece is cut from which length."""
    kept, system = ticks(rule(plan.build, "offcut kept")), plan.build.van.units
    rows: list[tuple[object, ...]] = []
    for tube, cuts in plan.cut_plan.items():
        names = _names_by_length(plan.pieces[tube])
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
    columns = (
        Column("Tube"), Column("Length no."), Column("Pieces", align="right"),
        Column("Cut each", "length", "right"), Column("For"),
        Column("Left", "length", "right"), Column(""),
    )  # fmt: skip
    spare = show(plan.build.shop.cut_allowance, "length", system)
    note = (
        f"Cut from each length in this order. {spare} is kept spare for each piece, for a spoiled "
        "cut (set in the build file: [shop] cut_allowance); what is left is what stays if all of "
        "that is used up. Runs are as long as the build file says; measure in the van before "
        "cutting."
    )
    return Grid("Cut plan", columns, tuple(rows), "cut-plan", note)


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


def bill_grid(plan: BoardPlan) -> Grid:
    """The parts list."""
    bill = plan.bill
    rows = [
        (
            in_units(line.name, plan.build.van.units),
            line.needed,
            line.spare,
            line.bought,
            line.mass or None,
            "" if line.price is None else f"{line.price:.2f}",
            "" if line.cost is None else f"{line.cost:.2f}",
            line.about,
        )
        for line in bill.lines
    ]
    money = f"Price, {bill.currency}" if bill.currency else "Price"
    columns = (
        Column("Part"), Column("Needed", align="right"), Column("Spare", align="right"),
        Column("Buy", align="right"), Column("One weighs", "mass_small", "right"),
        Column(money, align="right"), Column("Cost", align="right"), Column("Remark"),
    )  # fmt: skip
    note = "Prices are those of the build file; spares are common practice, no source."
    return Grid("Parts to buy for the board", columns, tuple(rows), "board-parts", note)


def making_grid(plan: BoardPlan) -> Grid:
    """The order of making, on the bench and in place."""
    tubes = plan.needs.catalogue.tubes
    kinds = {t.owner: t.tube for t in plan.layout.tubes}
    rows: list[tuple[object, ...]] = []
    for number, (label, joins) in enumerate(plan.on_the_bench, 1):
        rows.append((number, "bench", label, joins, _expansions(tubes[kinds[label]])))
    leads = {lead.owner: lead.open for lead in plan.layout.leads}
    for number, name in enumerate(plan.in_place.order, len(rows) + 1):
        one = leads[name]
        rows.append((number, "in place", name, one.owner, _expansions(tubes[one.tube])))
    columns = (
        Column("Step", align="right"), Column("Where"), Column("Tube"), Column("Onto"),
        Column("Each end"),
    )  # fmt: skip
    note = (
        "On the bench the tube in hand always has a free end. In place, what crosses another "
        "joint's room for the tool is joined after it. Clips go on after the joints beside them."
    )
    return Grid("Order of making", columns, tuple(rows), "board-making", note)


def _expansions(row: object) -> str:
    count = row["expansions"]  # type: ignore[index]
    return f"one ring, {int(count)} expansions" if count else ""


def problems_grid(plan: BoardPlan) -> Grid:
    """What is in the way, the worst first."""
    units = plan.build.van.units
    rows = [(p.kind, in_units(p.what, units), p.by / 1000) for p in plan.problems[:MOST]]
    columns = (Column("Kind"), Column("What"), Column("Short by", "thickness", "right"))
    more = len(plan.problems) - len(rows)
    note = f"{more} more, all smaller in their kind." if more else ""
    return Grid("What is in the way", columns, tuple(rows), "board-problems", note)


def ways_grid(plan: BoardPlan) -> Grid:
    """Every way out with what came of it."""
    rows = [
        (
            way.name,
            "fits" if way.fits else (way.refused or "does not fit"),
            way.layout.width / 1000 if way.layout else None,
            way.layout.height / 1000 if way.layout else None,
            "; ".join(way.changes) if way.fits else way.left,
        )
        for way in plan.ways_out
    ]
    columns = (
        Column("Way out"), Column("Checked"), Column("Width", "length", "right"),
        Column("Height", "length", "right"), Column("What it changes, or what is left"),
    )  # fmt: skip
    return Grid("Ways out, each checked by itself", columns, tuple(rows), "board-ways-out")
