"""What the table of board parts has for a build: which parts hang on a board, and why none can.

The layout itself is worked out elsewhere; here is what can be told before it, so that a van is
the same with its board laid out and without.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..words.show import counted
from ..words.tables import Row, table
from .ends import NEAR
from .header_form import BLOCK, header_form
from .model import Build

MOST_ZONES, MOST_DEVICES = 36, 4
"""With more than these a search for their places would take minutes; a stated layout is taken."""

HUNG_KINDS = {
    "mixing_valve": "mixing valve",
    "check_valve": "check valve",
    "accumulator": "accumulator",
}
"""Kinds of components that can hang on a board by themselves, with their kind of board part."""


def matching(
    rows: Mapping[str, Row],
    tubes: Mapping[str, Row],
    kind: str,
    tube: str,
    branch: str = "",
    *,
    valve: str = "",
    ports: int = 0,
) -> tuple[str, ...]:
    """Names of the parts of a kind for a tube (and another at the branch), the nearest first.

    Half inch tube and 16 mm tube are 1/8 mm apart, and a clip for the one takes the other.
    """
    run, joint = _outside(tubes, tube), str(tubes[tube]["joint"])
    side = _outside(tubes, branch) if branch else run
    if branch and str(tubes[branch]["joint"]) != joint:
        return ()  # a part of the table holds all its tubes by one way
    found: list[tuple[float, str]] = []
    for name, row in rows.items():
        if row["kind"] != kind or (valve and row["valve"] != valve):
            continue
        own_run = round(float(row["tube"] or 0) * 1000, 4)
        own_side = round(float(row["branch"] or row["tube"] or 0) * 1000, 4)
        if abs(own_run - run) > NEAR or abs(own_side - side) > NEAR:
            continue
        if row["joint"] and joint and row["joint"] != joint:
            continue
        if ports and row["ports"] is not None and int(row["ports"]) != ports:
            continue
        found.append((round(abs(own_run - run) + abs(own_side - side), 3), name))
    return tuple(name for _, name in sorted(found, key=lambda one: one[0]))


def _outside(tubes: Mapping[str, Row], tube: str) -> float:
    return round(tubes[tube].number("od") * 1000, 4)


class BoardStock:
    """What the table of board parts has for one build."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self._rows, self._tubes = table("board_parts", build.rows), table("tubes", build.rows)
        self._known: dict[tuple[str, str, str], bool] = {}

    def has(self, kind: str, tube: str, branch: str = "") -> bool:
        """Whether there is a part of a kind for a tube, and another at its branch."""
        key = kind, tube, branch
        if key not in self._known:
            self._known[key] = bool(matching(self._rows, self._tubes, *key))
        return self._known[key]

    def hangs(self, component: str) -> bool:
        """Whether a part hangs on the board, as far as parts and pins tell.

        Mixing valves do, and what is pinned there, if the table has a part for one of their tubes.
        """
        build = self.build
        if not build.manifold:
            return False
        for key, kind in HUNG_KINDS.items():
            if any(one.name == component for one in getattr(build, key)):
                pinned = f"{component} on board" in build.board.pin
                tubes = {
                    run.tube
                    for run, pair in zip(build.run, build.run_ends, strict=True)
                    if component in (pair[0].component, pair[1].component)
                }
                wanted = pinned or key == "mixing_valve"
                return wanted and any(self.has(kind, tube) for tube in tubes)
        return False

    def isolates(self, component: str) -> str:
        """The manifold that a shut-off pinned on the board stands right before, or nothing."""
        build = self.build
        if f"{component} on board" not in build.board.pin:
            return ""
        tubes = {manifold.name: manifold.tube for manifold in build.manifold}
        if any(valve.name == component for valve in build.shut_off):
            for run, (start, end) in zip(build.run, build.run_ends, strict=True):
                if start.component == component and tubes.get(end.component) == run.tube:
                    return end.component
        return ""

    def why_none(self) -> str:
        """Why there can't be a board: no manifold, too much for one, a part that is not there."""
        build = self.build
        built = [m for m in build.manifold if build.zones(m.name)]
        if not built:
            return "no manifold with a zone"
        for manifold in built:
            form = header_form(build, manifold)
            block = form.form == BLOCK
            kind = "header" if block else "tee"
            joined = {
                start.port: run.tube
                for run, (start, _) in zip(build.run, build.run_ends, strict=True)
                if start.component == manifold.name
            }
            outlets = []
            for zone in build.zones(manifold.name):
                tube = joined.get(zone.name, manifold.tube)
                fits = not block or tube == form.branch
                outlets.append(
                    tube if fits and self.has(kind, manifold.tube, tube) else manifold.tube
                )
            for outlet in outlets:
                if not self.has(kind, manifold.tube, outlet):
                    return f"no {kind} for {manifold.tube}"
                if not self.has("valve", outlet):
                    return f"no valve for {outlet}"
        zones = sum(len(build.zones(m.name)) for m in built)
        devices = sum(self.hangs(c.name) for key in HUNG_KINDS for c in getattr(build, key))
        if zones > MOST_ZONES or devices > MOST_DEVICES:
            return (
                f"{counted(zones, 'zone')} and {counted(devices, 'device')} on one board; one is "
                f"laid out for {MOST_ZONES} zones and {MOST_DEVICES} devices at most"
            )
        return ""


__all__ = ["HUNG_KINDS", "MOST_DEVICES", "MOST_ZONES", "BoardStock", "matching"]
