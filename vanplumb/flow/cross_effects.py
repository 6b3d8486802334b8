"""What one fixture does to another: flows that starve and temperatures that jump."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from ..network.links import Floats
from ..words.brief import brief
from .combinations import Combination, greatest
from .moment import LinkState, Moment
from .solving import COLD, HOT, MIXED, SHUT, BuildFlow, ways_to_turn

TRICKLE = 2e-6
"""m³/s (0.12 L/min): water that comes so slowly is no use, and its warmth is not told."""
NOTHING = 1e-7
"""m³/s (6 mL/min): less does not count as flow through a valve."""


@brief
@dataclass(frozen=True)
class Jump:
    """A fixture when another opens too: m³/s and K before and after.

    ``heater`` is how much cooler the hot water itself gets, K, where a heater can't warm both.
    """

    fixture: str
    other: str
    flow_alone: float
    flow: float
    warm_alone: float
    warm: float
    heater: float = 0.0

    @property
    def rise(self) -> float:
        """Change of temperature, K; 0 where either is unknown."""
        change = self.warm - self.warm_alone
        return change if isfinite(change) else 0.0

    @property
    def share(self) -> float:
        """Part of the flow that is left."""
        return self.flow / self.flow_alone if self.flow_alone > 0 else 0.0


def jumps(flow: BuildFlow) -> tuple[Jump, ...]:
    """Every ordered pair of fixtures, taps left as they were set."""
    found = []
    for one in flow.fixtures:
        before = flow.situation_of((one,))
        alone = before.fixtures[one]
        if alone.flow <= 0:
            continue
        for other in flow.fixtures:
            if other == one:
                continue
            after = flow.situation_of((one, other))
            both = after.fixtures[one]
            found.append(
                Jump(
                    one,
                    other,
                    alone.flow,
                    both.flow,
                    alone.temperature,
                    both.temperature,
                    _cooler(flow, before, after),
                )
            )
    return tuple(found)


def _cooler(flow: BuildFlow, before: Moment, after: Moment) -> float:
    """The most that a heater's water is cooler in one moment than in another, K; 0 if none is."""
    falls = [0.0]
    for heater in flow.build.heater:
        if before.links[heater.name].flow > NOTHING:
            outlet = f"{heater.name}.hot"
            falls.append(before.nodes[outlet].temperature - after.nodes[outlet].temperature)
    return max(fall for fall in falls if isfinite(fall))


@brief
@dataclass(frozen=True)
class Change:
    """The greatest that other fixtures do to one, over all ways to open and turn them.

    ``others`` are open then, each with how it is turned; m³/s and K before and after.
    ``all_tried`` tells whether all combinations were tried, or the likeliest first.
    """

    fixture: str
    others: tuple[tuple[str, str], ...]
    flow_alone: float
    flow: float
    warm_alone: float
    warm: float
    heater: float = 0.0
    all_tried: bool = True

    @property
    def rise(self) -> float:
        """Change of temperature, K; 0 where either is unknown."""
        change = self.warm - self.warm_alone
        return change if isfinite(change) else 0.0

    @property
    def share(self) -> float:
        """Part of the flow that is left."""
        return self.flow / self.flow_alone if self.flow_alone > 0 else 0.0

    @property
    def told(self) -> str:
        """The other fixtures in words."""
        words = {HOT: " turned to hot", COLD: " turned to cold"}
        return " and ".join(f"{name}{words.get(how, '')}" for name, how in self.others)


class _Around:
    """A fixture as it was set, and the ways in which the others may stand around it."""

    def __init__(self, flow: BuildFlow, fixture: str) -> None:
        self.flow, self.fixture = flow, fixture
        others = [f for f in flow.fixtures if f != fixture]
        self.ways = {f: (SHUT, *ways_to_turn(flow.made, f)) for f in others}
        self.sizes = [len(w) for w in self.ways.values()]
        self.known: dict[Combination, tuple[float, float]] = {}

    def others(self, case: Combination) -> dict[str, str]:
        """The others that are open, and how."""
        each = {f: ways[k] for (f, ways), k in zip(self.ways.items(), case, strict=True)}
        return {f: how for f, how in each.items() if how != SHUT}

    def opened(self, case: Combination) -> dict[str, str]:
        return {self.fixture: MIXED, **self.others(case)}

    def _look(self, cases: list[Combination]) -> None:
        new = [c for c in cases if c not in self.known]
        if not new:
            return
        solution = self.flow.batch([self.opened(c) for c in new], patient=False).solution
        passed = np.atleast_1d(solution.flow[self.fixture])
        good = np.atleast_1d(solution.found)
        start = self.flow.made.net.link(self.fixture).start
        warm = np.where(good & (passed > TRICKLE), solution.temperature[start], np.nan)
        flows = np.where(good, passed, np.nan)
        self.known.update(zip(new, zip(warm.tolist(), flows.tolist(), strict=True), strict=True))

    def warmth(self, cases: list[Combination]) -> Floats:
        self._look(cases)
        return np.array([self.known[c][0] for c in cases])

    def flows(self, cases: list[Combination]) -> Floats:
        self._look(cases)
        return np.array([self.known[c][1] for c in cases])


def greatest_changes(flow: BuildFlow) -> dict[str, tuple[Change, ...]]:
    """For each fixture that runs alone: the greatest rise and the greatest fall of its
    temperature and the least of its flow, in this order; it stays as it was set, the others
    open and turned in every way."""
    found: dict[str, tuple[Change, ...]] = {}
    for one in flow.fixtures:
        before = flow.situation_of((one,))
        around = _Around(flow, one)
        if before.fixtures[one].flow <= 0 or not around.sizes:
            continue
        warm = greatest(around.sizes, around.warmth, near=0.02)
        weak = greatest(around.sizes, around.flows)
        chosen = [(warm[0], warm[3]), (warm[1], warm[3])] if warm else []
        chosen += [(weak[1], weak[3])] if weak else []
        found[one] = tuple(_change(flow, around, before, case, every) for case, every in chosen)
    return found


def _change(
    flow: BuildFlow, around: _Around, before: Moment, case: Combination, every: bool
) -> Change:
    after = flow.solve(around.opened(case))
    alone, both = before.fixtures[around.fixture], after.fixtures[around.fixture]
    return Change(
        around.fixture,
        tuple(around.others(case).items()),
        alone.flow,
        both.flow,
        alone.temperature,
        both.temperature,
        _cooler(flow, before, after),
        every,
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
                name, _, side = link.name.rpartition(" ")
                ways.setdefault(name, {})[side] = link
        for name, pair in ways.items():
            for side, link in pair.items():
                if link.flow < -NOTHING:
                    key = (name, side)
                    old = worst.get(key)
                    if old is None or -link.flow > old.flow:
                        worst[key] = Crossing(name, side, -link.flow, moment)
    return tuple(worst.values())
