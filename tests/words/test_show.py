"""How figures are shown: the reader's unit, and no idle digits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.words.glossary import WORDS
from vanplumb.words.quantity import read
from vanplumb.words.show import drill_size, show, to_si, value


@pytest.mark.parametrize(
    "text, name, us, si",
    [
        ("1.3 gal", "volume", "1.3 gal", "4.9 L"),
        ("38 psi", "pressure", "38 psi", "2.62 bar"),
        ("105 °F", "temperature", "105 °F", "40.6 °C"),
        ("41 °C", "temperature", "106 °F", "41 °C"),
        ("1 3/16 in", "length", "1 3/16 in", "30 mm"),
        ("6 in", "length", "6 in", "152 mm"),
        ("2 in", "height", "2 in", "0.05 m"),
        ("-4 1/2 in", "height", "−4 1/2 in", "−0.11 m"),
        ("500 ft", "height", "500 ft", "152.4 m"),
        ("0.03 in", "length", "1/16 in" if round(0.03 * 16) else "0 in", "1 mm"),
        ("0.475 in", "diameter", "0.475 in", "12.07 mm"),
        ("9 Δ°F", "rise", "9 °F", "5 K"),
        ("90 s", "duration", "90 s", "90 s"),
        ("8 min", "duration", "8 min", "8 min"),
        ("0.36 psi", "pressure_loss", "0.36 psi", "0.025 bar"),
        ("100 gal", "volume", "100 gal", "379 L"),
        ("12.5 %", "share", "13 %", "13 %"),
        ("1 fl oz/day", "leak", "1 fl oz/day", "0.0205 mL/min"),
        ("1 oz", "mass_small", "1.00 oz", "28 g"),
    ],
)
def test_shows(text: str, name: str, us: str, si: str) -> None:
    here = read(text, "mass" if name == "mass_small" else name)
    assert (show(here, name, "US"), show(here, name, "SI")) == (us, si)


def test_a_minus_is_a_minus_and_nothing_is_not_negative() -> None:
    assert show(read("-10 °C", "temperature"), "temperature", "SI") == "−10 °C"
    assert show(-1e-9, "height", "SI") == "0 m"


def test_missing_and_endless() -> None:
    assert show(None, "volume", "US") == "–"
    assert show(float("nan"), "volume", "US") == "–"
    assert show(float("inf"), "duration", "SI") == "∞"


def test_an_unknown_system_is_refused() -> None:
    with pytest.raises(ValueError, match="system must be US or SI"):
        show(1.0, "volume", "UK")


@given(st.sampled_from(sorted(WORDS)), st.floats(-1e6, 1e6), st.sampled_from(["US", "SI"]))
def test_there_and_back(name: str, number: float, system: str) -> None:
    there = value(number, name, system)
    assert to_si(there, name, system) == pytest.approx(number, rel=1e-9, abs=1e-9)


@given(st.sampled_from(sorted(WORDS)), st.floats(-1e12, 1e12), st.sampled_from(["US", "SI"]))
def test_shows_any_number_shortly(name: str, number: float, system: str) -> None:
    assert 0 < len(show(number, name, system)) < 40


def test_a_hole_is_told_by_the_bit_that_is_sold() -> None:
    """9/64 in is 3.57 mm, 11/64 in 4.37 mm: the nearest to holes of 3.5 and 4.5 mm."""
    assert [drill_size(d / 1000, "US") for d in (3.5, 4.5, 25.4, 30.0)] == [
        "9/64 in",
        "11/64 in",
        "1 in",
        "1 3/16 in",
    ]
    assert drill_size(0.0035, "SI") == "3.5 mm"
