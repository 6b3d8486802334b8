"""Proof of dimensions: a formula's own code object, run on quantities instead of floats."""

from __future__ import annotations

from types import FunctionType
from typing import TYPE_CHECKING, Any

from .glossary import CONSTANTS

if TYPE_CHECKING:
    from .formula import Formula


def dimensions_hold(formula: Formula) -> bool:
    """Whether the formula gives its result's dimension for every unit system.

    Raises pint's DimensionalityError (or a TypeError) where a line adds apples to pears.
    """
    from .units import from_si, registry, si_unit, unit_for

    constants: dict[str, Any] = {
        name: registry().Quantity(value, unit_for(unit))
        for name, (_, unit, value) in CONSTANTS.items()
    }
    scope = {**formula.si.__globals__, **constants}
    same = FunctionType(formula.si.__code__, scope, formula.name)
    values = {name: from_si(_inside(formula, name), name) for name in formula.parameters}
    result = same(**values)
    target = si_unit(formula.result.name)
    found = registry().Quantity(result) if not hasattr(result, "units") else result
    return bool(found.dimensionality == target.dimensionality)


def _inside(formula: Formula, name: str) -> float:
    """Some value well inside a parameter's bounds."""
    low, high, _ = formula.bounds[name]
    if low > -1e300 and high < 1e300:
        return low + 0.37 * (high - low)
    if low > -1e300:
        return low + 1.37 * (abs(low) or 1.0)
    return min(1.37, high - 1.0) if high < 1e300 else 1.37
