"""Waters that no tube joins: what one pump holds is no pressure in another's line."""

from __future__ import annotations

from pytest import approx

from tests.waters_apart import THREE_WATERS
from vanplumb.flow.engine import Flow
from vanplumb.flow.service_pressure import service_pressures
from vanplumb.van import loads


def test_a_tap_is_shut_on_the_pressure_of_its_own_line_only():
    build = loads(THREE_WATERS)
    flow, held = Flow(build), service_pressures(build)
    before = {surge.fixture: surge.before for surge in flow.surges}
    assert set(before) == {"galley", "spout", "shower"}
    # what a full tank or a foot can hold there, by the engine of pressures in service
    assert 0 < before["galley"] <= held.of_part("galley").supply * 1.001
    assert before["galley"] < 0.15e5
    assert before["spout"] <= held.of_part("pedal").supply * 1.001
    pump = flow.situation_of(("shower",)).pumps["pump"]
    assert before["shower"] == approx(pump.outlet, rel=0.02)
    assert before["shower"] > 1e5


def test_a_foot_presses_on_top_of_what_stands_on_its_pump():
    """Shut, network and engine of pressures in service say the same: 0.3 m of water more."""
    build = loads(THREE_WATERS)
    rests = Flow(build).solve([]).pumps["pedal"].outlet
    supply = service_pressures(build).of_part("pedal").supply
    assert supply == approx(0.7e5 + 999.1 * 9.80665 * 0.3, rel=2e-3)  # 0.7 bar by its row
    assert rests == approx(supply, rel=5e-3)
