"""What one fixture does to another: flows that starve and temperatures that jump."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from ..words.brief import brief
from .moment import LinkState, Moment
from .solving import BuildFlow

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
