"""Hot water that goes round: by hand for a loop of one tube, and what heat it loses."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from pytest import approx

from tests.random_vans.vans import make, text_of
from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack
from vanplumb.trip.hot_runs.loss import run_loss
from vanplumb.trip.hot_runs.recirculating import Recirculating, recirculating
from vanplumb.trip.play import rounds
from vanplumb.trip.play.draws import planned
from vanplumb.trip.play.make_plant import make_plant
from vanplumb.trip.play.outcome import Outcome
from vanplumb.trip.play.plant import Plant
from vanplumb.trip.play.simulate import simulate
from vanplumb.trip.play.timeline import track
from vanplumb.trip.trip import Trip
from vanplumb.van import loads
from vanplumb.words.tables import table

TEXT = """
format = 1
[van]
name = "Ruff"
units = "SI"
[[tank]]
name = "fresh"
shape = "stated"
volume = "60 L"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[heater]]
name = "heater"
kind = "storage"
volume = "10 L"
setpoint = "60 °C"
element_power = "1 kW"
relief = "6 bar"
[[recirculation_pump]]
name = "return"
control = "timer"
power = "12 W"
head = "0.08 bar"
flow_most = "6 L/min"
[[fixture]]
name = "tap"
kind = "cold tap"
[[tee]]
name = "cold tee"
[[tee]]
name = "far tee"
"""
TEXT += "".join(
    f'[[run]]\nfrom = "{a}"\nto = "{b}"\ntube = "PE-X 16x2.0"\nlength = "{n} m"\n'
    for a, b, n in (
        ("fresh", "pump", 1), ("pump", "cold tee", 1), ("cold tee", "heater", 1),
        ("heater", "far tee", 4), ("far tee", "tap", 1), ("far tee", "return", 1),
        ("return", "cold tee", 4),
    )
)  # fmt: skip


@pytest.fixture(scope="module")
def one() -> Recirculating:
    (found,) = recirculating(Flow(loads(TEXT)))
    return found


def test_the_pump_stands_on_its_curve(one: Recirculating) -> None:
    """On a straight line from 0.08 bar to 6 L/min, and the loop's runs are named."""
    assert one.head == approx(8000 * (1 - one.flow / (6e-3 / 60)), rel=1e-6)
    assert 0 < one.flow < 6e-3 / 60
    assert len(one.runs) == 4  # heater to the far tee, to the pump, to the cold tee, and back


def test_more_head_brings_more_round() -> None:
    flows = [
        recirculating(Flow(loads(TEXT.replace('"0.08 bar"', f'"{head} bar"'))))[0].flow
        for head in (0.02, 0.08, 0.3)
    ]
    assert flows == sorted(flows) and flows[0] < 0.8 * flows[-1]


def test_heat_lost_is_what_the_water_cools_by(one: Recirculating) -> None:
    """By hand: one long tube of 10 m at the resistance of hot water, exp(-L/(R m c))."""
    row = table("tubes")["PE-X 16x2.0"]
    metre = run_loss(row, 0.0, 333.15, 293.15).resistance
    mass = 983.2 * one.flow  # kg/s, water at 60 °C
    by_hand = 293.15 + 40.0 * exp(-10.0 / (metre * mass * 4185.0))
    assert one.returns == approx(by_hand, abs=0.05)
    assert one.lost == approx(mass * 4185.0 * (333.15 - one.returns), rel=0.01)


def test_the_tap_runs_with_the_return_too(one: Recirculating) -> None:
    (tap,) = one.taps
    assert tap.fixture == "tap" and tap.flow > 0
    assert tap.flow_running == approx(tap.flow, rel=0.2)
    # hot water leaves the heater either way; what comes round mixes with the cold before it
    assert tap.temperature_running == approx(tap.temperature, abs=25)


HOURS = """
[crew]
people = 0
nights = 2
heater_hours = ["00:00-05:00"]
[battery]
capacity = "100 Ah"
[[use]]
name = "early"
fixture = "tap"
per_day = 1
volume = "1 L"
temperature = "40 °C"
hours = ["11:00"]
[[use]]
name = "late"
fixture = "tap"
per_day = 1
volume = "1 L"
temperature = "40 °C"
hours = ["17:00"]
"""


def played(control: str = "timer", uses: bool = True, more: str = "") -> tuple[Plant, Outcome]:
    text = TEXT.replace(
        'control = "timer"', f'control = "{control}"\nhours = ["10:00-12:00"]{more}'
    )
    text = text.replace('element_power = "1 kW"', 'burner_power = "2 kW"\nfuel = "propane"')
    build = loads(text + (HOURS if uses else HOURS.split("[[use]]")[0]))
    plant = make_plant(build)
    return plant, simulate(plant, planned(plant, 2), days=2.0, record=True)


def test_heat_closes_with_water_that_goes_round() -> None:
    plant, out = played()
    assert len(plant.rounds) == 1 and out.heater_out[0, 0] > 0
    kept = out.heater_start + out.heater_in - out.heater_out - out.heater_lost
    assert kept[0, 0] == approx(out.heater_end[0, 0], abs=1.0)
    runs = out.line_start[0] + out.heater_out[0].sum() - out.heat_out[0] - out.line_lost[0]
    assert runs == approx(out.line_end[0], abs=1.0)


def test_a_store_loses_what_its_loop_loses_in_the_hours_of_its_pump_only() -> None:
    """By hand: exponentials of loss over heat held, 10 L of water and ten metres of tube."""
    plant, out = played(uses=False)
    kept = track(out)
    heater = plant.heaters[0]
    metre = 1 / run_loss(table("tubes")["PE-X 16x2.0"], 0.0, 333.15, 293.15).resistance
    assert plant.rounds[0].loss == approx(10 * metre, rel=1e-6)
    store = plant.heat_per_volume * 10e-3
    loop = plant.heat_per_volume * sum(plant.segments[n].held for n in plant.rounds[0].path)

    def warmth(hour: float) -> float:
        """Of the store above the cabin, at an hour of the second day."""
        place = np.searchsorted(kept["time"], (24 + hour) * 3600 + 1) - 1
        return float(kept["means"][place, 0] - 293.15)

    resting = exp(-heater.loss * 5 * 3600 / store)
    assert warmth(10) / warmth(5) == approx(resting, rel=1e-3)
    # at ten the loop is as cold as the cabin; it is filled, and both cool as one body until noon
    filled = warmth(10) * store / (store + loop)
    by_hand = filled * exp(-(heater.loss + 10 * metre) * 2 * 3600 / (store + loop))
    assert warmth(12) == approx(by_hand, rel=0.01)
    assert warmth(20) / warmth(12) == approx(exp(-heater.loss * 8 * 3600 / store), rel=1e-3)


def test_a_tap_waits_for_its_own_run_only_while_water_goes_round() -> None:
    """At eleven the loop is warm up to the far tee, at five it has cooled for five hours."""
    plant, out = played()
    names = [plant.uses[n].name for n in out.draws.use[0] if n >= 0]
    wait = dict(zip(names, out.wait[0], strict=False))
    row = table("tubes")["PE-X 16x2.0"]
    flow = plant.uses[0].flow
    bare = pi / 4 * row.number("bore") ** 2 * 1.0 / flow
    assert bare <= wait["early"] < 2.5 * bare
    assert wait["late"] > 3 * wait["early"]


def test_the_battery_gives_to_the_pump_in_its_hours_only() -> None:
    for control, more, power in (("timer", "", 12.0), ("thermostat", "\nrunning_share = 0.5", 6.0)):
        _, out = played(control, uses=False, more=more)
        assert out.charge_used[0] == approx(2 * 2 * 3600 * power, rel=1e-6)
        kept = track(out)
        falls = np.diff(kept["charge"]) < -1e-6
        hours = (kept["time"][1:][falls] / 3600) % 24
        assert falls.any() and hours.min() > 10 and hours.max() <= 12 + 1e-6


def test_a_thermostat_keeps_the_loop_warm_between_its_runs_and_a_button_does_not() -> None:
    loss = {c: played(c, uses=False)[0].rounds[0].loss for c in ("timer", "thermostat", "button")}
    assert loss["thermostat"] == loss["timer"]
    assert loss["button"] == approx(0.3 * loss["timer"])


def test_a_pump_that_never_runs_brings_nothing_round() -> None:
    """A share of its hours of 0 %: its loop is a run like any other, and costs nothing."""
    plant, out = played("button", uses=False, more="\nrunning_share = 0")
    assert plant.rounds == () and out.charge_used[0] == 0


def test_a_loop_of_a_store_colder_than_the_cabin_warms_and_takes_no_heat_away() -> None:
    text = TEXT.replace('setpoint = "60 °C"', 'setpoint = "5 °C"')
    plant = make_plant(loads(text + HOURS.split("[[use]]")[0]))
    assert plant.rounds[0].loss > 0
    out = simulate(plant, planned(plant, 2), days=2.0)
    assert out.heat_lost[0] < 0
    assert plant.cold < out.variation.cold[0] + out.heater_end[0, 0] / (
        plant.heat_per_volume * plant.heaters[0].volume
    ) <= plant.cabin  # fmt: skip


def test_steps_are_no_finer_for_a_small_store_and_finer_ones_change_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One litre loses its warmth to ten metres of loop in minutes: exactly, in any steps."""
    small = TEXT.replace('volume = "10 L"', 'volume = "1 L"')
    small = small.replace('element_power = "1 kW"', 'burner_power = "2 kW"\nfuel = "propane"')
    plant = make_plant(loads(small + HOURS.replace("00:00-05:00", "10:50-11:00")))
    found = []
    for step in (rounds.TURNED, rounds.TURNED / 4):
        monkeypatch.setattr(rounds, "TURNED", step)
        found.append(simulate(plant, planned(plant, 2), days=2.0, record=True))
    usual, fine = found
    assert len(usual.track) < 300 < len(fine.track)
    assert usual.wait.max() > 1.0
    assert usual.heat_lost[0] == approx(fine.heat_lost[0], rel=0.01)
    assert usual.wait == approx(fine.wait, rel=0.01)
    assert usual.warmth == approx(fine.warmth, abs=0.3, nan_ok=True)


def test_a_check_against_the_loop_is_told() -> None:
    text = TEXT.replace('to = "cold tee"\ntube = "PE-X 16x2.0"\nlength = "4 m"',
                        'to = "check"\ntube = "PE-X 16x2.0"\nlength = "4 m"')  # fmt: skip
    text += '[[check_valve]]\nname = "check"\nreversed = true\n'
    text += '[[run]]\nfrom = "check"\nto = "cold tee"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
    (found,) = recirculating(Flow(loads(text)))
    assert found.stands and found.lost == 0
    chapter = next(c for c in Pack(loads(text)).chapters if c.key == "line_parts")
    assert "nothing" in [a.value for a in chapter.answers]


def test_a_loop_that_hot_water_was_drawn_by_warms_no_further_than_its_store() -> None:
    """A tap shuts, the store is heated up again: the loop has its hottest water already."""
    van = loads(text_of(make(1512)))
    played = Trip(van).chance(300).outcome
    assert np.isfinite(played.warmth).any()
    assert played.warmth_gap().max() < 1e-6
