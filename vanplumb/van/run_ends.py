"""What joins the tube of each run to the parts at its ends, and what that takes from the water.

The one answer to which adapters and reducers a run has, and to which tees: lists are made of
them, and the flow counts what they take.  A fitting's loss coefficient belongs to the speed in
its own narrowest way; here it is told on the speed in the run's tube.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from ..words.glossary import INCH
from ..words.tables import Row, table
from .board_stock import BoardStock
from .connect import Chain, Connector, connector_of
from .ends import End, method_of, mismatch, size_of
from .fittings import FittingPart, board_size
from .model import Build
from .parts import Manifold, Run
from .pointers import Port, kind_of
from .port_ends import PortEnd, end_of_port, holds_tube, stated_ends
from .rows import fitting_sort, pick
from .tee_losses import TeePass, uncounted
from .tees import TeeSet, runs_in_order, runs_of, tee_of

"""m."""


def header_end(build: Build, port: Port, run: Run, *, laid_out: bool = True) -> PortEnd:
    """The end that a run finds at a manifold: as stated, else it holds tube.

    That is the header's own; on a board a zone's is the run's where the table of board parts has
    a tee or a block that leads from the one to the other.
    """
    manifold = next(m for m in build.manifold if m.name == port.component)
    said = stated_ends(manifold).get(port.port)
    tube = manifold.tube
    if laid_out and port.port != "inlet" and _branches(build, manifold, run.tube):
        tube = run.tube
    return PortEnd(port.component, port.port, said or holds_tube(build, tube))


def _branches(build: Build, manifold: Manifold, tube: str) -> bool:
    """Whether a header of a manifold can have an outlet for another tube."""
    own, kind = build.rows, "header" if manifold.form == "block" else "tee"
    method = method_of(manifold.tube, "", own)
    if tube == manifold.tube or method != method_of(tube, "", own):
        return tube == manifold.tube
    wanted = size_of(manifold.tube, own), size_of(tube, own)
    for row in table("board_parts", own).values():
        if row["kind"] == kind and row["joint"] == method and row["branch"] and row["tube"]:
            sizes = [board_size(float(row[column]), method) for column in ("tube", "branch")]
            if tuple(sizes) == wanted:
                return True
    return False


class RunEnds:
    """The ends that each run finds, and the chains of fittings that join them to its tube.

    ``known`` maps a port to the end that a board gave it, ``linked`` are runs that lie on that
    board from end to end.  Without them parts stand as they usually do: headers hold their own
    tube, and a valve that hangs on the board holds the widest tube that comes to it; where no
    board can be laid out, nothing hangs on one.
    """

    def __init__(
        self,
        build: Build,
        connector: Connector | None = None,
        known: Mapping[str, PortEnd] | None = None,
        linked: Collection[int] | None = None,
    ) -> None:
        self.build = build
        self.connector = connector_of(build) if connector is None else connector
        self._known, self._linked = known, linked

    @cached_property
    def _stock(self) -> BoardStock:
        return BoardStock(self.build)

    @cached_property
    def _has_board(self) -> bool:
        """Whether the manifolds can be laid out on a board, as far as is known without it."""
        return bool(self.build.manifold) and not self._stock.why_none()

    @cached_property
    def tees(self) -> dict[str, TeeSet]:
        """The tee or tees of each branch point."""
        return {tee.name: tee_of(self.build, tee, self.connector) for tee in self.build.tee}

    def linked(self, index: int) -> bool:
        """Whether a run lies on the board from a zone to a part that hangs there."""
        if self._linked is not None:
            return index in self._linked
        if not self._has_board:
            return False
        start, end = self.build.run_ends[index]
        if self._stock.isolates(start.component) == end.component:
            return True
        manifolds = {manifold.name for manifold in self.build.manifold}
        return start.component in manifolds and self._stock.hangs(end.component)

    def end(self, index: int, at: int) -> PortEnd:
        """The end that a run finds where it starts (``at`` 0) or ends (1)."""
        build, run = self.build, self.build.run[index]
        port = build.run_ends[index][at]
        tee = self.tees.get(port.component)
        if tee is not None:
            return tee.ends[index, at]
        if self._known is not None and str(port) in self._known:
            return self._known[str(port)]
        if self._known is None:
            if kind_of(build.component(port.component)) == "manifold":
                return header_end(build, port, run, laid_out=self._has_board)
            if self._has_board and self._stock.hangs(port.component):
                return self._hung(port)
        found = end_of_port(build, port, run)
        if found.end.holds:
            on = self.connector.fittings.insertion(found.end.holds, found.end.size)
            return PortEnd(found.component, found.port, found.end, found.at, found.basis, 0.0, on)
        return found

    def _hung(self, port: Port) -> PortEnd:
        said = stated_ends(self.build.component(port.component)).get(port.port)
        tubes = {self.build.run[index].tube for index, _ in runs_of(self.build, port.component)}
        rows = table("tubes", self.build.rows)
        wide = min(tubes, key=lambda name: (-rows[name].number("bore"), name))
        return PortEnd(port.component, port.port, said or holds_tube(self.build, wide))

    def method(self, run: Run) -> tuple[str, str]:
        """How a run's tube is joined, and why that can't be; empty if it can."""
        method = method_of(run.tube, run.joint, self.build.rows)
        if not method:
            return method, "no way of joining is known"
        return method, mismatch(method, run.tube, self.build.rows)

    def chain(self, index: int, at: int, end: PortEnd | None = None) -> Chain:
        """The fittings from the part at one end of a run to its tube."""
        run = self.build.run[index]
        method, wrong = self.method(run)
        end = self.end(index, at) if end is None else end
        if wrong:
            return Chain(end.end, run.tube, method)
        names = (run.start_fittings, run.end_fittings)[at]
        if names:
            return self.connector.as_stated(end.end, run.tube, method, names)
        firm = bool(run.joint) and not end.end.holds
        return self.connector.chain(end.end, run.tube, method, firm=firm)

    def picked(self, index: int) -> tuple[FittingPart, ...]:
        """The fittings at both ends of a run, from its start to its end."""
        if self.linked(index):
            return ()
        first, last = (self.chain(index, at).steps for at in (0, 1))
        return tuple(step.part for step in (*first, *last[::-1]))

    def unstated(self, index: int) -> tuple[FittingPart, ...]:
        """Those that the run's own ``fittings`` don't count: nothing is counted twice.

        Each adapter or reducer that the build file counts stands for one that is picked: for one
        of its own sort, else for the one that takes least.
        """
        left = list(self.picked(index))
        rows = table("fittings", self.build.rows)
        others = 0
        for name, many in self.build.run[index].fittings:
            if not stands_for_picked(rows[name]):
                continue
            for _ in range(many):
                same = next((part for part in left if part.loss == name), None)
                if same is not None:
                    left.remove(same)
                else:
                    others += 1
        bore = self._bore(index)
        left.sort(key=lambda part: part_loss(self.build, part, bore))
        return tuple(left[others:])

    def _bore(self, index: int) -> float:
        return float(pick(self.build, "tubes", self.build.run[index].tube, "bore"))

    @cached_property
    def tee_passes(self) -> dict[int, tuple[TeePass, ...]]:
        """The tees whose loss the file does not count, with the run that counts each."""
        return uncounted(self.build, self.tees)

    def loss(self, index: int) -> float:
        """Velocity heads in the run's tube that ``unstated`` fittings and ``tee_passes`` take."""
        bore = self._bore(index)
        heads = sum(part_loss(self.build, part, bore) for part in self.unstated(index))
        passes = self.tee_passes.get(index, ())
        return heads + sum(tee_loss(self.build, one, bore) for one in passes)


def stands_for_picked(row: Row) -> bool:
    """Whether a row of the table of losses is of a fitting that the kit picks: adapter, reducer."""
    return row["kind"] == "adapter" or fitting_sort(row) == "reducer"


def part_loss(build: Build, part: FittingPart, bore: float) -> float:
    """K of a fitting on the speed in a bore, m, from that in its own narrowest way."""
    if not part.loss:
        return 0.0
    heads = table("fittings", build.rows)[part.loss].number("loss_coefficient")
    return heads * _narrowed(build, part.ends, bore)


def tee_loss(build: Build, one: TeePass, bore: float) -> float:
    """K of a way through a tee, on the speed in a bore, m."""
    rows = table("fittings", build.rows)
    heads = sum(rows[name].number("loss_coefficient") for name in one.rows)
    return heads * _narrowed(build, one.ends, bore)


def _narrowed(build: Build, ends: Sequence[End], bore: float) -> float:
    """What a velocity head in the narrowest way of some ends is in one of a bore."""
    ways = [way for way in (_way(build, end.size, bool(end.holds)) for end in ends) if way]
    return float((bore / min([*ways, bore])) ** 4)


def _way(build: Build, size: str, holds: bool) -> float | None:
    """Bore of a fitting's way, m: of the tube that it holds, or its thread's nominal size.

    Of several tubes of that size, the narrowest that the van has; None if none is known.
    """
    if holds:
        rows = table("tubes", build.rows)
        own = {*(run.tube for run in build.run), *(m.tube for m in build.manifold)}
        for names in (own, rows):
            bores = [rows[n].number("bore") for n in names if size_of(n, build.rows) == size]
            if bores:
                return min(bores)
        return None
    number, _, unit = size.rpartition(" ")
    whole = sum(_fraction(text) for text in number.split())
    return whole * INCH if unit == "in" else None


def _fraction(text: str) -> float:
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom) if bottom else float(top)


_KNOWN: dict[tuple[object, ...], list[float]] = {}
"""Losses of vans without rows of their own, by all that they depend on."""


def _losses(build: Build) -> list[float]:
    """For each run the velocity heads of fittings and tees that the file does not count."""
    if build.rows:
        ends = RunEnds(build)
        return [ends.loss(index) for index in range(len(build.run))]
    parts = [(type(c), c.name, getattr(c, "kind", ""), c.ends) for c in build.components]
    runs = [
        (r.start, r.end, r.tube, r.joint, r.fittings, r.start_fittings, r.end_fittings)
        for r in build.run
    ]
    # which run goes straight on at a tee may hang on the runs' lengths
    tees = [tuple(runs_in_order(build, runs_of(build, tee.name))) for tee in build.tee]
    manifolds = [(m.tube, m.form) for m in build.manifold]
    key = (*parts, *manifolds, *runs, *tees, build.board.pin, len(build.zone))
    if key not in _KNOWN:
        if len(_KNOWN) > 256:
            _KNOWN.clear()
        ends = RunEnds(build)
        _KNOWN[key] = [ends.loss(index) for index in range(len(build.run))]
    return _KNOWN[key]


def picked_losses(build: Build) -> list[Any]:
    """For each run the velocity heads of fittings and tees that the file does not count.

    Floats, or arrays of shape (variants,) where tubes are.
    """
    held: list[Run | Manifold] = [*build.run, *build.manifold]
    tubes = [np.ravel(part.tube) for part in held]
    count = max((len(names) for names in tubes), default=1)
    if count == 1:
        return list(_losses(one_of(build, 0)))
    wide = [np.broadcast_to(names, count) for names in tubes]
    known: dict[tuple[str, ...], list[float]] = {}
    found = np.empty((len(build.run), count))
    for i, key in enumerate(zip(*(names.tolist() for names in wide), strict=True)):
        if key not in known:
            known[key] = _losses(one_of(build, i))
        found[:, i] = known[key]
    return list(found)


def one_of(build: Build, i: int) -> Build:
    """A build with the tubes of one variant."""
    held: list[Run | Manifold] = [*build.run, *build.manifold]
    if all(isinstance(part.tube, str) for part in held):
        return build

    def name(tube: Any) -> str:
        listed = np.ravel(tube)
        return str(listed[i if len(listed) > 1 else 0])

    return replace(
        build,
        run=tuple(replace(run, tube=name(run.tube)) for run in build.run),
        manifold=tuple(replace(m, tube=name(m.tube)) for m in build.manifold),
    )
