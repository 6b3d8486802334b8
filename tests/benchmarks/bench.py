"""Timing that compares like with like: each round runs both, and the least of each counts."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median


def least(work: Callable[[], object], *, rounds: int = 7, calls: int = 1) -> float:
    """Seconds of one call in the quickest of some rounds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        for _ in range(calls):
            work()
        best = min(best, (time.perf_counter() - start) / calls)
    return best


def ratio(
    one: Callable[[], object], other: Callable[[], object], *, rounds: int = 9, calls: int = 1
) -> float:
    """How many times ``other`` goes into ``one``: the middle of some rounds run in turns."""
    found = []
    for _ in range(rounds):
        first = least(one, rounds=1, calls=calls)
        found.append(first / least(other, rounds=1, calls=calls))
    return median(found)


def report(what: str, value: float, budget: float, unit: str = "") -> None:
    """Print a figure beside its budget.  AssertionError if it is over."""
    print(f"\n{what}: {value:.3g}{unit} (budget {budget:g}{unit})")
    assert value <= budget, f"{what}: {value:.3g}{unit} is over {budget:g}{unit}"
