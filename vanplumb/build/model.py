"""A build: one van's water system, as read from one file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from .parts import (
    Accumulator,
    CheckValve,
    Component,
    Fixture,
    Heater,
    Manifold,
    MixingValve,
    Pump,
    Regulator,
    Run,
    ShoreInlet,
    ShutOff,
    Strainer,
    Tank,
    Tee,
    Zone,
)
from .van import Battery, Board, Crew, Fuel, Limits, Shop, Situation, Stock, Use, Van

C = TypeVar("C", bound=Component)


@dataclass(frozen=True)
class Port:
    """One port of one component.  ``str()`` gives the node name: ``"hot manifold.shower"``."""

    component: str
    port: str

    def __str__(self) -> str:
        return f"{self.component}.{self.port}"


@dataclass(frozen=True, kw_only=True)
class Build:
    """Everything the file said, in SI, with defaults filled in.

    ``given`` maps the path of each value that the file states (``"tank.fresh.length"``,
    ``"run.3.rise"``) to the text as written; a path that is missing there was a default.
    ``rows`` holds the file's own rows for the data tables: table name to row name to columns.
    """

    van: Van
    crew: Crew = field(default_factory=Crew)
    battery: Battery | None = None
    fuel: Fuel | None = None
    board: Board = field(default_factory=Board)
    shop: Shop = field(default_factory=Shop)
    limits: Limits = field(default_factory=Limits)
    tank: tuple[Tank, ...] = ()
    strainer: tuple[Strainer, ...] = ()
    pump: tuple[Pump, ...] = ()
    check_valve: tuple[CheckValve, ...] = ()
    shut_off: tuple[ShutOff, ...] = ()
    accumulator: tuple[Accumulator, ...] = ()
    shore_inlet: tuple[ShoreInlet, ...] = ()
    regulator: tuple[Regulator, ...] = ()
    tee: tuple[Tee, ...] = ()
    manifold: tuple[Manifold, ...] = ()
    zone: tuple[Zone, ...] = ()
    heater: tuple[Heater, ...] = ()
    mixing_valve: tuple[MixingValve, ...] = ()
    fixture: tuple[Fixture, ...] = ()
    run: tuple[Run, ...] = ()
    use: tuple[Use, ...] = ()
    situation: tuple[Situation, ...] = ()
    stock: tuple[Stock, ...] = ()
    rows: Mapping[str, Mapping[str, Mapping[str, Any]]] = field(default_factory=dict)
    given: Mapping[str, str] = field(default_factory=dict)
    path: Path | None = None
    text: str = ""

    @property
    def components(self) -> Iterator[Component]:
        """Every component, in the order of the kinds above."""
        from .parts import COMPONENTS

        for key in COMPONENTS:
            yield from getattr(self, key)

    def component(self, name: str) -> Component:
        """The component of that name.  KeyError if there is none."""
        for one in self.components:
            if one.name == name:
                return one
        raise KeyError(name)

    def zones(self, manifold: str) -> tuple[Zone, ...]:
        """The zones of one manifold, in the order of the file."""
        return tuple(z for z in self.zone if z.manifold == manifold)

    def ends(self, run: Run) -> tuple[Port, Port]:
        """The two ports that a run joins: it leaves the first and arrives at the second."""
        from .wiring import resolve

        return resolve(self, run.start, leaving=True), resolve(self, run.end, leaving=False)
