"""Which other fixtures matter most to one, and the network with no more than these.

Where a build has so many fixtures that their combinations can't all be tried, a search looks at
those that take most of the pressure on the way to the one that is judged.  Dead ends of the
network, where nothing can flow while the other fixtures are shut, are left out of it: that
changes no flow and no temperature, and a large build's search costs what a small one's does.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..network.links import Link
from ..network.network import Network
from .moment import NOTHING, Moment
from .solving import BuildFlow
from .turned import COLD, HOT, MIXED, ways_to_turn
from .van_network import BuildNetwork

ALL_FIXTURES = 10
"""Fixtures up to which a search looks at all of them."""


def looked_at(fixtures: int) -> str:
    """What a search looked at in a build with more fixtures than can be tried in every way."""
    return (
        f"Of the {fixtures} fixtures not all combinations can be tried: those that share most of "
        "the way, by the pressure lost there, were opened and turned in every way, and all the "
        "others at once were opened, turned to hot and turned to cold."
    )


def part_of(flow: BuildFlow, fixtures: Collection[str]) -> BuildFlow:
    """The same with only these fixtures; the others stay shut, and what leads to them is gone."""
    made = flow.made
    taps = {name: links for name, links in made.taps.items() if name in fixtures}
    net = without_dead_ends(made, taps)
    known = {link.name for link in net.links}
    kept = [k for k, mixer in enumerate(made.net.mixers) if mixer.hot in known]
    small = replace(
        made,
        net=net,
        taps=taps,
        mixers=[made.mixers[k] for k in kept],
        set_by=[made.set_by[k] for k in kept],
        self_acting=[made.self_acting[k] for k in kept],
    )
    return BuildFlow(flow.build, flow.positions[:, kept], small)


def without_dead_ends(made: BuildNetwork, taps: Mapping[str, Sequence[str]]) -> Network:
    """The network without the fixtures that are not named, and what can't flow without them.

    A mixing valve with both checks passes nothing while its outlet is shut.
    """
    net = made.net
    shut = {k for name, links in made.taps.items() if name not in taps for k in links}
    left = {link.name: link for link in net.links if link.name not in shut}
    pairs = [(m.hot, m.cold) for m in net.mixers]
    while True:
        at: dict[str, list[str]] = {}
        for link in left.values():
            for node in (link.start, link.end):
                at.setdefault(node, []).append(link.name)
        ends = {n for n, links in at.items() if len(links) == 1} - set(net.held) - set(net.drawn)
        gone = {at[n][0] for n in ends if not _kept(left[at[n][0]])}
        for hot, cold in pairs:
            if {hot, cold} <= left.keys() and len(at[left[hot].end]) == 2:
                gone |= {k for k in (hot, cold) if _checked(left[hot]) and _checked(left[cold])}
        for hot, cold in pairs:
            if (hot in gone or hot not in left) != (cold in gone or cold not in left):
                gone -= {hot, cold}
        if not gone:
            break
        for name in gone:
            del left[name]
    mixers = tuple(m for m in net.mixers if m.hot in left and m.cold in left)
    return replace(net, links=tuple(left.values()), mixers=mixers)


def _kept(link: Link) -> bool:
    """Whether a link is one that others ask for by its name: a pump, a heater."""
    return link.curve is not None or link.heat is not None


def _checked(link: Link) -> bool:
    return bool(np.all(np.asarray(link.one_way) == 1))


class Neighbours:
    """How much the fixtures of a build matter to one another.

    Each is counted by the pressure that is lost, with the one that is judged open alone, on the
    way that the two share, times what flows through it alone.
    """

    def __init__(self, flow: BuildFlow) -> None:
        self.flow = flow
        self.ways: dict[str, tuple[dict[str, float], float]] = {}
        for name in flow.fixtures:
            moment = flow.situation_of((name,))
            self.ways[name] = (_lost(moment) if moment.found else {}, moment.flow)

    def nearest(self, names: Iterable[str], most: int) -> list[str]:
        """The fixtures that matter most to some, the most first; as many as have ``most`` ways to
        stand together or fewer."""
        judged = tuple(names)
        own = [self.ways[name][0] for name in judged]
        weights = {
            other: flows * sum(lost for each in own for link, lost in each.items() if link in way)
            for other, (way, flows) in self.ways.items()
            if other not in judged
        }
        found, many = [], 1
        for other in sorted(weights, key=lambda name: -weights[name]):
            ways = 1 + len(ways_to_turn(self.flow.made, other))
            if many * ways <= most:
                found.append(other)
                many *= ways
        return found

    def crowds(self, name: str) -> dict[str, dict[str, str]]:
        """All the others at once, by what is said of them: how each is turned."""
        made, others = self.flow.made, [f for f in self.flow.fixtures if f != name]
        heaters = {h.name for h in self.flow.build.heater}
        found: dict[str, dict[str, str]] = {
            "all the others": dict.fromkeys(others, MIXED),
            "all the others with two supplies turned to hot": {},
            "all the others that take cold water only, or turned to cold": {},
        }
        _, hot, cold = found.values()
        for other in others:
            if HOT in ways_to_turn(made, other):
                hot[other], cold[other] = HOT, COLD
            elif not heaters & self.ways[other][0].keys():
                cold[other] = MIXED
        return {told: open for told, open in found.items() if open}


def _lost(moment: Moment) -> dict[str, float]:
    """The pressure lost in each link through which water flows, without that of heights, Pa."""
    return {
        link.name: abs(sum(v for n, v in link.parts.items() if n not in ("rise", "cracking")))
        for link in moment.links.values()
        if abs(link.flow) > NOTHING
    }
