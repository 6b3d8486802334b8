"""Pint quantities at the door: the only module that imports pint.

Inside the kit everything is a float in SI; ``Q`` makes quantities for a notebook, ``to_si``
takes them in, ``from_si`` gives them out.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from .glossary import Word, word
from .quantity import QuantityError, needs, read, split, unit_of
from .unit_table import TEMPERATURE

if TYPE_CHECKING:
    from pint import Quantity, Unit, UnitRegistry


@lru_cache(maxsize=1)
def registry() -> UnitRegistry[Any]:
    """The one pint registry of the kit, opened when first needed."""
    from pint import UnitRegistry

    opened: UnitRegistry[Any] = UnitRegistry(
        cache_folder=":auto:", autoconvert_offset_to_baseunit=True
    )
    opened.define("gpm = gallon / minute")
    opened.define("gph = gallon / hour")
    opened.define("lpm = liter / minute = Lpm")
    opened.formatter.default_format = "~P"
    return opened


def Q(value: Any, unit: str | None = None) -> Quantity:
    """A quantity: ``Q(38, "psi")`` or ``Q("1 1/2 in")``, read as strictly as a build file.

    QuantityError for a text that is not plainly a number with a unit.
    """
    if unit is None:
        if not isinstance(value, str):
            return registry().Quantity(value)
        number, unit = split(value)
        return Q(number, unit) if unit else registry().Quantity(number)
    return registry().Quantity(value, unit_for(unit))


@lru_cache(maxsize=512)
def unit_for(text: str) -> Unit:
    """The pint unit for one of our unit texts."""
    from .unit_table import UNITS

    if not text:
        return registry().dimensionless
    if text in UNITS:
        known = UNITS[text]
        return registry().Unit(known.pint or known.name)
    try:
        unit_of(text)
    except QuantityError as ours:
        try:
            return registry().Unit(text)
        except Exception:
            raise ours from None
    plain = text.replace("²", "^2").replace("³", "^3").replace("·", "*")
    plain = plain.replace("Δ°F", "delta_degF").replace("Btu", "Btu_it")
    head, slash, tail = plain.partition("/")
    if slash and tail.strip().startswith("("):
        inner = tail.strip().strip("()").replace(" ", "*")
        return registry().Unit(f"{head.strip().replace(' ', '*') or '1'}/({inner})")
    return registry().Unit("*".join(plain.split()))


@lru_cache(maxsize=1024)
def si_unit(name: str) -> Unit:
    """The pint unit in which a glossary word is held."""
    return unit_for(word(name).unit)


def from_si(value: Any, name: str) -> Quantity:
    """A float or array in SI as the quantity that the word says."""
    return registry().Quantity(value, si_unit(name))


def to_si(value: Any, name: str) -> Any:
    """Quantity, text or (for a plain number) float to SI, without checking bounds.

    Raises QuantityError for a wrong dimension or a text that can't be read.
    """
    if isinstance(value, str):
        return read(value, name)
    target = si_unit(name)
    units = getattr(value, "units", None)
    if units is None:
        meant = word(name)
        if meant.unit:
            raise QuantityError(f"needs {needs(meant)}, got {value!r} with no unit")
        return value
    if units == target:
        return value.magnitude
    try:
        factor = _factor(units, target, word(name))
    except QuantityError as error:
        raise QuantityError(f"{error}, got {value:.6g~P}") from None
    if factor is not None:
        return value.magnitude * factor
    return value.to(target).magnitude


@lru_cache(maxsize=4096)
def _factor(units: Unit, target: Unit, meant: Word) -> float | None:
    """Factor to SI, or None where an offset needs pint's own way."""
    if units.dimensionality != target.dimensionality:
        raise QuantityError(f"needs {needs(meant)}")
    if meant.dimension == TEMPERATURE:
        text = f"{units:D}"
        is_rise = text.startswith("delta_")
        if meant.is_rise and text in ("degree_Celsius", "degree_Fahrenheit"):
            raise QuantityError('is a difference of temperatures, such as "5 K" or "9 Δ°F"')
        if not meant.is_rise and is_rise:
            raise QuantityError('is a temperature, such as "41 °C" or "105 °F"')
        if text in ("degree_Celsius", "degree_Fahrenheit"):
            return None
    return float(registry().Quantity(1.0, units).to(target).magnitude)
