"""Which tanks feed which taps, and through which pumps; which tanks find one level.

Tanks whose water runs from one to another by its weight alone are one set: their water finds
one level, and what would stand above the lowest top of them has run out there.  Other tanks are
sets of their own, also where a tap can draw from several of them.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any
from weakref import ReferenceType, ref

import numpy as np

from ...van import tank_shapes
from ...van.heights import heights
from ...van.main_parts import main_pump
from ...van.model import Build
from ...van.parts import CheckValve, Fixture, Heater, RecirculationPump, Run, ShutOff, Tank
from ...van.pointers import Port
from ...van.trace import flows_by_itself
from ...words.brief import brief

SHORE = "shore water"


@brief
@dataclass(frozen=True)
class TankSet:
    """Tanks that find one level, or one tank alone, or the ``shore``, which has no end.

    ``usable`` is what can be pumped once the level is found, ``heel`` what stays below the
    pickups, ``spilt`` what has run out over the lowest of their tops by then; m³, arrays for
    variants.  ``height`` is that of the highest tank's floor, m,
    ``drops`` how far the floor of each lies below it.
    """

    tanks: tuple[Tank, ...]
    usable: Any
    heel: Any
    spilt: Any
    height: Any
    shore: bool = False
    drops: tuple[Any, ...] = ()

    @property
    def name(self) -> str:
        return SHORE if self.shore else " and ".join(sorted(tank.name for tank in self.tanks))

    def contents(self, held: float) -> dict[str, float] | None:
        """What each tank holds when so much can still be pumped; None where a level is unknown.

        They stand at one level, but for what a pickup keeps back.
        """
        if len(self.tanks) == 1:
            return {self.tanks[0].name: held + tank_shapes.heel(self.tanks[0])}
        if not all(map(has_level, self.tanks)):
            return None
        low = min(self._floors)
        high = max(f + tank_shapes.full_depth(t) for f, t in zip(self._floors, self.tanks,
                   strict=True))  # fmt: skip
        for _ in range(60):
            middle = (low + high) / 2
            if sum(self._above(middle)) < held:
                low = middle
            else:
                high = middle
        above = self._above((low + high) / 2)
        return {
            tank.name: more + tank_shapes.heel(tank)
            for tank, more in zip(self.tanks, above, strict=True)
        }

    @property
    def _floors(self) -> tuple[float, ...]:
        return tuple(float(self.height) - drop for drop in self.drops)

    def _above(self, level: float) -> list[float]:
        """What each tank holds above its pickup with the water at a level."""
        return [
            max(float(tank_shapes.content(tank, level - floor)) - tank_shapes.heel(tank), 0.0)
            for tank, floor in zip(self.tanks, self._floors, strict=True)
        ]


@dataclass(frozen=True)
class Source:
    """Where water of a port may come from: a tank or shore inlet, and the pumps on the way.

    ``turned`` tells whether a tank selector must be turned over for it.
    """

    name: str
    pumps: tuple[str, ...]
    turned: bool


def tank_sets(build: Build) -> tuple[TankSet, ...]:
    """Every set of fresh tanks that feeds a tap, the highest first.

    Shore water is the last of them where a tap has nothing else.

    Where no run is drawn, all fresh tanks are one.  Their order in the file decides nothing.
    """
    fresh = [tank for tank in build.tank if tank.holds == "fresh"]
    if not build.run:
        return (_set(build, tuple(fresh)),) if fresh else ()
    names = {tank.name for tank in fresh}
    feeding: set[str] = set()
    for fixture in build.fixture:
        feeding |= set(sources(build, fixture.name))
    near: dict[str, set[str]] = {name: {name} for name in names}
    for name in names:
        for other in flows_by_itself(build, name) & names:
            near[name].add(other)
            near[other].add(name)
    groups: list[set[str]] = []
    for name in sorted(names):
        if any(name in group for group in groups):
            continue
        group, todo = {name}, [name]
        while todo:
            new = near[todo.pop()] - group
            group |= new
            todo += new
        groups.append(group)
    found = [
        _set(build, tuple(t for t in fresh if t.name in group))
        for group in groups
        if group & feeding
    ]
    found.sort(key=lambda one: (-_mean(one.height), -_mean(one.usable), one.name))
    if _on_shore_alone(build, names):
        found.append(TankSet((), 0.0, 0.0, 0.0, 0.0, shore=True))
    return tuple(found)


def _on_shore_alone(build: Build, tanks: set[str]) -> bool:
    """Whether a tap's cold side or a heater gets water from the shore, and from no tank."""
    ports = [sources(build, fixture.name, past_heaters=False) for fixture in build.fixture]
    ports += [sources(build, heater.name) for heater in build.heater]
    return any(behind and not tanks & set(behind) for behind in ports)


def _mean(figure: Any) -> float:
    return round(float(np.mean(np.asarray(figure, float))), 9)


def usable_water(build: Build) -> Any:
    """All that can be pumped from the tanks that feed a tap, m³; an array for variants."""
    return sum(one.usable for one in tank_sets(build) if not one.shore)


def _set(build: Build, tanks: tuple[Tank, ...]) -> TankSet:
    """Tanks that find one level: what would stand over the lowest of their tops runs out."""
    stand = heights(build)
    floors = [stand[tank.name] for tank in tanks]
    heels = [tank_shapes.heel(tank) for tank in tanks]
    usable = sum(tank_shapes.usable(tank) for tank in tanks)
    spilt: Any = 0.0
    if len(tanks) > 1 and all(map(has_level, tanks)):
        lowest: Any = np.inf
        for tank, floor in zip(tanks, floors, strict=True):
            lowest = np.minimum(lowest, floor + tank_shapes.full_depth(tank))
        room: Any = 0.0
        for tank, floor, heel in zip(tanks, floors, heels, strict=True):
            room = room + np.maximum(tank_shapes.content(tank, lowest - floor) - heel, 0.0)
        spilt = np.maximum(usable - room, 0.0)
        spilt = spilt if np.ndim(spilt) else float(spilt)
    height: Any = -np.inf
    for floor in floors:
        height = np.maximum(height, floor)
    return TankSet(
        tanks, usable - spilt, sum(heels), spilt, height, drops=tuple(height - f for f in floors)
    )


def has_level(tank: Tank) -> bool:
    """Whether its level can be told: a stated volume says none without a height."""
    return tank.shape != "stated" or tank.height is not None


def sources(
    build: Build, component: str, port: str = "", *, past_heaters: bool = True
) -> dict[str, Source]:
    """Fresh tanks and shore inlets whose water may come to a component, by their names.

    Shut valves and zones stop it, as do check valves fitted the wrong way round; without
    ``past_heaters`` also heaters, which leaves cold water.  ``port`` says through which inlet.
    """
    return _walked(_ways_of(build), component, port, past_heaters)


@dataclass(frozen=True)
class _Ways:
    """What a walk against the water needs of a build."""

    inward: dict[str, tuple[tuple[str, str, str], ...]]
    stops: frozenset[str]
    heaters: frozenset[str]
    pumps: frozenset[str]
    tanks: frozenset[str]
    shores: frozenset[str]
    hung: dict[str, str]
    turned: frozenset[str]

    @classmethod
    def of(cls, build: Build) -> _Ways:
        shut = {f"{z.manifold}.{z.name}" for z in build.zone if np.all(np.asarray(z.opening) <= 0)}
        inward: dict[str, list[tuple[str, str, str]]] = {}
        # the shortest first, so that the order of the file decides nothing
        for _, (first, last) in sorted(zip(build.run, build.run_ends, strict=True), key=_size):
            if str(first) not in shut and str(last) not in shut:
                inward.setdefault(last.component, []).append(
                    (first.component, str(last), last.port)
                )
        stops = {part.name for part in build.components if _stops(part)}
        return cls(
            {name: tuple(those) for name, those in inward.items()},
            frozenset(stops),
            frozenset(h.name for h in build.heater),
            frozenset(p.name for p in build.pump),
            frozenset(t.name for t in build.tank if t.holds == "fresh"),
            frozenset(s.name for s in build.shore_inlet),
            build.hung_pumps,
            frozenset(
                f"{one.name}.{port}"
                for one in build.tank_selector
                for port in one.inlets
                if one.set_to not in (port, "both")
            ),
        )


_last_ways: list[tuple[ReferenceType[Build], _Ways]] = []


def _ways_of(build: Build) -> _Ways:
    """The ways of a build, kept until another is asked for: every tap and heater asks anew."""
    for known, ways in _last_ways:
        if known() is build:
            return ways
    ways = _Ways.of(build)
    _last_ways[:] = [(ref(build), ways)]
    return ways


def _size(pair: tuple[Run, tuple[Port, Port]]) -> tuple[float, float]:
    run = pair[0]
    return float(np.max(run.length)), float(np.max(run.rise))


def _stops(part: object) -> bool:
    if isinstance(part, ShutOff):
        return bool(np.all(np.asarray(part.opening) <= 0))
    if isinstance(part, CheckValve):
        return part.reversed
    return isinstance(part, RecirculationPump)


def _walked(ways: _Ways, component: str, port: str, past_heaters: bool) -> dict[str, Source]:
    """Every source behind a component, by the shortest way; a turned selector counts as long."""
    found: dict[str, Source] = {}
    todo: deque[tuple[str, tuple[str, ...], bool]] = deque([(component, (), False)])
    later: list[tuple[str, tuple[str, ...], bool]] = []
    seen = {component}
    while todo or later:
        here, pumps, turned = todo.popleft() if todo else later.pop(0)
        if here in ways.pumps:
            pumps = (here, *pumps)
        if here in ways.hung:
            found.setdefault(ways.hung[here], Source(ways.hung[here], pumps, turned))
        for name, end, entered in ways.inward.get(here, ()):
            if name in seen or name in ways.stops or (not past_heaters and name in ways.heaters):
                continue
            if here == component and port and entered != port:
                continue
            over = turned or end in ways.turned
            if name in ways.tanks or name in ways.shores:
                found.setdefault(name, Source(name, pumps, over))
                continue
            if over and not turned:
                later.append((name, pumps, True))
                continue
            seen.add(name)
            todo.append((name, pumps, over))
    return found


@dataclass(frozen=True)
class Feed:
    """One side of a tap: the sets that it draws from, by number, first things first.

    A set stands higher than the next, or a tank selector points to it.  ``pumps`` lift it.
    """

    sets: tuple[int, ...]
    pumps: tuple[str, ...]


def feed(build: Build, sets: tuple[TankSet, ...], found: dict[str, Source]) -> Feed:
    """The sets behind a port; shore water only where no tank feeds it."""
    if not build.run:
        pump = main_pump(build)
        return Feed(tuple(range(len(sets))), (pump.name,) if pump is not None else ())
    ranks: dict[int, tuple[bool, int]] = {}
    for number, one in enumerate(sets):
        mine = [found[t.name] for t in one.tanks if t.name in found]
        if mine:
            ranks[number] = (all(source.turned for source in mine), number)
    order = tuple(sorted(ranks, key=lambda number: ranks[number]))
    shores = {inlet.name for inlet in build.shore_inlet} & set(found)
    if not order and shores:
        return Feed((len(sets) - 1,), ())
    pumps: tuple[str, ...] = ()
    if order:
        first = [found[t.name] for t in sets[order[0]].tanks if t.name in found]
        pumps = min((source.pumps for source in first), key=lambda those: (len(those), those))
    return Feed(order, pumps)


def cold_feed(build: Build, sets: tuple[TankSet, ...], fixture: Fixture) -> Feed:
    """What a fixture's cold water comes from."""
    return feed(build, sets, sources(build, fixture.name, past_heaters=False))


def hot_feed(build: Build, sets: tuple[TankSet, ...], heater: Heater) -> Feed:
    """What a heater is filled from."""
    return feed(build, sets, sources(build, heater.name))


def heater_before(build: Build, heater: Heater) -> str | None:
    """The nearest heater whose water comes into another one; None where cold water does."""
    ways = _ways_of(build)
    seen, todo = {heater.name}, deque([heater.name])
    while todo:
        for name, _, _ in ways.inward.get(todo.popleft(), ()):
            if name in seen or name in ways.stops:
                continue
            if name in ways.heaters:
                return name
            seen.add(name)
            if name not in ways.tanks and name not in ways.shores:
                todo.append(name)
    return None
