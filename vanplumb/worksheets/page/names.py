"""The names that a build file may use, such as those of tubes and fittings, with their figures."""

from __future__ import annotations

from typing import Any

from ...van.entries import entries
from ...van.file.template import quantity
from ...van.file.write import toml
from ...van.model import LISTS, SECTIONS
from ...words.quantity import QuantityError, read, unit_of
from ...words.report import Column, Grid, grid
from ...words.show import counted, show
from ...words.tables import ColumnKind, Table, table

HEAT = "Btu/lb"
HEADS = {
    "od": "outside diameter",
    "bore": "inside diameter",
    "heating_value": "heat, lower",
    "heating_value_gross": "heat, higher",
    "temperature_least": "coldest in use",
    "temperature_greatest": "hottest in use",
    "set": "before handling",
    "cure": "before pressure",
    "cut_in": "starts at",
    "cut_out": "stops at",
    "lift": "suction lift",
    "turn": "turn of the handle",
    "closing": "shut in",
    "flow_pressure": "at a pressure of",
    "wait": "before pressure",
    "cold_least": "not made below",
}
"""What is said instead of a column's name."""
LEFT_OUT = {
    "tubes": ("roughness", "conductivity", "density", "specific_heat", "expansion_coefficient"),
    "fuels": ("carbon_dioxide",),
}
"""What sums need and nobody chooses by."""


def named_in_builds() -> dict[str, str]:
    """Tables whose rows a build file names: table to title, in the order of the file's keys."""
    found: dict[str, str] = {}
    for kind in (*SECTIONS.values(), *LISTS.values()):
        for _, entry, _ in entries(kind).values():
            if entry.table:
                found.setdefault(entry.table, table(entry.table).title)
    return found


def names_grid(name: str, system: str = "SI") -> Grid:
    """One table: the name of each row, as a build file writes it, and its plain figures.

    KeyError for a table that does not exist.
    """
    rows = table(name)
    columns = _columns(rows)
    cells = tuple(
        (row.name, *(_cell(row[c], rows.columns[c].word, system) for c in columns))
        for row in rows.values()
    )
    heads = [Column("name"), *(_head(rows, c, system) for c in columns)]
    return Grid(f"{rows.title}: {name}", tuple(heads), cells, note=" ".join(rows.note.split()))


def own_row_grid(name: str, system: str = "SI") -> Grid:
    """What a row of one's own may say in a table, column by column, each with an example.

    KeyError for a table that does not exist.
    """
    rows = table(name)
    cells: list[tuple[object, ...]] = [
        ("name", toml("mine"), "what the build file calls it; must be given"),
        ("like", toml(next(iter(rows))), "the row that gives what is not said here"),
    ]
    cells += [
        (key, _example(rows, key, system), _meaning(column)) for key, column in rows.columns.items()
    ]
    note = f"A row of your own stands in the build file under [[rows.{name}]]."
    columns = {"key": 0, "such as": 1, "what it is": 2}
    return grid(f"A row of your own in {name}", cells, columns, note=note)


def _example(rows: Table, key: str, system: str) -> str:
    """The first cell that says something, as a build file writes it."""
    column = rows.columns[key]
    found = next((row[key] for row in rows.values() if row[key] is not None), None)
    if found is None:
        return toml("12.50" if column.word == "price" else "")
    if column.many:
        return toml([_written(one, column.word, system) for one in found])
    return toml(_written(found, column.word, system))


def _written(cell: Any, word: str, system: str) -> Any:
    if not word or isinstance(cell, bool | str):
        return cell
    if word == "count":
        return int(cell) if cell == int(cell) else float(cell)
    said = quantity(cell, word, system)
    try:
        read(said, word)
    except QuantityError:  # a few units are printed for US readers and read in SI only
        return quantity(cell, word, "SI")
    return said


def _meaning(column: ColumnKind) -> str:
    said = [column.about] if column.about else []
    if column.table and column.table not in column.about:
        said.append(f"a row of the table {column.table}")
    if column.beside and "in step" not in column.about:
        said.append(f"in step with {column.beside}")
    if column.required:
        said.append("must be given, or come from like")
    return "; ".join(said)


def _columns(rows: Table) -> list[str]:
    """Those that hold one figure or one short text, and are filled for most rows."""
    kept = []
    for name, column in rows.columns.items():
        filled = [row[name] for row in rows.values() if row[name] is not None]
        short = all(not isinstance(v, str) or len(v) <= 24 for v in filled)
        wanted = name not in LEFT_OUT.get(rows.name, ())
        plain = wanted and not column.many and not column.flag
        if plain and 2 * len(filled) >= len(rows) and short:
            kept.append(name)
    return kept[:5]


def _head(rows: Table, name: str, system: str) -> Column:
    """A column under plain words.  Times, and heat for US readers, are texts with their units."""
    said, word = HEADS.get(name, name.replace("_", " ")), rows.columns[name].word
    if word == "heating_value" and system == "US":
        return Column(f"{said}, {HEAT}", align="right")
    return Column(said, align="right") if word == "duration" else Column(said, word)


def _cell(value: Any, word: str, system: str) -> object:
    if value is None:
        return ""
    if word == "duration":
        return _time(value)
    if word == "heating_value" and system == "US":
        return f"{value / unit_of(HEAT).factor:,.0f}"
    return value


def _time(seconds: float) -> str:
    """A time in the longest unit that keeps it whole."""
    if seconds == 0:
        return "at once"
    for size, unit in ((86400, "day"), (3600, "h"), (60, "min")):
        if seconds % size == 0:
            count = round(seconds / size)
            return counted(count, unit) if unit == "day" else f"{count} {unit}"
    return show(seconds, "duration", "SI")
