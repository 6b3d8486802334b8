"""Where letters stand on the front view: beside what they name, clear of sweeps and parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ...board.parts.shapes import BODY, LEAD, SWEEP

if TYPE_CHECKING:
    from ...board.place.layout import Layout

WIDE, TALL = 0.66, 0.95
"""Box of a letter, as shares of its height: a little more than bold letters take."""
STEPS = 7
"""Places that are tried to each side, up and down."""
WORSE = {SWEEP: 6.0, BODY: 3.0, LEAD: 1.0}
"""How much worse it is to cover one square millimetre of a sweep than of a leaving tube."""


class FreeSpots:
    """Places for words on a board; a word that was placed is kept clear of by the next."""

    def __init__(self, layout: Layout, board: tuple[float, float]) -> None:
        import shapely

        own = [p for p in layout.pieces if p.role in WORSE]
        self._shapes: list[Any] = [p.shape for p in own]
        self._cost = [WORSE[p.role] for p in own]
        self._board = shapely.box(0.0, 0.0, *board)
        self._placed: list[Any] = []

    def near(self, x: float, y: float, size: tuple[float, float], words: str, letter: float
             ) -> tuple[float, float]:  # fmt: skip
        """Middle of the baseline for words beside a part of half ``size`` about ``x``, ``y``, mm.

        The nearest place where they cover nothing; if there is none, that where they cover least.
        """
        import shapely

        wide, tall = WIDE * letter * len(words), TALL * letter
        across = size[0] + wide / 2 + 0.3 * letter
        up = size[1] + tall / 2 + 0.3 * letter
        ways = np.linspace(-1.0, 1.0, STEPS)
        rings = [(f, g) for f in (1.0, 1.5, 2.2) for g in ways]
        middles = [(s * f * across, g * f * up) for f, g in rings for s in (-1, 1)]
        middles += [(g * f * across, s * f * up) for f, g in rings for s in (-1, 1)]
        middles.sort(key=lambda m: (round(abs(m[0]) + abs(m[1]), 3), -m[0]))
        boxes = np.array([
            shapely.box(x + dx - wide / 2, y + dy - tall / 2, x + dx + wide / 2, y + dy + tall / 2)
            for dx, dy in middles
        ])  # fmt: skip
        shapes = [*self._shapes, *self._placed]
        costs = np.array([*self._cost, *(9.0 for _ in self._placed)])
        inside = shapely.within(boxes, self._board)
        hit = np.zeros(len(boxes))
        first, second = shapely.STRtree(shapes).query(boxes, predicate="intersects")
        free = inside.copy()
        free[first] = False
        if free.any():
            best = int(np.flatnonzero(free)[0])
        else:
            areas = shapely.area(
                shapely.intersection(boxes[first], np.array(shapes, dtype=object)[second])
            )
            np.add.at(hit, first, areas * costs[second])
            best = int(np.argmin(hit + np.where(inside, 0.0, 1e9)))
        self._placed.append(boxes[best])
        dx, dy = middles[best]
        return x + dx, y + dy - 0.35 * letter
