"""A worksheet with a third thing to do: write what was done into the van's record."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from ...shop.record.history import is_amiss
from ...shop.record.record import Record
from ...words.report import Amiss
from .actions import Panel
from .base import Worksheet
from .plain import across, line
from .printed import Figures, bundle, printed

Events = Callable[[Worksheet, Mapping[str, str]], Sequence[tuple[str, Mapping[str, Any]]]]


class Recorded:
    """A worksheet and, below it, a panel that writes events into a record.

    ``events`` turns the worksheet's result and what was typed in the panel into events;
    ``asks`` are the panel's entries: name to what is asked.
    """

    def __init__(
        self,
        sheet: Worksheet,
        record: Record,
        events: Events,
        asks: Mapping[str, str],
        after: Callable[[], None] = lambda: None,
    ) -> None:
        self.sheet = sheet
        self.record = record
        entries = [line(description=label) for label in asks.values()]

        def act(*texts: str) -> str:
            if sheet.problem:
                raise ValueError("mend the worksheet's fields first")
            said = dict(zip(asks, (t.strip() for t in texts), strict=True))
            written = record.append_together(events(sheet, said))
            after()
            told = "\n".join(f"{e.number}. {e.told}" for e in written)
            said_all = f"In the record {record.path.name}:\n{told}"
            return Amiss(said_all) if any(map(is_amiss, written)) else said_all

        self.panel = Panel("Write into the record", "book", entries, act)
        self.panel.button.add_class("vp-record")
        row = across(self.panel.button)
        row.add_class("vp-buttons")
        self.page = widgets.VBox([sheet.page, row, self.panel.box])
        self.page.add_class("vanplumb")

    def __repr__(self) -> str:
        return repr(self.sheet)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), printed(self.sheet), **kwargs)

    @property
    def figures(self) -> Figures:
        """The worksheet's answers as they stand."""
        return self.sheet.figures

    def set(self, **values: Any) -> None:
        """Set fields of the worksheet."""
        self.sheet.set(**values)
