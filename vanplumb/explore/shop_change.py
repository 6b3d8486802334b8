"""What a change means in the shop: what to cut, keep, open, make, drill, buy, and what waits.

Both vans are put together anew from their parts; a piece, joint or hole that is in both, in the
same place and of the same size, stays as it is.  Lengths in m.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import dist
from typing import TYPE_CHECKING, Any

from ..board.lists.cut_plan import CutPlan, cut_plan
from ..board.parts.catalogue import rule
from ..board.place.state import mm, ticks
from ..drawings.board.front import board_size, holes_of
from ..lists.bill import TUBE, Line, joint_supplies
from ..lists.cuts import by_tube, sold_length
from ..shop.clock.clock import waits_of
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import drill_size, show
from ..words.tables import table

if TYPE_CHECKING:
    from ..board.plan import BoardPlan
    from ..lists import Lists
    from ..lists.joints import Joint
    from ..pack import Pack
    from ..van.model import Build
    from ..van.pieces import Piece

AS_CUT = 0.0005
"""m: two pieces that differ by less are one, since no saw cuts nearer (assumed)."""
SAME_HOLE = 0.5
"""mm: two holes nearer than that are one (assumed)."""
USED_UP = ("ring", "liner", "compound")
"""Kinds of the bill's lines that go with the joint: never left over once it is made."""

Hole = tuple[float, float, float]
"""Of the board: mm from its left and lower edge, diameter in mm."""


@dataclass(frozen=True)
class Undone:
    """A joint that is opened, and whether it can be; else it is cut out."""

    joint: Joint
    opens: bool


@dataclass(frozen=True)
class Waiting:
    """Joints made now that wait alike; ``duration`` None: it can't be made at this temperature."""

    what: str
    joints: tuple[str, ...]
    duration: float | None


@dataclass(frozen=True)
class ShopChange:
    """All that the shop has to do to get from one van to the other.

    ``plans`` cut the new pieces from what comes out, the shelf, and lengths to buy.  ``buy``
    and ``left`` are lines of the bill with how many.  ``holes`` are "new", "kept" and "to fill";
    ``board`` says why holes can't be compared, if they can't.
    """

    build: Build
    kept: tuple[Piece, ...]
    cut: tuple[Piece, ...]
    out: tuple[Piece, ...]
    plans: Mapping[str, CutPlan]
    opened: tuple[Undone, ...]
    made: tuple[Joint, ...]
    waits: tuple[Waiting, ...]
    holes: Mapping[str, tuple[Hole, ...]]
    board: str
    buy: tuple[tuple[Line, float], ...]
    left: tuple[tuple[Line, float], ...]

    def __bool__(self) -> bool:
        holes = self.holes.get("new", ()) + self.holes.get("to fill", ())
        return bool(self.cut or self.out or self.opened or self.made or holes or self.buy
                    or self.left)  # fmt: skip


def shop_change(old: Pack, new: Pack) -> ShopChange:
    """What it takes to make the van of the first pack into that of the second."""
    before, after = old.lists, new.lists
    kept, out, cut = _pieces(before, after)
    stays = {id(p) for pair in kept for p in pair}
    opened, made = _joints(before, after, stays)
    holes, board = _holes(old.board, new.board)
    plans = _plans(after.build, cut, out)
    buy, left = _bought(before, after, made, plans)
    return ShopChange(
        build=new.build, kept=tuple(two for _, two in kept), cut=tuple(cut), out=tuple(out),
        plans=plans, opened=opened, made=made, waits=_waits(new.build, made), holes=holes,
        board=board, buy=buy, left=left,
    )  # fmt: skip


def _run_key(build: Build, index: int | None) -> str:
    """A run by what it joins, which stays when other runs come or go."""
    return "" if index is None else f"{build.run[index].start} to {build.run[index].end}"


def _lasting(lists: Lists, name: str, run: int | None) -> str:
    """A name without what numbers a run or a zone by its place in the file."""
    if run is not None:
        return name.replace(f"run {run + 1}", "run", 1)
    if lists.board is not None:
        for zone in (z for m in lists.board.needs.manifolds for z in m.zones):
            name = name.replace(f"{zone.label} ", f"{zone.manifold} {zone.name} ")
    return name


def _pieces(
    before: Lists, after: Lists
) -> tuple[list[tuple[Piece, Piece]], list[Piece], list[Piece]]:
    """Pieces that stay, as (old, new), those that come out, and those to be cut."""
    there: defaultdict[tuple[str, ...], list[Piece]] = defaultdict(list)
    for piece in before.pieces:
        there[_place(before, piece)].append(piece)
    kept, cut = [], []
    for piece in after.pieces:
        same = there[_place(after, piece)]
        match = next((p for p in same if abs(p.length - piece.length) < AS_CUT), None)
        if match is None:
            cut.append(piece)
        else:
            same.remove(match)
            kept.append((match, piece))
    gone = {id(p) for left in there.values() for p in left}
    return kept, [p for p in before.pieces if id(p) in gone], cut


def _place(lists: Lists, piece: Piece) -> tuple[str, ...]:
    ends = (_lasting(lists, end, piece.run) for end in piece.between)
    return (piece.tube, _run_key(lists.build, piece.run), *ends)


def _joints(
    before: Lists, after: Lists, stays: set[int]
) -> tuple[tuple[Undone, ...], tuple[Joint, ...]]:
    """Joints that are opened, and those that are made: of the old van and of the new."""
    was, now = _standing(before, stays), _standing(after, stays)
    ways = table("joints", before.build.rows)
    shared = was.keys() & now.keys()
    opened = (j for j, key in _keyed(before, stays) if key not in shared)
    made = (j for j, key in _keyed(after, stays) if key not in shared)
    return (
        tuple(Undone(j, bool(ways[j.kind]["opens"]) if j.kind in ways else True) for j in opened),
        tuple(made),
    )


def _standing(lists: Lists, stays: set[int]) -> dict[tuple[Any, ...], Joint]:
    return {key: joint for joint, key in _keyed(lists, stays)}


def _keyed(lists: Lists, stays: set[int]) -> Iterator[tuple[Joint, tuple[Any, ...]]]:
    """Each joint with what it is known by; one on a piece that doesn't stay is like no other."""
    moved = _on_moved_pieces(lists, stays)
    seen: Counter[tuple[Any, ...]] = Counter()
    for joint in lists.joints:
        name = _lasting(lists, joint.fitting, joint.run)
        key: tuple[Any, ...] = (
            _run_key(lists.build, joint.run), name, joint.kind, joint.size, joint.compound,
        )  # fmt: skip
        seen[key] += 1
        own = id(joint) if joint.name in moved else 0
        yield joint, (*key, seen[key], own)


def _on_moved_pieces(lists: Lists, stays: set[int]) -> set[str]:
    """Names of the tube joints whose piece is cut anew or comes out."""
    free: defaultdict[tuple[int | None, str, str], list[Joint]] = defaultdict(list)
    for joint in lists.joints:
        if joint.tube:
            free[joint.run, joint.tube, joint.fitting].append(joint)
    moved = set()
    for piece in lists.pieces:
        for end in piece.between:
            joints = free[piece.run, piece.tube, end]
            if not joints:
                continue
            own = next((j for j in joints if j.name.startswith(f"{piece.name} at ")), joints[0])
            joints.remove(own)
            if id(piece) not in stays:
                moved.add(own.name)
    return moved


def _plans(build: Build, cut: Iterable[Piece], out: Iterable[Piece]) -> dict[str, CutPlan]:
    """The new pieces, cut from what comes out but for the ends in joints, the shelf, or new."""
    kerf, spare = ticks(rule(build, "kerf")), ticks(build.shop.cut_allowance * 1000)
    freed = by_tube(out)
    plans = {}
    for tube, pieces in by_tube(cut).items():
        lengths = [ticks(p.length * 1000) for p in pieces]
        shelf = [(ticks(s.length * 1000), s.pieces) for s in build.stock if s.tube == tube]
        bare = Counter(ticks(p.bare * 1000) for p in freed.get(tube, ()) if p.bare > 0)
        new = ticks(sold_length(build, tube, lengths, spare) * 1000)
        plans[tube] = cut_plan(lengths, [*bare.items(), *shelf], kerf, new, spare)
    return plans


def _waits(build: Build, made: tuple[Joint, ...]) -> tuple[Waiting, ...]:
    waits = waits_of(made, build)
    groups: defaultdict[tuple[str, float | None], list[str]] = defaultdict(list)
    for joint in made:
        groups[joint.compound or joint.kind, waits[joint.name].duration].append(joint.name)
    found = [
        Waiting(what, tuple(names), wait)
        for (what, wait), names in groups.items()
        if wait is None or wait > 0
    ]
    long = 1e9
    return tuple(sorted(found, key=lambda w: -(long if w.duration is None else w.duration)))


def _holes(old: BoardPlan, new: BoardPlan) -> tuple[dict[str, tuple[Hole, ...]], str]:
    """Holes of the board that are new, kept and to be filled."""
    if not new.build.manifold or new.trouble:
        return {}, new.trouble
    there = [h for p in new.layout.placed for h in holes_of(p)]
    if not old.build.manifold or old.trouble:
        return {"new": tuple(there)}, "there was no board before"
    if board_size(old.layout) != board_size(new.layout):
        return {"new": tuple(there)}, "the board has another size, so it is drilled anew"
    left = [h for p in old.layout.placed for h in holes_of(p)]
    found: defaultdict[str, list[Hole]] = defaultdict(list)
    for hole in there:
        same = next(
            (h for h in left if dist(h[:2], hole[:2]) < SAME_HOLE and h[2] == hole[2]), None
        )
        found["new" if same is None else "kept"].append(hole)
        if same is not None:
            left.remove(same)
    found["to fill"] = left
    return {state: tuple(holes) for state, holes in found.items()}, ""


def _bought(
    before: Lists, after: Lists, made: tuple[Joint, ...], plans: Mapping[str, CutPlan]
) -> tuple[tuple[tuple[Line, float], ...], tuple[tuple[Line, float], ...]]:
    """What the new van needs beyond the old one, and what it has no place for any more."""
    was = {line.name: line for line in before.bill.lines}
    now = {line.name: line for line in after.bill.lines}
    buy: list[tuple[Line, float]] = []
    left: list[tuple[Line, float]] = []
    for name, line in now.items():
        if line.kind in USED_UP:
            continue
        if line.kind == TUBE:
            many = float(plans[name].bought) if name in plans else 0.0
        else:
            many = line.needed - (was[name].needed if name in was else 0.0)
        if many > 1e-9:
            buy.append((line, many))
        elif many < -1e-9:
            left.append((line, -many))
    buy += [(line, line.needed) for line in joint_supplies(after.build, after.headers, made)]
    for name, line in was.items():
        if name not in now and line.kind not in (*USED_UP, TUBE):
            left.append((line, line.needed))
    return tuple(buy), tuple(left)


def shop_chapter(found: ShopChange) -> Chapter:
    """What to do in the shop, for the sheet and the lists."""
    build = found.build
    grids = [g for g in (
        _cut_grid(found), _out_grid(found), _opened_grid(found), _made_grid(found),
        _holes_grid(found), _bill_grid("To buy for the change", "change-buy", found.buy),
        _bill_grid("Left over", "change-left", found.left),
    ) if g.rows]  # fmt: skip
    holes = found.holes
    longest = found.waits[0] if found.waits else None
    answers = [
        Answer("pieces that stay", float(len(found.kept)), "count"),
        Answer("pieces to cut", float(len(found.cut)), "count"),
        Answer("pieces that come out", float(len(found.out)), "count"),
        Answer("joints opened or cut out", float(len(found.opened)), "count"),
        Answer("joints made", float(len(found.made)), "count"),
        Answer("holes to drill in the board", float(len(holes.get("new", ()))), "count"),
        Answer("holes to fill", float(len(holes.get("to fill", ()))), "count"),
    ]
    if longest is not None:
        told: float | str = longest.duration if longest.duration is not None else "not known"
        word = "duration" if longest.duration is not None else ""
        answers.append(Answer("longest wait before pressure", told, word, note=longest.what))
    basis = [
        "A piece stays if it joins the same two parts and has the same length, a joint if "
        "both of its sides stay.",
        "What comes out is counted without the ends that sat in joints. A fitting that a "
        "permanent joint was cut from goes again only if its maker's instructions allow it.",
    ]
    if found.board:
        basis.append(f"Holes: {found.board}.")
    cautions: tuple[Caution, ...] = ()
    if found.opened or found.made:
        cautions = (
            Caution(
                "WARNING",
                "Drain and let cool before a joint is opened. Opened and new joints are tested "
                "with the whole system before it is used, and drinking water lines are "
                "disinfected again.",
            ),
        )
    return Chapter(
        key="shop-change", title="What the change means in the shop", basis=tuple(basis),
        answers=tuple(answers), grids=(*grids, *_waits_grid(found, build.van.units)),
        cautions=cautions,
    )  # fmt: skip


def _tape(build: Build) -> str:
    return "length" if build.van.units == "US" else "thickness"


def _cut_grid(found: ShopChange) -> Grid:
    rows: list[tuple[Any, ...]] = []
    names = {tube: list(pieces) for tube, pieces in by_tube(found.cut).items()}
    freed = {(p.tube, ticks(p.bare * 1000)): f"{p.name} that comes out" for p in found.out}
    for tube, plan in found.plans.items():
        for bar in plan.bars:
            long = show(mm(bar.length) / 1000, "length", found.build.van.units)
            where = "buy" if bar.bought else freed.get((tube, bar.length), "shelf")
            for number in bar.numbers:
                piece = names[tube][number]
                rows.append((piece.name, tube, piece.length, " and ".join(piece.between),
                             f"{where}, {long}"))  # fmt: skip
        for number in plan.missing_numbers:
            piece = names[tube][number]
            rows.append((piece.name, tube, piece.length, " and ".join(piece.between),
                         "no length is long enough"))  # fmt: skip
    word = _tape(found.build)
    return grid(
        "Pieces to cut", rows,
        {"Piece": 0, "Tube": 1, "Cut": (2, word), "Between": 3, "From": 4}, key="change-cut",
    )  # fmt: skip


def _out_grid(found: ShopChange) -> Grid:
    word = _tape(found.build)
    return grid(
        "Pieces that come out", found.out,
        {
            "Piece before": "name", "Tube": "tube", "Was": ("length", word),
            "Without its ends": ("bare", word), "Between": lambda p: " and ".join(p.between),
        },
        key="change-out",
    )  # fmt: skip


def _opened_grid(found: ShopChange) -> Grid:
    return grid(
        "Joints that are opened or cut out", found.opened,
        {
            "Joint before": lambda u: u.joint.name, "Place": lambda u: u.joint.place,
            "Kind": lambda u: u.joint.sort,
            "How": lambda u: "opened" if u.opens else "cut out, it doesn't open",
        },
        key="change-opened",
    )  # fmt: skip


def _made_grid(found: ShopChange) -> Grid:
    return grid(
        "Joints to make", found.made,
        {"Joint": "name", "Place": "place", "Kind": "sort", "Compound": "compound"},
        key="change-made",
    )  # fmt: skip


def _holes_grid(found: ShopChange) -> Grid:
    rows = [
        (state, x / 1000, y / 1000, drill_size(d / 1000, found.build.van.units))
        for state in ("new", "to fill") for x, y, d in found.holes.get(state, ())
    ]  # fmt: skip
    return grid(
        "Holes of the board that change", rows,
        {"Hole": 0, "From the left": (1, "length"), "From below": (2, "length"), "Drill": 3},
        key="change-holes",
    )  # fmt: skip


def _bill_grid(title: str, key: str, lines: Iterable[tuple[Line, float]]) -> Grid:
    return grid(
        title, list(lines),
        {
            "What": lambda row: row[0].name, "Kind": lambda row: row[0].kind,
            "How many": (lambda row: f"{row[1]:g}{' m' if row[0].unit == 'm' else ''}", RIGHT),
            "Where": lambda row: row[0].buy,
        },
        key=key,
    )  # fmt: skip


def _waits_grid(found: ShopChange, units: str) -> tuple[Grid, ...]:
    if not found.waits:
        return ()
    return (
        grid(
            "What waits again", found.waits,
            {
                "Joints made by": "what", "How many": (lambda w: str(len(w.joints)), RIGHT),
                "Waits": (lambda w: "not to be made at this temperature" if w.duration is None
                          else show(w.duration, "duration", units), RIGHT),
            },
            key="change-waits",
        ),
    )  # fmt: skip
