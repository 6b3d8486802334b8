"""Which tube is cut from which length on the shelf: the best of two methods.

Everything is in whole units (ticks), so that no piece is lost to rounding.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, gcd

COLUMNS = 60
"""Rounds of column generation at most."""
UNITS = 8000
"""Units into which a bar is divided at most when patterns are looked for."""


@dataclass(frozen=True)
class Bar:
    """One length from the shelf (or one to be bought) and what is cut from it, in order.

    ``left`` is what stays after all cuts.
    """

    length: int
    pieces: tuple[int, ...]
    left: int
    bought: bool = False


@dataclass(frozen=True)
class CutPlan:
    """Bars with their pieces.  ``method`` gave it; ``bound`` is the least number of bars there
    could be if all were of the first length; ``missing`` are pieces longer than any bar.

    Every piece has its ``allowance`` beside it on its bar: what is left is what stays if all
    allowances are used up.
    """

    bars: tuple[Bar, ...]
    method: str
    bound: int
    missing: tuple[int, ...] = ()
    allowance: int = 0

    @property
    def pieces(self) -> tuple[int, ...]:
        """All pieces, bar by bar."""
        return tuple(p for bar in self.bars for p in bar.pieces)

    def offcuts(self, least: int) -> tuple[int, ...]:
        """What goes back on the shelf: ends at least so long."""
        return tuple(b.left for b in self.bars if b.left >= least and b.pieces)

    @property
    def waste(self) -> int:
        """All that is left over, kerfs not counted."""
        return sum(b.left for b in self.bars)

    @property
    def bought(self) -> int:
        """How many lengths must be bought beyond the shelf."""
        return sum(b.bought for b in self.bars)


def left_over(length: int, pieces: Sequence[int], kerf: int) -> int:
    """What stays of a length: each piece costs a kerf, but a last one that ends with the bar."""
    used = sum(pieces) + kerf * len(pieces)
    if pieces and used - kerf == length:
        return 0
    return length - used


def fits(length: int, pieces: Sequence[int], kerf: int) -> bool:
    """Whether the pieces can be cut from the length."""
    if not pieces:
        return True
    return sum(pieces) + kerf * (len(pieces) - 1) <= length


def cut_plan(
    pieces: Sequence[int],
    shelf: Sequence[tuple[int, int]],
    kerf: int,
    new: int = 0,
    allowance: int = 0,
) -> CutPlan:
    """The plan with the fewest bars, then the longest single offcut, of the two methods.

    ``shelf`` has (length, how many) of what is there, ``new`` the length that can be bought
    when that is not enough (the longest on the shelf if 0), ``allowance`` what is kept spare
    for each piece.  Lengths in ticks.
    """
    if allowance:
        roomy = cut_plan([p + allowance for p in pieces], shelf, kerf, new)
        bars = tuple(replace(b, pieces=tuple(p - allowance for p in b.pieces)) for b in roomy.bars)
        missing = tuple(p - allowance for p in roomy.missing)
        return replace(roomy, bars=bars, missing=missing, allowance=allowance)
    longest = max((length for length, _ in shelf), default=0)
    new = new or longest
    top = max(longest, new)
    missing = tuple(sorted(p for p in pieces if p > top))
    wanted = sorted((p for p in pieces if p <= top), reverse=True)
    plans = [first_fit(wanted, shelf, kerf, new)]
    bound = _bound(wanted, top, kerf)
    same = len({length for length, _ in shelf} | {new}) == 1
    if wanted and same and len(plans[0].bars) > bound:
        columns = column_generation(wanted, new, kerf)
        if columns:
            plans.append(_onto_shelf(columns, shelf, kerf, new))
    best = min(plans, key=_badness)
    return CutPlan(best.bars, best.method, bound, missing)


def _badness(plan: CutPlan) -> tuple[int, int, int]:
    return plan.bought, len(plan.bars), -max((b.left for b in plan.bars), default=0)


def _bound(pieces: Sequence[int], length: int, kerf: int) -> int:
    """Least number of bars: the pieces' length over a bar's, or the pieces over half a bar."""
    if not pieces:
        return 0
    by_length = ceil((sum(pieces) + kerf * len(pieces)) / (length + kerf))
    halves = sum(2 * p + kerf > length for p in pieces)
    return max(by_length, halves)


def first_fit(
    pieces: Sequence[int], shelf: Sequence[tuple[int, int]], kerf: int, new: int
) -> CutPlan:
    """Longest piece first, each into the first bar that still takes it; short bars first."""
    bars: list[tuple[int, list[int], bool]] = [
        (length, [], False) for length, count in sorted(shelf) for _ in range(count)
    ]
    for piece in sorted(pieces, reverse=True):
        for length, taken, _ in bars:
            if fits(length, [*taken, piece], kerf):
                taken.append(piece)
                break
        else:
            bars.append((new, [piece], True))
    return CutPlan(_bars(bars, kerf), "longest piece first", 0)


def _bars(bars: Sequence[tuple[int, Sequence[int], bool]], kerf: int) -> tuple[Bar, ...]:
    return tuple(
        Bar(length, tuple(taken), left_over(length, taken, kerf), bought)
        for length, taken, bought in bars
        if taken
    )


def _onto_shelf(
    patterns: Sequence[tuple[int, ...]], shelf: Sequence[tuple[int, int]], kerf: int, new: int
) -> CutPlan:
    have = sum(count for _, count in shelf)
    bars = [(new, pattern, number >= have) for number, pattern in enumerate(patterns)]
    return CutPlan(_bars(bars, kerf), "patterns by whole-number programming", 0)


def column_generation(pieces: Sequence[int], length: int, kerf: int) -> list[tuple[int, ...]]:
    """Patterns for bars of one length (Gilmore and Gomory), then the best whole numbers of them.

    A pattern that would save most at the present prices of the pieces is added until none does;
    then as many of each as needed are chosen in whole numbers.  Empty if that fails.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, linprog, milp

    demand = Counter(pieces)
    sizes = sorted(demand, reverse=True)
    need = [demand[s] for s in sizes]
    room = length + kerf
    columns = [
        [room // (s + kerf) if i == j else 0 for j in range(len(sizes))]
        for i, s in enumerate(sizes)
    ]
    columns += _greedy_patterns(sizes, demand, room, kerf)
    for _ in range(COLUMNS):
        matrix = np.array(columns, dtype=float).T
        answer = linprog(
            np.ones(matrix.shape[1]), A_ub=-matrix, b_ub=-np.array(need), method="highs"
        )
        if not answer.success:
            return []
        prices = -answer.ineqlin.marginals
        pattern, worth = _best_pattern(sizes, prices, need, room, kerf)
        if worth <= 1 + 1e-9:
            break
        columns.append(pattern)
    matrix = np.array(columns, dtype=float).T
    whole = milp(
        np.ones(matrix.shape[1]),
        constraints=LinearConstraint(matrix, need, np.inf),
        bounds=Bounds(0, np.inf),
        integrality=np.ones(matrix.shape[1]),
        options={"time_limit": 2.0},
    )
    if whole.x is None:
        return []
    left = Counter(demand)
    patterns = []
    for column, times in zip(columns, np.rint(whole.x).astype(int), strict=True):
        for _ in range(times):
            taken = []
            for size, many in zip(sizes, column, strict=True):
                use = min(int(many), left[size])
                left[size] -= use
                taken += [size] * use
            if taken:
                patterns.append(tuple(taken))
    return patterns if not +left else []


def _greedy_patterns(
    sizes: Sequence[int], demand: Counter[int], room: int, kerf: int
) -> list[list[int]]:
    """The patterns of longest piece first, so that the whole-number step is never worse."""
    left = Counter(demand)
    patterns = []
    while +left:
        free, pattern = room, []
        for size in sizes:
            use = min(left[size], free // (size + kerf))
            left[size] -= use
            free -= use * (size + kerf)
            pattern.append(use)
        patterns.append(pattern)
    return patterns


def _best_pattern(
    sizes: Sequence[int], prices: Sequence[float], need: Sequence[int], room: int, kerf: int
) -> tuple[list[int], float]:
    """The dearest set of pieces that fits one bar: a knapsack over whole units of length.

    The unit is the greatest common one, or, if that is too fine, one to which each piece is
    rounded up, so that what is found always fits.
    """
    import numpy as np

    weights = [s + kerf for s in sizes]
    unit = max(gcd(room, *weights), -(-room // UNITS))
    space = room // unit
    worth = np.zeros(space + 1)
    steps: list[tuple[int, int, np.ndarray]] = []
    for index, (weight, price) in enumerate(zip(weights, prices, strict=True)):
        units, left, many = -(-weight // unit), int(need[index]), 1
        while left > 0 and price > 1e-12:
            take = min(many, left)
            span = units * take
            if span <= space:
                better = worth[: space + 1 - span] + take * price
                taken = np.zeros(space + 1, dtype=bool)
                taken[span:] = better > worth[span:] + 1e-12
                worth[span:] = np.where(taken[span:], better, worth[span:])
                steps.append((index, take, taken))
            left -= take
            many *= 2
    counts, at = [0] * len(sizes), space
    for index, take, taken in reversed(steps):
        if taken[at]:
            counts[index] += take
            at -= -(-weights[index] // unit) * take
    return counts, float(np.dot(counts, prices))
