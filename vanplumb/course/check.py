"""What a notebook says to a prediction and to the answer of an exercise."""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..words.quantity import QuantityError, read, split, unit_of
from ..words.show import show
from ..words.unit_table import TIME
from .judge import Mistake, Sought, Verdict, judge, tolerance

__all__ = ["Verdict", "check", "compare"]


def compare(prediction: str, value: float, word: str, units: str = "SI") -> Verdict:
    """A prediction beside what was computed (SI), and how far apart they are.

    The distance is that of the figures as they are printed: whoever takes one from the other
    gets it too.  A prediction in another unit is told in the reader's as well.  Without one
    nothing is told.
    """
    if not prediction.strip():
        return Verdict("Write what you think first: then it is told.")
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
    if unit == "%":  # 13 % of what?
        unit = "percentage point" if abs(left - right) == 1 else "percentage points"
    mark = f" {unit}" if unit else ""
    text = f"{abs(left - right):.{places}f}"
    if len(text.replace(".", "").lstrip("0")) > 4 and places:  # 5 against 0.00899
        text = f"{abs(left - right):.3g}"
    return f". That is {text}{mark} apart"


def check(
    answer: str,
    expected: float,
    word: str,
    *,
    within: str = "3 % of it",
    hint: str = "",
    mistakes: Mapping[str, float] | None = None,
    rounds: bool = True,
) -> Verdict:
    """Whether an answer meets what was expected (SI), to ``within``: see ``judge``.

    ``within`` is in a unit, ``"1/4 in"``, or a share, ``"2 % of it"``.  ``mistakes`` has what to
    say to usual wrong turns, with the figure (SI) that each leads to.  An empty answer is asked
    for; a wrong one gets the hint, not the solution.  TypeError if ``within`` is a bare number.
    """
    sought = Sought(expected, word, within, rounds=rounds)
    tolerance(within, word, expected)
    if not answer.strip():
        return Verdict("Write your answer between the quotes and run the cell again.")
    turns = [Mistake(say, value, say) for say, value in (mistakes or {}).items()]
    return judge(answer, sought, turns, hint)
