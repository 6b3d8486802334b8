"""The lists of one build, each worked out when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ..van.connect import Connector
from ..van.fittings import fittings_of
from ..words.show import counted
from .headers import Headers, headers_of
from .joints import Joint, joints_from
from .pieces import Made, Piece, Used
from .ways import Ways, ways_of

if TYPE_CHECKING:
    from ..board.plan import BoardPlan
    from ..van.model import Build


class Lists:
    """Joints, pieces, fittings, bill and quote of a whole van.

    With a board the headers are as it was laid out, else as they usually are.
    """

    def __init__(self, build: Build, board: BoardPlan | None = None) -> None:
        self.build = build
        self.board = board

    def __repr__(self) -> str:
        return f"Lists of {self.build.van.name}: {counted(len(self.joints), 'joint')}"

    @cached_property
    def connector(self) -> Connector:
        """What finds the fittings between two ends."""
        return Connector(fittings_of(self.build.rows), self.build.rows)

    @cached_property
    def headers(self) -> Headers:
        """What the manifolds are made of."""
        return headers_of(self.build, self.board, self.connector)

    @cached_property
    def ways(self) -> Ways:
        """Each run from end to end, tees, and what belongs to devices alone."""
        return ways_of(self.build, self.headers, self.connector)

    @cached_property
    def made(self) -> Made:
        """All pieces, fittings and joins together."""
        whole = Made()
        whole.add(self.headers.made)
        for way in self.ways.runs:
            whole.add(way.made)
        for tee in self.ways.tees.values():
            whole.add(tee.made)
        whole.add(self.ways.devices)
        return whole

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """Every joint, named and placed."""
        return joints_from(self.build, self.headers.made.joins, self.ways)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every tube to be cut."""
        return tuple(self.made.pieces)

    @property
    def fittings(self) -> tuple[Used, ...]:
        """Every fitting of runs and tees, and of headers that no board lays out."""
        return tuple(self.made.fittings)

    @property
    def trouble(self) -> tuple[str, ...]:
        """What can't be as the build says, each in one sentence that names both ends."""
        return (*self.connector.fittings.faults, *self.made.trouble)
