"""A reader of the printed page with a pocket calculator: no formula of the kit is used here.

Equations are read from the MathML of the HTML page and worked with plain Python; units are
turned by factors that stand here, from memory (NIST SP 811; all exact but the Btu's).
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

GALLON, POUND, INCH, FOOT, PSI = 3.785411784e-3, 0.45359237, 0.0254, 0.3048, 6894.757293168
BTU = 1055.05585262
FACTORS = {
    "gal": GALLON, "fl oz": GALLON / 128, "gpm": GALLON / 60, "gpm at 1 psi": GALLON / 60,
    "L": 1e-3, "mL": 1e-6,
    "L/min": 1e-3 / 60, "mL/min": 1e-6 / 60, "m³": 1.0, "m³/s": 1.0, "m³/h": 1 / 3600,
    "gal/ft": GALLON / FOOT, "L/m": 1e-3,
    "lb": POUND, "kg": 1.0, "lb/ft³": POUND / FOOT**3, "kg/m³": 1.0, "mg/L": 1e-3,
    "psi": PSI, "bar": 1e5, "Pa": 1.0, "MPa": 1e6, "mL/bar": 1e-11, "m³/Pa": 1.0,
    "in": INCH, "ft": FOOT, "mm": 1e-3, "m": 1.0, "in²": INCH**2, "cm²": 1e-4, "m²": 1.0,
    "ft/s": FOOT, "m/s": 1.0, "s": 1.0, "min": 60.0, "h": 3600.0, "days": 86400.0,
    "1/min": 1 / 60, "1/s": 1.0,
    "Btu": BTU, "kWh": 3.6e6, "Wh": 3600.0, "J": 1.0, "kJ": 1e3,
    "W": 1.0, "MJ/kg": 1e6, "J/kg": 1.0,
    "Btu/(lb °F)": BTU / POUND * 1.8, "Btu/(h ft)": BTU / 3600 / FOOT,
    "Btu/(h ft °F)": BTU / 3600 / FOOT * 1.8, "h ft °F/Btu": 3600 * FOOT / BTU / 1.8,
    "kJ/(kg K)": 1e3, "J/(kg K)": 1.0,
    "mPa s": 1e-3, "Pa s": 1.0, "m K/W": 1.0, "W/(m K)": 1.0, "W/(m² K)": 1.0, "W/K": 1.0,
    "V": 1.0, "A": 1.0, "Ah": 3600.0, "A s": 1.0, "K": 1.0, "1/Pa": 1.0, "kg/s": 1.0,
    "kg/min": 1 / 60, "lb/min": POUND / 60,
    "fl oz/day": GALLON / 128 / 86400, "fl oz/psi": GALLON / 128 / PSI,
    "ft lbf": FOOT * POUND * 9.80665, "oz": POUND / 16, "g": 1e-3,
    "mg min/L": 60e-3, "kg s/m³": 1.0, "%": 0.01, "": 1.0, "N": 1.0, "lbf": POUND * 9.80665,
    "lb/ft": POUND / FOOT, "kg/m": 1.0, "kPa": 1e3, "W/m": 1.0, "Btu/lb": BTU / POUND,
    "day": 86400.0, "°F": 1 / 1.8, "°R": 1 / 1.8,
    "cm": 0.01, "kW": 1e3, "mPa": 1e-3, "MJ": 1e6, "mg": 1e-6,
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """A printed figure: its value in SI, and half a unit of its last place."""

    value: float
    half: float
    unit: str = ""

    def holds(self, other: float) -> bool:
        return abs(other - self.value) <= self.half * (1 + 1e-6) + 1e-15 * abs(self.value)


def figure(text: str, *, rise: bool = False) -> Figure:
    """A figure with its unit, such as ``1,234 psi``, ``3 1/4 in``, ``−8 °F`` or ``24 %``."""
    plain = text.replace("\u00a0", " ").replace("−", "-").strip()
    match = re.fullmatch(r"(-?)(?:(\d+) )?(\d+)/(\d+) ?(\D.*)?", plain)
    if match:
        sign, whole, top, bottom, unit = match.groups()
        factor = FACTORS[unit or ""]
        value = (int(whole or 0) + int(top) / int(bottom)) * (-1 if sign else 1)
        return Figure(value * factor, factor / 32, unit or "")
    match = re.fullmatch(r"(-?[\d.]+)(?:·10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))? ?(.*)", plain)
    if match is None:
        raise ValueError(f"no figure: {text!r}")
    digits, raised, unit = match.groups()
    power = int((raised or "0").translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")))
    number, half = float(digits) * 10.0**power, 0.5 * 10.0 ** (power - places(digits))
    if unit == "°F":
        offset = 0.0 if rise else 459.67 / 1.8
        return Figure(number / 1.8 + offset, half / 1.8, unit)
    if unit == "°C":
        return Figure(number + 273.15, half, unit)
    return Figure(number * FACTORS[unit], half * FACTORS[unit], unit)


def in_si(answer: Figure, letter: str) -> Figure:
    """An answer behind an equation in SI: a temperature counts from somewhere else."""
    if answer.unit == "°F" and not letter.startswith("Δ"):
        return Figure((answer.value + 459.67) / 1.8, answer.half / 1.8)
    if answer.unit == "°C":
        return Figure(answer.value + 273.15, answer.half)
    return Figure(answer.value * FACTORS[answer.unit], answer.half * FACTORS[answer.unit])


def conversion(text: str) -> tuple[Figure, float]:
    """The printed number of ``1 gal = 231 in³``, and what it is by the sizes of the units.

    Of ``°R = °F + 459.67`` what is added: water freezes at 273.15 K, 0 °C and 32 °F.
    """
    unit, _, added = text.partition(" + ")
    if added:
        freezes = {"K = °C": 273.15, "°R = °F": 273.15 * 1.8 - 32}[unit]
        return Figure(float(added), 0.5 * 10.0 ** -places(added)), freezes
    one, _, rest = text.removeprefix("1 ").partition(" = ")
    digits, _, other = rest.replace(",", "").partition(" ")
    half = 0.5 * 10.0 ** -places(digits) if "." in digits or float(digits) > 1e5 else 0.0
    return Figure(float(digits), half), size(one) / size(other)


def size(unit: str) -> float:
    """A unit such as ``lb ft/s²`` in SI, from the sizes of its parts."""
    if unit in FACTORS:
        return FACTORS[unit]
    top, _, bottom = unit.partition("/")
    found = 1.0
    for sign, side in ((1, top), (-1, bottom)):
        for part in side.split():
            stem = part.rstrip("²³")
            found *= FACTORS[stem] ** (sign * {"": 1, "²": 2, "³": 3}[part[len(stem) :]])
    return found


def places(digits: str) -> int:
    """Decimals of a printed number."""
    return len(digits.partition(".")[2])


# ---- mathematics -------------------------------------------------------------------

NAMES = {"ln": "log", "arccos": "acos", "arcsin": "asin", "arctan": "atan", "π": "pi"}
KNOWN = {name: getattr(math, name) for name in
         ("log", "log10", "exp", "sin", "cos", "tan", "acos", "asin", "atan", "tanh", "pi",
          "sqrt", "hypot")} | {"max": max, "min": min, "abs": abs}  # fmt: skip
SIGNS = {"−": "-", "·": "*", "+": "+", "(": "(", ")": ")", ",": ",", "/": "/"}


class Letters(ValueError):
    """A side of an equation that still holds letters."""


def python(node: ET.Element) -> str:
    """One node as a reader would key it in: figures without their units."""
    inside = list(node)
    if node.tag == "mtext":
        return ""
    if node.tag in ("math", "mrow"):
        return between(inside)
    if node.tag == "mfrac":
        return f"(({python(inside[0])})/({python(inside[1])}))"
    if node.tag == "msup":
        return f"(({python(inside[0])})**({python(inside[1])}))"
    if node.tag == "msqrt":
        return f"sqrt({between(inside)})"
    if node.tag == "mn":
        return node.text or ""
    if node.tag == "mo":
        return SIGNS[node.text or ""]
    if node.tag == "mi" and NAMES.get(node.text or "", node.text) in KNOWN:
        return NAMES.get(node.text or "", node.text or "")
    if node.tag == "msub" and "".join(node.itertext()) == "log10":
        return "log10"
    raise Letters("".join(node.itertext()))


def between(nodes: list[ET.Element]) -> str:
    """Nodes side by side; bars are the absolute value."""
    out, opened = [], False
    for node in nodes:
        if node.tag == "mo" and node.text == "|":
            out.append(")" if opened else "abs(")
            opened = not opened
        else:
            out.append(python(node))
    return "".join(out)


def calculated(nodes: list[ET.Element]) -> float:
    """What a calculator shows for a side in figures.  Letters if there are any."""
    return float(eval(between(nodes), {"__builtins__": {}}, dict(KNOWN)))


@dataclass
class Line:
    """One printed equation: the figures, the answer, and the answer in the reader's unit."""

    letter: str
    text: str
    by_hand: float | None
    answer: Figure
    told: str = ""


@dataclass
class Step:
    """The worked lines of one formula, with what each letter stands for.

    ``si`` are the same lines once more, behind the fold, where the first are in other units.
    """

    title: str
    lines: list[Line] = field(default_factory=list)
    si: list[Line] = field(default_factory=list)
    conversions: list[str] = field(default_factory=list)
    letters: dict[str, str] = field(default_factory=dict)


@dataclass
class Result:
    """One answer of a chapter with its worked steps."""

    chapter: str
    label: str
    answer: str
    note: str
    steps: list[Step]


def results(page: str) -> Iterator[Result]:
    """Every answer on the page."""
    for section in re.findall(r'<section id="c\d+">.*?</section>', page, re.DOTALL):
        chapter = _text(_one(r"<h2[^>]*>(.*?)</h2>", section))
        chapter = re.sub(r"^\d+", "", chapter)
        for article in re.findall(r'<article class="result">.*?</article>', section, re.DOTALL):
            yield Result(
                chapter,
                _text(_one(r"<h4>(.*?)</h4>", article)),
                _text(_one(r"<output>(.*?)</output>", article)),
                _text(_one(r'</output><p class="note">(.*?)</p>', article)),
                [_step(s) for s in article.split('<div class="steps">')[1:]],
            )


def _one(pattern: str, text: str) -> str:
    match = re.search(pattern, text, re.DOTALL)
    return match[1] if match else ""


def _text(markup: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", "", markup)).replace("\u00a0", " ").strip()


def _step(markup: str) -> Step:
    step = Step(_text(_one(r'<p class="title">(.*?)</p>', markup)))
    shown, _, folded = markup.partition('<details class="si">')
    step.lines = [line_of(p, five="In base SI units:" in shown) for p in _lines(shown)]
    step.si = [line_of(piece, five=True) for piece in _lines(folded)]
    known = re.findall(r'<p class="letters">(?!with)(.*?)</p>', shown, re.DOTALL)
    step.conversions = [one for text in known for one in _text(text).split("; ")]
    letters = _one(r'<p class="letters">with (.*?)</p>', markup)
    for span in re.findall(r"<span>(.*?)</span>", letters, re.DOTALL):
        letter, _, shown = _text(span).partition(" = ")
        step.letters[letter] = shown
    return step


def _lines(markup: str) -> list[str]:
    return re.findall(r'<div class="step">(.*?)</div>', markup, re.DOTALL)


def line_of(markup: str, *, five: bool) -> Line:
    """A printed equation; ``five`` where idle zeros of five figures are left off."""
    sides: list[list[ET.Element]] = []
    for piece in re.findall(r"<math.*?</math>", markup, re.DOTALL):
        nodes = list(ET.fromstring(html.unescape(piece).replace("&", "&amp;"))[0])
        found: list[list[ET.Element]] = [[]]
        for node in nodes:
            if node.tag == "mo" and node.text == "=":
                found.append([])
            else:
                found[-1].append(node)
        if "vp-on" in piece:  # goes on with a long side, behind an empty place
            sides[-1] += found[0][1:]
        else:
            sides += found if not sides else found[1:]
    told = ""
    if all(node.tag == "mtext" for node in sides[-1]):
        told = _joined(sides.pop())
    answer = sides[-1]
    unit = _joined([n for n in answer if n.tag == "mtext"])
    number = [n for n in answer if n.tag != "mtext"]
    by_hand = None
    if len(sides) > 2:
        try:
            by_hand = calculated(sides[-2])
        except Letters:
            if len(sides) > 3:
                raise
    if by_hand is not None and unit == "%":
        by_hand *= 100
    return Line(
        _joined(sides[0]),
        " = ".join(_joined(side) for side in sides),
        by_hand,
        _printed(number, unit, five=five),
        told,
    )


def _joined(nodes: list[ET.Element]) -> str:
    return "".join("".join(n.itertext()) for n in nodes).replace("\u00a0", " ").strip()


def _printed(nodes: list[ET.Element], unit: str, *, five: bool) -> Figure:
    """A printed answer, to its last place; of five figures, if more aren't printed, where so."""
    value = calculated(nodes)
    digits = "".join(nodes[0].itertext()).replace("−", "-").partition("·")[0]
    last = 10.0 ** -places(digits)
    if "·" in "".join(nodes[0].itertext()):
        last *= 10.0 ** round(math.log10(abs(value / float(digits))))
    if five and value:
        last = min(last, 10.0 ** (math.floor(math.log10(abs(value))) - 4))
    elif five:
        last = min(last, 1e-5)
    return Figure(value, last / 2, unit)


# ---- tables ------------------------------------------------------------------------


@dataclass(frozen=True)
class Table:
    """A printed table: heads with their units, and cells as texts."""

    heads: list[str]
    rows: list[list[str]]

    def place(self, head: str) -> int:
        """Where a column stands, by its head without the unit."""
        return next(n for n, h in enumerate(self.heads) if head in (h, h.rpartition(", ")[0]))

    def texts(self, head: str) -> list[str]:
        return [row[self.place(head)] for row in self.rows]

    def figures(self, head: str, *, rise: bool = False) -> list[Figure | None]:
        """A column in SI; None where a dash stands."""
        place = self.place(head)
        unit = self.heads[place].rpartition(", ")[2] if ", " in self.heads[place] else ""
        cells = [row[place] for row in self.rows]
        return [None if c == "–" else figure(f"{c} {unit}".strip(), rise=rise) for c in cells]


def table(page: str, title: str) -> Table:
    """The first table under a title that begins so.  StopIteration if there is none."""
    block = next(
        part
        for part in page.split("<h3>")[1:]
        if _text(part.partition("</h3>")[0]).startswith(title)
    )
    heads = [_text(h) for h in re.findall(r"<th[^>]*>(.*?)</th>", block, re.DOTALL)]
    body = block.partition("<tbody>")[2].partition("</tbody>")[0]
    rows = [
        [_text(c) for c in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)
    ]
    return Table(heads, rows)
