"""Reading a text such as ``"1 1/2 in"`` into a number in SI, strictly.

A text is a number (plain, fraction or mixed fraction) and one unit, which may be a product
or quotient of named units.  A second number is read in the few forms that a tape or a clock
gives: whole feet and inches (``"2 ft 6 1/2 in"``), days and hours, hours and minutes, minutes
and seconds.
Whatever is not plainly that is refused with a reason: a decimal comma, a sum, a missing unit,
``nan``.
"""

from __future__ import annotations

import math
import re

from .glossary import Word, word
from .show import example, out_of_bounds, show, sixteenths, unit
from .unit_table import LENGTH, NAMES, NONE, TEMPERATURE, TIME, UNITS, Unit
from .unit_text import QuantityError, shortened, unit_of

__all__ = ["QuantityError", "as_typed", "needs", "read", "split", "unit_of", "within"]


LONG = 1e4
"""Figures from which on a limit is told in a larger unit."""
_LARGER = {"mm": "m", "cm": "m", "in": "ft", "mL": "L", "fl oz": "gal", "g": "kg", "oz": "lb",
           "s": "h", "min": "h", "Pa": "bar", "kPa": "bar", "mbar": "bar", "mA": "A", "W": "kW",
           "Btu/h": "kW"}  # fmt: skip
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = re.compile(
    r"""(?P<sign>[-−+]?)\s*
        (?:(?P<whole>\d+)[\s-]+(?P<n2>\d+)\s*/\s*(?P<d2>\d+)
         |(?P<n1>\d+)\s*/\s*(?P<d1>\d+)
         |(?P<plain>(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?))
        (?![\d.,/])""",
    re.VERBOSE,
)
_ODDS = re.compile(r"\s*(\d+)\s+(?:in|out of)\s+(\d+)\s*")
"""A chance or a share as it is said: "1 in 20"."""
_SECOND = re.compile(
    r"""(?P<unit>[^\W\d_]+|['′"″])(?P<gap>[\s,&]*(?:and\b\s*)?)(?P<rest>[-−+]?\s*[\d.].*)"""
)
_CLOCK = re.compile(r"(\d{1,4}):([0-5]?\d)(?::([0-5]?\d))?(?:\s*(?:h|hr|min|s)\b.*)?")
"""A time as clocks and stopwatches show it."""
_PAIRS = {"ft": ("in", 12), "d": ("h", 24), "h": ("min", 60), "min": ("s", 60)}
"""Units that may stand with a smaller one behind them, and how many of it make one."""
_CALLED = {
    "ft": "feet", "in": "inches", "d": "days", "h": "hours", "min": "minutes", "s": "seconds",
}  # fmt: skip


def split(text: str) -> tuple[float, str]:
    """Number and unit text: ``(1.5, "in")`` of "1 1/2 in", ``(30, "in")`` of "2 ft 6 in".

    QuantityError if the number can't be read.
    """
    raw = text.strip()
    for vulgar, plain in _VULGAR.items():
        raw = raw.replace(vulgar, f" {plain}")
    raw = raw.strip()
    _no_comma(raw, raw)
    if re.match(r"^[-−+]?(nan|inf)", raw, re.IGNORECASE):
        raise QuantityError(f'"{shortened(text)}" is not a number')
    match = _NUMBER.match(raw)
    if match is None:
        raise QuantityError(f'can\'t read a number at the start of "{shortened(text)}"')
    value, rest = _value(match, text), raw[match.end() :].strip()
    return _together(match, value, rest, raw) or (value, rest)


def _no_comma(number: str, raw: str) -> None:
    """Refuses a number with a decimal comma."""
    if re.match(r"^[-−+]?\s*\d+,\d", number):
        fixed = re.sub(r"(\d),(\d)", r"\1.\2", raw, count=1)
        told = f'write decimals with a point, "{shortened(fixed)}"'
        if re.match(r"^[-−+]?\s*[1-9]\d{0,2}(,\d{3})+(?!\d)", raw):
            whole = re.sub(r"(?<=\d),(?=\d)", "", raw)
            told += f', and thousands without a mark, "{shortened(whole)}"'
        raise QuantityError(told)


def _value(match: re.Match[str], text: str) -> float:
    g = match.groupdict()
    if g["plain"] is not None:
        value = float(g["plain"])
    else:
        top, bottom = (int(g["n2"] or g["n1"]), int(g["d2"] or g["d1"]))
        if bottom == 0:
            raise QuantityError(f'"{shortened(text)}" divides by nothing')
        value = (int(g["whole"]) if g["whole"] else 0) + top / bottom
    if not math.isfinite(value):
        raise QuantityError(f'"{shortened(text)}" is too large a number')
    return -value if g["sign"] in ("-", "−") else value


def _together(first: re.Match[str], large: float, rest: str, raw: str) -> tuple[float, str] | None:
    """Feet and inches, or hours and minutes, as one number of the smaller unit.

    None if there is no second number; QuantityError if there is one in any other form.
    """
    match = _SECOND.fullmatch(rest)
    unit = UNITS.get(match["unit"]) if match else None
    if match is None or unit is None:
        return None
    _no_comma(match["rest"], raw)
    second = _NUMBER.match(match["rest"])
    if second is None:
        return None
    small, mark = _value(second, raw), match["rest"][second.end() :].strip()
    lesser, ratio = _PAIRS.get(unit.name, ("", 0))
    other = UNITS.get(mark)
    paired = other is not None and other.name == lesser
    if not paired and not match["gap"] and match["unit"].isalpha():
        return None  # a power, as in "m3/h"
    if not paired:
        raise QuantityError(_apart(large, unit, small, other, mark))
    what = f"{_CALLED[unit.name]} and {_CALLED[lesser]}"
    if first["sign"]:
        whole = math.copysign(abs(large) * ratio + small, large)
        raise QuantityError(f'{what} take no sign: write "{whole:.10g} {lesser}"')
    if second["sign"] or match["gap"].strip():
        fixed = f"{large:.10g} {unit.name} {second[0].lstrip('-−+ ')} {lesser}"
        raise QuantityError(f'{what} stand side by side: write "{fixed}"')
    total = large * ratio + small
    if not math.isfinite(total):
        raise QuantityError(f'"{shortened(raw)}" is too large a number')
    if not (first["plain"] or "").isdigit():
        whole_of = f"{_CALLED[unit.name]} before {_CALLED[lesser]}"
        raise QuantityError(f'{whole_of} must be whole: write "{total:.10g} {lesser}"')
    if small >= ratio:
        fixed = f"{total // ratio:.10g} {unit.name} {total % ratio:.10g} {lesser}"
        raise QuantityError(f'{_CALLED[lesser]} must be less than {ratio}: write "{fixed}"')
    return total, lesser


def _apart(large: float, unit: Unit, small: float, other: Unit | None, mark: str) -> str:
    """What to write instead of two numbers that are not read together."""
    lesser, ratio = _PAIRS.get(unit.name, ("", 0))
    if not mark and large >= 0 and large % 1 == 0 and 0 <= small < ratio:
        read = f"{small:.10g}"
        if lesser == "in" and (16 * small).is_integer():  # as it stands on the tape
            read = sixteenths(small)
        fixed = f"{large:.10g} {unit.name} {read} {lesser}"
        return f'the {read} has no unit: write "{fixed}"'
    if other and other.dimension == unit.dimension and not (unit.offset or other.offset):
        total = (large * unit.factor + small * other.factor) / other.factor
        return f'write it in one unit, "{total:.10g} {other.name}"'
    forms = {LENGTH: ', or feet and inches such as "2 ft 6 in"', TIME: ', or "1 h 20 min"'}
    return f"write one number and one unit{forms.get(unit.dimension, '')}"


def read(text: object, name: str) -> float:
    """SI value of a text for the glossary word ``name``, within the word's bounds.

    Raises QuantityError whose message continues the sentence "<key> ...".
    """
    meant = word(name)
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise QuantityError(f"needs {needs(meant)}, got {_kind(text)}")
    if not isinstance(text, str):
        if meant.dimension != NONE:
            raise QuantityError(
                f"needs {needs(meant)}, got the bare number {text:g}: write the unit too"
            )
        return within(float(text), meant, f"{text:g}")
    if meant.dimension == TIME and (clock := _CLOCK.fullmatch(text.strip())):
        raise QuantityError(_not_by_the_clock(text.strip(), clock))
    odds = _ODDS.fullmatch(text) if meant.dimension == NONE and meant.high == 1 else None
    if odds and float(odds[2]):
        return within(float(odds[1]) / float(odds[2]), meant, text)
    try:
        value, unit_text = split(text)
    except QuantityError as error:
        raise QuantityError(f'needs {needs(meant)}, got "{shortened(text)}": {error}') from None
    if not unit_text:
        if meant.dimension != NONE:
            raise QuantityError(f'needs {needs(meant)}, got "{shortened(text)}" with no unit')
        return within(value, meant, text)
    try:
        unit = unit_of(unit_text)
    except QuantityError as error:
        raise QuantityError(f"needs {needs(meant)}; {error}") from None
    if unit.dimension != meant.dimension:
        got = NAMES.get(unit.dimension, "something else")
        raise QuantityError(f'needs {needs(meant)}, got "{shortened(text)}", {got}')
    if meant.dimension == TEMPERATURE and meant.is_rise != unit.rise and unit.name != "K":
        if meant.is_rise:
            raise QuantityError(
                f'is a difference of temperatures: write "{value:g} K" or "{value:g} Δ°F"'
            )
        raise QuantityError(f'is a temperature: write "{value:g} °C" or "{value:g} °F"')
    return within(value * unit.factor + unit.offset, meant, text)


def _not_by_the_clock(text: str, found: re.Match[str]) -> str:
    """What to write for "44:30", which may be minutes or hours, or for "1:44:30"."""
    first, second, third = found[1], int(found[2]), found[3]
    if third is not None:
        told = f'"{60 * int(first) + second} min {int(third)} s"'
        return f'is a length of time: for "{text}" write {told}'
    return (
        f'"{text}" may be hours or minutes: write "{int(first)} min {second} s" or '
        f'"{int(first)} h {second} min"'
    )


def within(value: float, meant: Word, text: str) -> float:
    """The value, if it lies within the word's bounds.  QuantityError otherwise."""
    if not math.isfinite(value):
        raise QuantityError(f'needs {needs(meant)}, got "{shortened(text)}"')
    problem = out_of_bounds(meant, value, told=lambda limit: as_typed(limit, meant.name, text))
    if problem:
        raise QuantityError(f'{problem}, got "{shortened(text)}"')
    return value


def as_typed(si: float, name: str, text: str, system: str = "SI") -> str:
    """A limit of a glossary word in the unit of a text that was typed, so that both compare.

    Where that would be a long figure it is in a larger unit, and in ``system``'s where the text
    has no unit of its kind.
    """
    try:
        mark = split(text)[1]
        found = unit_of(mark) if mark else None
    except QuantityError:
        found = None
    meant, own = word(name), unit(name, system)
    if found is None or found.dimension != meant.dimension:
        return show(si, name, system)
    if own and found == unit_of(own) and abs(si) < LONG * found.factor:
        return show(si, name, system)
    while abs(si) >= LONG * found.factor and found.name in _LARGER:
        found = UNITS[_LARGER[found.name]]
    number = (si - (0.0 if meant.is_rise else found.offset)) / found.factor
    return f"{number:.0f} {found.name}" if abs(number) >= 1000 else f"{number:.4g} {found.name}"


def needs(meant: Word) -> str:
    """Such as ``a volume such as "60 L" or "16 gal"``."""
    return f"{meant.article} such as {example(meant.kind)}"


def _kind(value: object) -> str:
    names = {bool: "true or false", list: "a list", dict: "a table", tuple: "a list"}
    return names.get(type(value), type(value).__name__)
