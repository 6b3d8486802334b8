"""The hand-over: what is still open, the papers, and who gave the van to whom."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...review import Finding
from ...sheet.calculation import papers_of
from ...sheet.wording import told_finding, words_of
from ...shop import Shop
from ...shop.record.record import Record
from ...shop.record.signing import countersign, hand_over, not_countersigned, still_open
from ...words.files import write_whole
from ...words.show import counted
from ..frame import look
from ..frame.actions import Panel
from ..frame.plain import across, html, line
from ..frame.printed import bundle


class HandOver:
    """Tells what stands in the way, and writes the papers when nothing does.

    ``findings`` are the review's; an open DANGER or WARNING is countersigned with a reason
    before anything is signed.  ``left`` gives what the record says of the van as it is left.
    """

    def __init__(
        self,
        shop: Shop,
        findings: Sequence[Finding],
        record: Record,
        left: Callable[[], Mapping[str, str]],
    ) -> None:
        self.shop, self.findings, self.record, self._left = shop, findings, record, left
        self._say = words_of(shop.build)
        self._state = html()
        self._state.add_class("vp-results")
        self._which = widgets.Dropdown(options=[], description="finding")
        self.answering = Panel(
            "Answer for a finding",
            "pencil-square-o",
            [self._which, line(description="reason"), line(description="by")],
            self.answer_for,
        )
        entries = [line(description="handed over by"), line(description="to"),
                   line(description="sheet's mark", placeholder="as printed on it"),
                   line(value="papers", description="folder")]  # fmt: skip
        self.panel = Panel("Sign and write the papers", "pencil", entries, self.sign)
        again = widgets.Button(description="Look again", icon="refresh")
        again.on_click(lambda _: self.refresh())
        buttons = across(again, self.answering.button, self.panel.button)
        buttons.add_class("vp-buttons")
        self._head = look.title("Hand-over")
        head = html(look.STYLE + self._head)
        self.page = widgets.VBox([head, self._state, buttons, self.answering.box, self.panel.box])
        self.page.add_class("vanplumb")
        self.page.add_class("vp-hand-over")
        self.refresh()

    def __repr__(self) -> str:
        still = counted(len(self.open), "thing")
        return f"Hand-over of {self.shop.build.van.name}: {still} open"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        self.refresh()
        return bundle(self.page, repr(self), self._head + self._state.value, **kwargs)

    @property
    def open(self) -> list[str]:
        """What is not done yet, one line each."""
        return still_open(self.shop, self.findings, self.record.read())

    def refresh(self) -> None:
        """Bring the page up to date with the record."""
        still = self.open
        self._which.options = [self._name(f) for f in self._waiting()]
        self._which.index = 0 if self._which.options else None
        rows = "".join(
            f"<tr><td>{escape(k)}</td><td>{escape(v)}</td></tr>" for k, v in self._left().items()
        )
        done = f'<table class="vp"><caption>As left</caption>{rows}</table>' if rows else ""
        if still:
            self._state.value = (
                look.unordered("Still open", [self._say(one) for one in still]) + done
            )
        else:
            self._state.value = look.said("Nothing is open.", good=True) + done

    def answer_for(self, finding: str, reason: str, by: str) -> str:
        """Countersign one open finding, as the menu names it, with the reason."""
        waiting = {self._name(f): f for f in self._waiting()}
        if finding not in waiting:
            raise ValueError("choose one of the findings that are open")
        event = countersign(self.record, waiting[finding], reason, by, self.shop.build.mark)
        self.refresh()
        return f"{event.number}. {event.told}"

    def sign(self, by: str, to: str, sheet: str, folder: str) -> str:
        """Write the event and both papers.  ValueError while something is open or unnamed.

        ``sheet`` is the mark printed on the sheet that is signed.
        """
        if not folder.strip():
            raise ValueError("type the name of a folder")
        hand_over(self.shop, self.findings, self.record, by, to, sheet)
        place = Path(folder.strip()).expanduser()
        papers = papers_of(
            self.shop, self.record.read(), date=date.today().isoformat(), builder=by.strip()
        )
        paths = [write_whole(place / name, data) for name, data in papers.items()]
        self.refresh()
        return f"Handed over to {to.strip()}. Written: " + ", ".join(str(p) for p in paths)

    def _waiting(self) -> list[Any]:
        return not_countersigned(self.findings, self.record.read(), self.shop.build.mark)

    def _name(self, finding: Any) -> str:
        local = told_finding(finding, self._say)
        return f"{local.severity}: {local.what} ({local.where})"
