"""The clock: working hours, waiting through the night, and what one late joint does."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.lists import Lists
from vanplumb.shop import Shop
from vanplumb.shop.clock.clock import WATER, one_late, plan_of, warmer, without_waiting
from vanplumb.shop.clock.hours import Hours, clock_time, start_of, told
from vanplumb.shop.clock.stages import stages
from vanplumb.van import Build, loads

HOUR = 3600.0
HOURS = Hours(time(8), time(17))
MONDAY = datetime(2025, 3, 3, 8)


def minute_by_minute(hours: Hours, start: datetime, minutes: int) -> datetime:
    """The end of work counted minute by minute: another way to the same answer."""
    here, left = start, minutes
    while left:
        if hours.works(here):
            left -= 1
        here += timedelta(minutes=1)
    return here


@settings(max_examples=cases(20), deadline=None)
@given(st.integers(0, 7 * 24 * 60), st.integers(1, 1500), st.booleans())
def test_work_stops_at_night_and_at_weekends(offset: int, minutes: int, weekend: bool) -> None:
    hours = Hours(time(8), time(17), weekend)
    start = MONDAY + timedelta(minutes=offset)
    assert hours.after(start, minutes * 60.0) == minute_by_minute(hours, start, minutes)


def test_friday_evening_goes_on_on_monday() -> None:
    friday = datetime(2025, 3, 7, 16, 30)
    assert HOURS.after(friday, HOUR) == datetime(2025, 3, 10, 8, 30)
    assert HOURS.whole(friday, HOUR) == datetime(2025, 3, 10, 8)
    assert Hours(weekend=True).whole(friday, HOUR) == datetime(2025, 3, 8, 8)


def test_every_task_is_work_in_hours_and_no_two_at_once(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints, contact=24 * HOUR)
    for task in plan.tasks:
        assert plan.hours.works(task.start)
        assert plan.hours.works(task.end - timedelta(seconds=1))
        assert task.end <= task.ready
    for one, two in zip(plan.tasks, plan.tasks[1:], strict=False):
        assert one.end <= two.start


def test_no_joint_sees_pressure_before_it_is_ready(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints)
    water = plan.task(WATER).start
    assert all(task.ready <= water for task in plan.joints)
    assert plan.slack(plan.last.name) == water - plan.last.ready


def test_a_thread_is_made_before_the_tube_on_its_adapter(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints)
    for task in plan.joints:
        assert task.joint is not None
        if task.joint.after:
            assert plan.task(task.joint.after).end <= task.start


def test_the_hot_sealant_decides_the_test(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints)
    # common practice, no source: 72 h; they are made first, on Monday at eight
    assert plan.last.joint is not None and plan.last.joint.compound == "high-temperature sealant"
    first = plan.tasks[0].joint
    assert first is not None and first.compound == "high-temperature sealant"
    wait = plan.last.ready - plan.last.end
    assert wait == timedelta(hours=72)
    assert plan.test.start >= MONDAY + timedelta(hours=72)


def test_a_stage_is_ready_when_its_last_joint_is(van: Build) -> None:
    """Threads with the hot sealant are told together: 72 h after the last (common practice)."""
    hot = [s for s in stages(plan_of(van, Lists(van).joints)) if "high-temperature" in s.what]
    assert hot and any(len(stage.tasks) > 1 for stage in hot)
    for stage in hot:
        assert stage.ready == stage.end + timedelta(hours=72)


def test_with_tape_the_work_decides(text: str) -> None:
    build = loads(text.replace("high-temperature sealant", "PTFE tape"))
    plan = plan_of(build, Lists(build).joints)
    assert plan.test.start <= MONDAY + timedelta(hours=24)
    # half an hour after the last expansion joint at 20 °C
    assert plan.task(WATER).start - plan.last.end >= timedelta(minutes=30)


def test_one_late_hot_joint_moves_the_test_by_its_lateness(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints)
    late = one_late(van, plan, "heater hot thread", 24 * HOUR)
    assert timedelta(hours=20) <= late.test_moves <= timedelta(hours=30)
    assert late.hand_over_moves >= late.test_moves - timedelta(hours=1)


def test_a_late_joint_with_time_in_hand_moves_nothing(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints)
    assert plan.slack("adapter at galley cold tube") > timedelta(hours=30)
    late = one_late(van, plan, "adapter at galley cold tube", 24 * HOUR)
    assert late.test_moves == timedelta(0)


def test_what_a_late_joint_leaves_as_it_was_is_what_a_whole_new_plan_says(van: Build) -> None:
    joints = Lists(van).joints
    plan = plan_of(van, joints, contact=24 * HOUR)
    for joint in joints:
        begun = (plan.task(joint.name).start - plan.start).total_seconds()
        anew = plan_of(van, joints, contact=24 * HOUR, late={joint.name: begun + 24 * HOUR})
        assert one_late(van, plan, joint.name, 24 * HOUR, contact=24 * HOUR).after == anew


@pytest.mark.parametrize(
    "change",
    [
        {"temperature": 283.15},
        {"day_start": "10:00", "weekend": True},
        {"hot_compound": "PTFE paste"},
        {"temperature": 285.15, "bend_corners": True},
    ],
)
def test_the_same_van_in_another_shop_is_as_if_worked_out_anew(
    van: Build, change: dict[str, object]
) -> None:
    here = Shop(van)
    assert here.clock.start == MONDAY
    there = here.at(replace(van.shop, **change))  # type: ignore[arg-type]
    anew = Shop(replace(van, shop=there.build.shop))
    assert there.clock == anew.clock and there.clock != here.clock
    assert there.joints == anew.joints
    assert (there.test.pressure, there.test.steps) == (anew.test.pressure, anew.test.steps)


def test_a_cold_shop_waits_longer(van: Build) -> None:
    joints = Lists(van).joints
    starts = [plan_of(warmer(van, heat), joints).test.start for heat in (293.15, 285.15, 279.15)]
    assert starts == sorted(starts)
    assert starts[0] < starts[2]


def test_a_shop_too_cold_says_which_joints_can_not_be_made(van: Build) -> None:
    plan = plan_of(warmer(van, 272.0), Lists(van).joints)
    assert "not known below 41 °F" in plan.refused["heater hot thread"]
    assert "cold valve of galley tube" not in plan.refused  # expansion joints wait, but can be made


def test_a_late_joint_that_is_not_there(van: Build) -> None:
    with pytest.raises(KeyError, match="no joint 'X9' in this build"):
        plan_of(van, Lists(van).joints, late={"X9": 1.0})


def test_disinfecting_stands_overnight(van: Build) -> None:
    plan = plan_of(van, Lists(van).joints, contact=24 * HOUR)
    stands = plan.task("disinfect")
    assert stands.ready - stands.end == timedelta(hours=24)
    assert plan.task("drain and flush").start >= stands.ready
    assert without_waiting(plan) < plan.hand_over.end - plan.start


def test_moments_are_told_as_said() -> None:
    assert told(datetime(2025, 3, 4, 14, 10), MONDAY, True) == "Tue 4 Mar 14:10"
    assert told(datetime(2025, 3, 4, 14, 10), MONDAY, False) == "day 2, 14:10"
    assert start_of("", HOURS) == (datetime(2025, 3, 3, 8), False)


def test_hours_that_can_not_be() -> None:
    with pytest.raises(
        ValueError, match="day_end must be later than day_start, got 17:00 to 08:00"
    ):
        Hours(time(17), time(8))
    with pytest.raises(ValueError, match="needs a time of day such as \"08:00\", got '8 am'"):
        clock_time("8 am")
    with pytest.raises(ValueError, match='needs a start such as "2025-03-03 08:00"'):
        start_of("next week", HOURS)


@pytest.mark.parametrize(
    "day, hour, minute, works",
    [
        (7, 16, 59, True),  # a Friday
        (7, 17, 0, False),
        (7, 7, 59, False),
        (7, 8, 0, True),
        (8, 10, 0, False),  # Saturday and Sunday
        (9, 10, 0, False),
        (10, 10, 0, True),
    ],
)
def test_the_shop_is_open_by_the_calendar(day: int, hour: int, minute: int, works: bool) -> None:
    moment = datetime(2025, 3, day, hour, minute)
    assert HOURS.works(moment) is works
    assert Hours(time(8), time(17), weekend=True).works(moment) is (works or day in (8, 9))
