"""Water that stands beside the runs: in headers and their stubs, in valves, pumps and the like.

A run is measured from where its tube stops at the one part to where it stops at the other, and to
the centre of a tee, and its fittings lie in that length: their water is the run's.  What is left
is told here, once: each stretch of a header, with its fitting and its valve, as the length of its
tube that holds as much; the row of tees where more than three runs meet; and what stands in a
part, from the table of devices.  Headers are as their board is laid out where it is, else as they
usually are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import Any

import numpy as np

from ..words.tables import Row, table
from .board_stock import matching
from .connect import connector_of
from .ends import method_of, size_of
from .header_form import BLOCK, header_form, laid_header
from .kinds import line_parts
from .line_parts import LinePart
from .model import Build
from .parts import Component, Manifold, Run
from .pointers import kind_of
from .run_ends import RunEnds, one_of
from .tees import runs_of, stub_length
from .zone_order import zones_along

BESIDE = "headers and valves"
"""What holds it, in words."""
VALVED = "stub and valve"
"""How the stretch from a header to a zone's outlet is called."""
PITCH = 0.05
"""m between the outlets of a ready header where the table has none for its tube (assumed)."""


@dataclass(frozen=True)
class Stretch:
    """Water that stands in one place beside the runs.

    ``length`` m of ``tube`` hold as much; ``component`` is the manifold, tee or part that it is
    in, and ``zones`` those zones of a manifold whose water passes it, none where none flows.
    """

    name: str
    component: str
    tube: str
    length: float
    volume: float
    zones: tuple[str, ...] = ()

    @property
    def as_run(self) -> Run:
        """A run of that tube, bare in the cabin, that holds as much."""
        return Run(start=self.component, end=self.component, tube=self.tube, length=self.length)


def _area(build: Build, tube: str) -> float:
    return pi / 4 * table("tubes", build.rows)[tube].number("bore") ** 2


def header_stretches(build: Build, manifold: Manifold) -> tuple[Stretch, ...]:
    """A header from its feed on, zone by zone: the way to each zone's fitting, and to its outlet.

    The zone's way is its stub and its valve; the plug of a header with one zone stands last.
    """
    tube, area = str(np.ravel(manifold.tube)[0]), _area(build, np.ravel(manifold.tube)[0])
    zones = [zone.name for zone in zones_along(build, manifold.name)]
    laid = laid_header(build, manifold.name)
    stub = max(manifold.stub or 0.0, stub_length(build, tube))
    valves = {zone.name: valve_through(build, tube, zone.valve)
              for zone in build.zones(manifold.name)}  # fmt: skip
    found: list[Stretch] = []

    def add(name: str, length: float, passing: Sequence[str]) -> None:
        said = f"{manifold.name}, {name}"
        found.append(Stretch(said, manifold.name, tube, length, length * area, tuple(passing)))

    if laid is not None:
        outs, gaps = list(laid.outs), list(laid.ways)
    else:
        block = header_form(build, manifold).form == BLOCK
        offs, gaps = (
            _block(build, manifold, tube, stub) if block else _tees(build, tube, len(zones), stub)
        )
        outs = [off + stub + valves[zone] for off, zone in zip(offs, zones, strict=False)]
    for number, zone in enumerate(zones):
        add(f"to {zone}" if not number else f"on to {zone}", gaps[number], zones[number:])
        add(f"{zone} {VALVED}", outs[number], [zone])
    if len(gaps) > len(zones):
        add("plug", gaps[-1], ())
    return tuple(found)


def _tees(build: Build, tube: str, count: int, stub: float) -> tuple[list[float], list[float]]:
    """From each fitting's centre to its outlet, and from one centre to the next, m.

    The last gap of a header with one zone is that to its plug.
    """
    fittings = connector_of(build).fittings
    method, size = method_of(tube, "", build.rows), size_of(tube, build.rows)
    offs = []
    for number in range(count):
        kind = "elbow" if number == count - 1 and number else "tee"
        part = fittings.find(kind, method, size)
        offs.append(part.take_offs[0] if part is not None else 0.0)
    gaps = offs[:1] + [a + stub + b for a, b in pairwise(offs)]
    if count == 1:
        plug = fittings.find("plug", method, size)
        if plug is not None:
            gaps.append(offs[0] + stub + plug.take_offs[0])
    return offs, gaps


def _block(
    build: Build, manifold: Manifold, tube: str, stub: float
) -> tuple[list[float], list[float]]:
    """The same for ready headers: from outlet to outlet, and through a stub to the next."""
    form, tubes = header_form(build, manifold), table("tubes", build.rows)
    rows = table("board_parts", build.rows)
    names = matching(rows, tubes, "header", tube, form.branch or tube)
    by_ports = {int(rows[name]["ports"] or 0): rows[name] for name in names}
    offs: list[float] = []
    gaps: list[float] = []
    left = len(build.zones(manifold.name))
    for number, ports in enumerate(form.outlets or (left,)):
        row = by_ports.get(ports)
        end, side, pitch = _sizes(row)
        for outlet in range(min(ports, left)):
            first = end if not number else end + stub + end
            gaps.append(pitch if outlet else first)
            offs.append(side)
        left -= ports
    return offs, gaps


def _sizes(row: Row | None) -> tuple[float, float, float]:
    """Take-off at its end, take-off of an outlet and pitch of a ready header, m."""
    if row is None:
        return 0.0, 0.0, PITCH
    end = float(row["take_off"] or 0.0)
    side = float(row["take_off_branch"] or end)
    return end, side, float(row["pitch"] or PITCH)


def valve_through(build: Build, tube: str, valve: Any) -> float:
    """From one of a zone valve's ends to the other, m: of its kind, or any for its tube."""
    rows, tubes = table("board_parts", build.rows), table("tubes", build.rows)
    names = (
        matching(rows, tubes, "valve", tube, valve=str(np.ravel(valve)[0]))
        or matching(rows, tubes, "valve", tube)
    )  # fmt: skip
    if not names:
        return 0.0
    row = rows[names[0]]
    one = float(row["take_off"] or 0.0)
    return one + float(row["take_off_branch"] or one)


def part_content(build: Build, component: Component) -> float:
    """Water that stands in the body of a part, m³: typical of its kind, 0 where it is nothing.

    Tanks, heaters, filters and their like say their own and are counted by it.
    """
    kind, form = kind_of(component), str(getattr(component, "kind", ""))
    found = 0.0
    for row in table("devices", build.rows).values():
        if row["component"] == kind and row["form"] in (None, "", form):
            found = float(row["content"] or 0.0)
    return found


def part_stretch(build: Build, component: Component) -> Stretch | None:
    """The same as a length of the widest tube that comes to it; None where no water is told."""
    return _as_tube(build, component, part_content(build, component))


def _as_tube(build: Build, component: Component, held: float) -> Stretch | None:
    tubes = {str(np.ravel(build.run[n].tube)[0]) for n, _ in runs_of(build, component.name)}
    if held <= 0 or not tubes:
        return None
    tube = min(tubes, key=lambda name: (-_area(build, name), name))
    return Stretch(component.name, component.name, tube, held / _area(build, tube), held)


def tee_stretches(build: Build) -> tuple[Stretch, ...]:
    """Stubs between tees of a row, and those to plugs on ends that no run comes to."""
    odd = [tee.name for tee in build.tee if len(runs_of(build, tee.name)) not in (0, 3)]
    if not odd:
        return ()
    sets = RunEnds(build).tees
    found = []
    for name in odd:
        for piece in sets[name].made.pieces:
            held = piece.centres * _area(build, piece.tube)
            found.append(Stretch(piece.name, name, piece.tube, piece.centres, held))
    return tuple(found)


def stretches(build: Build) -> tuple[Stretch, ...]:
    """All of it: headers, rows of tees, parts."""
    found = [one for manifold in build.manifold for one in header_stretches(build, manifold)]
    found += tee_stretches(build)
    parts = (part_stretch(build, component) for component in build.components)
    return (*found, *(one for one in parts if one is not None))


def held_beside_runs(build: Build) -> Any:
    """Water in headers, tees and parts beside the runs, m³; an array where tubes are."""
    return _each(build, lambda one: sum(part.volume for part in stretches(one)))


def _each(build: Build, asked: Callable[[Build], Any]) -> Any:
    """An answer for the tubes of a build; an array where they are, each sort asked for once."""
    held: list[Run | Manifold] = [*build.run, *build.manifold]
    names = [np.ravel(part.tube).tolist() for part in held]
    count = max((len(one) for one in names), default=1)
    if count == 1:
        return asked(one_of(build, 0))
    known: dict[tuple[str, ...], Any] = {}
    found = []
    for i in range(count):
        key = tuple(one[i if len(one) > 1 else 0] for one in names)
        if key not in known:
            known[key] = asked(one_of(build, i))
        found.append(known[key])
    return np.array(found)


def passed(build: Build, before: int, after: int) -> tuple[Stretch, ...]:
    """What water passes between two runs that follow one another, a filter's own among it."""
    at, leaves = build.run_ends[before][1].component, build.run_ends[after][0]
    if leaves.component != at:
        return ()
    component = build.component(at)
    if isinstance(component, Manifold):
        return tuple(one for one in header_stretches(build, component) if leaves.port in one.zones)
    if isinstance(component, LinePart):
        one = _as_tube(build, component, line_parts.content(build, component))
    else:
        one = part_stretch(build, component)
    return (one,) if one is not None else ()


@dataclass(frozen=True)
class Leg:
    """A part of a way: a run by its number, or what water passes before that run."""

    number: int
    stretch: Stretch | None = None

    @property
    def key(self) -> int | str:
        """What tells it from others of the van."""
        return self.number if self.stretch is None else self.stretch.name

    def run(self, build: Build) -> Run:
        """The run, or one that holds as much as what is passed."""
        return build.run[self.number] if self.stretch is None else self.stretch.as_run


def along(build: Build, runs: Sequence[int]) -> tuple[Leg, ...]:
    """The runs of a way, by number, with all that water passes between them."""
    found = [Leg(number) for number in runs[:1]]
    for before, after in pairwise(runs):
        found += [Leg(after, one) for one in passed(build, before, after)]
        found.append(Leg(after))
    return tuple(found)


def beside(build: Build, runs: Sequence[int]) -> tuple[tuple[int, Any, Any], ...]:
    """What stands between the runs of a way: the run behind it, and m of which tube hold as much.

    Tube and length are arrays of shape (variants,) where tubes of the build are.
    """

    def told(one: Build) -> Any:
        legs = [leg for leg in along(one, runs) if leg.stretch is not None]
        return [(leg.number, leg.stretch.tube, leg.stretch.length) for leg in legs
                if leg.stretch is not None]  # fmt: skip

    found = _each(build, lambda one: np.array(told(one), dtype=object).reshape(-1, 3))
    if found.ndim == 2:
        return tuple((int(n), str(tube), float(length)) for n, tube, length in found)
    return tuple(
        (int(found[0, k, 0]), found[:, k, 1].astype(str), found[:, k, 2].astype(float))
        for k in range(found.shape[1])
    )


__all__ = [
    "BESIDE",
    "VALVED",
    "Leg",
    "Stretch",
    "along",
    "beside",
    "header_stretches",
    "held_beside_runs",
    "part_content",
    "part_stretch",
    "passed",
    "stretches",
    "tee_stretches",
]
