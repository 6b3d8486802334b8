"""The build's own values in the reader's units: which the file gave, and which are defaults."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from math import isclose
from typing import Any

from ..words.glossary import word
from ..words.quantity import QuantityError, split, unit_of
from ..words.show import show
from .escape import name, plain

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
    for kind in [f.name for f in fields(build)]:
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
    if len(told) > 8:
        return f"{', '.join(told[:6])} and {len(told) - 6} more"
    return ", ".join(told)
