"""All that can be wrong with a layout, each with the figure that is short and by how much."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ...words.brief import brief
from ...words.glossary import INCH
from ...words.show import show
from ..parts.shapes import BODY, FINGER, SWEEP
from .collide import Contact
from .making import order_in_place
from .placed_parts import PlacedParts
from .state import mm, ticks, up_to

MILLIMETRES = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) mm\b")
"""A length as the problems say it."""


@brief
@dataclass(frozen=True)
class Problem:
    """One thing wrong: ``by`` mm too near, too short, too far out; ``where`` names the parts."""

    kind: str
    what: str
    where: tuple[str, ...]
    by: float
    value: float
    need: float


def problems_of(layout: PlacedParts) -> list[Problem]:
    """Everything wrong: collisions, fingers, edges, depth, short tubes, joints out of reach."""
    return [
        *_contacts(layout),
        *plain_problems(layout),
        *_unreachable(layout),
    ]


def plain_problems(layout: PlacedParts) -> list[Problem]:
    """What is known at once: edges, depth and short tubes."""
    return [*_edges(layout), *_depth(layout), *_short(layout)]


def in_units(words: str, system: str, *, tape: bool = True) -> str:
    """A problem's words with their millimetres in the reader's unit, as they are read off a tape.

    In decimals where a tape shows nothing, and for limits, which no sixteenth may round down.
    """
    if system != "US":
        return words

    def told(found: re.Match[str]) -> str:
        length = float(found[1]) / 1000
        return show(length, "length" if tape and length >= INCH / 16 else "thickness", system)

    return MILLIMETRES.sub(told, words)


def contact_problem(contact: Contact) -> Problem:
    """A contact as a problem."""
    kind = "fingers" if FINGER in contact.roles else "collision"
    where = (contact.one, contact.other)
    return Problem(kind, contact.said, where, contact.move, contact.have, contact.need)


def _contacts(layout: PlacedParts) -> list[Problem]:
    return [contact_problem(c) for c in layout.contacts]


def _edges(layout: PlacedParts) -> list[Problem]:
    """Parts and sweeps past the kept margin of a board whose size is said."""
    width, height = mm(layout.state.width), mm(layout.state.height)
    if not (width and height):
        return []
    margin = layout.needs.margin
    worst: dict[tuple[str, str], float] = {}
    for piece in layout.pieces:
        if piece.role not in (BODY, SWEEP):
            continue
        x0, y0, x1, y1 = piece.shape.bounds
        over = {
            "left": margin - x0,
            "bottom": margin - y0,
            "right": x1 - (width - margin),
            "top": y1 - (height - margin),
        }
        for edge, by in over.items():
            name = piece.owner + (" handle" if piece.role == SWEEP else "")
            if by > 1e-6 and by > worst.get((name, edge), 0.0):
                worst[name, edge] = by
    return [
        Problem(
            "edge",
            f"{name} is {by:.1f} mm past the {edge} margin",
            (name,),
            by,
            margin - by,
            margin,
        )
        for (name, edge), by in sorted(worst.items(), key=lambda item: -item[1])
    ]


def _depth(layout: PlacedParts) -> list[Problem]:
    free = layout.needs.depth
    if not free:
        return []
    found: dict[str, float] = {}
    for piece in layout.pieces:
        if piece.role in (BODY, SWEEP) and piece.high > free + 1e-6:
            found[piece.owner] = max(found.get(piece.owner, 0.0), piece.high)
    return [
        Problem(
            "depth",
            f"{owner} stands {high:.1f} mm in front of the board, {high - free:.1f} mm too far",
            (owner,),
            high - free,
            high,
            free,
        )
        for owner, high in found.items()
    ]


def _short(layout: PlacedParts) -> list[Problem]:
    """Tubes shorter than their size allows."""
    needs, found = layout.needs, []
    for name, row in layout.rows.items():
        manifold = needs.manifold(name)
        for tube in row.tubes:
            least = needs.least(tube.tube, *tube.insertions)
            if tube.kind in ("header", "fold"):
                joint = up_to(ticks(sum(tube.insertions)), needs.grid)
                least = max(manifold.least, joint)
            found += _one_short(tube.owner, tube.cut, least)
    for link in layout.links:
        for tube in link.tubes:
            found += _one_short(tube.owner, tube.cut, needs.least(tube.tube, *tube.insertions))
    return [
        Problem("stub", f"{owner} is cut to {cut:.1f} mm, {by:.1f} mm too short", (owner,), by,
                cut, cut + by)
        for owner, cut, by in found
    ]  # fmt: skip


def _one_short(owner: str, cut: int, least: int) -> list[tuple[str, float, float]]:
    return [(owner, mm(cut), mm(least - cut))] if cut < least else []


def _unreachable(layout: PlacedParts) -> list[Problem]:
    """Joints that are made in place and have no room for the tool in any order."""
    return [
        Problem("tool", f"no room for the tool at {owner}: {what} is in the way, "
                f"{by:.1f} mm short", (owner, what), by, 0.0, by)
        for owner, what, by in order_in_place(layout).blocked
    ]  # fmt: skip
