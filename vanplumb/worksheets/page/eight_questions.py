"""The eight questions on a page: what they make is drawn at once, before anything is written."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as widgets

from ...drawings.schematic.pick import pickable
from ...van.file.read import loads
from ...van.form.kit import build_text
from ...van.form.questions import QUESTIONS, AnswerProblem, Answers, Question, answered, taken_as
from ...van.problems import BuildError
from ..frame.look import said


class EightQuestions:
    """A button that opens them, and what follows; ``make`` takes a name and a file's text."""

    def __init__(self, make: Callable[[str, str], str]) -> None:
        self._make = make
        self.button = widgets.ToggleButton(
            value=False,
            description="Answer eight questions",
            icon="list",
            tooltip="A whole build file from eight answers",
        )
        self.button.layout.width = "auto"
        self.name = widgets.Text(value="my-van", description="name")
        self._entries: dict[str, Any] = {}
        self._notes: dict[str, widgets.HTML] = {}
        self._chosen: dict[str, str] = {}
        """What the reader chose from a menu: it comes back where other answers allow it again."""
        self._usual: dict[str, str] = {}
        """What stood in an entry before anybody typed in it: it follows the other answers."""
        self.answers = Answers()
        self.text = ""
        self._quiet = True  # until every question has its entry
        rows = [self._row(number, question) for number, question in enumerate(QUESTIONS, 1)]
        self._quiet = False
        self._drawing = widgets.HTML()
        self._drawing.add_class("vp-asked-drawing")
        do = widgets.Button(description="Make the file", button_style="primary")
        do.on_click(lambda _: self.make())
        self._outcome = widgets.HTML()
        last = widgets.HBox([self.name, do])
        last.add_class("vp-buttons")
        questions = widgets.VBox(rows)
        questions.add_class("vp-questions")
        self.box = widgets.VBox([questions, self._drawing, last, self._outcome])
        self.box.add_class("vp-panel")
        self.box.layout.display = "none"
        self.button.observe(self._toggle, "value")

    def say(self, **answers: str) -> None:
        """Answer as the reader would; for tests."""
        for key, text in answers.items():
            entry = self._entries[key]
            if isinstance(entry, dict):
                wanted = [part.strip() for part in text.split(",")]
                for name, tick in entry.items():
                    tick.value = name in wanted
            else:
                entry.value = text

    def make(self) -> str:
        """Make the file of the answers as they stand, and tell."""
        try:
            if not self.text:
                raise ValueError("mend the answers that are told to be wrong")
            self.text = build_text(self.answers, self.name.value.strip() or "my van")
            told, good = self._make(self.name.value, self.text), True
            self.button.value = False  # the page goes on with the file
        except (ValueError, OSError, BuildError) as error:
            told, good = f"Nothing was written: {error}", False
        except Exception as error:  # a callback's error is lost otherwise
            told, good = f"Nothing was written: {type(error).__name__}: {error}", False
        self._outcome.value = said(told, good=good)
        return told

    def _row(self, number: int, question: Question) -> widgets.VBox:
        head = widgets.HTML(
            f'<h3 class="vp-group">{number}. {escape(question.asks)}</h3>'
            f'<div class="vp-note">{escape(question.help)}</div>'
        )
        note = self._notes[question.key] = widgets.HTML()
        entry: widgets.Widget
        if question.kind == "many":
            ticks = {n: _tick(n, about) for n, about in question.options(self.answers)}
            usual = question.usual(self.answers).split(", ")
            for name, tick in ticks.items():
                tick.value = name in usual
                tick.observe(self._changed, "value")
            self._entries[question.key] = ticks
            entry = widgets.VBox(list(ticks.values()))
        elif question.kind == "choice":
            entry = widgets.Dropdown(options=_shown(question, self.answers))
            self._entries[question.key] = entry
            entry.observe(self._changed, "value")
        else:
            usual_text = self._usual[question.key] = question.usual(self.answers)
            entry = widgets.Text(value=usual_text, continuous_update=False)
            self._entries[question.key] = entry
            entry.observe(self._changed, "value")
        if question.kind != "many":
            entry.description = question.key
        row = widgets.VBox([head, entry, note])
        row.add_class("vp-question")
        row.add_class(f"vp-question-{question.key}")
        if question.kind == "choice":
            entry.value = question.usual(self.answers)
        self.answers = answered(self.answers, question.key, "")
        return row

    def _toggle(self, change: Any) -> None:
        self.box.layout.display = "" if change["new"] else "none"
        if change["new"] and not self.text:
            self._follow()

    def _changed(self, change: Any) -> None:
        if self._quiet:
            return
        for key, entry in self._entries.items():
            if entry is change["owner"] and isinstance(entry, widgets.Dropdown):
                self._chosen[key] = change["new"]
        self._follow()

    def _follow(self) -> None:
        """Offer what the answers leave to choose from, and draw what they make."""
        self._quiet, wrong, answers = True, False, Answers()
        try:
            for question in QUESTIONS:
                before = answers
                typed = self._typed(question, answers)
                try:
                    answers = answered(answers, question.key, typed)
                    told = _told(taken_as(answers, question.key), typed)
                except AnswerProblem as problem:
                    answers, wrong = _usual(before, question), True
                    told = (
                        f'<div class="vp-note vp-wrong" role="alert">{escape(str(problem))}</div>'
                    )
                self._notes[question.key].value = told
        finally:
            self._quiet = False
        self.answers = answers
        self.text = "" if wrong else build_text(answers, self.name.value.strip() or "my van")
        if self.text:
            build = loads(self.text)
            self._drawing.value = pickable(build, "", [""] * len(build.run), {}, still=True)
            self._drawing.remove_class("vp-old")
        else:
            self._drawing.add_class("vp-old")

    def _typed(self, question: Question, answers: Answers) -> str:
        """What stands in a question's entry, after what it may be was looked at anew."""
        entry = self._entries[question.key]
        if question.kind == "many":
            offered = [name for name, _ in question.options(answers)]
            for name, tick in entry.items():
                tick.layout.display = "" if name in offered else "none"
            return ", ".join(n for n, tick in entry.items() if tick.value and n in offered) or "-"
        if question.kind == "choice":
            options, wished = _shown(question, answers), self._chosen.get(question.key)
            if list(entry.options) != options:
                entry.options = options
                known = [key for _, key in options]
                entry.value = wished if wished in known else question.usual(answers)
        elif entry.value == self._usual.get(question.key):
            entry.value = self._usual[question.key] = question.usual(answers)
        return str(entry.value)


def _told(taken: str, typed: str) -> str:
    """How an answer is taken, where that is not just what was typed."""
    if not taken or taken == " ".join(typed.split()):
        return ""
    return f'<div class="vp-note" role="status">{escape(taken)}</div>'


def _usual(answers: Answers, question: Question) -> Answers:
    """The usual answer in place of one that can't be taken, so that the others can be looked at."""
    try:
        return answered(answers, question.key, "")
    except AnswerProblem:
        return answers


def _tick(name: str, about: str) -> widgets.Checkbox:
    tick = widgets.Checkbox(description=f"{name}: {about}", indent=False)
    tick.layout.width = "auto"
    return tick


def _shown(question: Question, answers: Answers) -> list[tuple[str, str]]:
    return [(f"{name}: {about}", name) for name, about in question.options(answers)]
