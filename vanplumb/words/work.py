"""Worked steps: a formula's own lines in letters, in figures, and the answer.

The lines come from the function's syntax tree and each value from running that same line,
so what is printed can't drift from what was computed.
"""

from __future__ import annotations

import ast
import inspect
import math
import re
import textwrap
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import count
from types import CodeType
from typing import Any, Protocol

from .glossary import CONSTANTS, Word, word
from .hands import Hand
from .maths import CALCULATOR, HANDS, Figure, figure, letters, sum_of, write
from .readers_steps import ReadersLine, ReadersSteps, readers_steps
from .show import pretty, show, shown_in
from .show import unit as unit_shown
from .sources import ADDED, Source
from .unit_text import unit_of


class Writable(Hashable, Protocol):
    """What worked steps need of a formula."""

    name: str
    si: Callable[..., Any]
    result: Word
    source: Source
    parameters: tuple[str, ...]


class Workable(Writable, Protocol):
    """A formula that checks the values of its steps."""

    def work(self, **values: Any) -> Work: ...


@dataclass(frozen=True)
class Step:
    """One line of a formula: what it gives, the expression, the value in SI."""

    name: str
    expression: ast.expr = field(repr=False, compare=False)
    value: float

    def sides(
        self, hand: str, values: Mapping[str, float], more: int, told: Mapping[str, str]
    ) -> list[str]:
        """Letter, expression in letters, expression in figures, value with its unit.

        The figures that go in have ``more`` digits than usual; ``told`` has the subscripts that
        are words of their own.
        """
        pen = HANDS[hand]
        figures = {
            name: Figure(*figure(value, name, more))
            for name, value in (*values.items(), *((n, v) for n, (_, _, v) in CONSTANTS.items()))
        }
        answer = Figure(*figure(self.value, self.name), pretty(word(self.name).unit))
        return _sides(pen, self.name, self.expression, self.expression, figures, answer, told)

    def more(self, values: Mapping[str, float]) -> int:
        """Figures beyond the usual five with which the printed ones give the printed answer.

        Where a small difference of large numbers is taken five are too few: a reader with a
        calculator would get another answer than the one beside it.
        """
        code = compile(ast.Expression(self.expression), f"<{self.name}>", "eval")
        wanted = figure(self.value, self.name)
        for more in range(MOST_MORE):
            printed = {name: _as_printed(value, name, more) for name, value in values.items()}
            try:
                found = float(eval(code, _CALCULATOR, printed))
            except (ArithmeticError, ValueError):
                continue
            if figure(found, self.name) == wanted:
                return more
        return MOST_MORE


def _sides(
    pen: Hand,
    name: str,
    expression: ast.expr,
    tree: ast.expr,
    figures: Mapping[str, Figure],
    answer: Figure,
    told: Mapping[str, str],
) -> list[str]:
    """Letter, expression in letters, expression in figures, answer with its unit."""
    symbols = write(expression, pen, told=told)
    numbers = write(tree, pen, figures)
    number = pen.number(answer.digits, answer.power)
    sides = [letters(name, pen), symbols]
    if numbers not in (symbols, number):
        sides.append(numbers)
    return [*sides, pen.quantity(number, answer.unit)]


def _readers_sides(pen: Hand, line: ReadersLine, told: Mapping[str, str]) -> list[str]:
    """The same of a step in the reader's units, and how its answer is told if otherwise."""
    sides = _sides(pen, line.name, line.letters, line.tree, line.figures, line.answer, told)
    return [*sides, pen.text(line.told)] if line.told else sides


LONGEST_LABEL = 60
"""Letters of what a part of a sum is for, under its letter."""
LONGEST_LINE = 160
"""Letters of an equation where steps are told in a line; of a longer one only its ends."""
MOST_MORE = 9
"""Figures beyond the usual ones, more than which a float does not hold."""


def _as_printed(value: float, name: str, more: int = 0) -> float:
    digits, power = figure(value, name, more)
    if not math.isfinite(value):
        return value
    return float(f"{digits}e{power}")


_CALCULATOR: dict[str, Any] = {
    **CALCULATOR,
    **{name: _as_printed(value, name) for name, (_, _, value) in CONSTANTS.items()},
}


@dataclass(frozen=True)
class Work:
    """The worked steps of one formula for one set of values.

    ``value`` is the result in SI, ``inputs`` the values that went in, in SI.  For a solved
    equation ``unknown`` names what was found, ``value`` is it, and the last step's value is
    the residual.  ``told`` has what some inputs are for, word for word.
    """

    name: str
    title: str
    inputs: Mapping[str, float]
    steps: tuple[Step, ...]
    result: Word
    value: float
    source: Source
    unknown: str = ""
    told: Mapping[str, str] = field(default_factory=dict)

    def __repr__(self) -> str:
        line = self.lines("text")[-1]
        if len(line) > LONGEST_LINE:
            sides = line.split(" = ")
            line = f"{sides[0]} = … = {sides[-1]}"
        return f"<work {self.name}: {line}>"

    def about(self, what: str) -> Work:
        """The same steps, their title opened with what they are about, where many are alike."""
        return replace(self, title=f"{_one_line(what)}: {self.title[:1].lower()}{self.title[1:]}")

    def _values(self) -> dict[str, float]:
        return {**self.inputs, **{s.name: s.value for s in self.steps[:-1]}}

    @cached_property
    def _more(self) -> list[int]:
        """What each step needs beyond the usual digits, found once for every hand."""
        values = self._values()
        return [step.more(values) for step in self.steps]

    def lines(self, hand: str, system: str = "", told: str = "") -> list[str]:
        """One equation a step in one hand: in the reader's units where it holds in them.

        ``hand`` is latex, typst, mathml or text; ``system`` US or SI, or empty for base SI units
        only.  ``told`` is the word that the answer is told by, if not by the formula's own.
        Where the steps are in base SI units the answer is told in the reader's, too.
        """
        pen = HANDS[hand]
        readers = self.readers(system, told)
        if readers is not None:
            rows = [_readers_sides(pen, line, readers.told) for line in readers.lines]
            return [pen.equation(sides) for sides in rows]
        values = self._values()
        rows = [
            step.sides(hand, values, more, self.told)
            for step, more in zip(self.steps, self._more, strict=True)
        ]
        if not self.unknown and system:
            shown = show(self.value, told or self.result.name, system)
            si = " ".join((_plain_figure(self.value, self.result.name), pretty(self.result.unit)))
            if unit_shown(told or self.result.name, system) and shown != si:
                rows[-1].append(pen.text(shown))
        return [pen.equation(sides) for sides in rows]

    @cached_property
    def _found(self) -> dict[tuple[str, str], ReadersSteps | None]:
        return {}

    def readers(self, system: str, told: str = "") -> ReadersSteps | None:
        """The steps in the reader's units; None where they work only in base SI units."""
        key = system, "" if self.unknown else told
        if not system:
            return None
        if key not in self._found:
            self._found[key] = readers_steps(self, *key)
        return self._found[key]

    def in_si(self, hand: str, system: str, told: str = "") -> list[str]:
        """The steps in base SI units, where ``lines`` has them in others; else none."""
        if self.readers(system, told) is None or not self._has_other_units(system, told):
            return []
        return self.lines(hand)

    def only_si(self, system: str, told: str = "") -> bool:
        """Whether the steps stand in base SI units though the reader has others."""
        return (
            bool(system)
            and self.readers(system, told) is None
            and self._has_other_units(system, told)
        )

    def _has_other_units(self, system: str, told: str) -> bool:
        names = {*self.inputs, *(step.name for step in self.steps), *filter(None, (told,))}
        units = {shown_in(name, system)[0] for name in names} - {"", "s", "°"}
        return any((unit_of(unit).factor, unit_of(unit).offset) != (1, 0) for unit in units)

    def conversions(self, system: str, told: str = "") -> tuple[str, ...]:
        """What the figures of ``lines`` turn one unit into another by: "1 gal = 231 in³"."""
        found = self.readers(system, told)
        return found.conversions if found else ()

    def latex(self, system: str = "", told: str = "") -> list[str]:
        return self.lines("latex", system, told)

    def typst(self, system: str = "", told: str = "") -> list[str]:
        return self.lines("typst", system, told)

    def mathml(self, system: str = "", told: str = "") -> list[str]:
        return self.lines("mathml", system, told)

    def text(self, system: str = "", told: str = "") -> str:
        """The steps as plain text, a line each, conversions behind them, the source last."""
        known = "; ".join(self.conversions(system, told))
        lines = [*self.lines("text", system, told), *([f"({known})"] if known else [])]
        return "\n".join([*lines, f"[{self.source}]"])

    def symbols(self, hand: str) -> list[tuple[str, str, float, str]]:
        """Each input: its letter in one hand, its meaning, its SI value, its name."""
        return [
            (letters(name, HANDS[hand], self.told), self._label(name), value, name)
            for name, value in self.inputs.items()
        ]

    def _label(self, name: str) -> str:
        told = self.told.get(name)
        return f"{self.result.meaning}, {told}" if told else word(name).label

    def _repr_markdown_(self) -> str:
        rows = r" \\ ".join(
            line.replace(" = ", " &= ", 1).replace(" = ", r" \\ &= ") for line in self.latex()
        )
        return f"$$\\begin{{aligned}} {rows} \\end{{aligned}}$$\n\n*{self.source}*"


def work(formula: Writable, values: Mapping[str, float]) -> Work:
    """Run a formula line by line.  ``values`` are SI floats for each parameter."""
    steps: list[Step] = []
    here: dict[str, Any] = dict(values)
    for name, expression, code in lines_of(formula):
        target = name or formula.result.name
        value = float(eval(code, formula.si.__globals__, here))
        here[target] = value
        steps.append(Step(target, expression, value))
    return Work(
        name=formula.name,
        title=title_of(formula),
        inputs=dict(values),
        steps=tuple(steps),
        result=formula.result,
        value=steps[-1].value,
        source=formula.source,
    )


class Steps(list[Work]):
    """Runs formulas on floats or arrays, and keeps the worked steps where they are asked for.

    So one function gives a figure with its steps, and that figure of ten thousand variants.
    """

    def __init__(self, kept: bool = True) -> None:
        super().__init__()
        self.kept = kept

    def of(self, formula: Workable, **values: Any) -> Any:
        """The result of a formula; ``values`` are SI, floats where steps are kept.

        FormulaError, as from ``formula.work``, for a float out of its range.
        """
        if not self.kept:
            return formula.si(**values)
        self.append(formula.work(**{name: float(value) for name, value in values.items()}))
        return self[-1].value


def solved(residual: Writable, unknown: str, **values: float) -> Work:
    """Worked steps of an equation that was solved: its residual at the answer.

    ``values`` are SI floats for every parameter of ``residual``, the unknown among them.
    """
    if unknown not in residual.parameters:
        raise ValueError(f"{residual.name} has no {unknown}")
    ran = work(residual, {name: float(values[name]) for name in residual.parameters})
    return Work(
        name=ran.name,
        title=ran.title,
        inputs=ran.inputs,
        steps=ran.steps,
        result=word(unknown),
        value=float(values[unknown]),
        source=ran.source,
        unknown=unknown,
    )


def total(result: str, parts: Iterable[tuple[str, float]], source: Source = ADDED) -> Work:
    """The worked step of a sum: ``total("volume", [("washing hands", 0.006), ...])``.

    Each part is an SI value with what it is for, which becomes the subscript of its letter.
    ValueError without parts.
    """
    values: dict[str, float] = {}
    told: dict[str, str] = {}
    for label, value in parts:
        subscript = re.sub("[^0-9A-Za-z]+", "_", label).strip("_") or "part"
        stem = f"{result}_{subscript}"
        if word(stem).kind != word(result).kind:  # "flow sensor" would make a mass a mass flow
            stem = f"{result}_of_{subscript}"
        name = next(n for n in _numbered(stem) if n not in values)
        values[name] = float(value)
        again = name.removeprefix(stem).replace("_", " ")
        told[name] = f"{_one_line(label)}{again}".strip()
    if not values:
        raise ValueError("a sum needs parts")
    step = Step(result, sum_of(tuple(values)), sum(values.values()))
    return Work(
        "total", "All of it together", values, (step,), word(result), step.value, source, told=told
    )


def _one_line(label: str) -> str:
    """A label without breaks and letters that can't be seen, cut where it is very long."""
    line = " ".join("".join(c if c.isprintable() else " " for c in label).split())
    return line if len(line) <= LONGEST_LABEL else f"{line[:LONGEST_LABEL].rstrip()}…"


def _numbered(stem: str) -> Iterator[str]:
    """A name, then the same with 2, 3 and so on behind it."""
    yield stem
    yield from (f"{stem}_{number}" for number in count(2))


def title_of(formula: Writable) -> str:
    """The first sentence of a formula's docstring, without its full stop."""
    first = (inspect.getdoc(formula.si) or formula.name).split("\n\n")[0]
    return " ".join(first.split()).rstrip(".")


@lru_cache(maxsize=512)
def lines_of(formula: Writable) -> tuple[tuple[str, ast.expr, CodeType], ...]:
    """The lines of a formula: name (empty for the return), expression, its code.

    ValueError if the body is anything but ``name = expression`` lines and one return.
    """
    tree = ast.parse(textwrap.dedent(inspect.getsource(formula.si)))
    function = tree.body[0]
    assert isinstance(function, ast.FunctionDef)
    found: list[tuple[str, ast.expr, CodeType]] = []
    for number, line in enumerate(function.body):
        if number == 0 and isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant):
            continue
        if isinstance(line, ast.Return) and line.value is not None:
            name, expression = "", line.value
        elif (
            isinstance(line, ast.Assign)
            and len(line.targets) == 1
            and isinstance(line.targets[0], ast.Name)
        ):
            name, expression = line.targets[0].id, line.value
        else:
            raise ValueError(f"{formula.name}: a formula can't hold {ast.unparse(line)!r}")
        code = compile(ast.Expression(expression), f"<{formula.name}>", "eval")
        found.append((name, expression, code))
    if not found or found[-1][0]:
        raise ValueError(f"{formula.name}: the last line must be a return")
    return tuple(found)


def equations(formula: Writable, hand: str) -> tuple[str, ...]:
    """A formula's lines in letters alone, in one hand: latex, typst, mathml or text."""
    pen = HANDS[hand]
    return tuple(
        pen.equation([letters(name or formula.result.name, pen), write(expression, pen)])
        for name, expression, _ in lines_of(formula)
    )


def _plain_figure(value: float, name: str) -> str:
    digits, power = figure(value, name)
    return digits if not power and math.isfinite(value) else f"{digits}e{power}"
