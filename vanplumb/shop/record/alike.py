"""How often joints weep, where the joints of one van are alike: a beta-binomial of vans.

The joints of one van were made in the same days, by the same hands, from the same boxes; when
one weeps, others of that van are likelier to.  So each van has its own chance, spread about that
of the group as a Beta with the mean ``chance`` and the likeness ``rho``: 0 where vans differ by
luck alone, 1 where all joints of a van do the same (Skellam 1948; rho is the correlation of two
joints of a van).  Beliefs begin at Jeffreys' Beta(1/2, 1/2) for the chance and at Beta(1, 9) for
the likeness, which is an assumption of this kit: its mean is 0.1.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from .reliability import SURE

Array = NDArray[np.float64]
CHANCES, LIKENESSES = 300, 20
"""How fine the beliefs are."""
STRANGE = 9.0
"""What is believed of the likeness before anything was seen: Beta(1, 9)."""


@dataclass(frozen=True)
class OfVan:
    """Joints of one van that were tested, and how many wept.

    ``due`` is the share that the kinds of its joints alone would lead one to expect to weep;
    only its proportion from van to van counts.
    """

    joints: int
    wept: int
    due: float = 1.0


def _grid() -> tuple[Array, Array]:
    """Chances from 0 to 1, closer together near 0, and the Jeffreys belief in each."""
    u = (np.arange(CHANCES) + 0.5) / CHANCES
    weight = u / u.sum()  # even steps of asin(sqrt(chance)) are the Jeffreys belief
    return np.sin(np.pi / 2 * u**2) ** 2, weight


@lru_cache(maxsize=1)
def _likenesses() -> tuple[Array, Array]:
    """Likenesses, and what is believed of each at first (Gauss-Jacobi places and weights)."""
    from scipy.special import roots_jacobi

    places, weights = roots_jacobi(LIKENESSES, STRANGE - 1, 0.0)
    return (places + 1) / 2, weights / weights.sum()


def _log_chance(vans: Sequence[OfVan]) -> Array:
    """Log of the chance of what was seen, for each likeness and chance: (likenesses, chances)."""
    from scipy.special import gammaln

    chance, _ = _grid()
    rho = _likenesses()[0][:, None]
    spread = (1 - rho) / rho
    whole = _due(vans) if vans else 1.0
    found = np.zeros((LIKENESSES, CHANCES))
    for van, many in Counter(vans).items():
        mean = np.clip(chance * (van.due / whole), 1e-12, 1 - 1e-9)[None, :]
        weep, hold = mean * spread, (1 - mean) * spread
        held = van.joints - van.wept
        # ratios of Gamma functions; that of the few weeps as a product
        log = gammaln(hold + held) - gammaln(hold)
        for number in range(van.wept):
            log += np.log(weep + number)
        found += many * (log - gammaln(spread + van.joints) + gammaln(spread))
    return found


def _due(vans: Sequence[OfVan]) -> float:
    """The share of all their joints that the kinds lead to expect to weep."""
    return sum(v.due * v.joints for v in vans) / sum(v.joints for v in vans)


def _counted(vans: Sequence[OfVan]) -> tuple[OfVan, ...]:
    found = tuple(v for v in vans if v.joints)
    for van in found:
        if not 0 <= van.wept <= van.joints or van.due <= 0:
            raise ValueError(f"a van can't have {van.wept} weeps of {van.joints} joints")
    return found


@dataclass(frozen=True, eq=False)
class Likeness:
    """How alike joints of one van are: beliefs ``weight`` in the likenesses ``rho``."""

    weight: Array

    @property
    def rho(self) -> Array:
        return _likenesses()[0]

    @property
    def mean(self) -> float:
        return float(self.weight @ self.rho)

    @property
    def limits(self) -> tuple[float, float]:
        """Its 95 % limits."""
        return _limits(self.rho, self.weight)


def likeness(vans: Sequence[OfVan]) -> Likeness:
    """What whole vans say of how alike their joints are; what was believed before, without any."""
    found = _log_chance(_counted(vans))
    _, prior = _grid()
    weight = (np.exp(found - found.max()) @ prior) * _likenesses()[1]
    return Likeness(weight / weight.sum())


@dataclass(frozen=True, eq=False)
class Chance:
    """What is believed of a group's chance that one of its joints weeps at its test.

    ``belief`` has shape (likenesses, chances), each row for its likeness; ``alike`` is how much
    each likeness is believed in.  ``due`` is the share that their kinds lead to expect to weep.
    """

    belief: Array
    alike: Likeness
    due: float
    vans: int
    joints: int
    wept: int

    @cached_property
    def _mixed(self) -> Array:
        mixed: Array = self.alike.weight @ self.belief
        return mixed

    @property
    def mean(self) -> float:
        chance, _ = _grid()
        return float(self._mixed @ chance)

    @property
    def limits(self) -> tuple[float, float]:
        """Its 95 % limits; the lower is nothing where nothing wept."""
        low, high = _limits(_grid()[0], self._mixed)
        return (0.0 if not self.wept else low), high

    def times(self, other: Chance, more: float) -> float:
        """How sure it is that this group weeps more than ``more`` times as often as another.

        Both beside what their kinds lead to expect.
        """
        chance, _ = _grid()
        at = chance / more * (other.due / self.due)
        told = 0.0
        for mine, theirs, weight in zip(self.belief, other.belief, self.alike.weight, strict=True):
            below = np.interp(at, chance, np.cumsum(theirs) - theirs / 2, left=0.0, right=1.0)
            told += float(weight * (mine @ below))
        return told


def chance(vans: Sequence[OfVan], alike: Likeness) -> Chance:
    """What some vans say of a group's chance, with the likeness that all vans show.

    ValueError for counts that can't be, or without a joint.
    """
    counted = _counted(vans)
    if not counted:
        raise ValueError("needs at least one joint that was tested")
    found = _log_chance(counted)
    _, prior = _grid()
    belief = np.exp(found - found.max(axis=1, keepdims=True)) * prior
    belief /= belief.sum(axis=1, keepdims=True)
    joints, wept = sum(v.joints for v in counted), sum(v.wept for v in counted)
    return Chance(belief, alike, _due(counted), len(counted), joints, wept)


def _limits(values: Array, weight: Array) -> tuple[float, float]:
    """The middle 95 % of a belief over rising values."""
    middle = np.cumsum(weight) - weight / 2
    tail = (1 - SURE) / 2
    low, high = np.interp([tail, 1 - tail], middle, values)
    return float(low), float(high)
