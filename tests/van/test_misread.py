"""A slip of the pen is told in plain words, on the line where it was made."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.van import BuildError, loads
from vanplumb.words.tables import example_builds

GOOD = """\
format = 1
[van]
name = "test"
units = "SI"
[[tank]]
name = "fresh"
shape = "box"
length = "750 mm"
width = "350 mm"
height = "300 mm"
[[use]]
name = "wash"
fixture = "basin"
hours = ["07:30", "20:00"]
[[run]]
from = "fresh"
to = "tap"
tube = "PEX 1/2 in"
length = "3 ft"
fittings = { "elbow 90" = 2, "entrance" = 1 }
"""

UNITS, HEIGHT, HOURS = 'units = "SI"', 'height = "300 mm"', 'hours = ["07:30", "20:00"]'
FITTINGS = 'fittings = { "elbow 90" = 2, "entrance" = 1 }'

SLIPS = [
    # what stood there, what stands there now, line, what is said
    (UNITS, 'units = "SI', 4, 'a quote mark is missing at the end: write units = "SI"'),
    (UNITS, 'units = SI"', 4, 'a quote mark is missing at the front: write units = "SI"'),
    (UNITS, "units = 'SI", 4, "a text begins here with ' and never ends"),
    (UNITS, 'units = """SI"', 4, "a text begins here with three quote marks and never ends"),
    (UNITS, 'units = "SI""', 4, 'a quote mark is too many: write units = "SI"'),
    (UNITS, "units = SI", 4, 'a text stands in quotes: write units = "SI"'),
    (UNITS, "units = “SI”", 4, "the quote marks are slanted: use straight quotes"),
    (UNITS, "units =", 4, 'units has no value behind the "="'),
    (UNITS, "units =  # SI", 4, 'units has no value behind the "="'),
    (UNITS, "units", 4, 'units has no "=" and no value behind it'),
    (UNITS, 'units "SI"', 4, 'a "=" is missing behind units'),
    (UNITS, 'units: "SI"', 4, 'has ":" where "=" belongs: write units = "SI"'),
    (UNITS, 'units == "SI"', 4, 'has "=" twice'),
    (UNITS, '= "SI"', 4, 'has no name before the "="'),
    (UNITS, 'my units = "SI"', 4, '"my units" before the "=" is no name'),
    (UNITS, 'units = "SI", or', 4, 'something stands behind the value: ", or"'),
    (UNITS, 'units = "S\\I"', 4, "a backslash ( \\ ) in a text is written twice"),
    (UNITS, "units = True", 4, "write units = true, in small letters"),
    (UNITS, "units = 0,5", 4, "write decimals with a point: units = 0.5"),
    (UNITS, "units = .5", 4, "write the number as units = 0.5"),
    (UNITS, "units = 05", 4, "write the number as units = 5"),
    (UNITS, "units = 08:99", 4, 'a date or a time stands in quotes: write units = "08:99"'),
    (UNITS, UNITS + "\nunits = 'US'", 5, "units stands on line 4 already: keep one of them"),
    (UNITS, UNITS + "\n[van]", 5, "[van] stands on line 2 already"),
    (UNITS, "// " + "note", 4, "is neither a name with its value, nor a heading, nor a remark"),
    (HEIGHT, "height = 300 mm", 10, 'unit stands in quotes: write height = "300 mm"'),
    (HEIGHT, "height = 2 ft 6 in", 10, 'unit stands in quotes: write height = "2 ft 6 in"'),
    (HEIGHT, 'height = 12"', 10, 'unit stands in quotes: write height = "12 in"'),
    (HEIGHT, 'height = "12""', 10, 'a " within a text ends it: write height = "12 in"'),
    (HEIGHT, "height = \"6' 2\"\"", 10, 'write height = "6 ft 2 in"'),
    ("[van]", "[van", 2, "the heading is not in whole brackets: write [van]"),
    ("[van]", "van]", 2, "the heading is not in whole brackets: write [van]"),
    ("[van]", "[]", 2, "the heading has no name between its brackets"),
    ("[van]", '[van] name = "x"', 2, "such as [van] or [[tank]] stands alone on its line"),
    ("[[run]]", "[[run]", 15, "the heading is not in whole brackets: write [[run]]"),
    ("[[run]]", "[run]]", 15, "the heading is not in whole brackets: write [[run]]"),
    ("[[run]]", "[check valve]", 15, "write [[check_valve]]"),
    ("[[run]]", "[use]", 15, "[use] stands on line 11 already: write [[use]] for each of them"),
    (HOURS, 'hours = ["07:30", "20:00"', 14, 'the "[" of this line is not closed'),
    (HOURS, 'hours = [\n"07:30",\n"20:00",', 14, 'the "[" of this line is not closed'),
    (HOURS, 'hours = [\n"07:30"\n"20:00"\n]', 16, "a comma is missing between two values"),
    (HOURS, 'hours = ["07:30" "20:00"]', 14, "a comma is missing between two values"),
    (HOURS, 'hours = ["07:30",, "20:00"]', 14, "a comma is too many"),
    (HOURS, 'hours = ["07:30, "20:00"]', 14, "a quote mark is missing within the brackets"),
    (HOURS, 'hours = ["07:30"]]', 14, "a closing bracket is too many"),
    (HOURS, "hours = [2 m, 3 m]", 14, "each value with a unit, and each name, stands in quotes"),
    (FITTINGS, 'fittings = { "elbow 90" = 2', 20, 'the "{" is not closed: a "}" is missing'),
    (FITTINGS, "fittings = { elbow 90 = 2 }", 20, 'is not of the form { "elbow 90" = 2'),
    (FITTINGS, 'fittings = { "a" = 1, "a" = 2 }', 20, "a name stands twice within { }"),
    (FITTINGS, 'fittings { "elbow 90" = 2 }', 20, 'a "=" is missing behind fittings'),
]  # fmt: skip


@pytest.mark.parametrize("end", ["\n", "\r\n"], ids=["unix", "windows"])
@pytest.mark.parametrize("old, new, line, told", SLIPS, ids=[s[1] for s in SLIPS])
def test_a_slip_is_told_in_plain_words(old: str, new: str, line: int, told: str, end: str) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1).replace("\n", end)
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(text)
    with pytest.raises(BuildError) as caught:
        loads(text)
    (problem,) = caught.value.problems
    assert told in problem.message
    assert problem.line == line
    assert "TOML" not in problem.message


def test_a_long_text_is_not_shown_cut_as_what_to_write() -> None:
    with pytest.raises(BuildError, match=r"line 3: a quote mark is missing at the end$"):
        loads(GOOD.replace('"test"', '"' + "a long name of a van " * 4))


def test_what_is_said_to_be_written_instead_can_be_read() -> None:
    """Where the message gives the whole row, the row put in its place mends the file."""
    mended = 0
    for old, new, line, _ in SLIPS:
        text = GOOD.replace(old, new, 1)
        with pytest.raises(BuildError) as caught:
            loads(text)
        _, found, row = caught.value.problems[0].message.partition(" write ")
        if not found or " = " not in row or "small letters" in row:
            continue
        rows = text.split("\n")
        rows[line - 1] = row
        assert tomllib.loads("\n".join(rows))
        mended += 1
    assert mended > 8


@given(st.data())
def test_one_letter_lost_or_doubled_is_found_on_its_own_line(data: st.DataObject) -> None:
    rows = example_builds()["dipper"].read_text(encoding="utf-8").split("\n")
    marked = [
        n for n, row in enumerate(rows) if not row.startswith("#") and set(row) & set('"[]{}=')
    ]
    number = data.draw(st.sampled_from(marked))
    row = rows[number].partition(" #")[0]
    at = data.draw(st.sampled_from([n for n, c in enumerate(row) if c in '"[]{}=,']))
    twice = data.draw(st.booleans())
    rows[number] = row[:at] + row[at] * 2 * twice + row[at + 1 :]
    text = "\n".join(rows)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(BuildError) as caught:
            loads(text)
        assert caught.value.problems[0].line == number + 1
        assert "can't be read" not in caught.value.problems[0].message


@given(st.text(alphabet="ab =\"'[]{}#\\\n,.1:“", max_size=40))
def test_any_text_gets_a_line_that_it_has(text: str) -> None:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(BuildError) as caught:
            loads(text)
        if text.strip():
            assert 1 <= caught.value.problems[0].line <= text.count("\n") + 1
        assert len(caught.value.problems[0].message) > 5
    except RecursionError:
        pass
