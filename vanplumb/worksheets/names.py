"""The names that a build file may use, such as those of tubes and fittings, with their figures."""

from __future__ import annotations

from ..build.fields import entries
from ..build.model import LISTS, SECTIONS
from ..words.report import Column, Grid
from ..words.tables import Table, table


def named_in_builds() -> dict[str, str]:
    """Tables whose rows a build file names: table to title, in the order of the file's keys."""
    found: dict[str, str] = {}
    for kind in (*SECTIONS.values(), *LISTS.values()):
        for _, entry, _ in entries(kind).values():
            if entry.table:
                found.setdefault(entry.table, table(entry.table).title)
    return found


def names_grid(name: str) -> Grid:
    """One table: the name of each row, as a build file writes it, and its plain figures.

    KeyError for a table that does not exist.
    """
    rows = table(name)
    columns = _columns(rows)
    cells = tuple((row.name, *(_cell(row[c]) for c in columns)) for row in rows.values())
    heads = [Column("name"), *(Column(c.replace("_", " "), rows.columns[c].word) for c in columns)]
    return Grid(f"{rows.title}: {name}", tuple(heads), cells, note=" ".join(rows.note.split()))


def _columns(rows: Table) -> list[str]:
    """Those that hold one figure or one short text, and are filled for most rows."""
    kept = []
    for name, column in rows.columns.items():
        filled = [row[name] for row in rows.values() if row[name] is not None]
        short = all(not isinstance(v, str) or len(v) <= 24 for v in filled)
        if not column.many and not column.flag and 2 * len(filled) >= len(rows) and short:
            kept.append(name)
    return kept[:5]


def _cell(value: object) -> object:
    return "" if value is None else value
