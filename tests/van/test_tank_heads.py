"""Tanks whose ends bulge, against spheres, published head sizes and slices added up."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.trip.stay.tanks import facts
from vanplumb.van import BuildError, loads, tank_heads, tank_shapes
from vanplumb.van.parts import Tank

LYING = Tank(name="a", shape="lying cylinder", diameter=0.3, length=0.9)
STANDING = Tank(name="b", shape="standing cylinder", diameter=0.3, height=0.9)
FORMS = tuple(tank_heads.HEADS)
every = pytest.mark.parametrize("heads", FORMS)
both = pytest.mark.parametrize("flat", [LYING, STANDING], ids=["lying", "standing"])


def ball(depth: float, diameter: float) -> float:
    """Water in a ball, by Archimedes' segment."""
    return pi * depth**2 * (diameter / 2 - depth / 3)


@both
@given(part=st.floats(0, 1))
def test_a_tank_as_long_as_wide_with_round_ends_is_a_ball(flat: Tank, part: float) -> None:
    tank = replace(flat, heads="hemispherical", length=0.3, height=0.3)
    assert tank_shapes.content(tank, part * 0.3) == pytest.approx(
        ball(part * 0.3, 0.3), rel=2e-3, abs=2e-8
    )


def test_heads_have_their_published_depth_and_content() -> None:
    """DIN 28011, inside: depth 0.1935 D and content 0.1 D³; 2:1 ellipse: D/4 and pi D³/24.
    From memory."""
    for heads, depth, content in (
        ("torispherical", 0.1935, 0.1),
        ("ellipsoidal", 0.25, pi / 24),
        ("hemispherical", 0.5, pi / 12),
    ):
        assert tank_heads.depth_over_diameter(heads) == pytest.approx(depth, abs=5e-4)
        assert tank_heads.standing_head(heads, 1.0, 1.0) == pytest.approx(content, rel=0.015)
        assert tank_heads.lying_heads(heads, 1.0, 1.0) == pytest.approx(2 * content, rel=0.015)


@every
@both
def test_half_full_is_half_the_content(flat: Tank, heads: str) -> None:
    """Both ends are alike, so the surface at mid height halves the tank."""
    tank = replace(flat, heads=heads)
    middle = tank_shapes.full_depth(tank) / 2
    whole = tank_shapes.volume(tank)
    assert tank_shapes.content(tank, middle) == pytest.approx(whole / 2, rel=1e-4)


@every
def test_a_standing_tank_holds_what_a_lying_one_does(heads: str) -> None:
    one, other = (tank_shapes.volume(replace(t, heads=heads)) for t in (LYING, STANDING))
    assert one == pytest.approx(other, rel=1e-4)
    assert one < tank_shapes.volume(LYING)


@every
@both
@given(part=st.floats(0, 1))
def test_the_level_undoes_the_content(flat: Tank, heads: str, part: float) -> None:
    tank = replace(flat, heads=heads)
    held = part * tank_shapes.volume(tank)
    depth = tank_shapes.level(tank, held)
    assert tank_shapes.content(tank, depth) == pytest.approx(held, rel=1e-9, abs=1e-9)


def test_an_ellipsoidal_head_by_slices() -> None:
    """Discs of an ellipsoid of revolution, added up."""
    x = (np.arange(20000) + 0.5) / 20000 * 0.25
    discs = pi / 4 * (1 - ((0.25 - x) / 0.25) ** 2) * 0.25 / 20000
    for share in (0.2, 0.5, 0.9):
        told = tank_heads.standing_head("ellipsoidal", 1.0, share * 0.25)
        assert told == pytest.approx(discs[x < share * 0.25].sum(), rel=2e-3)


@every
@both
def test_worked_steps_end_in_the_content(flat: Tank, heads: str) -> None:
    tank = replace(flat, heads=heads)
    found = facts(tank, 288.15)
    assert found.works["volume"].value == pytest.approx(found.volume, rel=1e-12)
    assert found.works["heel"].value == pytest.approx(found.heel, rel=1e-12)
    assert 0 < found.heel < found.volume


def test_many_sizes_at_once() -> None:
    tank = replace(LYING, heads="ellipsoidal", diameter=np.array([0.2, 0.3]))
    assert tank_shapes.content(tank, 0.1)[1] == pytest.approx(
        tank_shapes.content(replace(LYING, heads="ellipsoidal"), 0.1), rel=1e-12
    )


BOX = 'shape = "box"\nlength = "1 m"\nwidth = "1 m"\nheight = "1 m"\n'
SHORT = 'shape = "lying cylinder"\nlength = "0.1 m"\ndiameter = "0.3 m"\n'
REFUSED = [(BOX, "heads are of a cylinder"), (SHORT, "length must be 150 mm or more")]


@pytest.mark.parametrize("shape, said", REFUSED)
def test_heads_that_do_not_go_on_a_tank_are_refused(shape: str, said: str) -> None:
    text = 'format = 1\n[van]\nname = "x"\nunits = "SI"\n[[tank]]\nname = "t"\n'
    with pytest.raises(BuildError, match=said):
        loads(f'{text}heads = "ellipsoidal"\n{shape}')
