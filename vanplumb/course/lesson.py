"""What a lesson is made of: a question to predict, what it comes to and why, a task at the bench.

Plain data; the page that shows it is a worksheet.  Nothing is worked out before it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ..drawings.lessons import lesson_picture
from ..pack import Pack, example
from ..words.quantity import QuantityError, read
from ..words.report import Caution, Grid
from ..words.show import capital
from ..words.work import Work
from .exercise import MAKERS, TITLES, Exercise

Figures = Mapping[str, float]


def eg(us: str, si: str) -> dict[str, str]:
    """An example in each system of units."""
    return {"US": us, "SI": si}


@dataclass(frozen=True)
class Told:
    """What a question comes to (SI), and why: in words, with its steps and a table or two.

    ``picture`` is an SVG of the answer, and ``scene`` what moves on it; both empty if there is
    none.
    """

    value: float
    why: str
    works: tuple[Work, ...] = ()
    grids: tuple[Grid, ...] = ()
    picture: str = ""
    scene: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Reading:
    """One figure to read off a tool: its key, what it is, its glossary word, an example."""

    key: str
    label: str
    word: str
    example: Mapping[str, str]


@dataclass(frozen=True)
class Bench:
    """Something to do with a tool.  ``tell`` says what the readings mean, in the reader's units,
    as ``Amiss`` where that is bad news.

    It raises ValueError with what to do where readings can't be.
    """

    tool: str
    do: str
    readings: tuple[Reading, ...]
    tell: Callable[[Figures, str], str]

    def judge(self, texts: Mapping[str, str], units: str) -> tuple[str, bool]:
        """What typed readings mean, and whether all of them could be read."""
        found: dict[str, float] = {}
        wrong = []
        for one in self.readings:
            text = texts.get(one.key, "").strip()
            if not text:
                wrong.append(
                    f"{capital(one.label)}: type what you read, such as {one.example[units]}."
                )
                continue
            try:
                found[one.key] = read(text, one.word)
            except QuantityError as error:
                wrong.append(f"{capital(one.label)} {error}.")
        if wrong:
            return "\n".join(wrong), False
        try:
            return self.tell(found, units), True
        except (ValueError, ZeroDivisionError) as error:
            return f"{error}", False


@dataclass(frozen=True)
class Lesson:
    """One lesson; its exercise is the one of the same key, see ``exercise``."""

    key: str
    question: str
    ask: str
    word: str
    told: Callable[[str], Told]
    bench: Bench
    units: str = "US"
    caution: Caution | None = None
    notebook: str = ""
    example: Mapping[str, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """The title of its exercise, too."""
        return TITLES[self.key]

    @property
    def picture(self) -> str:
        """What the question is about, as SVG, without its answer."""
        return lesson_picture(self.key)

    def exercise(self, seed: int, units: str) -> Exercise:
        """The exercise of this lesson with the figures of a seed."""
        return MAKERS[self.key](seed, units)


@lru_cache(maxsize=4)
def van(name: str) -> Pack:
    """The pack of an example, which its lessons share."""
    return Pack(example(name))
