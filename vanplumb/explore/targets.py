"""Targets: which variants meet them, which is the best of those, and what each target costs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..van.problems import nearest
from ..words.quantity import QuantityError, read
from .sums import LESS, MORE, Measure
from .variants import Variants

Array = NDArray[Any]

LOOSER = 0.1
"""By how much a target is loosened to tell its price."""
_SIGNS = {"<=": LESS, "≤": LESS, "<": LESS, "at most": LESS,
          ">=": MORE, "≥": MORE, ">": MORE, "at least": MORE}  # fmt: skip
_WORDS = {LESS: "at most", MORE: "at least"}
_FORM = re.compile(r"^\s*(.+?)\s*(<=|>=|≤|≥|<|>|at most|at least)\s*(.+?)\s*$")


@dataclass(frozen=True)
class Target:
    """One result at most ("less") or at least ("more") a limit, SI."""

    key: str
    side: str
    limit: float
    text: str

    def met(self, figures: Array) -> Array:
        """Which figures meet it; what is not a number does not."""
        with np.errstate(invalid="ignore"):
            return figures <= self.limit if self.side == LESS else figures >= self.limit

    def short(self, figures: Array) -> Array:
        """By which share of the limit figures miss it, 0 where they meet it."""
        gap = figures - self.limit if self.side == LESS else self.limit - figures
        gap = np.where(np.isnan(gap), np.inf, np.maximum(gap, 0.0))
        return gap / max(abs(self.limit), 1e-12)

    def looser(self, share: float = LOOSER) -> Target:
        """The same with its limit moved by a share of it."""
        move = share * abs(self.limit) * (1 if self.side == LESS else -1)
        return Target(self.key, self.side, self.limit + move, self.text)


@dataclass(frozen=True)
class Price:
    """What one target costs: the best that is possible without it, or with it loosened.

    Figures are SI and those of the result that is wanted best; not a number where the other
    targets can't be met even so.
    """

    target: Target
    loosened: float
    dropped: float
    binds: bool


@dataclass(frozen=True)
class Outcome:
    """What came of some targets.

    ``best`` is the variant that is best in ``wanted`` of those that meet all targets, or None;
    ``count`` how many meet them.  ``nearest`` is the variant that misses them least, ``misses``
    the targets that it misses.
    """

    variants: Variants
    targets: tuple[Target, ...]
    wanted: str
    count: int
    best: int | None
    nearest: int | None
    misses: tuple[Target, ...]
    prices: tuple[Price, ...]

    @property
    def value(self) -> float:
        """The best figure of the wanted result; not a number if no variant meets all."""
        return np.nan if self.best is None else float(self.variants.values[self.wanted][self.best])

    def __repr__(self) -> str:
        if self.best is None:
            missed = ", ".join(t.text for t in self.misses)
            return f"No variant meets all targets; the nearest misses: {missed}"
        told = self.variants.shown(self.wanted, self.best)
        meet_all = "1 variant meets" if self.count == 1 else f"{self.count} variants meet"
        label = self.variants.measures[self.wanted].label
        return f"{meet_all} all targets; the best {label} is {told}"


def target(variants: Variants, text: str) -> Target:
    """A target such as "wait at shower at most 20 s" or "nights at least 4"; <= and >= do too.

    The result is named by its key or label.  ValueError says what is wrong with the text.
    """
    found = _FORM.match(text)
    if not found:
        raise ValueError(f'needs a target such as "nights at least 4", got "{text}"')
    name, sign, figure = found.groups()
    one = named(variants, name)
    try:
        limit = read(figure, one.word)
    except QuantityError as error:
        raise ValueError(f"{one.label}: {error}") from None
    side = _SIGNS[sign]
    return Target(one.key, side, limit, f"{name} {_WORDS[side]} {figure}")


def named(variants: Variants, name: str) -> Measure:
    """The result of a key or label.  ValueError for an unknown one."""
    known = {m.key: m for m in variants.measures.values()}
    known |= {m.label: m for m in variants.measures.values()}
    if name not in known:
        raise ValueError(f"no result {name!r}{nearest(name, list(known))}")
    return known[name]


def meet(variants: Variants, texts: Sequence[str | Target], wanted: str = "weight") -> Outcome:
    """Search all variants for those that meet some targets, and price each target.

    ``wanted`` is the result that the best of them is best in.  ValueError lists every target
    that can't be read.
    """
    problems, targets = [], []
    for text in texts:
        try:
            targets.append(target(variants, text) if isinstance(text, str) else text)
        except ValueError as error:
            problems.append(str(error))
    if problems:
        raise ValueError("; ".join(problems))
    key = named(variants, wanted).key
    cost = variants.costs([key])[:, 0]
    flags = [t.met(variants.values[t.key]) for t in targets]
    all_of = np.logical_and.reduce([np.isfinite(cost), *flags])
    best = _least(cost, all_of)
    if best is not None:
        best = _roomiest(variants, targets, all_of & (cost == cost[best]))
    short = sum((t.short(variants.values[t.key]) for t in targets), np.zeros(variants.size))
    near = _least(short, np.isfinite(short))
    missed = () if near is None else tuple(
        t for t, f in zip(targets, flags, strict=True) if not f[near]
    )  # fmt: skip
    fine = np.isfinite(cost)
    prices = []
    for i, one in enumerate(targets):
        others = np.logical_and.reduce([fine, *flags[:i], *flags[i + 1 :]])
        prices.append(_price(variants, one, others, cost, key, best))
    return Outcome(
        variants, tuple(targets), key, int(all_of.sum()), best, near, missed, tuple(prices)
    )


def _price(
    variants: Variants, one: Target, others: Array, cost: Array, key: str, best: int | None
) -> Price:
    found = []
    for flags in (others & one.looser().met(variants.values[one.key]), others):
        place = _least(cost, flags)
        found.append(np.nan if place is None else float(variants.values[key][place]))
    without = _least(cost, others)
    binds = without is not None and (best is None or cost[without] < cost[best])
    return Price(one, found[0], found[1], bool(binds))


def _roomiest(variants: Variants, targets: Sequence[Target], flags: Array) -> int:
    """Of equally good variants the one that stands farthest inside its targets."""
    room = np.zeros(variants.size)
    for one in targets:
        figures = variants.values[one.key]
        inside = one.limit - figures if one.side == LESS else figures - one.limit
        room += np.where(flags, inside, 0.0) / max(abs(one.limit), 1e-12)
    return int(np.argmax(np.where(flags, room, -np.inf)))


def _least(cost: Array, flags: Array) -> int | None:
    """The first of the least among flagged rows."""
    if not np.any(flags):
        return None
    return int(np.argmin(np.where(flags, cost, np.inf)))
