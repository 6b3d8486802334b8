"""Budgets of a stay against sums done by hand and against laws that they must obey."""

from __future__ import annotations

from dataclasses import astuple, replace
from typing import Any

import pytest

from tests.examples import pack_of
from vanplumb.chapters.budget import energy_chapter, water_chapter, weight_chapter
from vanplumb.flow.engine import Flow
from vanplumb.lists import Lists
from vanplumb.pack import Pack, example, packs
from vanplumb.trip.play import mean_day as played
from vanplumb.trip.stay.budget import budget, fuel_carried
from vanplumb.trip.stay.habits import HabitError, clock, habits, window
from vanplumb.trip.stay.pumping import pumping, starts
from vanplumb.trip.stay.tanks import tank_facts
from vanplumb.trip.trip import Trip
from vanplumb.words.tables import table


def test_dipper_by_hand() -> None:
    """Uses, drinking, need and nights of the example, added up outside the code.

    What is told by its time takes what the network gives: another engine's answer.
    """
    build = example("dipper")
    water, flow = budget(build).water, Flow(build)
    gives = {
        name: flow.solve([name]).fixtures[name].flow for name in ("basin", "sink", "hose reel")
    }
    gallon = 3.785411784e-3
    bottles, children = 8 * 16 / 128, gives["basin"] * 16 * 8 / gallon
    sink, boots = (
        gives["sink"] * (2 * 4 * 10 + 2 * 2 * 12) / gallon,
        (gives["hose reel"] * 2 * 25 / gallon),
    )
    day = bottles + children + sink + 2 * 1.4 + 2 * 2.5 + boots + 2 * 1.0
    assert water.volume_day == pytest.approx(day * gallon, rel=1e-6)
    assert water.need == pytest.approx(day * gallon * 2 * 1.1, rel=1e-6)
    usable = 40 * 18 * (14 - 0.5) * 0.0254**3
    assert water.usable == pytest.approx(usable, rel=1e-9)
    assert water.nights == pytest.approx(usable / (day * gallon * 1.1), rel=1e-6)
    assert water.enough


def test_the_mean_day_has_what_the_days_played_through_lose() -> None:
    """Water, heat, fuel and current of the sheet are those of the days, and they close."""
    for name in ("dipper", "heron"):
        pack = pack_of(name)
        day, bare = pack.trip.mean_day, budget(pack.build)
        assert day.run_off > 0
        assert pack.water.volume_day == pytest.approx(bare.water.volume_day + day.run_off)
        assert pack.water.nights < bare.water.nights
        parts = day.heat_taps + day.heat_store + day.heat_runs + day.heat_left
        assert parts == pytest.approx(day.heat, rel=1e-6)
        (heater,) = pack.build.heater
        value = table("fuels")[heater.fuel].number("heating_value")
        assert day.heat == pytest.approx(day.fuel * value * heater.burner_efficiency, rel=1e-6)
        assert pack.fuel is not None and pack.build.fuel is not None
        assert pack.fuel.days == pytest.approx(fuel_carried(pack.build) / day.fuel)
        assert pack.electric.use_day == pytest.approx(day.electric, rel=0.01)


def test_nothing_cuts_the_mean_day_short() -> None:
    """A tank, a bottle or a battery that ends on the way makes no day cheaper.

    A tank nearly empty stands lower, so its taps give a little less: half a percent.
    """
    build = example("heron")
    small = replace(build.tank[0], fill_share=0.05)
    assert build.fuel is not None and build.battery is not None
    poor = replace(
        build,
        tank=(small, *build.tank[1:]),
        fuel=replace(build.fuel, mass=0.01, volume=None),
        battery=replace(build.battery, start_share=0.25),
    )
    rich, short = Pack(build).trip.mean_day, Pack(poor).trip.mean_day
    assert short.fuel == pytest.approx(rich.fuel, rel=5e-3)
    assert short.electric == pytest.approx(rich.electric, rel=5e-3)


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_mean_days_side_by_side_are_those_played_alone(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each crew has its own draws, and the order of its uses; the loop is all that they share."""
    build = example(name)
    crews = [replace(build, crew=replace(build.crew, people=n)) for n in (1, 2, 5)]
    plants = [Trip(one).plant for one in crews]
    monkeypatch.setattr(played, "_kept", {})
    together = played.mean_days(plants, days=2)
    assert len({one.water for one in together}) == 3
    for plant, found in zip(plants, together, strict=True):
        monkeypatch.setattr(played, "_kept", {})
        alone = played.mean_day(plant, days=2)
        assert astuple(found) == approx_of(astuple(alone))


def approx_of(values: tuple[Any, ...]) -> tuple[Any, ...]:
    """The same with room for the rounding of sums in another order."""
    return tuple(
        approx_of(one) if isinstance(one, tuple)
        else pytest.approx(one, rel=1e-12) if isinstance(one, float) else one
        for one in values
    )  # fmt: skip


def test_a_week_is_played_once_however_long_the_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nights and tank change no mean day; a longer shower does."""
    build = example("heron")
    longer = replace(build, crew=replace(build.crew, nights=build.crew.nights + 3))
    uses = tuple(replace(use, duration=500.0) if use.duration else use for use in build.use)
    first, again, other = (Trip(one).plant for one in (build, longer, replace(build, use=uses)))
    monkeypatch.setattr(played, "_kept", {})
    day = played.mean_day(first, days=1)
    assert played.mean_day(again, days=1) is day
    assert played.mean_day(other, days=1).water > day.water


def test_of_many_weeks_the_last_ones_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    plant = Trip(example("wren")).plant
    monkeypatch.setattr(played, "_kept", {})
    monkeypatch.setattr(played, "KEPT", 2)
    weeks = [replace(plant, cabin=280.0 + n) for n in range(3)]
    first, *others = (played.mean_day(one, days=1) for one in weeks)
    assert [
        played.mean_day(one, days=1) is day for one, day in zip(weeks[1:], others, strict=True)
    ] == [True] * 2
    assert played.mean_day(weeks[0], days=1) is not first


def test_packs_beside_one_another_answer_as_each_alone() -> None:
    build = example("wren")
    stays = [replace(build, crew=replace(build.crew, people=n)) for n in (1, 3)]
    both = packs(stays)
    assert [one.water.nights for one in both] == [Pack(one).water.nights for one in stays]


def test_hot_share_of_dippers_dishes_follows_from_the_three_temperatures() -> None:
    """Twice 1.4 gal at 112 °F from 140 and 57 °F: 55 of 83 parts of it are hot."""
    dishes = next(u for u in budget(example("dipper")).water.uses if u.habit.name == "dishes")
    assert dishes.hot_day == pytest.approx(2.8 * 3.785411784e-3 * 55 / 83, rel=1e-9)


def test_more_people_never_need_less() -> None:
    build = example("heron")
    needed = [
        budget(replace(build, crew=replace(build.crew, people=n))).water.need for n in (1, 2, 4, 8)
    ]
    assert needed == sorted(needed)
    assert needed[0] < needed[-1]


def test_wren_has_no_heater_and_no_current() -> None:
    found = budget(example("wren"))
    assert found.fuel is None
    assert found.heat.heat_day == 0
    assert found.electric.use_day == 0
    assert found.electric.days is None


def test_a_use_that_says_too_little_is_named() -> None:
    build = example("wren")
    vague = replace(build.use[0], name="watering a plant", volume=None, duration=None)
    none = replace(build.use[0], name="walking", per_person=None, per_day=None)
    with pytest.raises(HabitError, match=r"'watering a plant': says neither duration nor volume"):
        habits(replace(build, use=(vague,)))
    with pytest.raises(HabitError, match=r"plant.*; use 'walking': says neither per_person"):
        habits(replace(build, use=(vague, none)))


def test_a_use_of_a_known_name_is_filled_in_from_the_table() -> None:
    build = example("wren")
    bare = replace(build.use[0], name="brushing teeth", per_person=None, volume=None, duration=None)
    found = habits(replace(build, use=(bare,)))[0]
    assert found.per_day == 2 * build.crew.people
    assert found.duration == 15.0
    assert "common practice" in found.basis


def test_clock_times_are_read_and_others_refused() -> None:
    assert clock("07:30") == 7.5 * 3600
    assert window("22:00-01:00") == (22 * 3600.0, 25 * 3600.0)
    for wrong in ("7.30", "half past", "25:00", "07:61", ""):
        with pytest.raises(ValueError, match="needs a clock time"):
            clock(wrong)
    with pytest.raises(ValueError, match="needs a stretch of the day"):
        window("10:00")


def test_a_tank_too_long_for_its_space_says_by_how_much() -> None:
    build = example("dipper")
    tank = replace(build.tank[0], space_length=1.00)
    found = tank_facts(replace(build, tank=(tank,)))[0]
    assert found.fits is False
    assert found.misfits == (("length", pytest.approx(40.5 * 0.0254 - 1.00)),)
    roomy = tank_facts(build)[0]
    assert roomy.fits is True and roomy.misfits == ()


def test_twenty_gallons_weigh_what_the_trade_says() -> None:
    """8.34 lb a gallon (general reference library, IAPWS)."""
    build = example("dipper")
    tank = replace(build.tank[0], shape="stated", volume=20 * 3.785411784e-3)
    found = tank_facts(replace(build, tank=(tank,)))[0]
    assert found.mass_water / 0.45359237 == pytest.approx(166.8, rel=0.002)


def test_weight_adds_up_and_names_what_nobody_weighed() -> None:
    build = example("dipper")
    whole = Lists(build).weight
    assert whole.leaving == pytest.approx(sum(load.mass for load in whole.loads), rel=1e-12)
    assert whole.leaving - whole.dry == pytest.approx(
        sum(load.mass for load in whole.loads if load.water), rel=1e-12
    )
    assert whole.share == pytest.approx(whole.leaving / (2200 * 0.45359237), rel=1e-12)
    bare = Lists(replace(build, heater=(replace(build.heater[0], mass=None),))).weight
    assert bare.unknown == ("heater",)


def test_an_accumulator_saves_pump_starts() -> None:
    import numpy as np

    build = example("dipper")
    runs = tuple(r for r in build.run if r.end != "accumulator")
    with_one, without = pumping(build), pumping(replace(build, accumulator=(), run=runs))
    assert with_one is not None and without is not None
    volume, trickle = np.array([2e-3]), np.array([1e-5])
    assert starts(volume, trickle, with_one)[0] < starts(volume, trickle, without)[0] / 3
    assert starts(volume, np.array([1.0]), with_one)[0] == 1.0


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
@pytest.mark.parametrize("system", ["US", "SI"])
def test_chapters_show_in_both_systems(name: str, system: str) -> None:
    build = example(name)
    asked = budget(build)
    chapters = (
        water_chapter(asked, build),
        energy_chapter(asked, build),
        weight_chapter(Lists(build).weight),
    )
    assert [c.key for c in chapters] == ["water", "energy", "weight"]
    for chapter in chapters:
        assert all(answer.shown(system) for answer in chapter.answers)
        for grid in chapter.grids:
            heads, rows = grid.shown(system)
            assert all(len(row) == len(heads) for row in rows)
