"""A formula, written once: solver function, checked function with units, worked steps.

The decorated function is a plain Python function of floats or arrays in SI: lines
``name = expression`` and one ``return``.  Names are glossary words, so the signature fixes
letter, unit and bounds.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

from .glossary import Word, word
from .quantity import QuantityError
from .show import show
from .sources import Source
from .work import Work, equations, work

REGISTRY: dict[str, Formula] = {}


class FormulaError(ValueError):
    """Arguments that a formula can't take; the message lists every problem at once."""


class Formula:
    """One printed formula.

    ``si`` is the untouched function.  Calling takes keyword-only quantities (pint, or texts
    such as ``"1.2 gal"``) and gives a quantity.  ``work`` gives the worked steps.

    Attributes: ``name``, ``result`` (Word), ``source``, ``valid`` (narrower ranges in SI),
    ``empirical`` (has constants with hidden units), ``parameters`` (names).
    """

    def __init__(
        self,
        function: Callable[..., Any],
        result: str,
        source: Source,
        valid: Mapping[str, tuple[float, float]] | None = None,
        empirical: bool = False,
    ) -> None:
        self.si = function
        self.name = function.__name__
        self.__name__ = function.__name__
        self.__doc__ = function.__doc__
        self.__module__ = function.__module__
        self.__wrapped__ = function
        self.result: Word = word(result)
        self.source = source
        self.valid = dict(valid or {})
        self.empirical = empirical
        self.parameters = tuple(inspect.signature(function).parameters)
        self.words = {name: word(name) for name in self.parameters}
        stray = set(self.valid) - set(self.parameters)
        if stray:
            raise ValueError(f"{self.name}: valid names {sorted(stray)}, not parameters")
        code = function.__code__
        if code.co_argcount != len(self.parameters) or function.__defaults__:
            raise ValueError(f"{self.name}: takes plain arguments without defaults only")

    def __repr__(self) -> str:
        return f"<formula {self.name}({', '.join(self.parameters)}) -> {self.result.label}>"

    def _repr_markdown_(self) -> str:
        lines = r" \\ ".join(equations(self, "latex"))
        return f"$$\\begin{{gathered}} {lines} \\end{{gathered}}$$\n\n*{self.source}*"

    @cached_property
    def bounds(self) -> dict[str, tuple[float, float, bool]]:
        """Low, high and whether low is excluded, for each parameter, in SI."""
        found = {}
        for name, meant in self.words.items():
            low, high = self.valid.get(name, (meant.low, meant.high))
            found[name] = (low, high, meant.above and name not in self.valid)
        return found

    def __call__(self, **quantities: Any) -> Any:
        """The result as a pint quantity.  FormulaError lists every bad argument."""
        from .units import from_si

        values = self.check(quantities)
        try:
            return from_si(self.si(**values), self.result.name)
        except ZeroDivisionError:
            raise FormulaError(f"{self.name}(): {self._zero(values)}") from None

    def _zero(self, values: Mapping[str, Any]) -> str:
        none = [f"`{name}`" for name, value in values.items() if value is not None and not value]
        return f"has no answer where {' and '.join(none) or 'a difference'} is zero"

    def check(self, quantities: Mapping[str, Any], *, bare: bool = False) -> dict[str, Any]:
        """Arguments in SI, within bounds.  FormulaError lists every problem at once.

        With ``bare`` a plain number is taken as SI; else only words without a unit may be one.
        """
        from .units import to_si

        problems: list[str] = []
        values: dict[str, Any] = {}
        for name in self.parameters:
            if name not in quantities:
                problems.append(f"missing `{name}`")
                continue
            try:
                given = quantities[name]
                plain = bare and not isinstance(given, str) and not hasattr(given, "units")
                value = given if plain else to_si(given, name)
            except QuantityError as error:
                problems.append(f"`{name}` {error}")
                continue
            problem = self._outside(name, value)
            if problem:
                problems.append(f"`{name}` {problem}")
            values[name] = value
        if len(quantities) > len(values):
            problems += [f"doesn't know `{name}`" for name in quantities if name not in self.words]
        if problems:
            raise FormulaError(f"{self.name}(): {'; '.join(problems)}")
        return values

    def _outside(self, name: str, value: Any) -> str:
        """What is wrong with a value in SI, or an empty text."""
        low, high, above = self.bounds[name]
        if type(value) in (float, int):
            if low < value <= high or (value == low and not above):
                return ""
            worst = value
        else:
            import numpy as np

            array = np.asarray(value, dtype=float)
            inside = ((array > low) if above else (array >= low)) & (array <= high)
            if inside.all():
                return ""
            worst = float(array[~inside].flat[0])
        return f"{_range(name, low, high, above)}, got {_told(worst, name)}"

    def work(self, **values: Any) -> Work:
        """Worked steps for one set of values: SI floats, or quantities and texts.

        Floats are SI and are checked like quantities.  FormulaError as for a call.
        """
        ready = self.check(values, bare=True)
        plain = {name: float(value) for name, value in ready.items()}
        try:
            return work(self, plain)
        except ZeroDivisionError:
            raise FormulaError(f"{self.name}(): {self._zero(plain)}") from None


def formula(
    result: str,
    *,
    source: Source,
    valid: Mapping[str, tuple[float, float]] | None = None,
    empirical: bool = False,
) -> Callable[[Callable[..., Any]], Formula]:
    """Declare a formula: what the result is called, its source, narrower ranges (in SI)."""

    def decorate(function: Callable[..., Any]) -> Formula:
        made = Formula(function, result, source, valid, empirical)
        if made.name in REGISTRY and REGISTRY[made.name].__module__ != made.__module__:
            raise ValueError(f"two formulas are called {made.name}")
        REGISTRY[made.name] = made
        return made

    return decorate


def _told(value: float, name: str) -> str:
    return show(value, name) if math.isfinite(value) else str(value)


def _range(name: str, low: float, high: float, above: bool) -> str:
    if math.isinf(high):
        return f"must be {'above ' if above else ''}{_told(low, name)}{'' if above else ' or more'}"
    if math.isinf(low):
        return f"must be {_told(high, name)} or less"
    return f"must be {_told(low, name)} to {_told(high, name)}"
