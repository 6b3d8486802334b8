"""The kinds of entry that a sheet is made of: every text shown in the reader's units.

Pictures on a sheet: their size on paper, and an SVG that does nothing but show.
The build's own values in the reader's units: which the file gave, and which are defaults.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from math import isclose
from typing import Any
from xml.etree import ElementTree

from ..van.model import LISTS, SECTIONS
from ..words.glossary import word
from ..words.quantity import QuantityError, split, unit_of
from ..words.report import Picture
from ..words.show import first_of, show
from .escape import name, plain

SVG = "http://www.w3.org/2000/svg"
LINK = "http://www.w3.org/1999/xlink"
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([0-9.]+)\s*(mm|cm|in|pt|pc)\s*")
_DOCTYPE = re.compile(r"<!DOCTYPE[^>\[]*>", re.IGNORECASE)
_OUTSIDE = re.compile(r"url\(\s*['\"]?(?!#)[^)]*\)|@import[^;]*;?|expression\s*\(", re.IGNORECASE)
_OWN_ID = re.compile(r"url\(\s*['\"]?#([^)'\"]+)['\"]?\s*\)")
_HARMFUL = {"script", "foreignobject", "iframe", "animate", "set", "animatetransform"} | {
    "handler",
    "metadata",
    "audio",
    "video",
}

ElementTree.register_namespace("", SVG)
ElementTree.register_namespace("xlink", LINK)


@dataclass(frozen=True)
class Drawing:
    """A picture with its size in mm if it has one (0 if not), and why it is not shown if so.

    ``units`` is the width of its view box, from which a picture without a size gets one.
    """

    key: str
    caption: str
    svg: str
    width: float
    height: float
    units: float = 0.0
    problem: str = ""


def drawing(picture: Picture, key: str) -> Drawing:
    """A picture that is fit to stand in a page: no scripts, no links out, ids of its own."""
    caption = plain(picture.caption)
    try:
        root = _parsed(picture.svg)
    except (ElementTree.ParseError, ValueError) as error:
        return Drawing(
            key, caption, "", 0.0, 0.0, problem=f"This picture can't be shown: {plain(error)}"
        )
    width, height = (_millimetres(root.get(side, "")) for side in ("width", "height"))
    _clean(root, key)
    if "viewBox" not in root.attrib and width and height:
        root.set("viewBox", f"0 0 {_pixels(root.get('width'))} {_pixels(root.get('height'))}")
    root.set("id", key)
    text = ElementTree.tostring(root, encoding="unicode")
    return Drawing(key, caption, text, width, height, _box_width(root))


def _parsed(svg: str) -> ElementTree.Element:
    text = _DOCTYPE.sub("", svg)
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise ValueError("it declares entities")
    root = ElementTree.fromstring(text)
    if root.tag != f"{{{SVG}}}svg":
        raise ValueError("it is not an SVG")
    return root


def _millimetres(size: str) -> float:
    match = _SIZE.fullmatch(size)
    return float(match[1]) * _MM[match[2]] if match else 0.0


def _box_width(root: ElementTree.Element) -> float:
    numbers = re.findall(r"[-+0-9.eE]+", root.get("viewBox", ""))
    try:
        return max(0.0, float(numbers[2])) if len(numbers) == 4 else 0.0
    except ValueError:
        return 0.0


def _pixels(size: str | None) -> str:
    return f"{_millimetres(size or '') / 25.4 * 96:g}"


def _clean(root: ElementTree.Element, key: str) -> None:
    """Take out what could act or reach outside, and give each id the picture's own name."""
    for parent in list(root.iter()):
        for child in list(parent):
            if not isinstance(child.tag, str) or _local(child.tag).lower() in _HARMFUL:
                parent.remove(child)
    for element in root.iter():
        for attribute, value in list(element.attrib.items()):
            kept = _attribute(_local(attribute), value, key)
            if kept is None:
                del element.attrib[attribute]
            elif kept != value:
                element.set(attribute, kept)
        if _local(element.tag) == "style" and element.text:
            element.text = _OUTSIDE.sub("none", _owned(element.text, key))


def _attribute(attribute: str, value: str, key: str) -> str | None:
    """The attribute's value as it may stay, or None if it has to go."""
    if attribute.lower().startswith("on"):
        return None
    if attribute == "id":
        return f"{key}-{value}"
    if attribute == "href":
        if value.startswith("#"):
            return f"#{key}-{value[1:]}"
        return value if value.startswith("data:image/png;base64,") else None
    return _OUTSIDE.sub("none", _owned(value, key)) if "(" in value else value


def _owned(text: str, key: str) -> str:
    return _OWN_ID.sub(lambda match: f"url(#{key}-{match[1]})", text)


def _local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]


SINGLES = ("van", "crew", "battery", "fuel", "board", "shop", "limits")
WRITTEN = {"start": "from", "end": "to"}  # fields whose key in the file is another word
NUMBERED = ("run", "stock")  # parts that a reader finds by their place in the file
_NAMED = ("name", "note", "manifold", "from", "to")  # told by the name of the part


@dataclass(frozen=True)
class Part:
    """One component or heading of the build file with the values that the file gave it."""

    kind: str
    name: str
    values: tuple[tuple[str, str, str], ...]  # label, figure shown, as written if that says more


@dataclass(frozen=True)
class Default:
    """One value that nobody gave, with its basis and all the parts that it stands in for."""

    kind: str
    label: str
    value: str
    basis: str
    where: str


@dataclass(frozen=True)
class _Value:
    kind: str
    part: str
    key: str
    entry: Any
    value: Any
    written: str | None


def given_of(build: Any) -> tuple[Part, ...]:
    """The values that the build file states, part by part, in the order of the file's kinds.

    Parts of which it states only the name stand at the end, a line for each kind.
    """
    parts: dict[tuple[str, str], list[tuple[str, str, str]]] = {}
    for one in _values(build):
        parts.setdefault((one.kind, one.part), [])
        if one.written is None or one.key in _NAMED or _empty(one.value):
            continue
        shown = _shown(one, build.van.units)
        rounded = one.entry.kind == "quantity" and not _exact(one.value, shown, one.entry.word)
        written = plain(one.written, 80) if rounded else ""
        parts[one.kind, one.part].append((_label(one.key), shown, written))
    bare: dict[str, list[str]] = {}
    for (kind, part), values in parts.items():
        if part and not values:
            bare.setdefault(kind, []).append(name(part))
    told = [Part(_label(k), name(p), tuple(v)) for (k, p), v in parts.items() if v]
    told += [Part(_label(k), "", (("", ", ".join(names), ""),)) for k, names in bare.items()]
    return tuple(told)


def defaults_of(build: Any) -> tuple[Default, ...]:
    """The defaults that stand on the sheet, alike ones together."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    whole: dict[str, set[str]] = {}
    for one in _values(build):
        whole.setdefault(one.kind, set()).add(one.part)
        if one.written is not None or not _matters(one):
            continue
        basis = plain(one.entry.basis or "usual")
        shown = _shown(one, build.van.units)
        found.setdefault((one.kind, _label(one.key), shown, basis), []).append(one.part)
    return tuple(
        Default(_label(kind), label, shown, basis, _places(kind, where, len(whole[kind])))
        for (kind, label, shown, basis), where in found.items()
    )


def _values(build: Any) -> Iterator[_Value]:
    for kind in [f.name for f in fields(build) if f.name in (*SECTIONS, *LISTS)]:
        held = getattr(build, kind)
        many = isinstance(held, tuple)
        if held is None or not (many or kind in SINGLES):
            continue
        for place, part in enumerate(held if many else (held,), 1):
            part_name = _part_name(kind, part, place) if many else ""
            label = build.label(part)
            for one in fields(part):
                key = WRITTEN.get(one.name, one.name)
                written = build.given.get(f"{label}.{key}")
                entry = one.metadata["entry"]
                yield _Value(kind, part_name, key, entry, getattr(part, one.name), written)


def _part_name(kind: str, part: Any, place: int) -> str:
    if kind == "run":
        return f"{place}: {part.start} → {part.end}"
    if kind == "zone":
        return f"{part.manifold}.{part.name}"
    told = getattr(part, "name", "") or getattr(part, "tube", "")
    return f"{place}: {told}" if kind in NUMBERED else str(told)


def _matters(one: _Value) -> bool:
    """A default is worth a line if it is a figure, a choice or a yes or no that can be wrong."""
    if _empty(one.value) or one.key in ("name", "note", "units"):
        return False
    if one.entry.basis:
        return True
    if one.entry.kind in ("quantity", "number", "count"):
        return bool(one.value)
    return one.entry.kind in ("choice", "flag", "row")


def _empty(value: Any) -> bool:
    return value is None or value == "" or value == ()


def _shown(one: _Value, units: str) -> str:
    value = one.value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if one.entry.kind in ("quantity", "number") and one.entry.word:
        return show(value, one.entry.word, units)
    if isinstance(value, tuple):
        return plain(", ".join(_item(v, one.entry.word, units) for v in value), 200)
    return plain(value, 200)


def _item(value: Any, word: str, units: str) -> str:
    if isinstance(value, tuple):
        return f"{value[1]} × {value[0]}"
    return show(value, word, units) if word and isinstance(value, float) else str(value)


def _label(key: str) -> str:
    return "Kv" if key == "kv" else key.replace("_", " ")


def _exact(value: float, shown: str, word_name: str) -> bool:
    """Whether a shown figure is the value itself, or has lost something on the way."""
    try:
        number, unit_text = split(shown)
        unit = unit_of(unit_text)
    except QuantityError:
        return False
    offset = 0.0 if word(word_name).is_rise else unit.offset
    return isclose(number * unit.factor + offset, value, rel_tol=1e-6, abs_tol=1e-12)


def _places(kind: str, where: list[str], whole: int) -> str:
    """Names of the parts; a long list is cut and says how many there are."""
    if len(where) == whole > 3:
        return f"all {whole}"
    told = [w.split(":")[0] if kind in NUMBERED else name(w) for w in where if w]
    return first_of(told, 6 if len(told) > 8 else 8)


@dataclass(frozen=True)
class Fact:
    """A label with its figure, and where the figure comes from."""

    label: str
    value: str
    basis: str = ""
    note: str = ""
    chapter: int = 0


@dataclass(frozen=True)
class Steps:
    """One worked formula: its lines and letters as mathematics for typst and for a browser.

    ``letters`` holds, for each input, the letter twice, its meaning and its figure.
    ``solved`` says what an equation was solved for; its last line is then the residual.
    The lines are in the reader's units with the ``conversions`` that they hold, and the same in
    base SI units besides; or, with ``only_si``, there is no other way to work them.
    """

    title: str
    typst: tuple[str, ...]
    mathml: tuple[str, ...]
    letters: tuple[tuple[str, str, str, str], ...]
    source: str
    solved: str = ""
    conversions: tuple[str, ...] = ()
    si_typst: tuple[str, ...] = ()
    si_mathml: tuple[str, ...] = ()
    only_si: bool = False


@dataclass(frozen=True)
class Result:
    """An answer with everything that led to it."""

    label: str
    value: str
    steps: tuple[Steps, ...]
    basis: str
    note: str


@dataclass(frozen=True)
class Remark:
    """A caution beside the figures: one of the four severities and a text."""

    level: str
    text: str


@dataclass(frozen=True)
class Notice:
    """A finding of the review."""

    rule: str
    level: str
    what: str
    where: str
    value: str
    limit: str
    source: str
    advice: str


@dataclass(frozen=True)
class Urgent:
    """What opens the sheet of the review: one thing and all the places where it was found."""

    level: str
    what: str
    where: str


@dataclass(frozen=True)
class Rows:
    """A table as it is read: heads with their units, cells as text."""

    title: str
    heads: tuple[str, ...]
    right: tuple[bool, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str
    file: str
    size: float  # of its letters on paper, pt
    widths: tuple[float, ...]  # of its columns on paper, em
    one_line: tuple[bool, ...]  # for each row, whether it surely has one line on paper
    key: str = ""
    by_hand: bool = False  # whether it is written in on paper, so that its rows are higher
    asks: str = ""  # above it, which then keeps to one page


@dataclass(frozen=True)
class Section:
    """One chapter, ready to print."""

    number: int
    key: str
    title: str
    basis: tuple[str, ...]
    inputs: tuple[Fact, ...]
    results: tuple[Result, ...]
    grids: tuple[Rows, ...]
    pictures: tuple[Drawing, ...]
    cautions: tuple[Remark, ...]
    not_computed: tuple[str, ...]
    new_page: bool  # whether it begins a page of its own


@dataclass(frozen=True)
class Sheet:
    """The whole sheet."""

    title: str
    subject: str
    builder: str
    file: str
    mark: str
    units: str
    version: str
    revision: str
    date: str
    note: str
    remark: str
    standing: tuple[str, ...]
    cautions: tuple[Remark, ...]
    answers: tuple[Fact, ...]
    counts: tuple[tuple[str, int, str], ...]
    urgent: tuple[Urgent, ...]
    more: str
    findings: tuple[Notice, ...]
    given: tuple[Part, ...]
    defaults: tuple[Default, ...]
    sections: tuple[Section, ...]
    sources: tuple[tuple[str, str, str], ...]
    pages: str
    signing: str
    signers: tuple[str, ...] = ("Designed by", "Checked by")
    form: str = "calculation sheet"
    mark_of: str = "Build mark"  # what the mark tells apart
    depth: str = "all"  # "one": page one; "short": answers and drawings
    opening: Section | None = None  # a page before all others that is laid out by itself
    whole: bool = True  # False for a single calculation: no review, no inputs of the build
