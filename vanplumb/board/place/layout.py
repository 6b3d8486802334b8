"""A board's parts in their places, with everything that is wrong with them."""

from __future__ import annotations

from functools import cached_property

from .checks import Problem, problems_of
from .placed_parts import Lead, PlacedParts, strip


class Layout(PlacedParts):
    """The parts of a state in their places, looked at."""

    @cached_property
    def problems(self) -> list[Problem]:
        """Everything that is wrong with this layout, worst first in each kind."""
        return problems_of(self)

    @property
    def good(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


__all__ = ["Layout", "Lead", "Problem", "strip"]
