"""The hand-over: what is still open, the papers, and who gave the van to whom."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...chapters.hand_over import owner_paper, shop_card
from ...sheet.calculation import paper_bytes
from ...shop import Shop
from ...shop.record.history import states
from ...shop.record.record import Record
from ...words.files import write_whole
from ...words.show import counted
from ..frame import look
from ..frame.actions import Panel
from ..frame.printed import bundle


class HandOver:
    """Tells what stands in the way, and writes the papers when nothing does.

    ``left`` gives what the record says of the van as it is left.
    """

    def __init__(self, shop: Shop, record: Record, left: Callable[[], Mapping[str, str]]) -> None:
        self.shop, self.record, self._left = shop, record, left
        self._state = widgets.HTML()
        self._state.add_class("vp-results")
        entries = [widgets.Text(description="handed over by"), widgets.Text(description="to"),
                   widgets.Text(value="papers", description="folder")]  # fmt: skip
        self.panel = Panel("Sign and write the papers", "pencil", entries, self.sign)
        again = widgets.Button(description="Look again", icon="refresh")
        again.on_click(lambda _: self.refresh())
        buttons = widgets.HBox([again, self.panel.button])
        buttons.add_class("vp-buttons")
        self._head = look.title("Hand-over")
        head = widgets.HTML(look.STYLE + self._head)
        self.page = widgets.VBox([head, self._state, buttons, self.panel.box])
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
        contents = self.record.read()
        known = states(contents)
        joints = self.shop.joints
        missing = [j.name for j in joints if j.name not in known]
        waiting = [j.name for j in joints if j.name in known and known[j.name].open]
        said = []
        if missing:
            said.append(f"{len(missing)} joints are not in the record: {_some(missing)}")
        if waiting:
            said.append(f"{len(waiting)} joints are not proven tight: {_some(waiting)}")
        if not contents.of("disinfected"):
            said.append("it was not disinfected")
        elif not contents.of("flushed"):
            said.append("the chlorine that is left was not measured")
        named = {e.get("valve") for e in contents.of("valve set")}
        said += [
            f"{v.name} was not set" for v in self.shop.build.mixing_valve if v.name not in named
        ]
        said += [f"the record: {p}" for p in contents.problems]
        return said

    def refresh(self) -> None:
        """Bring the page up to date with the record."""
        still = self.open
        rows = "".join(
            f"<tr><td>{escape(k)}</td><td>{escape(v)}</td></tr>" for k, v in self._left().items()
        )
        done = f'<table class="vp"><caption>As left</caption>{rows}</table>' if rows else ""
        if still:
            self._state.value = look.unordered("Still open", still) + done
        else:
            self._state.value = look.said("Nothing is open.", good=True) + done

    def sign(self, by: str, to: str, folder: str) -> str:
        """Write the event and both papers.  ValueError while something is open or unnamed."""
        if self.open:
            raise ValueError("still open: " + "; ".join(self.open))
        if not by.strip() or not to.strip():
            raise ValueError("type who hands over and who takes the van")
        if not folder.strip():
            raise ValueError("type the name of a folder")
        self.record.append("handed over", to=to.strip(), by=by.strip())
        build = self.shop.build
        said = {"units": build.van.units, "van": build.van.name, "builder": by.strip(),
                "date": date.today().isoformat()}  # fmt: skip
        place = Path(folder.strip()).expanduser()
        notes = dict(self._left())
        paths = [
            write_whole(
                place / "owner-paper.pdf", paper_bytes(owner_paper(self.shop, notes), **said)
            ),
            write_whole(place / "shop-card.pdf", paper_bytes(shop_card(self.shop), **said)),
        ]
        self.refresh()
        return f"Handed over to {to.strip()}. Written: " + ", ".join(str(p) for p in paths)


def _some(names: list[str]) -> str:
    return ", ".join(names[:5]) + (" …" if len(names) > 5 else "")
