"""Sparse linear systems of one shape for many variants at once.

The order of elimination is worked out once from where the entries are; every step then
runs over all variants as one vector.  For a few variants a dense solve is quicker.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush

import numpy as np

from .links import Floats

MANY = 64
"""Variants from which elimination in the order found is quicker, however small the systems."""
STEP_WORTH = 30_000
"""Multiplications of a dense solve that take as long as one step of elimination for a few
variants: large systems, which are sparse, are better eliminated even one by one."""


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
        left = set(range(n))
        self.steps: list[tuple[int, int, Floats, Floats, Floats, Floats]] = []
        # the one with the fewest neighbours goes first; what no longer holds is passed over
        queue = [(len(near[i]), i) for i in range(n)]
        heapify(queue)
        while left:
            degree, k = heappop(queue)
            if k not in left or degree != len(near[k]):
                continue
            left.discard(k)
            around = sorted(near[k])
            for i in around:
                near[i].discard(k)
                for j in around:
                    if i != j:
                        near[i].add(j)
                    filled.setdefault((i, j), len(filled))
            for i in around:
                heappush(queue, (len(near[i]), i))
            m = len(around)
            self.steps.append(
                (
                    k,
                    filled[k, k],
                    np.array(around, int),
                    np.array([filled[i, k] for i in around], int),
                    np.array([filled[k, j] for j in around], int),
                    np.array([filled[i, j] for i in around for j in around], int).reshape(m, m),
                )
            )
        self.filled = len(filled)
        work = sum(1 + len(s[2]) * (len(s[2]) + 2) for s in self.steps)
        self.many = min(MANY, 1 + STEP_WORTH * work // max(n, 1) ** 3)
        self.plain_steps = [
            (k, pivot, *(part.tolist() for part in parts)) for k, pivot, *parts in self.steps
        ]

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
        """The same by elimination in the order found, one vector of variants at a time."""
        count = len(values)
        a = np.zeros((self.filled, count))
        a[: self.size] = values.T
        b = right.T.copy()
        spare = np.empty(count)
        for k, pivot, around, down, across, block in self.plain_steps:
            for i, low, row in zip(around, down, block, strict=True):
                share = np.divide(a[low], a[pivot], out=a[low])
                for right_of, goal in zip(across, row, strict=True):
                    a[goal] -= np.multiply(share, a[right_of], out=spare)
                b[i] -= np.multiply(share, b[k], out=spare)
        for k, pivot, around, _, across, _ in reversed(self.plain_steps):
            for i, right_of in zip(around, across, strict=True):
                b[k] -= np.multiply(a[right_of], b[i], out=spare)
            b[k] /= a[pivot]
        return b.T

    def solve(self, values: Floats, right: Floats, method: str = "") -> Floats:
        """By the way that suits the number of variants, unless ``method`` says which."""
        if self.n == 0:
            return np.zeros_like(right)
        if method == "sparse" or (not method and len(values) >= self.many):
            return self.sparse(values, right)
        return self.dense(values, right)
