"""The strict parser: what it reads, what it refuses, and how it says so."""

from __future__ import annotations

import math

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


@pytest.mark.parametrize("unit", [u for u, _ in _LIST], ids=lambda u: u.name)
def test_factors_agree_with_pint(unit: object) -> None:
    """pint's own definitions did not come from our list."""
    from pint import UnitRegistry

    ureg = UnitRegistry(autoconvert_offset_to_baseunit=True)
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
