"""Following the water through a build: which runs feed a fixture, and what each carries.

This is the drawing followed with a finger, not a calculation of flow: with several ways to
a fixture the shortest in number of runs is taken.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from .model import Build, Port
from .wiring import ends, run_words, sides

COLD, HOT, MIXED = "cold", "hot", "mixed"
SOURCES = ("tank", "shore_inlet")
PARTED = ("tank", "pump", "shore_inlet", "mixing_valve", "fixture")
"""Parts that growing water is not counted on to pass."""
STOPS = ("pump", "regulator", "heater", "mixing_valve", "fixture", "shore_inlet", "line_part")
"""Parts that water does not pass by its weight alone, as far as is known."""


@dataclass(frozen=True)
class Way:
    """How water gets to one inlet of a component: runs by their number, source first.

    ``fixture`` is that component, a fixture as a rule; ``components`` are those passed on the
    way, source first, without it.
    """

    fixture: str
    port: str
    runs: tuple[int, ...]
    components: tuple[str, ...]


def contents(build: Build) -> tuple[str, ...]:
    """For each run whether it carries "cold", "hot" or "mixed" water."""
    side = sides(build)
    return tuple(side.get(str(leaves), COLD) for leaves, _ in ends(build))


def ways(build: Build) -> tuple[Way, ...]:
    """The way to each port of each fixture that has a supply, in the order of the file."""
    return tuple(way for fixture in build.fixture for way in ways_to(build, fixture.name))


def ways_to(build: Build, component: str) -> tuple[Way, ...]:
    """The way to each inlet of one component that a source feeds: from a tank if one does."""
    order = build.component(component).inlets
    joined = {e.port for _, _, e in build.runs_into.get(component, ())}
    found = []
    for port in (p for p in order if p in joined):
        for kind in SOURCES:
            names = {c.name for c in getattr(build, kind)}
            way = _upstream(build, Port(component, port), names)
            if way is not None:
                found.append(way)
                break
    return tuple(found)


def loop(build: Build, heater: str, pump: str) -> tuple[int, ...]:
    """Numbers of the runs that a recirculation pump's water passes: heater to pump and back."""
    to = [way for way in ways_to(build, pump) if heater in way.components]
    if not to:
        return ()
    passed = to[0].components.index(heater)
    back = _upstream(build, Port(heater, "cold"), {pump})
    return (*to[0].runs[passed:], *(back.runs if back is not None else ()))


def fixtures_fed(build: Build) -> dict[int, set[str]]:
    """The fixtures that each run is on the way to, by its number; runs on no way are left out."""
    found: dict[int, set[str]] = {}
    for way in ways(build):
        for number in way.runs:
            found.setdefault(number, set()).add(way.fixture)
    return found


def unfed(build: Build) -> tuple[str, ...]:
    """Fixtures that no water reaches from any source."""
    fed = {w.fixture for w in ways(build)}
    return tuple(f.name for f in build.fixture if f.name not in fed)


def served(build: Build, component: str) -> tuple[str, ...]:
    """Fixtures that get water through a component, in the order of the file."""
    names = {component, *(pump for pump, tank in build.hung_pumps.items() if tank == component)}
    start = [p for name in names for _, p, _ in build.runs_out_of.get(name, ())]
    runs = _downstream(build, start)
    names = {build.ends(build.run[n])[1].component for n in runs}
    return tuple(f.name for f in build.fixture if f.name in names)


def runs_below(build: Build, component: str) -> set[int]:
    """Numbers of the runs that water which leaves a component may pass."""
    return _downstream(build, [p for _, p, _ in build.runs_out_of.get(component, ())])


def tanks_upstream(build: Build, component: str) -> set[str]:
    """Every tank whose water may come to a component, by whatever way; shut valves stop it."""
    shut = {v.name for v in build.shut_off if np.all(np.asarray(v.opening) <= 0)}
    tanks = {t.name for t in build.tank}
    found: set[str] = set()
    seen, todo = {component}, [component]
    while todo:
        here = todo.pop()
        if here in build.hung_pumps:
            found.add(build.hung_pumps[here])
        for first, last in build.run_ends:
            name = first.component
            if last.component != here or name in seen or name in shut:
                continue
            seen.add(name)
            if name in tanks:
                found.add(name)
            else:
                todo.append(name)
    return found


def reached(build: Build, start: str) -> set[str]:
    """Components that water pushed out of one can get to with every outlet shut."""
    parted = {c.name for kind in PARTED for c in getattr(build, kind)}
    forward = {c.name for c in build.check_valve if not c.reversed}
    forward |= {r.name for r in build.regulator}
    backward = {c.name for c in build.check_valve if c.reversed}
    found, todo = {start}, [(start, True, True)]
    while todo:
        here, ahead, behind = todo.pop()
        for first, last in build.run_ends:
            for goes, other, back in (
                (ahead and first.component == here, last.component, False),
                (behind and last.component == here, first.component, True),
            ):
                barred = other in parted or other in (forward if back else backward)
                if not goes or barred or other in found:
                    continue
                found.add(other)
                todo.append((other, other not in backward, other not in forward))
    return found


def flows_by_itself(build: Build, start: str) -> set[str]:
    """Components that water of a tank gets to by its weight alone, with every outlet shut.

    Pumps, regulators, heaters and mixing valves stop it, as do shut valves, the inlet that a
    selector shuts, and check valves against their way.
    """
    stops = {c.name for kind in STOPS for c in getattr(build, kind)}
    stops |= {v.name for v in build.shut_off if np.all(np.asarray(v.opening) <= 0)}
    shut = {f"{z.manifold}.{z.name}" for z in build.zone if np.all(np.asarray(z.opening) <= 0)}
    for selector in build.tank_selector:
        shut |= {f"{selector.name}.{p}" for p in ("first", "second")
                 if selector.set_to not in (p, "both")}  # fmt: skip
    checks = {c.name: c.reversed for c in build.check_valve}
    found, todo = {start}, [start]
    while todo:
        here = todo.pop()
        for first, last in build.run_ends:
            if str(first) in shut or str(last) in shut:
                continue
            for own, other, back in (
                (first.component, last.component, False),
                (last.component, first.component, True),
            ):
                barred = checks.get(other, back) != back or checks.get(here, back) != back
                if own != here or other in found or other in stops or barred:
                    continue
                found.add(other)
                if other not in {t.name for t in build.tank}:
                    todo.append(other)
    return found


def title(build: Build, number: int) -> str:
    """A run in words: "pump to cold manifold"."""
    return run_words(build, number)


def _downstream(build: Build, start: list[Port]) -> set[int]:
    """Numbers of the runs that water leaving these ports may pass."""
    seen: set[int] = set()
    todo = deque(start)
    while todo:
        here = todo.popleft()
        for number, leaves, arrives in build.runs_out_of.get(here.component, ()):
            if number in seen or leaves.port != here.port:
                continue
            seen.add(number)
            todo.extend({p for _, p, _ in build.runs_out_of.get(arrives.component, ())})
    return seen


def _upstream(build: Build, goal: Port, sources: set[str]) -> Way | None:
    """The shortest way from a source to a port, walking against the water."""
    todo: deque[tuple[Port, tuple[int, ...], tuple[str, ...]]] = deque([(goal, (), ())])
    seen: set[str] = {str(goal)}
    while todo:
        here, runs, passed = todo.popleft()
        hangs_in = build.hung_pumps.get(here.component)
        if hangs_in in sources:
            return Way(goal.component, goal.port, runs, (str(hangs_in), *passed))
        for number, leaves, arrives in build.runs_into.get(here.component, ()):
            if not passed and arrives.port != here.port:
                continue
            name = leaves.component
            way, names = (number, *runs), (name, *passed)
            if name in sources:
                return Way(goal.component, goal.port, way, names)
            if name not in seen:
                seen.add(name)
                todo.append((leaves, way, names))
    return None


__all__ = [
    "COLD",
    "HOT",
    "MIXED",
    "Way",
    "contents",
    "fixtures_fed",
    "loop",
    "reached",
    "served",
    "tanks_upstream",
    "title",
    "unfed",
    "ways",
    "ways_to",
]
