"""Which part of a tap's water each set of tanks gives, by how full they are, as the network says.

Of two tanks side by side the higher level gives more until both stand where they give alike, and
one that a long line leads to falls behind: what they give at the start does not last.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ...flow.changed_build import vary
from ...flow.origins import source_parts
from ...flow.solving import BuildFlow
from ...van import tank_shapes
from .at_taps import LEAST_PART
from .feeds import TankSet, has_level

Array = NDArray[np.float64]

STEPS, MOMENTS = 24, 700
"""Parts of each set's water at whose ends the network is asked, and how often for one tap at most:
of more than two sets the parts are fewer."""
LEAST_LEFT = 1e-3
"""Share of a set's water that is left where it is all but empty: below it there is no level."""


@dataclass(frozen=True, eq=False)
class ByLevel:
    """The parts at the corners of a lattice of contents, straight lines between.

    ``sets`` are numbers of the sets whose levels count, ``full`` what can be pumped of each at the
    start, m³.  ``hot`` and ``cold`` have the part of every set, shape (steps + 1, ..., all sets).
    """

    sets: tuple[int, ...]
    full: tuple[float, ...]
    hot: Array
    cold: Array

    def __repr__(self) -> str:
        return f"Parts of {len(self.sets)} sets of tanks at {self.steps + 1} levels each"

    @property
    def steps(self) -> int:
        return self.hot.shape[0] - 1

    def step(self, number: int) -> float:
        """What leaves a set while its level goes from one corner to the next, m³; endless for
        those that do not count."""
        return self.full[self.sets.index(number)] / self.steps if number in self.sets else np.inf

    def at(self, left: Array, *, hot: bool) -> Array:
        """The part of every set, shape (rows, sets), where so much is ``left`` in each, m³."""
        table = self.hot if hot else self.cold
        place = np.clip(left[:, list(self.sets)] / np.array(self.full), 0.0, 1.0) * self.steps
        low = np.minimum(place.astype(int), self.steps - 1)
        over = place - low
        found = np.zeros((len(left), table.shape[-1]))
        for corner in product((0, 1), repeat=len(self.sets)):
            weight = np.prod(np.where(corner, over, 1.0 - over), axis=1)
            found += weight[:, None] * table[tuple((low + np.array(corner)).T)]
        return found


def by_level(
    flow: BuildFlow, fixture: str, sets: tuple[TankSet, ...], fed: tuple[int, ...]
) -> ByLevel | None:
    """What the sets that feed a fixture give of its water, by their levels.

    None where fewer than two of them can be told by a level, or where the network finds no water
    for the fixture as full as they start.  Taps stand as they were set.  Hundreds of levels are
    not looked at for long each: one that is not found soon is as at the start.
    """
    moving = tuple(
        n for n in fed
        if not sets[n].shore and float(sets[n].usable) > 0 and all(map(has_level, sets[n].tanks))
    )  # fmt: skip
    if len(fed) < 2 or not moving or flow.problem:
        return None
    steps = max(min(STEPS, int(MOMENTS ** (1 / len(moving))) - 1), 1)
    shape = (steps + 1,) * len(moving)
    shares = np.maximum(np.indices(shape).reshape(len(moving), -1) / steps, LEAST_LEFT)
    filled: dict[str, Array] = {}
    for n, share in zip(moving, shares, strict=True):
        known = {x: sets[n].contents(float(sets[n].usable) * x) or {} for x in np.unique(share)}
        for tank in sets[n].tanks:
            whole = tank_shapes.volume(tank)
            filled[f"tank.{tank.name}.fill_share"] = np.array(
                [known[x][tank.name] / whole for x in share]
            )
    varied = BuildFlow(vary(flow.build, filled), flow.positions)
    solution = varied.batch([(fixture,)], patient=False).solution
    if not np.asarray(solution.found)[-1]:
        return None
    tables = []
    for hot in (True, False):
        given = source_parts(varied.made, solution, fixture, hot=hot)
        parts = np.zeros((shares.shape[1], len(sets)))
        for n in fed:
            for tank in sets[n].tanks:
                if tank.name in given:
                    parts[:, n] += np.where(given[tank.name] >= LEAST_PART, given[tank.name], 0.0)
        parts[~np.asarray(solution.found)] = np.nan
        tables.append(_known(parts).reshape(*shape, len(sets)))
    if not tables[0].any() and not tables[1].any():
        return None
    return ByLevel(moving, tuple(float(sets[n].usable) for n in moving), tables[0], tables[1])


def _known(parts: Array) -> Array:
    """Where the network found nothing, as it is when all are as full as they start."""
    start = np.nan_to_num(parts[-1])
    return np.where(np.isfinite(parts), parts, start)
