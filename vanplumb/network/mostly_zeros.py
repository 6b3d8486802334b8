"""A large matrix of which most is zero, to the right of a product: ``array @ matrix``."""

from __future__ import annotations

from typing import Any

import numpy as np

from .links import Floats

FEW = 50_000
"""Multiplications up to which the plain product is quicker than to begin a sparse one."""


class MostlyZeros:
    """Stands for a matrix (m, n); a product with (V, m) leaves zeros out but where it is small."""

    __array_ufunc__ = None  # so that numpy leaves the product to this class

    def __init__(self, matrix: Floats) -> None:
        from scipy.sparse import csr_array

        self.plain = matrix
        self.turned: Any = csr_array(matrix.T)
        self.back: Any = csr_array(matrix)

    def __repr__(self) -> str:
        return f"MostlyZeros{self.plain.shape}"

    def __rmatmul__(self, rows: Floats) -> Floats:
        return _product(rows, self.plain, self.turned)

    @property
    def T(self) -> MostlyZeros:
        found = object.__new__(MostlyZeros)
        found.plain, found.turned, found.back = self.plain.T, self.back, self.turned
        return found

    def __getitem__(self, rows: Any) -> Floats:
        return np.asarray(self.plain[rows])


def _product(rows: Floats, plain: Floats, turned: Any) -> Floats:
    if len(rows) * plain.size <= FEW:
        return np.asarray(rows @ plain)
    return np.asarray((turned @ np.ascontiguousarray(rows.T)).T)
