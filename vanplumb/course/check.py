"""What a notebook says to a prediction and to the answer of an exercise."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..words.quantity import QuantityError, read, split, unit_of
from ..words.show import show
from ..words.unit_table import TIME


@dataclass(frozen=True, repr=False)
class Verdict:
    """One sentence; ``right`` is None where there was nothing to judge."""

    text: str
    right: bool | None = None

    def __repr__(self) -> str:
        return self.text


def compare(prediction: str, value: float, word: str, units: str = "SI") -> Verdict:
    """A prediction beside what was computed (SI), and how far apart they are.

    The distance is that of the figures as they are printed: whoever takes one from the other
    gets it too.  A prediction in another unit is told in the reader's as well.
    """
    try:
        guess = read(prediction, word)
    except QuantityError as error:
        return Verdict(f"Your prediction {error}.")
    told, mine = show(value, word, units), prediction.strip()
    wrote = mine
    if not _one_unit(mine, show(guess, word, units)):
        mine = show(guess, word, units)
        wrote = f"{wrote} ({mine})"
    return Verdict(f"You wrote {wrote}; it comes to {told}{_apart(mine, told, word, units)}.")


def _unit(text: str) -> tuple[object, ...]:
    mark = split(text)[1]
    if not mark:
        return ()
    unit = unit_of(mark)
    return (unit.dimension,) if unit.dimension == TIME else (unit.dimension, unit.factor)


def _one_unit(one: str, other: str) -> bool:
    """Whether two texts have the same unit, or are both times, which everybody reads."""
    try:
        return _unit(one) == _unit(other)
    except QuantityError:
        return False


def _apart(mine: str, told: str, word: str, units: str) -> str:
    """How far two printed figures are apart, to go on with; nothing where one is no number."""
    try:
        apart = abs(read(told, word) - read(mine, word))
        (left, unit), (right, other) = split(mine), split(told)
    except QuantityError:
        return ""
    if left == right and unit == other:
        return " as well"
    if unit != other and word == "duration" and 6000 <= apart < 72 * 3600:
        hours, minutes = divmod(round(apart / 60), 60)
        return f". That is {hours} h {minutes} min apart"
    places = max(len(re.sub(r"^[^.]*\.?(\d*).*$", r"\1", text)) for text in (mine, told))
    if unit != other or round(left, places) != left or round(right, places) != right:  # fractions
        return f". That is {show(apart, 'rise' if word == 'temperature' else word, units)} apart"
    mark = f" {unit}" if unit else ""
    return f". That is {abs(left - right):.{places}f}{mark} apart"


def check(answer: str, expected: float, word: str, *, within: float, hint: str = "") -> Verdict:
    """Whether an answer meets what was expected (both SI), to ``within``.

    An empty answer is asked for; a wrong one gets the hint, not the solution.
    """
    if not answer.strip():
        return Verdict("Write your answer between the quotes and run the cell again.")
    try:
        given = read(answer, word)
    except QuantityError as error:
        return Verdict(f"Your answer {error}.")
    if abs(given - expected) <= within:
        return Verdict(f"Right: {answer.strip()}.", True)
    side = "too high" if given > expected else "too low"
    return Verdict(f"Not yet: {answer.strip()} is {side}. {hint}".strip(), False)
