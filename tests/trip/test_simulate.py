"""Trips against conservation, smaller steps, sums by hand and what must fail when."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from trip_plants import heater, plant, use

from vanplumb.pack import example
from vanplumb.trip.play.chance import chance, vary
from vanplumb.trip.play.draws import planned, random_draws, ranks
from vanplumb.trip.play.make_plant import make_plant
from vanplumb.trip.play.outcome import CUT_SHORT, DONE, NO_POWER, NO_WATER, Outcome
from vanplumb.trip.play.plant import Plant
from vanplumb.trip.play.simulate import simulate
from vanplumb.trip.trip import Trip

KINDS = ["storage", "flow-through", ""]


def example_plant(name: str) -> Plant:
    return make_plant(example(name))


def balanced(outcome: Outcome) -> None:
    assert outcome.water_gap().max() < 1e-6
    assert outcome.heat_gap().max() < 1e-6
    assert outcome.energy_gap().max() < 1e-6


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("days", [1, 7])
def test_water_heat_and_energy_balance_on_a_planned_trip(kind: str, days: int) -> None:
    van = plant(kind)
    balanced(simulate(van, planned(van, days), days=days))


@pytest.mark.parametrize("kind", KINDS)
def test_water_heat_and_energy_balance_on_random_trips(kind: str) -> None:
    van = plant(kind)
    balanced(chance(van, 60, seed=3, nights=4).outcome)


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_the_examples_balance_by_plan_and_by_chance(name: str) -> None:
    van = example_plant(name)
    balanced(simulate(van, planned(van, 7), days=7))
    balanced(chance(van, 40, seed=5).outcome)


@pytest.mark.parametrize(
    "changes",
    [
        {"fuel": 0.05},
        {"battery": None},
        {"grey": 0.01},
        {"fresh": 0.01},
        {"hookup_hours": ((20 * 3600.0, 32 * 3600.0),)},
        {"hours": ((6 * 3600.0, 9 * 3600.0), (17 * 3600.0, 22 * 3600.0))},
    ],
)
@pytest.mark.parametrize("kind", ["storage", "flow-through"])
def test_balances_hold_where_things_run_out(changes: dict[str, Any], kind: str) -> None:
    hours = changes.pop("hours", ())
    van = plant(kind, **changes)
    van = replace(van, heaters=(replace(van.heaters[0], hours=hours),))
    balanced(simulate(van, planned(van, 5), days=5))


def test_balances_hold_with_a_coolant_coil_an_element_and_a_return_line() -> None:
    van = plant("storage")
    van = replace(
        van,
        heaters=(
            heater(coolant_power=4000.0, element_power=700.0, element_draw=800.0, burner_heat=0.0),
        ),
        drive_hours=((10 * 3600.0, 11.5 * 3600.0),),
        options=replace(van.options, return_line=True),
    )
    outcome = simulate(van, planned(van, 5), days=5, record=True)
    balanced(outcome)
    hottest = max(float(row[3].max()) for row in outcome.track)
    assert hottest == pytest.approx(van.options.coolant_limit, abs=0.01), "the coil's own limit"
    assert outcome.water_returned[0] == pytest.approx(outcome.wasted.sum(), rel=1e-9)


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_halving_the_steps_changes_no_time_by_one_percent(name: str) -> None:
    whole = example_plant(name)
    options = whole.options
    halved = replace(
        whole,
        options=replace(options, step_draw=options.step_draw / 2, step_rest=options.step_rest / 2),
    )
    schedule = planned(whole, 7)
    first, second = (simulate(p, schedule, days=7) for p in (whole, halved))
    assert first.wait == pytest.approx(second.wait, rel=0.01, abs=1e-3)
    assert first.start == pytest.approx(second.start, rel=0.01)
    assert first.burning == pytest.approx(second.burning, rel=0.01)
    for what, when in first.first.items():
        assert when == pytest.approx(second.first[what], rel=0.01), what
    # The schedule fixes when draws start, so look at times within a day too.
    assert first.first["runs dry"] == pytest.approx(second.first["runs dry"], abs=36)


def test_water_that_drips_for_hours_takes_few_steps_and_finer_ones_change_little() -> None:
    """A litre in twenty hours: followed in hundredths of the draw, not by the minute."""
    drips = use("drip", 1, 72000.0, flow=1e-3 / 72000, wanted=311.0, path=(0, 1), mix_at=2)
    van = plant("storage", uses=(drips,))
    drip = planned(van, 1)
    found = []
    for step in (van.options.step_drip, van.options.step_draw):
        one = replace(van, options=replace(van.options, step_drip=step))
        found.append(simulate(one, drip, days=1, record=True))
        balanced(found[-1])
    usual, fine = found
    assert len(usual.track) < 0.4 * len(fine.track)
    assert usual.drawn == pytest.approx(fine.drawn, rel=1e-9)
    assert usual.heat_out == pytest.approx(fine.heat_out, rel=0.02)


@pytest.mark.parametrize("kind", ["storage", "flow-through"])
def test_fuel_burned_is_the_heat_given_over_heating_value_and_efficiency(kind: str) -> None:
    van = plant(kind)
    outcome = simulate(van, planned(van, 4), days=4)
    assert van.heaters
    per_kg = van.heaters[0].burner_heat / van.heaters[0].fuel_rate
    assert outcome.fuel_used * per_kg == pytest.approx(outcome.heat_in, rel=1e-9)


def test_a_store_that_nobody_uses_settles_at_its_standing_loss() -> None:
    """Kept between set and set less differential, it takes its loss: UA times the rise."""
    van = plant("storage", uses=(), battery=None)
    long = simulate(van, planned(van, 30), days=30)
    kept = 333.15 - 2.5 - 293.15
    assert long.heat_lost[0] == pytest.approx(1.0 * kept * 30 * 86400, rel=0.02)


def test_a_planned_day_draws_what_its_habits_say() -> None:
    """Eight hands of 15 s at 3 L/min, six drinks of 30 s: 15 L without heat or waits."""
    van = plant("", uses=(use("hands", 8, 15.0), use("drink", 6, 30.0, grey=False)))
    outcome = simulate(van, planned(van, 3), days=3)
    assert outcome.drawn.sum() == pytest.approx(3 * (8 * 15 + 6 * 30) * 0.05e-3, rel=1e-9)
    assert (outcome.state == DONE).all()
    assert outcome.grey_end[0] == pytest.approx(3 * 8 * 15 * 0.05e-3, rel=1e-9)


def test_a_tank_runs_dry_to_the_second() -> None:
    """One tap of 3 L/min left open from 08:00 empties 9 L at 08:03."""
    van = plant("", uses=(use("bath", 1, 600.0, hours=(8 * 3600.0,)),), fresh=9e-3)
    outcome = simulate(van, planned(van, 2), days=2)
    assert outcome.first["runs dry"][0] == pytest.approx(8 * 3600 + 180, abs=1e-3)
    assert outcome.state[0].tolist() == [CUT_SHORT, NO_WATER]


def test_a_battery_is_flat_when_its_energy_is_gone() -> None:
    """100 W from 1 kWh of which 80 % may be taken: flat after 8 h, charged again by day."""
    van = plant("", uses=(), days=9)
    assert van.battery is not None
    battery = replace(
        van.battery,
        full=3.6e6,
        empty=0.72e6,
        start=3.6e6,
        other_load=100.0,
        charge_hours=((12 * 3600.0, 13 * 3600.0),),
    )
    outcome = simulate(replace(van, battery=battery), planned(van, 1), days=1)
    assert outcome.first["battery flat"][0] == pytest.approx(8 * 3600, abs=1.0)
    assert outcome.charge_in[0] == pytest.approx(3600 * 20 * 12.8, rel=1e-6)


def test_without_power_an_electric_pump_gives_nothing() -> None:
    van = plant("", uses=(use("hands", 1, 15.0, hours=(20 * 3600.0,)),))
    assert van.battery is not None
    flat = replace(van, battery=replace(van.battery, start=van.battery.empty, charge_power=0.0))
    outcome = simulate(flat, planned(flat, 1), days=1)
    assert outcome.state.tolist() == [[NO_POWER]]
    by_foot = replace(flat, uses=tuple(replace(u, cold_pumps=()) for u in flat.uses))
    assert simulate(by_foot, planned(by_foot, 1), days=1).state.tolist() == [[DONE]]


def test_the_third_shower_is_the_cold_one() -> None:
    """22.7 L at 60 °C make some 40 L at 41 °C: two showers of 17 L, and not a third."""
    shower = use(
        "shower",
        3,
        180.0,
        wanted=314.15,
        path=(0, 2),
        mix_at=2,
        flow=0.095e-3,
        hours=(7.5 * 3600.0,),
    )
    van = plant("storage", uses=(shower,), heaters=(heater(burner_heat=500.0),))
    outcome = simulate(van, planned(van, 1), days=1)
    warmth = outcome.warmth[0] - 273.15
    assert warmth[0] > 39.5 and warmth[1] > 38 and warmth[2] < 38
    assert np.isfinite(outcome.first["lukewarm"][0])
    strong = replace(van, heaters=(heater(burner_heat=20e3),))
    assert simulate(strong, planned(strong, 1), days=1).warmth[0].min() - 273.15 > 39.5


def test_a_trickle_under_its_least_flow_leaves_a_flow_through_heater_cold() -> None:
    hands = use("hands", 3, 30.0, wanted=311.0, path=(0, 1), mix_at=2)
    van = plant("flow-through", uses=(hands,), heaters=(heater("flow-through", flow_least=1e-4),))
    outcome = simulate(van, planned(van, 1), days=1)
    assert outcome.heat_in[0] == 0
    assert np.isfinite(outcome.first["lukewarm"][0])


def test_a_flow_through_heater_gives_no_more_than_its_power() -> None:
    """8 kW warm 0.1 L/s by 19.3 K at most, whatever is wanted."""
    shower = use("shower", 1, 600.0, wanted=320.0, path=(0, 2), mix_at=2, flow=1e-4)
    van = plant("flow-through", uses=(shower,), heaters=(heater("flow-through", burner_heat=8e3),))
    outcome = simulate(van, planned(van, 1), days=1)
    assert outcome.warmth[0, 0] - 288.15 == pytest.approx(8e3 / (4.147e6 * 1e-4), rel=0.02)


def test_a_second_draw_soon_after_waits_less() -> None:
    pair = (
        use("first", 1, 30.0, wanted=311.0, path=(0, 1), mix_at=2, hours=(8 * 3600.0,)),
        use("soon", 1, 30.0, wanted=311.0, path=(0, 1), mix_at=2, hours=(8 * 3600.0 + 300,)),
        use("late", 1, 30.0, wanted=311.0, path=(0, 1), mix_at=2, hours=(15 * 3600.0,)),
    )
    van = plant("storage", uses=pair)
    wait = simulate(van, planned(van, 1), days=1).wait[0]
    assert wait[1] < 0.2 * wait[0]
    assert wait[2] == pytest.approx(wait[0], rel=1e-6)
    assert wait[0] == pytest.approx(0.67e-3 / 0.05e-3, rel=1e-6), "content and wall over flow"


def test_a_refill_waits_for_the_draw_that_is_going_on() -> None:
    late = use("late", 1, 1200.0, hours=(86400.0 - 300.0,), flow=1e-5)
    van = plant("", uses=(late,), days=1)
    outcome = simulate(van, planned(van, 3), days=3)
    balanced(outcome)
    assert outcome.tank_refilled[0].sum() > 0


def test_no_habits_and_one_day_are_fine() -> None:
    van = plant("storage", uses=())
    outcome = simulate(van, planned(van, 1), days=1, record=True)
    assert outcome.drawn.size == 0
    balanced(outcome)


def test_same_seed_same_bytes_and_another_seed_others() -> None:
    van = example_plant("dipper")
    first, again, other = (chance(van, 20, seed=s).outcome for s in (7, 7, 8))
    for name in ("wait", "warmth", "state", "drawn", "heat_in", "charge_end"):
        assert getattr(first, name).tobytes() == getattr(again, name).tobytes(), name
    assert first.drawn.tobytes() != other.drawn.tobytes()
    one, two = Trip(example("dipper")), Trip(example("dipper"))
    assert one.timeline(seed=4).to_csv() == two.timeline(seed=4).to_csv()


def test_each_of_many_trips_is_the_trip_played_alone() -> None:
    """The batch shares its loop and nothing else."""
    van = example_plant("heron")
    generator = np.random.default_rng(11)
    crew = ranks(van, 6, generator)
    variation = vary(van, generator.random((7, 6)))
    draws = random_draws(van, 2, crew, generator)
    together = simulate(van, draws, days=2, variation=variation)
    for trip in range(6):
        alone = simulate(
            van,
            replace(
                draws,
                time=draws.time[[trip]],
                use=draws.use[[trip]],
                duration=draws.duration[[trip]],
            ),
            days=2,
            variation=type(variation)(**{k: v[[trip]] for k, v in vars(variation).items()}),
        )
        assert alone.wait[0] == pytest.approx(together.wait[trip], rel=1e-9, abs=1e-9)
        assert alone.heat_in[0] == pytest.approx(together.heat_in[trip], rel=1e-9)
        assert alone.tank_end[0] == pytest.approx(together.tank_end[trip], rel=1e-9, abs=1e-12)
