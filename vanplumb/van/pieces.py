"""What a van is put together from: pieces of tube, fittings in use, and what joins what.

Plain records that headers, tees and runs are told in, and that joints, cuts and bill read.
Lengths in m.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..words.brief import brief
from .ends import End
from .fittings import FittingPart


@brief
@dataclass(frozen=True)
class Piece:
    """One tube to cut.  ``length`` is what is cut; ``take_offs`` are of the parts at its ends.

    ``insertions`` is how much of it goes on or into those parts.  ``assumed`` tells that only
    the run's whole length is known, so that its pieces were taken to be alike.
    """

    name: str
    tube: str
    length: float
    between: tuple[str, str]
    take_offs: tuple[float, float] = (0.0, 0.0)
    insertions: tuple[float, float] = (0.0, 0.0)
    run: int | None = None
    kind: str = "run"
    bends: int = 0
    assumed: bool = False

    @property
    def centres(self) -> float:
        """From centre to centre of the parts at its ends, along the tube."""
        return self.length + sum(self.take_offs)

    @property
    def bare(self) -> float:
        """What is seen of it between the two joints."""
        return self.length - sum(self.insertions)


@brief
@dataclass(frozen=True)
class Used:
    """One fitting in its place.  ``where`` is the run that it is bought for, or None."""

    name: str
    part: FittingPart
    run: int | None = None


@brief
@dataclass(frozen=True)
class Join:
    """Two things joined: two ends, or an end and a tube (``other`` is None then).

    ``what`` says what it is on; ``device`` names the component where it is one of its ends;
    ``after`` a joint that is made before it; ``hose`` is the inside of a hose
    that is no run's tube.
    """

    name: str
    what: str
    one: End
    other: End | None = None
    tube: str = ""
    run: int | None = None
    device: str = ""
    kind: str = ""
    side: str = ""
    place: str = ""
    bench: bool = False
    after: str = ""
    refused: str = ""
    basis: str = ""
    hose: str = ""


@brief
@dataclass
class Made:
    """What something is made of: pieces, fittings, joins, and what is to be said of it."""

    pieces: list[Piece] = field(default_factory=list)
    fittings: list[Used] = field(default_factory=list)
    joins: list[Join] = field(default_factory=list)
    trouble: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, other: Made) -> None:
        """Take in all of another."""
        self.pieces += other.pieces
        self.fittings += other.fittings
        self.joins += other.joins
        self.trouble += other.trouble
        self.notes += other.notes
