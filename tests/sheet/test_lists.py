"""Lists open in a spreadsheet as they are: units in the head, figures as figures."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from vanplumb.sheet import write_lists
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.lists import csv_of, lists_of
from vanplumb.words.report import Chapter, Column, Grid


def rows_of(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


GRID = Grid(
    "Cuts",
    (Column("piece"), Column("length", "length"), Column("pressure", "pressure"), Column("n")),
    (("a", 0.3048, 262000.0, 2), ("b", None, -1000.0, None)),
    key="cuts",
)


def test_heads_name_the_units_and_figures_are_in_them() -> None:
    assert rows_of(csv_of(GRID, "US")) == [
        ["piece", "length (in)", "pressure (psi)", "n"],
        ["a", "12.0", "37.9999", "2"],  # 0.3048 m = 12 in exactly; 262 kPa / 6.894757
        ["b", "", "-0.145038", ""],
    ]
    assert rows_of(csv_of(GRID, "SI"))[0] == ["piece", "length (mm)", "pressure (bar)", "n"]
    assert rows_of(csv_of(GRID, "SI"))[1][1:3] == ["304.8", "2.62"]


def test_what_is_cut_stands_in_sixteenths_too_where_the_tape_has_inches() -> None:
    """9.8125 in are 9 13/16 in, and 9.80 in to the nearest sixteenth, too."""
    lengths = (9.8125 * 0.0254, 9.80 * 0.0254, None, "bent")
    grid = Grid("Cuts", (Column("Cut", "length"), Column("Left", "length")),
                tuple((one, 0.0254) for one in lengths), key="cuts")  # fmt: skip
    rows = rows_of(csv_of(grid, "US", "Wren, B"))
    assert rows[0] == ["Cut (in)", "Cut, on the tape", "Left (in)", "Wren, B"]
    assert [row[:3] for row in rows[1:]] == [
        ["9.8125", "9 13/16 in", "1.0"],
        ["9.8", "9 13/16 in", "1.0"],
        ["", "", "1.0"],
        ["bent", "", "1.0"],
    ]
    assert rows_of(csv_of(grid, "SI"))[0] == ["Cut (mm)", "Left (mm)"]


def test_a_spreadsheet_is_told_that_it_is_utf_8() -> None:
    grid = Grid("t", (Column("at", "temperature"),), ((313.15,),), key="t")
    data = csv_of(grid, "SI")
    assert data.startswith("\ufeff".encode())
    assert "at (°C)".encode() in data


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\t=1", '=HYPERLINK("x")', "a\n=1"])
def test_a_name_never_becomes_a_formula(name: str) -> None:
    grid = Grid("t", (Column(name), Column("x")), ((name, 1),), key="t")
    rows = rows_of(csv_of(grid, "SI"))
    assert len(rows) == 2
    for row in rows:
        assert row[0][0] not in "=+-@\t\r"


def test_only_tables_with_a_key_become_lists_and_no_list_covers_another(tmp_path: Path) -> None:
    plain = Grid("no key", (Column("a"),), (("x",),))
    up = Grid("up", (Column("a"),), (("outside",),), key="../../up")
    chapters = (Chapter("c", "c", grids=(plain, GRID, GRID, up)),)
    assert list(lists_of(chapters, "US")) == ["cuts.csv", "cuts-2.csv", "up.csv"]


def test_lists_are_written_into_their_folder(pack: Any, tmp_path: Path) -> None:
    [path] = write_lists(pack, tmp_path / "lists")
    assert path == tmp_path / "lists" / "uses.csv"
    assert rows_of(path.read_bytes())[3][0] == "'=cmd|'/c calc'!A1"


def test_the_page_names_each_list_as_it_is_written(make_pack: Any, tmp_path: Path) -> None:
    chapter = Chapter("c", "c", grids=(GRID, GRID))
    pack = make_pack(chapters=(chapter, chapter))
    written = [p.name for p in write_lists(pack, tmp_path)]
    shown = [grid.file for s in sheet_of(pack).sections for grid in s.grids]
    assert shown == [f"lists/{name}" for name in written]
    assert written == ["cuts.csv", "cuts-2.csv", "cuts-3.csv", "cuts-4.csv"]
