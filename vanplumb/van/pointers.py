"""What a pointer in a build file means: a component, and one of its ports."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from .parts import COMPONENTS, Component, Fixture, Manifold, Zone
from .problems import listed, nearest, quoted


class Parts(Protocol):
    """What a pointer is looked up in: a build, whole or half read."""

    @property
    def components(self) -> Iterator[Component]: ...

    def component(self, name: str) -> Component: ...

    def zones(self, manifold: str) -> tuple[Zone, ...]: ...


@dataclass(frozen=True)
class Port:
    """One port of one component.  ``str()`` gives the node name: ``"hot manifold.shower"``."""

    component: str
    port: str

    def __str__(self) -> str:
        return f"{self.component}.{self.port}"


class WiringError(ValueError):
    """A pointer that means nothing, or more than one thing."""


def kind_of(component: Component) -> str:
    """What the trade calls the component: "mixing valve"."""
    for key, part in COMPONENTS.items():
        if type(component) is part:
            return key.replace("_", " ")
    raise TypeError(f"{component!r} is no component")


def ports(build: Parts, component: Component) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the inlets and of the outlets; a manifold's outlets are its zones."""
    if isinstance(component, Manifold):
        return component.inlets, tuple(z.name for z in build.zones(component.name))
    return component.inlets, component.outlets


def resolve(build: Parts, pointer: str, leaving: bool) -> Port:
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


def _component(build: Parts, name: str, pointer: str) -> Component:
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
