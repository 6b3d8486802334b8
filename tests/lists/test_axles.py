"""Loads on the axles: laws of statics over the whole system, and what is said where keys lack."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vanplumb.chapters.axles import axles_chapter
from vanplumb.lists import Lists
from vanplumb.lists.axles import ALL_FULL, EMPTY, HOME, LEAVING, Axles
from vanplumb.pack import example
from vanplumb.van import Build, BuildError, loads
from vanplumb.van.file.write import changed
from vanplumb.van.form.steps import renamed


def van(**keys: object) -> Build:
    build = example("heron")
    return replace(build, van=replace(build.van, **keys))  # type: ignore[arg-type]


def axles(build: Build) -> Axles:
    found = Lists(build).axles
    assert found is not None
    return found


@pytest.fixture(scope="module")
def heron() -> Axles:
    return axles(example("heron"))


def test_both_axles_bear_what_the_weight_says(heron: Axles) -> None:
    """The sum of both is the mass of the weight chapter, which knows nothing of axles."""
    weight = Lists(example("heron")).weight
    both = {s.name: s.of("front") + s.of("rear") for s in heron.states}
    assert both[EMPTY] == pytest.approx(weight.dry)
    assert both[LEAVING] == pytest.approx(weight.leaving)


def test_water_that_came_home_is_the_water_that_left(heron: Axles) -> None:
    """Heron's grey tank holds less than the fresh one gives: what it can't take has left."""
    mass = {s.name: {p.name: p.mass for p in s.placed} for s in heron.states}
    grey = mass[ALL_FULL]["water in grey"]
    assert mass[HOME]["water in grey"] == pytest.approx(grey)
    heel = mass[HOME]["water in fresh"]
    assert 0 < heel < 0.1 * mass[LEAVING]["water in fresh"]
    assert mass[LEAVING]["water in fresh"] - heel > grey


def test_moving_a_tank_moves_load_by_its_lever() -> None:
    """Half a wheelbase backwards takes half of the water's weight from one axle to the other."""
    build = example("heron")
    base = build.van.wheelbase
    assert base is not None
    tank = build.tank[0]
    at = tank.behind_front_axle
    assert at is not None
    back = replace(build, tank=(replace(tank, behind_front_axle=at + base / 2), *build.tank[1:]))
    before, after = axles(build), axles(back)
    full = {p.name: p.mass for p in before.states[1].placed}
    own = sum(m for n, m in full.items() if n.endswith("fresh"))  # tank, water, filler, vent
    for axle, way in (("front", -1), ("rear", 1)):
        moved = after.states[1].of(axle) - before.states[1].of(axle)
        assert moved == pytest.approx(way * own / 2)


def test_a_name_moves_nothing(heron: Axles) -> None:
    """A tank's filler and vent stand where it does, also where its name has an "of" in it."""
    text = example("heron").text
    assert text is not None
    found = axles(loads(renamed(text, "tank.fresh", "left of bed")[0]))
    for state, before in zip(found.states, heron.states, strict=True):
        for axle in ("front", "rear"):
            assert state.of(axle) == pytest.approx(before.of(axle), rel=1e-12)


def test_a_van_weighed_with_the_dry_system_counts_it_once() -> None:
    before, dry = axles(van()), axles(van(weighed="with it, dry"))
    for axle in ("front", "rear"):
        gained = dry.room[axle, ALL_FULL].value - before.room[axle, ALL_FULL].value
        assert gained == pytest.approx(before.states[0].of(axle))
        assert dry.room[axle, EMPTY].value == pytest.approx(dry.limits[axle] - dry.weighed[axle])


def test_without_a_wheelbase_nothing_is_known_and_the_sheet_says_so() -> None:
    build = van(wheelbase=None)
    assert Lists(build).axles is None
    chapter = axles_chapter(None, build)
    assert "not known" in chapter.not_computed[0] and "wheelbase" in chapter.not_computed[0]
    assert not chapter.answers and chapter.cautions


def test_what_has_no_place_and_no_limit_is_named() -> None:
    build = van(pipework_behind_front_axle=None, rear_axle_limit=None)
    found = axles(build)
    assert ("rear", ALL_FULL) not in found.room and ("front", ALL_FULL) in found.room
    assert "pump" in found.without_place and "fresh" not in found.without_place
    said = " ".join(axles_chapter(found, build).not_computed)
    assert "rear_axle_limit" in said and "pipework_behind_front_axle" in said
    nowhere = found.states[0].unplaced
    whole = Lists(build).weight.dry
    assert found.states[0].of("front") + found.states[0].of("rear") == pytest.approx(
        whole - nowhere
    )


@pytest.mark.parametrize(
    "key, value, told",
    [
        ("van.wheelbase", "3 ", "needs a distance such as"),
        ("van.wheelbase", "0 m", "must be"),
        ("van.weighed", "yesterday", 'must be "before the water system" or "with it, dry"'),
        ("van.front_axle_limit", "3 m", "mass"),
    ],
)
def test_wrong_values_are_refused(key: str, value: str, told: str) -> None:
    with pytest.raises(BuildError, match=told):
        loads(changed(example("heron").text, {key: value}))


def test_a_sum_on_the_sheet_has_few_terms_and_all_of_the_list(heron: Axles) -> None:
    """What has no place of its own is one term, and so are all parts once water comes to them."""
    for state in heron.states:
        for axle in ("front", "rear"):
            of_parts = [w.value for p in state.placed if (w := getattr(p, axle)) is not None]
            assert state.of(axle) == pytest.approx(sum(of_parts), rel=1e-9)
            assert len(of_parts) > 20 > len(state.added[axle].inputs)
