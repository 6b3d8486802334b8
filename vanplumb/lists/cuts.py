"""The cut plan of the whole van: every piece between its fittings, from shelf, coil or length."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from ..board.lists.cut_plan import CutPlan, cut_plan
from ..board.parts.catalogue import rule
from ..board.place.state import ticks
from ..van.pieces import Piece
from ..van.region import region_of
from ..words.tables import table

if TYPE_CHECKING:
    from ..van.model import Build

USUAL = 6.0
"""m of tube that is bought at a time where the tables say no length (assumed)."""
MANY = 4
"""So many lengths of one sort at most before the next longer sort is bought (assumed)."""


def by_tube(pieces: Iterable[Piece]) -> dict[str, list[Piece]]:
    """The pieces of each tube that can be cut, in their order; a piece of no length can't."""
    found: dict[str, list[Piece]] = {}
    for piece in pieces:
        if ticks(piece.length * 1000) > 0:
            found.setdefault(piece.tube, []).append(piece)
    return found


def plans_of(build: Build, pieces: Mapping[str, list[Piece]]) -> dict[str, CutPlan]:
    """For each tube, which piece is cut from which length: offcuts first, fewest to buy."""
    kerf = ticks(rule(build, "kerf"))
    spare = ticks(build.shop.cut_allowance * 1000)
    plans = {}
    for tube, cut in pieces.items():
        lengths = [ticks(piece.length * 1000) for piece in cut]
        shelf = [(ticks(s.length * 1000), s.pieces) for s in build.stock if s.tube == tube]
        new = 0 if shelf else ticks(sold_length(build, tube, lengths, spare) * 1000)
        plans[tube] = cut_plan(lengths, shelf, kerf, new, spare)
    return plans


def sold_length(build: Build, tube: str, lengths: list[int], spare: int) -> float:
    """The length, m, that tube is bought in: the shortest sold that takes the longest piece.

    Where more than a few of them would be needed, the next longer; a coil if nothing else does.
    """
    longest = (max(lengths) + spare) / 1e7
    whole = (sum(lengths) + spare * len(lengths)) / 1e7
    material = table("tubes", build.rows)[tube]["material"]
    region = region_of(build).key
    sold = sorted(
        {
            length
            for row in table("tube_lengths", build.rows).values()
            if region in row["regions"] and material in row["materials"]
            for length in row["lengths"]
        }
    )
    long = [length for length in sold if length >= longest]
    few = [length for length in long if whole <= MANY * length]
    return (few or long[-1:] or [max(USUAL, longest)])[0]
