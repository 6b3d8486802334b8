"""How taps and mixing valves stand that are set by hand: each alone, until its water is right.

A tap that was set stays where it was left, through the whole cycle of a pump that its switch
starts and stops.  One that turns by itself follows what comes and draws otherwise in the cycle, so
the place that such a valve would find is no more than a good guess, and is looked at.

Where a burner gives all that it has, or lights at a flow, there may be several places with water
that is as warm as wished, or none.  Then a tap stands where a person leaves it who turns it from
cold to hot and stops as soon as the water is warm enough.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..network.layout import Layout
from ..network.links import Flags, Floats, Whole
from ..network.network import answers
from ..network.newton import Found
from .moment import NOTHING
from .turned import COLDEST, HOTTEST, open_flags
from .van_network import BuildNetwork

AS_WISHED = 1e-6
"""K off at which water is as warm as wished."""
HAIR = 0.02
"""How much farther to cold a tap is tried: if it isn't colder there, it was warm enough before."""
PLACES = 17
"""Places from cold to hot at which a tap is tried where a guess does not hold."""
FEW = 4
"""One place in so many has a long look where nothing is found soon."""
NARROW, TURNS = 1e-9, 100
"""Width of the gap between too cold and warm enough that is left, and patience."""


def set_positions(
    made: BuildNetwork, source: str, fixture: str = "", guess: Found | None = None
) -> Floats:
    """Positions of all mixing valves and taps as their users set them, shape (V, mixers).

    With ``fixture`` only of those that are set with it; others stand half way.  ``guess`` is that
    fixture open alone in each variant with its one tap turning by itself, if it is at hand.
    """
    count, variants = len(made.mixers), made.net.layout().variants
    found = np.full((variants, count), 0.5)
    todo = np.array(
        [
            i
            for i in range(count)
            if made.set_by[i] and not made.self_acting[i] and fixture in ("", made.set_by[i])
        ],
        int,
    )
    # Nobody can set a tap that gives nothing: it is set on shore then, or stays half way.
    left = np.ones((variants, len(todo)), bool)
    for one in (source, *(["shore"] if made.shores and source != "shore" else [])):
        row, place = np.nonzero(left)
        if len(row):
            at_hand = guess if one == source and len(todo) == 1 else None
            stands = _Turning(made, one, row, todo[place], at_hand).places()
            good = ~np.isnan(stands)
            found[row[good], todo[place[good]]] = stands[good]
            left[row[good], place[good]] = False
    return found


def stays_where_it_turns(layout: Layout, found: Found) -> Flags:
    """Variants in which a tap set by hand surely stands where one that turns by itself does, (V,).

    Not where a pump cycles, nor behind a heater whose warmth hangs on the flow.
    """
    return np.asarray(found.done & ~found.cycling.any(axis=1) & layout.all_stores)


@dataclass
class _Turning:
    """Taps and valves that are set, each with its own fixture open alone: R of them.

    ``row`` (R,) is the variant of each, ``mixer`` (R,) its place among the mixing valves;
    ``given`` is how they stood if they turned by themselves, where that is known.
    """

    made: BuildNetwork
    source: str
    row: Whole
    mixer: Whole
    given: Found | None = None

    def __post_init__(self) -> None:
        made, layout = self.made, self.made.net.layout()
        self.layout = layout
        which, kind = np.unique(self.mixer, return_inverse=True)
        flags = open_flags(made, [(made.set_by[i],) for i in which], [self.source] * len(which))
        self.links = layout.open_links({n: flag[kind] for n, flag in flags.items()}, self.row)
        outlets = [layout.path_of[layout.index[made.set_by[i]]] for i in which]
        self.outlet = np.array(outlets, int)[kind]
        self.mixed = layout.end[layout.hot[self.mixer]]
        wished = layout.figures.mixed
        self.wished = wished[self.row if len(wished) > 1 else 0, self.mixer]
        every = np.arange(len(self.row))
        half = np.full((len(every), len(made.mixers)), 0.5)
        # as though they turned by themselves: right at once where nothing hangs on their turning
        self.guess = self.given or self._answers(
            every, half, np.full((1, len(made.mixers)), True), patient=False
        )

    def _answers(self, rows: Whole, positions: Floats, acting: Flags, patient: bool) -> Found:
        figures = self.layout.figures.take(self.row[rows])
        figures = replace(figures, position=positions, thermostatic=acting)
        return answers(self.layout, figures, self.links[rows], patient=patient)

    def _passes(self, found: Found, rows: Whole) -> Flags:
        """Whether water comes out."""
        at = (np.arange(len(rows)), self.outlet[rows])
        return np.asarray(found.flow[at] > NOTHING * found.density[at])

    def _off(self, rows: Whole, places: Floats, patient: bool = False) -> Floats:
        """How much warmer than wished the water is with some taps at these places, K.

        NaN where there is no steady state, or no water; without ``patient`` also where none is
        found soon, since a search looks at many places.
        """
        each = np.arange(len(rows))
        positions = self.guess.position[rows]
        positions[each, self.mixer[rows]] = places
        found = self._answers(rows, positions, np.array([self.made.self_acting]), patient)
        warm = found.warm[each, self.mixed[rows]] - self.wished[rows]
        return np.where(found.done & self._passes(found, rows), warm, np.nan)

    def places(self) -> Floats:
        """Where each is left, shape (R,); NaN where no water comes."""
        every = np.arange(len(self.row))
        found = self.guess.position[every, self.mixer]
        found[self.guess.done & ~self._passes(self.guess, every)] = np.nan
        doubtful = ~stays_where_it_turns(self.layout, self.guess)
        rows = np.flatnonzero(doubtful & ~np.isnan(found))
        if len(rows):
            again = rows[~self._holds(rows, found[rows])]
            if len(again):
                found[again] = self._search(again)
        return found

    def _holds(self, rows: Whole, places: Floats) -> Flags:
        """Whether the water is right, or can't be, and is no better a hair farther to cold."""
        both = np.concatenate([places, np.maximum(places - HAIR, COLDEST)])
        off, before = self._off(np.concatenate([rows, rows]), both, patient=True).reshape(2, -1)
        right = np.abs(off) < AS_WISHED
        right |= (places > HOTTEST - 0.5 * COLDEST) & (off < 0)
        right &= ~(before > np.minimum(off, 0.0) + AS_WISHED)
        return np.asarray(right | ((places < 1.5 * COLDEST) & (off >= 0)))

    def _search(self, rows: Whole) -> Floats:
        """The first place from cold to hot with water that is warm enough; else wholly hot.

        NaN where no water comes at any.
        """
        tried = np.linspace(COLDEST, HOTTEST, PLACES)
        off = self._off(np.repeat(rows, PLACES), np.tile(tried, len(rows))).reshape(-1, PLACES)
        self._look_longer(rows, tried, off)
        enough = off >= 0
        first = np.argmax(enough, axis=1)
        found = np.where(enough.any(axis=1), tried[first], HOTTEST)
        found[np.isnan(off).all(axis=1)] = np.nan
        each = np.flatnonzero(first > 0)
        if len(each):
            last = first[each]
            gap = (tried[last - 1], tried[last], off[each, last - 1], off[each, last])
            found[each] = self._between(rows[each], *gap)
        return found

    def _look_longer(self, rows: Whole, tried: Floats, off: Floats) -> None:
        """Fills in (R, PLACES) what was not found soon, where that may be the first warm enough.

        A long look at a few places first, then at those before the first of them that is warm
        enough, unless that alone has a steady state: a look at each that has none takes seconds.
        """
        places = np.arange(PLACES)
        for step in (FEW, 1):
            first = np.where((off >= 0).any(axis=1), np.argmax(off >= 0, axis=1), PLACES)
            wanted = np.isnan(off) & (places < first[:, None]) & (places % step == 0)
            if step == 1:
                last = first - 1 - (first - 1) % FEW
                known = np.count_nonzero(np.isfinite(off), axis=1)
                wanted &= ((first < PLACES) & (known > 1))[:, None] & (places > last[:, None])
            row, place = np.nonzero(wanted)
            if len(row):
                off[row, place] = self._off(rows[row], tried[place], patient=True)

    def _between(
        self, rows: Whole, low: Floats, high: Floats, off_low: Floats, off_high: Floats
    ) -> Floats:
        """Where it begins to be warm enough: on a line through both ends time and again.

        Where warmth jumps, as where a burner lights, it is the warm side of the jump.  No long
        look is had beside places without a steady state.
        """
        blind = np.isnan(off_low)
        off_low = np.nan_to_num(off_low, nan=-1.0)
        stayed = np.zeros(len(rows))
        for _ in range(TURNS):
            some = np.flatnonzero((high - low > NARROW) & (off_high > AS_WISHED))
            if not len(some):
                break
            a, b, short, over = low[some], high[some], off_low[some], off_high[some]
            tried = b - over / (over - short) * (b - a)
            off = np.empty(len(some))
            for patient in (True, False):
                now = np.flatnonzero(blind[some] != patient)
                if len(now):
                    off[now] = self._off(rows[some[now]], tried[now], patient)
            blind[some] |= np.isnan(off)
            off = np.nan_to_num(off, nan=-1.0)
            enough = off >= 0
            # an end that stays for the second time counts half, so that it comes to move
            again = np.where(stayed[some] == np.where(enough, -1, 1), 0.5, 1.0)
            stayed[some] = np.where(enough, -1, 1)
            low[some], high[some] = np.where(enough, a, tried), np.where(enough, tried, b)
            off_low[some] = np.where(enough, again * short, off)
            off_high[some] = np.where(enough, off, again * over)
        return high
