"""Sparse linear systems of one shape for many variants at once.

The order of elimination is worked out once from where the entries are; every step then
runs over all variants as one vector.  For a few variants a dense solve is quicker.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Array = Any


class Elimination:
    """Square systems of size ``n`` with entries on the diagonal and at ``pairs``, both ways.

    ``entry[i, j]`` is the place of an entry among the ``size`` values.  Nothing is pivoted:
    the matrices here have a heavy diagonal.
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
        filled = dict(self.entry)
        left = set(range(n))
        self.steps: list[tuple[int, int, Array, Array, Array, Array]] = []
        while left:
            k = min(left, key=lambda i: (len(near[i]), i))
            left.discard(k)
            around = sorted(near[k])
            for i in around:
                near[i].discard(k)
                for j in around:
                    if i != j:
                        near[i].add(j)
                    filled.setdefault((i, j), len(filled))
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

    def dense(self, values: Array, right: Array) -> Array:
        """Solutions, shape (V, n), of systems with entries (V, size) and right sides (V, n)."""
        matrix = np.zeros((len(values), self.n, self.n))
        matrix[:, self.rows, self.cols] = values
        return np.linalg.solve(matrix, right[..., None])[..., 0]

    def sparse(self, values: Array, right: Array) -> Array:
        """The same by elimination in the order found, one vector of variants at a time."""
        count = len(values)
        a = np.zeros((self.filled, count))
        a[: self.size] = values.T
        b = right.T.copy()
        for k, pivot, around, down, across, block in self.steps:
            if len(around) == 0:
                continue
            share = a[down] / a[pivot]
            if len(around) == 1:
                a[block[0, 0]] -= share[0] * a[across[0]]
                b[around[0]] -= share[0] * b[k]
                continue
            a[block] -= share[:, None, :] * a[across][None, :, :]
            b[around] -= share * b[k]
        for k, pivot, around, _, across, _ in reversed(self.steps):
            if len(around) == 1:
                b[k] -= a[across[0]] * b[around[0]]
            elif len(around):
                b[k] -= np.einsum("iv,iv->v", a[across], b[around])
            b[k] /= a[pivot]
        return b.T

    def solve(self, values: Array, right: Array, method: str = "") -> Array:
        """By the way that suits the number of variants, unless ``method`` says which."""
        if self.n == 0:
            return np.zeros_like(right)
        if method == "sparse" or (not method and len(values) >= 64):
            return self.sparse(values, right)
        return self.dense(values, right)
