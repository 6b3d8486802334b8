"""What chapters are made of, for the sheet, the lists and the notebooks: plain data, no layout."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from html import escape
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING, Any

from .brief import brief
from .show import counted, heading, show, value
from .work import Work

if TYPE_CHECKING:
    import pandas as pd


class Amiss(str):
    """What is told where it is bad news, such as a leak: no page has it in the colour of good."""


@brief
@dataclass(frozen=True)
class Answer:
    """One figure with its name.  ``value`` is SI for a glossary ``word``, else text.

    ``work`` holds the worked steps, ``basis`` where an input comes from ("given",
    "assumed", a table), ``key`` marks the few that open the sheet.
    """

    label: str
    value: float | str
    word: str = ""
    work: tuple[Work, ...] = ()
    basis: str = ""
    note: str = ""
    key: bool = False

    def shown(self, system: str) -> str:
        """The value in the reader's unit."""
        if isinstance(self.value, str) or not self.word:
            return str(self.value)
        return show(self.value, self.word, system)

    def word_of(self, work: Work) -> str:
        """The word that the step which gives it is told by: 2 fl oz, not 0.02 gal.

        Empty for a step on the way, which goes by its own.
        """
        if not self.word or isinstance(self.value, str):
            return ""
        return self.word if math.isclose(work.value, self.value, rel_tol=1e-9) else ""


@dataclass(frozen=True)
class Column:
    """A column of a grid.  With a ``word`` its cells are SI floats or None, else text.

    ``by_hand`` marks one that is written in on paper: its empty cells are left white.
    """

    head: str
    word: str = ""
    align: str = "left"
    by_hand: bool = False


@brief
@dataclass(frozen=True)
class Grid:
    """A table of results; ``key`` is the name of its CSV file, if it becomes one.

    ``printed`` is how many rows go on the sheet, zero for all; the list holds all.  ``asks`` is a
    question that is answered in the table, and so stands above it.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]
    key: str = ""
    note: str = ""
    printed: int = 0
    asks: str = ""

    def shown(self, system: str) -> tuple[list[str], list[list[str]]]:
        """Heads (with units) and cells as the reader sees them."""
        heads = [heading(c.head, c.word, system) for c in self.columns]
        cells = [
            [
                ("" if column.by_hand else "–")
                if cell is None or cell == ""
                else show(cell, column.word, system, with_unit=False)
                if column.word and not isinstance(cell, str)
                else str(cell)
                for column, cell in zip(self.columns, row, strict=True)
            ]
            for row in self.rows
        ]
        return heads, cells

    def frame(self, system: str = "SI") -> pd.DataFrame:
        """The table with figures in the reader's units, each unit in its column's name."""
        import pandas as pd

        heads = self.shown(system)[0]
        columns = [
            [
                value(float(cell), column.word, system)
                if column.word and isinstance(cell, int | float)
                else cell
                for cell in (row[place] for row in self.rows)
            ]
            for place, column in enumerate(self.columns)
        ]
        return pd.DataFrame(dict(zip(_apart(heads), columns, strict=True)))

    def html(self, system: str) -> str:
        """The table for a notebook, as it reads on the sheet."""
        heads, cells = self.shown(system)
        rows = [("th", heads), *(("td", row) for row in cells)]
        lines = "".join(
            f"<tr>{''.join(f'<{tag}>{escape(cell)}</{tag}>' for cell in row)}</tr>"
            for tag, row in rows
        )
        return f"<table><caption>{escape(self.title)}</caption>{lines}</table>"


def _apart(heads: list[str]) -> list[str]:
    """Headings that read alike are numbered, so that each names one column."""
    seen: dict[str, int] = {}
    found = []
    for head in heads:
        seen[head] = seen.get(head, 0) + 1
        found.append(head if seen[head] == 1 else f"{head} {seen[head]}")
    return found


class ResultTable:
    """One table of a build's results: ``frame()`` for sums of your own; a notebook shows it."""

    def __init__(self, grid: Grid, system: str) -> None:
        self.grid, self.system = grid, system

    def __repr__(self) -> str:
        return f"Table: {self.grid.title}, {counted(len(self.grid.rows), 'row')}"

    def _repr_html_(self) -> str:
        return self.grid.html(self.system)

    def frame(self) -> pd.DataFrame:
        """The table as a DataFrame in the build's units, each unit in its column's name."""
        return self.grid.frame(self.system)


class Tables(Mapping[str, ResultTable]):
    """Tables by their keys, which are the names of their lists."""

    def __init__(self, tables: Mapping[str, ResultTable]) -> None:
        self._tables = dict(tables)

    def __getitem__(self, key: str) -> ResultTable:
        if key not in self._tables:
            raise KeyError(f"no table {key!r}; there are {', '.join(self._tables)}")
        return self._tables[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._tables)

    def __len__(self) -> int:
        return len(self._tables)

    def __repr__(self) -> str:
        return "\n".join(f"{key}: {table.grid.title}" for key, table in self._tables.items())

    def _repr_html_(self) -> str:
        listed = grid(
            "Tables", self._tables.items(), {"key": 0, "table": lambda row: row[1].grid.title}
        )
        return listed.html("SI")


RIGHT = ">"
"""In place of a word: a text that is set to the right, like a figure."""

WRITE = "_"
"""In place of a word: room to write in by hand."""

Getter = str | int | Callable[[Any], Any]
"""Where a cell comes from: the name of a column or attribute of the row, a place in it, or a
function of it."""


def grid(
    title: str,
    rows: Iterable[Any],
    columns: Mapping[str, Getter | tuple[Getter, str]],
    *,
    key: str = "",
    note: str = "",
    printed: int = 0,
    asks: str = "",
) -> Grid:
    """A table of results: a row for each of ``rows``, a column for each heading.

    Each heading has where its cells come from, and the glossary word if they are SI values.
    A figure that is not finite is not known, so its cell is left empty.  A blank at the end of
    a heading tells it from another that reads the same, and is not printed.
    """
    told = [
        (head, *(one if isinstance(one, tuple) else (one, ""))) for head, one in columns.items()
    ]
    getters = [_getter(source) for _, source, _ in told]
    return Grid(
        title,
        tuple(
            Column(
                head.rstrip(),
                "" if word in (RIGHT, WRITE) else word,
                "left" if word in ("", WRITE) else "right",
                word == WRITE,
            )
            for head, _, word in told
        ),
        tuple(tuple(_cell(getter(row)) for getter in getters) for row in rows),
        key,
        note,
        printed,
        asks,
    )


def _getter(source: Getter) -> Callable[[Any], Any]:
    if isinstance(source, int):
        return itemgetter(source)
    if not isinstance(source, str):
        return source
    attribute = attrgetter(source)
    return lambda row: row[source] if isinstance(row, Mapping) and source in row else attribute(row)


def _cell(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value


@brief
@dataclass(frozen=True)
class Caution:
    """A warning that stands beside a figure.  ``level`` is an ANSI Z535 signal word.

    ``hazard`` names what several chapters warn of, ``here`` is what of the text is this one's own.
    """

    level: str
    text: str
    hazard: str = ""
    here: str = ""


@brief
@dataclass(frozen=True)
class Picture:
    """A drawing as a complete SVG; with sizes in mm it is printed to scale."""

    key: str
    caption: str
    svg: str


@brief
@dataclass(frozen=True)
class Chapter:
    """One subject of the sheet."""

    key: str
    title: str
    basis: tuple[str, ...] = ()
    inputs: tuple[Answer, ...] = ()
    answers: tuple[Answer, ...] = ()
    grids: tuple[Grid, ...] = ()
    pictures: tuple[Picture, ...] = ()
    cautions: tuple[Caution, ...] = ()
    not_computed: tuple[str, ...] = ()

    def with_pictures(self, *pictures: Picture) -> Chapter:
        """The same chapter with these pictures added."""
        return replace(self, pictures=self.pictures + pictures)
