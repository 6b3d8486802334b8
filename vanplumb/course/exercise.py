"""Exercises on paper, and their answer key, from the same seed.

An exercise: a question with figures drawn from a seed, its answer, the usual mistakes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from ..sheet import write_calculation
from ..words.glossary import word as word_of
from ..words.quantity import QuantityError, needs, read, split, unit_of
from ..words.report import Answer, Chapter, grid
from ..words.show import show
from ..words.unit_table import NONE
from ..words.work import Work
from .check import Verdict


@dataclass(frozen=True)
class Mistake:
    """A wrong turn that people take, the answer it leads to (SI), and what to say."""

    name: str
    value: float
    say: str


@dataclass(frozen=True)
class Exercise:
    """One question with its figures.

    ``answer`` is SI for the glossary ``word``; ``within`` is the fair tolerance, as a share of
    the answer (of the rise, for temperatures, of ``span``).  ``work`` is the solution.
    """

    key: str
    title: str
    seed: int
    units: str
    question: str
    given: tuple[tuple[str, str], ...]
    answer: float
    word: str
    work: tuple[Work, ...]
    mistakes: tuple[Mistake, ...]
    hints: tuple[str, ...]
    within: float = 0.03
    span: float | None = None

    def __repr__(self) -> str:
        rows = [f"{self.title} (seed {self.seed})", "", self.question, ""]
        return "\n".join(rows + [f"  {label}: {value}" for label, value in self.given])

    @property
    def tolerance(self) -> float:
        """How far an answer may be off, SI."""
        return self.within * abs(self.span if self.span is not None else self.answer)

    @property
    def shown(self) -> str:
        """The answer in the learner's units."""
        return show(self.answer, self.word, self.units)

    def hint(self, number: int = 1) -> str:
        """The first, second or later hint; the last one again when there are no more."""
        return self.hints[min(max(number, 1), len(self.hints)) - 1]

    def solution(self) -> str:
        """Every worked step, and the answer."""
        steps = "\n\n".join(f"{w.title}:\n{w.text(self.units)}" for w in self.work)
        return f"{steps}\n\nAnswer: {self.shown}"

    def judge(self, text: str, tries: int = 1) -> Verdict:
        """What to say to an answer typed with its unit; ``tries`` picks the hint."""
        if not text.strip():
            return Verdict("Write your answer with its unit between the quotes, then run again.")
        try:
            value = read(text, self.word)
        except QuantityError as error:
            return Verdict(f"{_wrong_unit(text, self.word) or f'Your answer {error}.'}", False)
        if abs(value - self.answer) <= self.tolerance:
            return Verdict(f"Right: {self.shown}.", True)
        near = [m for m in self.mistakes if abs(value - m.value) <= self._near(m)]
        if near:
            best = min(near, key=lambda m: abs(value - m.value))
            return Verdict(f"Not yet: {best.say}", False)
        side = "too high" if value > self.answer else "too low"
        factor = self._power_of_ten(value)
        if factor:
            return Verdict(f"Not yet: {side} by a factor of {factor}: look at the units.", False)
        return Verdict(f"Not yet: {side}. Hint: {self.hint(tries)}", False)

    def _near(self, mistake: Mistake) -> float:
        reach = self.within * abs(self.span if self.span is not None else mistake.value)
        return min(reach, abs(mistake.value - self.answer) / 2)

    def _power_of_ten(self, value: float) -> str:
        if self.span is not None or value <= 0 or self.answer <= 0:
            return ""
        for power in (1, 2, 3, 6):
            for ratio, told in ((10.0**power, f"{10**power}"), (10.0**-power, f"{10**power}")):
                if abs(value / self.answer / ratio - 1) <= self.within:
                    return told
        return ""


MAKERS: dict[str, Callable[[int, str], Exercise]] = {}


def exercise(key: str) -> Callable[[Callable[[int, str, Random], Exercise]], object]:
    """Register a maker of exercises under a key."""

    def register(make: Callable[[int, str, Random], Exercise]) -> object:
        def made(seed: int, units: str) -> Exercise:
            if units not in ("US", "SI"):
                raise ValueError(f'units must be "US" or "SI", got {units!r}')
            return make(seed, units, Random(f"{key}:{seed}"))

        MAKERS[key] = made
        return make

    return register


def pick(random: Random, texts: Sequence[str], word: str) -> tuple[float, str]:
    """One of some texts with units, as SI and as written."""
    text = random.choice(texts)
    return read(text, word), text


def _wrong_unit(text: str, name: str) -> str:
    """What to say where the number is fine and the unit is of another kind."""
    meant = word_of(name)
    try:
        _, unit_text = split(text)
        unit = unit_of(unit_text) if unit_text else None
    except QuantityError:
        return ""
    if unit is None:
        return "" if meant.dimension == NONE else f"Not yet: the unit is missing; {needs(meant)}."
    if unit.dimension != meant.dimension:
        return f"Not yet: {unit.name} is no unit for this; it needs {needs(meant)}."
    if meant.dimension[3] == 1 and unit.rise != meant.is_rise and math.isfinite(unit.factor):
        kind = "a difference of temperatures" if meant.is_rise else "a temperature"
        return f"Not yet: the answer is {kind}; it needs {needs(meant)}."
    return ""


def exercises(seed: int, units: str = "US") -> tuple[Exercise, ...]:
    """One exercise of each kind, with the figures of a seed."""
    return tuple(make(seed, units) for make in MAKERS.values())


def sheet(seed: int, units: str = "US") -> Chapter:
    """The questions, with room to write the answers."""
    rows = []
    for number, one in enumerate(exercises(seed, units), 1):
        facts = "; ".join(f"{label} {value}" for label, value in one.given)
        rows.append((str(number), one.title, f"{one.question} Given: {facts}.", " " * 12))
    return Chapter(
        key=f"exercises-{seed}",
        title=f"Exercises, set {seed}",
        basis=("Write each answer with its unit. Predict first, then compute.",),
        grids=(grid("Questions", rows, {"No.": 0, "subject": 1, "question": 2, "answer": 3}),),
    )


def key(seed: int, units: str = "US") -> Chapter:
    """The answers of the same seed, each with its steps."""
    return Chapter(
        key=f"answers-{seed}",
        title=f"Answers to exercises, set {seed}",
        answers=tuple(
            Answer(f"{number}. {one.title}", one.answer, one.word, one.work, note=one.question)
            for number, one in enumerate(exercises(seed, units), 1)
        ),
    )


def write(seed: int, folder: Path | str, units: str = "US") -> list[Path]:
    """Sheet and key as PDF and HTML in a folder.  Gives the paths, the sheet first."""
    return [
        path
        for chapter in (sheet(seed, units), key(seed, units))
        for path in write_calculation(chapter, folder, units=units)
    ]
