"""The shop's side of one build, each part worked out when it is first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ..flow.engine import Flow
from ..flow.service_pressure import ServicePressures, service_pressures
from ..lists import Lists
from ..lists.joints import Joint, counts
from ..words.report import Getter, grid
from ..words.show import counted
from .clock.clock import Effect, Plan, Work, one_late, order_of_work, plan_of
from .commissioning import Commissioning
from .disinfect import Dose, plan_dose
from .draining.draining import Draining
from .quote import Quote, quote_of
from .test.pressure_test import NoRule, TestPlan, plan_test
from .winter import Winter, plan_winter

if TYPE_CHECKING:
    import pandas as pd

    from ..board.plan import BoardPlan
    from ..van.model import Build
    from ..van.whole_van import Shop as Stated
    from .readings.measured import MeasuredVan


TASKS: dict[str, Getter | tuple[Getter, str]] = {
    "task": "name",
    "what": "what",
    "where": "where",
    "starts": lambda task: f"{task.start:%Y-%m-%d %H:%M}",
    "ends": lambda task: f"{task.end:%Y-%m-%d %H:%M}",
    "work": (lambda task: (task.end - task.start).total_seconds(), "duration"),
    "waits": (lambda task: task.waits.total_seconds(), "duration"),
    "joint": lambda task: task.joint.name if task.joint is not None else "",
}
"""Columns of ``Shop.frame``."""
TIMES = ("temperature", "start", "day_start", "day_end", "weekend")
"""What a build states of its shop that changes waits and hours, but no joint and no pressure."""


class Shop:
    """Joints, clock, test, disinfection, winter and papers of a build.

    With a board the joints of the headers are those of its layout.
    """

    def __init__(
        self,
        build: Build,
        board: BoardPlan | None = None,
        lists: Lists | None = None,
        flow: Flow | None = None,
        pressures: ServicePressures | None = None,
    ) -> None:
        self.build = build
        self.flow = flow
        self.board = board
        self.lists = lists or Lists(build, board)
        self.pressures = pressures or service_pressures(build)

    def __repr__(self) -> str:
        return f"Shop of {self.build.van.name}: {counted(len(self.joints), 'joint')}"

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """Every joint, named and placed."""
        return self.lists.joints

    def frame(self) -> pd.DataFrame:
        """The order of work, one task a row: when it starts and ends, what it waits, where."""
        return grid("Order of work", self.clock.tasks, TASKS).frame(self.build.van.units)

    @cached_property
    def sorts(self) -> Mapping[str, int]:
        """How many joints of each kind and size."""
        return counts(self.joints)

    @cached_property
    def refused(self) -> tuple[Joint, ...]:
        """Joints that can't be made as the build says."""
        return tuple(j for j in self.joints if j.refused)

    @cached_property
    def test(self) -> TestPlan:
        """The pressure test by water."""
        return plan_test(self.build, pressures=self.pressures)

    @cached_property
    def air_test(self) -> TestPlan | None:
        """The test by air, where it is practice, with what speaks against it; else None."""
        try:
            return plan_test(self.build, "air", pressures=self.pressures)
        except NoRule:
            return None

    @cached_property
    def dose(self) -> Dose | None:
        """Disinfection by the region's way; None without a fresh tank or runs."""
        if not any(tank.holds == "fresh" for tank in self.build.tank) and not self.build.run:
            return None
        dose = plan_dose(self.build)
        return dose if dose.volume > 0 else None

    @cached_property
    def draining(self) -> Draining:
        """What is opened to let the water out, what stays, and where drains belong."""
        return Draining(self.build, self.board)

    @cached_property
    def winter(self) -> Winter:
        """Laying up for the build's coldest night."""
        return plan_winter(self.build, self.draining)

    @cached_property
    def clock(self) -> Plan:
        """The order of work, with the test and the disinfection in it."""
        return plan_of(self.build, self.work, test=self.test.duration, contact=self._contact)

    @cached_property
    def work(self) -> Work:
        """What is made in which order."""
        return order_of_work(self.joints, self.build)

    def at(self, stated: Stated) -> Shop:
        """The same van made in another shop, or at other hours.

        What those don't change is not worked out anew.
        """
        build = replace(self.build, shop=stated)
        times = {name: getattr(stated, name) for name in TIMES}
        if replace(self.build.shop, **times) != stated:
            return Shop(build, self.board)
        there = Shop(build, self.board, self.lists, self.flow, self.pressures)
        there.__dict__["dose"] = self.dose
        return there

    @property
    def _contact(self) -> float:
        return self.dose.duration if self.dose else 0.0

    @cached_property
    def quote(self) -> Quote:
        """What the job costs a customer."""
        return quote_of(self.build, self.lists.bill, self.clock)

    def late(self, joint: str, delay: float) -> Effect:
        """What one joint that is made ``delay`` seconds late does.  KeyError if there is none."""
        return one_late(
            self.build, self.clock, joint, delay, test=self.test.duration, contact=self._contact,
            work=self.work,
        )  # fmt: skip

    @cached_property
    def measured(self) -> MeasuredVan:
        """The model that readings at the finished van are put beside.

        ValueError if nothing gives water under pressure.
        """
        from .readings.measured import MeasuredVan

        return MeasuredVan(self.build, self.flow)

    @cached_property
    def commissioning(self) -> Commissioning:
        """What is read and tried at the finished van, each figure with its band."""
        try:
            measured: MeasuredVan | str = self.measured
        except ValueError as error:
            measured = str(error)
        flow = self.flow or Flow(self.build)
        return Commissioning(self.build, measured, self.dose, self.winter, flow)
