"""Which piece of tube is cut from which length: mixed lengths and offcuts, fewest to buy.

``cut_plan(pieces, shelf, kerf, new, allowance)`` is the door.  It knows nothing of vans: lengths
are whole units of any size (the board's ticks, say), so that no piece is lost to rounding, and
what comes back numbers the pieces as they were given.

A plan is better that buys fewer lengths; of those, one that leaves more whole lengths on the
shelf, so that offcuts are used first; of those, one that takes the least length off the shelf, so
that the least is left over; of those, one with the longest single end.

A *pattern* is what is cut from one length.  Few pieces have few patterns that no piece can be
added to; all of them are given to a whole-number program, and what it finds is proved to be best.
Many pieces have too many, so patterns are made as the prices of the pieces ask for them (Gilmore
and Gomory, Operations Research 9 (1961) 849, from memory), and the prices also give a bound that
no plan can beat.  How far the plan is from it is told.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from math import gcd, inf
from operator import neg
from typing import TYPE_CHECKING

from ...words.brief import brief

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST_PATTERNS = 4000
"""Patterns that are all written down; beyond it they are made as prices ask for them."""
ROUNDS = 40
"""Rounds of making patterns by price at most."""
UNITS = 4000
"""Units into which the longest length is divided at most when patterns are made by price."""
NODES = 20
"""Branches that the whole-number program may try: a count, not a time, so that one machine cuts
as another does."""
TINY = 1e-6


@brief
@dataclass(frozen=True)
class Bar:
    """One length from the shelf (or one to be bought) and what is cut from it, in order.

    ``left`` is what stays after all cuts; ``numbers`` are the pieces' places in what was asked.
    """

    length: int
    pieces: tuple[int, ...]
    left: int
    bought: bool = False
    numbers: tuple[int, ...] = ()


@brief
@dataclass(frozen=True)
class CutPlan:
    """Bars with their pieces, and how good that is.

    No plan can buy fewer lengths than ``least_bought``; ``proved`` says that none takes less
    off the shelf either.  ``missing`` are pieces that no length there is is long enough for
    (``missing_numbers`` their places in what was asked).  Every piece has its ``allowance``
    beside it on its bar: what is left is what stays if all allowances are used up.
    """

    bars: tuple[Bar, ...] = ()
    least_bought: int = 0
    proved: bool = True
    missing: tuple[int, ...] = ()
    missing_numbers: tuple[int, ...] = ()
    allowance: int = 0

    @property
    def pieces(self) -> tuple[int, ...]:
        """All pieces, bar by bar."""
        return tuple(p for bar in self.bars for p in bar.pieces)

    def offcuts(self, least: int) -> tuple[int, ...]:
        """What goes back on the shelf: ends at least so long."""
        return tuple(b.left for b in self.bars if b.left >= least and b.pieces)

    @property
    def waste(self) -> int:
        """All that is left over, kerfs not counted."""
        return sum(b.left for b in self.bars)

    @property
    def bought(self) -> int:
        """How many lengths must be bought beyond the shelf."""
        return sum(b.bought for b in self.bars)

    @property
    def verdict(self) -> str:
        """How good the plan is, in words."""
        if self.bought > self.least_bought:
            more = self.bought - self.least_bought
            return f"A plan that buys {more} fewer was neither found nor ruled out."
        if not self.proved:
            return "No plan buys fewer; one that leaves less over was neither found nor ruled out."
        return "No plan buys fewer lengths, and of those none leaves less over."


@dataclass(frozen=True)
class _Kind:
    """All lengths of one size: how many may be used, and whether they would have to be bought."""

    length: int
    count: int
    bought: bool = False


Pattern = tuple[int, ...]
"""How many of each size are cut from one length."""


def cut_plan(
    pieces: Sequence[int],
    shelf: Sequence[tuple[int, int]],
    kerf: int,
    new: int = 0,
    allowance: int = 0,
) -> CutPlan:
    """The plan that buys fewest lengths, uses offcuts first, and then leaves least over.

    ``shelf`` has (length, how many) of what is there, ``new`` the length that can be bought
    when that is not enough (the longest on the shelf if 0); an offcut is anything shorter than
    that.  ``kerf`` is lost at every cut, ``allowance`` kept spare for each piece.  All lengths
    in one whole unit.  ValueError if one is not above zero (kerf and allowance: below zero).
    """
    _refuse(pieces, shelf, kerf, new, allowance)
    new = new or max((length for length, _ in shelf), default=0)
    sizes = [p + allowance for p in pieces]
    first, missing = first_fit(sizes, shelf, kerf, new)
    wanted = list((Counter(sizes) - Counter(missing)).elements())
    bars, least, proved = _best(wanted, shelf, kerf, new, first)
    return _numbered(CutPlan(bars, least, proved, missing, (), allowance), pieces)


def _refuse(
    pieces: Sequence[int], shelf: Sequence[tuple[int, int]], kerf: int, new: int, allowance: int
) -> None:
    wrong = [f"a piece of {p}" for p in pieces if p <= 0]
    wrong += [f"{n} lengths of {length}" for length, n in shelf if length <= 0 or n < 0]
    given = (("kerf", kerf), ("new length", new), ("allowance", allowance))
    wrong += [f"a {what} of {n}" for what, n in given if n < 0]
    if wrong:
        raise ValueError(f"cut_plan(): {'; '.join(wrong)}: lengths must be above zero")


def _numbered(plan: CutPlan, pieces: Sequence[int]) -> CutPlan:
    """Allowances taken off again, and every piece given its place in what was asked."""
    places: dict[int, list[int]] = {}
    for number, piece in reversed(list(enumerate(pieces))):
        places.setdefault(piece, []).append(number)
    bars = []
    for bar in plan.bars:
        cut = tuple(p - plan.allowance for p in bar.pieces)
        bars.append(replace(bar, pieces=cut, numbers=tuple(places[p].pop() for p in cut)))
    missing = tuple(p - plan.allowance for p in plan.missing)
    numbers = tuple(places[p].pop() for p in missing)
    return replace(plan, bars=tuple(bars), missing=missing, missing_numbers=numbers)


def left_over(length: int, pieces: Sequence[int], kerf: int) -> int:
    """What stays of a length: each piece costs a kerf, but one that ends with the bar."""
    return max(0, length - sum(pieces) - kerf * len(pieces))


def fits(length: int, pieces: Sequence[int], kerf: int) -> bool:
    """Whether the pieces can be cut from the length."""
    if not pieces:
        return True
    return sum(pieces) + kerf * (len(pieces) - 1) <= length


def first_fit(
    pieces: Sequence[int], shelf: Sequence[tuple[int, int]], kerf: int, new: int
) -> tuple[tuple[Bar, ...], tuple[int, ...]]:
    """Longest piece first, each into the first length that still takes it; short lengths first.

    The bars, and the pieces that found none and are longer than what can be bought.
    """
    rooms = [length + kerf for length, count in sorted(shelf) for _ in range(count)]
    on_shelf = len(rooms)
    taken: list[list[int]] = [[] for _ in rooms]
    lengths = [room - kerf for room in rooms]
    missing = []
    for piece in sorted(pieces, reverse=True):
        number = next((n for n, room in enumerate(rooms) if piece + kerf <= room), len(rooms))
        if number == len(rooms):
            if piece > new:
                missing.append(piece)
                continue
            rooms.append(new + kerf)
            lengths.append(new)
            taken.append([])
        rooms[number] -= piece + kerf
        taken[number].append(piece)
    bars = [
        _bar(lengths[number], some, kerf, number >= on_shelf)
        for number, some in enumerate(taken)
        if some
    ]
    return tuple(bars), tuple(missing)


def _bar(length: int, pieces: Sequence[int], kerf: int, bought: bool) -> Bar:
    return Bar(length, tuple(pieces), left_over(length, pieces, kerf), bought)


def _rank(bars: Sequence[Bar], new: int) -> tuple[int, int, int, int, int]:
    """What a plan is judged by, smaller better, the weightiest first."""
    return (
        sum(b.bought for b in bars),
        sum(b.length >= new for b in bars if not b.bought),
        sum(b.length for b in bars),
        len(bars),
        -max((b.left for b in bars), default=0),
    )


def _best(
    wanted: Sequence[int],
    shelf: Sequence[tuple[int, int]],
    kerf: int,
    new: int,
    first: tuple[Bar, ...],
) -> tuple[tuple[Bar, ...], int, bool]:
    """The best bars, the least that must be bought, and whether nothing better exists."""
    if not wanted:
        return (), 0, True
    bought = sum(b.bought for b in first)
    many = Counter[int]()
    for length, count in shelf:
        many[length] += count
    offcuts = [_Kind(length, count) for length, count in sorted(many.items()) if count]
    need = sum(wanted) + kerf * len(wanted)
    if {k.length for k in offcuts} <= {new}:
        enough = -(-need // (new + kerf))
        if len(first) == enough:  # one size of length, as few as the pieces' own length asks for
            return first, max(0, enough - sum(many.values())), True
    cutting = _Cutting(wanted, kerf)
    kinds = [*offcuts, _Kind(new, bought, True)] if bought else offcuts
    plans, least = [first], 0
    if bought:
        found, bound = cutting.cheapest(kinds, [float(k.bought) for k in kinds], first)
        plans.append(found)
        least = -int(-(bound - TINY) // 1)
        bought = min(sum(b.bought for b in plan) for plan in plans)
        kinds = [replace(k, count=bought) if k.bought else k for k in kinds]
        kinds = [k for k in kinds if k.count]
    plans.sort(key=lambda plan: _rank(plan, new))
    # One whole length left on the shelf weighs more than all that could be left over.
    longest = max(k.length for k in kinds)
    whole = 1 + sum(k.length * min(k.count, len(wanted)) for k in kinds) / longest
    costs = [k.length / longest + whole * (k.length >= new and not k.bought) for k in kinds]
    found, bound = cutting.cheapest(kinds, costs, plans[0])
    plans.append(found)
    plans += [_gathered(plan, kerf) for plan in plans]
    best = min(plans, key=lambda plan: _rank(plan, new))
    price = {(k.length, k.bought): cost for k, cost in zip(kinds, costs, strict=True)}
    paid = sum(price[b.length, b.bought] for b in best)
    fewest = sum(b.bought for b in best) == least
    return best, least, fewest and paid <= bound + max(TINY, 0.5 / longest)


def _gathered(bars: Sequence[Bar], kerf: int) -> tuple[Bar, ...]:
    """The same lengths filled one after the other, so that what is left is in one end, if it can.

    The bars as they were if the pieces don't fit in that way.
    """
    order = sorted(bars, key=lambda b: (b.bought, b.length))
    rooms = [b.length + kerf for b in order]
    taken: list[list[int]] = [[] for _ in order]
    for piece in sorted(chain.from_iterable(b.pieces for b in bars), reverse=True):
        number = next((n for n, room in enumerate(rooms) if piece + kerf <= room), None)
        if number is None:
            return tuple(bars)
        rooms[number] -= piece + kerf
        taken[number].append(piece)
    return tuple(
        _bar(b.length, some, kerf, b.bought) for b, some in zip(order, taken, strict=True) if some
    )


class _Cutting:
    """Pieces that must be cut, and the cheapest lengths to cut them from."""

    def __init__(self, wanted: Sequence[int], kerf: int) -> None:
        self.kerf = kerf
        self.demand = Counter(wanted)
        self.sizes = sorted(self.demand, reverse=True)
        self.need = [self.demand[s] for s in self.sizes]
        weights = [(s + kerf) * n for s, n in zip(self.sizes, self.need, strict=True)]
        self.after = [sum(weights[place:]) for place in range(len(weights) + 1)]

    def cheapest(
        self, kinds: Sequence[_Kind], costs: Sequence[float], known: Sequence[Bar]
    ) -> tuple[tuple[Bar, ...], float]:
        """Bars of the least cost that was found, and a cost that no plan is below.

        ``known`` is a plan that is possible: what is found is never dearer.
        """
        columns = self._all_patterns(kinds)
        bound = None
        if columns is None:
            columns = self._known_patterns(kinds, known)
            bound = self._priced(kinds, costs, columns)
        found, proved = self._whole_numbers(kinds, costs, columns)
        bars = self._trimmed(kinds, columns, found) if found is not None else tuple(known)
        return bars, proved if bound is None else max(bound, 0.0)

    def _known_patterns(
        self, kinds: Sequence[_Kind], known: Sequence[Bar]
    ) -> list[tuple[int, Pattern]]:
        place = {(k.length, k.bought): n for n, k in enumerate(kinds)}
        found = []
        for bar in known:
            count = Counter(bar.pieces)
            found.append((place[bar.length, bar.bought], tuple(count[s] for s in self.sizes)))
        return list(dict.fromkeys(found))

    def _all_patterns(self, kinds: Sequence[_Kind]) -> list[tuple[int, Pattern]] | None:
        """Every pattern that no piece can be added to, for each kind; None if they are too many."""
        found: list[tuple[int, Pattern]] = []
        for number, kind in enumerate(kinds):
            for pattern in self._maximal(kind.length + self.kerf, 0, {}, inf):
                found.append((number, pattern))
                if len(found) > MOST_PATTERNS:
                    return None
        return found

    def _maximal(
        self, room: int, place: int, start: dict[int, int], spare: float
    ) -> Iterator[Pattern]:
        """Those that begin so: how many of which size are taken, looked at up to ``place``.

        ``spare`` is the least of what was not taken as often as needed.  The longest come first.
        """
        while room - self.after[place] < spare:  # else that one would fit beside all the smaller
            place = bisect_left(self.sizes, self.kerf - room, lo=place, key=neg)
            if place == len(self.sizes):
                if start and room < spare:
                    yield tuple(start.get(k, 0) for k in range(place))
                return
            weight, need = self.sizes[place] + self.kerf, self.need[place]
            last = place == len(self.sizes) - 1
            most = min(need, room // weight)
            for many in (most,) if last else range(most, 0, -1):
                least = min(spare, weight) if many < need else spare
                yield from self._maximal(
                    room - many * weight, place + 1, {**start, place: many}, least
                )
            if last:
                return
            spare, place = min(spare, weight), place + 1

    def _priced(
        self, kinds: Sequence[_Kind], costs: Sequence[float], columns: list[tuple[int, Pattern]]
    ) -> float:
        """Patterns added by price until none is worth its cost; the best bound on the way."""
        import numpy as np
        from scipy.optimize import linprog

        rooms = [k.length + self.kerf for k in kinds]
        counts = np.array([k.count for k in kinds], dtype=float)
        seen = set(columns)
        # At first a piece's price is its share of a whole length, which loses nothing to rounds.
        longest = max(rooms)
        bound = max(
            self.bound(
                [scale * (s + self.kerf) / longest for s in self.sizes], rooms, costs, counts
            )
            for scale in set(costs)
        )
        for _ in range(ROUNDS):
            cover, use = self._matrices(columns, len(kinds))
            answer = linprog(
                [costs[kind] for kind, _ in columns],
                A_ub=np.vstack([-cover, use]),
                b_ub=np.concatenate([-np.array(self.need, dtype=float), counts]),
                method="highs",
            )
            if not answer.success:
                break
            prices = -answer.ineqlin.marginals[: len(self.sizes)]
            rents = answer.ineqlin.marginals[len(self.sizes) :]
            bound = max(bound, self.bound(prices, rooms, costs, counts))
            added = 0
            for number, (pattern, worth) in enumerate(self.dearest(prices, rooms)):
                fresh = (number, pattern)
                if worth > costs[number] - rents[number] + 1e-9 and fresh not in seen:
                    seen.add(fresh)
                    columns.append(fresh)
                    added += 1
            if not added or bound >= answer.fun - TINY:
                break
        return bound

    def bound(
        self,
        prices: Sequence[float] | NDArray,
        rooms: Sequence[int],
        costs: Sequence[float],
        counts: Sequence[float] | NDArray,
    ) -> float:
        """A cost that no plan is below, whatever the prices of the pieces are.

        All pieces at their prices, less what each length that may be used is at most worth above
        its cost.  Sizes are rounded down to units here, so that no pattern is left out.
        """
        worth = [value for _, value in self.dearest(prices, rooms, down=True)]
        gain = sum(
            count * min(0.0, cost - value)
            for count, cost, value in zip(counts, costs, worth, strict=True)
        )
        return float(sum(p * n for p, n in zip(prices, self.need, strict=True)) + gain)

    def dearest(
        self, prices: Sequence[float] | NDArray, rooms: Sequence[int], down: bool = False
    ) -> list[tuple[Pattern, float]]:
        """For each room the dearest set of pieces that fits it, and its worth.

        A knapsack over whole units.  The unit is the greatest common one, or, if that is too
        fine, one to which each piece is rounded up, so that what is found always fits (or
        rounded down, so that its worth is never too low).
        """
        import numpy as np

        weights = [s + self.kerf for s in self.sizes]
        unit = max(gcd(*rooms, *weights), -(-max(rooms) // UNITS))
        units = [w // unit if down else -(-w // unit) for w in weights]
        spaces = [room // unit for room in rooms]
        most = max(spaces)
        worth = np.zeros(most + 1)
        steps: list[tuple[int, int, NDArray]] = []
        for index, (size, price) in enumerate(zip(units, prices, strict=True)):
            left, many = self.need[index], 1
            while left > 0 and price > 1e-12:
                take = min(many, left)
                span = size * take
                if span <= most:
                    better = worth[: most + 1 - span] + take * price
                    taken = np.zeros(most + 1, dtype=bool)
                    taken[span:] = better > worth[span:] + 1e-12
                    worth[span:] = np.where(taken[span:], better, worth[span:])
                    steps.append((index, take, taken))
                left -= take
                many *= 2
        found = []
        for space in spaces:
            counts, at = [0] * len(self.sizes), space
            for index, take, taken in reversed(steps):
                if taken[at]:
                    counts[index] += take
                    at -= units[index] * take
            found.append((tuple(counts), float(np.dot(counts, prices))))
        return found

    def _matrices(
        self, columns: Sequence[tuple[int, Pattern]], kinds: int
    ) -> tuple[NDArray, NDArray]:
        """Pieces that each column covers, and the kind of length that it uses."""
        import numpy as np

        cover = np.array([pattern for _, pattern in columns], dtype=float).T
        use = np.zeros((kinds, len(columns)))
        use[[kind for kind, _ in columns], range(len(columns))] = 1.0
        return cover, use

    def _whole_numbers(
        self, kinds: Sequence[_Kind], costs: Sequence[float], columns: Sequence[tuple[int, Pattern]]
    ) -> tuple[list[int] | None, float]:
        """How often each pattern is cut, and the program's own bound for these patterns."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        cover, use = self._matrices(columns, len(kinds))
        answer = milp(
            [costs[kind] for kind, _ in columns],
            constraints=[
                LinearConstraint(cover, self.need, np.inf),
                LinearConstraint(use, 0, [k.count for k in kinds]),
            ],
            bounds=Bounds(0, np.inf),
            integrality=np.ones(len(columns)),
            options={"node_limit": NODES, "mip_rel_gap": 0.0},
        )
        proved = answer.get("mip_dual_bound")
        bound = float(proved) if proved is not None and np.isfinite(proved) else 0.0
        if answer.x is None:
            return None, bound
        return [int(n) for n in np.rint(answer.x)], bound

    def _trimmed(
        self,
        kinds: Sequence[_Kind],
        columns: Sequence[tuple[int, Pattern]],
        times: Sequence[int],
    ) -> tuple[Bar, ...]:
        """The patterns as bars, with no piece cut more often than it is wanted."""
        left = Counter(self.demand)
        bars = []
        for (number, pattern), many in zip(columns, times, strict=True):
            kind = kinds[number]
            for _ in range(many):
                taken: list[int] = []
                for size, most in zip(self.sizes, pattern, strict=True):
                    use = min(most, left[size])
                    left[size] -= use
                    taken += [size] * use
                if taken:
                    bars.append(_bar(kind.length, taken, self.kerf, kind.bought))
        return tuple(sorted(bars, key=lambda b: (b.bought, b.length)))


__all__ = ["Bar", "CutPlan", "cut_plan", "first_fit", "fits", "left_over"]
