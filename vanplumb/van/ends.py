"""Ends of parts: how one is said ("1/2 in NPT male plastic"), what it mates with, what seals it.

A thread's size is that of the thread, of what holds tube the size of the tube: ``1/2 in`` for
inch tube, ``16 mm`` (outside) for metric tube, ``12 mm`` (inside) for hose.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from ..words.tables import Row, table

Own = Mapping[str, Mapping[str, Mapping[str, Any]]]

MATERIALS = ("brass", "stainless", "plastic", "copper", "steel", "aluminium")
METALS = ("brass", "stainless", "copper", "steel", "aluminium")
INCHES = {12.7: "3/8 in", 15.875: "1/2 in", 19.05: "5/8 in", 22.225: "3/4 in", 28.575: "1 in"}
"""Outside diameter in mm of inch tube by its nominal size (ASTM F876 and B88)."""
NEAR = 0.3
"""mm by which a tube may differ from a nominal size and still take its fittings."""

_SAID = re.compile(r"\s*(?P<number>\d+/\d+|\d+ \d+/\d+|\d+)\s*(?P<unit>in|mm)\s+(?P<rest>.+)")


class EndError(ValueError):
    """A text that says no end; the message says what is missing and what is known."""


@dataclass(frozen=True)
class End:
    """One end of a part: a row of the table end_kinds, its size and what it is made of."""

    kind: str
    size: str
    material: str

    def __str__(self) -> str:
        return f"{self.size} {self.kind} {self.material}"

    @property
    def _row(self) -> Row:
        return _kinds()[self.kind]

    @property
    def holds(self) -> str:
        """The way of joining by which it holds tube; empty for a thread."""
        return self._row["holds"] or ""

    @property
    def joint(self) -> str:
        """The joint that it makes."""
        return str(self._row["joint"])

    @property
    def seal(self) -> str:
        """Where the seal is: thread, washer, ring, O-ring, clamp, solder."""
        return str(self._row["seal"])

    @property
    def thread(self) -> str:
        """Its row in the table threads, empty if it has no thread."""
        standard = self._row["thread"]
        return f"{standard} {self.size.removesuffix(' in')}" if standard else ""

    @property
    def takes_compound(self) -> bool:
        """Whether it is sealed on the thread, with a compound."""
        return self.seal == "thread"

    @property
    def mate_kinds(self) -> tuple[str, ...]:
        """Kinds of ends that it can be joined to."""
        return self._row["mates"] or ()

    def mates(self, other: End) -> bool:
        """Whether it can be joined to another end with nothing between."""
        return self.size == other.size and other.kind in self.mate_kinds


@lru_cache(maxsize=1)
def _kinds() -> Mapping[str, Row]:
    return table("end_kinds")


def kind_that_holds(method: str) -> str:
    """The kind of end that holds tube by a way of joining.  KeyError if there is none."""
    for name, row in _kinds().items():
        if row["holds"] == method:
            return name
    raise KeyError(method)


@lru_cache(maxsize=4096)
def read_end(said: str) -> End:
    """The end that a text says: a size, a kind, and a material (brass if none is said).

    EndError with what is missing, what was got and the nearest known words.
    """
    match = _SAID.fullmatch(said)
    if match is None:
        raise EndError(
            f'needs a size, a kind and a material such as "1/2 in NPT male plastic", got "{said}"'
        )
    size = f"{match['number']} {match['unit']}"
    words = match["rest"].split()
    material = "brass"
    words[-1] = words[-1].replace("aluminum", "aluminium")
    if words[-1] in MATERIALS:
        material = words.pop()
    kind = " ".join(words)
    if kind not in _kinds():
        near = get_close_matches(kind, list(_kinds()), 1, 0.5)
        known = f'; did you mean "{near[0]}"?' if near else f"; there are {', '.join(_kinds())}"
        raise EndError(f'names no kind of end: "{kind}"{known}')
    end = End(kind, size, material)
    threads = table("threads")
    if end.thread and end.thread not in threads:
        sizes = [
            n.rpartition(" ")[2] for n in threads if n.startswith(f"{_kinds()[kind]['thread']} ")
        ]
        raise EndError(f'has no thread of {size}: "{kind}" comes in {", ".join(sizes)} in')
    return end


def size_of(tube: str, own: Own | None = None) -> str:
    """The nominal size that fittings for a tube are sold by.  KeyError for an unknown tube."""
    row = table("tubes", own)[tube]
    if row["material"] == "hose":
        return f"{round(row.number('bore') * 1000)} mm"
    outside = row.number("od") * 1000
    near = min(INCHES, key=lambda known: abs(known - outside))
    inch = row["material"] != "PE-X" and abs(near - outside) <= NEAR
    return INCHES[near] if inch else f"{round(outside)} mm"


def system_of(tube: str, own: Own | None = None) -> str:
    """Whose parts a tube goes with: "inch", "metric" or "hose"."""
    if table("tubes", own)[tube]["material"] == "hose":
        return "hose"
    return "inch" if size_of(tube, own).endswith(" in") else "metric"


def thread_size(tube: str, own: Own | None = None) -> str:
    """The thread that parts for a tube usually have: ``1/2 in``."""
    size = size_of(tube, own)
    if size.endswith(" in"):
        return "1/2 in" if size == "5/8 in" else size
    wide = float(size.removesuffix(" mm"))
    return "1/2 in" if wide < 18.5 else "3/4 in" if wide < 24 else "1 in"


# which ways of joining belong to which tube

_WHY = {
    "expansion": "the tube must stretch over the fitting and shrink back (ASTM F1960)",
    "solder": "it takes copper",
    "hose clamp": "a clamp holds soft hose on a ribbed end",
}


def methods_for(tube: str, own: Own | None = None) -> tuple[str, ...]:
    """Methods that hold this tube, its usual one first.  KeyError for an unknown tube."""
    row = table("tubes", own)[tube]
    usual = row["joint"]
    found = [
        j.name for j in table("joints", own).values() if row["material"] in (j["materials"] or ())
    ]
    return tuple(sorted(found, key=lambda name: name != usual))


def mismatch(method: str, tube: str, own: Own | None = None) -> str:
    """Why a method does not belong to a tube, or an empty text if it does."""
    row, joint = table("tubes", own)[tube], table("joints", own)[method]
    materials = joint["materials"] or ()
    if row["material"] in materials:
        return ""
    ways = ", ".join(methods_for(tube, own)) or "none in the table"
    if not materials:
        return f"{method} holds no tube; for {tube} there are: {ways}"
    why = f": {_WHY[method]}" if method in _WHY else ""
    return (
        f"{method} joints are for {' and '.join(materials)}, not for {tube} "
        f"({row['material']}){why}; for it there are: {ways}"
    )


def method_of(tube: str, stated: str, own: Own | None = None) -> str:
    """The method at the ends of a run: as stated, else the tube's usual one."""
    return stated or str(table("tubes", own)[tube]["joint"] or "")
