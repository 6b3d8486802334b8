"""Mathematics from Python's own syntax tree, in the order the author wrote it.

One walk, four hands: LaTeX for notebooks, typst for the PDF, MathML for HTML, plain text
for the terminal.  With values, the same walk writes figures in place of letters.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Mapping
from functools import lru_cache, reduce
from typing import Any, NamedTuple

from .glossary import CONSTANTS, word
from .hands import HANDS, Hand

NOTHING: Mapping[str, str] = {}
PRODUCT, SUM, UNARY, POWER, ATOM = 3, 2, 4, 5, 6
FUNCTIONS = {
    "exp": "exp",
    "log": "ln",
    "log10": "log10",
    "sin": "sin",
    "cos": "cos",
    "tan": "tan",
    "arccos": "arccos",
    "arcsin": "arcsin",
    "arctan": "arctan",
    "tanh": "tanh",
    "minimum": "min",
    "maximum": "max",
    "hypot": "hypot",
}
_KEYS: dict[str, Any] = {"minimum": min, "maximum": max}
CALCULATOR: dict[str, Any] = {
    **{name: _KEYS.get(name) or getattr(math, name.replace("arc", "a")) for name in FUNCTIONS},
    "sqrt": math.sqrt,
    "abs": abs,
    "pi": math.pi,
}
"""What the words of a formula mean to someone with a pocket calculator."""


def figure(value: float, name: str = "", more: int = 0) -> tuple[str, int]:
    """A value as (digits, power of ten): five significant figures, kelvins to 0.01.

    What an equation leaves over is told to five decimals.  ``more`` asks for so many figures
    more, for a sum that needs them.
    """
    if name and name in CONSTANTS:
        digits = 7
    elif name and math.isfinite(value) and word(name).kind in ("temperature", "residual"):
        text = f"{value:.{(2 if word(name).kind == 'temperature' else 5) + more}f}"
        return (text if float(text) else text.lstrip("-")), 0
    else:
        digits = 5 + more
    if value == 0 or not math.isfinite(value):
        return ("0" if value == 0 else str(value)), 0
    size = math.floor(math.log10(abs(value)))
    if -3 <= size < 7:
        text = f"{value:.{max(0, digits - 1 - size)}f}"
        return (text.rstrip("0").rstrip(".") if "." in text else text), 0
    mantissa, exponent = f"{value:.{digits - 1}e}".split("e")
    return mantissa.rstrip("0").rstrip("."), int(exponent)


class Figure(NamedTuple):
    """What is written for a name: digits, power of ten, unit.

    Without digits it is the unit alone, which stands behind what it is multiplied with.
    """

    digits: str
    power: int = 0
    unit: str = ""


def write(
    node: ast.expr,
    hand: Hand,
    figures: Mapping[str, Figure] | None = None,
    told: Mapping[str, str] = NOTHING,
) -> str:
    """The expression in one hand: letters, or figures where they are given.

    ``told`` has the subscripts of some names in words of their own.
    """
    return _Walk(hand, figures, told).go(node)[0]


@lru_cache(maxsize=512)
def sum_of(names: tuple[str, ...]) -> ast.expr:
    """The expression that adds some names."""
    parts: list[ast.expr] = [ast.Name(name, ast.Load()) for name in names]
    whole = reduce(lambda left, right: ast.BinOp(left, ast.Add(), right), parts)
    return ast.fix_missing_locations(whole)


def letters(name: str, hand: Hand, told: Mapping[str, str] = NOTHING) -> str:
    """The letter of a name, with its subscript, in words of its own if ``told`` has them."""
    if name in CONSTANTS:
        return hand.symbol(*_parts(CONSTANTS[name][0], ""))
    meant = word(name)
    return hand.symbol(*_parts(meant.symbol, told.get(name) or meant.subscript.replace("_", " ")))


def _parts(symbol: str, subscript: str) -> tuple[str, str]:
    base, _, own = symbol.partition("_")
    return base, ", ".join(x for x in (own, subscript) if x)


class _Walk:
    def __init__(
        self,
        hand: Hand,
        figures: Mapping[str, Figure] | None,
        told: Mapping[str, str] = NOTHING,
    ) -> None:
        self.hand, self.figures, self.told = hand, figures, told

    def go(self, node: ast.expr) -> tuple[str, int]:
        """Text and how tightly it binds."""
        method = getattr(self, f"_{type(node).__name__.lower()}", None)
        if method is None:
            raise ValueError(f"a formula can't hold {ast.unparse(node)!r}")
        text, binds = method(node)
        return str(text), int(binds)

    def at_least(self, node: ast.expr, binds: int) -> str:
        text, have = self.go(node)
        return text if have >= binds else self.hand.group(text)

    def signless(self, node: ast.expr, binds: int) -> str:
        """A second operand: never a bare sign behind another sign."""
        text, have = self.go(node)
        return text if have >= binds and have != UNARY else self.hand.group(text)

    def _constant(self, node: ast.Constant) -> tuple[str, int]:
        if isinstance(node.value, bool) or not isinstance(node.value, (int, float)):
            raise ValueError(f"a formula can't hold {node.value!r}")
        return self._number(*_as_written(float(node.value)))

    def _number(self, digits: str, power: int, unit: str = "") -> tuple[str, int]:
        text = self.hand.quantity(self.hand.number(digits, power), unit)
        if digits.startswith("-"):
            return text, UNARY
        return text, PRODUCT if power or unit else ATOM

    def _name(self, node: ast.Name) -> tuple[str, int]:
        if node.id == "pi":
            return self.hand.symbol("π", ""), ATOM
        if self.figures is None:
            return letters(node.id, self.hand, self.told), ATOM
        return self._number(*self.figures[node.id])

    def _unaryop(self, node: ast.UnaryOp) -> tuple[str, int]:
        if not isinstance(node.op, ast.USub):
            raise ValueError("a formula can't hold this sign")
        least = PRODUCT if isinstance(node.operand, ast.Constant) else UNARY + 1
        return self.hand.minus(self.at_least(node.operand, least)), UNARY

    def _binop(self, node: ast.BinOp) -> tuple[str, int]:
        hand, left, right = self.hand, node.left, node.right
        if isinstance(node.op, ast.Add):
            return hand.plus(self.at_least(left, SUM), self.signless(right, SUM)), SUM
        if isinstance(node.op, ast.Sub):
            return hand.less(self.at_least(left, SUM), self.signless(right, SUM + 1)), SUM
        unit = self._unit_alone(right)
        if unit:
            return hand.quantity(self.at_least(left, PRODUCT), unit), PRODUCT
        if isinstance(node.op, ast.Mult):
            first = self.at_least(left, PRODUCT)
            second = self.signless(right, PRODUCT)
            spelled = self.figures is not None or isinstance(right, ast.Constant)
            return hand.times(first, second, spelled=spelled), PRODUCT
        if isinstance(node.op, ast.Div):
            if hand.stacked:
                return hand.over(self.go(left)[0], self.go(right)[0]), ATOM - 1
            return hand.over(self.at_least(left, PRODUCT), self.at_least(right, UNARY)), PRODUCT
        if isinstance(node.op, ast.Pow):
            if isinstance(right, ast.Constant) and right.value == 0.5:
                return hand.root(self.go(left)[0]), ATOM
            base = self.at_least(left, ATOM)
            return hand.power(base, self.go(right)[0]), POWER
        raise ValueError("a formula can't hold this operation")

    def _unit_alone(self, node: ast.expr) -> str:
        found = self.figures and isinstance(node, ast.Name) and self.figures.get(node.id)
        return found.unit if found and not found.digits else ""

    def _call(self, node: ast.Call) -> tuple[str, int]:
        if not isinstance(node.func, ast.Name) or node.keywords:
            raise ValueError(f"a formula can't call {ast.unparse(node.func)}")
        name = node.func.id
        inside = [self.go(argument)[0] for argument in node.args]
        if name == "sqrt":
            return self.hand.root(inside[0]), ATOM
        if name == "abs":
            return self.hand.bars(inside[0]), ATOM
        if name not in FUNCTIONS:
            raise ValueError(f"a formula can't call {name}")
        return self.hand.function(FUNCTIONS[name], inside), ATOM


def _as_written(value: float) -> tuple[str, int]:
    """A constant of the formula's own text, with every digit that it has."""
    if value == 0 or 1e-4 <= abs(value) < 1e7:
        text = f"{value:.12g}"
        return text, 0
    mantissa, exponent = f"{value:.10e}".split("e")
    return mantissa.rstrip("0").rstrip("."), int(exponent)


__all__ = ["CALCULATOR", "HANDS", "Figure", "figure", "letters", "sum_of", "write"]
