"""Tables of the sheet as CSV files: for the shop, a spreadsheet, another program.

UTF-8 with a byte-order mark, so that spreadsheets show °, ½ and é as they are; commas; one
head line that names the units.  Figures are in the reader's units with six digits,
and texts that a spreadsheet would run as a formula begin with a quote mark.  What is cut stands a
second time where that is in inches, in sixteenths as on the tape: nobody cuts by decimals.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from itertools import chain, count
from typing import Any

from ..words.files import file_name
from ..words.report import Chapter, Column, Grid
from ..words.show import show, shown_in, sixteenths, unit, value
from .escape import cell

CUT = ("Cut", "Cut each")
"""Columns by which tube is cut."""


def csv_of(grid: Grid, units: str, stamp: str = "") -> bytes:
    """One table as the bytes of a CSV file.

    ``stamp`` tells which state of the build it is of: it heads a last column that is empty, so
    that it stays with the list and no figure moves.
    """
    page = io.StringIO(newline="")
    writer = csv.writer(page, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    last, empty = ([cell(stamp)], [""]) if stamp else ([], [])
    heads = [[_head(c, units), *_tape_head(c, units)] for c in grid.columns]
    writer.writerow([*chain(*heads), *last])
    for row in grid.rows:
        cells = [
            [
                _cell(entry, c, units),
                *([_on_the_tape(entry, c, units)] if _tape_head(c, units) else []),
            ]
            for entry, c in zip(row, grid.columns, strict=True)
        ]
        writer.writerow([*chain(*cells), *empty])
    return page.getvalue().encode("utf-8-sig")


def lists_of(chapters: Iterable[Chapter], units: str, stamp: str = "") -> dict[str, bytes]:
    """File name to bytes for every table that has a key."""
    chapters = tuple(chapters)
    return {
        file: csv_of(grid, units, stamp)
        for chapter, files in zip(chapters, names_of(chapters), strict=True)
        for grid, file in zip(chapter.grids, files, strict=True)
        if file
    }


def names_of(chapters: Iterable[Chapter]) -> list[list[str]]:
    """The file name of each chapter's tables, empty without a key.  Two alike are numbered."""
    taken: set[str] = set()
    names = []
    for chapter in chapters:
        files = [_free(file_name(g.key), taken) if g.key else "" for g in chapter.grids]
        names.append(files)
    return names


def _free(stem: str, taken: set[str]) -> str:
    names = chain([f"{stem}.csv"], (f"{stem}-{n}.csv" for n in count(2)))
    free = next(n for n in names if n not in taken)
    taken.add(free)
    return free


def _head(column: Column, units: str) -> str:
    mark = unit(column.word, units) if column.word else ""
    return cell(f"{column.head} ({mark})" if mark else column.head)


def _tape_head(column: Column, units: str) -> list[str]:
    """The head of the second column of a length that is cut, in inches."""
    in_sixteenths = bool(column.word) and shown_in(column.word, units)[1] is sixteenths
    return [f"{column.head}, on the tape"] if in_sixteenths and column.head in CUT else []


def _on_the_tape(entry: Any, column: Column, units: str) -> str:
    return "" if entry is None or isinstance(entry, str) else show(entry, column.word, units)


def _cell(entry: Any, column: Column, units: str) -> float | int | str:
    if entry is None:
        return ""
    if isinstance(entry, str):
        return cell(entry)
    if isinstance(entry, bool):
        return "yes" if entry else "no"
    if column.word:
        entry = value(float(entry), column.word, units)
    return float(f"{entry:.6g}") if isinstance(entry, float) else entry
