"""A build's network solved: any fixtures open, any figures changed, in one call or in one batch.

The moments that are worth a look: all shut, each alone, each pair, all, and the build's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from typing import Any, TypeAlias

import numpy as np

from ..network.links import Figure, Flags, Floats
from ..network.losses import OPENING_LEAST
from ..network.network import Network
from ..network.solution import Solution
from ..van.model import Build
from ..words.show import counted
from .changed_build import values, vary
from .moment import NOTHING, Moment, read_out
from .van_network import BuildNetwork, network

SOURCES = ("pump", "shore", "gravity")
SHUT, MIXED, HOT, COLD = "shut", "mixed", "hot", "cold"
"""How a fixture is turned: "mixed" as it was set, "hot" or "cold" wholly to one supply."""
Opened: TypeAlias = Iterable[str] | Mapping[str, str]
"""The fixtures that are open, or how each is turned, by name; those not named are shut."""

PAIRS_MOST = 45
"""With more pairs than this (ten fixtures) only the build's own situations look at several."""


class BuildFlow:
    """A build's network and its solutions.  Nothing is worked out before it is asked for.

    ``positions`` (V, mixers) are how taps and mixing valves stand; if they aren't given, as each
    was set, alone.  ``made`` is its network, if it isn't to be the whole one.
    """

    def __init__(
        self, build: Build, positions: Floats | None = None, made: BuildNetwork | None = None
    ) -> None:
        self.build = build
        self._positions = positions
        self._made = made

    def __repr__(self) -> str:
        return f"Flow of {self.build.van.name}: {counted(len(self.fixtures), 'fixture')}"

    @cached_property
    def made(self) -> BuildNetwork:
        """The build as a network."""
        return self._made if self._made is not None else network(self.build)

    @cached_property
    def problem(self) -> str:
        """Why nothing can be worked out; empty if it can."""
        if not self.build.fixture:
            return "the build names no fixture"
        try:
            net = self.made.net
        except ValueError as error:
            return str(error)
        return "" if len(net.held) > 1 else "the build names nothing that water comes from"

    @property
    def fixtures(self) -> tuple[str, ...]:
        return tuple(f.name for f in self.build.fixture)

    @cached_property
    def source(self) -> str:
        """What moves the water if nothing else is said."""
        if self.made.pumps:
            return "pump"
        return "gravity" if self.made.tanks or not self.made.shores else "shore"

    @cached_property
    def positions(self) -> Floats:
        """How taps and mixing valves stand when each was set, alone; shape (V, mixers)."""
        if self._positions is not None:
            return self._positions
        return set_positions(self.made, self.source)

    def solve(
        self,
        open: Opened | None = None,
        *,
        source: str = "",
        accumulator: Any = None,
        pump_pressure: float | None = None,
        name: str = "",
        changes: Mapping[str, Any] | None = None,
    ) -> Moment:
        """One moment with these fixtures open (all of them if None).

        ``open`` names them, or says by name how each is turned: "mixed", as it was set, or
        wholly "hot" or "cold" for a tap with two supplies.  ``source`` is "pump", "shore" or
        "gravity" (pumps at rest).  ``accumulator`` gives its pressure at that moment; without
        it the vessel neither gives nor takes.  ``pump_pressure`` is where the pumps' switch is
        in its cycle, for the mean over the cycle if None.  ``changes`` are other figures of the
        build, by path, as for ``vary``.  Taps and valves that are set by hand stand as they
        were set, alone, with the build's own figures.  ValueError for an unknown fixture, way of
        turning it or source.
        """
        listed = self.fixtures if open is None else open
        names = tuple(listed)
        flow = self
        if changes:
            stand = None if _sets_anew(changes) else self.positions
            flow = BuildFlow(vary(self.build, changes), stand)
        batch = flow.batch(
            [listed],
            [source or self.source],
            accumulator=accumulator,
            pump_pressure=pump_pressure,
        )
        return batch.moment(0, name or (" and ".join(names) if names else "all shut"))

    def batch(
        self,
        opens: Sequence[Opened],
        sources: Sequence[str] | None = None,
        *,
        accumulator: Any = None,
        pump_pressure: float | None = None,
        patient: bool = True,
    ) -> Moments:
        """Several situations at once; ``sources`` one for each, or the usual for all.

        Without ``patient`` those that are not found soon are left, as a search may.
        """
        listed = [o if isinstance(o, Mapping) else tuple(o) for o in opens]
        origin = list(sources) if sources is not None else [self.source] * len(listed)
        flags = open_flags(self.made, listed, origin, accumulator)
        net = self.made.net
        if accumulator is not None:
            pressure = values(accumulator, _PRESSURE)
            net = net.with_held({f"{a.name}.air": pressure for a in self.build.accumulator})
        if pump_pressure is not None:
            net = pumps_at(self.made, net, pump_pressure)
        positions = turned(self.made, listed, self.positions)
        acting = [self.made.self_acting]
        solution = net.solve(flags, positions=positions, thermostatic=acting, patient=patient)
        solution = self.without_lift(solution, flags, net, positions)
        return Moments(self, [tuple(o) for o in listed], origin, solution)

    def without_lift(
        self,
        solution: Solution,
        flags: Mapping[str, Any],
        net: Network | None = None,
        positions: Floats | None = None,
    ) -> Solution:
        """The same, with those pumps at rest that run dry."""
        if not self.made.pumps:
            return solution
        changed = dict(flags)
        any_fails = False
        for name in self.made.pumps:
            fails = self.fails(solution, name)
            if np.any(fails):
                any_fails = True
                changed[name] = np.asarray(flags[name], bool) & ~fails
                changed[f"{name} at rest"] = np.asarray(flags[f"{name} at rest"], bool) | fails
        if not any_fails:
            return solution
        return (net or self.made.net).solve(
            changed,
            positions=self.positions if positions is None else positions,
            thermostatic=[self.made.self_acting],
        )

    def fails(self, solution: Solution, pump: str) -> Flags:
        """Variants in which a running pump gets no water, shape (V,)."""
        runs = np.atleast_1d(solution.flow[pump]) > 1e-12
        return runs & self.made.dry

    @cached_property
    def situations(self) -> tuple[Moment, ...]:
        """Static, every fixture alone, every pair, everything, and the build's own."""
        listed = wanted(self)
        batch = self.batch([open for _, open, _ in listed], [source for *_, source in listed])
        return tuple(batch.moment(i, name) for i, (name, _, _) in enumerate(listed))

    def situation(self, name: str) -> Moment:
        """The situation of that name.  KeyError that lists them if there is none."""
        for moment in self.situations:
            if moment.name == name:
                return moment
        raise KeyError(f"no situation {name!r}; there are {[m.name for m in self.situations]}")

    @cached_property
    def alone(self) -> dict[str, Moment]:
        """Every fixture alone, by its name, on the usual source."""
        if "situations" in self.__dict__:
            return {name: self.situation_of((name,)) for name in self.fixtures}
        batch = self.batch([(name,) for name in self.fixtures])
        return {name: batch.moment(i, f"{name} alone") for i, name in enumerate(self.fixtures)}

    @cached_property
    def _by_open(self) -> dict[tuple[frozenset[str], str], Moment]:
        found: dict[tuple[frozenset[str], str], Moment] = {}
        for moment in self.situations:
            found.setdefault((frozenset(moment.open), moment.source), moment)
        return found

    def situation_of(self, open: Iterable[str], source: str = "") -> Moment:
        """The situation with these fixtures open, solved anew if it is not among them."""
        names, source = frozenset(open), source or self.source
        if (names, source) in self._by_open:
            return self._by_open[names, source]
        return self.solve([f for f in self.fixtures if f in names], source=source)


def wanted(flow: BuildFlow) -> list[tuple[str, tuple[str, ...], str]]:
    """Name, open fixtures and source of each situation, each set of fixtures once for a source."""
    fixtures, usual = flow.fixtures, flow.source
    listed: list[tuple[str, tuple[str, ...], str]] = [
        (s.name, tuple(s.open), usual) for s in flow.build.situation
    ]
    listed.append(("all shut", (), usual))
    listed += [(f"{f} alone", (f,), usual) for f in fixtures]
    pairs = list(combinations(fixtures, 2))
    if len(pairs) <= PAIRS_MOST:
        listed += [(f"{a} and {b}", (a, b), usual) for a, b in pairs]
    listed.append(("everything open", fixtures, usual))
    if flow.made.shores and usual != "shore":
        listed.append(("all shut, on shore", (), "shore"))
        listed += [(f"{f} alone, on shore", (f,), "shore") for f in fixtures]
        listed.append(("everything open, on shore", fixtures, "shore"))
    seen: dict[tuple[frozenset[str], str], tuple[str, tuple[str, ...], str]] = {}
    for one in listed:
        seen.setdefault((frozenset(one[1]), one[2]), one)
    return list(seen.values())


class Moments:
    """Several moments of one build, solved in one batch; ``solution`` has them as arrays."""

    def __init__(
        self,
        flow: BuildFlow,
        opens: Sequence[tuple[str, ...]],
        sources: Sequence[str],
        solution: Solution,
    ) -> None:
        self.flow, self.opens, self.sources, self.solution = flow, opens, sources, solution

    def __len__(self) -> int:
        return len(self.solution.found)

    def moment(self, i: int, name: str = "") -> Moment:
        """One of them with everything by name."""
        k = min(i, len(self.opens) - 1)
        return read_out(self.flow.made, self.solution, i, self.opens[k], self.sources[k], name)


class _Pressure:
    kind, word = "quantity", "pressure"


_PRESSURE: Any = _Pressure()


def _sets_anew(changes: Mapping[str, Any]) -> bool:
    """Whether a change means that hand-set valves are set anew: what is built, not what is used."""
    return any(not p.startswith(("van.", "heater.", "shore_inlet.", "tank.")) for p in changes)


def open_flags(
    made: BuildNetwork,
    opens: Sequence[Opened],
    sources: Sequence[str],
    accumulator: Any = None,
) -> dict[str, Flags]:
    """Which links are open in each situation, by name.  ValueError for an unknown name."""
    known = set(made.taps)
    unknown = sorted({n for names in opens for n in names} - known)
    if unknown:
        raise ValueError(f"no fixture {unknown[0]!r}; there are {', '.join(sorted(known))}")
    strange = sorted(set(sources) - set(SOURCES))
    if strange:
        raise ValueError(f"source must be one of {', '.join(SOURCES)}, got {strange[0]!r}")
    for names in opens:
        if isinstance(names, Mapping):
            for fixture, how in names.items():
                if how not in ways_to_turn(made, fixture):
                    raise ValueError(
                        f"{fixture!r} is turned {' or '.join(ways_to_turn(made, fixture))}, "
                        f"got {how!r}"
                    )
    flags: dict[str, Flags] = {}
    for fixture, links in made.taps.items():
        how_each = [how_turned(names, fixture) for names in opens]
        flags[links[0]] = np.array([how != SHUT for how in how_each])
        for link, other in zip(links[1:], (COLD, HOT), strict=False):
            flags[link] = np.array([how not in (SHUT, other) for how in how_each])
    pumped = np.array([s == "pump" for s in sources])
    shore = np.array([s == "shore" for s in sources])
    for pump in made.pumps:
        flags[pump], flags[f"{pump} at rest"] = pumped, ~pumped
    for inlet in made.shores:
        flags[inlet] = shore
    if accumulator is not None:
        for vessel in made.build.accumulator:
            flags[vessel.name] = np.ones(len(opens), bool)
    return flags


def ways_to_turn(made: BuildNetwork, fixture: str) -> tuple[str, ...]:
    """How a fixture that runs may be turned: a tap with two supplies wholly to one, too."""
    return (MIXED, HOT, COLD) if len(made.taps[fixture]) > 1 else (MIXED,)


def how_turned(open: Opened, fixture: str) -> str:
    """How a fixture is turned in a situation."""
    if isinstance(open, Mapping):
        return open.get(fixture, SHUT)
    return MIXED if fixture in open else SHUT


def turned(made: BuildNetwork, opens: Sequence[Opened], positions: Floats) -> Floats:
    """Positions of mixing valves and taps, (V, mixers), with some taps turned wholly to a side."""
    wholly = {HOT: 1.0 - OPENING_LEAST, COLD: OPENING_LEAST}
    if not any(isinstance(o, Mapping) and set(o.values()) & set(wholly) for o in opens):
        return positions
    found = np.array(
        np.broadcast_to(positions, (max(len(opens), len(positions)), len(made.mixers)))
    )
    for k, mixer in enumerate(made.mixers):
        if mixer in made.taps:
            for i, open in enumerate(opens):
                how = how_turned(open, mixer)
                if how in wholly:
                    found[i if len(opens) > 1 else slice(None), k] = wholly[how]
    return found


def pumps_at(made: BuildNetwork, net: Network, pressure: Figure) -> Network:
    """The network with each switched pump at a pressure within its cycle, where it gives enough."""
    for name in made.pumps:
        curve = net.link(name).curve
        if curve is not None and np.all(np.isfinite(curve.cut_out)):
            net = net.with_link(name, curve=replace(curve, cut_in=pressure, cut_out=pressure))
    return net


def set_positions(made: BuildNetwork, source: str) -> Floats:
    """Positions of all mixing valves and taps as their users set them, shape (V, mixers)."""
    count = len(made.mixers)
    if not count:
        return np.zeros((1, 0))
    variants = made.net.layout().variants
    found = np.full((variants, count), 0.5)
    acting = np.array(made.self_acting)
    todo = [i for i in range(count) if not acting[i] and made.set_by[i]]
    # Nobody can set a tap that gives nothing: it is set on shore then, or stays half way.
    sources = [source, *(["shore"] if made.shores and source != "shore" else [])]
    if variants == 1 and todo:
        for one in sources:
            flags = open_flags(made, [(made.set_by[i],) for i in todo], [one] * len(todo))
            free = np.broadcast_to(True, (len(todo), count))
            solution = made.net.solve(flags, positions=found, thermostatic=free)
            left = []
            for row, i in enumerate(todo):
                if np.atleast_1d(solution.flow[made.set_by[i]])[row] > NOTHING:
                    found[0, i] = solution.positions[row, i]
                else:
                    left.append(i)
            todo = left
            if not todo:
                break
        return found
    for i in todo:
        done = np.zeros(variants, bool)
        for one in sources:
            flags = open_flags(made, [(made.set_by[i],)], [one])
            solution = made.net.solve(flags, positions=found, thermostatic=[[True] * count])
            runs = np.atleast_1d(solution.flow[made.set_by[i]]) > NOTHING
            found[:, i] = np.where(runs & ~done, solution.positions[:, i], found[:, i])
            done |= runs
            if done.all():
                break
    return found
