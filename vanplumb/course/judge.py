"""How near an answer must come, and what a wrong one tells.

A tolerance has a unit, ``"0.5 psi"``, or is a share, ``"3 % of it"``: a bare number would be in
SI, which nobody types.  Beside it two things always pass, in every system of units that the kit
prints in: the answer as the kit prints it, and the same with a digit fewer, where the trade would
round: where two digits are left, or whole seconds, which a watch shows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ..words.glossary import Word
from ..words.glossary import word as word_of
from ..words.quantity import QuantityError, example, needs, read, split, unit_of
from ..words.show import SYSTEMS, show
from ..words.unit_table import FLOW, LENGTH, MASS, NONE, PRESSURE, TEMPERATURE, TIME, VOLUME

_SHARE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*% of it\s*")
_ALIKE = {
    LENGTH: ("in", "mm", "cm", "ft", "m"),
    VOLUME: ("gal", "L", "mL", "fl oz", "qt"),
    MASS: ("lb", "kg", "oz", "g"),
    TIME: ("s", "min", "h", "d"),
    PRESSURE: ("psi", "bar", "kPa"),
    FLOW: ("gpm", "L/min", "fl oz/d", "L/d", "mL/min", "mL/h", "gal/d"),
    TEMPERATURE: ("°F", "°C"),
}
"""Units that are taken for one another."""
_SAID = {"in": "inches"}
"""Units whose sign reads like a word."""
_AS_GOOD_AS = 0.1
"""Units nearer than this are not told apart: 5 % too many litres are no quarts."""


@dataclass(frozen=True)
class Mistake:
    """A wrong turn that people take, the answer it leads to (SI), and what to say."""

    name: str
    value: float
    say: str


@dataclass(frozen=True)
class Verdict:
    """One sentence; ``right`` is None where there was nothing to judge."""

    text: str
    right: bool | None = None

    def __repr__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Printed:
    """A value as the kit prints it in one system: number, its last place, and the unit."""

    number: float
    place: float
    factor: float
    offset: float
    fraction: bool
    seconds: bool = False

    @property
    def reach(self) -> float:
        """How far the value may be from what is printed, SI."""
        return self.place / 2 * self.factor

    def fewer(self) -> Iterator[float]:
        """The same with a digit fewer, SI, both ways where it is a tie; fractions are not."""
        place = 10 * self.place
        least = 1.0 if self.seconds and place == 1.0 else 9.5 * place
        if self.fraction or abs(self.number) < least:
            return
        for whole in {math.floor(self.number / place), math.ceil(self.number / place)}:
            if abs(whole * place - self.number) <= place / 2 * (1 + 1e-9):
                yield whole * place * self.factor + self.offset


@lru_cache(maxsize=64)
def printed(value: float, word: str) -> tuple[Printed, ...]:
    """A value (SI) as each system of units prints it; what has no number is left out."""
    found = []
    for system in SYSTEMS:
        text = show(value, word, system)
        try:
            number, mark = split(text)
            unit = unit_of(mark) if mark else None
        except QuantityError:
            continue
        fraction = unit is not None and unit.name == "in" and "." not in text
        decimals = len(re.sub(r"^[^.]*\.?(\d*).*$", r"\1", text))
        place = 1 / 16 if fraction else 10.0**-decimals
        rise = word_of(word).is_rise
        factor, offset = (unit.factor, 0.0 if rise else unit.offset) if unit else (1.0, 0.0)
        seconds = unit is not None and unit.name == "s"
        found.append(Printed(number, place, factor, offset, fraction, seconds))
    return tuple(found)


def tolerance(within: str, word: str, value: float) -> float:
    """A tolerance such as ``"0.5 psi"`` or ``"3 % of it"`` in SI.

    ``value`` is what a share is of.  TypeError for a bare number, whose unit nobody would see;
    QuantityError for a text that is no amount of the word.
    """
    if not isinstance(within, str):
        raise TypeError(
            f'a tolerance has a unit, "0.5 psi", or is a share, "3 % of it", got {within!r}'
        )
    share = _SHARE.fullmatch(within)
    if share:
        return float(share[1]) / 100 * abs(value)
    number, mark = split(within)
    meant = word_of(word)
    if not mark:
        if meant.dimension != NONE:
            raise QuantityError(f'"{within}" has no unit: it needs {needs(meant)}, or "of it"')
        return number
    unit = unit_of(mark)
    if unit.dimension != meant.dimension:
        raise QuantityError(f'"{within}" is no amount of this: it needs {needs(meant)}')
    return number * unit.factor


@dataclass(frozen=True)
class Sought:
    """An answer (SI) and what may pass for it.

    ``span`` is what a share in ``within`` is of, where that is not the answer itself: for
    temperatures, which have no zero of their own.  ``rounds`` is off where a digit fewer would
    do harm, such as for the time from which joints may see pressure.
    """

    value: float
    word: str
    within: str = "3 % of it"
    span: float | None = None
    rounds: bool = True

    def reach(self, value: float) -> float:
        """How far an answer may be from a value: the tolerance, or half a printed place."""
        base = self.span if self.span is not None else value
        halves = [one.reach for one in printed(value, self.word)]
        return max([tolerance(self.within, self.word, base), *halves]) * (1 + 1e-9)

    def met_by(self, value: float) -> bool:
        """Whether a value (SI) passes for the answer."""
        if abs(value - self.value) <= self.reach(self.value):
            return True
        if not self.rounds:
            return False
        fewer = [one for made in printed(self.value, self.word) for one in made.fewer()]
        return any(math.isclose(value, one, rel_tol=1e-9, abs_tol=1e-12) for one in fewer)

    def wrong_turns(self, value: float, mistakes: Sequence[Mistake]) -> list[Mistake]:
        """The mistakes that lead to a value which does not pass, the nearest first.

        More than one where these figures make them the same and nobody can tell which it was;
        of those that say the same, one.
        """
        near = [m for m in mistakes if abs(value - m.value) <= self._near(m)]
        near.sort(key=lambda m: abs(value - m.value))
        alike = [m for m in near if abs(m.value - near[0].value) <= self._near(near[0]) / 4]
        return list({m.say: m for m in reversed(alike)}.values())[::-1]

    def _near(self, mistake: Mistake) -> float:
        halves = [one.reach for one in printed(mistake.value, self.word)]
        room = min(self.reach(mistake.value), abs(mistake.value - self.value) / 2)
        return max([room, *halves]) * (1 + 1e-9)

    def slip(self, text: str) -> str:
        """What to say where the number fits and only its unit or its point does not."""
        meant = word_of(self.word)
        if meant.dimension == NONE:
            return ""
        number, mark = split(text)
        unit = unit_of(mark)
        for name in _ALIKE.get(meant.dimension, ()):
            other = unit_of(name)
            alike = not other.offset and abs(other.factor / unit.factor - 1) < _AS_GOOD_AS
            if other.name == unit.name or alike:
                continue
            if self.met_by(number * other.factor + other.offset):
                right, wrote = (_SAID.get(one, one) for one in (name, unit.name))
                return f"the number would be right in {right}, and you wrote {wrote}."
        value = number * unit.factor + unit.offset
        if self.span is None and value > 0 and self.value > 0:
            for power in (1, 2, 3, 6):
                for ratio in (10.0**power, 10.0**-power):
                    if self.met_by(value / ratio):
                        side = "high" if ratio > 1 else "low"
                        return f"too {side} by a factor of {10**power}: look at the units."
        return ""


def judge(text: str, sought: Sought, mistakes: Sequence[Mistake] = (), hint: str = "") -> Verdict:
    """What to say to an answer that was typed; an empty one has no verdict.

    A wrong one is told its wrong turn, if it is a usual one, or gets the hint: never the answer.
    """
    if not text.strip():
        return Verdict("Write your answer first.")
    try:
        value = read(text, sought.word)
    except QuantityError as error:
        return Verdict(_unreadable(text, sought.word) or f"Your answer {error}.", False)
    if sought.met_by(value):
        return Verdict(f"Right: {text.strip()}.", True)
    turns = sought.wrong_turns(value, mistakes)
    if turns:
        return Verdict(f"Not yet: {' Or: '.join(turn.say for turn in turns)}", False)
    slip = sought.slip(text)
    if slip:
        return Verdict(f"Not yet: {slip}", False)
    side = "too high" if value > sought.value else "too low"
    told = f" Hint: {hint}" if hint else ""
    return Verdict(f"Not yet: {text.strip()} is {side}.{told}", False)


def _asked(meant: Word) -> str:
    """What an answer needs; a depth is kept as a diameter is, and asked for as a length."""
    if meant.dimension == LENGTH:
        return f"a length such as {example(meant.kind)}"
    return needs(meant)


def _unreadable(text: str, name: str) -> str:
    """What to say where the number is fine and the unit is missing or of another kind."""
    meant, wrote = word_of(name), text.strip()
    absolute = re.search(r"\b(psia|bara|kPaa)$", wrote, re.IGNORECASE)
    if absolute and meant.dimension == PRESSURE:
        return (
            f"Not yet: {absolute[1]} has the air outside in it; write what a gauge shows, in "
            f"{absolute[1][:-1]}."
        )
    try:
        number, mark = split(text)
        unit = unit_of(mark) if mark else None
    except QuantityError:
        return ""
    if unit is None:
        if meant.dimension != NONE:
            return f'Not yet: in "{wrote}" the unit is missing; it needs {_asked(meant)}.'
        if meant.high == 1 and 1 < number <= 100:
            return f'Not yet: a share of {number:g} is more than all; write "{number:g} %".'
        return ""
    if unit.dimension != meant.dimension:
        return f'Not yet: in "{wrote}", {unit.name} is no unit for this; it needs {_asked(meant)}.'
    if meant.dimension == TEMPERATURE and unit.rise != meant.is_rise:
        kind = "a difference of temperatures" if meant.is_rise else "a temperature"
        return f"Not yet: the answer is {kind}; it needs {needs(meant)}."
    return ""
