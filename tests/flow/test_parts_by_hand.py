"""Parts of the flow's network against what a few lines by hand give."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pytest import approx

from vanplumb import example
from vanplumb.flow.changed_build import vary
from vanplumb.flow.components import valve_loss
from vanplumb.flow.elasticity import wall_of
from vanplumb.flow.engine import Flow
from vanplumb.flow.run_losses import along
from vanplumb.words.tables import Row, table


def test_a_strainer_half_clogged_passes_half_at_the_same_loss() -> None:
    build = vary(example("dipper"), {"strainer.strainer.clogged_share": 0.5})
    clean = example("dipper").strainer[0].kv
    assert Flow(build).made.net.link("strainer").kv == approx(clean / 2)


@pytest.mark.parametrize("valve", table("valves"))
def test_a_valve_nearly_shut_passes_by_its_opening(valve: str) -> None:
    """Half of the least opening of the table lets half through: four times the velocity heads."""
    build, least = example("dipper"), min(table("valves")[valve]["openings"])
    there, half = (valve_loss(build, valve, opening)[0] for opening in (least, least / 2))
    assert half == approx(4 * there)


def test_a_wall_that_no_row_gives_is_half_of_what_the_bore_leaves() -> None:
    row = Row("hose", {"wall": None, "od": 0.018, "bore": 0.013}, {})
    assert wall_of(row) == approx(0.0025)


def test_a_flow_heater_lights_at_its_least_flow_and_not_below() -> None:
    flow = Flow(example("heron"))
    hot = {"galley": "hot"}
    through = flow.solve(hot).links["heater"].flow
    lit, out = (
        flow.solve(hot, changes={"heater.heater.flow_least": through * share}).fixtures["galley"]
        for share in (0.9, 1.2)
    )
    assert lit.temperature == approx(flow.build.heater[0].setpoint, abs=0.01)
    assert out.temperature == approx(flow.build.van.cold_water, abs=0.01)


def test_a_pump_that_its_switch_stops_and_starts_holds_the_mean_of_both() -> None:
    flow = Flow(example("dipper"))
    pump = flow.solve([]).pumps["pump"]
    assert pump.outlet == approx((pump.cut_in + pump.cut_out) / 2, rel=0.02)


def test_what_a_line_takes_counts_the_way_the_water_goes() -> None:
    """The same line told from its other end: all signs turn, and what it takes does not."""
    there = Flow(example("dipper")).solve(["sink"]).links["run 1"]
    back = replace(there, flow=-there.flow, parts={k: -v for k, v in there.parts.items()})
    assert along(there, "friction") > 0
    for part in there.parts:
        assert along(back, part) == along(there, part) == there.parts[part]
