"""Worksheets of the record: what a van's record says, and how sure joints are over many vans."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...chapters.reliability import sureness_chapter
from ...drawings.charts.shop import sureness_picture
from ...shop.record.events import KINDS
from ...shop.record.history import tallies
from ...shop.record.record import Record
from ...shop.record.reliability import Sureness, Tally, sureness
from ...words.show import counted
from ..frame import look
from ..frame.actions import Panel
from ..frame.base import Quantity, Worksheet
from ..frame.plain import across, html, line
from ..frame.printed import bundle

LAST = 40
"""Lines that are shown."""


class RecordPage:
    """A van's record: its lines, what is wrong with it, and a way to add a line."""

    def __init__(self, record: Record | Path | str) -> None:
        self.record = record if isinstance(record, Record) else Record(record)
        kinds = [k for k in KINDS if k not in ("line set aside",)]
        self._kind = widgets.Dropdown(description="event", options=kinds, value="note")
        self._kind.add_class("vp-kind")
        self._needs = html()
        self._lines = html()
        self._lines.add_class("vp-results")
        self._entry = line(
            description="details", placeholder="text = washer replaced; by = A. Builder"
        )
        self.panel = Panel("Add a line", "pencil", [self._entry], self.add)
        self._kind.observe(lambda _: self._ask(), "value")
        again = widgets.Button(description="Look again", icon="refresh")
        again.on_click(lambda _: self.refresh())
        buttons = across(again, self.panel.button)
        buttons.add_class("vp-buttons")
        self.panel.box.children = (self._kind, self._needs, *self.panel.box.children)
        self._head = (
            look.title(f"Record {self.record.path.name}")
            + "<p>One line an event; lines are only added, never changed.</p>"
        )
        head = html(look.STYLE + self._head)
        self.page = widgets.VBox([head, self._lines, buttons, self.panel.box])
        self.page.add_class("vanplumb")
        self.page.add_class("vp-record-page")
        self._ask()
        self.refresh()

    def __repr__(self) -> str:
        found = self.record.read()
        events, problems = counted(len(found.events), "event"), len(found.problems)
        return f"Record: {events}, {counted(problems, 'problem')}"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        self.refresh()
        return bundle(self.page, repr(self), self._head + self._lines.value, **kwargs)

    def add(self, details: str) -> str:
        """Add a line of the chosen kind.  ValueError says what is missing."""
        said = {}
        for part in details.split(";"):
            name, mark, value = part.partition("=")
            if part.strip() and not mark:
                raise ValueError(f'write details as "name = value", got "{part.strip()[:40]}"')
            if part.strip():
                said[name.strip().replace(" ", "_")] = value.strip()
        event = self.record.append(self._kind.value, **said)
        self.refresh()
        return f"{event.number}. {event.told}"

    def refresh(self) -> None:
        """Bring the page up to date with the file."""
        found = self.record.read()
        rows = "".join(
            f'<tr><td class="vp-number">{e.number}</td><td>{escape(e.time[:16])}</td>'
            f"<td>{escape(e.told)}</td></tr>"
            for e in found.events[-LAST:]
        )
        wrong = look.unordered("Lines that can't be trusted", [str(p) for p in found.problems])
        more = len(found.events) - LAST
        note = f'<div class="vp-source">{more} earlier lines in the file</div>' if more > 0 else ""
        none = "<p>Nothing has been written yet.</p>" if not found.events else ""
        lines = f'<div class="vp-wide"><table class="vp vp-grid">{rows}</table></div>'
        self._lines.value = f"{wrong}{none}{lines}{note}"

    def _ask(self) -> None:
        needs = ", ".join(KINDS[self._kind.value]) or "nothing"
        self._needs.value = f'<div class="vp-note">needs: {escape(needs)}</div>'


def sureness_worksheet(
    plan: Mapping[str, int],
    records: Sequence[Record | Path | str] = (),
    known: Mapping[str, Tally] | None = None,
) -> Worksheet:
    """Chances to weep by kind and size, for a van with ``plan`` joints of each.

    Starts from what ``records`` (or ``known``) hold; every count can be changed to see what
    it would do.
    """
    opened = [r if isinstance(r, Record) else Record(r) for r in records]
    start = dict(known) if known is not None else tallies(r.read() for r in opened)
    kinds = list(dict.fromkeys([*plan, *start]))
    fields: list[Any] = []
    keys: dict[str, str] = {}
    for number, kind in enumerate(kinds):
        keys[kind] = f"kind{number}"
        tally = start.get(kind, Tally(kind, 0, 0))
        fields += [
            kind,
            Quantity(
                f"kind{number}_joints", "tested", "count", float(tally.joints), 0, 3000, step=1
            ),
            Quantity(f"kind{number}_weeps", "wept", "count", float(tally.weeps), 0, 60, step=1),
        ]

    def compute(values: Mapping[str, Any]) -> Sureness:
        told = {}
        for kind, key in keys.items():
            joints, weeps = round(values[f"{key}_joints"]), round(values[f"{key}_weeps"])
            if weeps > joints:
                raise ValueError(f"{kind}: {weeps} can't have wept of {joints}")
            if joints:
                told[kind] = Tally(kind, joints, weeps)
        if not told:
            raise ValueError("no joint was tested yet")
        return sureness(told, plan)

    return Worksheet(
        "How sure the joints are",
        question="What do all vans so far say about the next one, and what does one more change?",
        fields=fields,
        compute=compute,
        draw=lambda found, system: [sureness_picture(found)],
        chapter=lambda found, system: sureness_chapter(found),
        captions=["Chance that a joint weeps, and that any does in the next van"],
    )
