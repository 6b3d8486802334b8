"""How high every part lies, and where water stays when the system is let run out."""

from __future__ import annotations

from ...van.model import Build


def heights(build: Build) -> dict[str, float]:
    """Height of each part that runs tie to a tank or to each other, m.

    A tank's floor is where its file says; where no tank is tied, the first part is nought.
    """
    ends = [(a.component, b.component, run.rise) for run in build.run for a, b in [build.ends(run)]]
    found: dict[str, float] = {}
    starts = [(t.name, t.base_height) for t in build.tank if t.holds == "fresh"]
    starts += [(c.name, 0.0) for c in build.components]
    for name, height in starts:
        if name in found:
            continue
        front = {name: height}
        while front:
            found |= front
            following: dict[str, float] = {}
            for first, last, rise in ends:
                if first in front and last not in found:
                    following.setdefault(last, found[first] + rise)
                if last in front and first not in found:
                    following.setdefault(first, found[last] - rise)
            front = following
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
