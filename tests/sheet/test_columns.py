"""Columns of a table on paper: wide enough for what they hold, and never wider than the page."""

from __future__ import annotations

import json

import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.sheet.contents import fitted, width

CELLS = st.lists(st.lists(st.text(max_size=30), min_size=3, max_size=3), max_size=6)


@given(st.lists(st.text(max_size=20), min_size=3, max_size=3), CELLS, st.floats(1, 100))
def test_a_table_never_takes_more_than_its_room(
    heads: list[str], rows: list[list[str]], room: float
) -> None:
    widths = fitted(heads, rows, room)
    assert len(widths) == 3
    assert sum(widths) <= room * (1 + 1e-9)


def test_with_room_each_cell_has_one_line_and_with_less_the_heads_break_first() -> None:
    heads, rows = ["a long head in words", "b"], [["12.5", "a cell with words"]]
    wide = fitted(heads, rows, 100)
    assert wide[0] > width(heads[0]) and wide[1] > width(rows[0][1])
    tight = fitted(heads, rows, sum(wide) - 3)
    assert width("words") < tight[0] < wide[0]
    assert tight[1] > width(rows[0][1])


def test_with_still_less_only_the_widest_gives_way() -> None:
    rows = [["12.5", "words " * 40, "also words"]]
    figures, long, short = fitted(["x", "y", "z"], rows, 40)
    assert figures > width("12.5") and short > width("also words")
    assert figures + long + short == pytest.approx(40)


@pytest.mark.parametrize(
    "text",
    ["PEX 1/2 in", "cold manifold.shower to shower.cold", "−38.3", "WARNING", "62.37 lb/ft³"],
)
def test_widths_are_those_of_the_face(text: str) -> None:
    """Against typst's own measure of the line: never narrower, and not much wider."""
    source = b"""#set text(font: "Libertinus Serif", size: 100pt, number-width: "tabular")
    #context [#metadata(measure(json(bytes(sys.inputs.told))).width / 100pt) <width>]"""
    told = {"told": json.dumps(text)}
    measured = float(
        typst.query(
            source, "<width>", field="value", one=True, sys_inputs=told, ignore_system_fonts=True
        )
    )
    assert measured - 0.1 <= width(text) <= measured * 1.15 + 0.1
