"""What became of a run's corners where the build asks for bent tube."""

from __future__ import annotations

from dataclasses import dataclass

from ..words.brief import brief


@brief
@dataclass(frozen=True)
class BentRun:
    """The corners of one run: bent by ``radius`` m, or left as elbows for the reason given.

    ``shorter`` m of centre line are saved by cutting the corners; ``room`` m is the shortest leg
    between two corners or a corner and an end, ``need`` what bends of that radius ask of it.
    """

    index: int
    corners: int
    radius: float
    shorter: float
    room: float
    need: float
    refused: str = ""
