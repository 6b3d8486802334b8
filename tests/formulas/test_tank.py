"""Tank formulas against shapes measured another way, limits and conservation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas.tank import (
    box_content,
    box_depth,
    drain_time,
    floor_pressure,
    jet_speed,
    lying_cylinder_content,
    mean_section,
    standing_cylinder_content,
    standing_cylinder_depth,
    stepped_box_content,
    supply_time,
    surge_load,
    usable_volume,
    water_mass,
    wedge_content,
)
from vanplumb.words.formula import FormulaError
from vanplumb.words.units import Q

sizes = st.floats(0.05, 3.0)
parts = st.floats(1e-6, 1.0)  # a sliver thinner than a hair is no matter for a geometry library


@pytest.mark.checks("lying_cylinder_content")
@given(sizes, sizes, parts)
def test_lying_cylinder_holds_the_strips_of_its_circle(
    diameter: float, length: float, part: float
) -> None:
    """Thin level strips added up, against the segment in closed form."""
    depth = part * diameter
    heights = (np.arange(20_000) + 0.5) / 20_000 * depth
    chords = 2 * np.sqrt(heights * (diameter - heights))
    strips = chords.sum() / 20_000 * depth * length
    found = lying_cylinder_content.si(depth=depth, diameter=diameter, length=length)
    assert found == pytest.approx(strips, rel=2e-5, abs=1e-12)


@pytest.mark.checks("lying_cylinder_content", "standing_cylinder_content")
@given(sizes, sizes)
def test_a_cylinder_holds_the_same_lying_as_standing(diameter: float, length: float) -> None:
    lying = lying_cylinder_content.si(depth=diameter, diameter=diameter, length=length)
    standing = standing_cylinder_content.si(diameter=diameter, depth=length)
    half = lying_cylinder_content.si(depth=diameter / 2, diameter=diameter, length=length)
    assert lying == pytest.approx(standing, rel=1e-12)
    assert half == pytest.approx(standing / 2, rel=1e-12)


@pytest.mark.checks("stepped_box_content", "wedge_content", "box_content")
@given(sizes, sizes, sizes, parts, parts, parts)
def test_side_views_measured_by_shapely(
    length: float, width: float, height: float, along: float, up: float, wet: float
) -> None:
    """The side view cut at the water's level, its area by a geometry library."""
    from shapely import Polygon, box

    depth = wet * height
    step, rise, low = along * length, up * height, up * 0.95 * height
    below = box(-1, -1, length + 1, depth)
    stepped = Polygon(
        [(0, rise), (step, rise), (step, 0), (length, 0), (length, height), (0, height)]
    )
    wedge = Polygon([(0, 0), (length, 0), (length, low), (0, height)])
    sizes = {"length": length, "width": width, "depth": depth}
    found = stepped_box_content.si(**sizes, length_step=step, height_step=rise)
    assert found == pytest.approx(stepped.intersection(below).area * width, rel=1e-9, abs=1e-12)
    found = wedge_content.si(**sizes, height_high=height, height_low=low)
    assert found == pytest.approx(wedge.intersection(below).area * width, rel=1e-9, abs=1e-12)
    assert box_content.si(**sizes) == pytest.approx(box(0, 0, length, depth).area * width)


@pytest.mark.checks("box_depth", "standing_cylinder_depth", "mean_section")
@given(sizes, sizes, sizes)
def test_depths_undo_contents(length: float, width: float, depth: float) -> None:
    held = box_content.si(length=length, width=width, depth=depth)
    assert box_depth.si(volume=held, length=length, width=width) == pytest.approx(depth, rel=1e-12)
    round_held = standing_cylinder_content.si(diameter=width, depth=depth)
    found = standing_cylinder_depth.si(volume=round_held, diameter=width)
    assert found == pytest.approx(depth, rel=1e-12)
    assert mean_section.si(volume=held, depth=depth) == pytest.approx(length * width, rel=1e-12)


@pytest.mark.checks("drain_time", "jet_speed")
@given(st.floats(0.01, 1.0), st.floats(0.002, 0.05), st.floats(0.5, 1.0), st.floats(0.05, 2.0))
def test_draining_agrees_with_adding_up_short_jets(
    area: float, hole: float, coefficient: float, depth: float
) -> None:
    """A steady jet for each of many thin layers of the tank, added up from the jet's speed."""
    edges = depth * np.linspace(0, 1, 4001) ** 2
    middles = ((np.sqrt(edges[1:]) + np.sqrt(edges[:-1])) / 2) ** 2
    out = coefficient * np.pi / 4 * hole**2 * jet_speed.si(depth=middles)
    added = float(np.sum(area * np.diff(edges) / out))
    found = drain_time.si(area_tank=area, diameter_hole=hole, coefficient=coefficient, depth=depth)
    assert found == pytest.approx(added, rel=1e-6)


@pytest.mark.checks("jet_speed", "floor_pressure")
def test_a_jet_carries_the_pressure_above_it() -> None:
    """Bernoulli: half density times speed squared is the pressure at the floor."""
    speed = jet_speed(depth="0.4 m").to("m/s").magnitude
    pressure = floor_pressure(density="998 kg/m^3", depth="0.4 m").to("Pa").magnitude
    assert 998 * speed**2 / 2 == pytest.approx(pressure, rel=1e-12)


def test_the_worked_example_of_a_draining_tank() -> None:
    """0.12 m² of tank, 12 mm hole, 0.4 m of water: 488.8 s, worked by hand."""
    found = drain_time(
        area_tank=Q(0.12, "m^2"), diameter_hole="12 mm", coefficient=0.62, depth="400 mm"
    )
    assert found.to("s").magnitude == pytest.approx(488.8, abs=0.05)


def test_drain_time_answers_bad_input_in_one_message() -> None:
    with pytest.raises(
        FormulaError,
        match=(
            r"^drain_time\(\): `diameter_hole` needs a diameter .*, got 12 s; "
            r"`coefficient` must be 0.5 to 1, got 0.3; missing `depth`$"
        ),
    ):
        drain_time(area_tank=Q(0.12, "m^2"), diameter_hole=Q(12, "s"), coefficient=0.3)


@pytest.mark.checks("usable_volume")
@given(st.floats(0.0, 0.2), st.floats(0.0, 0.2), parts)
def test_heel_and_usable_water_are_what_the_tank_starts_with(
    volume: float, heel: float, share: float
) -> None:
    usable = usable_volume.si(volume=volume, volume_heel=heel, share_full=share)
    assert usable >= 0
    assert usable + min(heel, share * volume) == pytest.approx(share * volume, abs=1e-15)


@pytest.mark.checks("supply_time")
def test_a_tank_lasts_longer_for_fewer() -> None:
    """80 L at 20 L a day is four days, by counting."""
    assert supply_time(volume="80 L", flow_day=Q(20, "L/d")).to("d").magnitude == pytest.approx(4)


@pytest.mark.checks("water_mass", "surge_load")
def test_standing_still_a_tank_pushes_down_with_its_weight() -> None:
    """At one g the push is the weight: pint's own standard gravity, not ours."""
    mass = water_mass(density="998.207 kg/m^3", volume="100 L")
    push = surge_load(mass=mass, acceleration=Q(1, "m/s^2") * 9.80665)
    assert push.to("lbf").magnitude == pytest.approx(mass.to("lb").magnitude, rel=1e-9)
