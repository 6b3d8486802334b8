"""What comes out of the van again without cutting tube, and the union that would make it so."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..van.kinds import line_parts
from ..van.pointers import kind_of
from ..words.brief import brief
from ..words.tables import table
from .headers import has_tails
from .ways import ways_of

if TYPE_CHECKING:
    from ..van.connect import Chain
    from ..van.model import Build
    from .engine import Lists

UNION = "union"
"""Its row in the table of fittings, its kind among fittings and among parts of a line."""
PARTED = ("union", "connector")
"""Sorts of parts in a line that come apart by themselves."""


@brief
@dataclass(frozen=True)
class UnionOffer:
    """A union put in a run: the fitting that was found for it, and how many joints more."""

    run: int
    fitting: str
    joints: int


def comes_apart(build: Build, chain: Chain) -> bool:
    """Whether one of the joints from a part to the tube is undone without turning the tube.

    A taper thread is not: what is screwed on it, or the part, would have to turn.
    """
    joints = table("joints", build.rows)
    before = chain.start
    for step in chain.steps:
        into = step.part.ends[step.into]
        if "washer" in (before.seal, into.seal) or step.part.kind == UNION:
            return True
        before = step.part.ends[step.out]
    held = before.holds or chain.method
    return held in joints and joints[held]["opens"] is True


def parted(build: Build) -> frozenset[str]:
    """Parts in the lines that come apart by themselves: unions and quick connectors."""
    return frozenset(
        p.name for p in build.line_part if line_parts.row_of(build, p)["sort"] in PARTED
    )


def fixed_ports(lists: Lists, component: str) -> tuple[tuple[str, int], ...]:
    """Ports of a part that are only freed by cutting tube, each with the number of its run."""
    build, found = lists.build, []
    unions = parted(build)
    hung = lists.headers.devices.get(component)
    if hung is not None and has_tails(build, hung):
        return ()
    for way in lists.ways.runs:
        ends = build.run_ends[way.index]
        for at, port in enumerate(ends):
            if port.component != component or ends[1 - at].component in unions:
                continue
            if dict(way.run.fittings).get(UNION):  # never so on a board: it is not asked for there
                continue
            if way.on_board:
                opens = _opens_on_board(lists, way.index)
            else:
                opens = comes_apart(build, way.chains[at])
            if not opens:
                found.append((port.port, way.index))
    return tuple(found)


def _opens_on_board(lists: Lists, run: int) -> bool:
    joints = table("joints", lists.build.rows)
    own = [j for j in lists.joints if j.run == run]
    return bool(own) and all(joints[j.kind]["opens"] is True for j in own if j.tube)


def union_offers(lists: Lists, runs: Collection[int]) -> dict[int, UnionOffer]:
    """For each run that does not lie on the board, a union in it, if the tables have one."""
    build = lists.build
    loose = {n for n in runs if not lists.ways.runs[n].on_board}
    if not loose:
        return {}
    put = tuple(
        replace(run, fittings=(*run.fittings, (UNION, 1))) if n in loose else run
        for n, run in enumerate(build.run)
    )
    others = ways_of(replace(build, run=put), lists.headers, lists.connector).runs
    found = {}
    for index in loose:
        way, other = lists.ways.runs[index], others[index]
        names = [used.part.name for used in other.made.fittings if used.part.kind == UNION]
        if names and len(other.made.trouble) <= len(way.made.trouble):
            more = len(other.made.joins) - len(way.made.joins)
            found[index] = UnionOffer(index, names[0], more)
    return found


def with_tails(lists: Lists, component: str) -> str:
    """A board part with union tails that could hang in place of a part, or nothing."""
    hung = lists.headers.devices.get(component)
    if hung is None or lists.board is None:
        return ""
    ends = {(port.name, port.outside, port.joint) for port in hung.ports}
    rows = table("board_parts", lists.build.rows)
    for name, row in rows.items():
        if row["kind"] == hung.kind and row["tails"] is True:
            other = lists.board.needs.catalogue[name]
            if {(port.name, port.outside, port.joint) for port in other.ports} == ends:
                return name
    return ""


def serviced(build: Build, on_board: frozenset[str]) -> tuple[str, ...]:
    """Parts that are taken out for service: pumps, filters and the like, mixing valves.

    Check valves are among them where they hang on a board; a loose one is cut out and renewed.
    """
    kinds = ("pump", "line part", "mixing valve", "recirculation pump")
    unions = parted(build)
    found = [c.name for c in build.components if kind_of(c) in kinds and c.name not in unions]
    return (*found, *(c.name for c in build.check_valve if c.name in on_board))
