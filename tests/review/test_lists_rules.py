"""Rules on what the van is put together from: each speaks on a case, and is silent without."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from vanplumb.lists import Lists
from vanplumb.review import RULES
from vanplumb.review import lists as rules
from vanplumb.van import loads

TEXT = """
format = 1
[van]
name = "small"
units = "US"
[[tank]]
name = "fresh"
shape = "box"
length = "30 in"
width = "16 in"
height = "12 in"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[fixture]]
name = "tap"
kind = "cold tap"
[[run]]
from = "fresh"
to = "pump"
tube = "PEX 1/2 in"
length = "2 ft"
fittings = { "adapter" = 2 }
[[run]]
from = "pump"
to = "tap"
tube = "PEX 1/2 in"
length = "5 ft"
fittings = { "adapter" = 2 }
"""

CASES = {
    "ends_that_do_not_meet": (
        TEXT.replace('length = "5 ft"', 'length = "5 ft"\nend_fittings = ["nipple, 1/2 in NPT"]'),
        "nipple, 1/2 in NPT .* does not go on 1/2 in NPSM male brass",
    ),
    "run_shorter_than_its_fittings": (
        TEXT.replace('length = "2 ft"', 'length = "2 in"'), "take .* more than it has",
    ),
    "adapters_not_as_picked": (
        TEXT.replace('fittings = { "adapter" = 2 }', 'fittings = { "adapter" = 5 }', 1),
        "counts more adapters than the ends",
    ),
    "tube_not_on_the_shelf": (
        TEXT + '[[stock]]\ntube = "PEX 1/2 in"\nlength = "4 ft"\npieces = 2\n',
        "is longer than any length",
    ),
    "corners_not_bent": (
        TEXT.replace('fittings = { "adapter" = 2 }', 'fittings = { "insert elbow 90" = 4 }', 1)
        + "[shop]\nbend_corners = true\n",
        "stay elbows: its legs are too short",
    ),
}  # fmt: skip


def found(text: str) -> list[Any]:
    build = loads(text)
    answers = SimpleNamespace(build=build, lists=Lists(build))
    mine = [r for r in RULES.values() if r.__module__ == rules.__name__]
    assert {r.__name__ for r in mine} == set(CASES)
    return [(r.__name__, f) for r in mine for f in r(answers)]


def test_a_sound_build_is_left_alone() -> None:
    assert found(TEXT) == []


@pytest.mark.parametrize("name", CASES)
def test_it_speaks_where_it_must(name: str) -> None:
    import re

    text, words = CASES[name]
    mine = [finding for rule, finding in found(text) if rule == name]
    assert mine and re.search(words, mine[0].what)
    assert mine[0].advice and all(mine[0].shown("US"))


def test_where_nothing_fits_the_finding_names_both_ends() -> None:
    text = TEXT.replace('name = "tap"', 'name = "tap"\nends = { inlet = "22 mm solder copper" }', 1)
    mine = [f for name, f in found(text) if name == "ends_that_do_not_meet"]
    assert mine and "22 mm solder copper" in mine[0].what and "PEX 1/2 in" in mine[0].what


def test_tube_that_is_short_on_the_shelf_is_told() -> None:
    short = TEXT + '[[stock]]\ntube = "PEX 1/2 in"\nlength = "5 ft"\npieces = 1\n'
    mine = [f for name, f in found(short) if name == "tube_not_on_the_shelf"]
    assert [f.what for f in mine] == ["The tube on the shelf is not enough: 1 more of PEX 1/2 in."]
