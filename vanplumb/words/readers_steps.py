"""Worked steps in the reader's own units, with short figures, as a person writes them.

An equation whose terms agree in dimension is the same in any units, once the conversions that
its mixed units ask for stand in it: ``40 in · 18 in · 14 in / 231 = 43.6 gal``.  Degrees that
count from somewhere else are no hindrance where only differences of temperatures count, which is
tried out: all temperatures are raised by as much, and a temperature must rise by that, any other
value not at all.  Where only their ratios count, as in the gas law, which is tried out by making
them all warmer in proportion, they are told from absolute zero, in degrees Rankine or kelvins.
What has constants with hidden units, or mixes units that nobody converts, is left in SI.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Protocol

from .conversions import NoWay, powers
from .glossary import CONSTANTS, GRAVITY, word
from .maths import CALCULATOR, Figure, figure, sum_of
from .show import HALVES_UP, clock, pretty, show, shown_in, sixteenths
from .show import value as in_readers_unit
from .unit_table import NONE
from .unit_text import unit_of
from .units_of_steps import SHORTEST, Book, Held, Part, Sum, Units

MOST_MORE = 6
"""Figures beyond the shortest with which a step is tried; what needs more is left in SI."""
RAISED = 7.0
"""Kelvins by which temperatures are raised to see whether only their differences count."""
WARMER = 1.03
"""How many times as warm temperatures are made to see whether only their ratios count."""
FROM_ZERO = {
    "US": (1.8, "°R", "°R = °F + 459.67"),
    "SI": (1.0, "K", "K = °C + 273.15"),
}
"""Degrees that count from absolute zero: so many to the kelvin, and how they are had."""
CONSTANT_WORDS = {
    "m/s^2": "acceleration", "Pa": "pressure", "K": "temperature", "m": "diameter",
    "m^3/s": "flow", "kg/m^3": "density", "": "number",
}  # fmt: skip
"""The words that tell a constant's unit."""
MOST_TERMS, KEPT_TERMS = 10, 7
"""Terms of a sum that are all written; of more so many, and the smaller stand together."""


@dataclass(frozen=True)
class ReadersLine:
    """One step: its figures by the names in ``tree``, and its answer with what it is told as."""

    name: str
    letters: ast.expr
    tree: ast.expr
    figures: Mapping[str, Figure]
    answer: Figure
    told: str = ""


@dataclass(frozen=True)
class ReadersSteps:
    """All steps of a sum in the reader's units.

    ``conversions`` are those that its figures hold; ``told`` has what parts of a sum are for.
    """

    lines: tuple[ReadersLine, ...]
    conversions: tuple[str, ...]
    told: Mapping[str, str] = field(default_factory=dict)


# ---- figures ---------------------------------------------------------------------------


def _trimmed(text: str) -> str:
    """A told figure as plain decimals without idle zeros; nothing if it is none, or is naught."""
    plain = text.replace("−", "-")
    if not plain.replace(".", "").lstrip("-").isdigit() or not float(plain):
        return ""
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def _held(value: float, name: str, system: str) -> Held:
    """A value in SI as the reader's, for an equation: a share is a plain number there."""
    meant = word(name)
    unit, rounding = shown_in(name, system)
    if unit == "s":
        text, told = clock(value)
        return Held(value / unit_of(told).factor, told, _trimmed(text))
    if meant.kind == "residual":
        return Held(value, "", figure(value, name)[0])
    if unit in ("%", "°", ""):
        return Held(value, "" if meant.dimension == NONE else meant.unit)
    found = in_readers_unit(value, name, system)
    return Held(found, unit, _trimmed(rounding(found * HALVES_UP)))


def _from_zero(kelvins: float, system: str) -> Held:
    factor, unit, _ = FROM_ZERO[system]
    return Held(kelvins * factor, unit, f"{kelvins * factor:.0f}")


def _constant(name: str, system: str, *, from_zero: bool) -> Held:
    _, unit, value = CONSTANTS[name]
    if unit == "K" and from_zero:
        return _from_zero(value, system)
    if unit not in CONSTANT_WORDS:
        return Held(value, unit, "")
    held = _held(value, CONSTANT_WORDS[unit], system)
    digits, power = figure(held.value, "", -1)
    return held._replace(usual="" if power else digits)


# ---- steps -----------------------------------------------------------------------------


class Worked(Protocol):
    """What is needed of the steps of a sum."""

    @property
    def name(self) -> str: ...
    @property
    def inputs(self) -> Mapping[str, float]: ...
    @property
    def told(self) -> Mapping[str, str]: ...
    @property
    def steps(self) -> Sequence[Any]: ...


def readers_steps(work: Worked, system: str, told: str = "") -> ReadersSteps | None:
    """The steps in the units of a system, US or SI; None where they only work in SI.

    ``told`` is the word that the answer is told by, if not by the formula's own.
    """
    values = {**work.inputs, **{step.name: step.value for step in work.steps[:-1]}}
    told_all = (*values.values(), work.steps[-1].value)
    if not all(map(math.isfinite, told_all)):
        return None
    from_zero = not _counts_differences_only(work)
    if from_zero and not _counts_ratios_only(work):
        return None
    labels = dict(work.told)
    lines: list[ReadersLine] = []
    conversions: dict[str, None] = {}
    for place, step in enumerate(work.steps):
        expression, here = step.expression, values
        if work.name == "total" and len(values) > MOST_TERMS:
            expression, here, labels = _shortened(step.name, values, labels)
        answer = told if told and place == len(work.steps) - 1 else step.name
        try:
            line, known = _line(
                step.name, expression, here, step.value, answer, system,
                last=place == len(work.steps) - 1, from_zero=from_zero,
            )  # fmt: skip
        except NoWay:
            return None
        lines.append(line)
        conversions |= dict.fromkeys(known)
    return ReadersSteps(tuple(lines), tuple(conversions), labels)


def _line(
    name: str,
    expression: ast.expr,
    values: Mapping[str, float],
    value: float,
    answer: str,
    system: str,
    *,
    last: bool,
    from_zero: bool = False,
) -> tuple[ReadersLine, list[str]]:
    """One step and the conversions in it.  NoWay if it can't be told so that it closes by hand."""
    used = _names(expression)
    held = {n: _held(v, n, system) for n, v in values.items() if n in used}
    _one_clock(held, values)
    held |= {n: _constant(n, system, from_zero=from_zero) for n in CONSTANTS if n in used}
    warm = [n for n in held if from_zero and _counts_from_afar(n)]
    held |= {n: _from_zero(values[n], system) for n in warm if n in values}
    end = _End(value, answer, system, last=last)
    units, part = _with_units(expression, held, end, system, "GRAVITY" in used)
    book = Book(units.used)
    if part.cuttable and isinstance(part, Sum):
        part.bare = True  # the answer behind it has the unit
    tree = ast.fix_missing_locations(ast.Expression(part.tree(book)))
    code = compile(tree, f"<{name}>", "eval")
    wanted = end.figure(end.value)
    for more in range(MOST_MORE + 1):
        figures = book.figures(more)
        if end.figure(_calculated(code, figures)) == wanted:
            told = show(value, answer, system) if last and end.unit else ""
            same = told == f"{wanted.digits.replace('-', '−')} {wanted.unit}"
            known = [c.told(5 + more) for c in dict.fromkeys(units.used)]
            known += [FROM_ZERO[system][2]] if warm else []
            line = ReadersLine(name, expression, tree.body, figures, wanted, "" if same else told)
            return line, known
    raise NoWay("its printed figures don't give its answer")


def _calculated(code: Any, figures: Mapping[str, Figure]) -> float:
    """What a pocket calculator shows for the printed figures."""
    try:
        keyed = {n: float(f"{f.digits}e{f.power}") if f.digits else 1.0 for n, f in figures.items()}
        return float(eval(code, CALCULATOR, keyed))
    except (ArithmeticError, TypeError, ValueError):  # a root of what is below nothing
        return math.nan


class _End:
    """The answer of a step as it is told: its value in the reader's unit, and its rounding.

    A step on the way keeps a figure more, for the steps that build on it.
    """

    def __init__(self, value: float, name: str, system: str, *, last: bool) -> None:
        self.name, self.system = name, system
        held = _held(value, name, system)
        unit, self.rounding = shown_in(name, system)
        self.last, self.percent = last, last and unit == "%"
        self.value, self.unit = held.value, held.unit
        self.seconds = unit_of(held.unit).factor if unit == "s" else 0.0
        self.places = len(held.usual.partition(".")[2])

    def figure(self, value: float) -> Figure:
        """A value as it is printed behind the equation.  It keeps the zeros that it has earned."""
        unit = "%" if self.percent else pretty(self.unit)
        value = value * 100 if self.percent else value
        if word(self.name).kind == "residual":
            return Figure(*figure(value, self.name), unit)
        if math.isnan(value):
            return Figure("nan")
        if not self.last:
            return Figure(*figure(value, "", SHORTEST - 4), unit)
        if self.rounding is sixteenths:
            return Figure(f"{value:.2f}", 0, unit)
        if self.seconds:
            return Figure(f"{value:.{self.places}f}", 0, unit)
        text = self.rounding(value * HALVES_UP).replace("−", "-")
        plain = text.replace(".", "").lstrip("-").isdigit()
        if not plain or (value and not float(text)):
            return Figure(*figure(value, "", SHORTEST - 5), unit)
        return Figure(text, 0, unit)


def _with_units(
    expression: ast.expr, held: Mapping[str, Held], end: _End, system: str, falls: bool
) -> tuple[Units, Part]:
    """The expression in the answer's unit, by the fewest conversions.

    In US units a pound of mass weighs a pound of force, or falls by so many feet a second.
    """
    gravities = [Held(GRAVITY, "m/s^2", "9.807")]
    if system == "US":
        gravities = [Held(1.0, "lbf/lb", "1"), Held(GRAVITY / 0.3048, "ft/s^2", "32.17")]
    found: list[tuple[Units, Part]] = []
    why = NoWay("nothing was tried")
    for gravity in gravities if falls else gravities[:1]:
        units = Units(held, system, gravity)
        try:
            part = units.converted(units.go(expression), powers(end.unit))
        except NoWay as error:
            why = error
            continue
        found.append((units, part))
    if not found:
        raise why
    return min(found, key=lambda pair: len(pair[0].used))


def _one_clock(held: dict[str, Held], values: Mapping[str, float]) -> None:
    """Times of one line in one unit, that of the longest, if none is tiny in it."""
    times_ = {n: h for n, h in held.items() if word(n).unit == "s" and h.value}
    if len({h.unit for h in times_.values()}) < 2:
        return
    longest = max(times_, key=lambda n: abs(values[n]))
    factor = unit_of(times_[longest].unit).factor
    if min(abs(values[n]) for n in times_) * 100 < abs(values[longest]):
        return
    for name in times_:
        if held[name].unit != held[longest].unit:
            held[name] = Held(values[name] / factor, held[longest].unit)


def _shortened(
    result: str, values: Mapping[str, float], told: Mapping[str, str]
) -> tuple[ast.expr, dict[str, float], dict[str, str]]:
    """A long sum by its largest parts, and all the others in one."""
    large = sorted(values, key=lambda name: -abs(values[name]))[:KEPT_TERMS]
    kept = {name: value for name, value in values.items() if name in large}
    others = f"{result}_others"
    count_ = len(values) - len(kept)
    here = {**kept, others: math.fsum(v for n, v in values.items() if n not in kept)}
    labels = {name: told.get(name, "") for name in kept} | {others: f"{count_} others"}
    return sum_of(tuple(here)), here, labels


def _counts_differences_only(work: Worked) -> bool:
    """Whether temperatures raised by as much raise temperatures by that, and change nothing else.

    The other values are moved a little, so that no chance of these ones decides.
    """
    if not any(_counts_from_afar(name) for name in _used(work)):
        return True
    moved = _moved(work)
    before, after = _run(work, moved, 0.0), _run(work, moved, RAISED)
    raised = {n: RAISED if _counts_from_afar(n) else 0.0 for n in after}
    return 0 < len(before) == len(after) and all(
        abs(after[n] - before[n] - raised[n]) <= 1e-6 * max(abs(before[n]), 1e-12) for n in after
    )


def _counts_ratios_only(work: Worked) -> bool:
    """Whether temperatures made as many times as warm change nothing, and no step gives one.

    A difference of temperatures would have to grow with them: where there is one it is left.
    """
    given = {step.name for step in work.steps}
    if any(word(n).kind in ("temperature", "rise") for n in given):
        return False
    if any(word(n).is_rise for n in work.inputs):
        return False
    moved = _moved(work)
    before, after = _run(work, moved, 0.0), _run(work, moved, 0.0, WARMER)
    return 0 < len(before) == len(after) and all(
        abs(after[n] - before[n]) <= 1e-9 * max(abs(before[n]), 1e-12) for n in after
    )


def _used(work: Worked) -> set[str]:
    """Everything with a value that the steps name."""
    known = {*work.inputs, *(step.name for step in work.steps), *CONSTANTS}
    return known & {name for step in work.steps for name in _names(step.expression)}


def _moved(work: Worked) -> dict[str, float]:
    """The inputs a little beside themselves, each by another step."""
    return {
        n: v + 0.2 * k if _counts_from_afar(n) else v * (1 + 0.01 * (k % 3))
        for k, (n, v) in enumerate(work.inputs.items())
    }


@lru_cache(maxsize=1024)
def _names(expression: ast.expr) -> frozenset[str]:
    return frozenset(node.id for node in ast.walk(expression) if isinstance(node, ast.Name))


def _counts_from_afar(name: str) -> bool:
    """Whether it is a temperature, not a difference of two."""
    if name in CONSTANTS:
        return CONSTANTS[name][1] == "K"
    return word(name).kind == "temperature"


def _run(
    work: Worked, moved: Mapping[str, float], raised: float, times: float = 1.0
) -> dict[str, float]:
    """What each step gives with all temperatures raised, or so many ``times`` as warm.

    Nothing if one can't be worked.
    """
    scope = dict(CALCULATOR)
    for name, (_, unit, value) in CONSTANTS.items():
        scope[name] = value * times + raised if unit == "K" else value
    here = {n: v * times + raised if _counts_from_afar(n) else v for n, v in moved.items()}
    found: dict[str, float] = {}
    for step in work.steps:
        code = compile(ast.Expression(step.expression), f"<{step.name}>", "eval")
        try:
            found[step.name] = here[step.name] = float(eval(code, scope, here))
        except (ArithmeticError, TypeError, ValueError):  # a root of what is below nothing
            return {}
    return found
