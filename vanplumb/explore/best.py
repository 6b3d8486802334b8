"""Variants that nothing beats."""

from __future__ import annotations

from typing import Any

import numpy as np

Array = Any


def unbeaten(costs: Array) -> Array:
    """Which rows no other row beats, as flags of shape (variants,).

    ``costs`` has shape (variants, objectives), less is better in each.  A row is beaten by
    one that is nowhere worse and somewhere better; of equal rows all stay.  A row with a
    figure that is not a number is out.
    """
    costs = np.asarray(costs, float)
    flags = np.zeros(len(costs), bool)
    left = np.flatnonzero(np.all(np.isfinite(costs), axis=1))
    if not costs.shape[1]:
        return flags
    # The least sum is beaten by none of the rest, so each round settles one row for good.
    left = left[np.argsort(_scaled(costs[left]).sum(axis=1), kind="stable")]
    while len(left):
        one = costs[left[0]]
        same = np.all(costs[left] == one, axis=1)
        flags[left[same]] = True
        stays = np.any(costs[left] < one, axis=1) & ~same
        left = left[stays]
    return flags


def _scaled(costs: Array) -> Array:
    """Each objective between 0 and 1, so that none drowns another in a sum."""
    if not len(costs):
        return costs
    low, high = costs.min(axis=0), costs.max(axis=0)
    return (costs - low) / np.where(high > low, high - low, 1.0)
