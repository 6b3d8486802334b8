"""A build whose headers, and runs on its board, are as the board is laid out.

Order of zones, lengths of header and stubs, length and elbows of each run from a zone to a part
that hangs there: the board knows them, and flow, waits, test, dose, weight and drains take them.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING

from ..van.header_form import asked_of
from ..van.laid_header import LaidHeader
from ..van.parts import Run
from ..van.rows import fitting_sort
from ..van.run_ends import stands_for_picked
from ..van.tee_losses import INSIDE
from ..words.tables import Row as TableRow
from ..words.tables import table
from .place.rows import Placed, RowParts, Tube
from .place.state import Row, mm

if TYPE_CHECKING:
    from ..van.model import Build
    from .plan import BoardPlan


def as_laid(build: Build, board: BoardPlan) -> Build:
    """The build as its board has it; the very same where no board is laid out."""
    if not build.manifold or board.trouble:
        return build
    headers = (_header(build, board, row) for row in board.state.rows)
    runs = list(build.run)
    lengths = {cut.label: cut.length for cut in board.cut_list.cuts}
    for number, tubes in runs_on_board(build, board).items():
        cut = sum(lengths[tube.owner] for tube in tubes)
        runs[number] = _run(build, runs[number], tubes, cut)
    return replace(build, laid=tuple(one for one in headers if one), run=tuple(runs))


def on_its_board(build: Build) -> Build:
    """The same, with the board searched for where that is not yet done."""
    if build.laid or not build.manifold:
        return build
    from .plan import BoardPlan

    return as_laid(build, BoardPlan(build))


def runs_on_board(build: Build, board: BoardPlan) -> dict[int, tuple[Tube, ...]]:
    """Runs that lie on the board from end to end, by number, each with its tubes in order."""
    needs, layout = board.needs, board.layout
    devices = needs.hung
    fed = {m.isolator.name: m.name for m in needs.manifolds if m.isolator}
    runs = {(str(start), end.component): n for n, (start, end) in enumerate(build.run_ends)}
    found = {}
    for link in layout.links:
        device = link.tubes[-1].other[0]
        number = runs.get((link.tubes[0].zone, device)) if device in devices else None
        if number is not None:
            found[number] = link.tubes
    for tube in layout.tubes:
        if tube.kind == "feed":
            found[runs[f"{tube.one[0]}.outlet", fed[tube.one[0]]]] = (tube,)
    return found


def _run(build: Build, run: Run, tubes: tuple[Tube, ...], cut: int) -> Run:
    """A run with the length and the elbows that it has on the board."""
    in_elbows = sum(a.take_offs[1] + b.take_offs[0] for a, b in pairwise(tubes))
    length = mm(cut + in_elbows) / 1000
    rows = table("fittings", build.rows)
    kept = [(name, many) for name, many in run.fittings if not _joins_tube(rows[name])]
    corners, bends = len(tubes) - 1, sum(tube.bends for tube in tubes)
    return replace(run, length=length, fittings=(*kept, *_corners(build, run, corners, bends)))


def _joins_tube(row: TableRow) -> bool:
    """Whether a fitting of a run is one that the board has its own in place of."""
    return row["kind"] == "elbow" or stands_for_picked(row) or bool(fitting_sort(row))


def _corners(build: Build, run: Run, elbows: int, bends: int) -> list[tuple[str, int]]:
    inside = table("tubes", build.rows)[run.tube]["joint"] in INSIDE
    found = [("insert elbow 90" if inside else "elbow 90", elbows), ("bend", bends)]
    return [(name, many) for name, many in found if many]


def _header(build: Build, board: BoardPlan, row: Row) -> LaidHeader | None:
    manifold = next(m for m in build.manifold if m.name == row.manifold)
    zones = {f"{z.manifold}.{z.name}": z for z in build.zones(row.manifold)}
    asked = asked_of(manifold, tuple(zones.values()))
    if asked is None or {spot.zone for spot in row.spots} != set(zones):
        return None
    walk = _Walk(build, board.layout.rows[row.manifold], str(manifold.tube))
    ways, outs, cuts, corners = zip(*(walk.zone(spot.zone) for spot in row.spots), strict=True)
    plugs = walk.plugs()
    return LaidHeader(
        row.manifold,
        tuple(zones[spot.zone].name for spot in row.spots),
        (*ways, plugs) if plugs else ways,
        outs,
        cuts,
        corners,
        walk.here.part.kind == "elbow",
        asked,
    )


class _Walk:
    """Along a header from its feed, zone by zone: what is on the way and what it holds."""

    def __init__(self, build: Build, parts: RowParts, tube: str) -> None:
        self.bores = {t: r.number("bore") for t, r in table("tubes", build.rows).items()}
        self.parts, self.tube = parts, tube
        self.placed = {one.owner: one for one in parts.placed}
        self.stubs = {tube.zone: tube for tube in parts.tubes if tube.kind == "stub"}
        self.before = {t.other[0]: t for t in parts.tubes if t.kind in ("header", "fold")}
        self.here, self.at = self.placed[self.stubs[self.first].one[0]], ""

    @property
    def first(self) -> str:
        return next(iter(self.stubs))

    def as_header(self, tube: str, length: float) -> float:
        """m of the header's tube that hold as much as a length of another."""
        return length * (self.bores[tube] / self.bores[self.tube]) ** 2

    def zone(self, zone: str) -> tuple[float, float, float, int]:
        """To the zone's fitting, from there to its outlet, tube cut before it, elbows before it."""
        stub = self.stubs[zone]
        node, branch = self.placed[stub.one[0]], stub.one[1]
        way, cut, corners = 0.0, 0.0, 0
        if not self.at or node is not self.here:
            tubes = self._back_to(node, self.here if self.at else None)
            if self.at:
                way += _through(self.here, self.at, tubes[0].one[1])
                way += sum(mm(tube.centres) for tube in tubes) / 1000
                inlet = tubes[-1].other[1]
            else:
                inlet = self._inlet(node)
                way += node.part.port(inlet).take_off / 1000
            way += _through(node, inlet, branch)
            cut = sum(mm(tube.cut) for tube in tubes) / 1000
            corners = max(len(tubes) - 1, 0)
        else:
            way += _through(node, self.at, branch)
        self.here, self.at = node, branch
        valve = self.placed[stub.other[0]].part
        outlet = next(one for one in self.parts.opens if one.zone == zone)
        out = mm(stub.centres) / 1000 + valve.port(outlet.port).take_off / 1000
        return way, self.as_header(stub.tube, out), cut, corners

    def _back_to(self, node: Placed, last: Placed | None) -> list[Tube]:
        """Tubes of the header from the last fitting to this one, in their order."""
        found: list[Tube] = []
        owner = node.owner
        while owner in self.before and (last is None or owner != last.owner):
            found.insert(0, self.before[owner])
            owner = self.before[owner].one[0]
        return found

    def _inlet(self, node: Placed) -> str:
        feed = next((t.other[1] for t in self.parts.tubes if t.kind == "feed"), "")
        return feed or next(one.port for one in self.parts.opens if one.owner == node.owner)

    def plugs(self) -> float:
        """All that stands at plugs."""
        tubes = [tube for tube in self.parts.tubes if tube.kind == "plug"]
        axis = max((_through(self.here, self.at, tube.one[1]) for tube in tubes), default=0.0)
        return axis + sum(self.as_header(tube.tube, mm(tube.centres) / 1000) for tube in tubes)


def _through(one: Placed, port: str, other: str) -> float:
    """m along the axis of a part between where two of its ports branch off."""
    (ax, ay), (bx, by) = (one.centre(one.part.port(name)) for name in (port, other))
    return mm(round(hypot(ax - bx, ay - by))) / 1000


__all__ = ["as_laid", "on_its_board", "runs_on_board"]
