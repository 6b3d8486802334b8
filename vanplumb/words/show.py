"""How a figure is shown to a reader: unit by system, and no more digits than are worth having."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeVar

from .glossary import INCH, Word, word
from .unit_text import unit_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

Figure = TypeVar("Figure", float, "NDArray[Any]")

SYSTEMS = ("US", "SI")

Rounding = Callable[[float], str]
HALVES_UP = 1 + 1e-12
"""Takes 9.15 to 9.2 as a reader does, whether a float holds it as a hair more or a hair less."""


def decimals(n: int) -> Rounding:
    """Always ``n`` decimals."""
    return lambda x: _plain(f"{x:.{n}f}")


def at_most(n: int) -> Rounding:
    """Up to ``n`` decimals, without idle zeros."""
    return lambda x: _plain(_trim(f"{x:.{n}f}"))


def figures(n: int) -> Rounding:
    """About ``n`` significant figures, never in powers of ten between 0.0001 and 1e6."""

    def rounded(x: float) -> str:
        if x == 0:
            return "0"
        size = math.floor(math.log10(abs(x)))
        if -5 <= size < 6:
            return _plain(_trim(f"{x:.{max(0, n - 1 - size)}f}"))
        mantissa, exponent = f"{x:.{n - 1}e}".split("e")
        return f"{_plain(_trim(mantissa))}·10{_super(int(exponent))}"

    return rounded


def steps(*levels: tuple[float, int]) -> Rounding:
    """Decimals by size: ``steps((10, 0), (1, 1), (0, 2))`` gives 38, 3.8, 0.38."""

    def rounded(x: float) -> str:
        for least, n in levels:
            if round(abs(x), n) >= least:
                return _plain(f"{x:.{n}f}")
        return _plain(f"{x:.{levels[-1][1]}f}")

    return rounded


def sixteenths(x: float) -> str:
    """Inches to the nearest 1/16, as a builder reads a tape."""
    ticks = round(abs(x) * 16)
    whole, part = divmod(ticks, 16)
    sign = "−" if x < 0 and ticks else ""
    if not part:
        return f"{sign}{whole}"
    share = Fraction(part, 16)
    text = f"{share.numerator}/{share.denominator}"
    return f"{sign}{whole} {text}" if whole else f"{sign}{text}"


def drill_size(diameter: float, system: str) -> str:
    """A hole by the bit that is sold for it: 64ths of an inch, or tenths of a millimetre."""
    if system != "US":
        return f"{diameter * 1000:.3g} mm"
    share = Fraction(round(diameter / INCH * 64), 64)
    whole, part = divmod(share.numerator, share.denominator)
    text = f"{part}/{share.denominator}" if part else ""
    return f"{whole} {text} in".replace("  ", " ") if whole else f"{text} in"


# kind: (US unit, its rounding, SI unit, its rounding)
_PSI = steps((10, 0), (1, 1), (0, 2))
_BAR = steps((10, 1), (0.1, 2), (0, 3))
_KINDS: dict[str, tuple[str, Rounding, str, Rounding]] = {
    "length": ("in", sixteenths, "mm", decimals(0)),
    "height": ("ft", at_most(2), "m", at_most(2)),
    "diameter": ("in", decimals(3), "mm", at_most(2)),
    "roughness": ("in", figures(3), "mm", figures(3)),
    "area": ("in^2", figures(3), "cm^2", figures(3)),
    "volume": ("gal", steps((100, 0), (1, 1), (0, 2)), "L", steps((100, 0), (1, 1), (0, 2))),
    "volume_small": ("fl oz", figures(3), "mL", figures(3)),
    "volume_per_length": ("gal/ft", figures(3), "L/m", figures(3)),
    "angle": ("°", decimals(0), "°", decimals(0)),
    "share": ("%", steps((10, 0), (0, 1)), "%", steps((10, 0), (0, 1))),
    "count": ("", at_most(2), "", at_most(2)),
    "number": ("", figures(4), "", figures(4)),
    "residual": ("", lambda x: f"{x:.0e}", "", lambda x: f"{x:.0e}"),
    "price": ("", decimals(2), "", decimals(2)),
    "reynolds": ("", lambda x: f"{x:.0f}", "", lambda x: f"{x:.0f}"),
    "mass": ("lb", steps((10, 0), (1, 1), (0, 2)), "kg", steps((100, 0), (1, 1), (0, 2))),
    "mass_small": ("oz", steps((10, 1), (0, 2)), "g", steps((10, 0), (0, 1))),
    "mass_per_length": ("lb/ft", figures(3), "kg/m", figures(3)),
    "force": ("lbf", figures(3), "N", figures(3)),
    "density": ("lb/ft^3", decimals(2), "kg/m^3", decimals(1)),
    "pressure": ("psi", _PSI, "bar", _BAR),
    "pressure_loss": ("psi", steps((10, 1), (0, 2)), "bar", _BAR),
    "acceleration": ("ft/s^2", figures(3), "m/s^2", figures(3)),
    "stress": ("psi", decimals(0), "MPa", figures(3)),
    "flow": ("gpm", decimals(2), "L/min", decimals(1)),
    "mass_flow": ("lb/min", decimals(2), "kg/min", decimals(2)),
    "velocity": ("ft/s", decimals(1), "m/s", decimals(2)),
    "viscosity": ("mPa s", figures(3), "mPa s", figures(3)),
    "viscosity_kinematic": ("mm^2/s", figures(4), "mm^2/s", figures(4)),
    "flow_coefficient": ("m^3/h", figures(3), "m^3/h", figures(3)),
    "duration": ("s", at_most(1), "s", at_most(1)),
    "frequency": ("1/min", at_most(1), "1/min", at_most(1)),
    "temperature": ("°F", decimals(0), "°C", at_most(1)),
    "rise": ("Δ°F", decimals(0), "K", at_most(1)),
    "specific_heat": ("Btu/(lb Δ°F)", decimals(3), "kJ/(kg K)", decimals(3)),
    "conductivity": ("Btu/(h ft Δ°F)", figures(3), "W/(m K)", figures(3)),
    "conductance": ("W/K", figures(3), "W/K", figures(3)),
    "conductance_per_length": ("Btu/(h ft Δ°F)", figures(3), "W/(m K)", figures(3)),
    "film_coefficient": ("W/(m^2 K)", figures(3), "W/(m^2 K)", figures(3)),
    "resistance_per_length": ("h ft Δ°F/Btu", figures(3), "m K/W", figures(3)),
    "per_kelvin": ("1/K", figures(3), "1/K", figures(3)),
    "specific_energy": ("MJ/kg", figures(4), "MJ/kg", figures(4)),
    "heat": ("Btu", decimals(0), "kWh", decimals(2)),
    "energy": ("Wh", decimals(0), "Wh", decimals(0)),
    "work": ("ft lbf", figures(3), "J", figures(3)),
    "power": ("W", decimals(0), "W", decimals(0)),
    "power_per_length": ("Btu/(h ft)", figures(3), "W/m", figures(3)),
    "voltage": ("V", at_most(1), "V", at_most(1)),
    "current": ("A", decimals(1), "A", decimals(1)),
    "charge": ("Ah", steps((10, 0), (0, 1)), "Ah", steps((10, 0), (0, 1))),
    "leak": ("fl oz/day", figures(3), "mL/min", figures(3)),
    "exposure": ("mg min/L", decimals(0), "mg min/L", decimals(0)),
    "compliance": ("fl oz/psi", figures(3), "mL/bar", figures(3)),
    "concentration": ("mg/L", at_most(1), "mg/L", at_most(1)),
}

_EXAMPLES: dict[str, str] = {
    "length": '"24 in" or "610 mm"',
    "height": '"3 ft" or "0.9 m"',
    "diameter": '"1/2 in" or "12.7 mm"',
    "volume": '"16 gal" or "60 L"',
    "mass": '"140 lb" or "64 kg"',
    "pressure": '"40 psi" or "2.8 bar"',
    "pressure_loss": '"2 psi" or "0.14 bar"',
    "flow": '"1.5 gpm" or "5.7 L/min"',
    "velocity": '"5 ft/s" or "1.5 m/s"',
    "flow_coefficient": '"1.5 m^3/h"',
    "duration": '"4 min" or "240 s"',
    "frequency": '"40 1/min"',
    "temperature": '"105 °F" or "41 °C"',
    "rise": '"9 Δ°F" or "5 K"',
    "power": '"1440 W" or "12000 Btu/h"',
    "energy": '"500 Wh"',
    "voltage": '"12 V"',
    "current": '"7.5 A"',
    "charge": '"100 Ah"',
    "share": '0.8 or "80 %"',
    "count": "2",
    "number": "0.62",
}


def _pick(name: str, system: str) -> tuple[str, Rounding]:
    us, us_round, si, si_round = _KINDS[word(name).kind] if name not in _KINDS else _KINDS[name]
    if system not in SYSTEMS:
        raise ValueError(f"system must be US or SI, got {system!r}")
    return (us, us_round) if system == "US" else (si, si_round)


def shown_in(name: str, system: str) -> tuple[str, Rounding]:
    """The unit that a word is shown in, as ``unit_of`` reads it, and how its figures are cut."""
    return _pick(name, system)


def unit(name: str, system: str) -> str:
    """The unit that a word is shown in, in print: ``"ft/s"``, ``"m³/h"``, or ``""``."""
    return pretty(_pick(name, system)[0])


def heading(label: str, name: str, system: str) -> str:
    """A label with the unit of what stands under it: ``"wait, s"``; alone if there is none."""
    mark = unit(name, system) if name else ""
    return f"{label}, {mark}" if mark else label


def value(number: Figure, name: str, system: str) -> Figure:
    """A value in SI, or an array of them, turned into the reader's unit."""
    shown = _pick(name, system)[0]
    if not shown:
        return number
    found = unit_of(shown)
    return (number - found.offset) / found.factor


def to_si(number: float, name: str, system: str) -> float:
    """A value in the reader's unit turned into SI."""
    shown, _ = _pick(name, system)
    if not shown:
        return number
    found = unit_of(shown)
    return number * found.factor + found.offset


def show(number: float | None, name: str, system: str = "SI", *, with_unit: bool = True) -> str:
    """A value in SI as a reader wants to see it: ``show(262000, "pressure", "US")`` is "38 psi".

    ``name`` is a glossary word or a kind of quantity.  None is shown as a dash.
    """
    if number is None or (isinstance(number, float) and math.isnan(number)):
        return "–"
    number = float(number)
    if math.isinf(number):
        return "−∞" if number < 0 else "∞"
    if with_unit and _pick(name, system)[0] == "s":
        return _time(number)
    shown, rounding = _pick(name, system)
    text = rounding(value(number, name, system) * HALVES_UP)
    if not with_unit or not shown:
        return text
    if shown == "ft" and 0 < abs(number) < 0.9:  # a builder takes a short rise off the tape
        return f"{sixteenths(number / INCH)} in"
    if shown == "Δ°F":
        return f"{text} °F"
    mark = pretty(shown)
    return f"{text}{mark}" if mark in ("°",) else f"{text} {mark}"


def to_figures(number: float, name: str, system: str, count: int = 2) -> str:
    """A value in SI to so many figures, where the usual digits hide what is told: −3.4 °F."""
    text = figures(count)(value(number, name, system) * HALVES_UP)
    return f"{text} {unit(name, system)}".strip()


def out_of_bounds(
    meant: Word, number: float, system: str = "SI", told: Callable[[float], str] | None = None
) -> str:
    """What a word's bounds ask for, if the value in SI is outside them; else an empty text.

    ``told`` says a limit otherwise than in the units of ``system``.
    """
    if meant.low <= number <= meant.high and not (meant.above and number == meant.low):
        return ""

    def said(limit: float) -> str:
        return told(limit) if told is not None else show(limit, meant.name, system)

    low = "0" if meant.low == 0 else said(meant.low)
    if math.isinf(meant.high):
        return f"must be above {low}" if meant.above else f"must be {low} or more"
    high = said(meant.high)
    return f"must be {high} or less" if math.isinf(meant.low) else f"must be {low} to {high}"


def capital(words: str) -> str:
    """With a capital at the front, the rest as it is."""
    return words[:1].upper() + words[1:]


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun: "1 finding", "8 findings"."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def together(names: Sequence[str]) -> str:
    """Names as one phrase: "tank, runs and heater"."""
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def first_of(names: Sequence[str], most: int = 6, between: str = ", ") -> str:
    """The first of many names, and how many more there are: "a, b and 17 more"."""
    shown = between.join(names[:most])
    return f"{shown} and {len(names) - most} more" if len(names) > most else shown


def example(kind: str) -> str:
    """How such a quantity is written, for an error message."""
    if kind in _EXAMPLES:
        return _EXAMPLES[kind]
    us, _, si, _ = _KINDS.get(kind, ("", figures(3), "", figures(3)))
    if us and us != si and "Δ" not in us:  # what is for a degree is read in SI only
        return f'"1 {pretty(us)}" or "1 {pretty(si)}"'
    return f'"1 {pretty(si)}"' if si else "0.5"


def pretty(text: str) -> str:
    """A unit as it is printed: ``m^3/h`` is m³/h."""
    for plain, raised in (("^2", "²"), ("^3", "³"), ("^4", "⁴")):
        text = text.replace(plain, raised)
    return text.replace("Δ°F", "°F")


def _time(seconds: float) -> str:
    return " ".join(clock(seconds))


def clock(seconds: float) -> tuple[str, str]:
    """A time as its size is told by: seconds, minutes, hours or days, with that unit."""
    size = abs(seconds)
    if 0 < size < 0.1:  # a wave's way through a run: two figures, or it would read as nothing
        places = min(1 - math.floor(math.log10(size)), 6)
        return _cut(seconds, places), "s"
    if size < 1:
        return _cut(seconds, 2), "s"
    if size < 99.5:
        return _cut(seconds, 1 if size < 20 else 0), "s"
    if size < 99.5 * 60:
        return _cut(seconds / 60, 1 if size < 600 else 0), "min"
    if size < 72 * 3600:
        return _cut(seconds / 3600, 1), "h"
    return _cut(seconds / 86400, 1), "days"


def _cut(value: float, places: int) -> str:
    return _plain(_trim(f"{value:.{places}f}"))


def _trim(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _plain(text: str) -> str:
    """A minus is a minus, and nothing is minus nothing."""
    if text.startswith("-"):
        return text[1:] if not text.strip("-0.") else "−" + text[1:]
    return text


def _super(n: int) -> str:
    return str(n).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))
