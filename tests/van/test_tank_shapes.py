"""Which formula a tank's shape takes, and levels that undo contents."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.van import tank_shapes
from vanplumb.van.parts import Tank

TANKS = {
    "box": Tank(name="a", shape="box", length=0.6, width=0.4, height=0.3),
    "lying cylinder": Tank(name="b", shape="lying cylinder", diameter=0.3, length=0.9),
    "standing cylinder": Tank(name="c", shape="standing cylinder", diameter=0.35, height=0.5),
    "stepped box": Tank(
        name="d",
        shape="stepped box",
        length=1.0,
        width=0.3,
        height=0.4,
        step_length=0.6,
        step_height=0.25,
    ),
    "wedge": Tank(name="e", shape="wedge", length=0.8, width=0.5, height=0.4, height_low=0.1),
    "stated": Tank(name="f", shape="stated", volume=0.07, height=0.35),
}
FULL = {
    "box": 0.6 * 0.4 * 0.3,
    "lying cylinder": math.pi * 0.15**2 * 0.9,
    "standing cylinder": math.pi * 0.175**2 * 0.5,
    "stepped box": 0.3 * (1.0 * 0.4 - 0.6 * 0.25),
    "wedge": 0.5 * 0.8 * (0.4 + 0.1) / 2,
    "stated": 0.07,
}
every = pytest.mark.parametrize("tank", TANKS.values(), ids=TANKS)


@every
def test_a_full_tank_holds_what_its_body_measures(tank: Tank) -> None:
    """Whole bodies by school geometry, not by the formulas of their levels."""
    assert tank_shapes.volume(tank) == pytest.approx(FULL[tank.shape], rel=1e-12)


@every
@given(part=st.floats(0, 1))
def test_the_level_undoes_the_content(tank: Tank, part: float) -> None:
    held = part * tank_shapes.volume(tank)
    depth = tank_shapes.level(tank, held)
    assert 0 <= depth <= tank_shapes.full_depth(tank)
    assert tank_shapes.content(tank, depth) == pytest.approx(held, rel=1e-9, abs=1e-12)


@every
def test_contents_rise_with_depth_and_stop_at_floor_and_roof(tank: Tank) -> None:
    top = tank_shapes.full_depth(tank)
    held = tank_shapes.content(tank, np.linspace(-0.1, 1.1, 61) * top)
    assert (np.diff(held) >= -1e-15).all()
    assert held[0] == pytest.approx(0, abs=1e-15)
    assert held[-1] == pytest.approx(tank_shapes.volume(tank))


@every
def test_levels_of_many_contents_at_once(tank: Tank) -> None:
    held = np.array([[0.2, 0.5, 0.7], [-1.0, 1.0, 2.0]]) * tank_shapes.volume(tank)
    depths = tank_shapes.level(tank, held)
    assert depths.shape == (2, 3)
    assert depths[1, 0] == pytest.approx(0, abs=1e-12)
    assert depths[1, 2] == pytest.approx(tank_shapes.full_depth(tank))
    one = tank_shapes.level(tank, float(held[0, 1]))
    assert depths[0, 1] == pytest.approx(one, rel=1e-12)


@every
def test_heel_and_usable_water_make_up_the_tank(tank: Tank) -> None:
    heel = tank_shapes.heel(tank)
    assert 0 < heel < tank_shapes.volume(tank)
    assert heel + tank_shapes.usable(tank) == pytest.approx(tank_shapes.volume(tank), rel=1e-12)


@every
def test_worked_steps_end_in_the_volume(tank: Tank) -> None:
    steps = tank_shapes.volume_work(tank)
    if tank.shape == "stated":
        assert steps == ()
    else:
        assert steps[-1].value == pytest.approx(tank_shapes.volume(tank), rel=1e-12)
        assert tank_shapes.heel_work(tank)[-1].value == pytest.approx(tank_shapes.heel(tank))


def test_a_wedge_of_even_height_is_a_box() -> None:
    even = Tank(name="g", shape="wedge", length=0.8, width=0.5, height=0.4, height_low=0.4)
    assert tank_shapes.volume(even) == pytest.approx(0.8 * 0.5 * 0.4)


def test_a_missing_size_is_told_by_name() -> None:
    with pytest.raises(ValueError, match=r"tank 'h': a wedge needs width, height_low"):
        tank_shapes.volume(Tank(name="h", shape="wedge", length=0.8, height=0.4))


def test_a_stated_tank_without_height_has_a_volume_and_no_level() -> None:
    bare = Tank(name="i", shape="stated", volume=0.05)
    assert tank_shapes.volume(bare) == 0.05
    assert tank_shapes.usable(bare) == 0.05
    with pytest.raises(ValueError, match="tank 'i': its height is not given, so it has no level"):
        tank_shapes.level(bare, 0.02)
