"""Rows that a build file adds to the data tables: checked at load, as its components are.

What a column may hold is declared with the table (``data/NAME.toml``); here are the walk over
the rows and what the cells of one row say together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from math import inf
from typing import Any

from ...words.quantity import QuantityError
from ...words.tables import Cell, ColumnKind, Row, Table, cell, table, table_names
from ..ends import EndError, read_end
from ..entries import Entry
from ..kinds.pumps import KINDS as PUMPS
from ..problems import listed, nearest, quoted
from .toml_text import KeyPath
from .values import ValueProblem, as_written, bounded, name_of, plain_text

Say = Callable[[KeyPath, str, str], None]
Trouble = tuple[str, str]

MAY_BE_NOTHING = ("number", "mass", "price", "count", "share", "loss_coefficient")
"""Words whose columns may hold 0 even if no shipped row does."""
MOST_ROWS = 500
"""Rows that a build file may add to one table."""


class OwnRows:
    """One walk over ``[rows]``: ``rows`` is what was read, ``given`` each value as written."""

    def __init__(self, said: Any, say: Say) -> None:
        self.say = say
        self.rows: dict[str, dict[str, dict[str, Any]]] = {}
        self.given: dict[str, str] = {}
        self._stand_ins: list[tuple[dict[str, Any], str]] = []
        self._places: list[tuple[str, str, KeyPath, Mapping[str, Any]]] = []
        if not isinstance(said, Mapping):
            say(("rows",), "rows", "holds tables: write [[rows.tubes]]")
            return
        for name, rows in said.items():
            self._table(name, rows)
        # Only now are all names known that one row may use of another.
        for name, row, path, cells in self._places:
            self._together(name, row, path, cells)
        for cells, like in self._stand_ins:
            cells["like"] = like

    def tables(self, name: str) -> Table:
        """A data table with the file's own rows in it."""
        return table(name, self.rows)

    def _table(self, name: str, rows: Any) -> None:
        path: KeyPath = ("rows", name)
        if name not in table_names():
            self.say(path, f"rows.{name}", f"is no data table{nearest(name, table_names())}")
        elif not isinstance(rows, list) or not all(isinstance(r, Mapping) for r in rows):
            self.say(path, f"rows.{name}", f"may be said many times: write [[rows.{name}]]")
        elif len(rows) > MOST_ROWS:
            self.say(path, f"rows.{name}", f"has {len(rows)} rows: {MOST_ROWS} at the most")
        else:
            self.rows[name] = {}
            for number, one in enumerate(rows):
                self._row(name, one, (*path, number))

    def _row(self, name: str, said: Mapping[str, Any], path: KeyPath) -> None:
        known = table(name)
        try:
            row = plain_text(said.get("name", ""))
            name_of(row.replace(".", "·"))  # sizes in names of rows may have a point
        except ValueProblem as problem:
            self.say((*path, "name"), f"rows.{name}.{path[-1]}.name", str(problem))
            return
        label = f"rows.{name}.{row}"
        if row in self.rows[name]:
            self.say((*path, "name"), label, "is said twice")
        cells: dict[str, Any] = {}
        for key, value in said.items():
            if key == "name":
                continue
            if key == "like":
                if isinstance(value, str) and value in known:
                    cells[key] = value
                else:
                    got = as_written(value)
                    self.say(
                        (*path, key),
                        f"{label}.like",
                        f"names no row: {quoted(got)}{nearest(got, known)}",
                    )
            elif key not in known.columns:
                near = nearest(key, known.columns) or f"; it has {listed(known.columns, 30)}"
                self.say((*path, key), f"{label}.{key}", f"is no column of this table{near}")
            else:
                try:
                    cells[key] = _cell(value, known.columns[key], known)
                    self.given[f"{label}.{key}"] = as_written(value)
                except ValueProblem as problem:
                    self.say((*path, key, *problem.at), f"{label}.{key}", str(problem))
        self.rows[name][row] = cells
        if "like" not in cells and row not in known and _lacks(known, cells) and len(known):
            # So that the rest can be looked at; the row itself is told of below.
            self._stand_ins.append((cells, next(iter(known))))
        self._places.append((name, row, path, said))

    def _together(self, name: str, row: str, path: KeyPath, said: Mapping[str, Any]) -> None:
        """What is missing, names of other tables, and what the row's cells say together."""
        label, known = f"rows.{name}.{row}", self.tables(name)
        whole = known[row]
        for key, column in known.columns.items():
            if column.required and whole[key] is None and key not in said:
                self.say(
                    path, f"{label}.{key}", 'is missing; or say like = "..." to take it from a row'
                )
        read = self.rows[name][row]
        if any(key in said and key not in read for key in known.columns):
            return  # a cell was refused, and what it would say beside the others is not known
        for key, message in (*self._named(known, read), *_sense(name, known, whole)):
            at = (*path, key) if key in said else path
            self.say(at, f"{label}.{key}", message)

    def _named(self, known: Table, read: Mapping[str, Any]) -> Iterator[Trouble]:
        for key, column in known.columns.items():
            if not column.table or key not in read:
                continue
            others = self.tables(column.table)
            for said in read[key] if column.many else (read[key],):
                if said not in others:
                    near = nearest(said, others) or f": {listed(others)}"
                    yield key, f"names no row of the table {column.table}: {quoted(said)}{near}"


def _lacks(known: Table, cells: Mapping[str, Any]) -> bool:
    """Whether a row says less than it must."""
    return any(column.required and key not in cells for key, column in known.columns.items())


def _cell(value: Any, column: ColumnKind, known: Table) -> Cell:
    """One cell in SI.  ValueProblem if it is not what the column holds."""
    try:
        read = cell(value, column)
    except QuantityError as error:
        raise ValueProblem(str(error)) from None
    except (ValueError, OverflowError):
        raise ValueProblem("is a number that is too large") from None
    many: Sequence[Any] = read if isinstance(read, tuple) else (read,)
    if column.many and not many:
        raise ValueProblem("is an empty list: leave the key out")
    for one, written in zip(many, value if column.many else (value,), strict=True):
        if isinstance(one, str):
            plain_text(one)
            _one_of(one, column, known)
        elif isinstance(one, float):
            _figure(one, written, column, known)
    return read


def _one_of(said: str, column: ColumnKind, known: Table) -> None:
    if not column.known:
        return
    words: dict[str, None] = {}
    for row in known.values():
        there = row[column.name]
        words.update(dict.fromkeys(there if column.many else (there,)) if there else {})
    if said not in words:
        near = nearest(said, words)
        raise ValueProblem(f"must be {listed(words, 30)}, got {quoted(said)}{near}")


def _figure(si: float, written: Any, column: ColumnKind, known: Table) -> None:
    """Within what the glossary and any van allow; counts whole."""
    if column.word == "count":
        if not column.parts and si != int(si):
            raise ValueProblem(f"must be a whole number, got {quoted(as_written(written))}")
        if not 0 <= si <= column.most:
            got = quoted(as_written(written))
            raise ValueProblem(f"must be 0 to {column.most:g}, got {got}")
        return
    bounded(si, written, Entry("quantity", word=column.word))
    if si <= 0 and column.word not in MAY_BE_NOTHING and _never_nothing(column.name, known):
        raise ValueProblem(f"must be more than nothing, got {quoted(as_written(written))}")


def _never_nothing(column: str, known: Table) -> bool:
    """Whether every shipped row that says something there says more than nothing."""
    figures = [row[column] for row in known.values() if row[column] is not None]
    return bool(figures) and all(
        one > 0 for cells in figures for one in (cells if isinstance(cells, tuple) else (cells,))
    )


def _sense(name: str, known: Table, row: Row) -> Iterator[Trouble]:
    """What the cells of one row say together."""
    for key, column in known.columns.items():
        there = row[column.beside] if column.beside else None
        if there is not None and row[key] is not None and len(there) != len(row[key]):
            yield key, f"has {len(row[key])} values, but {column.beside} has {len(there)}"
            return
        if column.beside and (there is None) != (row[key] is None) and column.required:
            yield key, f"and {column.beside} belong together: give both"
        for end in ("greatest", "most"):
            top = row.get(key.replace("least", end)) if "least" in key else None
            if isinstance(top, float) and row[key] is not None and row[key] > top:
                yield key, f"must not be more than {key.replace('least', end)}"
    yield from _RULES.get(name, lambda row: iter(()))(row)


def _tube(row: Row) -> Iterator[Trouble]:
    bore, outside, wall = (row[key] for key in ("bore", "od", "wall"))
    if bore is not None and outside is not None:
        if bore >= outside:
            yield "bore", "must be less than the outside diameter od"
        elif wall is not None and bore + 2 * wall > 1.05 * outside:
            yield "wall", "twice, with the bore, is more than the outside diameter od"
    hot, pressures = row["rating_temperatures"] or (), row["rating_pressures"] or ()
    if (not hot) != (not pressures):
        yield "rating_pressures", "and rating_temperatures belong together: give both"
    elif any(b <= a for a, b in pairwise(hot)):
        yield "rating_temperatures", "must rise from each value to the next"
    elif any(b > a for a, b in pairwise(pressures)):
        yield "rating_pressures", "must not rise with the temperature"


def _pump(row: Row) -> Iterator[Trouble]:
    kind = PUMPS.get(str(row["kind"]))
    flows, pressures = row["curve_flow"] or (), row["curve_pressure"] or ()
    if kind is not None and kind.by_motor:
        if len(flows) < 2 or len(pressures) < 2:
            yield "curve_flow", "needs two points or more, and curve_pressure as many"
        elif any(b <= a for a, b in pairwise(pressures)):
            yield "curve_pressure", "must rise from each point to the next"
        elif any(b >= a for a, b in pairwise(flows)):
            yield "curve_flow", "must fall as the pressure rises"
    if kind is not None and kind.by_strokes and row["stroke_volume"] is None:
        yield "stroke_volume", "is missing: a foot or hand pump needs it"
    cut_in, cut_out = (row[key] if row[key] is not None else -inf for key in ("cut_in", "cut_out"))
    if cut_out > -inf and cut_in >= cut_out:
        yield "cut_in", "must be less than cut_out"
    if -inf < cut_out < 1e4:
        yield "cut_out", "must be 0.1 bar or more"


def _valve(row: Row) -> Iterator[Trouble]:
    openings, losses = row["openings"] or (), row["loss_coefficients"] or ()
    if openings and openings[0] != 1:
        yield "openings", "must begin with 1, the open valve"
    elif any(b >= a for a, b in pairwise(openings)) or any(o <= 0 for o in openings):
        yield "openings", "must fall from each value to the next, and end above 0"
    elif any(loss <= 0 for loss in losses) or any(b < a for a, b in pairwise(losses)):
        yield "loss_coefficients", "must be more than nothing and not fall as the valve shuts"


def _fitting_part(row: Row) -> Iterator[Trouble]:
    for said in row["ends"] or ():
        try:
            read_end(said)
        except EndError as problem:
            yield "ends", f"{quoted(said)} {problem}"


_RULES: dict[str, Callable[[Row], Iterator[Trouble]]] = {
    "tubes": _tube,
    "pumps": _pump,
    "valves": _valve,
    "fitting_parts": _fitting_part,
}
