"""An exercise: a question with figures drawn by a seed, its answer, the usual mistakes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd, prod

from ..words.glossary import INCH
from ..words.quantity import read
from ..words.show import show
from ..words.work import Work
from .judge import Mistake, Sought, Verdict, judge

__all__ = ["Exercise", "Mistake"]


Options = Mapping[str, Sequence[str]]


class Draw:
    """The figures of the exercise of a key: for each name one of its options, by the seed.

    Seeds that follow one another give quite different figures, and no two of the first
    ``sets`` seeds give the same.
    """

    def __init__(self, key: str, seed: int, units: str) -> None:
        self.key, self.seed, self.units = key, seed, units
        options = FIGURES[key](units)
        self.sets = prod(len(texts) for texts in options.values())
        place = seed * _stride(self.sets) % self.sets
        self.texts: dict[str, str] = {}
        for name, texts in options.items():
            place, this = divmod(place, len(texts))
            self.texts[name] = texts[this]

    def __getitem__(self, name: str) -> str:
        return self.texts[name]

    def si(self, name: str, word: str) -> float:
        """A figure in SI for a glossary word."""
        return read(self.texts[name], word)

    def number(self, name: str) -> float:
        """A plain number."""
        return float(self.texts[name])


@dataclass(frozen=True)
class Exercise:
    """One question with the figures that were drawn for it.

    ``answer`` is SI for the glossary ``word``; ``within``, ``span`` and ``rounds`` say what may
    pass for it, see ``judge.Sought``.  ``work`` is the solution, ``why`` says in words why it is
    right.
    """

    draw: Draw
    question: str
    given: tuple[tuple[str, str], ...]
    answer: float
    word: str
    work: tuple[Work, ...]
    mistakes: tuple[Mistake, ...]
    hints: tuple[str, ...]
    why: str = ""
    within: str = "3 % of it"
    span: float | None = None
    rounds: bool = True

    @property
    def key(self) -> str:
        """What it is registered under."""
        return self.draw.key

    @property
    def title(self) -> str:
        """The title of its lesson."""
        return TITLES[self.key]

    @property
    def seed(self) -> int:
        """Which set of figures it has."""
        return self.draw.seed

    @property
    def units(self) -> str:
        """The system that its figures are in."""
        return self.draw.units

    def __repr__(self) -> str:
        rows = [f"{self.title} (seed {self.seed})", "", self.question, ""]
        return "\n".join(rows + [f"  {label}: {value}" for label, value in self.given])

    @property
    def sought(self) -> Sought:
        """What passes for the answer."""
        return Sought(self.answer, self.word, self.within, self.span, self.rounds)

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
        said = judge(text, self.sought, self.mistakes, self.hint(tries))
        return Verdict(f"Right: {self.shown}.", True) if said.right else said


def _stride(sets: int) -> int:
    """A step near the golden part of all sets that meets each of them before it repeats."""
    step = int(sets * 0.6180339887) or 1
    while gcd(step, sets) != 1:
        step += 1
    return step


def ladder(low: float, high: float, step: float, unit: str = "") -> tuple[str, ...]:
    """Texts from low to high: ``ladder(2, 3, 0.5, "gal")`` is 2 gal, 2.5 gal, 3 gal."""
    count = round((high - low) / step)
    return tuple(f"{round(low + step * n, 6):g} {unit}".strip() for n in range(count + 1))


def inches(low: int, high: int) -> tuple[str, ...]:
    """Every sixteenth from low to high sixteenths, as a tape is read."""
    return tuple(show(n / 16 * INCH, "length", "US") for n in range(low, high + 1))


ORDER = (
    *("water", "mixing", "weak shower", "cold minute", "short stub", "when to test", "frost"),
    *("water stays", "ends", "falling gauge", "test reading", "how sure"),
)
"""The kinds as lessons and papers number them."""
MAKERS: dict[str, Callable[[int, str], Exercise]] = {}
TITLES: dict[str, str] = {}
FIGURES: dict[str, Callable[[str], Options]] = {}
"""What each exercise may draw its figures from, by the system of units."""


def exercise(
    key: str, title: str, us: Options, si: Options
) -> Callable[[Callable[[Draw], Exercise]], Callable[[Draw], Exercise]]:
    """Register a maker under a key, with its title and the figures it may draw in each system.

    What only ``us`` names is the same in both.
    """

    def options(units: str) -> Options:
        if units not in ("US", "SI"):
            raise ValueError(f'units must be "US" or "SI", got {units!r}')
        return us if units == "US" else {**us, **si}

    def register(make: Callable[[Draw], Exercise]) -> Callable[[Draw], Exercise]:
        MAKERS[key] = lambda seed, units: make(Draw(key, seed, units))
        FIGURES[key], TITLES[key] = options, title
        return make

    return register


def exercises(seed: int, units: str = "US") -> tuple[Exercise, ...]:
    """One exercise of each kind, with the figures of a seed, in the order of the lessons."""
    return tuple(MAKERS[key](seed, units) for key in ORDER)
