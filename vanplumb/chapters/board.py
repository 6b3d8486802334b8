"""The board on the sheet: layout, cut list with worked steps, order of making, ways out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..board.as_laid import as_laid
from ..board.parts.shapes import SWEEP_TOLERANCE
from ..board.place.checks import in_units
from ..board.place.mounting import HABITS, habits
from ..board.place.state import mm
from ..formulas.joints import cut_length
from ..shop.draining.passages import standing
from ..van.header_form import BLOCK, header_form
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import show, together
from .lists import tape

if TYPE_CHECKING:
    from ..board.lists.cuts import Cut
    from ..board.plan import BoardPlan
    from ..van.parts import Manifold

MOST = 12
"""Problems that are listed on the sheet."""


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
    note = (
        "On the bench the tube in hand always has a free end. In place, what crosses another "
        "joint's room for the tool is joined after it. Clips go on after the joints beside them."
    )
    return grid(
        "Order of making",
        rows,
        {"Step": (0, RIGHT), "Where": 1, "Tube": 2, "Onto": 3, "Each end": 4},
        key="board-making",
        note=note,
    )


def _expansions(row: object) -> str:
    count = row["expansions"]  # type: ignore[index]
    return f"one ring, {int(count)} expansions" if count else ""


def problems_grid(plan: BoardPlan) -> Grid:
    """What is in the way, the worst first."""
    units = plan.build.van.units
    more = len(plan.problems) - MOST
    return grid(
        "What is in the way",
        plan.problems[:MOST],
        {
            "Kind": "kind",
            "What": lambda p: in_units(p.what, units),
            "Short by": (lambda p: p.by / 1000, "thickness"),
        },
        key="board-problems",
        note=f"{more} more, all smaller in their kind." if more > 0 else "",
    )


def ways_grid(plan: BoardPlan) -> Grid:
    """Every way out with what came of it."""
    return grid(
        "Ways out, each checked by itself",
        plan.ways_out,
        {
            "Way out": "name",
            "Checked": lambda way: "fits" if way.fits else (way.refused or "does not fit"),
            "Width": (lambda way: way.layout.width / 1000 if way.layout else None, "length"),
            "Height": (lambda way: way.layout.height / 1000 if way.layout else None, "length"),
            "What it changes, or what is left": lambda way: (
                "; ".join(way.changes) if way.fits else way.left
            ),
        },
        key="board-ways-out",
    )


_BASIS = (
    "Parts are typical sizes from the table of board parts unless the build file says its own; "
    "measure yours before cutting.",
    "Each handle keeps clear of every part and of every position of every other handle, through "
    f"its whole sweep; a sweep is drawn at most {SWEEP_TOLERANCE:g} mm too large.",
    "A cut length is the distance of the centres less both take-offs; the insertion is the part "
    "of it that goes onto the fittings.",
)


def _basis(plan: BoardPlan) -> tuple[str, ...]:
    return tuple(in_units(line, plan.build.van.units, tape=False) for line in _BASIS)


def board_chapter(plan: BoardPlan) -> Chapter:
    """The board's chapter; without a board, what was not computed and why."""
    if plan.trouble:
        return Chapter("board", "Manifold board", not_computed=(f"Board: {plan.trouble}.",))
    layout = plan.layout
    grids = [_zones(plan), _cuts(plan), _closings(plan)]
    grids.append(making_grid(plan))
    if plan.problems:
        grids.insert(0, problems_grid(plan))
        grids.insert(1, ways_grid(plan))
    return Chapter(
        "board",
        "Manifold board",
        basis=_basis(plan),
        inputs=_inputs(plan),
        answers=_answers(plan),
        grids=tuple(grids),
        cautions=(
            Caution(
                "NOTICE",
                "Print the template at full size and check its bar with a rule before drilling.",
            ),
            Caution(
                "WARNING",
                "Where the board is near mains wiring, gas or the heater's flue, local codes and a "
                "licensed person decide on distances; they were not checked here.",
            ),
        ),
        not_computed=(
            *(f"{note}." for note in plan.notes),
            "Weight on the board's screws, and how the board is held in the van.",
            "Room for other tools than that of the joints, and for hands behind the board.",
            in_units(
                "Heights of parts are taken from the tube's centre line, "
                f"{layout.needs.tube_height:g} mm in front of the board.",
                plan.build.van.units,
            ),
        ),
    )


def worksheet_chapter(plan: BoardPlan) -> Chapter:
    """What stands beside the board while it is changed: what is wrong, sizes, the cut list."""
    layout = plan.layout
    wrong = len(plan.problems)
    first = "fits" if not wrong else f"{wrong} in the way"
    note = in_units(plan.problems[0].what, plan.build.van.units) if wrong else ""
    answers = [
        Answer("The board", first, note=note, key=True),
        Answer("Parts and sweeps, width", layout.width / 1000, "length"),
        Answer("Parts and sweeps, height", layout.height / 1000, "length"),
    ]
    worked = _worked(plan)
    if worked:
        answers.append(worked)
    grids = [problems_grid(plan)] if wrong else []
    return Chapter(
        "board",
        "Manifold board",
        basis=_basis(plan),
        answers=tuple(answers),
        grids=(*grids, _cuts_in_short(plan)),
        not_computed=tuple(f"{note}." for note in plan.notes),
    )


def _inputs(plan: BoardPlan) -> tuple[Answer, ...]:
    build, needs, state = plan.build, plan.needs, plan.state
    board = build.board
    found = [
        Answer("Board width", mm(state.width) / 1000, "length", basis=_given(plan, "width")),
        Answer("Board height", mm(state.height) / 1000, "length", basis=_given(plan, "height")),
        Answer("Margin kept free", board.margin, "length", basis=_given(plan, "margin")),
        Answer("Room for fingers", board.finger, "length", basis=_given(plan, "finger")),
        Answer("Room round a moving handle", needs.room.handle / 1000, "length",
               basis="common practice, no source"),
    ]  # fmt: skip
    if board.depth:
        found.insert(2, Answer("Free in front", board.depth, "length", basis=_given(plan, "depth")))
    return tuple(found)


def _given(plan: BoardPlan, key: str) -> str:
    if f"board.{key}" in plan.build.given:
        return "given"
    if key in ("width", "height"):
        return "as small as the parts allow"
    return "common practice, no source"


def _answers(plan: BoardPlan) -> tuple[Answer, ...]:
    layout, found = plan.layout, plan.found
    answers = [
        Answer("Parts and sweeps, width", layout.width / 1000, "length", key=True),
        Answer("Parts and sweeps, height", layout.height / 1000, "length", key=True),
        Answer("Stand in front of the board", layout.depth / 1000, "length"),
        Answer(
            "Found by",
            found.stage,
            note="the plainest means that give a good board" if found.good else "",
        ),
        Answer("Area against plain rows", f"{100 * layout.area / found.plain_area:.0f} %"),
        Answer("Tubes to cut for the board", str(len(plan.cut_list.cuts))),
    ]
    water = standing(plan.build, plan).in_headers
    note = "as it counts in waits, test, dose and weight"
    answers.append(Answer("Water in headers, stubs and valves", water, "volume_small", note=note))
    answers += _lengths_of_runs(plan)
    answers += [*_mounted(plan), *(_header(plan, m) for m in plan.build.manifold)]
    worked = _worked(plan)
    if worked:
        answers.append(worked)
    if plan.problems:
        obstacle = in_units(plan.obstacle, plan.build.van.units)
        answers.insert(0, Answer("Does not fit", obstacle, key=True))
    return tuple(answers)


def _lengths_of_runs(plan: BoardPlan) -> Iterator[Answer]:
    """Runs that lie on the board, where its layout makes them other than the build file says."""
    build = plan.build
    told = []
    for number, (said, laid) in enumerate(zip(build.run, as_laid(build, plan).run, strict=True), 1):
        texts = [show(run.length, "length", build.van.units) for run in (said, laid)]
        if texts[0] != texts[1]:
            told.append(f"run {number} is {texts[1]}, the build file says {texts[0]}")
    if told:
        note = f"{'; '.join(told)}: the board's counts everywhere, with its elbows"
        yield Answer("Runs on the board", str(len(told)), note=note)


def _mounted(plan: BoardPlan) -> Iterator[Answer]:
    """A plumber's habits that this board keeps, and what they cost in room."""
    found = habits(plan.needs, plan.state)
    kept = [
        HABITS[h.kind].format(side=plan.needs.hot_side, what=h.what) for h in found if h.kept
    ]  # fmt: skip
    missed = [f"{h.what}: {h.said}" for h in found if not h.kept]
    least = plan.found.least_area
    more = plan.layout.area / least - 1 if least else 0.0
    cost = f"for {100 * more:.0f} % more area than the smallest board found" if more > 0.005 else ""
    if kept:
        told = "; ".join([*kept, cost] if cost else kept)
        yield Answer("Mounted as usual", f"{len(kept)} of {len(found)} habits", note=told)
    if missed:
        yield Answer("Not as usual", f"{len(missed)} of {len(found)}", note="; ".join(missed))


def _header(plan: BoardPlan, manifold: Manifold) -> Answer:
    """What a header is built of, with its joints both ways."""
    built = header_form(plan.build, manifold)
    ready = together([str(n) for n in built.outlets])
    several = "s" if len(built.outlets) > 1 else ""
    told = f"ready header{several} with {ready} outlets" if built.form == BLOCK else "tees"
    if built.joints_block is None:
        note = f"{built.joints} joints on the header; the table has no ready one for its tube"
    elif built.form == BLOCK:
        note = f"{built.joints} joints on the header; tees would have {built.joints_tees}"
    else:
        note = f"{built.joints} joints on the header; ready ones would have {built.joints_block}"
        if built.joints_block < built.joints:
            note += ' (form = "fewest joints" takes them)'
    return Answer(f"Header of {manifold.name}", told, note=note)


def _worked(plan: BoardPlan) -> Answer | None:
    """The cut length of the header's first tube (or of any), step by step."""
    cuts = plan.cut_list.cuts
    cut = next((c for c in cuts if c.kind == "header"), cuts[0] if cuts else None)
    if cut is None:
        return None
    centres, one, other = cut.work
    work = cut_length.work(length_centres=centres, width_one=one, width_other=other)
    return Answer(f"Cut length, {cut.label}", mm(cut.length) / 1000, "length", (work,))


def _zones(plan: BoardPlan) -> Grid:
    rows = []
    for row in plan.state.rows:
        parts = {p.zone: p for p in plan.layout.rows[row.manifold].placed if p.zone}
        for spot in row.spots:
            zone, at = plan.needs.zone(spot.zone), parts[spot.zone]
            handle = "turned" if spot.turned else "as bought"
            if spot.bend != "flat":
                handle += f", tip bent {spot.bend}"
            rows.append(
                (zone.code, f"{row.manifold}, {zone.name}", at.part.name, handle,
                 mm(at.x) / 1000, mm(at.y) / 1000)
            )  # fmt: skip
    return grid(
        "Zones on the board",
        rows,
        {
            "Zone": 0,
            "Feeds": 1,
            "Shut-off": 2,
            "Handle": 3,
            "From left": (4, "length"),
            "From bottom": (5, "length"),
        },
        key="board-zones",
    )


NEAREST = {
    "US": "Each length to the nearest 1/16 in, so that take-offs and cut may add up to 1/16 in "
    "more or less than the centres.",
    "SI": "",
}
"""How the lengths of the cut list are told."""


def _cuts(plan: BoardPlan) -> Grid:
    length, system = tape(plan.build), plan.build.van.units

    def remark(cut: Cut) -> str:
        if cut.bends:
            return "bent once"
        return in_units(f"off by {mm(cut.off):+.2f} mm", system) if cut.off else ""

    return grid(
        "Cut list",
        plan.cut_list.cuts,
        {
            "Label": "label",
            "Tube": "tube",
            "Centre to centre": (lambda cut: mm(cut.centres) / 1000, length),
            "Take-off at the start": (lambda cut: mm(cut.take_offs[0]) / 1000, length),
            "Take-off at the end": (lambda cut: mm(cut.take_offs[1]) / 1000, length),
            "Cut": (lambda cut: mm(cut.length) / 1000, length),
            "Of it on fittings": (lambda cut: sum(cut.insertions) / 1000, length),
            "Remark": remark,
        },
        key="cut-list",
        note=NEAREST[system],
    )


def _cuts_in_short(plan: BoardPlan) -> Grid:
    """The cut list as narrow as a worksheet's column."""
    length = tape(plan.build)
    return grid(
        "What is cut",
        plan.cut_list.cuts,
        {
            "Cut list": "label",
            "Cut": (lambda cut: mm(cut.length) / 1000, length),
            "Centres": (lambda cut: mm(cut.centres) / 1000, length),
            "Take-off at the start": (lambda cut: mm(cut.take_offs[0]) / 1000, length),
            "Take-off at the end": (lambda cut: mm(cut.take_offs[1]) / 1000, length),
        },
    )


def _closings(plan: BoardPlan) -> Grid:
    return grid(
        "Headers closed",
        plan.cut_list.closings,
        {
            "Manifold": "manifold",
            "Header": (lambda c: mm(c.header) / 1000, "thickness"),
            "Parts and cut tubes": (lambda c: mm(c.sum) / 1000, "thickness"),
            "Left over": (lambda c: mm(c.gap) / 1000 if c.gap else "0", "thickness"),
        },
        note="The header's length from the parts' places, against what is cut and put together.",
    )
