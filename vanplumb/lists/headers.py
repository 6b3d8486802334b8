"""What manifolds are made of, and the ends that runs find there.

With a board: as it was laid out.  Without one: as headers usually are, tees in a row with an
elbow at the far end (or a ready block) and a stub to the valve of each zone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from ..board.as_laid import runs_on_board
from ..board.place.state import mm
from ..van.connect import Connector
from ..van.ends import End, kind_that_holds, method_of, size_of
from ..van.fittings import board_size
from ..van.header_form import TEES, form_of
from ..van.pieces import Join, Made, Piece, Used
from ..van.port_ends import PortEnd, holds_tube, stated_ends
from ..van.tees import stub_length
from ..van.zone_order import zones_along
from ..words.brief import brief
from ..words.tables import Row, table

if TYPE_CHECKING:
    from ..board.parts.parts import Part
    from ..board.plan import BoardPlan
    from ..van.model import Build
    from ..van.parts import Manifold


@brief
@dataclass
class Headers:
    """All headers of a build.

    ``ends`` maps a port ("cold manifold.galley") to the end that a run finds there; ``parts``
    are board parts that are bought, by where they are; ``linked`` maps the number of a run that
    lies on the board from end to end to what it is made of; ``devices`` the board part that
    stands for a component.
    """

    made: Made = field(default_factory=Made)
    ends: dict[str, PortEnd] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    linked: dict[int, Made] = field(default_factory=dict)
    devices: dict[str, Part] = field(default_factory=dict)
    hung: frozenset[str] = frozenset()


def headers_of(build: Build, board: BoardPlan | None, connector: Connector) -> Headers:
    """The headers as the board was laid out, or as they usually are."""
    if board is not None and not board.trouble:
        return _laid_out(build, board)
    found = Headers()
    for manifold in build.manifold:
        _usual(build, manifold, connector, found)
    return found


def hung_on(board: BoardPlan | None) -> frozenset[str]:
    """Names of components that hang on the board: what joins two of them is bench work."""
    if board is None or board.trouble:
        return frozenset()
    return frozenset(board.needs.hung | {m.name for m in board.needs.manifolds})


def _laid_out(build: Build, board: BoardPlan) -> Headers:
    layout, needs = board.layout, board.needs
    bodies = needs.catalogue.rows
    placed = {p.owner: p for p in layout.placed}
    devices = needs.hung
    fed = {m.isolator.name: m.name for m in needs.manifolds if m.isolator}
    valves = {name: valve for valve, name in fed.items()}
    found = Headers(hung=hung_on(board))
    for p in layout.placed:
        if p.owner in devices:
            found.devices[p.owner] = p.part
        else:
            found.parts[p.owner] = p.part

    def end_of(owner: str, outside: float) -> End:
        part = placed[owner].part
        body = str(bodies[part.name.removesuffix(", trimmed")]["body"] or "brass")
        return End(kind_that_holds(part.joint), board_size(outside / 1000, part.joint), body)

    sides = {m.letter: m.side for m in needs.manifolds}
    labels = {tube.owner: tube for tube in layout.tubes}
    run_of = {
        tube.owner: number
        for number, tubes in runs_on_board(build, board).items()
        for tube in tubes
    }
    for cut in board.cut_list.cuts:
        tube, run = labels[cut.label], run_of.get(cut.label)
        made = found.made if run is None else found.linked.setdefault(run, Made())
        side = sides.get(_letter(cut.between[0], sides), "cold") if run is None else ""
        made.pieces.append(
            Piece(
                cut.label, cut.tube, mm(cut.length) / 1000, cut.between,
                (mm(cut.take_offs[0]) / 1000, mm(cut.take_offs[1]) / 1000),
                (cut.insertions[0] / 1000, cut.insertions[1] / 1000),
                run, cut.kind, cut.bends,
            )
        )  # fmt: skip
        for owner in cut.between:
            made.joins.append(
                Join(
                    f"{cut.label} at {owner}", owner, end_of(owner, tube.outside),
                    tube=cut.tube, run=run, bench=True, side=side, place=f"board, {cut.label}",
                )
            )  # fmt: skip
    for name, part in found.devices.items():
        found.made.joins += _tails(build, name, part, bodies)
    for one in layout.opens:
        end = end_of(one.owner, one.outside)
        on = one.insertion / 1000
        if one.feeds:
            port = (valves.get(one.feeds, one.feeds), "inlet")
        elif one.zone:
            port = tuple(one.zone.split(".", 1))  # type: ignore[assignment]
        else:
            port = (one.owner, one.port)
        said = stated_ends(build.component(port[0])).get(port[1]) if port[0] in devices else None
        found.ends[".".join(port)] = PortEnd(
            port[0], port[1], said or end, basis="as on the board",
            insertion=0.0 if said else on, owner=one.owner,
        )  # fmt: skip
    for number, made in found.linked.items():
        joins = (made.joins[0], made.joins[-1])
        for at, join in zip(build.run_ends[number], joins, strict=True):
            end_there = PortEnd(
                at.component, at.port, join.one, basis="as on the board", owner=join.what
            )
            found.ends.setdefault(str(at), end_there)
    return found


def has_tails(build: Build, part: Part) -> bool:
    """Whether each end of a board part has a tail with a union nut."""
    return table("board_parts", build.rows)[part.name]["tails"] is True


def _tails(build: Build, name: str, part: Part, bodies: Mapping[str, Row]) -> Iterator[Join]:
    """The union nuts of a part whose ends have tails."""
    if not has_tails(build, part):
        return
    body = str(bodies[part.name]["body"] or "brass")
    for port in part.ports:
        size = board_size(port.outside / 1000, part.joint)
        yield Join(
            f"{name} {port.name}, union nut", name, End("G swivel", size, body),
            End("G male", size, body), kind="union", bench=True,
            side="hot" if port.name == "hot" else "cold", place=f"board, {name}",
        )  # fmt: skip


def _letter(owner: str, known: Mapping[str, str]) -> str:
    """The manifold's letter, from the name of the part at the tube's first end."""
    found = re.match(r"[A-Z][a-z]?", owner)
    letter = found[0] if found else ""
    return letter if letter in known else letter[:1]


def _usual(build: Build, manifold: Manifold, connector: Connector, found: Headers) -> None:
    """A header with nobody's layout: parts as they usually are, stubs as short as may be."""
    zones = zones_along(build, manifold.name)
    tube, made = manifold.tube, found.made
    method = method_of(tube, "", build.rows)
    size, end = size_of(tube, build.rows), holds_tube(build, tube)
    fittings = connector.fittings
    on = fittings.insertion(method, size)
    length = max(manifold.stub or 0.0, stub_length(build, tube))
    stated = stated_ends(manifold)

    def port(name: str, owner: str) -> None:
        said = stated.get(name)
        found.ends[f"{manifold.name}.{name}"] = PortEnd(
            manifold.name, name, said or end, insertion=0.0 if said else on, owner=owner
        )

    def stub(label: str, one: tuple[str, float], other: tuple[str, float], kind: str) -> None:
        offs = (one[1], other[1])
        made.pieces.append(
            Piece(label, tube, length, (one[0], other[0]), offs, (on, on), kind=kind)
        )
        for owner in (one[0], other[0]):
            name = f"{label} at {owner}"
            made.joins.append(
                Join(name, owner, end, tube=tube, bench=True, side=manifold.side,
                     place=f"{manifold.name} header, {label}")
            )  # fmt: skip

    nodes: list[tuple[str, float]] = []
    head = manifold.name
    if form_of(build, manifold) == TEES:
        for number, zone in enumerate(zones):
            kind = "elbow" if number == len(zones) - 1 and number else "tee"
            part = fittings.find(kind, method, size)
            label = f"{head} {kind} of {zone.name}"
            if part is None:
                made.trouble.append(f"{label}: the tables have no {kind} for {tube}")
            else:
                made.fittings.append(Used(label, part))
            nodes.append((label, part.take_offs[0] if part else 0.0))
        for (one, two), (a, b) in zip(pairwise(nodes), pairwise(zones), strict=True):
            stub(f"{head} stub between {a.name} and {b.name}", one, two, "header")
        if len(zones) == 1:
            plug = fittings.find("plug", method, size)
            label = f"{head} plug"
            if plug is not None:
                made.fittings.append(Used(label, plug))
                stub(f"{head} stub to its plug", nodes[0], (label, plug.take_offs[0]), "plug")
            else:
                made.trouble.append(f"{head}: the tables have no plug for {tube}")
    else:
        nodes = [(f"{head} block, {zone.name}", 0.0) for zone in zones]
        made.notes.append(f"{head}: a ready block; its take-offs are not known without a board")
    for zone, node in zip(zones, nodes, strict=True):
        stub(f"{head} stub to {zone.name}", node, (f"{head} valve of {zone.name}", 0.0), "stub")
        port(zone.name, f"{head} valve of {zone.name}")
    port("inlet", nodes[0][0] if nodes else head)


def valves_without_board(build: Build, headers: Headers) -> list[tuple[str, str]]:
    """Where no board was laid out: each zone's valve as (where, row of the table of valves)."""
    if headers.parts:
        return []
    return [(f"{z.manifold} valve of {z.name}", z.valve) for z in build.zone]
