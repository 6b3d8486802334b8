"""Each key of a TOML text is found on the line where it stands."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.van.file.toml_text import line_of, locate, walk

TEXT = (
    '''# a comment with [brackets] and "quotes"
format = 1
title = """
[not.a.table]
x = 1 \\"""
""" # after

[van]
name = 'a # b = c'
"two words" = 1
size.length = "1 m"
size . width = "2 m"

[[tank]]
name = "one"
list = [
  1,  # one, ]
  { a = 2, b.c = "}" },
  [3, '''
    + """'''
]
''', 5],
]
[[tank]]
name = "two"
[tank.sub]
x = 1
[[tank.part]]
y = 1
[[tank.part]]
y = 2
"""
)

EXPECTED = {
    ("format",): 2, ("title",): 3, ("van",): 8, ("van", "name"): 9, ("van", "two words"): 10,
    ("van", "size", "length"): 11, ("van", "size", "width"): 12, ("tank",): 14, ("tank", 0): 14,
    ("tank", 0, "name"): 15, ("tank", 0, "list"): 16, ("tank", 0, "list", 0): 17,
    ("tank", 0, "list", 1): 18, ("tank", 0, "list", 1, "b", "c"): 18, ("tank", 0, "list", 2): 19,
    ("tank", 0, "list", 2, 1): 19, ("tank", 0, "list", 2, 2): 21, ("tank", 1): 23,
    ("tank", 1, "name"): 24, ("tank", 1, "sub"): 25, ("tank", 1, "sub", "x"): 26,
    ("tank", 1, "part", 0): 27, ("tank", 1, "part", 0, "y"): 28, ("tank", 1, "part", 1, "y"): 30,
}  # fmt: skip


@pytest.mark.parametrize("path", EXPECTED, ids=lambda p: ".".join(map(str, p)))
def test_lines_of_a_text_with_everything_in_it(path: tuple[str | int, ...]) -> None:
    assert locate(TEXT)[path] == EXPECTED[path]


def test_carriage_returns_do_not_shift_lines() -> None:
    assert locate(TEXT.replace("\n", "\r\n")) == locate(TEXT)


def test_a_missing_key_has_the_line_of_its_table() -> None:
    assert line_of(locate(TEXT), ("tank", 1, "volume")) == 23


KEYS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=8)
TEXTS = st.text(st.sampled_from("ab#[]{}=.\"'\\\n ,é"), max_size=12)
VALUES = st.recursive(
    st.integers(-9, 9) | st.booleans() | TEXTS | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)


def every_path(data: Any, above: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """All paths of what ``tomllib`` read."""
    pairs: Any = ()
    if isinstance(data, dict | list):
        pairs = data.items() if isinstance(data, dict) else enumerate(data)
    return [p for key, v in pairs for p in ((*above, key), *every_path(v, (*above, key)))]


@settings(max_examples=cases(50), deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=5), st.integers(0, 3))
def test_every_path_that_tomllib_reads_is_located(data: dict[str, Any], shift: int) -> None:
    tomlkit = pytest.importorskip("tomlkit")
    text = "\n" * shift + tomlkit.dumps(data)
    read = tomllib.loads(text)
    lines = locate(text)
    assert set(every_path(read)) == set(lines)
    rows = text.split("\n")
    for path, line in lines.items():
        assert shift < line <= len(rows)
        key = path[-1]
        if isinstance(key, str) and key.isalnum() and key.isascii():
            assert key in rows[line - 1]


def value_at(data: Any, path: tuple[str | int, ...]) -> Any:
    for key in path:
        data = data[key]
    return data


@settings(max_examples=cases(50), deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_each_value_begins_and_ends_where_the_walker_says(data: dict[str, Any], end: str) -> None:
    tomlkit = pytest.importorskip("tomlkit")
    text = tomlkit.dumps(data).replace("\n", end)
    read = tomllib.loads(text)
    for path, (first, last) in walk(text).values.items():
        assert tomllib.loads("x = " + text[first:last])["x"] == value_at(read, path)


def test_places_of_keys_and_ends_of_tables() -> None:
    walker = walk(TEXT)
    assert TEXT[walker.keys[("van", "two words")] :].startswith('"two words" = 1')
    assert TEXT[: walker.ends[("van",)]].endswith('size . width = "2 m"')
    assert TEXT[: walker.ends[("tank", 1, "part", 0)]].endswith("y = 1")
    assert ("tank", 0, "list", 1, "a") not in walker.keys
