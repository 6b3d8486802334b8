"""Joints of the headers: as the board was laid out, or, without a board, as they usually are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from ..board.plan import BoardPlan
    from ..board.rows import Tube
    from ..build.model import Build


class HeaderEnd(NamedTuple):
    """One tube end of a header: its name, the tube's kind, where it is, what it goes on."""

    name: str
    tube: str
    place: str
    fitting: str
    side: str


def header_ends(build: Build, board: BoardPlan | None) -> Iterator[HeaderEnd]:
    """Every tube end of every header."""
    if board is not None and not board.trouble:
        yield from _laid_out(board)
    else:
        yield from _usual(build)


def on_board(board: BoardPlan | None) -> frozenset[str]:
    """Names of components that hang on the board: what joins two of them is bench work."""
    if board is None or board.trouble:
        return frozenset()
    devices = {d.name for d in board.needs.devices}
    return frozenset(devices | {m.name for m in board.needs.manifolds})


def _laid_out(board: BoardPlan) -> Iterator[HeaderEnd]:
    """From the layout, with its names.  Tubes between a zone and a device are the build's runs."""
    sides = {m.letter: m.side for m in board.needs.manifolds}
    for tube in board.layout.tubes:
        if tube.kind == "link":
            continue
        side = sides.get(_letter(tube, sides), "cold")
        for number, (part, _) in enumerate((tube.one, tube.other), 1):
            yield HeaderEnd(f"{tube.owner} {number}", tube.tube, f"board, {tube.owner}", part, side)


def _letter(tube: Tube, known: dict[str, str]) -> str:
    """The manifold's letter, from the name of the part at the tube's first end."""
    found = re.match(r"[A-Z][a-z]?", tube.one[0])
    letter = found[0] if found else ""
    return letter if letter in known else letter[:1]


def _usual(build: Build) -> Iterator[HeaderEnd]:
    """Stubs between tees and a stub from each tee to its valve; a ready block has only those."""
    for manifold in build.manifold:
        zones = build.zones(manifold.name)
        letter = {"cold": "HC", "hot": "HH", "mixed": "HM"}[manifold.side]
        same = [m.name for m in build.manifold if m.side == manifold.side]
        if len(same) > 1:
            letter += str(same.index(manifold.name) + 1)
        ends: list[tuple[str, str]] = []
        if manifold.form == "tees":
            for one, two in pairwise(zones):
                stub = f"stub between {one.name} and {two.name}"
                ends += [(stub, f"tee of {one.name}"), (stub, f"tee of {two.name}")]
        for zone in zones:
            stub = f"stub to the valve of {zone.name}"
            fitting = f"tee of {zone.name}" if manifold.form == "tees" else f"header, {zone.name}"
            ends += [(stub, fitting), (stub, f"shut-off of {zone.name}")]
        for number, (stub, fitting) in enumerate(ends, 1):
            place = f"{manifold.name} header, {stub}"
            yield HeaderEnd(f"{letter}-{number}", manifold.tube, place, fitting, manifold.side)
