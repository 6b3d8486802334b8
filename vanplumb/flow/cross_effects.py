"""What one fixture does to another: flows that starve and temperatures that jump."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import isfinite, nan
from typing import NamedTuple

import numpy as np

from ..network.links import Floats
from ..words.brief import brief
from .combinations import Combination, greatest
from .moment import NOTHING as LEAST
from .moment import TRICKLE, LinkState, Moment
from .neighbours import ALL_FIXTURES, Neighbours, part_of
from .solving import BuildFlow
from .turned import COLD, HOT, MIXED, SHUT, ways_to_turn

NOTHING = 1e-7
"""m³/s (6 mL/min): less does not count as flow through a valve."""


class _BeforeAndAfter:
    """What one fixture gives alone, and then: m³/s and K."""

    flow_alone: float
    flow: float
    warm_alone: float
    warm: float

    @property
    def rise(self) -> float:
        """Change of temperature, K; 0 where either is unknown."""
        change = self.warm - self.warm_alone
        return change if isfinite(change) else 0.0

    @property
    def share(self) -> float:
        """Part of the flow that is left."""
        return self.flow / self.flow_alone if self.flow_alone > 0 else 0.0


@brief
@dataclass(frozen=True)
class Jump(_BeforeAndAfter):
    """A fixture when another opens too: m³/s and K before and after.

    ``heater`` is how much cooler the hot water itself gets, K, where a heater can't warm both;
    negative where none gives cooler water, and one warmer, less running through it.
    """

    fixture: str
    other: str
    flow_alone: float
    flow: float
    warm_alone: float
    warm: float
    heater: float = 0.0


def jumps(flow: BuildFlow, arounds: Mapping[str, Around]) -> tuple[Jump, ...]:
    """Every ordered pair of fixtures, taps left as they were set; of many fixtures each with
    those that matter most to it."""
    found = []
    for one, around in arounds.items():
        before = flow.situation_of((one,))
        alone = before.fixtures[one]
        for other, after in around.beside().items():
            found.append(
                Jump(
                    one,
                    other,
                    alone.flow,
                    after.flow,
                    alone.temperature,
                    after.temperature,
                    around.cooler(before, after),
                )
            )
    return tuple(found)


@brief
@dataclass(frozen=True)
class Change(_BeforeAndAfter):
    """The greatest that other fixtures do to one, over all ways to open and turn them.

    ``others`` are open then, each with how it is turned; m³/s and K before and after.
    ``all_tried`` tells whether all combinations were tried, or the likeliest first; ``crowd``
    says in words which others are open, where these are all of very many.
    """

    fixture: str
    others: tuple[tuple[str, str], ...]
    flow_alone: float
    flow: float
    warm_alone: float
    warm: float
    heater: float = 0.0
    all_tried: bool = True
    crowd: str = ""

    @property
    def told(self) -> str:
        """The other fixtures in words."""
        if self.crowd:
            return self.crowd
        words = {HOT: " turned to hot", COLD: " turned to cold"}
        return " and ".join(f"{name}{words.get(how, '')}" for name, how in self.others)


class Seen(NamedTuple):
    """What a fixture gives in a case: ``warm`` K, if it is of use; flow in m³/s, K of any flow;
    K at the outlet of each heater."""

    warm: float
    flow: float
    temperature: float
    heaters: tuple[float, ...]


class Around:
    """A fixture as it was set, and the ways in which the others may stand around it.

    ``near`` are the others that are looked at, in ``part`` of the network; ``crowds`` ways in
    which all of them may stand at once, by what is said of them.
    """

    def __init__(
        self,
        flow: BuildFlow,
        fixture: str,
        near: Sequence[str],
        crowds: Mapping[str, Mapping[str, str]] | None = None,
    ) -> None:
        self.flow, self.fixture = flow, fixture
        self.crowds = crowds or {}
        self.all_tried = not self.crowds
        self.ways = {f: (SHUT, *ways_to_turn(flow.made, f)) for f in near}
        self.sizes = [len(w) for w in self.ways.values()]
        self.known: dict[Combination, Seen] = {}

    def __repr__(self) -> str:
        return f"Around {self.fixture}: {len(self.ways)} others, {len(self.known)} cases looked at"

    @cached_property
    def part(self) -> BuildFlow:
        """The network in which the cases are solved."""
        return self.flow if self.all_tried else part_of(self.flow, {self.fixture, *self.ways})

    def others(self, case: Combination) -> dict[str, str]:
        """The others that are open, and how."""
        each = {f: ways[k] for (f, ways), k in zip(self.ways.items(), case, strict=True)}
        return {f: how for f, how in each.items() if how != SHUT}

    def opened(self, case: Combination) -> dict[str, str]:
        return {self.fixture: MIXED, **self.others(case)}

    def _look(self, cases: list[Combination]) -> None:
        new = [c for c in cases if c not in self.known]
        if new:
            seen = looked(self.part, [(self.fixture, self.opened(c)) for c in new])
            self.known.update(zip(new, seen, strict=True))

    def warmth(self, cases: list[Combination]) -> Floats:
        self._look(cases)
        return np.array([self.known[c].warm for c in cases])

    def flows(self, cases: list[Combination]) -> Floats:
        self._look(cases)
        return np.array([self.known[c].flow for c in cases])

    def beside(self) -> dict[str, Seen]:
        """The fixture with each of the others open too, as it was set."""
        count = len(self.sizes)
        cases = {f: tuple(int(k == i) for k in range(count)) for i, f in enumerate(self.ways)}
        self._look(list(cases.values()))
        return {f: self.known[case] for f, case in cases.items()}

    def cooler(self, before: Moment, after: Seen) -> float:
        """The most that a heater's water is cooler than before, K; negative if all are warmer."""
        falls = []
        for heater, warm in zip(self.flow.build.heater, after.heaters, strict=True):
            if before.links[heater.name].flow > NOTHING:
                falls.append(before.nodes[f"{heater.name}.hot"].temperature - warm)
        moved = [fall for fall in falls if isfinite(fall)]
        return max(moved) if max(moved, default=0.0) > 0 else min(moved, default=0.0)


def looked(flow: BuildFlow, cases: Sequence[tuple[str, Mapping[str, str]]]) -> list[Seen]:
    """What a fixture gives in each case, solved in one batch; NaN where nothing is found."""
    solution = flow.batch([opened for _, opened in cases], patient=False).solution
    good = np.atleast_1d(solution.found)
    heaters = [
        np.where(good, solution.temperature[f"{h.name}.hot"], np.nan) for h in flow.build.heater
    ]
    place = {link.name: link.start for link in flow.made.net.links}
    found = []
    for i, (fixture, _) in enumerate(cases):
        passed = float(np.atleast_1d(solution.flow[fixture])[i]) if good[i] else nan
        warm = float(np.atleast_1d(solution.temperature[place[fixture]])[i])
        found.append(
            Seen(
                warm if passed > TRICKLE else nan,
                passed,
                warm if passed > LEAST else nan,
                tuple(float(h[i]) for h in heaters),
            )
        )
    return found


MANY_WAYS = 128
"""Combinations of the fixtures that matter most to one, where there are more than ten."""


def arounds(flow: BuildFlow) -> dict[str, Around]:
    """What may stand around each fixture that runs alone: all the others, or those that matter."""
    run = [f for f in flow.fixtures if flow.situation_of((f,)).fixtures[f].flow > 0]
    if len(flow.fixtures) <= ALL_FIXTURES:
        return {one: Around(flow, one, [f for f in flow.fixtures if f != one]) for one in run}
    near = Neighbours(flow)
    return {one: Around(flow, one, near.nearest([one], MANY_WAYS), near.crowds(one)) for one in run}


def greatest_changes(
    flow: BuildFlow, arounds: Mapping[str, Around]
) -> dict[str, tuple[Change, ...]]:
    """For each fixture that runs alone: the greatest rise and the greatest fall of its
    temperature and the least of its flow, in this order; it stays as it was set, the others
    open and turned in every way.

    Of more than ``ALL_FIXTURES`` the others are those that matter most to it, in every way, and
    all of them at once.
    """
    crowded: list[tuple[str, str, Mapping[str, str]]] = [
        (one, told, {one: MIXED, **open})
        for one, around in arounds.items()
        for told, open in around.crowds.items()
    ]
    crowds: dict[str, list[tuple[str, Mapping[str, str], Seen]]] = {}
    if crowded:
        seen = looked(flow, [(one, opened) for one, _, opened in crowded])
        for (one, told, opened), what in zip(crowded, seen, strict=True):
            crowds.setdefault(one, []).append((told, opened, what))
    found: dict[str, tuple[Change, ...]] = {}
    for one, around in arounds.items():
        if not around.sizes:
            continue
        before = flow.situation_of((one,))
        warm = greatest(around.sizes, around.warmth, near=0.02)
        weak = greatest(around.sizes, around.flows)
        chosen: list[Change] = []
        if warm:
            for case, sign in ((warm[0], 1.0), (warm[1], -1.0)):
                best = _change(around, before, case, warm[3])
                for told, opened, what in crowds.get(one, ()):
                    if sign * (what.warm - best.warm) > 0.02:
                        best = _crowd_change(around, before, told, opened, what)
                chosen.append(best)
        if weak:
            best = _change(around, before, weak[1], weak[3])
            for told, opened, what in crowds.get(one, ()):
                if what.flow < best.flow:
                    best = _crowd_change(around, before, told, opened, what)
            chosen.append(best)
        found[one] = tuple(chosen)
    return found


def _change(around: Around, before: Moment, case: Combination, every: bool) -> Change:
    alone, after = before.fixtures[around.fixture], around.known[case]
    return Change(
        around.fixture,
        tuple(around.others(case).items()),
        alone.flow,
        after.flow,
        alone.temperature,
        after.temperature,
        around.cooler(before, after),
        every and around.all_tried,
    )


def _crowd_change(
    around: Around, before: Moment, told: str, opened: Mapping[str, str], after: Seen
) -> Change:
    alone = before.fixtures[around.fixture]
    return Change(
        around.fixture,
        tuple((f, how) for f, how in opened.items() if f != around.fixture),
        alone.flow,
        after.flow,
        alone.temperature,
        after.temperature,
        around.cooler(before, after),
        False,
        told,
    )


@dataclass(frozen=True)
class Crossing:
    """Water that runs backwards through a mixing valve or tap: from its hot side into its cold
    ("hot"), or the other way ("cold"), in a moment; m³/s."""

    valve: str
    into: str
    flow: float
    moment: Moment


def crossings(moments: tuple[Moment, ...]) -> tuple[Crossing, ...]:
    """The worst of each valve and direction."""
    worst: dict[tuple[str, str], Crossing] = {}
    for moment in moments:
        ways: dict[str, dict[str, LinkState]] = {}
        for link in moment.links.values():
            if link.kind in ("mixing valve", "tap"):
                name, _, side = link.start.rpartition(".")
                ways.setdefault(name, {})[side] = link
        for name, pair in ways.items():
            for side, link in pair.items():
                if link.flow < -NOTHING:
                    key = (name, side)
                    old = worst.get(key)
                    if old is None or -link.flow > old.flow:
                        worst[key] = Crossing(name, side, -link.flow, moment)
    return tuple(worst.values())
