"""A crew's needs of water, current and fuel, by hand and by laws that they must obey."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.formulas import needs
from vanplumb.words.units import Q

some = st.floats(0.1, 50.0)


@pytest.mark.checks("drinking_water")
def test_the_crew_drinks_what_the_relief_handbook_says() -> None:
    """Sphere Handbook 2011: 2.5 to 3 L a person and day, drunk and in food."""
    four = needs.drinking_water(count_people=4, volume_person=Q("2.5 L"))
    assert four.to("L").magnitude == pytest.approx(10.0, abs=0.05)


@pytest.mark.checks("water_of_a_use")
def test_a_timed_shower_uses_its_flow_times_its_minutes() -> None:
    """The US limit of 2.5 gpm (10 CFR 430.32) for 4 minutes is 10 gal."""
    used = needs.water_of_a_use(count_times=1, flow=Q("2.5 gpm"), duration=Q("4 min"))
    assert used.to("gal").magnitude == pytest.approx(10.0, rel=1e-9)


@pytest.mark.checks("days_of_charge", "inverter_energy")
@given(st.floats(1e5, 1e7), st.floats(1e5, 5e6), st.floats(0.0, 0.9), st.floats(0.5, 1.0))
def test_a_battery_played_day_by_day_lasts_as_long(
    usable: float, drawn: float, charged: float, inverter: float
) -> None:
    """Taken out and charged day by day until it is empty; the mains side gets what is left."""
    from_battery = needs.inverter_energy.si(drawn, inverter)
    assert from_battery * inverter == pytest.approx(drawn)
    days = needs.days_of_charge.si(usable, from_battery, charged * from_battery)
    left = usable - math.floor(days) * (from_battery - charged * from_battery)
    part = days - math.floor(days)
    assert left - part * (1 - charged) * from_battery == pytest.approx(0.0, abs=1e-6 * usable)


@pytest.mark.checks("days_of_fuel")
def test_a_bottle_lasts_until_it_is_empty() -> None:
    """11 kg at 95 g a day: 115 days and a bit, by a calculator."""
    assert needs.days_of_fuel.si(11.0, 0.095) == pytest.approx(115.79, abs=0.005)


@pytest.mark.checks("water_for_stay", "nights_of_water")
@given(some, st.integers(1, 20), st.floats(0, 0.9))
def test_a_tank_of_the_need_lasts_the_nights(day: float, nights: int, reserve: float) -> None:
    need = needs.water_for_stay.si(day, nights, reserve)
    assert needs.nights_of_water.si(need, day, reserve) == pytest.approx(nights, rel=1e-12)
    assert need >= day * nights


@pytest.mark.checks("pump_energy")
def test_pump_energy_is_hydraulic_energy_over_efficiency() -> None:
    """3.0 gpm at 45 psi is 58.7 W of water power; at 7.5 A and 12 V that is 65 %."""
    volume, flow = 3.0 * 3.785411784e-3, 3.0 * 3.785411784e-3 / 60
    drawn = needs.pump_energy.si(volume=volume, flow=flow, voltage=12.0, current=7.5)
    water = volume * 45 * 6894.757
    assert water / 60 == pytest.approx(58.7, abs=0.05)
    assert water / drawn == pytest.approx(0.652, abs=0.0005)


@pytest.mark.checks("battery_energy", "charging_energy")
@given(some, some, st.floats(0.1, 1.0))
def test_charging_back_what_may_be_taken_takes_its_ampere_hours(
    hours: float, current: float, usable: float
) -> None:
    charge = current * hours * 3600
    taken = needs.battery_energy.si(charge, 12.8, usable)
    given_back = needs.charging_energy.si(current, 12.8, hours * 3600 * usable)
    assert taken == pytest.approx(given_back, rel=1e-12)


@pytest.mark.checks("heat_of_a_day")
def test_a_store_that_is_never_used_takes_its_standing_loss() -> None:
    day = needs.heat_of_a_day(heat_water=Q("0 kWh"), power_standing=Q("50 W"), duration=Q("24 h"))
    assert day.to("kWh").magnitude == pytest.approx(1.2, rel=1e-12)


@pytest.mark.checks("payload_share")
def test_the_share_of_the_payload_times_the_payload_is_the_mass() -> None:
    assert needs.payload_share.si(150.0, 600.0) * 600.0 == pytest.approx(150.0, rel=1e-12)
