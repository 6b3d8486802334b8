"""Worked steps in the reader's own units, with short figures, as a person writes them.

An equation whose terms agree in dimension is the same in any units, once the conversions that
its mixed units ask for stand in it: ``40 in · 18 in · 14 in / 231 = 43.6 gal``.  Degrees that
count from somewhere else are no hindrance where only differences of temperatures count, which is
tried out: all temperatures are raised by as much, and a temperature must rise by that, any other
value not at all.  What has constants with hidden units, needs absolute temperatures, or mixes
units that nobody converts, is left in SI.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import count
from typing import Any, NamedTuple, Protocol

from .conversions import Conversion, NoWay, Powers, dimension, powers, times, way
from .glossary import CONSTANTS, GRAVITY, word
from .maths import CALCULATOR, Figure, figure, sum_of
from .show import HALVES_UP, clock, pretty, show, shown_in, sixteenths
from .show import value as in_readers_unit
from .unit_table import NONE
from .unit_text import unit_of

MOST_MORE = 6
"""Figures beyond the shortest with which a step is tried; what needs more is left in SI."""
SHORTEST = 3
"""Figures of a value that its usual rounding does not tell; a conversion has two more."""
RAISED = 7.0
"""Kelvins by which temperatures are raised to see whether only their differences count."""
CONSTANT_WORDS = {
    "m/s^2": "acceleration", "Pa": "pressure", "K": "temperature", "m": "diameter",
    "m^3/s": "flow", "kg/m^3": "density", "": "number",
}  # fmt: skip
"""The words that tell a constant's unit."""
MOST_TERMS, KEPT_TERMS = 10, 7
"""Terms of a sum that are all written; of more so many, and the smaller stand together."""


class Held(NamedTuple):
    """A value in the reader's unit, with the fewest digits worth writing, if they are known."""

    value: float
    unit: str
    usual: str = ""


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


# ---- units of an expression ------------------------------------------------------------


class _Part:
    """A piece of an expression with its unit; ``bare`` leaves the unit to be understood."""

    bare = False
    unit = ""

    def __init__(self, powers_: Powers) -> None:
        self.powers = powers_

    @property
    def cuttable(self) -> bool:
        """Whether it has one unit that can be cut against another's."""
        return bool(self.unit) and not self.bare

    def tree(self, book: _Book) -> ast.expr:
        raise NotImplementedError


class _Plain(_Part):
    """A number of the formula's own, π, or a conversion."""

    def __init__(self, node: ast.expr) -> None:
        super().__init__({})
        self.node = node

    def tree(self, book: _Book) -> ast.expr:
        return self.node


class _Leaf(_Part):
    """A value."""

    def __init__(self, held: Held) -> None:
        super().__init__(powers(held.unit))
        self.held, self.unit = held, held.unit

    def tree(self, book: _Book) -> ast.expr:
        return book.leaf(self.held, with_unit=not self.bare)


class _Sum(_Part):
    """Terms of one unit; where each is a plain value the unit stands once, behind them all."""

    def __init__(self, left: _Part, op: ast.operator, right: _Part) -> None:
        super().__init__(left.powers or right.powers)
        self.left, self.op, self.right = left, op, right
        kinds = [part.unit for part in (left, right)]
        if all(kinds) and len(set(kinds)) == 1 and all(_plain(p) for p in (left, right)):
            left.bare = right.bare = True
            self.unit = _difference(kinds[0]) if isinstance(op, ast.Sub) else kinds[0]

    def tree(self, book: _Book) -> ast.expr:
        both = ast.BinOp(self.left.tree(book), self.op, self.right.tree(book))
        return book.in_unit(both, self.unit) if self.cuttable else both


class _Product(_Part):
    def __init__(self, parts: Sequence[_Part]) -> None:
        found: Powers = {}
        for part in parts:
            found = times(found, part.powers)
        super().__init__(found)
        self.parts = list(parts)

    def tree(self, book: _Book) -> ast.expr:
        first, *others = (part.tree(book) for part in self.parts)
        for other in others:
            first = ast.BinOp(first, ast.Mult(), other)
        return first


class _Quotient(_Part):
    def __init__(self, top: _Part, bottom: _Part) -> None:
        super().__init__(times(top.powers, bottom.powers, -1))
        self.top, self.bottom = top, bottom
        below = [part for part in _factors(bottom) if part.cuttable]
        for part in _factors(top):
            same = next((b for b in below if part.cuttable and b.unit == part.unit), None)
            if same is not None:
                part.bare = same.bare = True
                below.remove(same)

    def tree(self, book: _Book) -> ast.expr:
        return ast.BinOp(self.top.tree(book), ast.Div(), self.bottom.tree(book))


class _Wrapped(_Part):
    """A sign, a power, a root or a function of some parts."""

    def __init__(self, node: ast.expr, parts: Sequence[_Part], powers_: Powers) -> None:
        super().__init__(powers_)
        self.node, self.parts = node, parts

    def tree(self, book: _Book) -> ast.expr:
        inside = [part.tree(book) for part in self.parts]
        if isinstance(self.node, ast.UnaryOp):
            return ast.UnaryOp(self.node.op, inside[0])
        if isinstance(self.node, ast.BinOp):
            return ast.BinOp(inside[0], self.node.op, inside[1])
        assert isinstance(self.node, ast.Call)
        return ast.Call(self.node.func, inside, [])


def _plain(part: _Part) -> bool:
    return isinstance(part, _Leaf) or (isinstance(part, _Sum) and bool(part.unit))


def _factors(part: _Part) -> list[_Part]:
    return part.parts if isinstance(part, _Product) else [part]


def _difference(unit: str) -> str:
    return {"°C": "K", "°F": "Δ°F"}.get(unit, unit)


class _Units:
    """Walks an expression and finds the unit of each piece.  NoWay where units don't agree."""

    def __init__(self, held: Mapping[str, Held], system: str, gravity: Held) -> None:
        self.held, self.system, self.gravity = held, system, gravity
        self.used: list[Conversion] = []

    def go(self, node: ast.expr) -> _Part:
        method = getattr(self, f"_{type(node).__name__.lower()}")
        found: _Part = method(node)
        return found

    def converted(self, part: _Part, want: Powers) -> _Part:
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
        top: list[_Part] = [_Plain(number) for number in _numbers(sides[True])]
        bottom: list[_Part] = [_Plain(number) for number in _numbers(sides[False])]
        whole = _scaled(part, top, bottom)
        whole.powers = want
        return whole

    def _constant(self, node: ast.Constant) -> _Part:
        return _Plain(node)

    def _name(self, node: ast.Name) -> _Part:
        if node.id == "pi":
            return _Plain(node)
        if node.id == "GRAVITY":
            return _Leaf(self.gravity)
        return _Leaf(self.held[node.id])

    def _unaryop(self, node: ast.UnaryOp) -> _Part:
        inside = self.go(node.operand)
        return _Wrapped(node, [inside], inside.powers)

    def _binop(self, node: ast.BinOp) -> _Part:
        if isinstance(node.op, ast.Pow):
            return self._power(node)
        left, right = self.go(node.left), self.go(node.right)
        if isinstance(node.op, ast.Mult):
            return _Product([*_factors(left), *_factors(right)])
        if isinstance(node.op, ast.Div):
            return _Quotient(left, right)
        left, right = self._alike([left, right])
        return _Sum(left, node.op, right)

    def _alike(self, parts: Sequence[_Part]) -> list[_Part]:
        """Terms in the unit of the first that has one; nothing is nothing in any unit."""
        want = next((p.powers for p in parts if p.powers), {})
        return [p if _nothing(p) else self.converted(p, want) for p in parts]

    def _power(self, node: ast.BinOp) -> _Part:
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

    def _call(self, node: ast.Call) -> _Part:
        assert isinstance(node.func, ast.Name)
        name = node.func.id
        parts = [self.go(argument) for argument in node.args]
        if name == "sqrt":
            return self._root(node, parts[0])
        if name in ("minimum", "maximum", "hypot", "abs"):
            parts = self._alike(parts)
            return _Wrapped(node, parts, next((p.powers for p in parts if p.powers), {}))
        return _Wrapped(node, [self.converted(part, {}) for part in parts], {})

    def _root(self, node: ast.Call, inside: _Part) -> _Part:
        for square in ("", "ft^2/s^2" if self.system == "US" else "m^2/s^2", "s^2"):
            if dimension(inside.powers) == dimension(powers(square)):
                inside = self.converted(inside, powers(square))
        if any(power % 2 for power in inside.powers.values()):
            raise NoWay("nobody takes the root of such a unit")
        halved = {unit: power // 2 for unit, power in inside.powers.items()}
        return _Wrapped(node, [inside], halved)


def _scaled(part: _Part, top: list[_Part], bottom: list[_Part]) -> _Part:
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


def _one_fraction(part: _Product) -> _Part:
    """Fractions and other factors under one line: π/4·D²·L is π·D²·L over 4."""
    above: list[_Part] = []
    below: list[_Part] = []
    for one in part.parts:
        above += _factors(one.top) if isinstance(one, _Quotient) else [one]
        below += _factors(one.bottom) if isinstance(one, _Quotient) else []
    return _Quotient(_product(above), _product(below))


def _product(parts: Sequence[_Part]) -> _Part:
    return _Product(parts) if len(parts) > 1 else parts[0]


def _numbers(conversions: Sequence[Conversion]) -> list[ast.expr]:
    """Their numbers as factors, one that is taken twice as its square."""
    found: list[ast.expr] = []
    for one in dict.fromkeys(conversions):
        number: ast.expr = ast.Constant(one.number) if one.exact else ast.Name(str(one), ast.Load())
        power = conversions.count(one)
        found.append(number if power == 1 else ast.BinOp(number, ast.Pow(), ast.Constant(power)))
    return found


def _nothing(part: _Part) -> bool:
    return isinstance(part, _Plain) and isinstance(part.node, ast.Constant) and not part.node.value


# ---- figures ---------------------------------------------------------------------------


class _Book:
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


def _constant(name: str, system: str) -> Held:
    _, unit, value = CONSTANTS[name]
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
    if not all(map(math.isfinite, told_all)) or not _counts_differences_only(work):
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
                last=place == len(work.steps) - 1,
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
) -> tuple[ReadersLine, list[str]]:
    """One step and the conversions in it.  NoWay if it can't be told so that it closes by hand."""
    used = _names(expression)
    held = {n: _held(v, n, system) for n, v in values.items() if n in used}
    _one_clock(held, values)
    held |= {n: _constant(n, system) for n in CONSTANTS if n in used}
    end = _End(value, answer, system, last=last)
    units, part = _with_units(expression, held, end, system, "GRAVITY" in used)
    book = _Book(units.used)
    if part.cuttable and isinstance(part, _Sum):
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
) -> tuple[_Units, _Part]:
    """The expression in the answer's unit, by the fewest conversions.

    In US units a pound of mass weighs a pound of force, or falls by so many feet a second.
    """
    gravities = [Held(GRAVITY, "m/s^2", "9.807")]
    if system == "US":
        gravities = [Held(1.0, "lbf/lb", "1"), Held(GRAVITY / 0.3048, "ft/s^2", "32.17")]
    found: list[tuple[_Units, _Part]] = []
    why = NoWay("nothing was tried")
    for gravity in gravities if falls else gravities[:1]:
        units = _Units(held, system, gravity)
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
    known = {*work.inputs, *(step.name for step in work.steps), *CONSTANTS}
    used = known & {name for step in work.steps for name in _names(step.expression)}
    if not any(_counts_from_afar(name) for name in used):
        return True
    moved = {
        n: v + 0.2 * k if _counts_from_afar(n) else v * (1 + 0.01 * (k % 3))
        for k, (n, v) in enumerate(work.inputs.items())
    }
    before, after = _run(work, moved, 0.0), _run(work, moved, RAISED)
    raised = {n: RAISED if _counts_from_afar(n) else 0.0 for n in after}
    return 0 < len(before) == len(after) and all(
        abs(after[n] - before[n] - raised[n]) <= 1e-6 * max(abs(before[n]), 1e-12) for n in after
    )


@lru_cache(maxsize=1024)
def _names(expression: ast.expr) -> frozenset[str]:
    return frozenset(node.id for node in ast.walk(expression) if isinstance(node, ast.Name))


def _counts_from_afar(name: str) -> bool:
    """Whether it is a temperature, not a difference of two."""
    if name in CONSTANTS:
        return CONSTANTS[name][1] == "K"
    return word(name).kind == "temperature"


def _run(work: Worked, moved: Mapping[str, float], raised: float) -> dict[str, float]:
    """What each step gives with all temperatures raised; nothing if one can't be worked."""
    scope = dict(CALCULATOR)
    for name, (_, unit, value) in CONSTANTS.items():
        scope[name] = value + raised if unit == "K" else value
    here = {n: v + raised if _counts_from_afar(n) else v for n, v in moved.items()}
    found: dict[str, float] = {}
    for step in work.steps:
        code = compile(ast.Expression(step.expression), f"<{step.name}>", "eval")
        try:
            found[step.name] = here[step.name] = float(eval(code, scope, here))
        except (ArithmeticError, TypeError, ValueError):  # a root of what is below nothing
            return {}
    return found
