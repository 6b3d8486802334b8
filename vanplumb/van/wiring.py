"""Places of a build in plain words: ports, and runs by their two ends.

A build file says ``"cold manifold.heater"``; a reader of the papers is told "cold manifold,
outlet heater", and of its run "cold manifold to heater".  What is joined where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from .model import Build
from .parts import Component, Fixture, Manifold, MixingValve, Run, Tank, Tee
from .pointers import Port, kind_of, ports


def passages(build: Build, component: Component) -> tuple[tuple[str, str], ...]:
    """Pairs of inlet and outlet that water passes between inside the component.

    A tank has none: it parts the water that comes in from the water that goes out.
    """
    if isinstance(component, Tank | Tee):
        return ()
    inlets, outlets = ports(build, component)
    return tuple((inlet, outlet) for inlet in inlets for outlet in outlets)


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
            hung = component.name in build.hung_pumps.values()
            if component.holds == "fresh" and "outlet" not in used and not hung:
                yield Port(component.name, "outlet")
        else:
            wanted = inlets if isinstance(component, Manifold) else (*inlets, *outlets)
            if component.name in build.hung_pumps:
                wanted = outlets
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
    links += [(f"{tank}.outlet", f"{pump}.inlet") for pump, tank in build.hung_pumps.items()]
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


def tank_words(name: str) -> str:
    """A tank by its name, which may say already that it is one: "fresh tank", "grey can"."""
    return name if {"tank", "can"} & set(name.lower().split()) else f"{name} tank"
