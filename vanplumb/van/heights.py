"""How high every part lies.

Figures are floats, or arrays of shape (variants,) where a rise is one.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from .model import Build
from .parts import Run


def _by_size(run: Run) -> tuple[float, float]:
    return float(np.max(run.length)), float(np.max(run.rise))


def heights(build: Build) -> dict[str, Any]:
    """Height of each part that runs tie to a tank or to each other, m.

    All ports of a part stand at one height.  A fresh tank's floor is where its file says; where
    none is tied, the part that the search begins with is zero: a shore inlet, or the first.
    Round a ring of runs the rises should add up to nothing; if they do not, the run that closes
    the ring gets what the others leave for it, or water would run round and round for ever.
    """
    near: dict[str, list[tuple[str, Any]]] = {c.name: [] for c in build.components}
    # the shortest first, so that the order of the file does not tell which run closes a ring
    for run in sorted(build.run, key=_by_size):
        first, last = (port.component for port in build.ends(run))
        rise = np.asarray(run.rise, float) if np.ndim(run.rise) else run.rise
        near[first].append((last, rise))
        near[last].append((first, -rise))
    for pump, tank in build.hung_pumps.items():
        near[pump].append((tank, 0.0))
        near[tank].append((pump, 0.0))
    starts: list[tuple[str, Any]] = [
        (t.name, t.base_height) for t in build.tank if t.holds == "fresh"
    ]
    starts += [(s.name, 0.0) for s in build.shore_inlet]
    starts += [(c.name, 0.0) for c in build.components]
    found: dict[str, Any] = {}
    for name, height in starts:
        if name in found:
            continue
        found[name] = height
        queue = [name]
        for part in queue:
            for other, rise in near[part]:
                if other not in found:
                    found[other] = found[part] + rise
                    queue.append(other)
    return found
