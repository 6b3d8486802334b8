"""Conversions that a person knows by heart, and the few that turn one unit into another.

A unit is a product of named ones with exponents, ``{"gal": 1, "min": -1}``.  What these
conversions don't reach is not worked in such units: nobody turns millipascal seconds into
pounds, feet and seconds on a pocket calculator.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from heapq import heappop, heappush
from itertools import count

from .maths import figure
from .show import pretty
from .unit_table import NONE, UNITS

Powers = Mapping[str, int]
"""Named units with their exponents, none of them zero."""


@dataclass(frozen=True)
class Conversion:
    """``one`` of something is ``number`` of another."""

    one: str
    number: float
    other: str

    def told(self, digits: int = 5) -> str:
        """Such as "1 ft³ = 7.4805 gal", with the digits that the step was worked with."""
        text, _ = figure(self.number, "", digits - 5)
        plain = f"{self.number:,.0f}" if self.exact else f"{float(text):,.{_places(text)}f}"
        return f"1 {pretty(self.one)} = {plain} {pretty(self.other)}"

    @property
    def exact(self) -> bool:
        """A whole number is written as it is."""
        return self.number == round(self.number)

    @property
    def silent(self) -> bool:
        """What only gives a product another name needs no figure."""
        return self.number == 1


Way = tuple[tuple[Conversion, int], ...]
"""Conversions, each with how often a number is multiplied by it (below zero: divided)."""

_KNOWN = (
    ("ft", 12, "in"), ("gal", 231, "in^3"), ("ft^3", 1728 / 231, "gal"), ("gal", 128, "fl oz"),
    ("lb", 16, "oz"), ("lbf", 9.80665 / 0.3048, "lb ft/s^2"), ("psi", 1, "lbf/in^2"),
    ("W", 3600 / 1055.05585262, "Btu/h"), ("m^3", 1000 / 3.785411784, "gal"),
    ("psi", 6894.757293168361, "Pa"), ("MJ/kg", 1e6 / 2326, "Btu/lb"),
    ("W", 60 / (0.3048 * 0.45359237 * 9.80665), "ft lbf/min"), ("K", 1.8, "°F"),
    ("lb/gal", 453592.37 / 3.785411784, "mg/L"),
    ("min", 60, "s"), ("h", 60, "min"), ("h", 3600, "s"), ("day", 24, "h"), ("day", 1440, "min"),
    ("day", 86400, "s"),
    ("m", 1000, "mm"), ("m", 100, "cm"), ("cm", 10, "mm"), ("L", 1000, "cm^3"),
    ("m^3", 1000, "L"), ("L", 1000, "mL"), ("L", 1e6, "mm^3"), ("kg", 1000, "g"), ("kg", 1e6, "mg"),
    ("bar", 1e5, "Pa"), ("bar", 100, "J/L"), ("MPa", 10, "bar"), ("MPa", 1e6, "Pa"),
    ("kWh", 1000, "W h"), ("kWh", 3600, "kJ"), ("kWh", 3.6, "MJ"), ("MJ", 1000, "kJ"),
    ("kJ", 1000, "J"), ("Pa", 1000, "mPa"),
    ("J", 1, "W s"), ("J", 1, "N m"), ("N", 1, "kg m/s^2"), ("Pa", 1, "N/m^2"), ("W", 1, "V A"),
)  # fmt: skip
CONVERSIONS = tuple(Conversion(*known) for known in _KNOWN)
MOST, MOST_FIGURES = 5, 3
"""Conversions in one line, all of them and those with a figure: more are not followed."""
LONGEST_SEARCH = 400
"""Units looked at on the way, more than which there is no way that a person would take."""

_COMPOUND = {"gpm": "gal/min", "Wh": "W h", "Ah": "A h", "Δ°F": "°F", "°C": "K", "days": "day"}
_NAMES = {"fl_oz": "fl oz", "day": "d", "°R": "R"}  # as the table of units calls them


def _places(text: str) -> int:
    return len(text.partition(".")[2])


class NoWay(ValueError):
    """There is no way from one unit to the other by what a person knows."""


@lru_cache(maxsize=512)
def powers(text: str) -> Powers:
    """The named units of a text such as ``"Btu/(lb Δ°F)"`` with their exponents."""
    found: dict[str, int] = {}
    top, _, bottom = text.replace("fl oz", "fl_oz").partition("/")
    for sign, side in ((1, top), (-1, bottom.strip("()"))):
        for part in side.split():
            stem, _, raised = part.partition("^")
            if stem == "1":
                continue
            inner = powers(_COMPOUND[stem]) if stem in _COMPOUND else {stem: 1}
            found = dict(times(found, inner, sign * int(raised or 1)))
    return found


def times(one: Powers, other: Powers, exponent: int = 1) -> Powers:
    """One unit times a power of the other."""
    found = dict(one)
    for unit, power in other.items():
        found[unit] = found.get(unit, 0) + exponent * power
        if not found[unit]:
            del found[unit]
    return found


def dimension(unit: Powers) -> tuple[int, ...]:
    """Exponents of metre, kilogram, second, kelvin and ampere."""
    found = [0] * len(NONE)
    for name, power in unit.items():
        for place, exponent in enumerate(UNITS[_NAMES.get(name, name)].dimension):
            found[place] += exponent * power
    return tuple(found)


def in_si(unit: Powers) -> float:
    """How much one of a unit is in SI."""
    found = 1.0
    for name, power in unit.items():
        found *= UNITS[_NAMES.get(name, name)].factor ** power
    return found


def way(have: Powers, want: Powers) -> Way:
    """The conversions by which a number of one unit becomes a number of the other.

    NoWay if what a person knows does not lead there.
    """
    gap = times(have, want, -1)
    found = _few(frozenset(gap.items())) if gap else ()
    if found is None:
        raise NoWay(f"no way from {dict(have)} to {dict(want)}")
    return found


@lru_cache(maxsize=512)
def _few(gap: frozenset[tuple[str, int]]) -> Way | None:
    """Few figures that lead from a unit to none at all; None if there are none."""
    if any(dimension(dict(gap))):
        return None
    order = count()
    waiting: list[tuple[float, int, Powers, Way]] = [(0.0, next(order), dict(gap), ())]
    seen: set[frozenset[tuple[str, int]]] = set()
    while waiting and len(seen) < LONGEST_SEARCH:
        _, _, here, used = heappop(waiting)
        if not here:
            return used
        key = frozenset(here.items())
        if key in seen or len(used) == MOST:
            continue
        seen.add(key)
        for conversion, inside in _parts():
            if any(conversion is step for step, _ in used):
                continue
            for exponent in _clearing(here, inside):
                then = (*used, (conversion, exponent))
                left = times(here, inside, -exponent)
                told = sum(not step.silent for step, _ in then)
                if told > MOST_FIGURES:
                    continue
                spread = sum(map(abs, left.values()))
                heappush(waiting, (told + 0.6 * spread, next(order), left, then))
    return None


def _clearing(gap: Powers, inside: Powers) -> set[int]:
    """How often a conversion must be taken to clear a unit out of the gap, each way to do so."""
    found = set()
    for unit, power in inside.items():
        if unit in gap and not gap[unit] % power:
            found.add(gap[unit] // power)
    return found


@lru_cache(maxsize=1)
def _parts() -> tuple[tuple[Conversion, Powers], ...]:
    return tuple((c, times(powers(c.one), powers(c.other), -1)) for c in CONVERSIONS)
