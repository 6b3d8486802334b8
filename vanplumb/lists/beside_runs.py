"""Joints that no run has: bypasses round heaters and filters, hoses of fillers, vents, overflows.

What the build file says the length of is cut or bought; what it doesn't is said not to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from ..van.ends import End, method_of, size_of
from ..van.fittings import fittings_of
from ..van.pieces import Join, Made, Piece
from ..van.pointers import Port
from ..van.port_ends import STATED, end_of_port, holds_tube
from ..words.brief import brief
from ..words.show import show
from ..words.tables import table

if TYPE_CHECKING:
    from ..van.model import Build
    from ..van.parts import Component, Tank

LOOSE = "device"
"""Kind of a piece of tube that belongs to a device and to no run."""
HOSE_WALL = 0.004
"""m, of the hose of a filler, a vent or an overflow (typical, from memory)."""
HOSE_DENSITY = 1250.0
"""kg/m³ of such hose (typical of soft PVC, from memory)."""


@brief
@dataclass(frozen=True)
class Bypass:
    """A way round a part, with its valves: the part, its ports, and the tube's length in m."""

    part: Component
    ports: tuple[str, str]
    valves: str
    length: float | None

    @property
    def name(self) -> str:
        return f"bypass of {self.part.name}"


@brief
@dataclass(frozen=True)
class TankHose:
    """A hose from a tank to its filler, its vent or its overflow; bore and length in m.

    ``length`` is None where the build file doesn't say it.
    """

    tank: Tank
    to: str
    bore: float
    length: float | None

    @property
    def name(self) -> str:
        return f"{self.tank.name} {self.to} hose"

    @property
    def per_metre(self) -> float:
        """kg of a metre."""
        return pi * (self.bore + HOSE_WALL) * HOSE_WALL * HOSE_DENSITY


def bypasses(build: Build) -> tuple[Bypass, ...]:
    """Every bypass of the build: those of heaters, then those of parts in a line."""
    found = [
        Bypass(heater, ("cold", "hot"), heater.bypass, heater.bypass_length)
        for heater in build.heater
        if heater.bypass != "none"
    ]
    found += [
        Bypass(part, ("inlet", "outlet"), "three valves", part.bypass_length)
        for part in build.line_part
        if part.bypass
    ]
    return tuple(found)


def tank_hoses(build: Build) -> Iterator[TankHose]:
    """The hoses of every tank, of which nobody makes a run."""
    for tank in build.tank:
        for to, bore, length in (
            ("filler", tank.fill_diameter, tank.fill_hose),
            ("vent", tank.vent_diameter, tank.vent_hose),
            ("overflow", tank.overflow_diameter, tank.overflow_hose),
        ):
            if bore is not None:
                yield TankHose(tank, to, bore, length)


def bore_words(build: Build, bore: float) -> str:
    """What a hose is asked for by: "inside 38 mm"."""
    return f"inside {show(bore, 'diameter', build.van.units)}"


def beside_runs(build: Build) -> Made:
    """What joins bypasses to their parts, and hoses to tanks and to what they lead to."""
    made = Made()
    for one in bypasses(build):
        _round(build, one, made)
    for hose in tank_hoses(build):
        size = bore_words(build, hose.bore)
        barb = End("hose barb", show(hose.bore, "diameter", build.van.units), "plastic")
        for at in (hose.tank.name, hose.to):
            what = f"{hose.tank.name}, {hose.to}" if at == hose.tank.name else (
                f"{hose.to} of {hose.tank.name}"
            )  # fmt: skip
            made.joins.append(
                Join(f"{hose.name} at {at}", what, barb, hose=size, kind="hose clamp", side="cold",
                     place=f"{hose.tank.name}, {hose.to}")
            )  # fmt: skip
        if hose.length is None:
            made.notes.append(f"{hose.name}: its length is not said; it is not bought here")
    return made


def _round(build: Build, one: Bypass, made: Made) -> None:
    """A bypass is screwed between a part and what comes to it, with a tube across."""
    part, tube, stands = one.part, "", []
    for port in one.ports:
        found = _run_at(build, Port(part.name, port))
        if found is None:
            made.notes.append(f"{one.name}: no run comes to its {port}, so it has no joints here")
            return
        stands.append((port, end_of_port(build, Port(part.name, port), build.run[found])))
        tube = tube or build.run[found].tube
    place = f"{part.name}, bypass"
    side = "hot" if one.ports == ("cold", "hot") else "cold"
    across = holds_tube(build, tube)
    labels = tuple(f"{one.name}, {port}" for port in one.ports)
    for (port, end), label in zip(stands, labels, strict=True):
        mates = table("end_kinds")[end.end.kind]["mates"] or ()
        if mates:
            made.joins.append(
                Join(f"{part.name} {port}, bypass thread", label, end.end,
                     End(mates[0], end.end.size, "brass"), device=part.name, side=side,
                     place=place, bench=True, basis=end.basis or STATED)
            )  # fmt: skip
        made.joins.append(
            Join(f"{label} tube", label, across, tube=tube, side=side, place=place, bench=True)
        )
    if one.length is None:
        made.notes.append(f"{one.name}: the length of its tube is not said; it is not cut here")
        return
    into = _insertion(build, tube)
    made.pieces.append(
        Piece(one.name, tube, one.length, (labels[0], labels[1]), (0.0, 0.0), (into, into),
              None, LOOSE)
    )  # fmt: skip


def _insertion(build: Build, tube: str) -> float:
    """m of a tube that goes on the ends of a part which is told by its length alone."""
    method = method_of(tube, "", build.rows)
    part = fittings_of(build.rows).find("coupling", method, size_of(tube, build.rows))
    return part.insertions[0] if part is not None else 0.0


def _run_at(build: Build, port: Port) -> int | None:
    """The number of the run that comes to a port, by whichever end."""
    return next((n for n, pair in enumerate(build.run_ends) if port in pair), None)
