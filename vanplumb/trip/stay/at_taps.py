"""What comes out of each tap while it runs alone: the flow that waits, uses and days go by.

The network owns that answer.  What a fixture is rated for is asked only where there is no network
to ask: a build that draws no runs, or a tap that the network can give nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite
from typing import Any

from ...flow.moment import NOTHING, Moment
from ...flow.origins import Shares, by_heater, by_source, origins
from ...flow.solving import BuildFlow
from ...van.hot_ways import HotWay, hot_ways, ways
from ...van.kinds.fixtures import rated_flow
from ...van.model import Build
from ...van.parts import Heater

LEAST_PART = 0.02
"""Part of a tap's hot water, or of a heater's, under which a source is taken as giving none."""


@dataclass(frozen=True)
class HotFrom:
    """The hot water of one fixture: the heater that gives most, the way, and each heater's part.

    Where several give, the way is that of the first with their own lines before it: all that
    stands cold in them has to run off until all is warm.
    """

    heater: Heater
    way: HotWay
    parts: tuple[tuple[str, float], ...]


def by_part(parts: Mapping[str, float], nearest: str) -> tuple[str, ...]:
    """Heaters by the part of a tap's hot water that they give, the greatest first; the nearest if
    none is known to give any."""
    order = sorted(parts, key=lambda n: (-round(parts[n], 6), n != nearest, n))
    return tuple(order) or (nearest,)


def joined_way(ways: Mapping[str, HotWay], order: Sequence[str]) -> HotWay:
    """The way of the first of several heaters to a tap, with the own lines of the others before."""
    way = ways[order[0]]
    own: list[int] = []
    for name in order[1:]:
        other = ways[name]
        own += [r for r in other.runs[: other.mixed_from] if r not in (*own, *way.runs)]
    return replace(way, runs=(*own, *way.runs), mixed_from=len(own) + way.mixed_from)


class AtTaps(Mapping[str, Any]):
    """m³/s that each fixture gives, open alone as it was set; from the tanks, else on shore.

    ``unserved`` names those that get nothing, though runs lead to them; they stand with what
    they are rated for, as do all of a build without runs.
    """

    def __init__(self, flow: BuildFlow) -> None:
        self.flow = flow
        self.build = flow.build

    def __repr__(self) -> str:
        return f"Flows at the taps of {self.build.van.name}"

    @cached_property
    def moments(self) -> dict[str, Moment]:
        """Each fixture alone, on the usual source, or on shore where only that gives anything."""
        if not self.build.run or self.flow.problem:
            return {}
        found = dict(self.flow.alone)
        dry = [name for name in found if not self._runs(found[name])]
        if dry and self.flow.made.shores and self.flow.source != "shore":
            batch = self.flow.batch([(name,) for name in dry], ["shore"] * len(dry))
            for place, name in enumerate(dry):
                moment = batch.moment(place, f"{name} alone, on shore")
                if self._runs(moment):
                    found[name] = moment
        return found

    def _runs(self, moment: Moment) -> bool:
        gives = moment.fixtures[moment.open[0]].flow
        return moment.found and isfinite(gives) and gives > NOTHING

    @cached_property
    def unserved(self) -> frozenset[str]:
        """Fixtures with runs that no water comes out of."""
        return frozenset(
            name for name, moment in self.moments.items() if moment.found and not self._runs(moment)
        )

    def __getitem__(self, fixture: str) -> float:
        moment = self.moments.get(fixture)
        if moment is not None and self._runs(moment):
            return moment.fixtures[fixture].flow
        return rated_flow(self.build, self._parts[fixture])

    @cached_property
    def hot(self) -> dict[str, HotFrom]:
        """Where the hot water of each fixture that it gets to comes from, by its name."""
        nearest = hot_ways(self.build)
        if len(self.build.heater) < 2:
            return {n: HotFrom(h, way, ((h.name, 1.0),)) for n, (h, way) in nearest.items()}
        every = {heater.name: ways(self.build, heater) for heater in self.build.heater}
        by_name = {heater.name: heater for heater in self.build.heater}
        found = {}
        for fixture, (near, _) in nearest.items():
            reaching = {n: each[fixture] for n, each in every.items() if fixture in each}
            parts = {
                name: part
                for name, part in by_heater(self.origins.get(fixture, {})).items()
                if part >= LEAST_PART and name in reaching
            }
            order = by_part(parts, near.name)
            whole = sum(parts.values())
            found[fixture] = HotFrom(
                by_name[order[0]],
                joined_way(reaching, order),
                tuple((name, parts[name] / whole if parts else 1.0) for name in order),
            )
        return found

    @cached_property
    def origins(self) -> dict[str, Shares]:
        """Where the water of each fixture comes from, alone, by the network."""
        made = self.flow.made if self.moments else None
        return {
            name: origins(made, moment, name) if made is not None else {}
            for name, moment in self.moments.items()
            if self._runs(moment)
        }

    def sources(self, fixture: str, *, hot: bool) -> dict[str, float]:
        """The part that each tank gives of a fixture's hot water, or of its cold; empty if none."""
        found = by_source(self.origins.get(fixture, {}), hot=hot)
        return {name: part for name, part in found.items() if part >= LEAST_PART}

    @cached_property
    def _parts(self) -> dict[str, Any]:
        return {part.name: part for part in self.build.fixture}

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


_KEPT: list[AtTaps] = []
"""Those of the last few builds: budgets, waits and days of one build ask for the same."""


def at_taps(build: Build, flow: BuildFlow | None = None) -> AtTaps:
    """What comes out of the taps of a build; ``flow`` is its network, if somebody has it."""
    for one in _KEPT:
        if one.build is build and (flow is None or one.flow is flow):
            return one
    _KEPT.append(AtTaps(flow if flow is not None else BuildFlow(build)))
    del _KEPT[:-4]
    return _KEPT[-1]
