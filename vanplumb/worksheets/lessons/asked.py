"""A prediction and an exercise in a notebook, to be answered without code.

    prediction = predict("volume", "25 gal")
    prediction                                    # in a cell: a line to write on
    prediction.beside(pack.water.need, "US")      # farther down: what it comes to, and how far off
    answer_box(wide, "length", within="1/2 in", hint="...")

What is written stays when the cells are run again.  CSS classes for tests: ``.vp-prediction``,
``.vp-beside-it``, ``.vp-answer-box``.
"""

from __future__ import annotations

from html import escape
from typing import Any

import ipywidgets as widgets

from ...course.check import check, compare
from ...words.quantity import QuantityError, read
from ...words.show import show, unit
from ...words.typed import tidy
from ..frame import look
from ..frame.plain import html
from ..frame.printed import bundle
from .entries import button, entry, pressed, row, told

_written: dict[str, str] = {}
"""What was written, by the question: running the cell again loses none."""


class Prediction:
    """A line for what the reader thinks; without a ``word`` any text will do."""

    def __init__(self, word: str, such_as: str) -> None:
        self.word = word
        self._key = f"predict {word} {such_as}"
        self._entry = entry("what you think", such_as)
        self._entry.value = _written.get(self._key, "")
        self._said = told()
        self._below: list[Beside] = []
        self._entry.observe(lambda _: self._wrote(), "value")
        self.page = _page("vp-prediction", row(self._entry, paper=True), self._said)
        self._wrote()

    def __repr__(self) -> str:
        return "<a line to write a prediction on>"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), _line("What you think:"), **kwargs)

    @property
    def text(self) -> str:
        """What is written."""
        return tidy(self._entry.value, self.word) if self.word else str(self._entry.value).strip()

    def write(self, text: str) -> None:
        """Write a prediction, as the reader would."""
        self._entry.value = text

    def beside(self, value: float, units: str = "SI") -> Beside:
        """What it comes to (SI), told beside the prediction as soon as there is one."""
        one = Beside(self, value, units)
        self._below = [one]  # the cell that is run again shows another
        return one

    def _wrote(self) -> None:
        _written[self._key] = self._entry.value
        text, self._said.value = self.text, ""
        if text and self.word:
            try:
                read(text, self.word)
                said, good = "Kept. Farther down it is set beside what it comes to.", True
            except QuantityError as error:
                said, good = f"Your prediction {error}.", False
            self._said.value = look.said(said, good=good)
        elif text:
            self._said.value = look.said("Kept. Look farther down what the sums say.", good=True)
        for one in self._below:
            one.show()


class Beside:
    """What a prediction comes to and how far apart the two are; nothing without one."""

    def __init__(self, prediction: Prediction, value: float, units: str) -> None:
        self._prediction, self._value, self._units = prediction, value, units
        self._said = told()
        self.page = _page("vp-beside-it", self._said)
        self.show()

    def __repr__(self) -> str:
        return f"It comes to {show(self._value, self._prediction.word, self._units)}."

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), f"<p>{escape(repr(self))}</p>", **kwargs)

    def show(self) -> None:
        """Tell anew, after something was written."""
        one = self._prediction
        said = compare(one.text, self._value, one.word, self._units).text
        self._said.value = f'<p class="vp-said" role="status">{escape(said)}</p>'


class AnswerBox:
    """A line for the answer of an exercise, judged by ``course.check``, with a hint."""

    def __init__(self, expected: float, word: str, within: str, hint: str) -> None:
        self._expected, self._word, self._within, self._hint = expected, word, within, hint
        self._key = f"answer {word} {hint}"
        check("", expected, word, within=within)  # a tolerance that can't be read is told now
        self._entry = entry("answer", "")
        self._entry.placeholder = "a number and its unit" if unit(word, "SI") else "a number"
        self._entry.value = _written.get(self._key, "")
        self._said = told()
        self._entry.observe(lambda _: self._judge(), "value")
        buttons = [button("Check", self._pressed, "primary")]
        buttons += [button("Hint", self._tell_hint)] if hint else []
        self.page = _page("vp-answer-box", row(self._entry, *buttons, paper=True), self._said)
        self._judge()

    def __repr__(self) -> str:
        return "<a line to write the answer on>"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), _line("Your answer, with its unit:"), **kwargs)

    def answer(self, text: str) -> None:
        """Write an answer, as the reader would."""
        self._entry.value = text

    def _judge(self) -> None:
        _written[self._key] = self._entry.value
        text = tidy(self._entry.value, self._word)
        if not text:
            self._said.value = ""
            return
        verdict = check(text, self._expected, self._word, within=self._within, hint=self._hint)
        self._said.value = look.said(str(verdict), good=bool(verdict.right))

    def _pressed(self) -> None:
        pressed([self._entry], self._judge, self._said)

    def _tell_hint(self) -> None:
        self._said.value = f'<p class="vp-note" role="status">Hint: {escape(self._hint)}</p>'


def predict(word: str, such_as: str) -> Prediction:
    """A line for a prediction of a glossary word; an empty word takes any text."""
    return Prediction(word, such_as)


def answer_box(
    expected: float, word: str, *, within: str = "3 % of it", hint: str = ""
) -> AnswerBox:
    """A line for an answer (SI ``expected``), judged to ``within``; see ``course.check.check``."""
    return AnswerBox(expected, word, within, hint)


def _page(name: str, *parts: widgets.Widget) -> widgets.VBox:
    page = widgets.VBox([html(look.STYLE), *parts])
    for one in ("vanplumb", "vp-alone", name):
        page.add_class(one)
    return page


def _line(words: str) -> str:
    return f'<p>{escape(words)} <span class="vp-blank"></span></p>'
