"""The fields of one part in a form: what each key means, what it holds, what it may be.

They are made from the same declarations as the reader and the template, so that a new key is in
all of them.  What is typed is taken as a field takes it: a bare number has the unit that is shown.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, replace
from typing import Any

from ...words.glossary import word
from ...words.quantity import QuantityError, split
from ...words.quantity import read as read_quantity
from ...words.show import show, unit, value
from ...words.tables import Table, table
from ...words.typed import tidy, typed
from ..entries import Entry, entries
from ..file.template import explain, quantity, sample
from ..file.values import ValueProblem, as_written, read_value
from ..improbable import did_you_mean
from ..model import LISTS, SECTIONS
from ..port_ends import port_names
from ..region import usual_region
from .blocks import Block, FormError
from .sketch import Sketch

MANY = ("quantities", "texts", "references", "counts_of_rows", "ends")


@dataclass(frozen=True)
class Field:
    """One key of a part.  ``text`` is what the file says, ``usual`` what holds if it is silent.

    ``options`` are what it may be, ``free`` whether anything else may be typed as well.
    ``problem`` is what is wrong with it, ``doubt`` what it may have been meant to be, with the
    texts that would say so.
    """

    key: str
    kind: str
    label: str
    text: str
    usual: str
    unit: str
    about: str
    options: tuple[str, ...] = ()
    free: bool = False
    required: bool = False
    problem: str = ""
    doubt: str = ""
    instead: tuple[str, ...] = ()

    @property
    def given(self) -> bool:
        return bool(self.text)


def fields(look: Sketch, block: Block) -> tuple[Field, ...]:
    """The fields of a part, in the order of its declaration; unknown keys of the text last."""
    units = look.build.van.units if look.build is not None else "US"
    region = (look.build.van.region if look.build is not None else "") or usual_region(units)
    declared = entries(SECTIONS.get(block.kind) or LISTS[block.kind])
    found = []
    for key, (_, entry, default) in declared.items():
        text = as_written(block.values[key]) if key in block.values else ""
        doubt, instead = _doubt(block.kind, key, entry, text, units)
        found.append(
            Field(
                key,
                entry.kind,
                key.replace("_", " "),
                text,
                _usual(block.kind, key, entry, default, units, region),
                unit(entry.word, units) if entry.kind == "quantity" else "",
                _about(block.kind, key, entry, default, units),
                tuple(_options(look, key, entry)),
                entry.kind in ("row", "reference") or entry.kind in MANY,
                entry.required,
                _problem(look, block, key),
                doubt,
                instead,
            )
        )
    for key in block.values:
        if key not in declared:
            text = as_written(block.values[key])
            told = _problem(look, block, key)
            found.append(Field(key, "unknown", key, text, "", "", "no key of it", problem=told))
    return tuple(found)


def doubted(look: Sketch, block: Block, field: Field, typed: str) -> Field:
    """The field with what a text that was typed, and not taken, may have been meant to be."""
    units = look.build.van.units if look.build is not None else "US"
    declared = entries(SECTIONS.get(block.kind) or LISTS[block.kind])
    if field.key not in declared:
        return field
    doubt, instead = _doubt(block.kind, field.key, declared[field.key][1], typed, units)
    return replace(field, doubt=doubt, instead=instead)


def wrong_with(look: Sketch, block: Block) -> str:
    """What is wrong with a part as a whole, or with a key that it does not say."""
    own = [p for p in look.problems if p.path == block.label]
    return "; ".join(p.message for p in own)


def _problem(look: Sketch, block: Block, key: str) -> str:
    path = f"{block.label}.{key}"
    return "; ".join(p.message for p in look.problems if p.path == path)


def _about(kind: str, key: str, entry: Entry, default: Any, units: str) -> str:
    """What a key means, without what the field itself shows: its choices and its default."""
    shown = ("default", "must be given", "rows of the table", "if not said ")
    parts = explain(kind, key, entry, default, units).split("; ")
    left = [p for p in parts if not p.startswith(shown) and p != " | ".join(entry.options)]
    return "; ".join(left)


def _usual(kind: str, key: str, entry: Entry, default: Any, units: str, region: str) -> str:
    """What holds if the file is silent; for what has no default, an example.

    In the unit that is shown beside it, since that is what a bare number there has.
    """
    if default is not MISSING and default not in (None, "", ()):
        if entry.kind == "quantity":
            return _in_shown(quantity(default, entry.word, units), entry.word, units)
        return as_written(default)
    if entry.kind in ("quantity", "number", "quantities", "counts_of_rows", "ends", "texts"):
        said = sample(kind, key, entry, default, units, region).strip('"')
        if entry.kind == "quantity":
            said = _in_shown(said, entry.word, units)
        if entry.kind == "quantities":
            said = ", ".join(
                _in_shown(one, entry.word, units) for one in tomllib.loads(f"x = {said}")["x"]
            )
        if entry.kind == "counts_of_rows":
            said = ", ".join(f"{n} × {one}" for one, n in tomllib.loads(f"x = {said}")["x"].items())
        if entry.kind == "ends":  # as the form takes them, port and end
            said = said.strip("{} ").replace('" = "', ": ").replace('"', "")
        return f"such as {said}" if said not in ("[]", "0.5") else ""
    return ""


def _in_shown(said: str, name: str, units: str) -> str:
    """A quantity in the unit that a field shows, to two or three figures."""
    mark, shown = split(said)[1], unit(name, units)
    if not shown or mark in (shown, f"Δ{shown}"):
        return said
    si = read_quantity(said, name)
    if word(name).kind == "flow_coefficient":  # a file's example says it in gallons a minute
        return show(si, name, units)
    return quantity(si, name, units)


def _options(look: Sketch, key: str, entry: Entry) -> Iterator[str]:
    build = look.build
    if entry.kind == "choice":
        yield from (("",) if not entry.required else ())
        yield from (o for o in entry.options if o)
    elif entry.kind == "flag":
        yield from ("", "true", "false")
    elif entry.kind == "row" and build is not None:
        yield from table(entry.table, build.rows)
    elif entry.kind in ("reference", "references") and build is not None:
        if key in ("grey", "in_tank"):
            holds = "grey" if key == "grey" else "fresh"
            yield from (t.name for t in build.tank if t.name and t.holds == holds)
        elif key == "manifold":
            yield from (m.name for m in build.manifold if m.name)
        elif key in ("fixture", "open"):
            yield from (f.name for f in build.fixture if f.name)
        else:
            yield from _pointers(look, leaving=key == "from")


def _pointers(look: Sketch, *, leaving: bool) -> Iterator[str]:
    build = look.build
    assert build is not None
    for part in build.components:
        outs = tuple(z.name for z in build.zones(part.name)) or part.outlets
        ports = outs if leaving else part.inlets
        if not part.name or not ports:
            continue
        if len(ports) == 1:
            yield part.name if not leaving or part.outlets else f"{part.name}.{ports[0]}"
        else:
            yield from (f"{part.name}.{port}" for port in ports)


def _doubt(kind: str, key: str, entry: Entry, text: str, units: str) -> tuple[str, tuple[str, ...]]:
    """What a value may have been meant to be, if it is improbable."""
    if entry.kind != "quantity" or not text:
        return "", ()
    try:
        si = read_quantity(text, entry.word)
    except QuantityError:
        return "", ()
    found = did_you_mean(kind, key, entry.word, si, text, units)
    return (found.told, found.instead) if found is not None else ("", ())


# from what was typed to what the file holds


def taken(look: Sketch, block: Block, key: str, said: str) -> Any:
    """What a file holds for what was typed in a field; None for nothing.

    FormError with the reason if it can't be taken.
    """
    units = look.build.van.units if look.build is not None else "US"
    declared = entries(SECTIONS.get(block.kind) or LISTS[block.kind])
    text = said.strip()
    if not text:
        return None
    if key not in declared:
        raise FormError(f"{key} is no key of this part")
    entry = declared[key][1]
    found = _as_held(look, block, entry, text, units)
    try:
        read_value(found, entry, _tables(look))
    except ValueProblem as problem:
        raise FormError(f"{key.replace('_', ' ')} {problem}") from None
    return found


def _tables(look: Sketch) -> Any:
    rows = look.build.rows if look.build is not None else None

    def of(name: str) -> Table:
        return table(name, rows)

    return of


def _as_held(look: Sketch, block: Block, entry: Entry, text: str, units: str) -> Any:
    kind = entry.kind
    if kind == "quantity":
        return with_unit(text, entry.word, units)
    if kind == "number":
        return _bare(text)
    if kind == "count":
        return int(text) if re.fullmatch(r"[-+]?\d{1,9}", text) else text
    if kind == "flag":
        known = {"true": True, "yes": True, "false": False, "no": False}
        return known.get(text.lower(), text)
    if kind == "quantities":
        return [with_unit(one, entry.word, units) for one in _parts(text)]
    if kind in ("texts", "references"):
        return _parts(text)
    if kind == "counts_of_rows":
        return dict(_counted(one) for one in _parts(re.sub(r'["{}]', "", text)))
    if kind == "ends":
        return dict(_end(one, look, block) for one in _parts(text))
    return text


def with_unit(text: str, name: str, units: str) -> str:
    """A quantity as a file holds it: with its unit, the one that is shown where none was typed.

    FormError if it is none.
    """
    try:
        if word(name).is_rise:
            return _rise(" ".join(text.split()), name, units)
        si = typed(text, name, units)
        mark = split(text)[1]
    except QuantityError as error:
        raise FormError(str(error)) from None
    clean = " ".join(text.split())
    if not mark and unit(name, units):
        return f"{clean} {unit(name, units)}"
    for one in (clean, tidy(clean, name)):
        try:
            if abs(read_quantity(one, name) - si) <= 1e-9 * max(abs(si), 1e-9):
                return one
        except QuantityError:
            continue
    return f"{value(si, name, units):.6g} {unit(name, units)}".strip()


def _rise(text: str, name: str, units: str) -> str:
    """A difference of temperatures as a file holds it: degrees can be no others here.

    QuantityError if it is none.
    """
    number, mark = split(tidy(text, "temperature"))
    system = {"°F": "US", "°C": "SI", "": units}.get(mark)
    if system is not None:
        text = f"{number:.12g} {'Δ°F' if system == 'US' else 'K'}"
    read_quantity(text, name)
    return text


def _bare(text: str) -> Any:
    try:
        number = float(text)
    except ValueError:
        return text
    return int(number) if number == int(number) and "." not in text else number


def _parts(text: str) -> list[str]:
    return [one for one in (p.strip() for p in re.split(r"[,;\n]", text)) if one]


def _counted(text: str) -> tuple[str, int]:
    """A number of something: "2 × elbow 90", "2 elbow 90", "elbow 90 × 2", "elbow"."""
    if match := re.fullmatch(r"(\d{1,4})(?:\s*[×x*]\s*|\s+(?=\D))(.+)", text):
        return match[2].strip(), int(match[1])
    if match := re.fullmatch(r"(.+?)\s*(?:[×*=]|\bx)\s*(\d{1,4})", text):  # = as in a file
        return match[1].strip(), int(match[2])
    return text, 1


def _end(text: str, look: Sketch, block: Block) -> tuple[str, str]:
    """A port and its end: "inlet: 1/2 in NPT male plastic"."""
    port, colon, end = text.partition(":")
    if colon:
        return port.strip(), end.strip()
    build = look.build
    part = next((c for c in build.components if c.name == block.name), None) if build else None
    ports = port_names(build, part) if build is not None and part is not None else ("inlet",)
    raise FormError(f'needs the port before each end, such as "{ports[0]}: {text}"')
