"""What joins two ends: the chain of fittings between a part and a tube.

The search is Dijkstra's over ends: each fitting that mates with what is open opens its other
end; a stub of tube joins two ends that both hold tube.  The cheapest in joints wins, then the
cheaper fittings.  What is bought holds the tube by the run's own way, since that is the tool at
hand; only a part that comes with another end is joined by that end's way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from heapq import heappop, heappush
from itertools import count

from ..words.brief import brief
from ..words.tables import table
from .ends import End, Own, methods_for, size_of
from .fittings import FittingPart, Fittings, fittings_of
from .model import Build

MOST_JOINTS = 12
"""A chain of more joints than this is no answer."""

Cost = tuple[int, int]


@brief
@dataclass(frozen=True)
class Step:
    """One fitting of a chain, from the part to the tube.

    ``stub`` is the tube between it and what comes before, empty if the two ends are joined as
    they are; ``into`` and ``out`` number the fitting's ends.
    """

    part: FittingPart
    into: int
    out: int
    stub: str = ""

    @property
    def length(self) -> float:
        """Of the fitting along the run, m."""
        return self.part.take_offs[self.into] + self.part.take_offs[self.out]


@brief
@dataclass(frozen=True)
class Chain:
    """How a part's end is joined to a tube.

    ``trouble`` says why nothing joins them; ``steps`` are empty then and where the tube goes
    straight onto the part.
    """

    start: End
    tube: str
    method: str
    steps: tuple[Step, ...] = ()
    trouble: str = ""
    stated: bool = False

    @property
    def last(self) -> End:
        """The end that the tube goes on."""
        return self.steps[-1].part.ends[self.steps[-1].out] if self.steps else self.start

    @property
    def joints(self) -> int:
        """Joints from the part to the tube, the tube's own end counted."""
        return 1 + sum(2 if step.stub else 1 for step in self.steps)

    @property
    def words(self) -> str:
        """The fittings in words, from the part to the tube."""
        if self.trouble:
            return self.trouble
        return " + ".join(step.part.name for step in self.steps) or "the tube itself"


@brief
@dataclass
class Connector:
    """Finds chains, and keeps what it found: a van asks the same few questions many times.

    ``in_use`` are the tubes of the van: a stub is cut from one of them if it can be.  ``tees``
    keeps, for tubes, ways of joining and the branch, which tee was found and how it is turned.
    """

    fittings: Fittings
    own: Own | None = None
    in_use: tuple[str, ...] = ()
    _known: dict[tuple[str, str, str, str, bool], tuple[Step, ...] | None] = field(
        default_factory=dict
    )
    _stubs: dict[tuple[str, str], str] = field(default_factory=dict)
    tees: dict[tuple[tuple[str, ...], ...], tuple[tuple[int, ...], FittingPart | None]] = field(
        default_factory=dict
    )

    def chain(self, start: End, tube: str, method: str, *, firm: bool = False) -> Chain:
        """The best chain from an end to a tube that is joined by ``method`` as a rule.

        ``firm``: the run says so, so that the tube's own joint is by no other way.
        """
        size = size_of(tube, self.own)
        key = (start.kind, start.size, tube, method, firm)
        if key not in self._known:
            self._known[key] = self._search(start, tube, size, method, firm)
        steps = self._known[key]
        if steps is None:
            why = f"no fittings of the tables join {start} to {tube} by {method}"
            return Chain(start, tube, method, (), why)
        return Chain(start, tube, method, steps)

    def as_stated(self, start: End, tube: str, method: str, names: Sequence[str]) -> Chain:
        """The chain that a build file names, from the part to the tube, or why it can't be."""
        steps: list[Step] = []
        open_end = start
        for name in names:
            part = self.fittings.parts.get(name)
            if part is None:
                return Chain(start, tube, method, (), f"there is no fitting {name!r}", True)
            step = self._onto(open_end, part, tube)
            if step is None:
                told = " and ".join(str(e) for e in part.ends)
                why = f"{name} ({told}) does not go on {open_end}"
                return Chain(start, tube, method, (), why, True)
            steps.append(step)
            open_end = part.ends[step.out]
        found = Chain(start, tube, method, tuple(steps), "", True)
        if not self._takes(found.last, tube):
            why = f"{found.last} does not take {tube}"
            return Chain(start, tube, method, (), why, True)
        return found

    def _onto(self, open_end: End, part: FittingPart, tube: str) -> Step | None:
        if len(part.ends) != 2:
            return None
        for into in (0, 1):
            end = part.ends[into]
            if open_end.mates(end):
                return Step(part, into, 1 - into)
            if open_end.holds and end.holds and open_end.size == end.size:
                stub = self.stub_tube(open_end, tube)
                if stub:
                    return Step(part, into, 1 - into, stub)
        return None

    @cached_property
    def _tubes(self) -> dict[str, tuple[str, tuple[str, ...]]]:
        """Size and ways of joining of every tube, those in use first."""
        names = dict.fromkeys((*self.in_use, *table("tubes", self.own)))
        return {n: (size_of(n, self.own), methods_for(n, self.own)) for n in names}

    def _takes(self, end: End, tube: str) -> bool:
        size, methods = self._tubes[tube]
        return end.size == size and end.holds in methods

    def stub_tube(self, end: End, tube: str) -> str:
        """The tube for a stub on an end: the run's own, else one in use, else any that fits."""
        if self._takes(end, tube):
            return tube
        key = (end.holds, end.size)
        if key not in self._stubs:
            names = [name for name in self._tubes if self._takes(end, name)]
            usual = [name for name in names if self._tubes[name][1][:1] == (end.holds,)]
            self._stubs[key] = (usual or names or [""])[0]
        return self._stubs[key]

    def _search(
        self, start: End, tube: str, size: str, method: str, firm: bool
    ) -> tuple[Step, ...] | None:
        """The cheapest steps, or None if there are none."""
        own_ways = (method,) if firm else self._tubes[tube][1]
        order = count()
        heap: list[tuple[Cost, int, End, tuple[Step, ...]]] = []
        heappush(heap, ((0, 0), next(order), start, ()))
        done: set[tuple[str, str]] = set()
        while heap:
            cost, _, end, steps = heappop(heap)
            key = (end.kind, end.size)
            if key in done:
                continue
            done.add(key)
            if end.size == size and end.holds in (own_ways if not steps else (method,)):
                return steps
            joints, price = cost
            if joints >= MOST_JOINTS:
                continue
            for kind in end.mate_kinds:
                for part, into, out in self.fittings.ways_through.get((kind, end.size), ()):
                    if (part.ends[out].kind, part.ends[out].size) not in done:
                        then = (joints + 1, price + part.price_class)
                        step = Step(part, into, out)
                        heappush(heap, (then, next(order), part.ends[out], (*steps, step)))
            if end.holds:
                stub = self.stub_tube(end, tube)
                if not stub:
                    continue
                for part, into, out in self.fittings.ways_through.get((end.kind, end.size), ()):
                    then = (joints + 2, price + part.price_class + 1)
                    step = Step(part, into, out, stub)
                    heappush(heap, (then, next(order), part.ends[out], (*steps, step)))
        return None


_KEPT: dict[tuple[str, ...], Connector] = {}
"""Connectors of builds without rows of their own, by the tubes in use."""


def connector_of(build: Build) -> Connector:
    """What finds the fittings of a build; builds that use the same tubes share what it found."""
    runs = (run.tube for run in build.run)
    in_use = tuple(dict.fromkeys((*(m.tube for m in build.manifold), *runs)))
    own = any(build.rows.get(n) for n in ("tubes", "joints", "fitting_parts", "board_parts"))
    if own:
        return Connector(fittings_of(build.rows), build.rows, in_use)
    if in_use not in _KEPT:
        if len(_KEPT) > 64:
            _KEPT.clear()
        _KEPT[in_use] = Connector(fittings_of(), None, in_use)
    return _KEPT[in_use]
