"""A mixing valve against conservation, limits by hand, and another way to solve it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from vanplumb.chapters.mixing import mixing_chapter
from vanplumb.flow.mixing.burns import burn
from vanplumb.flow.mixing.valve import (
    Supplies,
    Valve,
    density,
    drifts,
    kv_outlet,
    mixing_state,
    opening_when_set,
    pressure_work,
)
from vanplumb.words.quantity import read

BAR = 1e5


def kelvin(text: str) -> float:
    return read(text, "temperature")


def valve(**changes: object) -> Valve:
    day = Supplies(kelvin("140 °F"), kelvin("60 °F"), 2 * BAR, 2 * BAR)
    start = Valve("fixed", kelvin("105 °F"), day, 1.2 / 3600, 9.4635e-5, 137895.0)
    return replace(start, **changes)  # type: ignore[arg-type]


def supplies(**changes: float) -> Supplies:
    return replace(valve().when_set, **changes)


# Hot share of the mixed water by the heat balance: energy balance of two streams, the figures
# of five everyday cases rounded to three places.
@pytest.mark.parametrize(
    "hot, cold, mixed, share",
    [
        ("140 °F", "60 °F", "105 °F", 0.5625),
        ("120 °F", "60 °F", "105 °F", 0.750),
        ("140 °F", "50 °F", "105 °F", 0.611),
        ("60 °C", "10 °C", "38 °C", 0.560),
        ("60 °C", "15 °C", "41 °C", 0.578),
    ],
)
def test_on_the_day_it_was_set_it_gives_its_setting(
    hot: str, cold: str, mixed: str, share: float
) -> None:
    day = Supplies(kelvin(hot), kelvin(cold), 2 * BAR, 2 * BAR)
    state = mixing_state(valve(setting=kelvin(mixed), when_set=day), day)
    assert state.temperature == pytest.approx(kelvin(mixed), abs=1e-6)
    assert state.share == pytest.approx(share, abs=0.0005)


temperatures = st.floats(313.15, 358.15), st.floats(275.15, 303.15)
pressures = st.floats(0.3 * BAR, 5 * BAR)


@given(*temperatures, pressures, pressures, st.floats(0.2, 5), st.floats(0.1, 0.9))
def test_mass_and_heat_are_kept(
    hot: float, cold: float, push_hot: float, push_cold: float, kv: float, part: float
) -> None:
    one = valve(
        setting=cold + part * (hot - cold),
        when_set=Supplies(hot, cold, 2 * BAR, 2 * BAR),
        flow_coefficient=kv / 3600,
    )
    state = mixing_state(one, Supplies(hot, cold, push_hot, push_cold))
    assert state.temperature is not None
    masses = state.flow_hot * density(hot), state.flow_cold * density(cold)
    assert state.flow * density(state.temperature) == pytest.approx(sum(masses), rel=1e-9)
    heat = masses[0] * hot + masses[1] * cold
    assert heat / sum(masses) == pytest.approx(state.temperature, rel=1e-9)
    assert cold - 1e-9 <= state.temperature <= hot + 1e-9
    out = kv_outlet(one) * (state.pressure / BAR * 1000 / density(state.temperature)) ** 0.5
    assert state.flow == pytest.approx(out, rel=1e-6)


@given(*temperatures, pressures, pressures, st.floats(0.1, 0.9))
def test_the_joint_pressure_agrees_with_another_solver(
    hot: float, cold: float, push_hot: float, push_cold: float, part: float
) -> None:
    one = valve(setting=cold + part * (hot - cold), when_set=Supplies(hot, cold, 2 * BAR, 2 * BAR))
    state = mixing_state(one, Supplies(hot, cold, push_hot, push_cold))
    assert state.temperature is not None
    heavy, light = density(hot), density(cold)

    def surplus(p: float) -> float:
        ways = ((push_hot, heavy, state.opening), (push_cold, light, 1 - state.opening))
        into = sum(
            one.flow_coefficient * part * (rho * max(push - p, 0.0) / 100) ** 0.5
            for push, rho, part in ways
        )
        return float(into - kv_outlet(one) * (density(state.temperature or 0) * p / 100) ** 0.5)

    found = brentq(surplus, 0.0, max(push_hot, push_cold), xtol=1e-6)
    assert state.pressure == pytest.approx(found, abs=1.0)


@given(pressures, st.floats(0.8, 1.25))
def test_the_worked_pressure_is_the_solved_one(push_hot: float, apart: float) -> None:
    """Supplies near enough in pressure that both flow in: else there is nothing to work."""
    push_cold = apart * push_hot
    state = mixing_state(valve(), supplies(pressure_hot=push_hot, pressure_cold=push_cold))
    worked = pressure_work(state)
    assume(worked is not None)
    assert worked is not None
    assert worked.value == pytest.approx(state.pressure, rel=1e-6)


def test_small_drifts_follow_the_share() -> None:
    """One kelvin on a supply moves the outlet by that supply's part: the balance is linear."""
    start = mixing_state(valve(), supplies())
    assert start.temperature is not None
    for side, part in (("hot", 0.5625), ("cold", 0.4375)):
        key = f"temperature_{side}"
        warmer = mixing_state(valve(), supplies(**{key: getattr(supplies(), key) + 1.0}))
        assert warmer.temperature is not None
        # water's density changes a little too, hence not exactly the share
        assert warmer.temperature - start.temperature == pytest.approx(part, abs=0.01)


@given(st.floats(0.5 * BAR, 4 * BAR), st.floats(1.05, 1.5))
def test_scaling_both_pressures_leaves_the_temperature(push: float, times: float) -> None:
    """With square-root laws everywhere, pressures in one ratio give one mix."""
    one = mixing_state(valve(), supplies(pressure_hot=push, pressure_cold=0.95 * push))
    two = mixing_state(
        valve(), supplies(pressure_hot=times * push, pressure_cold=times * 0.95 * push)
    )
    assert one.temperature == pytest.approx(two.temperature, abs=1e-4)
    assert two.flow / one.flow == pytest.approx(times**0.5, rel=1e-5)


def test_cold_that_fails_leaves_a_set_valve_scalding() -> None:
    state = mixing_state(valve(), supplies(pressure_cold=0.0))
    assert state.temperature == pytest.approx(kelvin("140 °F"))
    assert any(c.level == "DANGER" for c in mixing_chapter(state, units="US").cautions)


def test_cold_that_fails_shuts_a_thermostatic_valve() -> None:
    state = mixing_state(valve(kind="thermostatic"), supplies(pressure_cold=0.0))
    assert state.temperature is None
    assert state.flow == 0.0
    assert any("only a test" in note for note in state.notes)


@given(*temperatures, pressures, pressures)
def test_a_thermostatic_valve_holds_its_setting_where_it_can(
    hot: float, cold: float, push_hot: float, push_cold: float
) -> None:
    one = valve(kind="thermostatic", setting=311.15)
    state = mixing_state(one, Supplies(hot, cold, push_hot, push_cold))
    assert state.temperature == pytest.approx(311.15, abs=1e-3)


@pytest.mark.parametrize(
    "hot, cold, outlet, note",
    [
        ("35 °C", "15 °C", "35 °C", "cooler than the setting: the valve is fully hot"),
        ("60 °C", "45 °C", "45 °C", "warmer than the setting: the valve is fully cold"),
        ("48 °C", "15 °C", "41 °C", "leads the setting by less"),
    ],
)
def test_a_thermostatic_valve_at_its_ends(hot: str, cold: str, outlet: str, note: str) -> None:
    one = valve(kind="thermostatic", setting=kelvin("41 °C"))
    state = mixing_state(one, Supplies(kelvin(hot), kelvin(cold), 2 * BAR, 2 * BAR))
    assert state.temperature == pytest.approx(kelvin(outlet), abs=1e-3)
    assert any(note in told for told in state.notes)


def test_without_check_valves_the_stronger_supply_crosses() -> None:
    weak = supplies(pressure_cold=1.0 * BAR)
    with_checks = mixing_state(valve(), weak)
    without = mixing_state(valve(checks=False), weak)
    assert with_checks.flow_cold == 0.0
    assert not with_checks.crossing
    assert without.flow_cold < 0
    assert without.crossing
    assert any("runs back into the cold supply" in note for note in without.notes)
    assert any("crosses" in c.text for c in mixing_chapter(without).cautions)


@pytest.mark.parametrize(
    "changes, now, told",
    [
        (dict(setting=340.0), {}, "must lie between the cold and the hot supply"),
        (dict(setting=280.0), {}, "must lie between"),
        (dict(kind="magic"), {}, '"fixed" or "thermostatic", not "magic"'),
        ({}, dict(pressure_hot=-1.0), "can't be below zero"),
    ],
)
def test_what_can_not_be_is_said(changes: dict, now: dict, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        mixing_state(valve(**changes), supplies(**now))


def test_the_opening_does_not_depend_on_how_hard_both_push() -> None:
    day = valve().when_set
    strong = replace(day, pressure_hot=5 * BAR, pressure_cold=5 * BAR)
    assert opening_when_set(valve()) == pytest.approx(
        opening_when_set(valve(when_set=strong)), rel=1e-6
    )


# US Consumer Product Safety Commission, doc. 5098: third-degree burns of adults
@pytest.mark.parametrize(
    "water, seconds", [("150 °F", 2), ("140 °F", 6), ("130 °F", 30), ("120 °F", 300)]
)
def test_burn_times_are_the_printed_ones(water: str, seconds: float) -> None:
    assert burn(kelvin(water)).seconds == pytest.approx(seconds, rel=1e-6)


def test_burn_times_outside_the_table_are_not_made_up() -> None:
    assert burn(kelvin("119 °F")).seconds is None
    assert burn(kelvin("119 °F")).told("US") == "no time published below 120\u00a0°F"
    assert burn(kelvin("160 °F")).told("US") == "under 2 s"
    assert burn(kelvin("120 °F")).told("US") == "about 5 min"
    assert burn(kelvin("125 °F"), "child").seconds is not None
    with pytest.raises(ValueError, match='"adult" and "child", not "cat"'):
        burn(330.0, "cat")


@given(st.floats(322.1, 338.6), st.floats(0.05, 5))
def test_hotter_water_burns_sooner(temperature: float, more: float) -> None:
    slow, fast = burn(temperature), burn(temperature + more)
    assert slow.seconds is not None
    assert fast.seconds is not None
    assert fast.seconds <= slow.seconds


def test_the_chapter_shows_every_drift_and_its_steps() -> None:
    state = mixing_state(valve(), supplies())
    chapter = mixing_chapter(state, units="US")
    grid = chapter.grids[0]
    assert [row[0] for row in grid.rows] == [d.label for d in drifts(state, "US")]
    assert "hot supply 18 °F hotter" in [row[0] for row in grid.rows]
    outlet = chapter.answers[0]
    assert outlet.work[-1].value == pytest.approx(state.temperature, abs=1e-4)
    flow = next(a for a in chapter.answers if a.label == "flow from the outlet")
    assert flow.work[-1].value == pytest.approx(state.flow, rel=1e-6)
