"""What a person knows by heart of units, held against pint, and the way from one to another."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.words.conversions import CONVERSIONS, Conversion, NoWay, in_si, powers, times, way
from vanplumb.words.units import Q

PINT = {"fl_oz": "fl oz", "day": "d", "°F": "Δ°F"}
KNOWN = sorted({unit for c in CONVERSIONS for unit in (*powers(c.one), *powers(c.other))})


def in_pint(text: str) -> float:
    found = Q(1.0, "")
    for unit, power in powers(text).items():
        found = found * Q(1.0, PINT.get(unit, unit)) ** power
    return float(found.to_base_units().magnitude)


@pytest.mark.parametrize("one", CONVERSIONS, ids=lambda c: f"{c.one} in {c.other}")
def test_it_is_what_pint_says(one: Conversion) -> None:
    assert one.number * in_pint(one.other) == pytest.approx(in_pint(one.one), rel=1e-12)


@given(st.lists(st.tuples(st.sampled_from(KNOWN), st.sampled_from((-2, -1, 1, 2))), max_size=3))
def test_there_and_back_is_no_change(parts: list[tuple[str, int]]) -> None:
    """A way found multiplies by the very ratio of the two units."""
    have = dict[str, int]()
    for unit, power in parts:
        have = dict(times(have, {unit: power}))
    for want in (powers("gal"), powers("ft/s"), powers("psi"), powers("W h"), {}):
        try:
            steps = way(have, want)
        except NoWay:
            continue
        factor = 1.0
        for conversion, exponent in steps:
            factor *= conversion.number**exponent
        assert factor == pytest.approx(in_si(have) / in_si(want), rel=1e-9)


@pytest.mark.parametrize(
    "have, want, by",
    [
        ("in^3", "gal", {"1 gal = 231 in³"}),
        ("gpm s", "gal", {"1 min = 60 s"}),
        ("gpm/in^2", "ft/s", {"1 gal = 231 in³", "1 ft = 12 in", "1 min = 60 s"}),
        ("lb/(ft s^2)", "psi", {"1 lbf = 32.174 lb ft/s²", "1 ft = 12 in"}),
        ("kg/(m s^2)", "bar", {"1 bar = 100,000 Pa"}),
        ("V A h", "Wh", set()),
    ],
)
def test_the_way_is_the_one_that_a_person_takes(have: str, want: str, by: set[str]) -> None:
    assert {c.told() for c, _ in way(powers(have), powers(want)) if not c.silent} == by


@pytest.mark.parametrize("have, want", [("gal", "s"), ("lb/(ft s)", "mPa s"), ("W/K", "Btu/h")])
def test_there_is_not_always_one(have: str, want: str) -> None:
    with pytest.raises(NoWay):
        way(powers(have), powers(want))
