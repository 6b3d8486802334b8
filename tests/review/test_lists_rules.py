"""Rules on what the van is put together from: each speaks on a case, and is silent without."""

from __future__ import annotations

from typing import Any

import pytest

from tests.review.spoken import spoken
from tests.small_van import BOX, head, run, tap
from vanplumb.review import lists as rules

TEXT = (
    head("small", "12 V 2.8 gpm 40 psi", BOX) + tap()
    + run("fresh", "pump", '"adapter" = 2', "2 ft") + run("pump", "tap", '"adapter" = 2', "5 ft")
)  # fmt: skip

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
    return spoken(rules, set(CASES), text)


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
