"""How high every part lies, and where water stays when the system is let run out.

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


def low_points(build: Build) -> tuple[tuple[str, float], ...]:
    """Parts that water can't leave by falling, lowest first: where a drain belongs.

    A part is one if no run leads down from it; of parts at one height that runs join
    level, only the first is named.  Tanks have their own drains.
    """
    at = heights(build)
    tanks = {tank.name for tank in build.tank}
    joined: dict[str, set[str]] = {name: set() for name in at}
    for run in build.run:
        first, last = (port.component for port in build.ends(run))
        joined[first].add(last)
        joined[last].add(first)
    found: list[tuple[str, float]] = []
    seen: set[str] = set()
    for name in at:
        if name in seen or not joined[name]:
            continue
        level, front = {name}, [name]
        while front:
            here = front.pop()
            for other in joined[here] - level:
                if abs(at[other] - at[here]) < 1e-6:
                    level.add(other)
                    front.append(other)
        seen |= level
        around = {other for one in level for other in joined[one]} - level
        lower = any(at[other] < at[name] - 1e-6 for other in around)
        if not lower and around and not level & tanks:
            found.append((name, at[name]))
    return tuple(sorted(found, key=lambda pair: pair[1]))
