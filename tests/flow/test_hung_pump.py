"""A pump that hangs in the tank: as one with a short wide suction line, but without that line."""

from __future__ import annotations

import pytest
from pytest import approx

from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack
from vanplumb.shop.draining.draining import Draining
from vanplumb.trip.stay.feeds import tank_sets
from vanplumb.van import BuildError, loads
from vanplumb.van.main_parts import main_pump
from vanplumb.van.trace import served, ways

TEXT = """format = 1
[van]
name = "Can"
units = "SI"
[[tank]]
name = "can"
shape = "box"
length = "300 mm"
width = "200 mm"
height = "300 mm"
base_height = "0.1 m"
[[pump]]
name = "dipped pump"
kind = "electric"
curve = "12 V submersible 8 L/min"
in_tank = "can"
[[fixture]]
name = "tap"
kind = "cold tap"
flow = "4 L/min"
flow_pressure = "0.2 bar"
[[run]]
from = "dipped pump"
to = "tap"
tube = "hose 12 mm"
length = "1 m"
rise = "0.6 m"
"""
LINE = '[[run]]\nfrom = "can"\nto = "dipped pump"\ntube = "PE-X 25x2.3"\nlength = "1 mm"\n'


def test_it_gives_what_one_with_a_short_suction_line_gives() -> None:
    hung = Flow(loads(TEXT)).solve(["tap"])
    joined = Flow(loads(TEXT.replace('in_tank = "can"\n', "") + LINE)).solve(["tap"])
    assert hung.found and hung.fixtures["tap"].flow > 1e-5
    assert hung.fixtures["tap"].flow == approx(joined.fixtures["tap"].flow, rel=2e-3)


def test_the_van_knows_where_its_water_comes_from() -> None:
    build = loads(TEXT)
    assert [way.components for way in ways(build)] == [("can", "dipped pump")]
    assert served(build, "can") == ("tap",)
    assert [one.name for one in tank_sets(build)] == ["can"]
    assert main_pump(build) is build.pump[0]
    pack = Pack(build)
    assert [f.what for f in pack.all_findings if f.not_worked_out] == []
    told = {f.rule for f in pack.findings}
    assert not told & {"strainer_missing", "port_not_joined", "fixture_without_water"}
    assert "can" in pack.flow.build.hung_pumps.values()
    assert len(pack.lists.pieces) == 1
    # a pump of its row has no check valve: what stands in the hose falls back into the can
    assert Draining(build).stays == approx(0.0, abs=1e-9)
    # a check of its own keeps what stands in the hose above it: 1 m of 12 mm bore
    kept = loads(TEXT.replace('in_tank = "can"', 'in_tank = "can"\ncheck = true'))
    assert Draining(kept).stays == approx(1.131e-4, rel=1e-3)


@pytest.mark.parametrize(
    "text, told",
    [
        (TEXT.replace('in_tank = "can"', 'in_tank = "cann"'), 'did you mean "can"'),
        (TEXT + LINE, "must not be said where a run leads to the pump"),
    ],
)
def test_what_can_not_be_is_told(text: str, told: str) -> None:
    with pytest.raises(BuildError, match=told):
        loads(text)
