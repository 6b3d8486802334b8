"""Pieces of an expression with their units, and what they are written as in a reader's units.

The unit of each piece is traced through the syntax tree; what doesn't cancel is converted, and
a unit that stands over its like, or once behind a sum, is left to be understood.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from itertools import count
from typing import NamedTuple

from .conversions import Conversion, NoWay, Powers, dimension, powers, times, way
from .maths import Figure, figure
from .show import pretty

SHORTEST = 3
"""Figures of a value that its usual rounding does not tell; a conversion has two more."""


class Held(NamedTuple):
    """A value in the reader's unit, with the fewest digits worth writing, if they are known."""

    value: float
    unit: str
    usual: str = ""


class Book:
    """The values of one line by the names that they have in its tree."""

    def __init__(self, conversions: Sequence[Conversion]) -> None:
        self.held: dict[str, tuple[Held, bool]] = {}
        self.units: dict[str, str] = {}
        self.tails = {str(c): c.number for c in conversions if not c.exact}
        self._names = (f"value_{number}" for number in count())

    def leaf(self, held: Held, *, with_unit: bool) -> ast.expr:
        name = next(self._names)
        self.held[name] = (held, with_unit)
        return ast.Name(name, ast.Load())

    def in_unit(self, whole: ast.expr, unit: str) -> ast.expr:
        name = next(self._names)
        self.units[name] = unit
        return ast.BinOp(whole, ast.Mult(), ast.Name(name, ast.Load()))

    def figures(self, more: int) -> dict[str, Figure]:
        """What is printed with so many figures more than the shortest."""
        found = {
            name: Figure(*short(held, more), pretty(held.unit) if with_unit else "")
            for name, (held, with_unit) in self.held.items()
        }
        found |= {name: Figure("", 0, pretty(unit)) for name, unit in self.units.items()}
        found |= {name: Figure(*figure(value, "", more)) for name, value in self.tails.items()}
        return found


def short(held: Held, more: int = 0) -> tuple[str, int]:
    """A value with the fewest figures worth writing, and so many more, without idle zeros."""
    if not more and held.usual:
        return held.usual, 0
    digits = len(held.usual.lstrip("-0.").replace(".", "")) or SHORTEST
    return figure(held.value, "", digits + more - 5)


class Part:
    """A piece of an expression with its unit; ``bare`` leaves the unit to be understood."""

    bare = False
    unit = ""

    def __init__(self, powers_: Powers) -> None:
        self.powers = powers_

    @property
    def cuttable(self) -> bool:
        """Whether it has one unit that can be cut against another's."""
        return bool(self.unit) and not self.bare

    def tree(self, book: Book) -> ast.expr:
        raise NotImplementedError


class _Plain(Part):
    """A number of the formula's own, π, or a conversion."""

    def __init__(self, node: ast.expr) -> None:
        super().__init__({})
        self.node = node

    def tree(self, book: Book) -> ast.expr:
        return self.node


class _Leaf(Part):
    """A value."""

    def __init__(self, held: Held) -> None:
        super().__init__(powers(held.unit))
        self.held, self.unit = held, held.unit

    def tree(self, book: Book) -> ast.expr:
        return book.leaf(self.held, with_unit=not self.bare)


class Sum(Part):
    """Terms of one unit; where each is a plain value the unit stands once, behind them all."""

    def __init__(self, left: Part, op: ast.operator, right: Part) -> None:
        super().__init__(left.powers or right.powers)
        self.left, self.op, self.right = left, op, right
        kinds = [part.unit for part in (left, right)]
        if all(kinds) and len(set(kinds)) == 1 and all(_plain(p) for p in (left, right)):
            left.bare = right.bare = True
            self.unit = _difference(kinds[0]) if isinstance(op, ast.Sub) else kinds[0]

    def tree(self, book: Book) -> ast.expr:
        both = ast.BinOp(self.left.tree(book), self.op, self.right.tree(book))
        return book.in_unit(both, self.unit) if self.cuttable else both


class _Product(Part):
    def __init__(self, parts: Sequence[Part]) -> None:
        found: Powers = {}
        for part in parts:
            found = times(found, part.powers)
        super().__init__(found)
        self.parts = list(parts)

    def tree(self, book: Book) -> ast.expr:
        first, *others = (part.tree(book) for part in self.parts)
        for other in others:
            first = ast.BinOp(first, ast.Mult(), other)
        return first


class _Quotient(Part):
    def __init__(self, top: Part, bottom: Part) -> None:
        super().__init__(times(top.powers, bottom.powers, -1))
        self.top, self.bottom = top, bottom
        below = [part for part in _factors(bottom) if part.cuttable]
        for part in _factors(top):
            same = next((b for b in below if part.cuttable and b.unit == part.unit), None)
            if same is not None:
                part.bare = same.bare = True
                below.remove(same)

    def tree(self, book: Book) -> ast.expr:
        return ast.BinOp(self.top.tree(book), ast.Div(), self.bottom.tree(book))


class _Wrapped(Part):
    """A sign, a power, a root or a function of some parts."""

    def __init__(self, node: ast.expr, parts: Sequence[Part], powers_: Powers) -> None:
        super().__init__(powers_)
        self.node, self.parts = node, parts

    def tree(self, book: Book) -> ast.expr:
        inside = [part.tree(book) for part in self.parts]
        if isinstance(self.node, ast.UnaryOp):
            return ast.UnaryOp(self.node.op, inside[0])
        if isinstance(self.node, ast.BinOp):
            return ast.BinOp(inside[0], self.node.op, inside[1])
        assert isinstance(self.node, ast.Call)
        return ast.Call(self.node.func, inside, [])


def _plain(part: Part) -> bool:
    return isinstance(part, _Leaf) or (isinstance(part, Sum) and bool(part.unit))


def _factors(part: Part) -> list[Part]:
    return part.parts if isinstance(part, _Product) else [part]


def _difference(unit: str) -> str:
    return {"°C": "K", "°F": "Δ°F"}.get(unit, unit)


class Units:
    """Walks an expression and finds the unit of each piece.  NoWay where units don't agree."""

    def __init__(self, held: Mapping[str, Held], system: str, gravity: Held) -> None:
        self.held, self.system, self.gravity = held, system, gravity
        self.used: list[Conversion] = []

    def go(self, node: ast.expr) -> Part:
        method = getattr(self, f"_{type(node).__name__.lower()}")
        found: Part = method(node)
        return found

    def converted(self, part: Part, want: Powers) -> Part:
        """The same in a wanted unit, with the conversions that it takes."""
        sides: dict[bool, list[Conversion]] = {True: [], False: []}
        for conversion, exponent in way(part.powers, want):
            if not conversion.silent:
                self.used.append(conversion)
                sides[exponent > 0] += [conversion] * abs(exponent)
        for conversion in list(sides[True]):  # a thousand over a thousand is not worked out
            same = next((c for c in sides[False] if c.number == conversion.number), None)
            if same is not None:
                sides[True].remove(conversion)
                sides[False].remove(same)
        top: list[Part] = [_Plain(number) for number in _numbers(sides[True])]
        bottom: list[Part] = [_Plain(number) for number in _numbers(sides[False])]
        whole = _scaled(part, top, bottom)
        whole.powers = want
        return whole

    def _constant(self, node: ast.Constant) -> Part:
        return _Plain(node)

    def _name(self, node: ast.Name) -> Part:
        if node.id == "pi":
            return _Plain(node)
        if node.id == "GRAVITY":
            return _Leaf(self.gravity)
        return _Leaf(self.held[node.id])

    def _unaryop(self, node: ast.UnaryOp) -> Part:
        inside = self.go(node.operand)
        return _Wrapped(node, [inside], inside.powers)

    def _binop(self, node: ast.BinOp) -> Part:
        if isinstance(node.op, ast.Pow):
            return self._power(node)
        left, right = self.go(node.left), self.go(node.right)
        if isinstance(node.op, ast.Mult):
            return _Product([*_factors(left), *_factors(right)])
        if isinstance(node.op, ast.Div):
            return _Quotient(left, right)
        left, right = self._alike([left, right])
        return Sum(left, node.op, right)

    def _alike(self, parts: Sequence[Part]) -> list[Part]:
        """Terms in the unit of the first that has one; nothing is nothing in any unit."""
        want = next((p.powers for p in parts if p.powers), {})
        return [p if _nothing(p) else self.converted(p, want) for p in parts]

    def _power(self, node: ast.BinOp) -> Part:
        base = self.go(node.left)
        try:
            exponent = ast.literal_eval(node.right)
        except ValueError:
            exponent = 0.5  # whatever it is, not a whole number
        if exponent == int(exponent):
            raised = {unit: power * int(exponent) for unit, power in base.powers.items()}
            return _Wrapped(node, [base, _Plain(node.right)], raised)
        bare = self.converted(self.go(node.right), {})
        return _Wrapped(node, [self.converted(base, {}), bare], {})

    def _call(self, node: ast.Call) -> Part:
        assert isinstance(node.func, ast.Name)
        name = node.func.id
        parts = [self.go(argument) for argument in node.args]
        if name == "sqrt":
            return self._root(node, parts[0])
        if name in ("minimum", "maximum", "hypot", "abs"):
            parts = self._alike(parts)
            return _Wrapped(node, parts, next((p.powers for p in parts if p.powers), {}))
        return _Wrapped(node, [self.converted(part, {}) for part in parts], {})

    def _root(self, node: ast.Call, inside: Part) -> Part:
        for square in ("", "ft^2/s^2" if self.system == "US" else "m^2/s^2", "s^2"):
            if dimension(inside.powers) == dimension(powers(square)):
                inside = self.converted(inside, powers(square))
        if any(power % 2 for power in inside.powers.values()):
            raise NoWay("nobody takes the root of such a unit")
        halved = {unit: power // 2 for unit, power in inside.powers.items()}
        return _Wrapped(node, [inside], halved)


def _scaled(part: Part, top: list[Part], bottom: list[Part]) -> Part:
    """A piece times the top, over the bottom, in the fraction that it has, if it has one."""
    if isinstance(part, _Quotient) and bottom:
        return _Quotient(_product([part.top, *top]), _product([*_factors(part.bottom), *bottom]))
    if isinstance(part, _Product) and bottom:
        if isinstance(part.parts[-1], _Quotient):
            return _Product([*part.parts[:-1], _scaled(part.parts[-1], top, bottom)])
        if any(isinstance(one, _Quotient) for one in part.parts):
            return _scaled(_one_fraction(part), top, bottom)
    whole = _product([part, *top])
    return _Quotient(whole, _product(bottom)) if bottom else whole


def _one_fraction(part: _Product) -> Part:
    """Fractions and other factors under one line: π/4·D²·L is π·D²·L over 4."""
    above: list[Part] = []
    below: list[Part] = []
    for one in part.parts:
        above += _factors(one.top) if isinstance(one, _Quotient) else [one]
        below += _factors(one.bottom) if isinstance(one, _Quotient) else []
    return _Quotient(_product(above), _product(below))


def _product(parts: Sequence[Part]) -> Part:
    return _Product(parts) if len(parts) > 1 else parts[0]


def _numbers(conversions: Sequence[Conversion]) -> list[ast.expr]:
    """Their numbers as factors, one that is taken twice as its square."""
    found: list[ast.expr] = []
    for one in dict.fromkeys(conversions):
        number: ast.expr = ast.Constant(one.number) if one.exact else ast.Name(str(one), ast.Load())
        power = conversions.count(one)
        found.append(number if power == 1 else ast.BinOp(number, ast.Pow(), ast.Constant(power)))
    return found


def _nothing(part: Part) -> bool:
    return isinstance(part, _Plain) and isinstance(part.node, ast.Constant) and not part.node.value
