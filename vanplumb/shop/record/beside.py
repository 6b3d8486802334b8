"""A group of joints beside others of the same vans and kinds, whatever each van was like.

Within one van, and one kind of joint, the weeps that there were could have fallen on any of the
joints.  How many fall on the group is then hypergeometric, and the sum over all such strata is
known exactly, without any belief in how vans differ: the conditional test of Cochran, Mantel and
Haenszel, exact, with half the weight of what was seen (mid-p).  A group that weeps with ``more``
times the odds of the others has that sum tilted by ``more`` to the power of the weeps.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Stratum:
    """Joints of one kind in one van: those of the group, and those of others."""

    joints: int
    wept: int
    other_joints: int
    other_wept: int

    @property
    def tells(self) -> bool:
        """Whether there is anything to set beside one another."""
        weeps = self.wept + self.other_wept
        return bool(self.joints and self.other_joints) and 0 < weeps < (
            self.joints + self.other_joints
        )


@dataclass(frozen=True, eq=False)
class Beside:
    """How many weeps fell on the group, ``seen``, of those that could have, ``chances``.

    ``chances[k]`` is the chance of ``least + k`` if the group is like the others; ``vans`` is in
    how many vans they can be set beside one another at all, ``share`` of the group's joints.
    """

    seen: int
    least: int
    chances: NDArray[np.float64]
    vans: int
    share: float

    def times(self, more: float) -> float:
        """How sure it is that the group weeps with more than ``more`` times the others' odds.

        One less the mid-p of a test of just that; a half where nothing tells.
        """
        weeps = np.arange(len(self.chances)) + self.least
        log = np.log(np.maximum(self.chances, 1e-300)) + weeps * np.log(more)
        tilted = np.exp(log - log.max())
        tilted /= tilted.sum()
        return float(tilted[weeps < self.seen].sum() + tilted[weeps == self.seen].sum() / 2)


def beside(strata: Iterable[tuple[str, Stratum]]) -> Beside:
    """A group beside others, from its strata, each with the name of its van."""
    from scipy.stats import hypergeom

    chances, least, seen, vans = np.ones(1), 0, 0, set[str]()
    together = joints = 0
    for van, one in strata:
        joints += one.joints
        if one.joints and one.other_joints:
            vans.add(van)
            together += one.joints
        if not one.tells:
            continue
        whole, weeps = one.joints + one.other_joints, one.wept + one.other_wept
        low, high = max(0, weeps - one.other_joints), min(weeps, one.joints)
        each = hypergeom.pmf(np.arange(low, high + 1), whole, weeps, one.joints)
        chances, least, seen = np.convolve(chances, each), least + low, seen + one.wept
    return Beside(seen, least, chances, len(vans), together / joints if joints else 0.0)
