"""Test pressure and refills of a small van, by hand."""

from __future__ import annotations

import pytest

from vanplumb.pack import Pack
from vanplumb.van import loads

TEXT = """\
format = 1
[van]
name = "Small"
units = "SI"
region = "US"
[[tank]]
name = "fresh"
shape = "box"
length = "800 mm"
width = "400 mm"
height = "300 mm"
pickup_height = "60 mm"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
cut_in = "2 bar"
cut_out = "3 bar"
[[fixture]]
name = "basin"
kind = "cold tap"
[[run]]
from = "fresh"
to = "pump"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "pump"
to = "basin"
tube = "PEX 1/2 in"
length = "1 m"
"""


@pytest.fixture(scope="module")
def pack() -> Pack:
    return Pack(loads(TEXT))


def test_the_test_is_at_one_and_a_half_times_the_highest_in_service(pack: Pack) -> None:
    """Typical published instructions; the pump's cut-out of 3 bar is the highest in service."""
    test = pack.shop.test
    assert test.working == pytest.approx(3e5)
    assert test.pressure == pytest.approx(4.5e5)


def test_refills_are_counted_one_by_one(pack: Pack) -> None:
    """A heel of 60 mm of 300 mm stays behind at each draining and thins what is filled in."""
    dose = pack.shop.dose
    assert dose is not None
    heel = 0.8 * 0.4 * 0.06
    left, count = dose.way.number("concentration"), 0
    while left > dose.drinking:
        left *= heel / dose.volume
        count += 1
    assert dose.refills == max(count, 1)
    assert count > 1, "the case must tell a heel from the least that stays behind"
