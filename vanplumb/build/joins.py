"""Whether the parts of a build fit each other: names, pointers, ports."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from .model import Build, Port
from .parts import Component, Fixture, Manifold, Tank
from .problems import listed, nearest, quoted
from .van import Situation, Use
from .wiring import WiringError, resolve

Say = Callable[[object, str, str], None]
"""Called with a part, a key of it (or nothing) and what is wrong."""


def check_joins(build: Build, say: Say) -> None:
    """Say all that is wrong between the parts."""
    _names(build, say)
    _zones(build, say)
    _runs(build, say)
    for fixture in build.fixture:
        if fixture.grey:
            _grey(build, fixture, say)
    for use in build.use:
        _fixture(build, use, "fixture", (use.fixture,), say)
    for situation in build.situation:
        _fixture(build, situation, "open", situation.open, say)


def _names(build: Build, say: Say) -> None:
    seen: dict[str, Component] = {}
    for component in build.components:
        if not component.name:
            continue
        if component.name in seen:
            say(component, "name", f"is used twice: {quoted(component.name)}")
        seen.setdefault(component.name, component)
    named: tuple[Sequence[Use | Situation], ...] = (build.use, build.situation)
    for parts in named:
        known: set[str] = set()
        for part in parts:
            if part.name in known:
                say(part, "name", f"is used twice: {quoted(part.name)}")
            known.add(part.name)


def _zones(build: Build, say: Say) -> None:
    manifolds = [m.name for m in build.manifold]
    seen: set[tuple[str, str]] = set()
    for zone in build.zone:
        if zone.manifold and zone.manifold not in manifolds:
            near = nearest(zone.manifold, manifolds)
            say(zone, "manifold", f"names no manifold of this build: {quoted(zone.manifold)}{near}")
        if zone.name and (zone.manifold, zone.name) in seen:
            say(zone, "name", f"is used twice in {quoted(zone.manifold)}: {quoted(zone.name)}")
        if zone.name in Manifold.inlets:
            say(zone, "name", f"must not be {quoted(zone.name)}: that is the manifold's own port")
        seen.add((zone.manifold, zone.name))


def _runs(build: Build, say: Say) -> None:
    taken: dict[Port, int] = {}
    shared = {c.name for c in (*build.tee, *build.tank)}
    for number, run in enumerate(build.run, 1):
        for key, pointer, leaving in (("from", run.start, True), ("to", run.end, False)):
            if not pointer:
                continue
            try:
                port = resolve(build, pointer, leaving)
            except WiringError as error:
                say(run, key, str(error))
                continue
            if port in taken and port.component not in shared:
                say(
                    run,
                    key,
                    f"takes {quoted(str(port))}, where run {taken[port]} is already: "
                    "part them with a [[tee]]",
                )
            taken.setdefault(port, number)
    for fixture in build.fixture:
        used = [p for p in fixture.inlets if Port(fixture.name, p) in taken]
        if "inlet" in used and len(used) > 1:
            say(
                fixture,
                "",
                f"has a run to {quoted(fixture.name)} and one to {quoted(f'{fixture.name}.hot')} "
                f"or {quoted(f'{fixture.name}.cold')}: name the ports of both",
            )


def _grey(build: Build, fixture: Fixture, say: Say) -> None:
    tanks = [t.name for t in build.tank]
    if fixture.grey not in tanks:
        near = nearest(fixture.grey, tanks)
        say(fixture, "grey", f"names no tank of this build: {quoted(fixture.grey)}{near}")
        return
    tank = build.component(fixture.grey)
    if isinstance(tank, Tank) and tank.holds != "grey":
        say(fixture, "grey", f"names {quoted(fixture.grey)}, which holds {tank.holds} water")


def _fixture(build: Build, part: object, key: str, names: tuple[str, ...], say: Say) -> None:
    known = [f.name for f in build.fixture]
    for name in names:
        if name and name not in known:
            near = nearest(name, known) or (f"; there are {listed(known)}" if known else "")
            say(part, key, f"names no fixture of this build: {quoted(name)}{near}")
