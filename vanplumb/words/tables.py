"""The tables of ``data/``: one CSV with a TOML beside it that says what each column is.

The TOML gives ``title``, ``note``, the columns (glossary word, unit, meaning) and where the
figures come from: ``source``, ``page`` and ``read_by`` ("read", "memory", "computed" or
"practice") for the whole table, and ``[[basis]]`` blocks for some rows and columns of it.
Values with a word are held in SI.  No other module reads the data folder.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase
from functools import lru_cache
from pathlib import Path
from typing import Any

from .brief import brief
from .quantity import QuantityError, read, split
from .sources import Source

Cell = float | str | bool | tuple[float, ...] | tuple[str, ...] | None

OWN = Source("own", "stated in the build file", "read")


@dataclass(frozen=True)
class ColumnKind:
    """What one column holds.  ``word`` is empty for text; ``many`` marks a list in a cell.

    What a build file's own rows may say there: ``table`` is the table whose rows a text names,
    ``known`` marks a text that must be one of the words of the shipped rows, ``beside`` is the
    list that a list is in step with, ``most`` the greatest count, and ``parts`` marks a count
    that need not be whole.
    """

    name: str
    word: str = ""
    unit: str = ""
    about: str = ""
    many: bool = False
    flag: bool = False
    required: bool = False
    table: str = ""
    known: bool = False
    beside: str = ""
    most: float = 1000.0
    parts: bool = False


@dataclass(frozen=True)
class Basis:
    """Where the cells of some rows and columns come from."""

    source: Source
    rows: tuple[str, ...] = ("*",)
    columns: tuple[str, ...] = ("*",)

    def covers(self, row: str, column: str) -> bool:
        return any(fnmatchcase(row, p) for p in self.rows) and any(
            fnmatchcase(column, p) for p in self.columns
        )


@brief
@dataclass(frozen=True)
class Row(Mapping[str, Any]):
    """One row: column name to value in SI, text, flag, tuple, or None if the cell is empty."""

    name: str
    cells: Mapping[str, Cell]
    sources: Mapping[str, Source] = field(default_factory=dict)

    def __getitem__(self, column: str) -> Any:
        return self.cells[column]

    def __iter__(self) -> Iterator[str]:
        return iter(self.cells)

    def __len__(self) -> int:
        return len(self.cells)

    def number(self, column: str) -> float:
        """The value of a column that must be filled.  ValueError if the cell is empty."""
        value = self.cells[column]
        if not isinstance(value, float):
            raise ValueError(f"{self.name}: nothing is said about {column}")
        return value

    def source(self, column: str) -> Source:
        """Where one cell comes from."""
        return self.sources[column]

    @property
    def basis(self) -> str:
        """Where the row's filled cells come from, each source once."""
        seen = {
            str(self.sources[c]): None
            for c, value in self.cells.items()
            if value is not None and c in self.sources
        }
        return "; ".join(seen)


@brief
@dataclass(frozen=True)
class Table(Mapping[str, Row]):
    """One table: row name to Row, in the order of the file.

    ``former``: names that rows had in older files, and what they are called now.  They are
    found, so that an old build file still loads, but never listed.
    """

    name: str
    title: str
    note: str
    source: Source
    columns: Mapping[str, ColumnKind]
    bases: tuple[Basis, ...]
    rows: Mapping[str, Row]
    former: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, row: str) -> Row:
        return self.rows[self.current(row)]

    def current(self, row: str) -> str:
        """What a row is called now: its own name, or the one that followed a former name."""
        return row if row in self.rows else self.former.get(row, row)

    def __iter__(self) -> Iterator[str]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def with_own(self, own: Mapping[str, Mapping[str, Any]]) -> Table:
        """The table with a build file's own rows, held in SI, laid over it.

        A row may say ``like``: the row that it takes the rest of its cells from.  A row
        that has the name of a row of the table takes the rest from that one.
        """
        rows = dict(self.rows)
        for name, cells in own.items():
            like = str(cells.get("like") or name)
            start = rows.get(like) or self.get(like)
            merged: dict[str, Cell] = dict(start.cells) if start else dict.fromkeys(self.columns)
            sources = dict(start.sources) if start else {}
            for column in self.columns:
                if column in cells:
                    merged[column] = cells[column]
                    sources[column] = OWN
            rows[name] = Row(name, merged, sources)
        return replace(self, rows=rows)


def data_folder() -> Path:
    """The folder of the tables: inside an installed package, or beside it in a source tree.

    FileNotFoundError if neither is there.
    """
    package = Path(__file__).resolve().parents[1]
    for place in (package / "_data", package.parent / "data"):
        if (place / "tubes.csv").is_file():
            return place
    raise FileNotFoundError("the data tables are missing; install the package again")


def example_builds() -> dict[str, Path]:
    """The example build files, by name."""
    return {p.stem: p for p in sorted((data_folder() / "builds").glob("*.toml"))}


@lru_cache(maxsize=1)
def table_names() -> tuple[str, ...]:
    """The names of all tables."""
    return tuple(sorted(p.stem for p in data_folder().glob("*.csv")))


def table(name: str, own: Mapping[str, Mapping[str, Mapping[str, Any]]] | None = None) -> Table:
    """One table, with the build file's own rows if ``own`` (``build.rows``) has any for it.

    KeyError for a table that does not exist.
    """
    if name not in table_names():
        raise KeyError(f"no table {name!r}; there are {', '.join(table_names())}")
    rows = (own or {}).get(name)
    return _load(name).with_own(rows) if rows else _load(name)


def cell(value: Any, column: ColumnKind) -> Cell:
    """The value of one cell given as a build file gives it: texts with units, flags, lists.

    QuantityError if it is not what the column holds.
    """
    if column.flag:
        if not isinstance(value, bool):
            raise QuantityError("needs true or false")
        return value
    if column.many:
        if not isinstance(value, list | tuple):
            raise QuantityError("needs a list")
        if column.word:
            return tuple(read(v, column.word) for v in value)
        if not all(isinstance(v, str) for v in value):
            raise QuantityError("needs a list of texts")
        return tuple(value)
    if column.word:
        return read(value, column.word)
    if not isinstance(value, str):
        raise QuantityError("needs a text")
    return value


@lru_cache(maxsize=8192)
def _number(item: str, unit: str, word: str) -> float:
    """A printed figure in SI: in the column's unit, unless it has one of its own."""
    return read(item if split(item)[1] else f"{item} {unit}".strip(), word)


def _printed_cell(text: str, column: ColumnKind) -> Cell:
    """The value of one CSV cell: in the column's unit, unless the cell has one of its own."""
    text = text.strip()
    if not text:
        return None
    if column.flag:
        return {"yes": True, "no": False}[text]
    items = [part.strip() for part in text.split(";")] if column.many else [text]
    if not column.word:
        return tuple(items) if column.many else text
    numbers = [_number(item, column.unit, column.word) for item in items]
    return tuple(numbers) if column.many else numbers[0]


def _source(name: str, about: Mapping[str, Any], above: Mapping[str, Any]) -> Source:
    said = {**above, **about} if "source" not in about else about
    return Source(
        name,
        str(said["source"]),
        str(said.get("read_by", "practice")),
        str(said.get("page", "")),
    )


@lru_cache(maxsize=64)
def _load(name: str) -> Table:
    folder = data_folder()
    about = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    columns = {
        key: ColumnKind(
            key,
            word=said.get("word", ""),
            unit=said.get("unit", ""),
            about=said.get("about", ""),
            many=said.get("list", False),
            flag=said.get("flag", False),
            required=said.get("required", False),
            table=said.get("table", ""),
            known=said.get("known", False),
            beside=said.get("beside", ""),
            most=said.get("most", 1000.0),
            parts=said.get("parts", False),
        )
        for key, said in about["columns"].items()
    }
    whole = _source(name, about, about)
    bases = tuple(
        Basis(
            _source(name, said, about),
            tuple(said.get("rows", ("*",))),
            tuple(said.get("columns", ("*",))),
        )
        for said in about.get("basis", ())
    )
    rows: dict[str, Row] = {}
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        for record in csv.DictReader(file):
            key = record.pop("name")
            if key in rows:
                raise ValueError(f"{name}.csv: two rows are named {key!r}")
            cells: dict[str, Cell] = {}
            for column, text in record.items():
                try:
                    cells[column] = _printed_cell(text, columns[column])
                except (QuantityError, KeyError) as error:
                    raise ValueError(f"{name}.csv, {key}, {column}: {error}") from error
            sources = {c: _basis_of(key, c, bases, whole) for c in columns}
            rows[key] = Row(key, {c: cells.get(c) for c in columns}, sources)
    former = about.get("former", {})
    return Table(name, about["title"], about.get("note", ""), whole, columns, bases, rows, former)


def _basis_of(row: str, column: str, bases: tuple[Basis, ...], whole: Source) -> Source:
    """The last block that covers the cell, or the table's own source."""
    for basis in reversed(bases):
        if basis.covers(row, column):
            return basis.source
    return whole
