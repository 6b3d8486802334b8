"""Timing that compares like with like: each round runs both, and the least of each counts.

What takes long is measured by a yardstick that is run beside it: a loop of plain Python and a
loop of small NumPy steps.  One yard is what both take together, about 0.1 s on the machine on
which the budgets were set; a slower machine has a longer yard, and so the same figures.  Both are
told in processor time where all runs in this process, since the clock on the wall would time
whatever else the machine does.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import numpy as np

Clock = Callable[[], float]


def python_loop() -> int:
    """Half a yard of plain Python."""
    total = 0
    for i in range(1_000_000):
        total += i * i % 7
    return total


def numpy_loop() -> object:
    """Half a yard of NumPy on small arrays, such as a solver's."""
    fixed = np.linspace(1.0, 2.0, 100)
    moved = fixed
    for _ in range(38_000):
        moved = np.sqrt(fixed * moved + 0.5)
    return moved


def yard(clock: Clock = time.process_time) -> float:
    """Seconds of one yard now: the least of five."""
    best = float("inf")
    for _ in range(5):
        start = clock()
        python_loop()
        numpy_loop()
        best = min(best, clock() - start)
    return best


def least(work: Callable[[], object], *, rounds: int = 7, calls: int = 1) -> float:
    """Processor seconds of one call in the quickest of some rounds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.process_time()
        for _ in range(calls):
            work()
        best = min(best, (time.process_time() - start) / calls)
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


def report_time(what: str, seconds: float, yards: float, clock: Clock = time.process_time) -> None:
    """Print a time in yards beside its budget.  AssertionError if it is over.

    ``clock`` is the one that the time was taken by.
    """
    report(f"{what}: {seconds:.3g} s", seconds / yard(clock), yards, " yards")
