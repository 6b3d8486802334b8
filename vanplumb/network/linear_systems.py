"""Sparse linear systems of one shape for many variants at once.

The order of elimination is worked out once from where the entries are.  Unknowns that don't touch
one another are eliminated together, so that the steps are few however large the system is, and
every step runs over all of them and all variants at once.  For a few variants of a small system a
dense solve is quicker.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .links import Floats, Whole

MANY = 64
"""Variants from which elimination in the order found is quicker, however small the systems."""
STEP_WORTH = 35_000
"""Multiplications of a dense solve that take as long as one step of elimination for a few
variants: large systems, which are sparse, are better eliminated even one by one."""
ROW_BY_ROW = 256
"""Variants from which elimination row by row is quicker than with many rows at once."""
NEVER_FILLS = 2
"""Neighbours up to which an unknown leaves no more entries behind than it takes away."""


@dataclass(frozen=True)
class _Products:
    """Rows of the table from which the product of two others is taken away, no row twice."""

    goal: Whole
    one: Whole
    other: Whole

    def take_from(self, table: Floats) -> None:
        table[self.goal] -= table.take(self.one, axis=0) * table.take(self.other, axis=0)


@dataclass(frozen=True)
class _Level:
    """Unknowns that are eliminated together; all by rows of a table of entries and right sides.

    ``below`` are the entries under a pivot, ``pivot_of`` the pivot of each; ``down`` what is taken
    away from the others then.  ``up`` is what is taken from the right sides ``known``, before each
    is divided by its ``pivot``, once the unknowns of later levels are found.
    """

    below: Whole
    pivot_of: Whole
    down: list[_Products]
    up: list[_Products]
    known: Whole
    pivot: Whole


class Elimination:
    """Square systems of size ``n`` with entries on the diagonal and at ``pairs``, both ways.

    ``entry[i, j]`` is the place of an entry among the ``size`` values.  Nothing is pivoted:
    the matrices here have a heavy diagonal.  ``many`` is the number of variants from which
    ``sparse`` is quicker than ``dense``.
    """

    def __init__(self, n: int, pairs: list[tuple[int, int]]) -> None:
        near: list[set[int]] = [set() for _ in range(n)]
        for a, b in pairs:
            near[a].add(b)
            near[b].add(a)
        cells = [(i, i) for i in range(n)]
        cells += sorted({(i, j) for i in range(n) for j in near[i]})
        self.n = n
        self.size = len(cells)
        self.entry: dict[tuple[int, int], int] = {cell: k for k, cell in enumerate(cells)}
        self.rows = np.array([c[0] for c in cells], int)
        self.cols = np.array([c[1] for c in cells], int)
        self.by_columns = self.cols * n + self.rows
        filled = dict(self.entry)
        order = _order(near, filled)
        self.filled = len(filled)
        self.levels = [self._level(together, filled) for together in order]
        steps = sum(2 + len(level.down) + len(level.up) for level in self.levels)
        self.many = min(MANY, 1 + STEP_WORTH * steps // max(n, 1) ** 3)

    def _level(
        self, together: list[tuple[int, list[int]]], filled: dict[tuple[int, int], int]
    ) -> _Level:
        """Which rows are taken in what step, of unknowns with their neighbours at that time."""
        first = self.filled  # right sides stand below the entries
        below, pivot_of = [], []
        taken: dict[int, list[tuple[int, int]]] = {}
        for k, around in together:
            for i in around:
                share = filled[i, k]
                below.append(share)
                pivot_of.append(filled[k, k])
                for j in around:
                    taken.setdefault(filled[i, j], []).append((share, filled[k, j]))
                taken.setdefault(first + i, []).append((share, first + k))
        found = {first + k: [(filled[k, i], first + i) for i in around] for k, around in together}
        return _Level(
            below=np.array(below, int),
            pivot_of=np.array(pivot_of, int),
            down=_in_turns(taken),
            up=_in_turns(found),
            known=np.array([first + k for k, _ in together], int),
            pivot=np.array([filled[k, k] for k, _ in together], int),
        )

    def dense(self, values: Floats, right: Floats) -> Floats:
        """Solutions, shape (V, n), of systems with entries (V, size) and right sides (V, n).

        A state that is only tried, such as a pump that gets no water, may leave a part of the
        network without any pressure: there the least change is given, and the next round has
        another state.
        """
        if len(values) == 1:
            return self._dense_one(values, right)
        matrix = np.zeros((len(values), self.n, self.n))
        matrix[:, self.rows, self.cols] = values
        try:
            found = np.linalg.solve(matrix, right[..., None])
        except np.linalg.LinAlgError:
            found = np.linalg.pinv(matrix, rcond=1e-14) @ right[..., None]
        return np.asarray(found[..., 0], dtype=float)

    def _dense_one(self, values: Floats, right: Floats) -> Floats:
        """One system by the library that ``numpy.linalg`` calls too, in a third of its time."""
        from scipy.linalg.lapack import dgesv

        matrix = np.zeros(self.n * self.n)
        matrix[self.by_columns] = values[0]
        square = matrix.reshape((self.n, self.n), order="F")
        *_, found, fails = dgesv(square, right[0])
        if fails:
            found = np.linalg.pinv(square, rcond=1e-14) @ right[0]
        return np.asarray(found, dtype=float)[None]

    def sparse(self, values: Floats, right: Floats) -> Floats:
        """The same by elimination in the order found; densely where a pivot is wanting."""
        table = np.zeros((self.filled + self.n, len(values)))
        table[: self.size] = values.T
        table[self.filled :] = right.T
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            if len(values) >= ROW_BY_ROW:
                self._row_by_row(table)
            else:
                self._together(table)
        found = np.ascontiguousarray(table[self.filled :].T)
        if not np.isfinite(found).all():
            lost = ~np.isfinite(found).all(axis=1) & np.isfinite(values).all(axis=1)
            if lost.any():
                found[lost] = self.dense(values[lost], right[lost])
        return found

    def _together(self, table: Floats) -> None:
        """Eliminates in place, all rows of a step at once: quicker for few variants."""
        for level in self.levels:
            if len(level.below):
                table[level.below] /= table.take(level.pivot_of, axis=0)
            for products in level.down:
                products.take_from(table)
        for level in reversed(self.levels):
            for products in level.up:
                products.take_from(table)
            table[level.known] /= table.take(level.pivot, axis=0)

    def _row_by_row(self, table: Floats) -> None:
        """The same, one row after the other: quicker for many variants, since none is copied."""
        rows, product = list(table), np.empty_like(table[0])
        for divided, taken in self._steps:
            for goal, by in divided:
                rows[goal] /= rows[by]
            for goal, one, other in taken:
                np.multiply(rows[one], rows[other], product)
                rows[goal] -= product

    @cached_property
    def _steps(self) -> list[tuple[list[tuple[int, int]], list[tuple[int, int, int]]]]:
        """Rows to divide by others, and then those from which a product is taken, step by step."""

        def taken(turns: list[_Products]) -> list[tuple[int, int, int]]:
            return [
                (int(g), int(a), int(b))
                for p in turns
                for g, a, b in zip(p.goal, p.one, p.other, strict=True)
            ]

        def pairs(goals: Whole, by: Whole) -> list[tuple[int, int]]:
            return list(zip(goals.tolist(), by.tolist(), strict=True))

        down = [(pairs(k.below, k.pivot_of), taken(k.down)) for k in self.levels]
        last: list[tuple[int, int]] = []
        for level in reversed(self.levels):
            down.append((last, taken(level.up)))
            last = pairs(level.known, level.pivot)
        return [*down, (last, [])]

    def solve(self, values: Floats, right: Floats, method: str = "") -> Floats:
        """By the way that suits the number of variants, unless ``method`` says which."""
        if self.n == 0:
            return np.zeros_like(right)
        if method == "sparse" or (not method and len(values) >= self.many):
            return self.sparse(values, right)
        return self.dense(values, right)


def _order(
    near: list[set[int]], filled: dict[tuple[int, int], int]
) -> list[list[tuple[int, list[int]]]]:
    """Unknowns that go together, each with its neighbours at that time, level by level.

    Those with the fewest neighbours go first, and with them all that leave nothing behind; none
    beside another.  ``near`` is used up; what an elimination leaves is added to ``filled``.
    """
    left = set(range(len(near)))
    order = []
    while left:
        fewest = max(NEVER_FILLS, min(len(near[i]) for i in left))
        together, barred = [], set[int]()
        for k in sorted(
            (i for i in left if len(near[i]) <= fewest), key=lambda i: (len(near[i]), i)
        ):
            if k not in barred:
                together.append(k)
                barred |= near[k]
        level = []
        for k in together:
            around = sorted(near[k])
            for i in around:
                near[i] |= set(around)
                near[i] -= {i, k}
                for j in around:
                    filled.setdefault((i, j), len(filled))
            level.append((k, around))
        left.difference_update(together)
        order.append(level)
    return order


def _in_turns(taken: dict[int, list[tuple[int, int]]]) -> list[_Products]:
    """Pairs whose product is taken from each row, so parted that no row stands in a turn twice."""
    turns = []
    for turn in range(max((len(pairs) for pairs in taken.values()), default=0)):
        some = {goal: pairs[turn] for goal, pairs in taken.items() if len(pairs) > turn}
        one, other = (np.array([p[k] for p in some.values()], int) for k in (0, 1))
        turns.append(_Products(np.array(list(some), int), one, other))
    return turns
