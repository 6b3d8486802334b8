"""Each run from end to end: what joins it to the parts at its ends, its fittings and its pieces.

A run's length is measured along its centre line, from where a tube would stop at the one part
to where it would stop at the other (to the centre of a tee).  Pieces and the take-offs of all
fittings between them are that length together.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from ..van.connect import Chain, Connector
from ..van.ends import End, kind_that_holds, method_of, size_of, thread_size
from ..van.fittings import FittingPart
from ..van.pieces import Join, Made, Piece, Used
from ..van.pointers import kind_of
from ..van.port_ends import PortEnd, holds_tube, relief_ends
from ..van.rows import fitting_sort
from ..van.run_ends import RunEnds, stands_for_picked
from ..van.tees import TeeSet, stub_length
from ..van.trace import contents
from ..van.wiring import run_words
from ..words.brief import brief
from ..words.show import show
from ..words.tables import table
from .beside_runs import LOOSE, beside_runs
from .headers import Headers

if TYPE_CHECKING:
    from ..van.model import Build
    from ..van.parts import Component, Run

SMALL = (
    "pump", "strainer", "check valve", "shut off", "drain valve", "line part", "air vent",
    "tank selector", "recirculation pump", "regulator", "accumulator", "mixing valve",
)  # fmt: skip
"""Kinds of components that are made up on the bench."""


@brief
@dataclass
class RunWay:
    """One run.  ``made`` is what it is made of; ``short`` m by which its fittings are too long.

    ``length`` is the run's own as the build file says, or, for a run that lies on the board,
    as the board has it.  ``chains`` join the tube to the part at its start and at its end.
    """

    index: int
    run: Run
    ends: tuple[PortEnd, PortEnd]
    length: float
    made: Made
    chains: tuple[Chain, ...] = ()
    short: float = 0.0
    bends: int = 0
    on_board: bool = False
    adapters_written: int = 0

    @property
    def take_offs(self) -> float:
        """m along the run that its fittings take."""
        return self.length - sum(piece.length for piece in self.made.pieces)


@dataclass
class _Node:
    """A part in the row of a run: its end towards what comes before, and towards what follows."""

    label: str
    into: End | None = None
    out: End | None = None
    off_in: float = 0.0
    off_out: float = 0.0
    on_in: float = 0.0
    on_out: float = 0.0
    corner: bool = False
    stub: str = ""
    stub_after: str = ""


@brief
@dataclass
class Ways:
    """All runs, tees and what belongs to devices alone."""

    runs: tuple[RunWay, ...]
    tees: dict[str, TeeSet] = field(default_factory=dict)
    devices: Made = field(default_factory=Made)


def ways_of(build: Build, headers: Headers, connector: Connector) -> Ways:
    """Every run of a build, with the tees that they meet at."""
    maker = _WayMaker(build, headers, connector)
    runs = tuple(maker.way(index) for index in range(len(build.run)))
    return Ways(runs, maker.run_ends.tees, maker.devices())


class _WayMaker:
    def __init__(self, build: Build, headers: Headers, connector: Connector) -> None:
        self.build, self.headers, self.connector = build, headers, connector
        self.run_ends = RunEnds(build, connector, headers.ends, frozenset(headers.linked))
        self.tees = self.run_ends.tees
        self.sides = contents(build)
        self.taken: set[str] = set()

    def way(self, index: int) -> RunWay:
        run = self.build.run[index]
        ends = (self.run_ends.end(index, 0), self.run_ends.end(index, 1))
        if index in self.headers.linked:
            made = self.headers.linked[index]
            length = sum(p.centres for p in made.pieces)
            return RunWay(index, run, ends, length, made, on_board=True)
        return self._loose(index, run, ends)

    def _loose(self, index: int, run: Run, ends: tuple[PortEnd, PortEnd]) -> RunWay:
        build, made = self.build, Made()
        method, wrong = self.run_ends.method(run)
        bench = all(p.component in self.headers.hung for p in build.run_ends[index])
        chains = tuple(self.run_ends.chain(index, at, end) for at, end in enumerate(ends))
        way = RunWay(index, run, ends, run.length, made, chains)
        for end, chain in zip(ends, chains, strict=True):
            if chain.trouble:
                made.trouble.append(
                    f"run {index + 1}, {run_words(build, index)}: {end.words} and {run.tube}: "
                    f"{chain.trouble}"
                )
        labels = [self._label(end, index) for end in ends]
        nodes = [self._device(ends[0], labels[0], out=True)]
        nodes += self._chain_nodes(chains[0], labels[0], index, made, forward=True)
        nodes += self._inner(way, method)
        nodes += self._chain_nodes(chains[1], labels[1], index, made, forward=False)
        nodes.append(self._device(ends[1], labels[1], out=False))
        self._pieces(way, nodes)
        self._joins(way, nodes, ends, labels, wrong, bench, method)
        for at, end in enumerate(ends):
            self._through_wall(way, end, labels[at], build.component(end.component))
        return way

    def _label(self, end: PortEnd, index: int) -> str:
        """What the end is called in joints: "pump inlet", "C2 galley valve", "supply tee"."""
        if end.component in self.tees:
            return f"{end.owner or end.component}, run {index + 1}"
        if end.owner:
            return end.owner
        component = self.build.component(end.component)
        several = len(component.inlets) + len(component.outlets) > 1
        if kind_of(component) == "fixture":
            several = end.port != "inlet"
        label = f"{component.name} {end.port}" if several else component.name
        if label in self.taken:
            label = f"{label}, run {index + 1}"
        self.taken.add(label)
        return label

    def _device(self, end: PortEnd, label: str, *, out: bool) -> _Node:
        if out:
            return _Node(label, out=end.end, off_out=end.take_off, on_out=end.insertion)
        return _Node(label, into=end.end, off_in=end.take_off, on_in=end.insertion)

    def _chain_nodes(
        self, chain: Chain, label: str, index: int, made: Made, *, forward: bool
    ) -> list[_Node]:
        """The fittings of a chain in the order of the run, and what is bought for it."""
        nodes = []
        for number, step in enumerate(chain.steps, 1):
            part = step.part
            mark = "" if number == 1 else f" {number}"
            name = f"{part.kind}{mark} at {label}"
            made.fittings.append(Used(name, part, index))
            first, last = (step.into, step.out) if forward else (step.out, step.into)
            node = _Node(
                name, part.ends[first], part.ends[last], part.take_offs[first],
                part.take_offs[last], part.insertions[first], part.insertions[last],
            )  # fmt: skip
            if forward:
                node.stub = step.stub
            else:
                node.stub_after = step.stub
            nodes.append(node)
        return nodes if forward else nodes[::-1]

    def _inner(self, way: RunWay, method: str) -> list[_Node]:
        """The fittings that the build file counts in the run, but adapters, reducers and tees."""
        build, run = self.build, way.run
        rows = table("fittings", build.rows)
        nodes: list[_Node] = []
        for name, many in run.fittings:
            row = rows[name]
            kind = fitting_sort(row)
            if stands_for_picked(row):
                way.adapters_written += many
            if row["kind"] == "elbow" and not row["tube_ends"]:
                way.bends += many
            if kind not in ("elbow", "elbow 45", "coupling", "union"):
                continue
            for each in range(many):
                label = f"run {way.index + 1} {kind}" + ("" if many == 1 else f" {each + 1}")
                if any(node.label == label for node in nodes):
                    label = f"run {way.index + 1} {name}" + ("" if many == 1 else f" {each + 1}")
                nodes += self._one_inner(way, method, kind, label)
        return nodes

    def _one_inner(self, way: RunWay, method: str, kind: str, label: str) -> list[_Node]:
        build, run, made = self.build, way.run, way.made
        corner = kind.startswith("elbow")
        if kind == "union":
            return self._union(way, method, label)
        part = self.connector.fittings.find(kind, method, size_of(run.tube, build.rows))
        if part is None:
            end = holds_tube(build, run.tube, run.joint)
            made.trouble.append(
                f"{label}: the tables have no {kind} for {run.tube} by {method}; its take-off is "
                "not known and counted as nothing"
            )
            return [_Node(label, end, end, corner=corner)]
        made.fittings.append(Used(label, part, way.index))
        return [
            _Node(label, part.ends[0], part.ends[-1], part.take_offs[0], part.take_offs[-1],
                  part.insertions[0], part.insertions[-1], corner)
        ]  # fmt: skip

    def _union(self, way: RunWay, method: str, label: str) -> list[_Node]:
        """A union in the run: threaded, with what joins it to the tube on both sides."""
        run, made = way.run, way.made
        best: tuple[tuple[int, bool, int], FittingPart, Chain] | None = None
        usual = thread_size(run.tube, self.build.rows)
        for part in self.connector.fittings.parts.values():
            if part.kind == "union":
                chain = self.connector.chain(part.ends[0], run.tube, method)
                other = part.ends[0].size != usual  # narrower or wider than its tube
                cost = (chain.joints, other, part.price_class)
                if not chain.trouble and (best is None or cost < best[0]):
                    best = (cost, part, chain)
        if best is None:
            made.trouble.append(f"{label}: no union of the tables goes with {run.tube}")
            return []
        _, part, chain = best
        made.fittings.append(Used(label, part, way.index))
        made.joins.append(
            Join(f"{label} itself", label, End("G swivel", part.ends[0].size, part.body),
                 End("G male", part.ends[0].size, part.body), run=way.index, kind="union")
        )  # fmt: skip
        before = self._chain_nodes(chain, f"{label} in", way.index, made, forward=False)
        after = self._chain_nodes(chain, f"{label} out", way.index, made, forward=True)
        node = _Node(label, part.ends[0], part.ends[1], part.take_offs[0], part.take_offs[1])
        return [*before, node, *after]

    def _pieces(self, way: RunWay, nodes: list[_Node]) -> None:
        """Share the run's length out to its pieces: leg by leg, or alike where no leg is said."""
        build, run = self.build, way.run
        legs = list(run.legs) or [run.length]
        corners = [n for n, node in enumerate(nodes) if node.corner] if run.legs else []
        bounds = [0, *corners, len(nodes) - 1]
        if len(bounds) - 1 != len(legs):
            legs, bounds = [run.length], [0, len(nodes) - 1]
        scale = run.length / sum(legs)
        number = 0
        many = sum(1 for a, b in pairwise(nodes) if _is_free(a, b))
        lengths: dict[int, float] = {}
        for leg, first, last in zip(legs, bounds, bounds[1:], strict=False):
            gone, free = 0.0, []
            for n in range(first, last):
                a, b = nodes[n], nodes[n + 1]
                gone += a.off_out + b.off_in
                stub = a.stub_after or b.stub
                if stub:
                    lengths[n] = max(stub_length(build, stub), a.on_out + b.on_in)
                    gone += lengths[n]
                elif _is_free(a, b):
                    free.append(n)
            left = leg * scale - gone
            for n in free:
                lengths[n] = left / len(free)
            if not free and abs(left) > 1e-9:
                way.made.trouble.append(
                    f"run {way.index + 1}: a leg of {show(leg, 'length', build.van.units)} has no "
                    "tube in it to make up its length"
                )
        for n in sorted(lengths):
            a, b = nodes[n], nodes[n + 1]
            stub = a.stub_after or b.stub
            if stub:
                name = f"stub at {b.label if b.stub else a.label}"
            else:
                number += 1
                name = f"run {way.index + 1}" + (f" piece {number}" if many > 1 else "")
            piece = Piece(
                name, stub or run.tube, lengths[n], (a.label, b.label), (a.off_out, b.off_in),
                (a.on_out, b.on_in), way.index, "stub" if stub else "run",
                way.bends if number == 1 and not stub else 0,
                assumed=not stub and many > 1 and not run.legs,
            )  # fmt: skip
            way.made.pieces.append(piece)
            least = sum(piece.insertions)
            way.short = max(way.short, (least - piece.length) * (1 if stub else many))
        if way.short > 1e-9:
            units = build.van.units
            way.made.trouble.append(
                f"run {way.index + 1}, {run_words(build, way.index)}: its fittings and what goes "
                f"into them are {show(way.short, 'length', units)} longer than the run"
            )

    def _joins(
        self,
        way: RunWay,
        nodes: list[_Node],
        ends: tuple[PortEnd, PortEnd],
        labels: list[str],
        wrong: str,
        bench: bool,
        method: str,
    ) -> None:
        """The joints of a run, from its start to its end."""
        run, index = way.run, way.index
        kinds = [kind_of(self.build.component(end.component)) for end in ends]

        def after(n: int, first: bool) -> str:
            """The thread of the adapter that a tube's end goes on, made before it."""
            if first and n == 1 and not (nodes[1].stub or _is_free(nodes[0], nodes[1])):
                return f"{labels[0]} thread"
            last = len(nodes) - 2
            if not first and n == last - 1:
                a, b = nodes[last], nodes[last + 1]
                return f"{labels[1]} thread" if not (a.stub_after or _is_free(a, b)) else ""
            return ""

        for n, (a, b) in enumerate(pairwise(nodes)):
            stub = a.stub_after or b.stub
            at_start, at_end = n == 0, n == len(nodes) - 2
            if not stub and not _is_free(a, b):
                device = labels[0] if at_start else labels[1] if at_end else ""
                kind = kinds[0] if at_start else kinds[1] if at_end else ""
                what = device or a.label
                on_bench = bench or not device or kind in SMALL or kind in ("tee", "manifold")
                assert a.out is not None and b.into is not None
                name = f"{device} thread" if device else f"{a.label} to {b.label}"
                way.made.joins.append(
                    Join(name, what, a.out, b.into, run=index,
                         device=ends[0 if at_start else 1].component if device else "",
                         bench=on_bench, basis=ends[0 if at_start else 1].basis if device else "")
                )  # fmt: skip
                continue
            for node, end, far in ((a, a.out, b.into), (b, b.into, a.out)):
                refused = wrong if not stub else ""
                holds = end if end is not None and end.holds else far
                if holds is None or not holds.holds or (wrong and not stub):
                    holds = _stand_in(self.build, run, method)
                if end is None or not end.holds:
                    refused = refused or way_trouble(way, node.label, labels)
                two = all(e is not None and e.holds for e in (node.into, node.out))
                side = ("in" if end is node.into else "out") if two else "tube"
                if stub:
                    side = f"stub {side}" if two else "stub"
                way.made.joins.append(
                    Join(f"{node.label} {side}", node.label, holds, tube=stub or run.tube,
                         run=index, bench=bench or bool(stub), refused=refused,
                         after=after(n, node is a))
                )  # fmt: skip

    def _through_wall(self, way: RunWay, end: PortEnd, label: str, component: Component) -> None:
        """A tank fitting goes through the tank's wall."""
        if kind_of(component) == "tank":
            bulkhead = End("bulkhead", end.end.size, end.end.material)
            way.made.joins.append(
                Join(f"{label} through the wall", f"wall of {component.name}", bulkhead,
                     run=way.index, device=component.name, kind="bulkhead")
            )  # fmt: skip

    def devices(self) -> Made:
        """Bypasses, tanks' hoses; relief valves with what takes their drain."""
        made = beside_runs(self.build)
        for heater in self.build.heater:
            if heater.relief is None:
                continue
            index = next(
                (n for n, pair in enumerate(self.build.run_ends)
                 if heater.name in (pair[0].component, pair[1].component)), None,
            )  # fmt: skip
            if index is None:
                continue
            run = self.build.run[index]
            inlet, drain = relief_ends(self.build, heater, run.tube)
            mates = table("end_kinds")[inlet.end.kind]["mates"] or ()
            other = End(mates[0], inlet.end.size, "brass") if mates else inlet.end
            place = f"{heater.name}, relief valve"
            made.joins.append(
                Join(f"{heater.name} relief valve thread", f"relief valve of {heater.name}",
                     inlet.end, other, device=heater.name, side="hot", place=place)
            )  # fmt: skip
            method = method_of(run.tube, "", self.build.rows)
            chain = self.connector.chain(drain.end, run.tube, method)
            label = f"{heater.name} relief drain"
            if chain.trouble or any(step.stub for step in chain.steps):
                made.trouble.append(
                    f"{label}: {chain.trouble or 'no fitting joins it to its tube'}"
                )
                continue
            before = drain.end
            for step in chain.steps:
                into = step.part.ends[step.into]
                mark = "" if before is drain.end else " 2"
                made.fittings.append(Used(f"{step.part.kind}{mark} at {label}", step.part))
                made.joins.append(
                    Join(f"{label} thread{mark}", label, before, into, side="hot", place=place,
                         device=heater.name)
                )  # fmt: skip
                before = step.part.ends[step.out]
            made.joins.append(
                Join(f"{label} tube", label, chain.last, tube=run.tube, side="hot", place=place,
                     after=f"{label} thread")
            )  # fmt: skip
            mind = "full size, falling all the way, no valve, its end in sight; local codes first"
            if heater.relief_drain_length is None:
                made.notes.append(
                    f"{label}: the length of its tube is not said; it is neither cut nor bought "
                    f"here; {mind}"
                )
                continue
            fitting = chain.steps[-1].part if chain.steps else None
            held = fitting.insertions[chain.steps[-1].out] if fitting is not None else 0.0
            made.pieces.append(
                Piece(label, run.tube, heater.relief_drain_length, (label, "its open end"),
                      (0.0, 0.0), (held, 0.0), None, LOOSE)
            )  # fmt: skip
            made.notes.append(f"{label}: {mind}")
        return made


def _is_free(a: _Node, b: _Node) -> bool:
    """Whether the run's own tube goes between two parts: they don't mate."""
    if a.stub_after or b.stub:
        return False
    if a.out is None or b.into is None:
        return True
    return not a.out.mates(b.into)


def _stand_in(build: Build, run: Run, method: str) -> End:
    """An end for a joint that can't be made as the build says: it is named all the same."""
    try:
        kind = kind_that_holds(method)
    except KeyError:
        return holds_tube(build, run.tube)
    return End(kind, size_of(run.tube, build.rows), "brass")


def way_trouble(way: RunWay, label: str, labels: list[str]) -> str:
    """Why the joint at a label can't be made: nothing of the tables joins it."""
    for chain, name in zip(way.chains, labels, strict=True):
        if chain.trouble and label == name:
            return chain.trouble
    return ""
