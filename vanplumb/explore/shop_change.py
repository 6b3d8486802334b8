"""What a change means in the shop: what to cut, keep, open, make, drill, buy, and what waits.

Both vans are put together anew from their parts; a piece, joint or hole that is in both, in the
same place and of the same size, stays as it is.  Lengths in m.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import dist
from typing import TYPE_CHECKING, Any

from ..board.lists.cut_plan import CutPlan, cut_plan
from ..board.parts.catalogue import rule
from ..board.place.state import mm, ticks
from ..board.plan import BoardPlan
from ..drawings.board.front import board_size, holes_of
from ..lists.bill import TUBE, Line, joint_supplies
from ..lists.cuts import by_tube, sold_length
from ..shop.clock.clock import waits_of
from ..van.wiring import run_words
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import drill_size, show, together
from ..words.tables import table

if TYPE_CHECKING:
    from ..board.place.rows import Placed
    from ..lists import Lists
    from ..lists.joints import Joint
    from ..pack import Pack
    from ..van.model import Build
    from ..van.pieces import Piece

AS_CUT = 0.0005
"""m: two pieces that differ by less are one, since no saw cuts nearer (assumed)."""
SAME_HOLE = 0.5
"""mm: two holes nearer than that are one (assumed)."""
TRIED = 5
"""Shifts of a layout that are tried, those that would keep most holes."""
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
class Moved:
    """A part of the board that hangs elsewhere: how far to the right and up, m; runs that reach it.

    ``runs`` are those whose length the build file says, so that nobody has looked whether they
    still reach.
    """

    part: str
    right: float
    up: float
    runs: tuple[str, ...]


@dataclass(frozen=True)
class ShopChange:
    """All that the shop has to do to get from one van to the other.

    ``plans`` cut the new pieces from what comes out, the shelf, and lengths to buy.  ``buy``
    and ``left`` are lines of the bill with how many.  ``holes`` are "new", "kept" and "to fill", as
    they stand on the board that hangs; ``shift`` is how far the new layout is set to the right and
    up so that most of them stay, m, and ``moved`` the parts that hang elsewhere all the same.
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
    moved: tuple[Moved, ...]
    shift: tuple[float, float]
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
    shift = _shift(old.board, new.board)
    holes, board = _holes(old.board, new.board, shift)
    plans = _plans(after.build, cut, out)
    buy, left = _bought(before, after, made, plans)
    return ShopChange(
        build=new.build, kept=tuple(two for _, two in kept), cut=tuple(cut), out=tuple(out),
        plans=plans, opened=opened, made=made, waits=_waits(new.build, made), holes=holes,
        moved=_moved(old.board, new.board, shift), shift=(shift[0] / 1000, shift[1] / 1000),
        board=board, buy=buy, left=left,
    )  # fmt: skip


def _run_key(build: Build, index: int | None) -> str:
    """A run by what it joins, which stays when other runs come or go."""
    return "" if index is None else f"{build.run[index].start} to {build.run[index].end}"


def _lasting(lists: Lists, name: str, run: int | None) -> str:
    """A name without what numbers a run or a zone by its place in the file."""
    if run is not None:
        return name.replace(f"run {run + 1}", "run", 1)
    if lists.board is not None and not lists.board.trouble:
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


def _drilled(board: BoardPlan, shift: tuple[float, float] = (0.0, 0.0)) -> list[Hole]:
    right, up = shift
    return [
        (x + right, y + up, wide)
        for placed in board.layout.placed for x, y, wide in holes_of(placed)
    ]  # fmt: skip


def _comparable(old: BoardPlan, new: BoardPlan) -> bool:
    """Whether both vans have a board, of one size."""
    if not old.build.manifold or old.trouble or not new.build.manifold or new.trouble:
        return False
    return board_size(old.layout) == board_size(new.layout)


def _stay(was: list[Hole], now: list[Hole]) -> int:
    """How many of some holes are there already."""
    left, found = list(was), 0
    for hole in now:
        same = _same(left, hole)
        if same is not None:
            left.remove(same)
            found += 1
    return found


def _same(holes: list[Hole], hole: Hole) -> Hole | None:
    return next((h for h in holes if dist(h[:2], hole[:2]) < SAME_HOLE and h[2] == hole[2]), None)


def _shift(old: BoardPlan, new: BoardPlan) -> tuple[float, float]:
    """How far the new layout is set to the right and up, mm, so that most holes stay.

    A layout is found in the middle of its board; with a part more or less all would move, though
    the rest may hang where it hangs.  Only as far as the layout then still fits.
    """
    if not _comparable(old, new):
        return 0.0, 0.0
    was, now = _drilled(old), _drilled(new)
    apart = Counter(
        (round(a[0] - b[0], 1), round(a[1] - b[1], 1)) for a in was for b in now if a[2] == b[2]
    )
    best = (0.0, 0.0)
    most = _stay(was, now)
    for shift, many in apart.most_common(TRIED):
        if many > most and _fits(new, shift):
            stay = _stay(was, _drilled(new, shift))
            if stay > most:
                best, most = shift, stay
    return best


def _fits(board: BoardPlan, shift: tuple[float, float]) -> bool:
    """Whether a layout has no more problems where it is set than where it was found."""
    right, up = ticks(shift[0]), ticks(shift[1])
    state = board.state
    there = replace(
        state,
        rows=tuple(replace(row, x=row.x + right, y=row.y + up) for row in state.rows),
        devices=tuple(replace(one, x=one.x + right, y=one.y + up) for one in state.devices),
    )
    return len(BoardPlan(board.build, there).problems) <= len(board.problems)


def _moved(old: BoardPlan, new: BoardPlan, shift: tuple[float, float]) -> tuple[Moved, ...]:
    """Valves of zones and devices that are in both layouts and hang elsewhere."""
    if not _comparable(old, new):
        return ()
    was = {p.zone or p.owner: p for p in old.layout.placed if _lasts(old, p)}
    found = []
    for placed in new.layout.placed:
        name = placed.zone or placed.owner
        if not _lasts(new, placed) or name not in was:
            continue
        before = was[name]
        right = mm(placed.x - before.x) + shift[0]
        up = mm(placed.y - before.y) + shift[1]
        if abs(right) >= SAME_HOLE or abs(up) >= SAME_HOLE:
            runs = tuple(
                f"run {n + 1}, {run_words(new.build, n)}"
                for n, pair in enumerate(new.build.run_ends)
                if any(name in (str(port), port.component) for port in pair)
            )
            found.append(Moved(f"{placed.owner}", right / 1000, up / 1000, runs))
    return tuple(found)


def _lasts(board: BoardPlan, placed: Placed) -> bool:
    """Whether a part is known by a name that stays: a zone's valve, or a component."""
    return bool(placed.zone) or any(c.name == placed.owner for c in board.build.components)


def _holes(
    old: BoardPlan, new: BoardPlan, shift: tuple[float, float]
) -> tuple[dict[str, tuple[Hole, ...]], str]:
    """Holes of the board that are new, kept and to be filled, as they stand on the old board."""
    if not new.build.manifold or new.trouble:
        return {}, new.trouble
    there = _drilled(new, shift)
    if not old.build.manifold or old.trouble:
        return {"new": tuple(there)}, "there was no board before"
    if board_size(old.layout) != board_size(new.layout):
        return {"new": tuple(there)}, "the board has another size, so it is drilled anew"
    left = _drilled(old)
    found: defaultdict[str, list[Hole]] = defaultdict(list)
    for hole in there:
        same = _same(left, hole)
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
        _moved_grid(found), _holes_grid(found),
        _bill_grid(build, "To buy for the change", "change-buy", found.buy),
        _bill_grid(build, "Left over", "change-left", found.left),
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
    if any(found.shift):
        basis.append(
            f"Holes: parts that the change leaves alone hang where they hang. For that the new "
            f"layout and its template are set {_set(found.shift, build.van.units)}; distances here "
            "are those of the board that hangs."
        )
    if found.board:
        basis.append(f"Holes: {found.board}.")
    if found.moved:
        basis.append(
            "The board is laid out anew for every van. Lines for pin from the board's worksheet "
            "keep parts where they are."
        )
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


def _set(shift: tuple[float, float], units: str) -> str:
    """A shift in words: "1 5/8 in to the right and 3/8 in down"."""
    ways = zip(shift, (("to the right", "to the left"), ("up", "down")), strict=True)
    said = [
        f"{show(abs(far), 'length', units)} {way[0] if far > 0 else way[1]}"
        for far, way in ways if abs(far) * 1000 >= SAME_HOLE
    ]  # fmt: skip
    return together(said)


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


def _moved_grid(found: ShopChange) -> Grid:
    units = found.build.van.units
    return grid(
        "Parts of the board that hang elsewhere", found.moved,
        {
            "Part": "part", "Moved": lambda m: _set((m.right, m.up), units),
            "See that it still reaches": lambda m: "; ".join(m.runs),
        },
        key="change-moved",
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


def _bill_grid(build: Build, title: str, key: str, lines: Iterable[tuple[Line, float]]) -> Grid:
    def many(row: tuple[Line, float]) -> str:
        """Lengths in the reader's unit, pieces as a number."""
        return show(row[1], "height", build.van.units) if row[0].unit == "m" else f"{row[1]:g}"

    return grid(
        title, list(lines),
        {
            "What": lambda row: row[0].name, "Kind": lambda row: row[0].kind,
            "How many": (many, RIGHT),
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
