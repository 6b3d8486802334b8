"""The strict parser: what it reads, what it refuses, and how it says so."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.words.quantity import QuantityError, read, split, unit_of
from vanplumb.words.unit_table import _LIST, UNITS

INCH = 0.0254  # exact by definition, NIST SP 811


@pytest.mark.parametrize(
    "text, name, expected",
    [
        ("1 1/2 in", "length", 1.5 * INCH),
        ("1-1/2 in", "length", 1.5 * INCH),
        ("½ in", "length", 0.5 * INCH),
        ("1 ½ in", "length", 1.5 * INCH),
        ("1½ in", "length", 1.5 * INCH),
        ("3/8in", "diameter", 0.375 * INCH),
        ("12.7 mm", "diameter", 0.0127),
        ("45 °C", "temperature", 318.15),
        ("1 in 20", "share", 0.05),
        ("3 out of 4", "share", 0.75),
        ("2 pints", "volume", 57.75 * INCH**3),  # two eighths of 231 in³, NIST Handbook 44
        ("2 gallons a day", "flow", 462 * INCH**3 / 86400),
        ("45 degC", "temperature", 318.15),
        ("105 F", "temperature", (105 + 459.67) / 1.8),
        ("-10 °C", "temperature", 263.15),
        ("5 K", "rise", 5.0),
        ("9 Δ°F", "rise", 5.0),
        ("-1 m", "height", -1.0),
        ("2.5 gpm", "flow", 2.5 * 231 * INCH**3 / 60),
        ("6 L/min", "flow", 1e-4),
        ("1.5 m^3/h", "flow_coefficient", 1.5 / 3600),
        ("1.5 m³/h", "flow_coefficient", 1.5 / 3600),
        ("12000 Btu/h", "power", 12000 * 1055.05585262 / 3600),
        ("62 %", "share", 0.62),
        (0.62, "share", 0.62),
        ("4180 J/(kg K)", "specific_heat", 4180.0),
        ("1e2 L", "volume", 0.1),
        ("100 Ah", "charge", 360000.0),
        ("2 ft 6 in", "length", 30 * INCH),
        ("2 ft 6 1/2 in", "length", 30.5 * INCH),
        ("2 ft 6½ in", "length", 30.5 * INCH),
        ("5 ft 3/8 in", "length", 60.375 * INCH),
        ("5 feet 6.5 inches", "height", 66.5 * INCH),
        ("6' 2\"", "length", 74 * INCH),
        ("6'2\"", "length", 74 * INCH),
        ("6′ 2 1/4″", "length", 74.25 * INCH),
        ("2ft 6in", "length", 30 * INCH),
        ("2ft6in", "length", 30 * INCH),
        ("0 ft 6 in", "length", 6 * INCH),
        ("2 ft 0 in", "length", 24 * INCH),
        ("2 ft 11 15/16 in", "length", 35.9375 * INCH),
        ("1 h 20 min", "duration", 4800.0),
        ("1 min 30 s", "duration", 90.0),
        ("10 ft2", "area", 10 * (12 * INCH) ** 2),
        ("1.5 m3/h", "flow_coefficient", 1.5 / 3600),
    ],
)
def test_reads(text: str, name: str, expected: float) -> None:
    assert read(text, name) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "text, name, message",
    [
        ("60 kg", "volume", 'needs a volume such as .*, got "60 kg", a mass'),
        (60, "volume", "got the bare number 60: write the unit too"),
        ("60", "volume", 'got "60" with no unit'),
        ("12,7 mm", "diameter", 'write decimals with a point, "12.7 mm"'),
        ("1,200 mm", "length", 'write decimals with a point, "1.200 mm", and thousands without'),
        ("1,200,000 mm", "length", 'thousands without a mark, "1200000 mm"'),
        ("-5 L", "volume", 'must be 0 or more, got "-5 L"'),
        ("nan L", "volume", "is not a number"),
        ("inf L", "volume", "is not a number"),
        ("1e999 L", "volume", "too large a number"),
        ("2*30 L", "volume", "doesn't know the unit"),
        ("1/0 in", "length", "divides by nothing"),
        ("1 1/2 1/2 in", "length", "doesn't know the unit|read a number"),
        ("10 °C", "rise", 'is a difference of temperatures: write "10 K"'),
        ("5 Δ°F", "temperature", "is a temperature"),
        ("120 %", "share", "must be 0 to 100 %"),
        ("3 KG", "mass", 'did you mean "kg"'),
        ("3 furlong", "length", 'doesn\'t know the unit "furlong"'),
        ("", "length", "can't read a number"),
        (True, "length", "got true or false"),
        ([1], "length", "got a list"),
        ("5000 °C", "temperature", "must be"),
        ("0 in", "diameter", "must be above 0"),
    ],
)
def test_refuses(text: object, name: str, message: str) -> None:
    with pytest.raises(QuantityError, match=message):
        read(text, name)


TOGETHER = [
    # text, word, what to write instead (None: a bare sentence says it)
    ("-2 ft 6 in", "height", "-30 in"),
    ("−1 ft 6 in", "height", "-18 in"),
    ("+2 ft 6 in", "length", "30 in"),
    ("2 ft -6 in", "length", "2 ft 6 in"),
    ("5'-6 1/2\"", "length", "5 ft 6 1/2 in"),
    ("2 ft, 6 in", "length", "2 ft 6 in"),
    ("2 ft and 6 in", "length", "2 ft 6 in"),
    ("2 ft 12 in", "length", "3 ft 0 in"),
    ("2 ft 14 1/2 in", "length", "3 ft 2.5 in"),
    ("2.5 ft 6 in", "length", "36 in"),
    ("2 1/2 ft 6 in", "length", "36 in"),
    ("2 ft 6", "length", "2 ft 6 in"),
    ("2' 6", "length", "2 ft 6 in"),
    ("2 ft 6,5 in", "length", "2 ft 6.5 in"),
    ("2 m 30 cm", "length", "230 cm"),
    ("6 in 2 ft", "length", "2.5 ft"),
    ("1 h 75 min", "duration", "2 h 15 min"),
    ("1 h 30 s", "duration", "3630 s"),
    ("5 lb 3 oz", "mass", "83 oz"),
    ("1 gal 2 qt", "volume", "6 qt"),
]


@pytest.mark.parametrize("text, name, instead", TOGETHER)
def test_two_numbers_in_any_other_form_are_refused_with_how_to_write_them(
    text: str, name: str, instead: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, name)
    said = str(caught.value)
    assert said.endswith(f'"{instead}"')
    assert "doesn't know the unit" not in said
    assert math.isfinite(read(instead, name))


@pytest.mark.parametrize(
    "text",
    ["2 ft 6 in 1/2", "2 ft 6 in 3 in", "2 ft 14", "2.5 ft 6", "2 ft 6 kg", "2 m 30", "2 ft 6 in."],
)
def test_what_can_only_be_guessed_at_says_the_forms(text: str) -> None:
    form = 'write one number and one unit, or feet and inches such as "2 ft 6 in"'
    with pytest.raises(QuantityError, match=form):
        read(text, "length")


def test_feet_and_inches_are_no_other_sort_of_quantity() -> None:
    with pytest.raises(QuantityError, match=r'needs a volume .*, got "2 ft 6 in", a length'):
        read("2 ft 6 in", "volume")


@given(st.integers(0, 500), st.integers(0, 191))
def test_feet_and_inches_as_a_tape_shows_them_come_back(feet: int, ticks: int) -> None:
    """Sixteenths are exact in binary, so nothing may be lost on the way."""
    inches = f"{ticks // 16} {ticks % 16}/16"
    assert split(f"{feet} ft {inches} in") == (feet * 12 + ticks / 16, "in")
    assert split(f"{feet}' {inches}\"") == (feet * 12 + ticks / 16, "in")


@cache
def pints_own() -> Any:
    from pint import UnitRegistry

    return UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("unit", [u for u, _ in _LIST], ids=lambda u: u.name)
def test_factors_agree_with_pint(unit: object) -> None:
    """pint's own definitions did not come from our list."""
    ureg = pints_own()
    theirs = unit.pint or unit.name  # type: ignore[attr-defined]
    one, two = (ureg.Quantity(n, theirs).to_base_units().magnitude for n in (1.0, 2.0))
    scale = 1e3 if ureg.Quantity(1, theirs).to_base_units().units == ureg.gram else 1.0
    assert unit.factor == pytest.approx((two - one) / scale, rel=1e-8)  # type: ignore[attr-defined]
    assert unit.offset == pytest.approx((2 * one - two) / scale, abs=1e-9)  # type: ignore[attr-defined]


@given(st.text(max_size=30), st.sampled_from(["length", "volume", "temperature", "share", "flow"]))
def test_any_text_is_read_or_refused(text: str, name: str) -> None:
    try:
        value = read(text, name)
    except QuantityError as error:
        assert str(error)
    else:
        assert math.isfinite(value)


@given(
    st.floats(1e-6, 1e6), st.sampled_from(sorted(u for u in UNITS if UNITS[u].dimension[0] == 1))
)
def test_number_and_unit_come_apart(number: float, unit: str) -> None:
    found, rest = split(f"{number!r} {unit}")
    assert found == number
    assert unit_of(rest) is not None
