"""The bench: joints one run after another, each ticked when made, told when it weeps."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as widgets

from ...lists.joints import Joint
from ...sheet.wording import words_of
from ...shop import Shop
from ...shop.clock.stages import sort_of
from ...shop.record.history import is_amiss, states
from ...shop.record.record import Record
from ...words.report import Amiss
from ...words.show import counted
from ..frame import look
from ..frame.actions import Panel
from ..frame.plain import across, html, line
from ..frame.printed import bundle

MARKS = {"made": "made, not tested", "tight": "tight", "wept": "WEEPS", "repaired": "made again"}


class Bench:
    """Choose a run or a header, make its joints, write them into the record."""

    def __init__(self, shop: Shop, record: Record) -> None:
        self.shop, self.record = shop, record
        self.groups = groups(shop)
        self._say = words_of(shop.build)
        self._who = line(description="done by", continuous_update=False)
        self._where = widgets.Dropdown(description="where", options=list(self.groups))
        self._where.add_class("vp-where")
        self._where.observe(lambda _: self.refresh(), "value")
        self._list, self._told = html(), html()
        self._joint = widgets.Dropdown(description="joint")
        self._made = widgets.Button(description="All of these are made", button_style="primary")
        self._one = widgets.Button(description="This joint is made")
        for button, act in ((self._made, self.make_all), (self._one, self.make_one)):
            button.layout.width = "auto"
            button.on_click(self._guarded(act))
        self._weeps = Panel("This joint weeps", "tint", [line(description="how")], self.weep)
        self._repair = Panel("It is made again", "wrench", [line(description="how")], self.repair)
        self._head = (
            look.title("At the bench and in the van")
            + "<p>Make each joint as the line says; then write it into the record.</p>"
        )
        head = html(look.STYLE + self._head)
        top = across(self._where, self._who)
        row = widgets.HBox(
            [self._made, self._joint, self._one, self._weeps.button, self._repair.button]
        )
        for box in (top, row):
            box.add_class("vp-buttons")
        self._list.add_class("vp-results")
        self._told.add_class("vp-bench-told")
        self.page = widgets.VBox(
            [head, top, self._list, row, self._weeps.box, self._repair.box, self._told]
        )
        self.page.add_class("vanplumb")
        self.page.add_class("vp-bench")
        self.refresh()

    def __repr__(self) -> str:
        made = states(self.record.read())
        joints = counted(len(self.shop.joints), "joint")
        return f"Bench of {self.shop.build.van.name}: {len(made)} of {joints} made"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), self._head + self._list.value, **kwargs)

    @property
    def here(self) -> list[Joint]:
        """The joints of the chosen run or header."""
        return self.groups[self._where.value]

    def make_everything(self, by: str = "") -> int:
        """Write every joint that is not made yet into the record.  Gives how many."""
        return self._make([j for group in self.groups.values() for j in group], by)

    def make_all(self) -> str:
        """Write the joints of the chosen run or header."""
        count = self._make(self.here, self._who.value)
        if not count:
            return "they are all in the record already"
        return f"{counted(count, 'joint')} written{self._nameless()}"

    def make_one(self) -> str:
        """Write the chosen joint."""
        joint = self._chosen()
        if not self._make([joint], self._who.value):
            return f"{joint.name} is in the record already"
        return f"{joint.name} written{self._nameless()}"

    def _nameless(self) -> str:
        """That nobody stands for them, where no name was typed."""
        if self._who.value.strip():
            return ""
        return ", by nobody: type who makes them under done by, before the next ones"

    def weep(self, how: str) -> str:
        """Write that the chosen joint weeps.  ValueError if it is not made."""
        return self._tell_of("joint wept", how)

    def repair(self, how: str) -> str:
        """Write that the chosen joint was made again, and how."""
        return self._tell_of("joint repaired", how)

    def refresh(self) -> None:
        """Bring the page up to date with the record."""
        known = states(self.record.read())
        rows, how = [], dict[str, str]()
        for joint in self.here:
            state = known.get(joint.name)
            mark = MARKS[state.state] if state else "to make"
            sort, fitting = self._say(sort_of(joint)), self._say(joint.fitting)
            how.setdefault(sort, self._say("; ".join(joint.steps)))
            wrong = map(self._say, joint.refused)
            warn = "".join(f'<div class="vp-wrong">{escape(w)}</div>' for w in wrong)
            rows.append(
                f"<tr><td>{escape(joint.name)}</td><td>{escape(fitting)}</td>"
                f"<td>{escape(sort)}{warn}</td>"
                f'<td class="vp-state">{escape(mark)}</td></tr>'
            )
        steps = [f"{sort}: {told}" for sort, told in how.items()]
        total = len(self.shop.joints)
        done = sum(1 for j in self.shop.joints if j.name in known)
        heads = "".join(f"<th>{h}</th>" for h in ("joint", "at the", "as", "now"))
        self._list.value = look.unordered("How", steps) + (
            f'<div class="vp-wide"><table class="vp vp-grid"><thead><tr>{heads}</tr></thead>'
            f"<tbody>{''.join(rows)}</tbody></table></div>"
            f'<div class="vp-source">{done} of {total} joints are in the record</div>'
        )
        names = [j.name for j in self.here]
        if list(self._joint.options) != names:
            self._joint.options = names
            self._joint.value = names[0]

    def _chosen(self) -> Joint:
        name = self._joint.value
        return next(j for j in self.here if j.name == name)

    def _make(self, joints: list[Joint], by: str) -> int:
        known = states(self.record.read())
        made = []
        for joint in joints:
            if joint.name in known:
                continue
            if joint.refused:
                raise ValueError(f"{joint.name} can't be made so: {self._say(joint.refused[0])}")
            details = {"joint": joint.name, "kind": joint.kind, "size": joint.size,
                       "place": joint.place}  # fmt: skip
            if joint.compound:
                details["compound"] = joint.compound
            if by.strip():
                details["by"] = by.strip()
            made.append(("joint made", details))
        self.record.append_together(made)
        self.refresh()
        return len(made)

    def _tell_of(self, kind: str, how: str) -> str:
        joint = self._chosen()
        if joint.name not in states(self.record.read()):
            raise ValueError(f"{joint.name} is not in the record yet: make it first")
        details = {"joint": joint.name, "how": how.strip()}
        if self._who.value.strip():
            details["by"] = self._who.value.strip()
        if not details["how"]:
            if kind == "joint repaired":
                raise ValueError("say how it was made again")
            del details["how"]
        event = self.record.append(kind, **details)
        self.refresh()
        told = f"{event.number}. {event.told}"
        return Amiss(told) if is_amiss(event) else told

    def _guarded(self, act: Callable[[], str]) -> Callable[[Any], None]:
        def clicked(_: Any) -> None:
            try:
                told = act()
                good = not isinstance(told, Amiss)
            except (ValueError, OSError) as error:
                told, good = f"Nothing was written: {error}", False
            except Exception as error:  # a fault must be seen, not lost in a log
                told, good = f"This page has a fault: {type(error).__name__}: {error}", False
            self._told.value = look.said(told, good=good)

        return clicked


def groups(shop: Shop) -> dict[str, list[Joint]]:
    """Joints by where they are made: headers first, then run by run."""
    found: dict[str, list[Joint]] = {}
    for joint in shop.joints:
        where = (
            f"{joint.side} header" if joint.run is None else f"run {joint.run + 1}, {joint.title}"
        )
        found.setdefault(where, []).append(joint)
    return found
