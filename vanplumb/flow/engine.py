"""The flow of a build: moments, what limits a fixture, what fixtures do to each other, surges."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any

from .cross_effects import Crossing, Jump, crossings, jumps
from .run_losses import Shares, shares
from .solving import BuildFlow, Moments, open_flags, set_positions
from .surge import Surge, surges
from .sweep import sweep

if TYPE_CHECKING:
    import pandas as pd


class Flow(BuildFlow):
    """What flows in a build.  Nothing is worked out before it is asked for.

    ``solve`` gives one moment, ``situations`` all that are worth looking at, ``limits`` what
    limits a fixture, ``sweep`` a table over ranges of figures.
    """

    @cached_property
    def surges(self) -> tuple[Surge, ...]:
        """Water hammer at each fixture."""
        return surges(self)

    @cached_property
    def jumps(self) -> tuple[Jump, ...]:
        """What each fixture does to each other."""
        return jumps(self)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Water that runs backwards through mixing valves."""
        return crossings(self.situations)

    def limits(self, fixture: str, open: Iterable[str] | None = None) -> Shares:
        """What takes the pressure on the way to a fixture, open alone unless ``open`` says."""
        return shares(self.solve([fixture] if open is None else open), fixture)

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
