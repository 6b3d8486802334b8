"""The flow of a build: any fixtures open, any figures changed, in one call or in one batch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from ..network.solution import Solution
from ..van.model import Build
from ..words.show import counted
from .changed_build import vary
from .components import is_dry, suction_lifts
from .moment import Moment, read_out
from .van_network import BuildNetwork, network

if TYPE_CHECKING:
    import pandas as pd

    from .cross_effects import Crossing, Jump
    from .run_losses import Shares
    from .surge import Surge

Array = Any

SOURCES = ("pump", "shore", "gravity")


class Flow:
    """What flows in a build.  Nothing is worked out before it is asked for.

    ``solve`` gives one moment, ``situations`` all that are worth looking at, ``limits`` what
    limits a fixture, ``sweep`` a table over ranges of figures, ``chapter`` the sheet's pages.
    """

    def __init__(self, build: Build) -> None:
        self.build = build

    def __repr__(self) -> str:
        return f"Flow of {self.build.van.name}: {counted(len(self.fixtures), 'fixture')}"

    @cached_property
    def made(self) -> BuildNetwork:
        """The build as a network."""
        return network(self.build)

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
        fresh = [t for t in self.build.tank if t.holds == "fresh"]
        return "gravity" if fresh or not self.made.shores else "shore"

    @cached_property
    def positions(self) -> Array:
        """How taps and mixing valves stand when each was set, alone; shape (V, mixers)."""
        return set_positions(self.made, self.source)

    def solve(
        self,
        open: Iterable[str] | None = None,
        *,
        source: str = "",
        accumulator: Any = None,
        name: str = "",
        changes: Mapping[str, Any] | None = None,
    ) -> Moment:
        """One moment with these fixtures open (all of them if None).

        ``source`` is "pump", "shore" or "gravity" (pumps at rest).  ``accumulator`` gives its
        pressure at that moment; without it the vessel neither gives nor takes.  ``changes``
        are other figures of the build, by path, as for ``vary``.  Taps and valves that are
        set by hand stand as they were set, alone, with the build's own figures.
        ValueError for an unknown fixture or source.
        """
        names = self.fixtures if open is None else tuple(open)
        flow = Flow(vary(self.build, changes)) if changes else self
        if changes and not _sets_anew(changes):
            flow.__dict__["positions"] = self.positions
        batch = flow.batch([names], [source or self.source], accumulator=accumulator)
        return batch.moment(0, name or (" and ".join(names) if names else "all shut"))

    def batch(
        self,
        opens: Sequence[Iterable[str]],
        sources: Sequence[str] | None = None,
        *,
        accumulator: Any = None,
    ) -> Moments:
        """Several situations at once; ``sources`` one for each, or the usual for all."""
        listed = [tuple(o) for o in opens]
        origin = list(sources) if sources is not None else [self.source] * len(listed)
        flags = open_flags(self.made, listed, origin, accumulator)
        net = self.made.net
        held = net.held
        if accumulator is not None:
            from .changed_build import values

            pressure = values(accumulator, _PRESSURE)
            self_held = {
                f"{a.name}.air": (pressure, held[f"{a.name}.air"][1])
                for a in self.build.accumulator
            }
            net.held = {**held, **self_held}
            net._layout = None
        try:
            solution = net.solve(
                flags, positions=self.positions, thermostatic=[self.made.self_acting]
            )
        finally:
            if accumulator is not None:
                net.held = held
                net._layout = None
        return Moments(self, listed, origin, self.without_lift(solution, flags))

    def without_lift(self, solution: Solution, flags: Mapping[str, Array]) -> Solution:
        """The same, with those pumps at rest that run dry or can't lift the water."""
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
        return self.made.net.solve(
            changed, positions=self.positions, thermostatic=[self.made.self_acting]
        )

    def fails(self, solution: Solution, pump: str) -> Array:
        """Variants in which a running pump gets no water, shape (V,)."""
        part = next(p for p in self.build.pump if p.name == pump)
        runs = np.atleast_1d(solution.flow[pump]) > 1e-12
        deep = self.lifts[pump] > np.asarray(part.lift)
        return runs & (deep | self.dry)

    @cached_property
    def dry(self) -> Any:
        """Whether all fresh tanks stand below their pickups."""
        found = [is_dry(t) for t in self.build.tank if t.holds == "fresh"]
        return np.all(np.broadcast_arrays(*found), axis=0) if found else False

    @cached_property
    def lifts(self) -> dict[str, Any]:
        """Height of each pump's inlet above the water it draws, m; 0 if nobody can say."""
        return suction_lifts(self.build)

    @cached_property
    def situations(self) -> tuple[Moment, ...]:
        """Static, every fixture alone, every pair, everything, and the build's own."""
        from .situations import situations

        return situations(self)

    def situation(self, name: str) -> Moment:
        """The situation of that name.  KeyError that lists them if there is none."""
        for moment in self.situations:
            if moment.name == name:
                return moment
        raise KeyError(f"no situation {name!r}; there are {[m.name for m in self.situations]}")

    def situation_of(self, open: Iterable[str], source: str = "") -> Moment:
        """The situation with these fixtures open, solved anew if it is not among them."""
        names, source = set(open), source or self.source
        for moment in self.situations:
            if set(moment.open) == names and moment.source == source:
                return moment
        return self.solve([f for f in self.fixtures if f in names], source=source)

    @cached_property
    def surges(self) -> tuple[Surge, ...]:
        """Water hammer at each fixture."""
        from .surge import surges

        return surges(self)

    @cached_property
    def jumps(self) -> tuple[Jump, ...]:
        """What each fixture does to each other."""
        from .cross_effects import jumps

        return jumps(self)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Water that runs backwards through mixing valves."""
        from .cross_effects import crossings

        return crossings(self.situations)

    def limits(self, fixture: str, open: Iterable[str] | None = None) -> Shares:
        """What takes the pressure on the way to a fixture, open alone unless ``open`` says."""
        from .run_losses import shares

        return shares(self.solve([fixture] if open is None else open), fixture)

    def sweep(
        self,
        changes: Mapping[str, Any],
        open: Iterable[str] | None = None,
        *,
        source: str = "",
        grid: bool = True,
    ) -> pd.DataFrame:
        """A table over lists of values: every combination, or in step if not ``grid``."""
        from .situations import sweep

        return sweep(self, changes, open, source=source or self.source, grid=grid)


class Moments:
    """Several moments of one build, solved in one batch; ``solution`` has them as arrays."""

    def __init__(
        self,
        flow: Flow,
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
        return read_out(self.flow, self.solution, i, self.opens[k], self.sources[k], name)


class _Pressure:
    kind, word = "quantity", "pressure"


_PRESSURE: Any = _Pressure()


def _sets_anew(changes: Mapping[str, Any]) -> bool:
    """Whether a change means that hand-set valves are set anew: what is built, not what is used."""
    return any(not p.startswith(("van.", "heater.", "shore_inlet.", "tank.")) for p in changes)


def open_flags(
    made: BuildNetwork,
    opens: Sequence[tuple[str, ...]],
    sources: Sequence[str],
    accumulator: Any = None,
) -> dict[str, Array]:
    """Which links are open in each situation, by name.  ValueError for an unknown name."""
    known = set(made.taps)
    unknown = sorted({n for names in opens for n in names} - known)
    if unknown:
        raise ValueError(f"no fixture {unknown[0]!r}; there are {', '.join(sorted(known))}")
    strange = sorted(set(sources) - set(SOURCES))
    if strange:
        raise ValueError(f"source must be one of {', '.join(SOURCES)}, got {strange[0]!r}")
    flags: dict[str, Array] = {}
    for fixture, links in made.taps.items():
        open = np.array([fixture in names for names in opens])
        for link in links:
            flags[link] = open
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


def set_positions(made: BuildNetwork, source: str) -> Array:
    """Positions of all mixing valves and taps as their users set them, shape (V, mixers)."""
    count = len(made.mixers)
    if not count:
        return np.zeros((1, 0))
    variants = made.net.layout().variants
    found = np.full((variants, count), 0.5)
    acting = np.array(made.self_acting)
    todo = [i for i in range(count) if not acting[i] and made.set_by[i]]
    if variants == 1 and todo:
        flags = open_flags(made, [(made.set_by[i],) for i in todo], [source] * len(todo))
        free = np.broadcast_to(True, (len(todo), count))
        solution = made.net.solve(flags, positions=found, thermostatic=free)
        for row, i in enumerate(todo):
            found[0, i] = solution.parts["position"][row, i]
        return found
    for i in todo:
        flags = open_flags(made, [(made.set_by[i],)], [source])
        solution = made.net.solve(flags, positions=found, thermostatic=[[True] * count])
        found[:, i] = solution.parts["position"][:, i]
    return found


__all__ = ["Flow", "Moments", "open_flags", "set_positions"]
