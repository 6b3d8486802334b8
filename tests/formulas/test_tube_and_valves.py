"""Tube, valve, surge and strength formulas: inverses, scaling and other ways to the same figure."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas import pressure as strength
from vanplumb.formulas import tube, valves
from vanplumb.formulas import tube as surge

bores = st.floats(0.005, 0.1)
flows = st.floats(1e-6, 1e-2)
pressures = st.floats(10.0, 1e6)
densities = st.floats(900, 1100)
coefficients = st.floats(1e-5, 1e-2)


@pytest.mark.checks("velocity", "flow_at_velocity", "bore_area")
@given(flows, bores)
def test_flow_is_speed_times_area(flow: float, bore: float) -> None:
    speed = tube.velocity.si(flow=flow, diameter=bore)
    assert tube.flow_at_velocity.si(velocity=speed, diameter=bore) == pytest.approx(flow, rel=1e-12)
    assert speed * tube.bore_area.si(diameter=bore) == pytest.approx(flow, rel=1e-12)


@pytest.mark.checks("bore_area", "content_per_length")
def test_a_round_bore_has_the_area_of_a_fine_polygon() -> None:
    from shapely import Point

    polygon = Point(0, 0).buffer(0.5, quad_segs=4096)
    assert tube.bore_area.si(diameter=1.0) == pytest.approx(polygon.area, rel=1e-6)
    assert tube.content_per_length.si(diameter=1.0) == pytest.approx(polygon.area, rel=1e-6)


@pytest.mark.checks("head", "elevation_pressure")
@given(st.floats(-50, 50), densities)
def test_head_undoes_elevation(height: float, density: float) -> None:
    there = tube.elevation_pressure.si(density=density, height=height)
    assert tube.head.si(pressure=there, density=density) == pytest.approx(height, rel=1e-12)


@pytest.mark.checks("reynolds", "relative_roughness", "hydraulic_power", "plug_wait")
def test_against_fluids_and_counting() -> None:
    from fluids.core import Reynolds, relative_roughness

    assert tube.reynolds.si(998.2, 1.7, 0.0121, 1.0016e-3) == pytest.approx(
        Reynolds(V=1.7, D=0.0121, rho=998.2, mu=1.0016e-3), rel=1e-12
    )
    assert tube.relative_roughness.si(1.5e-6, 0.0121) == pytest.approx(
        relative_roughness(D=0.0121, roughness=1.5e-6), rel=1e-12
    )
    lifted = 9.80665 * 10.2 * 2.5  # newtons times metres in a second: 2.5 kg/s up 10.2 m
    head = tube.elevation_pressure.si(density=1000.0, height=10.2)
    assert tube.hydraulic_power.si(flow=2.5e-3, pressure=head) == pytest.approx(lifted, rel=1e-12)
    assert tube.plug_wait.si(volume=0.5, flow=0.1) == pytest.approx(5.0)


@pytest.mark.checks("friction_loss", "laminar_friction")
@given(st.floats(1e-8, 1e-6), bores)
def test_slow_flow_follows_hagen_and_poiseuille(flow: float, bore: float) -> None:
    """128 μ L Q / (π D⁴), the law of slow flow that knows no friction factor."""
    speed = tube.velocity.si(flow=flow, diameter=bore)
    factor = tube.laminar_friction.si(tube.reynolds.si(998.0, speed, bore, 1e-3))
    lost = tube.friction_loss.si(factor, 3.0, bore, 998.0, speed)
    assert lost == pytest.approx(128 * 1e-3 * 3.0 * flow / (math.pi * bore**4), rel=1e-9)


@pytest.mark.checks("equivalent_length", "fitting_loss")
@given(st.floats(0.05, 20), bores, st.floats(0.01, 0.06), st.floats(0.1, 4))
def test_equivalent_length_costs_what_the_fitting_costs(
    loss_coefficient: float, bore: float, factor: float, speed: float
) -> None:
    length = tube.equivalent_length.si(loss_coefficient, bore, factor)
    by_tube = tube.friction_loss.si(factor, length, bore, 998.0, speed)
    assert by_tube == pytest.approx(tube.fitting_loss.si(loss_coefficient, 998.0, speed), rel=1e-12)


@pytest.mark.checks("valve_flow", "valve_loss", "coefficient_from_test")
@given(coefficients, pressures, densities)
def test_kv_turns_pressure_into_flow_and_back(kv: float, lost: float, density: float) -> None:
    flow = valves.valve_flow.si(kv, lost, density)
    assert valves.valve_loss.si(flow, kv, density) == pytest.approx(lost, rel=1e-9)
    assert valves.coefficient_from_test.si(flow, lost, density) == pytest.approx(kv, rel=1e-9)


@pytest.mark.checks("loss_coefficient_from_kv", "kv_from_loss_coefficient")
@given(st.floats(0.1, 50), bores, flows, densities)
def test_k_and_kv_of_one_valve_cost_the_same(
    loss_coefficient: float, bore: float, flow: float, density: float
) -> None:
    kv = valves.kv_from_loss_coefficient.si(loss_coefficient, bore)
    by_k = tube.fitting_loss.si(loss_coefficient, density, tube.velocity.si(flow, bore))
    assert valves.valve_loss.si(flow, kv, density) == pytest.approx(by_k, rel=1e-9)
    assert valves.loss_coefficient_from_kv.si(kv, bore) == pytest.approx(loss_coefficient, rel=1e-9)


@pytest.mark.checks("kv_in_series")
@given(coefficients, coefficients, flows)
def test_losses_of_valves_in_series_add_up(first: float, second: float, flow: float) -> None:
    whole = valves.kv_in_series.si(first, second)
    apart = valves.valve_loss.si(flow, first, 998.0) + valves.valve_loss.si(flow, second, 998.0)
    assert valves.valve_loss.si(flow, whole, 998.0) == pytest.approx(apart, rel=1e-9)


@pytest.mark.checks("widening_coefficient", "narrowing_coefficient")
@given(st.floats(0.05, 1.0))
def test_steps_in_a_bore_against_fluids(ratio: float) -> None:
    from fluids.fittings import contraction_sharp, diffuser_sharp

    wide, narrow = 0.05, 0.05 * ratio
    there = diffuser_sharp(Di1=narrow, Di2=wide)
    assert valves.widening_coefficient.si(narrow, wide) == pytest.approx(there, abs=1e-12)
    crane = contraction_sharp(Di1=wide, Di2=narrow, method="Crane")
    assert valves.narrowing_coefficient.si(narrow, wide) == pytest.approx(crane, abs=1e-12)


@pytest.mark.checks("outlet_pressure")
@given(flows, pressures, flows)
def test_outlet_pressure_undoes_outlet_flow(rated: float, pressure: float, flow: float) -> None:
    needed = valves.outlet_pressure.si(flow=flow, flow_rated=rated, pressure_rated=pressure)
    found = valves.outlet_flow.si(flow_rated=rated, pressure=needed, pressure_rated=pressure)
    assert found == pytest.approx(flow, rel=1e-9)


@pytest.mark.checks("orifice_flow")
def test_an_orifice_passes_a_torricelli_jet() -> None:
    from vanplumb.formulas.tank import jet_speed

    pressure = tube.elevation_pressure.si(density=1000.0, height=3.0)
    jet = 0.61 * tube.bore_area.si(diameter=0.004) * jet_speed.si(depth=3.0)
    assert valves.orifice_flow.si(0.61, 0.004, pressure, 1000.0) == pytest.approx(jet, rel=1e-12)


@pytest.mark.checks("joining_branch_coefficient", "joining_run_coefficient")
def test_a_dry_branch_pulls_and_a_dry_run_costs_nothing() -> None:
    """Limits that follow from momentum: with no branch flow the run passes freely."""
    assert valves.joining_run_coefficient.si(share_branch=0.0) == 0
    assert valves.joining_branch_coefficient.si(share_branch=0.0) < 0


@pytest.mark.checks("slow_surge_pressure", "reflection_time")
def test_shutting_just_as_the_wave_comes_back_gives_the_whole_blow() -> None:
    """Michaud's rise for a shutting time of 2L/a is Joukowsky's."""
    back = surge.reflection_time.si(length=6.0, velocity_wave=600.0)
    slow = surge.slow_surge_pressure.si(998.0, 6.0, 1.5, back)
    assert slow == pytest.approx(surge.surge_pressure.si(998.0, 600.0, 1.5), rel=1e-12)


@pytest.mark.checks("wave_speed")
def test_a_wall_that_cannot_give_leaves_the_speed_of_sound() -> None:
    stiff = surge.wave_speed.si(2.2e9, 1e20, 998.0, 0.012, 0.002)
    assert stiff == pytest.approx(math.sqrt(2.2e9 / 998.0), rel=1e-9)
    thick = np.array([0.001, 0.002, 0.004])
    assert (np.diff(surge.wave_speed.si(2.2e9, 8e8, 998.0, 0.012, thick)) > 0).all()


@pytest.mark.checks("hoop_stress", "dimension_ratio", "pressure_rating", "bore")
@given(st.floats(0.01, 0.06), st.floats(5.0, 20.0), st.floats(1e5, 1e7))
def test_a_tube_at_its_rating_has_its_design_stress(
    outside: float, ratio: float, stress: float
) -> None:
    wall = outside / ratio
    rating = strength.pressure_rating.si(
        stress, strength.dimension_ratio.si(diameter_outside=outside, thickness_wall=wall)
    )
    assert strength.hoop_stress.si(rating, outside, wall) == pytest.approx(stress, rel=1e-9)
    # Thin ring: pressure on the mean width is held by two walls.
    middle = strength.bore.si(diameter_outside=outside, thickness_wall=wall) + wall
    assert rating * middle == pytest.approx(2 * wall * stress, rel=1e-9)


@pytest.mark.checks("hazen_williams_loss")
@given(st.floats(1e-5, 1e-2), st.floats(1.01, 4.0))
def test_hazen_williams_scales_by_its_powers(flow: float, times: float) -> None:
    """Published powers 1.852 and 4.8704: times the flow, times the bore, times the length."""
    base = tube.hazen_williams_loss.si(flow, 1.0, 0.012, 150.0)
    more = tube.hazen_williams_loss.si(flow * times, 3.0, 0.012, 150.0)
    wide = tube.hazen_williams_loss.si(flow, 1.0, 0.012 * times, 150.0)
    assert more / base == pytest.approx(3 * times**1.852, rel=1e-9)
    assert base / wide == pytest.approx(times**4.8704, rel=1e-9)
