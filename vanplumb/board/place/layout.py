"""A board's parts in their places, with everything that is wrong with them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import inf

from .checks import Problem, plain_problems, problems_of
from .collide import contacts_within
from .placed_parts import Lead, PlacedParts, strip

ROUNDING = 1e-6
"""mm by which sums in another order may differ."""


class Layout(PlacedParts):
    """The parts of a state in their places, looked at."""

    @cached_property
    def problems(self) -> list[Problem]:
        """Everything that is wrong with this layout, worst first in each kind."""
        return problems_of(self)

    def trouble(self, most: float = inf) -> float | None:
        """How many problems there are and by how much together, mm; None if that is over ``most``.

        Quicker than to list them where it is: it stops as soon as it is known.
        """
        if "problems" not in self.__dict__ and "contacts" not in self.__dict__:
            left = most + ROUNDING - _sum(plain_problems(self))
            found = contacts_within(left, self.pieces, self.joined, self.needs.room)
            if found is None:
                return None
            self.contacts = found
        total = _sum(self.problems)
        return None if total > most + ROUNDING else total

    @property
    def good(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


def _sum(problems: Sequence[Problem]) -> float:
    return sum(p.by for p in problems) + len(problems)


__all__ = ["Layout", "Lead", "Problem", "strip"]
