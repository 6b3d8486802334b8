"""The flow of a build: moments, what limits a fixture, what fixtures do to each other, surges."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING, Any

from ..words.plots import plot
from ..words.report import Getter, grid
from .cross_effects import (
    Around,
    Change,
    Crossing,
    Jump,
    arounds,
    crossings,
    greatest_changes,
    jumps,
)
from .run_losses import RunLoss, Shares, run_losses, shares
from .set_by_hand import set_positions
from .solving import BuildFlow, Moments
from .surge import Surge, surges
from .sweep import sweep
from .turned import open_flags

if TYPE_CHECKING:
    import pandas as pd


SITUATIONS: dict[str, Getter | tuple[Getter, str]] = {
    "situation": 0,
    "fixture": 1,
    "flow": (2, "flow"),
    "temperature": (3, "temperature"),
    "pressure before it": (4, "pressure"),
    "remark": 5,
}
"""Columns of ``Flow.rows``."""


class Flow(BuildFlow):
    """What flows in a build.  Nothing is worked out before it is asked for.

    ``solve`` gives one moment, ``situations`` all that are worth looking at, ``limits`` what
    limits a fixture, ``sweep`` a table over ranges of figures.
    """

    @cached_property
    def rows(self) -> tuple[tuple[object, ...], ...]:
        """What each open fixture gives in each situation: names, flow, temperature, pressure.

        SI; not finite where a figure is not known.  With none open, the highest pressure at one.
        """
        found: list[tuple[object, ...]] = []
        for moment in self.situations:
            why = "; ".join(moment.reasons)
            for one in moment.opened:
                found.append((moment.name, one.name, one.flow, one.temperature, one.pressure, why))
            if not moment.open:
                top = [f.pressure for f in moment.fixtures.values() if isfinite(f.pressure)]
                found.append((moment.name, "highest at one", 0.0, None, max(top, default=None), ""))
        return tuple(found)

    def frame(self) -> pd.DataFrame:
        """What each open fixture gives in each situation, in the reader's units."""
        return grid("Situations", self.rows, SITUATIONS).frame(self.build.van.units)

    def plot(self, ax: Any = None, *, open: Iterable[str] | None = None) -> Any:
        """Each fixture's flow alone and with all of ``open`` open, on matplotlib axes; or all."""
        return plot("flow", self, ax, open=open)

    @cached_property
    def runs(self) -> tuple[RunLoss, ...]:
        """What each run takes in the situation in which it carries most."""
        return run_losses(self.build, self.situations)

    @cached_property
    def surges(self) -> tuple[Surge, ...]:
        """Water hammer at each fixture."""
        return surges(self)

    @cached_property
    def jumps(self) -> tuple[Jump, ...]:
        """What each fixture does to each other."""
        return jumps(self, self.arounds)

    @cached_property
    def arounds(self) -> dict[str, Around]:
        """What the others may do around each fixture that runs."""
        return arounds(self)

    @cached_property
    def changes(self) -> dict[str, tuple[Change, ...]]:
        """The greatest that other fixtures do to each, over all ways to open and turn them."""
        return greatest_changes(self, self.arounds)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Water that runs backwards through mixing valves."""
        return crossings(self.situations)

    def limits(self, fixture: str, open: Iterable[str] | None = None) -> Shares:
        """What takes the pressure on the way to a fixture, open alone unless ``open`` says."""
        moment = self.situation_of((fixture,)) if open is None else self.solve(open)
        return shares(moment, fixture)

    def sweep(
        self,
        changes: Mapping[str, Any],
        open: Iterable[str] | None = None,
        *,
        source: str = "",
        grid: bool = True,
    ) -> pd.DataFrame:
        """A table over lists of values: every combination, or in step if not ``grid``."""
        return sweep(self, changes, open, source=source or self.source, grid=grid)


__all__ = ["Flow", "Moments", "open_flags", "set_positions"]
