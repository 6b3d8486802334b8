"""What people type into a field that shows its unit, made into a text that ``read`` takes.

A build file is read strictly, since nobody sees its unit but who wrote it.  A field is seen: a
bare number there has the unit that stands beside it, and a unit in capitals is that unit.  What
is added here is said by the field in full, so that nobody is taken at a word they did not mean.
"""

from __future__ import annotations

import math
import re

from .glossary import BAR, FLOW_GPM, PRESSURE_PSI, PRESSURE_STANDARD, word
from .quantity import QuantityError, read, split, within
from .show import to_si, unit
from .unit_table import LENGTH, NONE, UNITS
from .unit_text import unit_of

_OTHERWISE = {
    "btuh": "Btu/h",
    "btu/hr": "Btu/h",
    "btus/h": "Btu/h",
    "watts": "W",
    "kilowatts": "kW",
    "gallons per minute": "gpm",
    "gal/min": "gpm",
    "litres per minute": "L/min",
    "liters per minute": "L/min",
    "ltr": "L",
    "psig": "psi",
    "lbs": "lb",
    "mins": "min",
    "secs": "s",
    "hrs": "h",
    "deg f": "°F",
    "deg c": "°C",
    "degrees f": "°F",
    "degrees c": "°C",
    "percent": "%",
    "inches": "in",
}
"""How units are written by hand, in small letters."""
_ABSOLUTE = {"psia": "psi", "bara": "bar", "kpaa": "kPa"}
CV = FLOW_GPM * math.sqrt(BAR / PRESSURE_PSI)
"""Kv, m³/s at 1 bar, of a Cv of one, gpm at 1 psi (definitions of both)."""


def typed(text: str, name: str, system: str) -> float:
    """SI value of what was typed in a field for a glossary word that shows ``system``'s unit.

    Raises QuantityError whose message continues the sentence "<label> ...".
    """
    meant = word(name)
    raw = " ".join(text.split())
    try:
        number, mark = split(raw)
    except QuantityError:
        return read(tidy(raw, name), name)  # which says what is wrong
    shown = unit(name, system)
    if not mark and meant.dimension != NONE and shown:
        if meant.dimension == LENGTH and "/" in raw and shown != "in":
            raise QuantityError(f'has the unit {shown} here: write "{raw} in" for inches')
        return read_si(to_si(number, name, system), name, f"{raw} {shown}")
    if not mark and meant.dimension == NONE and shown == "%" and number > 1:
        return read(f"{number:.12g} %", name)
    low = mark.lower().rstrip(".")
    if meant.kind == "flow_coefficient" and low in ("cv", "kv"):
        return read_si(number * CV if low == "cv" else number / 3600, name, raw)
    if meant.kind == "pressure" and low in _ABSOLUTE and not name.startswith("pressure_absolute"):
        factor = unit_of(_ABSOLUTE[low]).factor
        return read_si(number * factor - PRESSURE_STANDARD, name, raw)
    return read(tidy(raw, name), name)


def read_si(value: float, name: str, text: str) -> float:
    """A value that was made here, within its word's bounds."""
    return within(value, word(name), text)


def tidy(text: str, name: str) -> str:
    """A text with its unit as the kit writes it, whatever its capitals; else the text itself."""
    raw = " ".join(text.split())
    try:
        number, mark = split(raw)
    except QuantityError:
        return raw
    if not mark or _known(mark, name):
        return raw
    found = _OTHERWISE.get(mark.lower().rstrip(".")) or _any_case(mark, name)
    return f"{number:.12g} {found}" if found else raw


def _known(mark: str, name: str) -> bool:
    """Whether a unit is one already, of the kind that is needed."""
    try:
        return unit_of(mark).dimension == word(name).dimension
    except QuantityError:
        return False


def _any_case(mark: str, name: str) -> str:
    """The unit of the needed kind that a text names if capitals don't count; empty if several."""
    parts = re.split(r"([/·* ]+)", mark)
    choices = [""]
    for index, part in enumerate(parts):
        if index % 2 or not part:
            names = {part}
        else:
            low = part.lower().rstrip(".")
            names = {alias for alias in UNITS if alias.lower() == low} or {part}
        choices = [before + one for before in choices for one in sorted(names)][:64]
    fits: dict[tuple[float, float], str] = {}
    for choice in choices:
        try:
            unit_found = unit_of(choice)
        except QuantityError:
            continue
        if unit_found.dimension == word(name).dimension:
            fits.setdefault((unit_found.factor, unit_found.offset), choice)
    return next(iter(fits.values())) if len(fits) == 1 else ""
