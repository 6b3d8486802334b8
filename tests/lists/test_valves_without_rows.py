"""Zones whose valve no table knows: bought and told all the same."""

from __future__ import annotations

from tests.small_van import SMALL_VAN
from vanplumb.pack import Pack
from vanplumb.van import loads

HEADER = (
    '[[manifold]]\nname = "cold"\nside = "cold"\ntube = "PE-X 22x2.1"\n'
    '[[zone]]\nmanifold = "cold"\nname = "one"\n[[zone]]\nmanifold = "cold"\nname = "two"\n'
    '[[fixture]]\nname = "other"\nkind = "cold tap"\n'
    '[[run]]\nfrom = "cold.one"\nto = "tap"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
    '[[run]]\nfrom = "cold.two"\nto = "other"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
)


def test_a_valve_that_no_table_has_is_on_the_bill_without_a_mass() -> None:
    bill = Pack(loads(SMALL_VAN.replace('to = "tap"', 'to = "cold"') + HEADER)).lists.bill
    [valve] = [line for line in bill.lines if line.kind == "valve"]
    assert valve.name == "ball valve for PE-X 22x2.1"
    assert valve.needed == 2 and valve.mass is None
    assert valve.name in bill.unweighed
