"""Reading the table of board parts: from a row of figures to outlines with ports."""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from typing import TYPE_CHECKING

from ...van.board_stock import matching
from ...words.tables import Row, table
from .parts import SPIGOT, Handle, Part, PartError, Point, Port, Slab, box

if TYPE_CHECKING:
    from ...van.model import Build
    from .shapes import Piece


def _mm(row: Row, column: str, otherwise: float | None = None) -> float:
    """A cell in millimetres to 1/10 000.  PartError if it is empty and must not be."""
    value = row[column]
    if value is None:
        if otherwise is None:
            raise PartError(f"board part {row.name!r}: {column} is not said")
        return otherwise
    return round(float(value) * 1000, 4)


def _points(row: Row) -> tuple[Point, ...]:
    try:
        pairs = [item.split() for item in str(row["outline"]).split(",")]
        points = tuple((float(x), float(y)) for x, y in pairs)
    except ValueError as error:
        raise PartError(
            f'board part {row.name!r}: outline must read "x y, x y, ..." in mm'
        ) from error
    if len(points) < 3:
        raise PartError(f"board part {row.name!r}: an outline needs three points or more")
    return points


def _headings(row: Row) -> list[tuple[str, float, int, str]]:
    """Ports of a part: name, x of its centre line, heading, and which take-off it has."""
    kind = row["kind"]
    if kind == "tee":
        return [("a", 0, 180, "run"), ("b", 0, 0, "run"), ("branch", 0, 90, "branch")]
    if kind == "elbow":
        return [("a", 0, 180, "run"), ("branch", 0, 90, "branch")]
    if kind in ("coupling", "adapter"):
        return [("a", 0, 180, "run"), ("b", 0, 0, "run")]
    if kind == "reducer":
        return [("a", 0, 180, "run"), ("b", 0, 0, "branch")]
    if kind in ("valve", "check valve"):
        return [("inlet", 0, 180, "run"), ("outlet", 0, 0, "run")]
    if kind == "plug":
        return [("a", 0, 180, "run")]
    if kind == "mixing valve":
        return [("hot", 0, 180, "run"), ("cold", 0, 0, "run"), ("mixed", 0, 270, "branch")]
    if kind == "accumulator":
        return [("inlet", 0, 270, "run")]
    if kind == "header":
        pitch, count = _mm(row, "pitch"), int(row.number("ports"))
        outs = [(f"out {k + 1}", k * pitch, 90, "branch") for k in range(count)]
        return [("a", 0, 180, "run"), *outs, ("b", (count - 1) * pitch, 0, "run")]
    if kind == "clip":
        return []
    raise PartError(f"board part {row.name!r}: unknown kind {kind!r}")


def read_part(row: Row) -> Part:
    """A part from its row of the table.  PartError if the row says too little."""
    kind, joint = str(row["kind"]), str(row["joint"] or "")
    outside = _mm(row, "tube")
    branch = _mm(row, "branch", outside)
    ports = []
    for name, x, heading, which in _headings(row):
        run_off = _mm(row, "take_off")
        off = _mm(row, "take_off_branch", run_off) if which == "branch" else run_off
        size = branch if which == "branch" else outside
        on = _mm(row, "insertion")
        on = _mm(row, "insertion_branch", on) if which == "branch" else on
        ports.append(Port(name, x, 0.0, heading, off, size, on, joint))
    front, back = _mm(row, "front"), _mm(row, "back")
    handle = None
    if row["handle"]:
        length = _mm(row, "handle_length")
        handle = Handle(
            str(row["handle"]),
            length,
            _mm(row, "handle_tail", length),
            _mm(row, "handle_width", 2 * length),
            _mm(row, "handle_low"),
            _mm(row, "handle_high"),
            _mm(row, "handle_bend", 0.0),
        )
    hole, gap = _mm(row, "hole", 0.0), _mm(row, "hole_gap", 0.0)
    across = ((0.0, gap / 2, hole), (0.0, -gap / 2, hole))
    if kind == "accumulator":
        across = ((0.0, gap / 2 + 80, hole), (0.0, 80 - gap / 2, hole))
    elif kind == "mixing valve":
        across = ((-gap / 2, gap / 2, hole), (gap / 2, gap / 2, hole))
    return Part(
        row.name,
        kind,
        joint,
        tuple(ports),
        _body(row, kind, ports, front, back),
        handle,
        across if hole else (),
        _mm(row, "trim", 0.0),
        round(float(row["mass"] or 0.0), 6),
        None if row["price"] is None else float(row["price"]),
        str(row["valve"] or ""),
        _mm(row, "pitch", 0.0),
        row.basis,
    )


def _body(row: Row, kind: str, ports: list[Port], front: float, back: float) -> tuple[Slab, ...]:
    width = _mm(row, "width")
    slabs = []
    if row["outline"]:
        slabs.append(Slab(_points(row), -back, front))
    elif kind == "clip":
        half = _mm(row, "length") / 2
        slabs.append(Slab(box(-width / 2, -half, width / 2, half), -back, front))
    elif kind == "accumulator":
        bottom, half = 22.0 - 10.0, width / 2
        slabs.append(Slab(box(-half, bottom, half, bottom + _mm(row, "length")), -back, front))
    elif kind == "mixing valve":
        half, tall = _mm(row, "length") / 2, width / 2
        slabs.append(Slab(box(-half, -tall, half, tall), -back, front))
    elif kind == "header":
        reach = _mm(row, "take_off")
        last = ports[-1].x
        slabs.append(Slab(box(-reach, -width / 2, last + reach, width / 2), -back, front))
    elif kind in ("valve", "check valve", "adapter"):
        reach = _mm(row, "take_off")
        slabs.append(Slab(box(-reach, -width / 2, reach, width / 2), -back, front))
    for port in ports:
        half = port.outside * SPIGOT.get(port.joint, 1.4) / 2
        slabs.append(Slab(_arm(port, half), -half, half))
    return tuple(slabs)


def _arm(port: Port, half: float) -> tuple[Point, ...]:
    """The end of a fitting with the tube and ring on it: from its centre to past the joint."""
    reach = port.take_off + port.insertion
    if port.heading == 0:
        return box(port.x, -half, port.x + reach, half)
    if port.heading == 180:
        return box(port.x - reach, -half, port.x, half)
    if port.heading == 90:
        return box(port.x - half, 0, port.x + half, reach)
    return box(port.x - half, -reach, port.x + half, 0)


class Catalogue:
    """All parts that a build can use: the table and the build's own rows over it.

    Two with the same ``key`` have the same parts and tubes.
    """

    def __init__(self, build: Build) -> None:
        self.rows = table("board_parts", build.rows)
        self.tubes = table("tubes", build.rows)
        self.key: tuple[str, ...] = tuple(
            repr({row: dict(cells) for row, cells in build.rows.get(name, {}).items()})
            for name in ("board_parts", "tubes")
        )
        self._parts: dict[str, Part] = {}
        self.drawn: dict[tuple[object, ...], tuple[Piece, ...]] = {}
        self._found: dict[tuple[str, str, str, str, int], tuple[Part, ...]] = {}

    def __repr__(self) -> str:
        return f"Catalogue of {len(self.rows)} board parts"

    def __getitem__(self, name: str) -> Part:
        if name not in self._parts:
            if name.endswith(", trimmed"):
                self._parts[name] = self[name.removesuffix(", trimmed")].trimmed()
            elif name in self.rows:
                self._parts[name] = read_part(self.rows[name])
            else:
                raise PartError(f"there is no board part {name!r}")
        return self._parts[name]

    def without(self, old: str, new: str) -> Catalogue:
        """The same parts with one left out and another taken before all others of its kind."""
        changed = copy(self)
        changed.key = (*self.key, f"without {old!r}", f"first {new!r}")
        rows = {name: row for name, row in self.rows.items() if name not in (old, new)}
        changed.rows = replace(self.rows, rows={new: self.rows[new], **rows})
        changed._parts, changed._found, changed.drawn = {}, {}, {}
        return changed

    def outside(self, tube: str) -> float:
        """Outside diameter of a tube of the table, mm."""
        return round(self.tubes[tube].number("od") * 1000, 4)

    def joint(self, tube: str) -> str:
        """The usual joint of a tube."""
        return str(self.tubes[tube]["joint"])

    def find(
        self,
        kind: str,
        tube: str,
        branch: str = "",
        *,
        valve: str = "",
        ports: int = 0,
    ) -> tuple[Part, ...]:
        """Parts of a kind for a tube (and another at the branch), the nearest size first."""
        key = (kind, tube, branch, valve, ports)
        if key not in self._found:
            self._found[key] = self._find(*key)
        return self._found[key]

    def _find(self, kind: str, tube: str, branch: str, valve: str, ports: int) -> tuple[Part, ...]:
        names = matching(self.rows, self.tubes, kind, tube, branch, valve=valve, ports=ports)
        return tuple(self[name] for name in names)

    def first(
        self, kind: str, tube: str, branch: str = "", *, valve: str = "", ports: int = 0
    ) -> Part:
        """The first part that fits.  PartError, which says what is missing, if none does."""
        found = self.find(kind, tube, branch, valve=valve, ports=ports)
        if not found:
            size = tube if not branch or branch == tube else f"{tube} with {branch}"
            what = f"{kind} ({valve})" if valve else kind
            raise PartError(
                f"no {what} for {size}, joint {self.joint(tube) or 'not said'}, in the table of "
                "board parts; add a row under [rows.board_parts] in the build file"
            )
        return found[0]


def rule(build: Build, name: str) -> float:
    """One rule for laying out a board: mm if it is a length, else the plain number."""
    row = table("board_rules", build.rows)[name]
    if row["length"] is not None:
        return round(float(row["length"]) * 1000, 4)
    value = row["share"] if row["share"] is not None else row["number"]
    if value is None:
        raise PartError(f"board rule {name!r} has no value")
    return float(value)
