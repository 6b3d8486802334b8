"""Temperatures come through the door as temperatures, rises as rises, one or many."""

from __future__ import annotations

import numpy as np
import pytest

from vanplumb.words.quantity import QuantityError
from vanplumb.words.units import Q, to_si


@pytest.mark.parametrize("unit, boiling, freezing", [("°C", 100.0, 0.0), ("°F", 212.0, 32.0)])
def test_boiling_and_freezing(unit: str, boiling: float, freezing: float) -> None:
    assert to_si(Q(boiling, unit), "temperature") == pytest.approx(373.15)
    many = to_si(Q(np.array([freezing, boiling]), unit), "temperature_hot")
    assert many == pytest.approx([273.15, 373.15])


def test_a_rise_keeps_its_size() -> None:
    assert to_si(Q(9.0, "Δ°F"), "rise") == pytest.approx(5.0)
    assert to_si(Q(5.0, "K"), "rise") == 5.0


def test_the_one_is_not_taken_for_the_other() -> None:
    with pytest.raises(QuantityError, match="is a difference of temperatures"):
        to_si(Q(10.0, "°C"), "rise")
    with pytest.raises(QuantityError, match="is a temperature, such as"):
        to_si(Q(9.0, "Δ°F"), "temperature")
