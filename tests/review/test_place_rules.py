"""Rules on where the van is built and stands: each speaks on a case, and is silent without."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.review.spoken import spoken
from tests.small_van import BOX, head, run, tap
from vanplumb.review import place as rules

TEXT = (
    head("small", "12 V 2.8 gpm 40 psi", BOX + 'place = "cabin"\n',
         'region = "UK"\ncabin = "18 °C"\ncold_water = "10 °C"\n')
    + tap() + 'ends = { inlet = "1/2 in G male brass" }\n'
    + run("fresh", "pump", length="2 ft", tube="PE-X 16x2.0")
    + run("pump", "tap", length="5 ft", tube="PE-X 16x2.0")
)  # fmt: skip

AMERICAN = TEXT.replace('region = "UK"', 'region = "US"').replace("PE-X 16x2.0", "PEX 1/2 in")
AMERICAN = AMERICAN.replace("1/2 in G male brass", "1/2 in NPT male brass")

CASES = {
    "threads_of_two_standards": (
        TEXT.replace("1/2 in G male brass", "1/2 in NPT female brass"),
        "NPT does not fit .* flanks .*60.*55",
    ),
    "two_metals_touch": (
        AMERICAN.replace("NPT male brass", "NPT male aluminum"),
        "Brass touches aluminium",
    ),
    "cold_water_stands_warm": (TEXT.replace('"18 °C"', '"28 °C"'), "as warm as what is around"),
    "plastic_tube_in_the_sun": (
        TEXT.replace('length = "5 ft"', 'length = "5 ft"\nplace = "outside"'),
        "light uses it up",
    ),
}


def found(text: str) -> list[Any]:
    return spoken(rules, set(CASES), text)


def test_a_sound_build_is_left_alone() -> None:
    assert found(TEXT) == []


@pytest.mark.parametrize("name", CASES)
def test_it_speaks_where_it_must(name: str) -> None:
    text, words = CASES[name]
    hits = found(text)
    assert {n for n, _ in hits} == {name}
    assert all(re.search(words, f.what) for _, f in hits), hits


def test_what_parts_two_metals_is_let_be() -> None:
    """Brass on steel, and a push-fit fitting of plastic on aluminium."""
    assert found(AMERICAN.replace("NPT male brass", "NPT male steel")) == []
    assert found(TEXT.replace("1/2 in G male brass", "1/2 in G male aluminium")) == []


def test_pitch_is_told_where_it_differs() -> None:
    """NPT has 18 threads an inch at 3/8, R has 19; at 1/2 both have 14."""
    text = TEXT.replace("1/2 in G male brass", "3/8 in NPT female brass")
    assert any("18 and 19" in f.what for _, f in found(text))


def test_the_same_thread_is_the_usual_one_in_another_region() -> None:
    american = CASES["threads_of_two_standards"][0].replace('region = "UK"', 'region = "US"')
    american = american.replace("PE-X 16x2.0", "PEX 1/2 in")
    assert "threads_of_two_standards" not in {n for n, _ in found(american)}
