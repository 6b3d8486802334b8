"""The zones of a manifold from its feed on: who stands first on a header.

As they hang on the board where it is laid out, or are pinned for it; else as a header is usually
set out, the heater's zone first, then by the flow that is typically drawn there, the most nearest
the feed.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np

from ..words.tables import table
from .board_stock import HUNG_KINDS
from .header_form import laid_header
from .model import Build, Port
from .parts import Zone
from .trace import served
from .whole_van import Board

PASSED = ("tee", "shut_off", "check_valve", "line_part", "strainer", "regulator")
"""Parts that a line to the heater may pass."""


def pinned_order(board: Board, manifold: str) -> tuple[str, ...]:
    """The order that a pin gives to the zones of a manifold, none if none does."""
    begins = f"{manifold} order "
    said = [line[len(begins) :] for line in board.pin if line.startswith(begins)]
    return tuple(item.strip() for item in said[-1].split(",")) if said else ()


def zones_along(build: Build, manifold: str) -> tuple[Zone, ...]:
    """The zones of a manifold, the one nearest its feed first.

    Neither their order in the file tells it, nor their names but of zones that are alike.
    """
    zones = {zone.name: zone for zone in build.zones(manifold)}
    laid = laid_header(build, manifold)
    if laid is not None:
        return tuple(zones[name] for name in laid.zones)
    pinned = pinned_order(build.board, manifold)
    if len(pinned) == len(zones) and set(pinned) == set(zones):
        return tuple(zones[name] for name in pinned)
    first = heater_zones(build)

    def key(name: str) -> tuple[object, ...]:
        drawn, length, rise = _asks(build, manifold, name)
        heats = f"{manifold}.{name}" in first
        return (not heats, -drawn, -length, rise, natural(name))

    return tuple(zones[name] for name in sorted(zones, key=key))


def zones_to_place(build: Build, manifold: str) -> tuple[Zone, ...]:
    """The zones of a manifold as a board's search begins with them, the lowest lead first.

    Of equal boards it is not the file's order that chooses.
    """

    def key(zone: Zone) -> tuple[object, ...]:
        drawn, length, rise = _asks(build, manifold, zone.name)
        # how long a run on the board itself is follows from its layout
        return (rise, drawn, 0.0 if zone.name in on_board else length, natural(zone.name))

    hung = {one.name for key in HUNG_KINDS for one in getattr(build, key)}
    out = build.runs_out_of.get(manifold, ())
    on_board = {start.port for n, start, _ in out if build.run_ends[n][1].component in hung}

    return tuple(sorted(build.zones(manifold), key=key))


def natural(name: str) -> list[tuple[str, int]]:
    """A name so that "zone 2" comes before "zone 10"."""
    parts = re.findall(r"(\D*)(\d*)", name)
    return [(text, int(number or 0)) for text, number in parts]


def _asks(build: Build, manifold: str, zone: str) -> tuple[float, float, float]:
    """The largest typical flow behind a zone, m³/s, and length and rise of its run, m."""
    runs = (n for n, start, _ in build.runs_out_of.get(manifold, ()) if start.port == zone)
    index = next(runs, None)
    if index is None:
        return 0.0, 0.0, 0.0
    run = build.run[index]
    return _drawn(build, build.run_ends[index][1]), _most(run.length), _most(run.rise)


def _drawn(build: Build, end: Port) -> float:
    """The largest flow behind a zone that is typical of a fixture's kind, m³/s.

    Not a fixture's own: variants of a van with another shower have one header.
    """
    kinds = {fixture.name: str(np.ravel(fixture.kind)[0]) for fixture in build.fixture}
    behind = [end.component] if end.component in kinds else served(build, end.component)
    rows = table("fixtures", build.rows)
    return max((rows[kinds[name]].number("flow") for name in behind), default=0.0)


def _most(figure: Any) -> float:
    """The figure; of many variants the greatest, since all are built in one way."""
    return float(np.max(figure))


def heater_zones(build: Build) -> frozenset[str]:
    """Zones of cold manifolds that lead to a heater, through whatever the line passes."""
    after: dict[str, list[Port]] = {}
    for start, end in build.run_ends:
        after.setdefault(start.component, []).append(end)
    heaters = {heater.name for heater in build.heater}
    passed = {c.name for key in PASSED for c in getattr(build, key)}
    cold = {m.name for m in build.manifold if m.side == "cold"}
    found = set()
    for start, end in build.run_ends:
        if start.component not in cold:
            continue
        todo, seen = [end], {end.component}
        while todo:
            here = todo.pop()
            if here.component in heaters and here.port == "cold":
                found.add(str(start))
            elif here.component in passed:
                more = [p for p in after.get(here.component, ()) if p.component not in seen]
                seen |= {p.component for p in more}
                todo += more
    return frozenset(found)


__all__ = ["heater_zones", "natural", "pinned_order", "zones_along", "zones_to_place"]
