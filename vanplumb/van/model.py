"""A build: one van's water system, as read from one file."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from pathlib import Path
from typing import Any

from ..words.show import counted
from .bent import BentRun
from .laid_header import LaidHeader
from .parts import (
    COMPONENTS,
    Accumulator,
    AirVent,
    CheckValve,
    Component,
    DrainValve,
    Fixture,
    Heater,
    LinePart,
    Manifold,
    MixingValve,
    Pump,
    RecirculationPump,
    Regulator,
    Run,
    ShoreInlet,
    ShutOff,
    Strainer,
    Tank,
    TankSelector,
    Tee,
    Zone,
)
from .pointers import Port, resolve
from .whole_van import Battery, Board, Crew, Fuel, Limits, Shop, Situation, Stock, Use, Van

FORMAT = 1
"""The format of build files that this version writes; it reads all up to this."""

SECTIONS: dict[str, type] = {
    "van": Van,
    "crew": Crew,
    "battery": Battery,
    "fuel": Fuel,
    "board": Board,
    "shop": Shop,
    "limits": Limits,
}
"""What a file says once, as ``[van]``."""

LISTS: dict[str, type] = {
    **COMPONENTS,
    "zone": Zone,
    "run": Run,
    "use": Use,
    "situation": Situation,
    "stock": Stock,
}
"""What a file may say many times, as ``[[tank]]``."""


@dataclass(frozen=True, kw_only=True)
class Build:
    """Everything the file said, in SI, with defaults filled in.

    ``given`` maps the path of each value that the file states (``"tank.fresh.length"``,
    ``"zone.hot manifold.shower.valve"``, ``"run.3.rise"`` for the third run) to the text as
    written; a path that is missing there was a default.
    ``rows`` holds the file's own rows for the data tables: table name to row name to columns.
    ``bent`` tells which runs have bends where the file says elbows, and which kept them and why;
    ``laid`` the headers as their board is laid out, where it is.
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
    drain_valve: tuple[DrainValve, ...] = ()
    line_part: tuple[LinePart, ...] = ()
    air_vent: tuple[AirVent, ...] = ()
    tank_selector: tuple[TankSelector, ...] = ()
    recirculation_pump: tuple[RecirculationPump, ...] = ()
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
    bent: tuple[BentRun, ...] = ()
    laid: tuple[LaidHeader, ...] = ()

    @property
    def mark(self) -> str:
        """Ten letters that tell one state of a build file from any other; empty without one."""
        data = self.text.encode("utf-8", "surrogatepass")
        return hashlib.sha256(data).hexdigest()[:10] if self.text else ""

    def stamp(self, revision: str = "", date: str = "") -> str:
        """Which state a paper or a list is of: "Dipper · revision B · 2025-03-07 · build 1a2b…"."""
        said = (
            self.van.name,
            f"revision {revision}" if revision else "",
            date,
            f"build {self.mark}" if self.mark else "",
        )
        return " · ".join(filter(None, said))

    def __repr__(self) -> str:
        parts = counted(sum(1 for _ in self.components), "component")
        return f"Build of {self.van.name}: {parts}, {counted(len(self.run), 'run')}"

    def _repr_html_(self) -> str:
        """Each part with what the file says of it, as it is written there."""
        said: dict[str, list[str]] = {}
        for path, text in self.given.items():
            label, _, key = path.rpartition(".")
            said.setdefault(label, []).append(f"{key.replace('_', ' ')} {text}")
        rows = "".join(
            f"<tr><th>{escape(label)}</th><td>{escape(', '.join(texts))}</td></tr>"
            for label, texts in said.items()
        )
        return f"<table><caption>{escape(repr(self))}</caption>{rows}</table>"

    @property
    def components(self) -> Iterator[Component]:
        """Every component, in the order of the kinds above."""
        for key in COMPONENTS:
            yield from getattr(self, key)

    def component(self, name: str) -> Component:
        """The component of that name.  KeyError if there is none."""
        return self._by_name[name]

    @cached_property
    def _by_name(self) -> dict[str, Component]:
        found: dict[str, Component] = {}
        for one in self.components:
            found.setdefault(one.name, one)
        return found

    def zones(self, manifold: str) -> tuple[Zone, ...]:
        """The zones of one manifold, in the order of the file."""
        return tuple(z for z in self.zone if z.manifold == manifold)

    def label(self, part: object) -> str:
        """The path of a part, as ``given`` and ``change`` name it: "tank.fresh", "run.3", "van".

        KeyError if the part is not of this build.
        """
        for key in SECTIONS:
            if getattr(self, key) is part:
                return key
        for key in LISTS:
            for number, one in enumerate(getattr(self, key), 1):
                if one is part:
                    return label_of(key, one, number)
        raise KeyError(f"{part!r} is no part of this build")

    def stated(self, part: object, key: str) -> bool:
        """Whether the file states this value of a part, or it was a default."""
        return f"{self.label(part)}.{key}" in self.given

    def ends(self, run: Run) -> tuple[Port, Port]:
        """The two ports that a run joins: it leaves the first and arrives at the second."""
        for one, pair in zip(self.run, self.run_ends, strict=True):
            if one is run:
                return pair
        return self._resolved(run)

    @cached_property
    def hung_pumps(self) -> dict[str, str]:
        """Pumps that hang in a tank, each with its tank: water gets to them with no run."""
        return {pump.name: pump.in_tank for pump in self.pump if pump.in_tank}

    @cached_property
    def run_ends(self) -> tuple[tuple[Port, Port], ...]:
        """The two ports of each run, in the order of the file."""
        return tuple(self._resolved(run) for run in self.run)

    @cached_property
    def runs_into(self) -> Mapping[str, tuple[tuple[int, Port, Port], ...]]:
        """The runs that arrive at each component: their number, where they leave and arrive."""
        return self._runs_by(1)

    @cached_property
    def runs_out_of(self) -> Mapping[str, tuple[tuple[int, Port, Port], ...]]:
        """The runs that leave each component: their number, where they leave and arrive."""
        return self._runs_by(0)

    @cached_property
    def joined(self) -> frozenset[str]:
        """Components that a run leads to or from; one that stands by alone changes no flow."""
        return frozenset(port.component for pair in self.run_ends for port in pair)

    def _runs_by(self, end: int) -> dict[str, tuple[tuple[int, Port, Port], ...]]:
        found: dict[str, list[tuple[int, Port, Port]]] = {}
        for number, pair in enumerate(self.run_ends):
            found.setdefault(pair[end].component, []).append((number, *pair))
        return {name: tuple(runs) for name, runs in found.items()}

    def _resolved(self, run: Run) -> tuple[Port, Port]:
        return resolve(self, run.start, leaving=True), resolve(self, run.end, leaving=False)


def label_of(key: str, part: object, number: int) -> str:
    """The path of one part of a list: by its name if it has one, else by its number from 1."""
    if isinstance(part, Zone):
        return f"{key}.{part.manifold}.{part.name}"
    return f"{key}.{getattr(part, 'name', '') or number}"
