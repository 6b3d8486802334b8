"""A build as the numbers that are played, and its budget, by hand."""

from __future__ import annotations

import numpy as np
import pytest
from trip_plants import plant, use

from vanplumb.pack import Pack
from vanplumb.trip.play.draws import planned
from vanplumb.trip.play.make_plant import make_plant
from vanplumb.trip.play.simulate import simulate
from vanplumb.van import Build, loads
from vanplumb.words.unit_table import DAY

GALLON = 3.785411784e-3
TEXT = """\
format = 1
[van]
name = "Small"
units = "SI"
[crew]
people = 2
nights = 4
drinking = "3 L"
reserve = 0.2
[battery]
capacity = "100 Ah"
voltage = "12.8 V"
usable = 0.8
start_share = 0.9
charge_current = "20 A"
charge_hours = ["10:00-14:00"]
other_load = "40 W"
[fuel]
kind = "propane"
mass = "5 kg"
[[tank]]
name = "fresh"
shape = "box"
length = "800 mm"
width = "400 mm"
height = "300 mm"
pickup_height = "0 mm"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[heater]]
name = "heater"
kind = "storage"
volume = "10 L"
setpoint = "60 °C"
burner_power = "3 kW"
burner_efficiency = 0.8
power_least = "1 kW"
fuel = "propane"
[[fixture]]
name = "basin"
kind = "basin tap"
[[run]]
from = "fresh"
to = "pump"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "pump"
to = "heater"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "heater"
to = "basin.hot"
tube = "PEX 1/2 in"
length = "1 m"
[[use]]
name = "hands"
fixture = "basin"
per_day = 10
volume = "1 L"
"""


@pytest.fixture(scope="module")
def build() -> Build:
    return loads(TEXT)


def test_battery_and_heater_are_played_as_the_build_says(build: Build) -> None:
    """100 Ah at 12.8 V are 4.608 MJ; of 3 kW burned 2.4 kW reach the water, of 1 kW 0.8 kW."""
    made = make_plant(build)
    assert made.battery is not None and made.heaters
    assert made.battery.full == pytest.approx(4.608e6)
    assert made.battery.empty == pytest.approx(0.2 * 4.608e6)
    assert made.battery.start == pytest.approx(0.9 * 4.608e6)
    assert made.battery.charge_power == pytest.approx(256.0)
    assert made.battery.charge_hours == ((36_000.0, 50_400.0),)
    assert made.heaters[0].burner_heat == pytest.approx(2400.0)
    assert made.heaters[0].power_least == pytest.approx(800.0)
    assert made.fuel == pytest.approx(5.0)
    assert made.fresh == pytest.approx(0.8 * 0.4 * 0.3)


def test_water_current_and_a_store_by_hand(build: Build) -> None:
    """6 L drunk and 10 L used a day; a fifth of four days' water is the reserve."""
    pack = Pack(build)
    assert pack.water.volume_day == pytest.approx(16e-3)
    assert pack.water.need == pytest.approx(4 * 16e-3 * 1.2)
    assert pack.water.reserve == pytest.approx(4 * 16e-3 * 0.2)
    # 80 % of 4.608 MJ, less the tenth that it does not start with
    assert pack.electric.usable == pytest.approx(0.7 * 4.608e6)
    assert pack.electric.charge_day == pytest.approx(256.0 * 4 * 3600)
    (store,) = pack.heater
    # ASHRAE, service water heating: some 70 % of a store is drawn before cold mixes in
    assert store.usable == pytest.approx(7e-3)


def test_a_use_every_other_day_comes_on_the_first() -> None:
    """The first half of a use rounds up: on days 1, 3 and 5 of six."""
    draws = planned(plant("", uses=(use("odd", 0.5, 10.0),)), 6)
    assert [int(t // DAY) + 1 for t in draws.time[0]] == [1, 3, 5]


def test_the_pump_draws_by_what_flows() -> None:
    """A tap of half the pump's flow for 1000 s takes half its power for so long: 35 kJ."""
    van = plant("", uses=(use("tap", 1, 1000.0, flow=0.6e-4, spread=0.0),))
    assert van.battery is not None
    quiet = simulate(plant("", uses=()), planned(plant("", uses=()), 1), days=1)
    drawn = simulate(van, planned(van, 1), days=1)
    more = (drawn.charge_in - drawn.charge_end) - (quiet.charge_in - quiet.charge_end)
    assert more[0] == pytest.approx(35e3, rel=1e-6)


def test_a_battery_fills_up_while_it_is_drawn_on() -> None:
    """Full and charged at 256 W with 40 W drawn, it gives nothing of its own by day."""
    outcome = simulate(plant("", uses=()), planned(plant("", uses=()), 1), days=1)
    # 4 h of charging meet 40 W and make good what ten hours had taken
    assert outcome.charge_in[0] == pytest.approx(40.0 * 14 * 3600, rel=1e-6)
    assert np.all(outcome.charge_end <= 100 * 3600 * 12.8 + 1e-6)
