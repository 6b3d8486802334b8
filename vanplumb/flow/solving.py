"""A build's network solved: any fixtures open, any figures changed, in one call or in one batch.

The moments that are worth a look: all shut, each alone, each pair, all, and the build's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np

from ..network.links import Figure, Flags, Floats
from ..network.network import Network
from ..network.solution import Solution
from ..van.model import Build
from ..words.show import counted
from .changed_build import values, vary
from .moment import Moment, read_out
from .set_by_hand import set_positions
from .turned import Opened, open_flags, turned
from .van_network import BuildNetwork, network

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


def pumps_at(made: BuildNetwork, net: Network, pressure: Figure) -> Network:
    """The network with each switched pump at a pressure within its cycle, where it gives enough."""
    for name in made.pumps:
        curve = net.link(name).curve
        if curve is not None and np.all(np.isfinite(curve.cut_out)):
            net = net.with_link(name, curve=replace(curve, cut_in=pressure, cut_out=pressure))
    return net
