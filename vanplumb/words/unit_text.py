"""What a text such as ``"kg/m^3"`` or ``"fl oz"`` means as a unit: products and quotients."""

from __future__ import annotations

import re
from functools import lru_cache

from .unit_table import NONE, TEMPERATURE, UNITS, Dimension, Unit

_SUPER = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_POWER = re.compile(r"^(.*?)(?:\^|\*\*)?([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+|-?\d+)?$")


class QuantityError(ValueError):
    """A text that is not the quantity that was needed; the message says why."""


@lru_cache(maxsize=512)
def unit_of(text: str) -> Unit:
    """The unit that a text names, such as ``"kg/m^3"`` or ``"fl oz"``."""
    tidy = text.strip().replace("fl oz", "fl_oz").replace("fl. oz", "fl_oz")
    tidy = re.sub(r"\s+(?:per|an?)\s+", "/", tidy)
    if tidy in UNITS:
        return UNITS[tidy]
    if not tidy:
        raise QuantityError("has no unit")
    tidy = re.sub(r"/\s*\(([^()/]*)\)", lambda m: "/" + re.sub(r"[\s·*]+", "/", m[1].strip()), tidy)
    tidy = tidy.replace("**", "^")
    parts = re.split(r"([/·*\s]+)", tidy)
    factor, dimension = 1.0, NONE
    sign = 1
    for index, part in enumerate(parts):
        if index % 2:
            mark = part.strip()
            if mark not in ("", "/", "·", "*"):
                raise QuantityError(f'doesn\'t know the unit "{shortened(text)}"')
            sign = -1 if mark == "/" else 1
            continue
        match = _POWER.match(part)
        stem, power = (match[1], match[2]) if match else (part, None)
        if part in UNITS:
            stem, power = part, None
        unit = UNITS.get(stem)
        if unit is None or (unit.offset and len(parts) > 1):
            raise QuantityError(f'doesn\'t know the unit "{shortened(text)}"{_nearest(stem)}')
        exponent = sign * int(power.translate(_SUPER) if power else 1)
        if abs(exponent) > 9:
            raise QuantityError(f'doesn\'t know the unit "{shortened(text)}"')
        factor *= unit.factor**exponent
        dimension = _add(dimension, unit.dimension, exponent)
    return Unit(tidy, dimension, factor, rise=dimension == TEMPERATURE)


def _add(one: Dimension, two: Dimension, times: int) -> Dimension:
    a, b, c, d, e = (x + times * y for x, y in zip(one, two, strict=True))
    return (a, b, c, d, e)


def shortened(text: str) -> str:
    """A text as an error quotes it: printable, 40 letters at most."""
    clean = "".join(c if c.isprintable() else "?" for c in text)
    return clean if len(clean) <= 40 else clean[:37] + "..."


def _nearest(stem: str) -> str:
    for alias in UNITS:
        if alias.lower() == stem.lower():
            return f', did you mean "{UNITS[alias].name}"?'
    return ""
