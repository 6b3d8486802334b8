"""Changing a build file in steps: add, put between, take out, rename, join, set; and back again.

Each step takes the text as it stands, on the screen or from a file, and gives the new one: what is
not touched stays to the letter.  A step that can't be done says why and changes nothing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from ...words.quantity import QuantityError
from ...words.quantity import read as read_quantity
from ...words.show import show
from ...words.tables import table
from ..entries import entries
from ..file.template import sample
from ..file.values import ValueProblem, name_of
from ..model import LISTS, SECTIONS, Build
from ..parts import COMPONENTS, Component, Fixture, Manifold
from ..pointers import kind_of, ports
from ..problems import quoted
from .blocks import Block, FormError, block_of, blocks, put_value, read, with_block, without_blocks
from .kit import MEASURE
from .sketch import Sketch, sketch

MOST_UNDO = 200
ESTIMATE = {"US": ("3 ft", "1 ft"), "SI": ("0.9 m", "0.3 m")}
"""Length of a run that nobody measured: a new one, and the half of one that can't be read."""
STARTERS: Mapping[str, tuple[str, ...]] = {
    # keys beside the required ones that a part needs to be whole
    "tank": ("length", "width", "height"),
    "pump": ("curve",),
    "heater": ("volume", "element_power", "element_voltage"),
    "use": ("per_person", "duration"),
}
IN_LINE = (
    "strainer", "pump", "check_valve", "shut_off", "line_part", "regulator", "heater", "tee",
)  # fmt: skip
"""Parts that a run can be led through."""


@dataclass(frozen=True)
class Hanging:
    """What goes with a part: the places of what is taken out, and in words what happens."""

    gone: tuple[Block, ...]
    told: tuple[str, ...]


@dataclass
class Form:
    """A text on its way, with what was before each step.  ``text`` may be set from outside."""

    text: str
    _before: list[str] = field(default_factory=list)
    _after: list[str] = field(default_factory=list)

    def take(self, text: str) -> None:
        """Another text, typed beside the form: it can be undone as a step can."""
        self._to(text)

    @property
    def can_undo(self) -> bool:
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        return bool(self._after)

    def undo(self) -> None:
        """Back to the text before the last step.  FormError if there was none."""
        if not self._before:
            raise FormError("there is nothing to undo")
        self._after.append(self.text)
        self.text = self._before.pop()

    def redo(self) -> None:
        """The step once more that was undone.  FormError if there is none."""
        if not self._after:
            raise FormError("there is nothing to do again")
        self._before.append(self.text)
        self.text = self._after.pop()

    def _to(self, text: str) -> None:
        if text == self.text:
            return
        self._before.append(self.text)
        del self._before[:-MOST_UNDO]
        self._after.clear()
        self.text = text

    # the steps, each of which gives in words what was done

    def set(self, label: str, key: str, value: Any) -> str:
        """One value of one part, as TOML holds it; None takes the key out."""
        if label in SECTIONS and not any(b.label == label for b in blocks(self.text)):
            text = with_block(self.text, label, {} if value is None else {key: value})
        else:
            text = put_value(self.text, block_of(self.text, label).place, key, value)
        self._to(text)
        return f"{label}.{key} is not said any more" if value is None else f"{label}.{key} is set"

    def add(self, kind: str, name: str = "", given: Mapping[str, Any] | None = None) -> str:
        """One more part, with what it needs at least, typical; gives its label."""
        text, label = added(self.text, kind, name, given)
        self._to(text)
        return label

    def put_into(self, run: str, kind: str, name: str = "") -> str:
        """A part into a run, which becomes two; gives the part's label.  A section is no part."""
        text, label = put_between(self.text, run, kind, name)
        self._to(text)
        return label

    def remove(self, label: str) -> tuple[str, ...]:
        """A part and what hangs on it; gives in words what went.  See ``hanging``."""
        text, told = removed(self.text, label)
        self._to(text)
        return told

    def rename(self, label: str, name: str) -> str:
        """Another name for a part wherever the file names it; gives the new label."""
        text, new = renamed(self.text, label, name)
        self._to(text)
        return new

    def connect(self, start: str, end: str) -> str:
        """A run from a part to a part; gives its label.  See ``connected``."""
        text, label = connected(self.text, start, end)
        self._to(text)
        return label


def units_of(text: str) -> str:
    """The units of the reader, US if the text says none."""
    said = read(text).get("van")
    units = said.get("units") if isinstance(said, dict) else None
    return units if units in ("US", "SI") else "US"


def free_name(text: str, wanted: str) -> str:
    """The name itself, or with a number behind it if a part has it."""
    taken = {b.name for b in blocks(text)}
    name, number = wanted, 2
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name


def good_name(name: str) -> str:
    """A name as a file takes it.  FormError if it is none."""
    try:
        return name_of(" ".join(name.split()))
    except ValueProblem as problem:
        raise FormError(f"the name {problem}") from None


def added(
    text: str, kind: str, name: str = "", given: Mapping[str, Any] | None = None
) -> tuple[str, str]:
    """The text with one more part or section, and the label of it."""
    if kind in SECTIONS:
        if any(b.kind == kind for b in blocks(text)):
            raise FormError(f"there is a [{kind}] already")
        return with_block(text, kind, {**_needed(text, kind), **(given or {})}), kind
    if kind not in LISTS:
        raise FormError(f"there is no kind {quoted(kind)}")
    values = {**_needed(text, kind), **(given or {})}
    if "name" in entries(LISTS[kind]):
        wanted = good_name(name) if name.strip() else kind.replace("_", " ")
        zone = kind == "zone"
        values["name"] = wanted if zone else free_name(text, wanted)
        if name.strip() and values["name"] != wanted:
            raise FormError(f"there is a {quoted(wanted)} already: choose another name")
    new = with_block(text, kind, values)
    same = [b for b in blocks(new) if b.kind == kind]
    old = {b.label for b in blocks(text)}
    fresh = [b for b in same if b.label not in old] or same[-1:]
    return new, fresh[-1].label


def _needed(text: str, kind: str) -> dict[str, Any]:
    """What a part of a kind has to say, with what a new file shows for it."""
    units = units_of(text)
    part = SECTIONS.get(kind) or LISTS[kind]
    found: dict[str, Any] = {}
    for key, (_, entry, default) in entries(part).items():
        if key == "name":
            found[key] = ""
        elif entry.kind == "reference" and entry.required:
            found[key] = next(iter(_known(text, kind, key)), "")
        elif entry.required or key in STARTERS.get(kind, ()):
            found[key] = tomllib.loads(f"x = {sample(kind, key, entry, default, units)}")["x"]
    if kind in ("manifold", "run", "stock") and (tube := _usual_tube(text)):
        found["tube"] = tube
    return found


def _known(text: str, kind: str, key: str) -> Iterator[str]:
    """Names that a required reference may have."""
    wanted = {("zone", "manifold"): "manifold", ("use", "fixture"): "fixture"}.get((kind, key), "")
    yield from (b.name for b in blocks(text) if b.kind == wanted and b.name)


def _usual_tube(text: str) -> str:
    """The tube that most runs have."""
    tubes = [b.said("tube") for b in blocks(text) if b.kind == "run" and b.said("tube")]
    return max(tubes, key=tubes.count) if tubes else ""


# taking out


def hanging(text: str, label: str) -> Hanging:
    """What goes with a part that is taken out, and what becomes of its runs, in words.

    A part with one run in and one out leaves one run behind; with others its runs go with it.
    """
    one = block_of(text, label)
    every = blocks(text)
    gone, told = [one], []
    if one.kind == "manifold":
        zones = [b for b in every if b.kind == "zone" and b.said("manifold") == one.name]
        gone += zones
        told += [f"its zones {', '.join(z.name for z in zones)}"] if zones else []
    touching = _runs_at(every, one)
    if _joins(one, touching) is not None:
        told.append("its two runs become one")
        gone += [b for b in touching if _head(b.said("from")) == one.name]
    else:
        gone += touching
        told += [f"the run from {b.said('from')} to {b.said('to')}" for b in touching]
    if one.kind == "fixture":
        uses = [b for b in every if b.kind == "use" and b.said("fixture") == one.name]
        gone += uses
        told += [f"the use {b.name}" for b in uses]
        for b in every:
            if b.kind == "situation" and one.name in _list(b, "open"):
                left = [n for n in _list(b, "open") if n != one.name]
                told.append(f"its place in the situation {b.name}")
                if not left:
                    gone.append(b)
    for b in every:
        for key in ("grey", "in_tank"):
            if one.kind == "tank" and b.said(key) == one.name:
                told.append(f"{key.replace('_', ' ')} of {b.name}")
    return Hanging(tuple({b.place: b for b in gone}.values()), tuple(told))


def removed(text: str, label: str) -> tuple[str, tuple[str, ...]]:
    """The text without a part and what hangs on it, and in words what went."""
    if label == "van":
        raise FormError("a build file needs its [van]")
    one = block_of(text, label)
    found = hanging(text, label)
    every = blocks(text)
    touching = _runs_at(every, one)
    pair = _joins(one, touching)
    for b in every:
        if one.kind == "fixture" and b.kind == "situation" and one.name in _list(b, "open"):
            left = [n for n in _list(b, "open") if n != one.name]
            text = put_value(text, b.place, "open", left) if left else text
        for key in ("grey", "in_tank"):
            if one.kind == "tank" and b.said(key) == one.name:
                text = put_value(text, b.place, key, None)
    if pair is not None:
        into, out = pair
        units = units_of(text)
        text = put_value(text, into.place, "to", out.said("to"))
        for key, word in (("length", "length"), ("rise", "height")):
            total = _sum(into.said(key), out.said(key), word, units)
            if total:
                text = put_value(text, into.place, key, total)
        if "legs" in into.values:
            text = put_value(text, into.place, "legs", None)
    gone = {b.place for b in found.gone}
    return without_blocks(text, gone), found.told


def _runs_at(every: tuple[Block, ...], one: Block) -> list[Block]:
    """Runs that leave or arrive at a part; those of its outlet alone where it is a zone."""
    if one.kind == "zone":
        own = f"{one.said('manifold')}.{one.name}"
        return [b for b in every if b.kind == "run" and b.said("from") == own]
    if one.kind not in COMPONENTS or not one.name:
        return []
    return [
        b
        for b in every
        if b.kind == "run" and one.name in (_head(b.said("from")), _head(b.said("to")))
    ]


def _joins(one: Block, touching: list[Block]) -> tuple[Block, Block] | None:
    """The run in and the run out that become one, for a part with one of each."""
    if one.kind not in IN_LINE or len(touching) != 2:
        return None
    into = [b for b in touching if _head(b.said("to")) == one.name]
    out = [b for b in touching if _head(b.said("from")) == one.name]
    if len(into) != 1 or len(out) != 1 or into[0] is out[0]:
        return None
    if _head(into[0].said("from")) == _head(out[0].said("to")):
        return None
    return into[0], out[0]


def _sum(first: str, second: str, word: str, units: str) -> str:
    """Two lengths together, empty if either can't be read."""
    try:
        total = sum(read_quantity(t, word) for t in (first, second) if t)
    except QuantityError:
        return ""
    return _written(total, units) if first or second else ""


def _half(said: str, word: str, units: str) -> str:
    """Half of a length, empty if it can't be read."""
    try:
        return _written(read_quantity(said, word) / 2, units)
    except QuantityError:
        return ""


def _written(metres: float, units: str) -> str:
    if units == "US":
        return show(metres, "length", "US").replace("−", "-")
    return f"{metres:.4g} m"


# names


def renamed(text: str, label: str, name: str) -> tuple[str, str]:
    """The text with another name for a part, wherever it is named, and the new label.

    Zones that bear the name of a fixture get its new one, too, where that is free on their header.
    """
    one = block_of(text, label)
    new = good_name(name)
    if not one.name:
        raise FormError(f"{label} has no name")
    if new == one.name:
        return text, label
    every = blocks(text)
    if one.kind == "zone":
        same = [b for b in every if b.kind == "zone" and b.said("manifold") == one.said("manifold")]
    elif one.kind in ("use", "situation"):
        same = [b for b in every if b.kind == one.kind]
    else:
        same = [b for b in every if b.kind in COMPONENTS]
    if any(b.name == new for b in same):
        raise FormError(f"there is a {quoted(new)} already: choose another name")
    text = put_value(text, one.place, "name", new)
    if one.kind == "zone":
        owner = one.said("manifold")
        text = _repoint(text, f"{owner}.{one.name}", f"{owner}.{new}", whole=True)
    elif one.kind in COMPONENTS:
        text = _repoint(text, one.name, new, whole=False)
    if one.kind == "fixture":
        zones = [b for b in blocks(text) if b.kind == "zone"]
        for zone in (z for z in zones if z.name == one.name):
            beside = {z.name for z in zones if z.said("manifold") == zone.said("manifold")}
            if new not in beside:
                text, _ = renamed(text, zone.label, new)
    places = {b.place: b.label for b in blocks(text)}
    return text, places[one.place]


def _repoint(text: str, old: str, new: str, *, whole: bool) -> str:
    """Every reference changed: whole pointers, or names with or without a port behind them."""

    def one(said: str) -> str:
        if said == old:
            return new
        return new + said[len(old) :] if not whole and said.startswith(f"{old}.") else said

    for b in blocks(text):
        declared = entries(SECTIONS.get(b.kind) or LISTS[b.kind])
        for key, value in b.values.items():
            kind = declared[key][1].kind if key in declared else ""
            if kind == "reference" and isinstance(value, str) and one(value) != value:
                text = put_value(text, b.place, key, one(value))
            elif kind == "references" or (b.kind, key) == ("board", "pin"):
                said = _list(b, key)
                now = [_pin(s, old, new) if key == "pin" else one(s) for s in said]
                if now != said:
                    text = put_value(text, b.place, key, now)
    return text


def _pin(line: str, old: str, new: str) -> str:
    """A pin begins with what it is about: "cold manifold.sink leaves up"."""
    rest = line[len(old) :]
    return new + rest if line.startswith(old) and rest[:1] in (" ", ".") else line


# joining


def put_between(text: str, run: str, kind: str, name: str = "") -> tuple[str, str]:
    """The text with a part in the middle of a run, which becomes two; and the part's label."""
    if kind not in IN_LINE:
        raise FormError(f"a {kind.replace('_', ' ')} has not one way through: join it with runs")
    one = block_of(text, run)
    if one.kind != "run":
        raise FormError(f"{run} is no run")
    end = one.said("to")
    text, label = added(text, kind, name)
    part = block_of(text, label)
    units = units_of(text)
    half = _half(one.said("length"), "length", units) or ESTIMATE[units][1]
    text = put_value(text, one.place, "to", part.name)
    text = put_value(text, one.place, "length", half)
    for key in ("legs", "end_fittings"):
        if key in one.values:
            text = put_value(text, one.place, key, None)
    kept = {k: one.values[k] for k in ("tube", "place", "insulation", "joint") if k in one.values}
    second = {"from": part.name, "to": end, **kept, "length": half}
    if "rise" in one.values:
        second["rise"] = _half(one.said("rise"), "height", units) or one.values["rise"]
        text = put_value(text, one.place, "rise", second["rise"])
    return with_block(text, "run", second, {"length": MEASURE}), label


def starts(look: Sketch) -> list[tuple[str, str]]:
    """What water can be led from: (pointer or part, in words).  A taken outlet gets a tee."""
    build = look.build
    if build is None:
        return []
    found = []
    for part in build.components:
        if part.name and (isinstance(part, Manifold) or ports(build, part)[1]):
            found.append((part.name, part.name))
    return found


def goals(look: Sketch, start: str) -> list[tuple[str, str]]:
    """Where a run from ``start`` can lead: (pointer, in words); ports that are taken left out."""
    build = look.build
    if build is None:
        return []
    taken = {str(port) for pair in build.run_ends for port in pair}
    found = []
    order = ("", "tee", "tank")  # what can take one run alone is meant before what takes any
    for part in sorted(build.components, key=lambda c: order.index(_shared(c))):
        if not part.name or part.name == _head(start):
            continue
        inlets = ports(build, part)[0]
        used = [p for p in inlets if f"{part.name}.{p}" in taken]
        shared = bool(_shared(part))
        for port in _usual_first(build, part, inlets):
            if not shared and port in used:
                continue
            if isinstance(part, Fixture) and used and ("inlet" in used) != (port == "inlet"):
                continue
            alone = len(inlets) == 1 or port == "inlet"
            found.append(
                (
                    part.name if alone else f"{part.name}.{port}",
                    part.name if alone else f"{part.name}, {port}",
                )
            )
    return found


def _shared(part: Component) -> str:
    """The kind of a part that any number of runs may lead to; empty for others."""
    kind = kind_of(part)
    return kind if kind in ("tee", "tank") else ""


def _usual_first(build: Build, part: Component, inlets: tuple[str, ...]) -> tuple[str, ...]:
    """The inlets, those first that a fixture of that kind has."""
    rows = table("fixtures", build.rows)
    if not isinstance(part, Fixture) or part.kind not in rows:
        return inlets
    usual = str(rows[part.kind]["supplies"]).split()
    return tuple(sorted(inlets, key=lambda port: port not in usual))


def connected(text: str, start: str, end: str) -> tuple[str, str]:
    """The text with a run from a part to a pointer, and the run's label.

    A manifold gets a zone for it, or gives one that has only a number and no run; an outlet that
    a run leaves already gets a tee in that run.
    """
    look = sketch(text)
    build = look.build
    if build is None:
        raise FormError("the text can't be read: mend it first")
    head = _head(start)
    known = {part.name: part for part in build.components}
    if head not in known:
        raise FormError(f"there is no part {quoted(head)}")
    able = [pointer for pointer, _ in goals(look, start)]
    end = next((p for p in able if end in (p, _head(p))), end)
    if end not in able:
        raise FormError(f"no run can lead to {quoted(end)}: its port is taken, or there is none")
    part = known[head]
    if isinstance(part, Manifold) and "." not in start:
        text, zone = _zone_for(text, build, head, _head(end))
        start = f"{head}.{zone}"
    elif kind_of(part) not in ("tee", "tank"):
        outlets = ports(build, part)[1]
        if not outlets:
            raise FormError(f"no run leaves a {kind_of(part)}")
        pointer = start if "." in start else head
        leaving = [
            b
            for b in look.blocks
            if b.kind == "run" and b.said("from") in (pointer, f"{head}.{outlets[0]}")
        ]
        if leaving:
            text, label = put_between(
                text, leaving[0].label, "tee", free_name(text, f"{_head(end)} tee")
            )
            start = block_of(text, label).name
    tube = _usual_tube(text) or _needed(text, "run")["tube"]
    given = {"from": start, "to": end, "tube": tube, "length": ESTIMATE[units_of(text)][0]}
    text = with_block(text, "run", given, {"length": MEASURE})
    made = [
        b
        for b in blocks(text)
        if b.kind == "run" and b.said("from") == start and b.said("to") == end
    ]
    return text, made[-1].label


def _zone_for(text: str, build: Build, manifold: str, wanted: str) -> tuple[str, str]:
    """The text with a zone for a run to a part, and its name: one that no run leaves yet, if it
    has that part's name or only a number, which gets that name then; else a new one."""
    led = {b.said("from") for b in blocks(text) if b.kind == "run"}
    idle = [z.name for z in build.zones(manifold) if f"{manifold}.{z.name}" not in led]
    if wanted in idle:
        return text, wanted
    zone = free_zone(build, manifold, wanted)
    numbered = [name for name in idle if re.fullmatch(r"zone( \d+)?", name)]
    if numbered:
        text, _ = renamed(text, f"zone.{manifold}.{numbered[0]}", zone)
    else:
        text, _ = added(text, "zone", zone, {"manifold": manifold})
    return text, zone


def free_zone(build: Build, manifold: str, wanted: str) -> str:
    """A zone's name that the manifold does not have yet."""
    taken = {z.name for z in build.zones(manifold)} | {*Manifold.inlets}
    name, number = wanted, 2
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name


def _head(pointer: str) -> str:
    return pointer.partition(".")[0]


def _list(block: Block, key: str) -> list[str]:
    said = block.values.get(key)
    return [str(one) for one in said] if isinstance(said, list) else []
