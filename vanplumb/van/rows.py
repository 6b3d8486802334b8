"""Figures of a part that may stand in its file or in its row of a table.

A row's name, or a figure, may be an array of shape (variants,): then so is what comes out.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..words.tables import Row, table
from .model import Build


def pick(build: Build, name: str, row: Any, column: str, otherwise: float | None = None) -> Any:
    """A column of a table for one row, or for an array of rows; ``otherwise`` where empty.

    ValueError where the cell is empty and nothing is to stand for it.
    """
    rows = table(name, build.rows)

    def cell(one: str) -> float:
        if otherwise is not None and rows[one][column] is None:
            return otherwise
        return rows[one].number(column)

    if isinstance(row, str):
        return cell(row)
    listed = np.asarray(row).tolist()
    known = {one: cell(one) for one in dict.fromkeys(listed)}
    return np.array([known[one] for one in listed])


def own_or_row(build: Build, part: Any, key: str, rows: str, row: Any, column: str) -> Any:
    """A part's own figure, or that of its row in a table if the build does not say."""
    own = getattr(part, key)
    if own is not None and not (isinstance(own, tuple) and not own):
        return own
    if row is None or (isinstance(row, str) and row not in table(rows, build.rows)):
        return None
    if isinstance(row, str):
        return table(rows, build.rows)[row][column]
    return pick(build, rows, row, column)


def fitting_sort(row: Row) -> str:
    """What a row of the table of losses is of: elbow, elbow 45, coupling, union, reducer, branch.

    A builder's own row that does not say is what its kind is, if tube goes on it; else nothing.
    """
    plain = row["kind"] in ("elbow", "coupling") and row["tube_ends"]
    return str(row["sort"] or (row["kind"] if plain else ""))
