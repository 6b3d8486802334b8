"""Places of a build in plain words: ports, and runs by their two ends.

A build file says ``"cold manifold.heater"``; a reader of the papers is told "cold manifold,
outlet heater", and of its run "cold manifold to heater".

What a pointer in a build file means: components, their ports, and what is joined where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from .file.problems import listed, nearest, quoted
from .model import Build, Port
from .parts import COMPONENTS, Component, Fixture, Manifold, MixingValve, Run, Tank, Tee


class WiringError(ValueError):
    """A pointer that means nothing, or more than one thing."""


def kind_of(component: Component) -> str:
    """What the trade calls the component: "mixing valve"."""
    for key, part in COMPONENTS.items():
        if type(component) is part:
            return key.replace("_", " ")
    raise TypeError(f"{component!r} is no component")


def ports(build: Build, component: Component) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the inlets and of the outlets; a manifold's outlets are its zones."""
    if isinstance(component, Manifold):
        return component.inlets, tuple(z.name for z in build.zones(component.name))
    return component.inlets, component.outlets


def passages(build: Build, component: Component) -> tuple[tuple[str, str], ...]:
    """Pairs of inlet and outlet that water passes between inside the component.

    A tank has none: it parts the water that comes in from the water that goes out.
    """
    if isinstance(component, Tank | Tee):
        return ()
    inlets, outlets = ports(build, component)
    return tuple((inlet, outlet) for inlet in inlets for outlet in outlets)


def resolve(build: Build, pointer: str, leaving: bool) -> Port:
    """The port that a run leaves or arrives at.  WiringError with the reason if there is none."""
    name, point, port = pointer.partition(".")
    component = _component(build, name, pointer)
    inlets, outlets = ports(build, component)
    offered, other = (outlets, inlets) if leaving else (inlets, outlets)
    kind, verb = kind_of(component), "leave" if leaving else "arrive at"
    if point:
        return Port(name, _named_port(name, port, offered, other, kind, verb))
    if not offered:
        article = "an" if kind[0] in "aeiou" else "a"
        if isinstance(component, Manifold):
            raise WiringError(f"leaves {quoted(name)}, which has no zone yet: add a [[zone]] to it")
        raise WiringError(f"can't {verb} {quoted(name)}: no run may {verb} {article} {kind}")
    if len(offered) == 1 or isinstance(component, Fixture):
        return Port(name, offered[0])
    which = "zone" if isinstance(component, Manifold) else "port"
    raise WiringError(
        f"must say which {which} of {quoted(name)}: {listed(f'{name}.{p}' for p in offered)}"
    )


def _component(build: Build, name: str, pointer: str) -> Component:
    try:
        return build.component(name)
    except KeyError:
        known = [c.name for c in build.components if c.name]
        near = nearest(name, known) or (f"; there are {listed(known)}" if known else "")
        said = quoted(name) if name else f"nothing ({quoted(pointer)})"
        raise WiringError(f"names {said}, which is no component of this build{near}") from None


def _named_port(
    name: str, port: str, offered: tuple[str, ...], other: tuple[str, ...], kind: str, verb: str
) -> str:
    if port in offered:
        return port
    if port in other:
        what = "an inlet" if verb == "leave" else "an outlet"
        raise WiringError(f"can't {verb} {quoted(f'{name}.{port}')}, which is {what}")
    has = f"; it has {listed(offered)}" if offered else ""
    raise WiringError(f"names no port of {quoted(name)} ({kind}): {quoted(port)}{has}")


def ends(build: Build) -> tuple[tuple[Port, Port], ...]:
    """Where each run leaves and arrives, in the order of the file."""
    return build.run_ends


def runs_at(build: Build, component: str, port: str = "") -> tuple[Run, ...]:
    """The runs that leave or arrive at a component, or at one of its ports."""
    return tuple(
        run
        for run, pair in zip(build.run, ends(build), strict=True)
        if any(p.component == component and port in ("", p.port) for p in pair)
    )


def loose_ports(build: Build) -> Iterator[Port]:
    """Ports that no run joins, fixtures' unused supplies and spare zones left out."""
    joined = {port for pair in ends(build) for port in pair}
    for component in build.components:
        inlets, outlets = ports(build, component)
        used = [p for p in (*inlets, *outlets) if Port(component.name, p) in joined]
        if isinstance(component, Fixture):
            if not used:
                yield Port(component.name, "inlet")
        elif isinstance(component, Tee):
            if len(runs_at(build, component.name)) < 2:
                yield Port(component.name, "any")
        elif isinstance(component, Tank):
            if component.holds == "fresh" and "outlet" not in used:
                yield Port(component.name, "outlet")
        else:
            wanted = inlets if isinstance(component, Manifold) else (*inlets, *outlets)
            yield from (Port(component.name, p) for p in wanted if p not in used)


def sides(build: Build) -> Mapping[str, str]:
    """What flows at each port that water reaches: "cold", "hot" or "mixed".

    Hot comes from a heater, mixed from a mixing valve, cold from everything before them.
    Where a tee joins unlike waters its side is "mixed".  Keys are node names.
    """
    runs = ends(build)
    found: dict[str, str] = {}
    for component in build.components:
        start = {"heater": "hot", "mixing valve": "mixed", "tank": "cold", "shore inlet": "cold"}
        if side := start.get(kind_of(component)):
            found |= {f"{component.name}.{p}": side for p in component.outlets}
    fixed = frozenset(found)
    links = [(str(a), str(b)) for a, b in runs]
    for component in build.components:
        links += [
            (f"{component.name}.{a}", f"{component.name}.{b}")
            for a, b in passages(build, component)
        ]
    for _ in range(2 * len(links) + 2):
        before = dict(found)
        for start_node, end_node in links:
            side = found.get(start_node)
            if side is None or end_node in fixed:
                continue
            held = found.get(end_node, side)
            found[end_node] = side if held == side else "mixed"
        if found == before:
            break
    return found


SIDED = (Fixture, MixingValve)
"""Parts that take hot and cold water: which of the two a run brings must be told."""


def place(build: Build, node: str) -> str:
    """A node in plain words: ``"heater.cold"`` is "heater, cold inlet".

    What is no port of a component ("open air", a tee inside a manifold) is told as it is.
    """
    name, point, port = node.partition(".")
    try:
        component = build.component(name)
    except KeyError:
        return node
    if not point or isinstance(component, Tee):
        return name
    inlets, outlets = ports(build, component)
    if isinstance(component, Manifold) and port in outlets:
        return f"{name}, outlet {port}"
    for ending, known in (("inlet", inlets), ("outlet", outlets)):
        if port in known and port != ending:
            return f"{name}, {port} {ending}"
    return f"{name}, {port}"


def run_words(build: Build, number: int) -> str:
    """A run by its two ends: "pump to cold manifold", "hot manifold to galley, hot inlet"."""
    first, last = build.run_ends[number]
    return f"{_end(build, first, last)} to {_end(build, last, first)}"


def run_for_owner(build: Build, number: int) -> str:
    """A run as it is told to someone who has no drawing at hand, its number last."""
    first, last = build.run_ends[number]
    start, end = (
        f"the {_end(build, one, other)}{_sort(build.component(one.component))}"
        for one, other in ((first, last), (last, first))
    )
    return f"the run from {start} to {end} (run {number + 1})"


def _end(build: Build, port: Port, other: Port) -> str:
    """One end of a run, with its port only where the component's name would not do."""
    component = build.component(port.component)
    if isinstance(component, SIDED) and port.port in ("hot", "cold"):
        return place(build, str(port))
    if isinstance(component, Manifold) and port.port not in component.inlets:
        pair = {port.component, other.component}
        alike = [1 for ends in build.run_ends if {end.component for end in ends} == pair]
        if len(alike) > 1:
            return place(build, str(port))
    return port.component


def _sort(component: Component) -> str:
    """What a bare name leaves open: "fresh" is a tank."""
    return " tank" if isinstance(component, Tank) and "tank" not in component.name else ""
