"""Tables are made of rows of results: cells by attribute, column, place or function."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, nan

import pytest

from vanplumb.words.report import RIGHT, grid
from vanplumb.words.tables import table


@dataclass(frozen=True)
class _Run:
    name: str
    length: float


def test_each_cell_comes_from_where_its_heading_says() -> None:
    made = grid(
        "Runs",
        [_Run("cold", 2.54), _Run("hot", 0.254)],
        {
            "run": "name",
            "length": ("length", "length"),
            "letters": (lambda run: len(run.name), RIGHT),
        },
        key="runs",
    )
    assert made.shown("US") == (
        ["run", "length, in", "letters"],
        [["cold", "100", "4"], ["hot", "10", "3"]],
    )
    assert [c.align for c in made.columns] == ["left", "right", "right"]


def test_what_is_not_known_is_left_empty() -> None:
    rows = [("a", nan), ("b", inf), ("c", None), ("d", 1.0)]
    made = grid("", rows, {"what": 0, "flow": (1, "flow")})
    assert [row[1] for row in made.rows] == [None, None, None, 1.0]
    assert [row[1] for row in made.shown("SI")[1]] == ["–", "–", "–", "60000.0"]


def test_two_headings_may_read_alike() -> None:
    made = grid("", [(300.0, 1e5)], {"hot": (0, "temperature"), "hot ": (1, "pressure")})
    assert made.shown("SI")[0] == ["hot, °C", "hot, bar"]


def test_a_row_of_a_table_gives_its_columns_by_name() -> None:
    tube = table("tubes")["PEX 1/2 in"]
    made = grid("", [tube], {"tube": "name", "bore": ("bore", "diameter")})
    assert made.rows == (("PEX 1/2 in", tube["bore"]),)


def test_a_heading_that_asks_for_nothing_known_fails() -> None:
    with pytest.raises(AttributeError):
        grid("", [_Run("cold", 1.0)], {"bore": "bore"})
