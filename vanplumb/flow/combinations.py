"""The greatest of a figure over many combinations of choices: all of them, or by steps.

Where all combinations are few, all are tried, in one batch.  Else the search begins with each
choice and each pair of choices made differently, and goes on from the best, one choice at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import combinations, product
from math import prod
from typing import TypeVar

import numpy as np

from ..network.links import Floats

T = TypeVar("T")

ALL_MOST = 1300
"""Combinations up to which all are tried."""
FIRST_MOST = 800
"""Combinations that a search by steps begins with, at most."""
ROUNDS = 6
"""Steps of a search; each changes one choice of the best so far."""

ALIKE = 1e-8
"""Share of a figure within which two count as one: which of two that are alike is named must not
hang on the solver's last digits."""

Combination = tuple[int, ...]
"""Which option of each choice."""


def first_greatest(
    those: Iterable[T], figure: Callable[[T], float], name: Callable[[T], str]
) -> T | None:
    """The one with the greatest figure; of those that are alike in it, the first by its name.

    So which is told hangs neither on the solver's last digits nor on the order of the file.
    """
    figures = [(figure(one), one) for one in those]
    if not figures:
        return None
    top = max(f for f, _ in figures)
    return min((one for f, one in figures if f == top or f >= top - ALIKE * abs(top)), key=name)


def all_combinations(sizes: Sequence[int]) -> list[Combination] | None:
    """Every combination of choices with so many options; None if they are too many."""
    if prod(sizes) > ALL_MOST:
        return None
    return list(product(*(range(n) for n in sizes)))


def greatest(
    sizes: Sequence[int], figures: Callable[[list[Combination]], Floats], near: float = 0.0
) -> tuple[Combination, Combination, int, bool] | None:
    """The combinations with the greatest and the least figure, how many were tried, and whether
    that was all of them; None if no combination has a figure.

    ``figures`` gives one for each combination, NaN for none; the option 0 is the usual one.  Of
    combinations that come within ``near`` of the greatest, that with the fewest unusual options
    is given.
    """
    every = all_combinations(sizes)
    tried: dict[Combination, float] = {}

    def look(some: list[Combination]) -> None:
        new = [c for c in dict.fromkeys(some) if c not in tried]
        if new:
            tried.update(zip(new, np.asarray(figures(new), float).tolist(), strict=True))

    look(every if every is not None else _first(sizes))
    if every is None:
        for sign in (1.0, -1.0):
            best: Combination | None = None
            for _ in range(ROUNDS):
                top = _best(tried, sign)
                if top is None or top == best:
                    break
                best = top
                look(
                    [
                        (*top[:i], option, *top[i + 1 :])
                        for i, n in enumerate(sizes)
                        for option in range(n)
                    ]
                )
    most, least = _simplest(tried, 1.0, near), _simplest(tried, -1.0, near)
    if most is None or least is None:
        return None
    return most, least, len(tried), every is not None


def _first(sizes: Sequence[int]) -> list[Combination]:
    """One and two choices made otherwise than usual, and the last option of all."""
    usual = (0,) * len(sizes)
    found = [usual, tuple(n - 1 for n in sizes)]
    single = [(i, option) for i, n in enumerate(sizes) for option in range(1, n)]
    for (i, a), (j, b) in [*((s, s) for s in single), *combinations(single, 2)]:
        if len(found) >= FIRST_MOST:
            break
        one = list(usual)
        one[i], one[j] = a, b
        if i != j or a == b:
            found.append(tuple(one))
    return found


def _simplest(tried: dict[Combination, float], sign: float, near: float) -> Combination | None:
    """Of those within ``near`` of the best, the one with the fewest unusual options."""
    top = _best(tried, sign)
    if top is None:
        return None
    alike = ALIKE * abs(tried[top])
    least = sign * tried[top] - max(near, alike)
    good = [c for c, x in tried.items() if sign * x >= least]
    fewest = min(_unusual(c) for c in good)
    plain = [c for c in good if _unusual(c) == fewest]
    best = max(sign * tried[c] for c in plain)
    return min(c for c in plain if sign * tried[c] >= best - alike)


def _unusual(case: Combination) -> int:
    """How many choices are made otherwise than usual."""
    return sum(option > 0 for option in case)


def _best(tried: dict[Combination, float], sign: float) -> Combination | None:
    """The combination with the greatest figure, the first where several have it."""
    found = {c: sign * x for c, x in tried.items() if x == x}
    return max(found, key=lambda c: (found[c], tuple(-n for n in c))) if found else None
