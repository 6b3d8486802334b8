"""What a notebook says to a prediction and to the answer of an exercise."""

from __future__ import annotations

from dataclasses import dataclass

from ..words.quantity import QuantityError, read
from ..words.show import show


@dataclass(frozen=True, repr=False)
class Verdict:
    """One sentence; ``right`` is None where there was nothing to judge."""

    text: str
    right: bool | None = None

    def __repr__(self) -> str:
        return self.text


def compare(prediction: str, value: float, word: str, units: str = "SI") -> Verdict:
    """A prediction beside what was computed (SI), and how far apart they are."""
    try:
        guess = read(prediction, word)
    except QuantityError as error:
        return Verdict(f"Your prediction {error}.")
    apart = abs(value - guess)
    told = show(value, word, units)
    near = show(apart, "rise" if word == "temperature" else word, units)
    return Verdict(f"You wrote {prediction}; it comes to {told}. That is {near} apart.")


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
