"""How sure joints are, from the few that wept among the many that were made.

Every interval is for the chance that one joint weeps at its test.  Joints are counted as
alike within their kind and size, and as knowing nothing of each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...formulas.joints import trials_needed

SURE = 0.95


@dataclass(frozen=True)
class Interval:
    """A chance with its limits; ``one_sided`` if nothing was seen, so that only a top is told."""

    low: float
    high: float
    method: str
    confidence: float = SURE
    one_sided: bool = False


def _checked(weeps: int, joints: int, confidence: float) -> None:
    if joints < 1:
        raise ValueError(f"needs at least one joint, got {joints}")
    if not 0 <= weeps <= joints:
        raise ValueError(f"weeps must be 0 to {joints}, got {weeps}")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must be between 0 and 1, got {confidence:g}")


def _beta_limit(share: float, a: float, b: float) -> float:
    """What a beta distribution lies below with that chance; scipy.stats takes a second to load."""
    from scipy.special import betaincinv

    return float(betaincinv(a, b, share))


def clopper_pearson(
    weeps: int, joints: int, confidence: float = SURE, *, one_sided: bool = False
) -> Interval:
    """Limits that hold the true chance at least so often, whatever it is (Clopper, Pearson 1934).

    Two-sided unless ``one_sided``: then the whole doubt is at the top.  ValueError for
    numbers that can't be.
    """
    _checked(weeps, joints, confidence)
    tail = (1 - confidence) if one_sided else (1 - confidence) / 2
    low = 0.0 if one_sided or weeps == 0 else _beta_limit(tail, weeps, joints - weeps + 1)
    high = 1.0 if weeps == joints else _beta_limit(1 - tail, weeps + 1, joints - weeps)
    return Interval(low, high, "Clopper-Pearson", confidence, one_sided)


def jeffreys(weeps: int, joints: int, confidence: float = SURE) -> Interval:
    """Limits from a belief that starts at Beta(1/2, 1/2); ends are 0 or 1 where all went one way.

    Shorter than Clopper-Pearson and right on average rather than always.
    """
    _checked(weeps, joints, confidence)
    tail = (1 - confidence) / 2
    a, b = weeps + 0.5, joints - weeps + 0.5
    low = 0.0 if weeps == 0 else _beta_limit(tail, a, b)
    high = 1.0 if weeps == joints else _beta_limit(1 - tail, a, b)
    return Interval(low, high, "Jeffreys", confidence)


@dataclass(frozen=True)
class Tally:
    """Joints of one kind and size that were tested, and how many of them wept."""

    kind: str
    joints: int
    weeps: int

    @property
    def exact(self) -> Interval:
        """Clopper-Pearson: one-sided when nothing wept."""
        return clopper_pearson(self.weeps, self.joints, one_sided=self.weeps == 0)

    @property
    def bayes(self) -> Interval:
        return jeffreys(self.weeps, self.joints)

    @property
    def mean(self) -> float:
        """Middle of the belief of ``bayes``: never quite nothing."""
        return (self.weeps + 0.5) / (self.joints + 1)

    def more(self, joints: int, weeps: int = 0) -> Tally:
        """The same kind after more joints."""
        return Tally(self.kind, self.joints + joints, self.weeps + weeps)


@dataclass(frozen=True)
class NextVan:
    """Chance that at least one joint of the next van weeps at its test.

    ``expected`` averages over what is believed of each kind; ``low`` and ``high`` are the
    2.5 and 97.5 % points of that chance.  ``unknown`` names kinds never tested before,
    which are left out.
    """

    expected: float
    low: float
    high: float
    joints: int
    unknown: tuple[str, ...] = ()


def next_van(tallies: Mapping[str, Tally], plan: Mapping[str, int], seed: int = 1) -> NextVan:
    """Chance of at least one weep in a van with ``plan`` joints of each kind.

    The mean is exact: for each kind the chance that none weeps is a ratio of Beta functions.
    The limits come from 20 000 seeded draws of the Jeffreys beliefs.
    """
    import numpy as np
    from scipy.special import betaln

    rng = np.random.default_rng(seed)
    log_none, drawn, unknown, count = 0.0, np.zeros(20_000), [], 0
    for kind, joints in plan.items():
        tally = tallies.get(kind)
        if tally is None:
            unknown.append(kind)
            continue
        a, b = tally.weeps + 0.5, tally.joints - tally.weeps + 0.5
        log_none += float(betaln(a, b + joints) - betaln(a, b))
        drawn += joints * np.log1p(-np.minimum(rng.beta(a, b, size=drawn.size), 1 - 1e-15))
        count += joints
    low, high = np.quantile(-np.expm1(drawn), [0.025, 0.975])
    return NextVan(-float(np.expm1(log_none)), float(low), float(high), count, tuple(unknown))


@dataclass(frozen=True)
class OneMoreVan:
    """What one more van without a weep changes in what is known."""

    now: NextVan
    then: NextVan


def one_more_clean_van(tallies: Mapping[str, Tally], plan: Mapping[str, int]) -> OneMoreVan:
    """The next van's chance now, and after a van like ``plan`` in which nothing wept."""
    after = {kind: tally.more(plan.get(kind, 0)) for kind, tally in tallies.items()}
    return OneMoreVan(next_van(tallies, plan), next_van(after, plan))


def clean_joints_for(chance: float, confidence: float = SURE) -> int:
    """Joints without a weep that show the chance of one to be no higher, at a confidence."""
    import math

    if not 0 < chance < 1:
        raise ValueError(f"chance must be between 0 and 1, got {chance:g}")
    return math.ceil(float(trials_needed.si(confidence, chance)) - 1e-9)


@dataclass(frozen=True)
class Sureness:
    """What many vans say about the next one."""

    tallies: Mapping[str, Tally]
    plan: Mapping[str, int]
    now: NextVan
    more: OneMoreVan


def sureness(tallies: Mapping[str, Tally], plan: Mapping[str, int]) -> Sureness:
    """From tallies and the joints of the next van."""
    return Sureness(tallies, plan, next_van(tallies, plan), one_more_clean_van(tallies, plan))
