"""Fittings as parts: ends, take-offs and insertions, from the tables fitting_parts and board_parts.

Lengths in m.  A fitting of a board's size stands in the table of board parts; both are read
here, so that a run and a board take the same part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ..words.brief import brief
from ..words.tables import Row, table
from .ends import INCHES, NEAR, End, Own, kind_that_holds, read_end

BOARD_KINDS = ("tee", "elbow", "coupling", "reducer", "adapter", "plug")
"""Kinds of the table board_parts that are fittings of runs too."""
THROUGH = ("adapter", "nipple", "socket", "bush", "reducer")
"""Kinds that the search for what joins two ends may take."""


@brief
@dataclass(frozen=True)
class FittingPart:
    """One fitting.  ``take_offs``, ``insertions``: m, in step with ``ends``; a tee's branch last.

    ``take_offs`` are from its centre to where the tube's end stops, or to the face that its
    made-up thread meets.
    """

    name: str
    kind: str
    ends: tuple[End, ...]
    take_offs: tuple[float, ...]
    insertions: tuple[float, ...]
    body: str
    price_class: int
    mass: float
    price: float | None = None
    loss: str = ""
    buy: str = ""
    basis: str = ""

    @property
    def length(self) -> float:
        """From end to end, m."""
        return self.take_offs[0] + self.take_offs[-1]


class Fittings:
    """All fittings that a build can use: both tables and its own rows."""

    def __init__(self, own: Own | None = None) -> None:
        self.own = own

    def __repr__(self) -> str:
        return f"Fittings: {len(self.parts)}"

    @cached_property
    def parts(self) -> Mapping[str, FittingPart]:
        """Every fitting by its name; rows that say too little are left out, see ``faults``."""
        return self._read[0]

    @property
    def faults(self) -> tuple[str, ...]:
        """Rows of the build file that could not be taken as fittings, and why."""
        return self._read[1]

    @cached_property
    def _read(self) -> tuple[Mapping[str, FittingPart], tuple[str, ...]]:
        found: dict[str, FittingPart] = {}
        faults = []
        for name, row in table("board_parts", self.own).items():
            if row["kind"] in BOARD_KINDS:
                part = _from_board(row)
                if part is not None:
                    found[name] = part
        for name, row in table("fitting_parts", self.own).items():
            try:
                found[name] = _from_row(row)
            except ValueError as error:
                faults.append(f"fitting {name}: {error}")
        return found, tuple(faults)

    @cached_property
    def _by_kind(self) -> Mapping[tuple[str, str, str], list[FittingPart]]:
        found: dict[tuple[str, str, str], list[FittingPart]] = {}
        for part in self.parts.values():
            first = part.ends[0]
            found.setdefault((part.kind, first.kind, first.size), []).append(part)
        return found

    def find(self, kind: str, method: str, size: str) -> FittingPart | None:
        """The first fitting of a kind all of whose ends hold tube of a size by a method."""
        try:
            end = kind_that_holds(method)
        except KeyError:
            return None
        for part in self._by_kind.get((kind, end, size), ()):
            if all(e.kind == end and e.size == size for e in part.ends):
                return part
        return None

    def insertion(self, method: str, size: str) -> float:
        """How much tube of a size goes on or into an end that holds it, m; 0 if not known."""
        for kind in ("coupling", "elbow", "adapter", "reducer"):
            part = self.find(kind, method, size)
            if part is not None:
                return part.insertions[0]
        for part in self.parts.values():
            for end, on in zip(part.ends, part.insertions, strict=True):
                if end.holds == method and end.size == size:
                    return on
        return 0.0

    @cached_property
    def ways_through(self) -> Mapping[tuple[str, str], list[tuple[FittingPart, int, int]]]:
        """For a kind and size of end, the fittings that begin with one: part, way in, way out."""
        found: dict[tuple[str, str], list[tuple[FittingPart, int, int]]] = {}
        for part in self.parts.values():
            if part.kind in THROUGH and len(part.ends) == 2:
                for i in (0, 1):
                    end = part.ends[i]
                    found.setdefault((end.kind, end.size), []).append((part, i, 1 - i))
        return found

    def tees(self) -> Iterator[FittingPart]:
        """All tees."""
        return (part for part in self.parts.values() if part.kind == "tee")


def _from_row(row: Row) -> FittingPart:
    ends = tuple(read_end(said) for said in row["ends"])
    offs, ons = row["take_offs"], row["insertions"]
    if not len(ends) == len(offs) == len(ons):
        raise ValueError(
            f"has {len(ends)} ends, {len(offs)} take-offs and {len(ons)} insertions: "
            "one of each for every end"
        )
    return FittingPart(
        row.name,
        str(row["kind"]),
        ends,
        tuple(offs),
        tuple(ons),
        str(row["body"]),
        int(row.number("price_class")),
        float(row["mass"] or 0.0),
        row["price"],
        row["loss"] or "",
        row["buy"] or "",
        row.basis,
    )


def _from_board(row: Row) -> FittingPart | None:
    """A fitting from its row of board parts; None if it is no fitting that joins tube."""
    kind, method = str(row["kind"]), str(row["joint"] or "")
    body = str(row["body"] or "brass")
    try:
        holds = kind_that_holds(method)
    except KeyError:
        return None
    if row["tube"] is None or row["take_off"] is None:
        return None

    def number(column: str, otherwise: str) -> float:
        value = row[column]
        return float(row[otherwise] or 0.0) if value is None else float(value)

    run = End(holds, board_size(float(row["tube"]), method), body)
    side = End(holds, board_size(number("branch", "tube"), method), body)
    off, on = float(row["take_off"]), float(row["insertion"] or 0.0)
    off_side = number("take_off_branch", "take_off")
    on_side = number("insertion_branch", "insertion")
    ends: tuple[End, ...]
    offs: tuple[float, ...]
    ons: tuple[float, ...]
    if kind == "plug":
        ends, offs, ons = (run,), (off,), (on,)
    elif kind == "tee":
        ends, offs, ons = (run, run, side), (off, off, off_side), (on, on, on_side)
    elif kind == "adapter":
        if not row["thread"]:
            return None
        ends = (run, read_end(f"{row['thread']} {body}"))
        offs, ons = (off, off_side), (on, 0.0)
    else:
        ends, offs, ons = (run, side), (off, off_side), (on, on_side)
    loss = {
        "tee": "insert tee branch", "elbow": "insert elbow 90", "adapter": "insert adapter",
        "coupling": "insert coupling", "reducer": "reducer",
    }  # fmt: skip
    return FittingPart(
        row.name, kind, ends, offs, ons, body, 2, float(row["mass"] or 0.0), row["price"],
        loss.get(kind, ""), "", row.basis,
    )  # fmt: skip


def board_size(outside: float, method: str) -> str:
    """The nominal size of a board part's tube from its outside diameter in m.

    Half inch tube and 16 mm tube are 1/8 mm apart: what is expanded is inch tube, and a part
    within a hundredth of an inch size is one.
    """
    wide = outside * 1000
    near = min(INCHES, key=lambda known: abs(known - wide))
    far = NEAR if method in ("expansion", "crimp") else 0.03
    return INCHES[near] if abs(near - wide) <= far else f"{round(wide)} mm"


def any_rows(own: Mapping[str, Any] | None) -> bool:
    """Whether a build file has rows of its own for either table of fittings."""
    return bool(own) and any(own.get(name) for name in ("fitting_parts", "board_parts"))  # type: ignore[union-attr]


_USUAL: list[Fittings] = []


def fittings_of(own: Own | None = None) -> Fittings:
    """The fittings of a build; those of the tables alone are read once."""
    if any_rows(own):
        return Fittings(own)
    if not _USUAL:
        _USUAL.append(Fittings())
    return _USUAL[0]
