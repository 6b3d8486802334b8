"""How far to go along one of Newton's steps that led too far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from .batch import Batch

Array = Any

SEARCH = 24
"""Tries to find how far to go along a step that led too far."""


def too_far(
    batch: Batch, difference: Array, before: Array, step: Array, left: Array, fresh: Array
) -> tuple[Array, Array, Array]:
    """The slack at the start and at the end of a step, and whether it led too far, (V,).

    The slack is the slope, along the step, of the function that the answer makes least.
    ``fresh`` variants began from flows that don't balance, and are left alone.
    """
    if batch.finds and batch.warmed:
        # a valve that has just turned takes something else than the step reckoned with
        step = step * batch.layout.not_mixer
    ahead = np.sum(step * np.where(batch.state.runs, difference - before, 0.0), axis=1)
    behind = -np.sum(step * left, axis=1)
    return ahead, behind, ~fresh & (ahead > 0) & (behind > ahead)


def shorten(
    batch: Batch, difference: Array, before: Array, step: Array, left: Array, fresh: Array
) -> Array:
    """Goes back along a step that led too far.  Gives what does not close then."""
    ahead, behind, far = too_far(batch, difference, before, step, left, fresh)
    if not far.any():
        return left
    low, high = np.zeros(batch.size), np.ones(batch.size)
    at_low, at_high = -ahead, behind
    settled, kept = ~far, np.ones(batch.size)
    for turn in range(SEARCH):
        # on a line at first; then by halves, since at a check valve the slack jumps
        gap = np.where(far & (at_high > at_low), at_high - at_low, 1.0)
        line = np.clip((low * at_high - high * at_low) / gap, low, high)
        share = line if turn < 3 else 0.5 * (low + high) if turn < SEARCH - 1 else high
        share = np.where(settled, kept, share)
        batch.flow = batch.flow_before + share[:, None] * step
        batch.lose()
        left = batch.left(difference)
        slack = -np.sum(step * left, axis=1)
        # shut valves are no steps in the loss: one try will do
        settled = settled | (np.abs(slack) < 0.5 * ahead) | ~batch.state.soft
        kept = share
        if settled.all():
            break
        below = slack < 0
        at_low, at_high = np.where(below, slack, at_low), np.where(below, at_high, slack)
        low, high = np.where(below, share, low), np.where(below, high, share)
    return left
