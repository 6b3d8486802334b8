"""Tees: which part stands where runs meet, which run goes on which of its ends.

A tee has three ends.  Where more runs meet, tees stand in a row with a stub between them;
an end that no run comes to gets a plug on a stub.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise, permutations

import numpy as np

from ..words.brief import brief
from ..words.tables import table
from .connect import Connector
from .ends import method_of, size_of
from .fittings import FittingPart
from .model import Build
from .parts import Tee
from .pieces import Join, Made, Piece, Used
from .port_ends import STATED, PortEnd, holds_tube, stated_ends
from .rows import fitting_sort

STUB_LEAST = 0.05
"""m of a stub where the table of tubes has no least length (assumed)."""


@brief
@dataclass
class TeeSet:
    """One branch point: the end that each run has there, and what it is made of.

    ``ends`` maps the number of a run, and 0 for its start or 1 for its end, to the end;
    ``places`` to which tee of a row it goes on and which of its ends, the branch being 2.
    ``part`` is the tee, None where none is known.
    """

    ends: dict[tuple[int, int], PortEnd]
    made: Made
    part: FittingPart | None = None
    places: dict[tuple[int, int], tuple[int, int]] = field(default_factory=dict)


def runs_of(build: Build, name: str) -> list[tuple[int, int]]:
    """The runs that meet at a component: number, and 0 if it leaves there or 1 if it arrives."""
    return [
        (index, at)
        for index, pair in enumerate(build.run_ends)
        for at in (0, 1)
        if pair[at].component == name
    ]


def runs_in_order(build: Build, runs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same, so that neither names nor the order of the file tell which goes on which end."""

    def key(run: tuple[int, int]) -> tuple[object, ...]:
        index, at = run
        one = build.run[index]
        sizes = float(np.max(one.length)), float(np.max(one.rise))
        return (1 - at, one.tube, one.joint, one.fittings, *sizes)

    return sorted(runs, key=key)


def tee_of(build: Build, tee: Tee, connector: Connector) -> TeeSet:
    """The tee or tees of one branch point."""
    runs = runs_in_order(build, runs_of(build, tee.name))
    made = Made()
    if not runs:
        return TeeSet({}, made)
    said = stated_ends(tee).get("any")
    if said is not None:
        ends = {at: PortEnd(tee.name, "any", said, basis=STATED) for at in runs}
        made.notes.append(f"{tee.name}: all its ends are taken to be {said}, as stated")
        return TeeSet(ends, made)
    tubes = [build.run[index].tube for index, _ in runs]
    methods = [
        method_of(t, build.run[i].joint, build.rows) for t, (i, _) in zip(tubes, runs, strict=True)
    ]
    branch = [at for at, (index, _) in enumerate(runs) if on_branch(build, index)]
    if len(runs) <= 3:
        asked = (tuple(tubes), tuple(methods), tuple(map(str, branch)))
        if asked not in connector.tees:
            connector.tees[asked] = _best(build, connector, tubes, methods, branch)
        order, part = connector.tees[asked]
    else:
        order, part = tuple(range(len(runs))), _plain(build, connector, tubes, methods)
    if part is None:
        main = _main(tubes, methods)
        end = holds_tube(build, main[0], main[1])
        made.trouble.append(
            f"{tee.name}: no tee for {main[0]} in the tables; its size is not known"
        )
        return TeeSet({at: PortEnd(tee.name, "any", end, owner=tee.name) for at in runs}, made)
    return _set(build, tee.name, runs, order, part, made, connector, tubes[0])


def on_branch(build: Build, index: int) -> bool:
    """Whether the build file leads a run's water round the corner of a tee."""
    rows = table("fittings", build.rows)
    return any(fitting_sort(rows[n]) == "branch" for n, many in build.run[index].fittings if many)


def _main(tubes: list[str], methods: list[str]) -> tuple[str, str]:
    """The tube and way that most runs of a branch point have."""
    counts = Counter(zip(tubes, methods, strict=True))
    return min(counts, key=lambda pair: (-counts[pair], pair))


def _plain(
    build: Build, connector: Connector, tubes: list[str], methods: list[str]
) -> FittingPart | None:
    """A tee of one size, for the tube that most runs have, else for the first that has one."""
    tube, method = _main(tubes, methods)
    for t, m in ((tube, method), *zip(tubes, methods, strict=True)):
        found = connector.fittings.find("tee", m, size_of(t, build.rows))
        if found is not None:
            return found
    return None


def _best(
    build: Build, connector: Connector, tubes: list[str], methods: list[str], branch: list[int]
) -> tuple[tuple[int, ...], FittingPart | None]:
    """The tee, and which run goes on each of its ends, with the fewest joints.

    A run that the build file leads round the corner goes on the branch.
    """
    wanted = {
        (method, size_of(tube, build.rows)) for tube, method in zip(tubes, methods, strict=True)
    }
    count = len(tubes)
    found: tuple[tuple[int, int, int], tuple[int, ...], FittingPart] | None = None
    for number, part in enumerate(connector.fittings.tees()):
        if not any((end.holds, end.size) in wanted for end in part.ends):
            continue
        for order in permutations(range(3), count):
            if len(branch) == 1 and order[branch[0]] != 2:
                continue
            joints = sum(
                connector.chain(part.ends[place], tube, method).joints
                for place, tube, method in zip(order, tubes, methods, strict=True)
            )
            cost = (joints, part.price_class, number)
            if found is None or cost < found[0]:
                found = (cost, order, part)
    return (found[1], found[2]) if found else ((), None)


def _set(
    build: Build,
    name: str,
    runs: list[tuple[int, int]],
    order: tuple[int, ...],
    part: FittingPart,
    made: Made,
    connector: Connector,
    tube: str,
) -> TeeSet:
    ends: dict[tuple[int, int], PortEnd] = {}
    places: dict[tuple[int, int], tuple[int, int]] = {}

    def on(tee: str, place: int, at: tuple[int, int], number: int = 0) -> None:
        places[at] = (number, place)
        ends[at] = PortEnd(
            name, "any", part.ends[place], basis="as picked",
            take_off=part.take_offs[place], insertion=part.insertions[place], owner=tee,
        )  # fmt: skip

    if len(runs) <= 3:
        made.fittings.append(Used(name, part))
        for at, place in zip(runs, order, strict=True):
            on(name, place, at)
        for place in set(range(3)) - set(order):
            _plug(build, name, part, place, made, connector, tube)
        return TeeSet(ends, made, part, places)
    count = len(runs) - 2
    tees = [name if n == 0 else f"{name} {n + 1}" for n in range(count)]
    made.fittings += [Used(tee, part) for tee in tees]
    on(tees[0], 0, runs[0])
    for n, tee in enumerate(tees):
        on(tee, 2, runs[n + 1], n)
    on(tees[-1], 1, runs[-1], count - 1)
    stub = connector.stub_tube(part.ends[0], tube)
    for one, other in pairwise(tees):
        _stub(
            build, f"stub between {one} and {other}", stub, (one, part, 1), (other, part, 0), made
        )
    return TeeSet(ends, made, part, places)


def stub_length(build: Build, tube: str) -> float:
    """The least length of a stub of a tube, m."""
    return float(table("tubes", build.rows)[tube]["stub_least"] or STUB_LEAST)


def _stub(
    build: Build,
    label: str,
    tube: str,
    one: tuple[str, FittingPart, int],
    other: tuple[str, FittingPart, int],
    made: Made,
) -> None:
    """A stub between two ends, with its two joints."""
    (a, part_a, end_a), (b, part_b, end_b) = one, other
    length = max(stub_length(build, tube), part_a.insertions[end_a] + part_b.insertions[end_b])
    made.pieces.append(
        Piece(
            label, tube, length, (a, b), (part_a.take_offs[end_a], part_b.take_offs[end_b]),
            (part_a.insertions[end_a], part_b.insertions[end_b]), kind="stub",
        )
    )  # fmt: skip
    for owner, end in ((a, part_a.ends[end_a]), (b, part_b.ends[end_b])):
        made.joins.append(Join(f"{label} at {owner}", owner, end, tube=tube, place=label))


def _plug(
    build: Build,
    name: str,
    part: FittingPart,
    place: int,
    made: Made,
    connector: Connector,
    tube: str,
) -> None:
    """A plug on a stub, on an end that no run comes to."""
    end = part.ends[place]
    stub = connector.stub_tube(end, tube)
    plug = connector.fittings.find("plug", end.holds, end.size)
    if plug is None or not stub:
        made.trouble.append(f"{name}: an end has no run, and the tables have no plug for {end}")
        return
    label = (
        f"{name} plug"
        if not any(f.name == f"{name} plug" for f in made.fittings)
        else f"{name} plug 2"
    )
    made.fittings.append(Used(label, plug))
    _stub(build, f"stub to {label}", stub, (name, part, place), (label, plug, 0), made)


__all__ = ["TeeSet", "on_branch", "runs_in_order", "runs_of", "stub_length", "tee_of"]
