"""Water that moves as a plug: cells of equal volume that are carried along, never smeared.

A path of tube, or the upper part of a hot-water store, is cut into ``n`` equal cells.  Its
outlet lies at index 0.  Since a draw is seldom a whole number of cells, the first cell is
partly drained (its ``fill`` is what is left, above 0 up to 1) and one more at the inlet end
is partly filled, so an array of ``n + 1`` temperatures and one ``fill`` hold the state.
Cells move with the water, so a front stays as sharp as one cell for ever.

All arrays have a leading axis for trips that run side by side.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def some(mask: NDArray[np.bool_] | Array) -> bool:
    """Whether any is true, or not zero; quicker than ``any`` on the few that one trip has."""
    return bool(np.count_nonzero(mask))


def volumes(fill: Array, cells: int) -> Array:
    """The share of a cell that each of the ``cells + 1`` entries holds; (trips, cells + 1)."""
    shares = np.ones((fill.shape[0], cells + 1))
    shares[:, 0] = fill
    shares[:, -1] = 1.0 - fill
    return shares


def _heat(position: Array, first: Array, last: Array, rate: Array) -> Array:
    """Heat that has come in by ``position``: ``first`` fading to ``last`` at ``rate`` per cell."""
    fading = rate > 0
    slow = np.where(fading, rate, 1.0)
    tail = np.where(fading, -np.expm1(-slow * position) / slow, 0.0)
    return last * position + (first - last) * tail


def push(
    temperature: Array,
    fill: Array,
    shift: Array,
    first: Array,
    last: Array | None = None,
    rate: Array | None = None,
) -> tuple[Array, Array, Array]:
    """Push ``shift`` cells of water in at the inlet end, and let as much out.

    The water that comes in has the temperature ``first``, or fades from ``first`` to ``last``
    as ``last + (first - last) exp(-rate x)`` with x in cells.  Gives the new temperatures, the
    new fill, and the mean temperature of what came out (what stands at the outlet, where
    nothing moved).  Heat in equals heat out plus heat stored, to rounding.
    """
    cells = temperature.shape[1] - 1
    removed = np.where(shift < fill, 0.0, 1.0 + np.floor(shift - fill))
    fill_new = fill - shift + removed
    index = np.arange(cells + 1.0)
    begin = np.maximum(fill_new[:, None] + index - 1.0, 0.0)
    finish = np.minimum(fill_new[:, None] + index, cells)
    offset = (shift - cells)[:, None]
    low = np.maximum(begin + offset, 0.0)
    high = np.maximum(finish + offset, low)
    source = np.minimum(index + removed[:, None], cells).astype(np.intp)
    old = np.take_along_axis(temperature, source, axis=1)
    held = finish - begin
    new = high - low
    if last is None or rate is None:
        brought = first[:, None] * new
        total_in = first * shift
    else:
        entry = (first[:, None], last[:, None], rate[:, None])
        brought = _heat(high, *entry) - _heat(low, *entry)
        total_in = _heat(shift[:, None], *entry)[:, 0]
    kept = held - new
    heat = old * kept + brought
    filled = held > 1e-12
    temperature_new = np.where(filled, heat / np.where(filled, held, 1.0), old)
    before = (temperature * volumes(fill, cells)).sum(axis=1)
    after = (temperature_new * held).sum(axis=1)
    moved = shift > 1e-12
    out = np.where(
        moved, (before + total_in - after) / np.where(moved, shift, 1.0), temperature[:, 0]
    )
    return temperature_new, fill_new, out


def rise(temperature: Array, volume: Array) -> Array:
    """Let the warmth of the last layer rise, where all above it lie warmer over colder already.

    The last layer is pooled with as many over it as are colder than the pool.  Index 0 is the
    top.  Shapes (trips, layers).
    """
    up = temperature[:, ::-1]
    held = volume[:, ::-1].cumsum(axis=1)
    mean = (up * volume[:, ::-1]).cumsum(axis=1) / held
    over = up[:, 1:] < mean[:, :-1]  # the next one up is colder than the pool below it
    count = np.minimum.accumulate(over, axis=1).sum(axis=1)
    pool = np.take_along_axis(mean, count[:, None], axis=1)
    pooled = np.arange(up.shape[1]) <= count[:, None]
    return np.asarray(np.where(pooled, pool, up)[:, ::-1])


def settle(temperature: Array, volume: Array) -> Array:
    """Let warm water rise: the layers after all that would overturn has mixed.

    Index 0 is the top.  Neighbours with the warmer one below are pooled until no layer is
    warmer than the one above it, which conserves heat.  Shapes (trips, layers).
    """
    wrong = np.any(temperature[:, 1:] > temperature[:, :-1] + 1e-9, axis=1)
    if not some(wrong):
        return temperature
    rows = np.flatnonzero(wrong)
    layers = temperature.shape[1]
    warm = temperature[rows]
    weight = np.maximum(volume[rows], 1e-12 * volume[rows].max(axis=1, keepdims=True))
    upper = np.triu(np.ones((layers, layers)))
    # mean[j, k]: of layers j to k.  What is left of each layer is the least, over all j above
    # it, of the greatest mean that reaches down past it (the pool of adjacent violators).
    held = np.cumsum(weight[:, None, :] * upper, axis=2)
    heat = np.cumsum((weight * warm)[:, None, :] * upper, axis=2)
    mean = np.where(upper > 0, heat / np.where(held > 0, held, 1.0), -np.inf)
    below = np.maximum.accumulate(mean[:, :, ::-1], axis=2)[:, :, ::-1]
    below = np.where(upper > 0, below, np.inf)
    pooled = below.min(axis=1)
    bottom = volume[rows, -1]
    off = ((warm - pooled) * volume[rows]).sum(axis=1)
    pooled[:, -1] += np.where(bottom > 0, off / np.where(bottom > 0, bottom, 1.0), 0.0)
    result = temperature.copy()
    result[rows] = pooled
    return result
