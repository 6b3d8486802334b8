"""What people type into a field: bare numbers, capitals, absolute pressures, Cv, days and hours."""

from __future__ import annotations

import pytest

from vanplumb.words.quantity import QuantityError
from vanplumb.words.typed import CV, tidy, typed

PSI = 6894.757293168361


@pytest.mark.parametrize(
    "text, word, system, si",
    [
        ("30", "pressure", "US", 30 * PSI),
        ("2", "pressure", "SI", 2e5),
        ("30 PSI", "pressure", "SI", 30 * PSI),
        ("30 psig", "pressure", "US", 30 * PSI),
        ("44.695949 psia", "pressure", "US", 30 * PSI),
        ("1.01325 bara", "pressure", "SI", 0.0),
        ("44 psi", "pressure_absolute", "US", 44 * PSI),
        ("100.5f", "temperature", "SI", 311.2056),
        ("38 c", "temperature", "US", 311.15),
        ("105", "temperature", "US", 313.7056),
        ("1 day 2 h", "duration", "US", 26 * 3600.0),
        ("2 Days", "duration", "SI", 172800.0),
        ("9/16", "length", "US", 0.0142875),
        ("1 9/16", "length", "US", 0.0396875),
        ("12000 BTU/hr", "power", "SI", 12000 * 1055.05585262 / 3600),
        ("12000 btuh", "power", "US", 12000 * 1055.05585262 / 3600),
        ("1440", "power", "US", 1440.0),
        ("1.5 GPM", "flow", "SI", 9.4635295e-5),
        ("5.7 l/min", "flow", "SI", 9.5e-5),
        ("50", "share", "US", 0.5),
        ("0.5", "share", "US", 0.5),
    ],
)
def test_what_people_type_is_taken(text: str, word: str, system: str, si: float) -> None:
    assert typed(text, word, system) == pytest.approx(si, rel=1e-6, abs=1e-6)


def test_cv_against_the_factor_that_valve_makers_print() -> None:
    """Kv = 0.865 Cv, as printed in valve data (common practice): flow in m³/h at 1 bar."""
    assert pytest.approx(0.865, abs=0.0005) == CV * 3600
    assert typed("1.4 Cv", "flow_coefficient", "US") == pytest.approx(1.4 * 0.865 / 3600, rel=1e-3)
    assert typed("1.2 Kv", "flow_coefficient", "SI") == pytest.approx(1.2 / 3600)


@pytest.mark.parametrize(
    "text, word, system, told",
    [
        ("9/16", "length", "SI", 'write "9/16 in" for inches'),
        ("60 MPA", "pressure", "SI", 'doesn\'t know the unit "MPA"'),
        ("30 bananas", "pressure", "US", "bananas"),
        ("30 KG", "pressure", "US", 'did you mean "kg"'),
        ("12,7", "length", "SI", "decimals with a point"),
        ("", "pressure", "US", "needs a pressure"),
        ("-5", "length", "US", "must be above 0"),
        ("1 day and 2 h", "duration", "US", 'write "1 d 2 h"'),
        ("44:30", "duration", "US", '"44:30" may be hours or minutes: write "44 min 30 s" or'),
        ("2:05 min", "duration", "SI", 'write "2 min 5 s" or "2 h 5 min"'),
        ("1:44:30", "duration", "US", 'for "1:44:30" write "104 min 30 s"'),
    ],
)
def test_what_could_mean_two_things_is_refused(
    text: str, word: str, system: str, told: str
) -> None:
    """MPA may be mega or milli: a guess would be a factor of a billion off."""
    with pytest.raises(QuantityError) as error:
        typed(text, word, system)
    assert told in str(error.value)


def test_a_unit_that_is_known_is_left_alone() -> None:
    assert tidy("1 1/2 in", "length") == "1 1/2 in"
    assert tidy("30 kg", "pressure") == "30 kg"
    assert tidy("30 Psi", "pressure") == "30 psi"
