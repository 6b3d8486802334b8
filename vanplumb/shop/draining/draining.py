"""Draining a van: what is opened, what stays all the same, and where drains would let it out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ...words.brief import brief
from ...words.show import first_of
from .levels import Pocket, pockets
from .passages import Standing, standing

if TYPE_CHECKING:
    from ...board.plan import BoardPlan
    from ...van.model import Build


@brief
@dataclass(frozen=True)
class DrainPlace:
    """A place for a drain: in words, and its height in m."""

    where: str
    height: float


class Draining:
    """Where water stays in a build once all that opens by hand is open.

    A column of water that a check valve's spring keeps is counted, and what stands in headers,
    strainers and shut-offs; films, drops and what stays in other valves, pumps and taps are not.
    """

    def __init__(self, build: Build, board: BoardPlan | None = None) -> None:
        self.build, self.board = build, board

    def __repr__(self) -> str:
        return f"Draining of {self.build.van.name}: {len(self.pockets)} pockets stay"

    @cached_property
    def system(self) -> Standing:
        """Spots, passages and mouths."""
        return standing(self.build, self.board)

    @cached_property
    def opened(self) -> tuple[str, ...]:
        """What is opened beside the taps, in words, lowest last."""
        taps = {fixture.name for fixture in self.build.fixture}
        told: dict[str, float] = {}
        for spot, what in self.system.mouths.items():
            if what not in taps:
                told.setdefault(what, self.system.heights[spot])
        return tuple(told)

    @cached_property
    def pockets(self) -> tuple[Pocket, ...]:
        """Water that stays, the most first."""
        made = self.system
        return pockets(made.heights, made.passages, made.mouths)

    @property
    def stays(self) -> float:
        """All water that stays, m³."""
        return sum(pocket.volume for pocket in self.pockets)

    @property
    def on_board(self) -> float:
        """Water that stays in the tubes and fittings of the board, m³."""
        return sum(pocket.on_board for pocket in self.pockets)

    def where(self, pocket: Pocket) -> str:
        """The bottom of a pocket in words."""
        return self._place(pocket, pocket.lowest).where

    def holds(self, pocket: Pocket) -> str:
        """What a pocket stands in, the most first; of many the first few."""
        return first_of([label for label, _ in pocket.parts], between="; ")

    @cached_property
    def drains(self) -> tuple[DrainPlace, ...]:
        """The fewest drains that would let all of it out, lowest first."""
        found = [self._place(one, spot) for one in self.pockets for spot in one.bottoms]
        return tuple(sorted(found, key=lambda place: (place.height, place.where)))

    def _place(self, pocket: Pocket, spot: str) -> DrainPlace:
        """A spot, or a named part that stands level with it in the same pocket."""
        made = self.system
        here = made.heights[spot]
        level = sorted(
            {s for s in pocket.spots if abs(made.heights[s] - here) < 1e-6 and "." in s}
            if not self._joined(spot)
            else {spot}
        )
        return DrainPlace(made.words((level or [spot])[0]), here)

    def _joined(self, spot: str) -> bool:
        """Whether a spot is a port of a component, which a reader knows by its name."""
        return "|" not in spot and "." in spot
