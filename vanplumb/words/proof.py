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
    values = {name: from_si(value, name) for name, value in inside(formula).items()}
    result = same(**values)
    target = si_unit(formula.result.name)
    found = registry().Quantity(result) if not hasattr(result, "units") else result
    return bool(found.dimensionality == target.dimensionality)


def inside(formula: Formula) -> dict[str, float]:
    """Some value well inside each parameter's bounds, no two of them alike."""
    found = {}
    for place, name in enumerate(formula.parameters):
        low, high, _ = formula.bounds[name]
        part = 0.37 + 0.031 * place
        if low > -1e300 and high < 1e300:
            found[name] = low + part * (high - low)
        elif low > -1e300:
            found[name] = low + (1 + part) * (abs(low) or 1.0)
        else:
            found[name] = min(1 + part, high - 1.0 + part) if high < 1e300 else 1 + part
    return found
