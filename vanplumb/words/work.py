"""Worked steps: a formula's own lines in letters, in figures, and the answer.

The lines come from the function's syntax tree and each value from running that same line,
so what is printed can't drift from what was computed.
"""

from __future__ import annotations

import ast
import inspect
import math
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import CodeType
from typing import TYPE_CHECKING, Any

from .glossary import Word, word
from .maths import HANDS, figure, letters, write
from .show import pretty, show
from .sources import Source

if TYPE_CHECKING:
    from .formula import Formula


@dataclass(frozen=True)
class Step:
    """One line of a formula: what it gives, the expression, the value in SI."""

    name: str
    expression: ast.expr = field(repr=False, compare=False)
    value: float

    def sides(self, hand: str, values: Mapping[str, float]) -> list[str]:
        """Letter, expression in letters, expression in figures, value with its unit."""
        pen = HANDS[hand]
        symbols = write(self.expression, pen)
        numbers = write(self.expression, pen, values)
        answer = pen.number(*figure(self.value, self.name))
        unit = pretty(word(self.name).unit)
        shown = answer
        if unit:
            gap = {"latex": r"\;", "typst": " thin ", "text": " "}.get(hand, "")
            shown = f"{answer}{gap}{pen.text(unit)}"
        sides = [letters(self.name, pen), symbols]
        if numbers not in (symbols, answer):
            sides.append(numbers)
        sides.append(shown)
        return sides


@dataclass(frozen=True)
class Work:
    """The worked steps of one formula for one set of values.

    ``value`` is the result in SI, ``inputs`` the values that went in, in SI.  For a solved
    equation ``unknown`` names what was found, ``value`` is it, and the last step's value is
    the residual.
    """

    name: str
    title: str
    inputs: Mapping[str, float]
    steps: tuple[Step, ...]
    result: Word
    value: float
    source: Source
    unknown: str = ""

    def __repr__(self) -> str:
        return f"<work {self.name}: {self.text().splitlines()[-2]}>"

    def _values(self) -> dict[str, float]:
        return {**self.inputs, **{s.name: s.value for s in self.steps[:-1]}}

    def lines(self, hand: str, system: str = "") -> list[str]:
        """One equation a step in one hand; the last also in the reader's unit.

        ``hand`` is latex, typst, mathml or text; ``system`` US or SI, or empty for SI only.
        """
        pen = HANDS[hand]
        values = self._values()
        rows = [step.sides(hand, values) for step in self.steps]
        if not self.unknown and system:
            shown = show(self.value, self.result.name, system)
            si = " ".join((_plain_figure(self.value, self.result.name), pretty(self.result.unit)))
            if self.result.unit and shown != si:
                rows[-1].append(pen.text(shown))
        return [pen.equation(sides) for sides in rows]

    def latex(self, system: str = "") -> list[str]:
        return self.lines("latex", system)

    def typst(self, system: str = "") -> list[str]:
        return self.lines("typst", system)

    def mathml(self, system: str = "") -> list[str]:
        return self.lines("mathml", system)

    def text(self, system: str = "") -> str:
        """The steps as plain text, a line each, the source last."""
        return "\n".join([*self.lines("text", system), f"[{self.source}]"])

    def symbols(self, hand: str) -> list[tuple[str, str, float, str]]:
        """Each input: its letter in one hand, its meaning, its SI value, its name."""
        return [
            (letters(name, HANDS[hand]), word(name).label, value, name)
            for name, value in self.inputs.items()
        ]

    def _repr_markdown_(self) -> str:
        rows = r" \\ ".join(
            line.replace(" = ", " &= ", 1).replace(" = ", r" \\ &= ") for line in self.latex()
        )
        return f"$$\\begin{{aligned}} {rows} \\end{{aligned}}$$\n\n*{self.source}*"


def work(formula: Formula, values: Mapping[str, float]) -> Work:
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


def solved(residual: Formula, unknown: str, **values: float) -> Work:
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


def title_of(formula: Formula) -> str:
    """The first sentence of a formula's docstring, without its full stop."""
    first = (inspect.getdoc(formula.si) or formula.name).split("\n\n")[0]
    return " ".join(first.split()).rstrip(".")


@lru_cache(maxsize=512)
def lines_of(formula: Formula) -> tuple[tuple[str, ast.expr, CodeType], ...]:
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


def _plain_figure(value: float, name: str) -> str:
    digits, power = figure(value, name)
    return digits if not power and math.isfinite(value) else f"{digits}e{power}"
