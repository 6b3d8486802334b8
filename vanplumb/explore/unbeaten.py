"""Variants that nothing beats: no other is as good in everything and better in something.

Divide and conquer (Kung, Luccio and Preparata, Journal of the ACM 22 (1975) 469, from memory):
sorted by the first objective, the upper half can't be beaten by the lower, so what is left of the
lower half is compared with what is left of the upper in the other objectives alone.  A hundred
thousand variants of which none beats another take n log² n and not n² comparisons.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Costs = NDArray[np.float64]
Flags = NDArray[np.bool_]

PAIRS = 100_000
"""Comparisons up to which every pair is looked at in one step of arrays."""
SMALL = 256
"""Rows of which every pair is looked at at once."""


def unbeaten(costs: NDArray[Any]) -> Flags:
    """Which rows no other row beats, as flags of shape (variants,).

    ``costs`` has shape (variants, objectives), less is better in each.  A row is beaten by
    one that is nowhere worse and somewhere better; of equal rows all stay.  A row with a
    figure that is not a number, or without end, is out.
    """
    costs = np.asarray(costs, float)
    flags = np.zeros(len(costs), bool)
    if not costs.shape[1]:
        return flags
    counts = np.flatnonzero(np.all(np.isfinite(costs), axis=1))
    if not len(counts):
        return flags
    # Sorted row by row and each once: a later row never beats an earlier one.
    counts = counts[_after_best(costs[counts])]
    rows, back = _each_once(costs[counts])
    flags[counts] = _front(rows)[back]
    return flags


def _after_best(costs: Costs) -> NDArray[np.int64]:
    """Places of the rows that a few very good ones do not beat: of most sets a small part."""
    low, high = costs.min(axis=0), costs.max(axis=0)
    scale = np.where(high > low, high - low, 1.0)
    left = np.arange(len(costs))
    for weights in (np.ones(costs.shape[1]), *(1.0 + 9.0 * np.eye(costs.shape[1]))):
        some = costs[left]
        best = some[np.argmin(((some - low) / scale) @ weights)]
        beaten = np.all(some >= best, axis=1) & np.any(some > best, axis=1)
        left = left[~beaten]
    return left


def _each_once(costs: Costs) -> tuple[Costs, NDArray[np.int64]]:
    """The different rows in rising order, and for each row which of them it is."""
    order = np.lexsort(costs.T[::-1])
    there = costs[order]
    fresh = np.ones(len(there), bool)
    fresh[1:] = np.any(there[1:] != there[:-1], axis=1)
    back = np.empty(len(costs), np.int64)
    back[order] = np.cumsum(fresh) - 1
    return there[fresh], back


def _front(rows: Costs) -> Flags:
    """Of different rows in rising order, those that no other beats."""
    flags = np.ones(len(rows), bool)
    if rows.shape[1] == 1:
        flags[1:] = False
        return flags
    if rows.shape[1] == 2:
        flags[1:] = rows[1:, 1] < np.minimum.accumulate(rows[:-1, 1])
        return flags
    if len(rows) <= SMALL:
        return np.asarray(_at_most(rows, rows).sum(axis=1) == 1)
    half = len(rows) // 2
    flags[:half], flags[half:] = _front(rows[:half]), _front(rows[half:])
    lower = half + np.flatnonzero(flags[half:])
    upper = rows[:half][flags[:half], 1:]
    flags[lower] = ~_reached(rows[lower, 1:], upper)
    return flags


def _reached(rows: Costs, by: Costs) -> Flags:
    """For each row, whether one of ``by`` is nowhere above it."""
    reached = np.zeros(len(rows), bool)
    if not len(rows) or not len(by):
        return reached
    if rows.shape[1] == 1:
        return np.asarray(rows[:, 0] >= by[:, 0].min())
    if rows.shape[1] == 2:
        order = np.argsort(by[:, 0], kind="stable")
        least = np.minimum.accumulate(by[order, 1])
        place = np.searchsorted(by[order, 0], rows[:, 0], side="right") - 1
        return np.asarray((place >= 0) & (least[np.maximum(place, 0)] <= rows[:, 1]))
    if len(rows) * len(by) <= PAIRS:
        return np.asarray(_at_most(rows, by).any(axis=1))
    first = by[:, 0]
    middle = np.sort(first)[(len(first) - 1) // 2]
    if middle == first.max():
        middle = np.min(first) if first.min() == middle else first[first < middle].max()
    low, high = by[first <= middle], by[first > middle]
    far = rows[:, 0] > middle
    if len(high):
        reached[~far] = _reached(rows[~far], low)
        reached[far] = _reached(rows[far, 1:], low[:, 1:])
        left = np.flatnonzero(far & ~reached)
        reached[left] = _reached(rows[left], high)
        return reached
    beside = rows[:, 0] >= middle  # all of ``by`` are alike in the first objective
    reached[beside] = _reached(rows[beside, 1:], low[:, 1:])
    return reached


def _at_most(rows: Costs, by: Costs) -> Flags:
    """For each row and each of ``by``, whether the latter is nowhere above it."""
    found = by[:, 0] <= rows[:, 0, None]
    for one in range(1, rows.shape[1]):
        found &= by[:, one] <= rows[:, one, None]
    return np.asarray(found)
