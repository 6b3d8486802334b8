"""The lists of one build, each worked out when it is first asked for."""

from __future__ import annotations

from collections.abc import Collection
from functools import cached_property
from typing import TYPE_CHECKING

from ..van.connect import Connector, connector_of
from ..van.pieces import Made, Piece, Used
from ..words.show import counted
from .axles import Axles, axles_of
from .bill import Bill, bill_of
from .cuts import by_tube, plans_of
from .headers import Headers, headers_of
from .joints import Joint, joints_from
from .ways import Ways, ways_of
from .weight import Weight, weigh

if TYPE_CHECKING:
    from ..board.lists.cut_plan import CutPlan
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
        return connector_of(self.build)

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

    @cached_property
    def by_tube(self) -> dict[str, list[Piece]]:
        """The pieces of each tube that can be cut."""
        return by_tube(self.pieces)

    @cached_property
    def cut_plan(self) -> dict[str, CutPlan]:
        """For each tube, which piece is cut from which length."""
        return plans_of(self.build, self.by_tube)

    @cached_property
    def bill(self) -> Bill:
        """All that is bought, with spares, masses, and prices where the build file has them."""
        return bill_of(
            self.build, self.headers, self.ways, self.fittings, self.pieces, self.joints,
            self.cut_plan,
        )  # fmt: skip

    def mass_without(self, names: Collection[str]) -> float:
        """kg that the bill brings into the van, but for some devices; without a cut plan."""
        bill = bill_of(
            self.build, self.headers, self.ways, self.fittings, self.pieces, self.joints, {}
        )
        return sum(line.total for line in bill.lines if line.name not in names)

    @cached_property
    def weight(self) -> Weight:
        """What the bill, water and fuel weigh."""
        return weigh(self.build, self.bill)

    @cached_property
    def axles(self) -> Axles | None:
        """What the system adds on each axle; None if the build says no wheelbase."""
        return axles_of(self.build, self.weight)

    @property
    def trouble(self) -> tuple[str, ...]:
        """What can't be as the build says, each in one sentence that names both ends."""
        return (*self.connector.fittings.faults, *self.made.trouble)
