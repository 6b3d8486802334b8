"""The page of one lesson: a question to predict, an exercise, a task at the bench.

    lesson("water")

Nothing is typed but answers, and nothing is told before something was predicted.  What was done
is kept for each learner, see ``course.progress``.  CSS classes for tests: ``.vp-lesson``,
``.vp-predict``, ``.vp-exercise``, ``.vp-bench`` round the three parts, ``.vp-told`` round what an
answer brought.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape
from math import isclose
from pathlib import Path
from random import Random
from typing import Any

import ipywidgets as widgets

from ...course.check import compare
from ...course.exercise import Exercise
from ...course.lesson import Lesson
from ...course.lessons import LESSONS, lesson_of, told_of
from ...course.progress import Progress, learners
from ...words.quantity import QuantityError, read, split
from ...words.report import Amiss
from ...words.show import capital, counted
from ...words.typed import tidy
from ...words.work import Work
from ..frame import look
from ..frame.living import LivingPicture
from ..frame.plain import across, html, line
from ..frame.printed import bundle
from .entries import button, entry, pressed, row, told

LITRE = 1e-3
SETS = 10_000
"""How many sets of figures New figures chooses among; each exercise has more."""


class LessonPage:
    """One lesson as a page; ``folder`` is where the learners' files stand."""

    def __init__(self, lesson: Lesson, units: str = "", folder: Path | str = ".") -> None:
        self.lesson = lesson
        self.folder = Path(folder)
        self.problem = ""
        self.seed = 1
        self.hints = 0
        self.progress = self._latest()
        self.units = units or self.progress.units or lesson.units
        self._seen: set[int] = set()
        self._judged: tuple[int, str] = (0, "")
        self._told_units = ""
        self.page = self._lay_out()
        self._show_exercise()
        self._show_done()

    def __repr__(self) -> str:
        return f"<lesson: {self.lesson.title}>"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        printed = self._head() + f"<p>{escape(self.lesson.question)}</p>" + self._picture()
        return bundle(self.page, repr(self), printed + self._task(), **kwargs)

    @property
    def exercise(self) -> Exercise:
        """The exercise with the figures that the page shows."""
        return self.lesson.exercise(self.seed, self.units)

    def predict(self, text: str) -> None:
        """Set a prediction beside what it comes to, and tell why; nothing without one."""
        self._guess.value = text
        self._predicted()

    def answer(self, text: str) -> None:
        """Judge an answer to the exercise and keep the try."""
        self._answer.value = text
        self._answered()

    def measured(self, **texts: str) -> None:
        """Tell what readings from the bench mean."""
        for key, text in texts.items():
            self._readings[key].value = text
        self._at_bench()

    def new_figures(self, seed: int | None = None) -> None:
        """Another set of figures: the one named, or one by chance."""
        self.seed = Random().randrange(1, SETS) if seed is None else seed
        self._show_exercise()

    def use_units(self, system: str) -> None:
        """Show everything in "US" or "SI" units."""
        self.units = system
        self.progress.prefer(system)
        self._show_exercise()
        self._mark_units()
        if self._told_units:
            self._predicted()

    # what is shown

    def _head(self) -> str:
        caution = look.cautions_list([self.lesson.caution]) if self.lesson.caution else ""
        place = list(LESSONS).index(self.lesson.key) + 1
        return look.title(f"Lesson {place} of {len(LESSONS)}") + caution

    def _picture(self) -> str:
        return f'<div class="vp-lesson-picture">{self.lesson.picture}</div>'

    def _task(self) -> str:
        """The exercise's question and what is given."""
        one = self.exercise
        rows = "".join(
            f"<tr><td>{escape(label)}</td><td{look.kind(len(value))}>{escape(value)}</td></tr>"
            for label, value in one.given
        )
        table = f'<div class="vp-wide"><table class="vp vp-given">{rows}</table></div>'
        return f"<p>{escape(one.question)}</p>{table}"

    def _show_exercise(self) -> None:
        self.hints, self._judged = 0, (0, "")
        self._figures.value = self._task()
        self._set.value = str(self.seed)
        self._answer.value = self._outcome.value = self._help.value = ""
        self._working.value = False
        self._answer.placeholder = f"a number and its unit{_such_as(self.exercise.shown)}"

    def _predicted(self) -> None:
        def told() -> None:
            text = tidy(self._guess.value, self.lesson.word)
            self._moves.layout.display = "none"
            if not text:
                self._reason.value = ""
                self._told_units = ""
                return
            try:
                read(text, self.lesson.word)
            except QuantityError as error:
                self._reason.value = look.said(f"Your prediction {error}.", good=False)
                return
            self._reason.value = '<div class="vp-note" role="status">working it out …</div>'
            found = told_of(self.lesson.key, self.units)
            said = compare(text, found.value, self.lesson.word, self.units).text
            self._told_units = self.units
            steps = _steps(found.works, self.units, self.lesson.word, found.value)
            steps = f"<details><summary>Worked steps</summary>{steps}</details>" if steps else ""
            tables = "".join(look.grid_table(one, self.units) for one in found.grids)
            self._reason.value = (
                f'<p class="vp-said" role="status"><b>{escape(said)}</b></p>'
                f"<p>{escape(found.why)}</p>{tables}{steps}"
            )
            if found.picture:
                self._moves.show(found.picture, found.scene)
                self._moves.layout.display = ""

        self._guarded(told, self._reason)

    def _answered(self) -> None:
        def judged() -> None:
            text = tidy(self._answer.value, self.exercise.word)
            if not text:
                self._outcome.value, self._judged = "", (0, "")
                return
            if (self.seed, text) == self._judged:
                return
            self._judged = (self.seed, text)
            one = self.exercise
            if self.seed in self._seen:
                verdict = one.judge(text)
                if verdict.right:
                    said = f"{verdict} But its working was open: take new figures for it to count."
                    self._outcome.value = look.said(said, good=True)
                    return
            else:
                verdict = self.progress.judge(one, text)
            why = f"<p>{escape(one.why)}</p>" if verdict.right else ""
            self._outcome.value = look.said(str(verdict), good=bool(verdict.right)) + why
            self._show_done()

        self._guarded(judged, self._outcome)

    def _see(self) -> None:
        pressed([self._guess], self._predicted, self._reason)

    def _check(self) -> None:
        pressed([self._answer], self._answered, self._outcome)

    def _check_bench(self) -> None:
        pressed(list(self._readings.values()), self._at_bench, self._meaning)

    def _hint(self) -> None:
        self.hints += 1
        text, most = self.exercise.hint(self.hints), len(self.exercise.hints)
        told = f"Hint {min(self.hints, most)} of {most}: {text}"
        self._help.value = f'<p class="vp-note" role="status">{escape(told)}</p>'

    def _show_working(self) -> None:
        if not self._working.value:
            self._help.value = ""
            return
        self._seen.add(self.seed)
        one = self.exercise
        steps = _steps(one.work, self.units, one.word, one.answer)
        self._help.value = f"{steps}<p><b>Answer: {escape(one.shown)}.</b> {escape(one.why)}</p>"

    def _at_bench(self) -> None:
        def told() -> None:
            texts = {
                one.key: tidy(self._readings[one.key].value, one.word)
                for one in self.lesson.bench.readings
            }
            if not any(texts.values()):
                self._meaning.value = ""  # what was said was of other readings
                return
            said, good = self.lesson.bench.judge(texts, self.units)
            self._meaning.value = look.said(said, good=good and not isinstance(said, Amiss))
            if good:
                read_off = ", ".join(texts.values())
                self.progress.note(f"{self.lesson.key}, at the bench", 0, read_off, True)
                self._show_done()

        self._guarded(told, self._meaning)

    def _show_done(self) -> None:
        done = self.progress.standings()
        right = [key for key in LESSONS if key in done and done[key].right]
        marks = "".join(
            f'<li class="{"vp-done" if key in right else "vp-todo"}'
            f'{" vp-here" if key == self.lesson.key else ""}">'
            f"{'✓ ' if key in right else ''}{escape(one.title)}</li>"
            for key, one in LESSONS.items()
        )
        tried = done.get(self.lesson.key)
        here = f" This one: {counted(tried.tries, 'try', 'tries')}." if tried else ""
        kept = self.progress.problem
        kept = f'<p class="vp-note">{escape(capital(kept))}.</p>' if kept else ""
        self._done.value = (
            f'<details class="vp-progress"><summary>{len(right)} of {len(LESSONS)} lessons '
            f"done.{escape(here)}</summary><ul>{marks}</ul></details>{kept}"
        )

    def _guarded(self, act: Callable[[], None], place: widgets.HTML) -> None:
        """Do what an answer asks for; what goes wrong is told where its outcome would stand."""
        try:
            act()
            self.problem = ""
        except Exception as error:  # a callback's error is lost otherwise
            self.problem = f"This lesson has a fault: {type(error).__name__}: {error}"
            place.value = look.said(self.problem, good=False)

    # learners

    def _latest(self) -> Progress:
        """The learner who was here last, or one without a name."""
        nobody = Progress.of("", self.folder)
        try:
            found = learners(self.folder)
            return max(found, key=lambda one: one.path.stat().st_mtime, default=nobody)
        except OSError:
            return nobody

    def _is(self, name: str) -> None:
        if name.strip() != self.progress.learner:
            self.progress = Progress.of(name, self.folder)
            self._show_done()

    # the page

    def _lay_out(self) -> widgets.VBox:
        one = self.lesson
        head = html(look.STYLE + look.math_font() + self._head())
        system = widgets.ToggleButtons(options=["US", "SI"], value=self.units, tooltips=["", ""])
        system.style.button_width = "3.6em"
        system.add_class("vp-units")
        system.observe(lambda change: self.use_units(change["new"]), "value")
        names = [p.learner for p in learners(self.folder) if p.learner]
        who = widgets.Combobox(
            value=self.progress.learner, options=names, description="your name",
            placeholder="to keep what you did", continuous_update=False,
        )  # fmt: skip
        who.observe(lambda change: self._is(str(change["new"])), "value")
        self._done = html()
        self._done.add_class("vp-lessons-done")
        top = across(system, who)
        top.add_class("vp-buttons")

        self._guess = entry(one.ask, "what you think")
        self._reason, self._moves = told(), LivingPicture(stays=False)
        self._moves.layout.display = "none"
        self._guess.observe(lambda _: self._predicted(), "value")
        picture = html(self._picture())
        picture.add_class("vp-pictures")
        asked = widgets.VBox(
            [
                html(f"<p>{escape(one.question)}</p>"),
                row(self._guess, button("See", self._see, "primary")),
            ]
        )
        asked.add_class("vp-asked")
        both = across(asked, picture)
        both.add_class("vp-beside")
        predict = _part("vp-predict", "Predict", [both, self._moves, self._reason])

        self._figures, self._help, self._outcome = html(), told(), told()
        self._answer = entry("answer", "")
        self._answer.observe(lambda _: self._answered(), "value")
        self._set = line(description="set no.", continuous_update=False)
        self._set.add_class("vp-set")
        self._set.observe(self._numbered, "value")
        self._working = widgets.ToggleButton(value=False, description="Show working", tooltip="")
        self._working.observe(lambda _: self._show_working(), "value")
        helps = widgets.HBox(
            [
                button("Hint", self._hint),
                self._working,
                button("New figures", self.new_figures),
                self._set,
            ]
        )
        helps.add_class("vp-buttons")
        answer = row(self._answer, button("Check", self._check, "primary"))
        exercise = _part(
            "vp-exercise",
            "Exercise",
            [self._figures, answer, self._outcome, helps, self._help],
        )

        self._readings = {r.key: entry(r.label, r.example[self.units]) for r in one.bench.readings}
        self._meaning = told()
        do = f"<p><b>With {escape(one.bench.tool)}.</b> {escape(one.bench.do)}</p>"
        bench = _part(
            "vp-bench",
            "At the bench",
            [
                html(do),
                row(*self._readings.values(), button("Check", self._check_bench, "primary")),
                self._meaning,
            ],
        )
        self._mark_units()
        page = widgets.VBox([head, top, predict, exercise, bench, self._done])
        for name in ("vanplumb", "vp-lesson"):
            page.add_class(name)
        return page

    def _mark_units(self) -> None:
        self._guess.placeholder = f"such as {self.lesson.example[self.units]}"
        for one in self.lesson.bench.readings:
            self._readings[one.key].placeholder = f"such as {one.example[self.units]}"

    def _numbered(self, change: Any) -> None:
        text = str(change["new"]).strip()
        if text == str(self.seed):
            return
        if text.isdigit() and 1 <= int(text) <= 10**9:
            self.new_figures(int(text))
        else:
            self._set.value = str(self.seed)


def lesson(key: str, units: str = "", folder: Path | str = ".") -> LessonPage:
    """The page of a lesson, by the key of its exercise.  KeyError lists those there are."""
    return LessonPage(lesson_of(key), units, folder)


def _steps(works: Iterable[Work], units: str, word: str, answer: float) -> str:
    """Worked steps, each under what it gives, which is told as the text beside it tells it."""

    def told(one: Work) -> str:
        if isclose(one.value, answer, rel_tol=1e-9):
            return word
        return "volume_small" if one.result.kind == "volume" and one.value < LITRE else ""

    return "".join(f"<p><b>{escape(w.title)}</b></p>{look.work(w, units, told(w))}" for w in works)


def _such_as(shown: str) -> str:
    """The unit that the answer is told in, a wait of days in hours and not in seconds."""
    mark = split(shown)[1]
    return f", {mark}" if mark else ""


def _part(name: str, title: str, parts: list[widgets.Widget]) -> widgets.VBox:
    box = widgets.VBox([html(f'<h3 class="vp-part">{escape(title)}</h3>'), *parts])
    box.add_class(name)
    box.add_class("vp-lesson-part")
    return box
