"""One build in, what every engine answers out: each once, when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from .van import Build

if TYPE_CHECKING:
    from .board.plan import BoardPlan
    from .flow.engine import Flow
    from .flow.mixing.check import ValveCheck
    from .flow.service_pressure import ServicePressures
    from .lists import Lists
    from .lists.axles import Axles
    from .lists.weight import Weight
    from .shop import Shop
    from .trip.stay.budget import Budget, ElectricBudget, FuelBudget, WaterBudget
    from .trip.stay.heaters import HeaterFacts
    from .trip.stay.tanks import TankFacts
    from .trip.trip import Trip


class Answers:
    """What the engines answer of one build.  Nothing here is judged or printed."""

    def __init__(self, build: Build) -> None:
        self.as_written = build
        self.beside: tuple[Answers, ...] = ()

    @cached_property
    def build(self) -> Build:
        """The build, with its headers and what lies on its board as the board is laid out.

        As the file has it where that fails: whoever asks for the board is told, and a rule asks.
        """
        if not self.as_written.manifold:
            return self.as_written
        try:
            return self.laid
        except Exception:
            return self.as_written

    @cached_property
    def laid(self) -> Build:
        """The build as its board is laid out, or the fault that keeps it from it."""
        from .board.as_laid import as_laid

        return as_laid(self.as_written, self.board)

    @cached_property
    def budget(self) -> Budget:
        """Water, heat, current and fuel of a stay."""
        from .trip.stay.budget import budget

        if self.beside:
            from .trip.trip import play_mean_days

            play_mean_days(one.trip for one in self.beside)
        return budget(self.build, self.trip.mean_day)

    @property
    def water(self) -> WaterBudget:
        return self.budget.water

    @property
    def electric(self) -> ElectricBudget:
        return self.budget.electric

    @property
    def fuel(self) -> FuelBudget | None:
        return self.budget.fuel

    @property
    def tanks(self) -> tuple[TankFacts, ...]:
        return self.budget.tanks

    @cached_property
    def weight(self) -> Weight:
        """Masses, and their share of the payload."""
        return self.lists.weight

    @property
    def axles(self) -> Axles | None:
        """What the water system adds on each axle; None if the build says no wheelbase."""
        return self.lists.axles

    @cached_property
    def heater(self) -> tuple[HeaterFacts, ...]:
        """What each heater can do."""
        from .trip.stay.heaters import heater_facts

        return heater_facts(self.build)

    @cached_property
    def mixing(self) -> dict[str, ValveCheck]:
        """Each mixing valve by name: its share, and what drifts."""
        from .flow.mixing.check import valve_checks

        return valve_checks(self.flow)

    @cached_property
    def flow(self) -> Flow:
        """What flows with any fixtures open."""
        from .flow.engine import Flow

        return Flow(self.build)

    @cached_property
    def pressures(self) -> ServicePressures:
        """The highest pressure in service at every place."""
        from .flow.service_pressure import service_pressures

        return service_pressures(self.build)

    @cached_property
    def trip(self) -> Trip:
        """Days and nights: what fails when, waits, cold nights, chance."""
        from .trip.trip import Trip

        return Trip(self.build, flow=self.flow)

    @cached_property
    def board(self) -> BoardPlan:
        """The manifolds laid out on their board: cut, drilled and bought."""
        from .board.plan import BoardPlan

        return BoardPlan(self.as_written)

    @cached_property
    def lists(self) -> Lists:
        """Joints, pieces, fittings, bill and quote of the whole van."""
        from .lists import Lists

        return Lists(self.build, self.board)

    @cached_property
    def shop(self) -> Shop:
        """Joints, waiting, testing, disinfection, papers."""
        from .shop import Shop

        return Shop(self.build, self.board, self.lists, self.flow, self.pressures)
