"""All variants of a network: in batches, and those not found once more from other starts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from .newton import Batch
from .solution import Solution

if TYPE_CHECKING:
    from .layout import Figures, Layout

Array = Any

BATCH = 2048
"""Variants at once: what stays in the fast memory."""


def solve(
    layout: Layout,
    flags: Mapping[str, Any],
    *,
    thermostatic: Array | None = None,
    positions: Array | None = None,
    method: str = "",
) -> Solution:
    """Solves all variants, in batches that stay in the fast memory."""
    links = layout.open_links(flags)
    open = layout.open_paths(links)
    figures = layout.figures
    if thermostatic is not None:
        figures = replace(figures, thermostatic=np.atleast_2d(np.asarray(thermostatic, bool)))
    if positions is not None:
        figures = replace(figures, position=np.atleast_2d(np.asarray(positions, float)))
    count = max(layout.variants, len(open), len(figures.thermostatic), len(figures.position))
    parts = []
    for first in range(0, count, BATCH):
        chosen = slice(first, min(first + BATCH, count))
        size = chosen.stop - chosen.start
        part = figures if count == 1 else figures.take(chosen)
        opened = open if len(open) == 1 else open[chosen]
        batch = Batch(layout, part, np.broadcast_to(opened, (size, open.shape[1])), method)
        found = batch.run()
        for i in np.flatnonzero(~found["done"]):
            _try_again(layout, part, opened[i % len(opened)][None], int(i), method, found)
        parts.append(found)
    joined = {key: np.concatenate([p[key] for p in parts]) for key in parts[0]}
    return Solution(layout, figures, {**joined, "open": links})


def _try_again(
    layout: Layout, f: Figures, open: Array, i: int, method: str, found: dict[str, Array]
) -> None:
    """One variant that was not found, alone and from other starts; puts its answer in place."""
    for start in (0.3, 0.03, 3.0):
        alone = Batch(layout, f.take(np.array([i])), open, method)
        alone.flow = np.where(alone.state.live, start * alone.typical, 0.0)
        alone.state.soften(np.ones(1, bool))
        alone.lose()
        answer = alone.run()
        if answer["done"][0]:
            for key, value in answer.items():
                found[key][i] = value[0]
            return
