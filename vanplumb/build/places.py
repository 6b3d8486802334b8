"""Places of a build in plain words: ports, and runs by their two ends.

A build file says ``"cold manifold.heater"``; a reader of the papers is told "cold manifold,
outlet heater", and of its run "cold manifold to heater".
"""

from __future__ import annotations

from .model import Build, Port
from .parts import Component, Fixture, Manifold, MixingValve, Tank, Tee
from .wiring import ports

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
