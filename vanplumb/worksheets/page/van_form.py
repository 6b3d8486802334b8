"""A van's build file as a form: the schematic to choose on, the fields of what is chosen.

It holds the text of the file and changes it in the steps of ``van/form``; no knowledge of the file
lives here.  The text beside it follows, and is followed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import anywidget
import traitlets

from ...drawings.schematic.pick import pickable
from ...sheet.wording import told_drawing, words_of
from ...van.form.blocks import Block, FormError
from ...van.form.fields import Field, doubted, fields, taken, wrong_with
from ...van.form.missing import Offer, offers
from ...van.form.sketch import Sketch, sketch
from ...van.form.steps import IN_LINE, Form, goals, hanging, starts
from ...van.model import LISTS, SECTIONS
from ...van.parts import COMPONENTS
from ..frame.browser_files import script, style

MAIN = ("name", "kind")
"""Keys that are shown though the file is silent."""
MOST_OFFERS = 3


class FormWidget(anywidget.AnyWidget):
    """Shows ``view`` and calls ``heard`` with each thing that the reader does."""

    _esm = script(__package__, "van_form.js")
    _css = style(__package__, "van_form.css")
    view: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)

    def __init__(self, heard: Callable[[Mapping[str, Any]], None], view: dict[str, Any]) -> None:
        super().__init__(view=view)
        self._heard = heard
        self.on_msg(lambda _, message, __: self._heard(message))

    def __repr__(self) -> str:
        return "<form of a van>"


class VanForm:
    """The form of one text.

    ``changed`` hears of each new text that the form makes, ``chosen`` of the line of what is
    chosen.
    """

    def __init__(
        self,
        text: str,
        changed: Callable[[str], None],
        chosen: Callable[[int], None],
        *,
        fixed: bool = False,
    ) -> None:
        self._chosen = chosen
        self.form, self.fixed = Form(text), fixed
        self._changed = changed
        self.look = sketch(text)
        self.picked = _first(self.look)
        self._place: tuple[str | int, ...] = ()
        self._told, self._good, self._asks = "", True, ""
        self._typed: dict[str, tuple[str, str]] = {}
        self._focus = ""
        self._serial = 0
        self._offers: tuple[Offer, ...] = ()
        self._drawn: tuple[tuple[str, str], str] = (("", ""), "")
        self.widget = FormWidget(self.heard, self.view())

    def restart(self, text: str, *, fixed: bool) -> None:
        """Another file: nothing to undo."""
        self.form, self.fixed = Form(text), fixed
        self._told = self._asks = ""
        self._typed.clear()
        self._look()
        self.show()

    def follow(self, text: str) -> None:
        """What was typed in the text beside it."""
        if text == self.form.text:
            return
        self.form.take(text)
        self._told = self._asks = ""
        self._typed.clear()
        self._look()
        self.show()

    def pick(self, label: str) -> None:
        """Choose a part or a run."""
        self.picked, self._asks, self._told = label, "", ""
        self._typed.clear()

    def heard(self, message: Mapping[str, Any]) -> None:
        """One thing that the reader did; what goes wrong is told, and changes nothing."""
        before = self.form.text
        self._focus = ""
        try:
            self._told, self._good = self._do(message), True
        except FormError as error:
            self._told, self._good = str(error), False
        except Exception as error:  # a callback's error is lost otherwise
            self._told = f"This page has a fault: {type(error).__name__}: {error}"
            self._good = False
        if self.form.text != before:
            self._look()
        self.show()
        if self.form.text != before:
            self._changed(self.form.text)
        block = self.look.block(self.picked)
        if block is not None:
            self._chosen(block.line)

    def _do(self, message: Mapping[str, Any]) -> str:
        act = str(message.get("do", ""))
        if act == "pick":
            self.pick(str(message.get("label", "")))
            return ""
        if self.fixed:
            raise FormError("an example stays as it is: press Start a new one")
        sure, self._asks = bool(message.get("sure")), ""
        if act == "set":
            return self._set(str(message.get("key", "")), str(message.get("value", "")))
        if act == "add":
            self.picked = self.form.add(str(message.get("kind", "")))
            self._typed.clear()
            self._focus = "name"
            return f"{_words(self.picked)} is added: put in its values, then join it."
        if act == "put":
            self.picked = self.form.put_into(str(message.get("run")), str(message.get("kind")))
            return f"{_words(self.picked)} is put in; the run is two now, each half as long."
        if act == "connect":
            label = self.form.connect(self._block().name, str(message.get("end", "")))
            self.picked = label
            return "It is joined: its length is estimated, put in yours."
        if act == "remove":
            return self._remove(sure)
        if act == "offer":
            offer = self._offers[int(message.get("number", 0))]
            self.picked = offer.do(self.form) or self.picked
            return offer.done
        if act in ("undo", "redo"):
            (self.form.undo if act == "undo" else self.form.redo)()
            self._typed.clear()
            return "The last step is undone." if act == "undo" else "Done again."
        return ""

    def _set(self, key: str, said: str) -> str:
        block = self._block()
        self._typed.pop(key, None)
        try:
            value = taken(self.look, block, key, said)
            if key == "name" and value is not None:
                self.picked = self.form.rename(block.label, str(value))
                return f"It is called {value} now, everywhere in the file."
            self.form.set(block.label, key, value)
        except FormError as error:
            self._typed[key] = (said, str(error))
            raise FormError(f"Not taken: {error}") from None
        return ""

    def _remove(self, sure: bool) -> str:
        block = self._block()
        told = hanging(self.form.text, block.label).told
        if not sure and told:
            self._asks = f"Remove {_words(block.label)}? With it: {'; '.join(told)}."
            self._focus = "button Remove it"
            return ""
        self.form.remove(block.label)
        return f"{_words(block.label)} is taken out. Undo brings it back."

    def _block(self) -> Block:
        block = self.look.block(self.picked)
        if block is None:
            raise FormError("choose a part first")
        return block

    def _look(self) -> None:
        """See the text as it is now; what was chosen stays chosen, by its name or its place."""
        if (before := self.look.block(self.picked)) is not None:
            self._place = before.place
        self.look = sketch(self.form.text)
        if self.look.readable and self.look.block(self.picked) is None:
            same = [b.label for b in self.look.blocks if b.place == self._place]
            self.picked = same[0] if same else _first(self.look)

    # what is shown

    def show(self) -> None:
        self._serial += 1
        self.widget.view = self.view()

    def view(self) -> dict[str, Any]:
        """All that the page shows, as plain data."""
        look = self.look
        block = look.block(self.picked)
        self._offers = () if self.fixed or not look.readable else offers(look)[:MOST_OFFERS]
        broken = "" if look.readable else f"The text can't be read: {look.problems[0]}"
        return {
            "serial": self._serial,
            "fixed": self.fixed,
            "broken": broken,
            "told": self._told,
            "good": self._good,
            "asks": self._asks,
            "undo": self.form.can_undo,
            "redo": self.form.can_redo,
            "focus": self._focus,
            "svg": self._svg(),
            "kinds": [[k, k.replace("_", " ")] for k in self._addable()],
            "inline": [[k, k.replace("_", " ")] for k in IN_LINE],
            "parts": [[b.label, _listed(b)] for b in look.blocks],
            "picked": self.picked,
            "title": _words(self.picked) if block else "",
            "wrong": wrong_with(look, block) if block else "",
            "removable": block is not None and block.label != "van",
            "fields": [self._field(f) for f in fields(look, block)] if block else [],
            "problems": self._problems(),
            "goals": self._goals(block),
            "between": self._between(block),
            "offers": [
                {"number": n, "why": one.why, "words": one.words}
                for n, one in enumerate(self._offers)
            ],
        }

    def _addable(self) -> list[str]:
        said = {b.kind for b in self.look.blocks}
        return [*(k for k in LISTS if k != "run"), *(k for k in SECTIONS if k not in said)]

    def _field(self, one: Field) -> dict[str, Any]:
        typed, wrong = self._typed.get(one.key, (None, ""))
        doubt = self.look.block(self.picked) if typed is not None else None
        if doubt is not None and typed is not None:
            one = doubted(self.look, doubt, one, typed)
        shown = {
            "key": one.key,
            "label": one.label,
            "text": one.text,
            "usual": one.usual,
            "unit": one.unit,
            "about": one.about,
            "options": list(one.options),
            "free": one.free,
            "required": one.required,
            "problem": wrong or one.problem,
            "doubt": one.doubt,
            "instead": list(one.instead),
            "main": one.given or one.required or bool(wrong or one.problem) or one.key in MAIN,
        }
        return shown if typed is None else {**shown, "typed": typed}

    def _problems(self) -> list[dict[str, str]]:
        """What is wrong, with the part that it is about; the first few of many."""
        if not self.look.readable:
            return []
        found = []
        for one in self.look.problems[:MOST_OFFERS]:
            labels = [b.label for b in self.look.blocks]
            label = next((p for p in (one.path, one.path.rpartition(".")[0]) if p in labels), "")
            part = _words(label) if label else ""
            found.append({"words": str(one), "label": label, "part": part})
        more = len(self.look.problems) - len(found)
        if more > 0:
            found.append({"words": f"and {more} more, listed below the text", "label": ""})
        return found

    def _goals(self, block: Block | None) -> list[list[str]]:
        if block is None or block.name not in [name for name, _ in starts(self.look)]:
            return []
        return [[pointer, words] for pointer, words in goals(self.look, block.name)]

    def _between(self, block: Block | None) -> list[list[str]]:
        """Runs that something can be put into: the chosen one, or those at the chosen part."""
        if block is None:
            return []
        if block.kind == "run":
            return [["put into this run", block.label]]
        if block.kind not in COMPONENTS:
            return []
        found = []
        for b in self.look.blocks:
            if b.kind == "run" and b.said("to").partition(".")[0] == block.name:
                found.append([f"before it, from {b.said('from')}", b.label])
        after = [
            b
            for b in self.look.blocks
            if b.kind == "run" and b.said("from").partition(".")[0] == block.name
        ]
        if len(after) == 1:
            found.append([f"after it, to {after[0].said('to')}", after[0].label])
        return found

    def _svg(self) -> str:
        build = self.look.build
        if build is None:
            return self._drawn[1]
        key = (self.look.text, self.picked)
        if self._drawn[0] != key:
            runs = [f"run.{number + 1}" for number in self.look.runs]
            labels = {b.name: b.label for b in self.look.blocks if b.kind in COMPONENTS and b.name}
            try:
                svg = told_drawing(pickable(build, self.picked, runs, labels), words_of(build))
            except (ValueError, KeyError, IndexError):  # of a text that is no van yet
                svg = ""
            self._drawn = (key, svg)
        return self._drawn[1]


def _first(look: Sketch) -> str:
    """What is chosen where nothing is: the first tank, or what comes first."""
    labels = [b.label for b in look.blocks]
    return next(
        (label for label in labels if label.startswith("tank.")), labels[0] if labels else ""
    )


def _listed(block: Block) -> str:
    """How a block is told apart from its like in a list: a run by its ends."""
    ends = (block.said("from"), block.said("to")) if block.kind == "run" else ("", "")
    return f"{_words(block.label)}: {ends[0]} to {ends[1]}" if all(ends) else _words(block.label)


def _words(label: str) -> str:
    """A label as it is read: "tank fresh", "run 3"."""
    kind, _, name = label.partition(".")
    said = kind.replace("_", " ")
    return name if said in name.lower() else f"{said} {name}".strip()
