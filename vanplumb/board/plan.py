"""Everything about one build's board; each part is worked out once, when first asked for."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ..van.board_stock import MOST_DEVICES, MOST_ZONES
from ..words.report import Getter, grid
from ..words.show import counted, show
from .hands.pin_lines import state_of
from .lists.cuts import CutList
from .parts.needs import Needs, needs_of
from .parts.parts import PartError
from .place.arrange import fitted
from .place.checks import in_units
from .place.layout import Layout, Problem
from .place.making import InPlace, on_the_bench, order_in_place
from .place.state import State, mm
from .search.search import Found, Search
from .search.ways_out import Change, WayOut, compare, ways_out, with_valves

if TYPE_CHECKING:
    import pandas as pd

    from ..van.model import Build


CUTS: dict[str, Getter | tuple[Getter, str]] = {
    "label": "label",
    "tube": "tube",
    "between": lambda cut: " and ".join(cut.between),
    "centre to centre": (lambda cut: mm(cut.centres) / 1000, "length"),
    "take-off at the start": (lambda cut: mm(cut.take_offs[0]) / 1000, "length"),
    "take-off at the end": (lambda cut: mm(cut.take_offs[1]) / 1000, "length"),
    "cut": (lambda cut: mm(cut.length) / 1000, "length"),
    "on fittings": (lambda cut: sum(cut.insertions) / 1000, "length"),
}
"""Columns of ``BoardPlan.frame``."""

KEPT_PLANS = 64
_PLANS: OrderedDict[tuple[object, ...], Found] = OrderedDict()
"""What the last searches gave, since a van that was changed elsewhere has the same board."""


def _searched(needs: Needs) -> Found:
    key = needs.key
    found = _PLANS.pop(key, None) or Search(needs).best()
    _PLANS[key] = found
    while len(_PLANS) > KEPT_PLANS:
        _PLANS.popitem(last=False)
    return found


class BoardPlan:
    """The board of a build: layout, cut list, order of making.

    ``state`` lays the board out just so, instead of searching.  ``trouble`` says why there is
    no board: no manifold in the build, a part that the table lacks, or too much for one board.
    """

    def __init__(self, build: Build, state: State | None = None) -> None:
        self.build = build
        self._state = state

    def __repr__(self) -> str:
        if self.trouble:
            return f"Board of {self.build.van.name}: {self.trouble}"
        system = self.build.van.units
        wide = show(self.layout.width / 1e3, "length", system)
        high = show(self.layout.height / 1e3, "length", system)
        told = counted(len(self.problems), "problem")
        return f"Board of {self.build.van.name}: parts and sweeps {wide} × {high}, {told}"

    @cached_property
    def trouble(self) -> str:
        """Why there is no board, or an empty text."""
        try:
            _ = self.found
        except PartError as error:
            return str(error)
        return ""

    @cached_property
    def needs(self) -> Needs:
        """What the build asks of its board.

        PartError without a manifold that has a zone, or if a part is not in the table.
        """
        if not any(self.build.zones(m.name) for m in self.build.manifold):
            raise PartError("no manifold with a zone")
        return needs_of(self.build)

    @cached_property
    def found(self) -> Found:
        """What the search gave; for a stated layout, that layout.  PartError if there is none."""
        state = self._state or state_of(self.needs)
        if state is not None:
            layout = Layout(self.needs, state if state.width else fitted(self.needs, state))
            return Found(layout, "as set", layout.area, 1)
        if self.too_many:
            raise PartError(self.too_many)
        return _searched(self.needs)

    @cached_property
    def too_many(self) -> str:
        """How much more there is than a search for places takes in; else an empty text."""
        zones = sum(len(m.zones) for m in self.needs.manifolds)
        devices = len(self.needs.devices)
        if zones <= MOST_ZONES and devices <= MOST_DEVICES:
            return ""
        return (
            f"{counted(zones, 'zone')} and {counted(devices, 'device')} on one board; one is laid "
            f"out for {MOST_ZONES} zones and {MOST_DEVICES} devices at most"
        )

    @property
    def layout(self) -> Layout:
        """The parts in their places.  PartError if there is no board."""
        if self.trouble:
            raise PartError(self.trouble)
        return self.found.layout

    @property
    def state(self) -> State:
        """The layout as a few whole numbers."""
        return self.layout.state

    @property
    def problems(self) -> list[Problem]:
        """What is wrong with the layout; empty if it fits."""
        return [] if self.trouble else self.layout.problems

    @property
    def notes(self) -> tuple[str, ...]:
        """What could not be as the build says: pins, parts, joins that go round outside."""
        if self.trouble:
            return ()
        around = (f"{what}: found no way on the board, led round" for what in self.layout.unlinked)
        pinned = self.needs.pins.gap
        unkept = (
            f"the pin for the gap of {spot.zone} is not kept: it stands first on its manifold, or "
            "on a ready header, and has no gap before it that can be set"
            for row in self.state.rows
            for spot in row.spots
            if pinned.get(spot.zone, spot.gap) != spot.gap
        )
        return tuple(self._told(note) for note in (*self.needs.problems, *unkept, *around))

    def _told(self, words: str) -> str:
        """Words with their lengths in the build's units."""
        return in_units(words, self.build.van.units)

    @cached_property
    def cut_list(self) -> CutList:
        """Every tube of the board to be cut."""
        return CutList(self.layout)

    def frame(self) -> pd.DataFrame:
        """Every tube of the board to be cut, in the reader's units.  PartError without a board."""
        return grid("Cut list", self.cut_list.cuts, CUTS).frame(self.build.van.units)

    @cached_property
    def in_place(self) -> InPlace:
        """The order of the joints that are made once the board hangs."""
        return order_in_place(self.layout)

    @cached_property
    def on_the_bench(self) -> list[tuple[str, str]]:
        """The order of the joints that are made on the bench."""
        return on_the_bench(self.layout)

    @cached_property
    def ways_out(self) -> tuple[WayOut, ...]:
        """Every way to make the parts fit, each checked."""
        return tuple(
            replace(
                way,
                changes=tuple(self._told(change) for change in way.changes),
                left=self._told(way.left),
                refused=self._told(way.refused),
            )
            for way in ways_out(self.needs, self.found)
        )

    @cached_property
    def obstacle(self) -> str:
        """What is in the way, and by how much; empty if the board fits."""
        if not self.problems:
            return ""
        layout, needs = self.layout, self.needs
        said = []
        for name, have, size in (
            ("wide", layout.width, mm(layout.state.width)),
            ("high", layout.height, mm(layout.state.height)),
        ):
            free = size - 2 * needs.margin
            if have > free + 1e-6:
                said.append(
                    f"the parts are {have:.0f} mm {name}, the board has {free:.0f} mm inside its "
                    f"margins: {have - free:.0f} mm too little"
                )
        kinds = sorted({p.kind for p in self.problems if not (said and p.kind == "edge")})
        for kind in kinds:
            worst = max((p for p in self.problems if p.kind == kind), key=lambda p: p.by)
            said.append(worst.what)
        return "; ".join(said)

    def swapped(self, old: str, new: str) -> tuple[BoardPlan, Change]:
        """The plan with another part instead of one that is no longer to be had, and what changes.

        PartError if the new part is unknown or of another kind.
        """
        part, other = self.needs.catalogue[old], self.needs.catalogue[new]
        if part.kind != other.kind:
            raise PartError(f"{new!r} ({other.kind}) is of another kind than {old!r} ({part.kind})")
        ends, others = ({(p.name, p.outside, p.joint) for p in q.ports} for q in (part, other))
        if ends != others:
            raise PartError(f"{new!r} does not take the same tube at the same ports as {old!r}")
        plan = BoardPlan(self.build)
        if part.kind == "valve":
            plan.needs = with_valves(self.needs, old, new)
        else:
            devices = self.needs.devices
            plan.needs = replace(
                self.needs,
                catalogue=self.needs.catalogue.without(old, new),
                devices=tuple(replace(d, part=new) if d.part == old else d for d in devices),
            )
        return plan, compare(self.layout, plan.layout)
