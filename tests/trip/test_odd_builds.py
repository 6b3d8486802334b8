"""Odd builds are played to the end, in balance, or say in one sentence why they can't be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from vanplumb.chapters.frost import frost_chapter
from vanplumb.chapters.hot_water import waiting_chapter
from vanplumb.chapters.trip import days_chapter
from vanplumb.drawings.charts.trip import trip_picture
from vanplumb.pack import Pack, example
from vanplumb.trip.trip import Trip
from vanplumb.van import Build

P, H, W = example("dipper"), example("heron"), example("wren")


def uses(build: Build, **changes: Any) -> Build:
    return replace(build, use=tuple(replace(u, **changes) for u in build.use))


def heater(build: Build, **changes: Any) -> Build:
    return replace(build, heater=(replace(build.heater[0], **changes),))


def battery(**changes: Any) -> Build:
    assert P.battery is not None
    return replace(P, battery=replace(P.battery, **changes))


def van(**changes: Any) -> Build:
    return replace(P, van=replace(P.van, **changes))


def crew(**changes: Any) -> Build:
    return replace(P, crew=replace(P.crew, **changes))


ODD: dict[str, Build] = {
    "no uses": replace(P, use=()),
    "nobody drinks": replace(P, use=(), crew=replace(P.crew, drinking=0.0)),
    "no people": crew(people=0),
    "no nights": crew(nights=0),
    "no time": uses(P, duration=0.0, volume=None),
    "two hours each": uses(P, duration=7200.0, volume=None),
    "no tank": replace(P, tank=(), run=P.run[1:]),
    "setpoint below cold": heater(P, setpoint=280.0),
    "wanted above setpoint": uses(P, temperature=350.0),
    "wanted below cold": uses(P, temperature=280.0),
    "a heater that never heats": heater(P, burner_power=0.0, element_power=0.0),
    "an element alone": heater(P, burner_power=0.0),
    "a coil alone": heater(
        P, kind="coolant coil", burner_power=0.0, element_power=0.0, coolant_power=5e3
    ),
    "no battery": replace(P, battery=None),
    "no fuel said": replace(P, fuel=None),
    "a store that leaks all heat": heater(P, standing_loss=5000.0),
    "a wide differential": heater(P, differential=60.0),
    "a torrent": replace(P, fixture=tuple(replace(f, flow=1e-2) for f in P.fixture)),
    "runs of nothing": replace(P, run=tuple(replace(r, length=1e-4) for r in P.run)),
    "runs of 300 m": replace(P, run=tuple(replace(r, length=300.0) for r in P.run)),
    "all at one time": uses(P, hours=("08:00",)),
    "at midnight": uses(P, hours=("00:00", "24:00")),
    "an oven": van(cabin=340.0),
    "water at freezing": van(cold_water=273.15),
    "a night of -70": van(outside=203.2),
    "an empty battery": battery(start_share=0.0),
    "a great load": battery(other_load=5000.0),
    "charged over midnight": battery(charge_hours=("22:00-03:00",)),
    "more flow than any tap": heater(H, flow_least=1e-2),
    "a sleepy heater": heater(H, start_delay=600.0),
    "a heater of unknown content": heater(H, volume=None),
    "a candle": heater(H, burner_power=100.0),
    "warm wanted, no heater": uses(W, temperature=320.0),
}


@pytest.mark.parametrize("name", ODD)
@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_it_is_played_to_the_end_in_balance(name: str) -> None:
    trip = Trip(ODD[name])
    chapter = days_chapter(trip)
    assert chapter.answers, chapter.not_computed
    if trip.waits:
        waiting_chapter(trip.build, trip.waits)
    frost_chapter(trip.build, trip.frost)
    for outcome in (trip.planned, trip.chance(8).outcome):
        assert outcome.water_gap().max() < 1e-6
        assert outcome.heat_gap().max() < 1e-6
        assert outcome.energy_gap().max() < 1e-6
    assert "nan" not in trip_picture(trip).svg


def test_what_the_days_leave_out_is_said() -> None:
    """A flame that can't be turned down is not followed, and a heater that feeds no tap is none."""
    build = H
    second = replace(build.heater[0], name="second heater", power_least=0.0)
    left = " ".join(days_chapter(Pack(build).trip).not_computed)
    assert "overheats a thin flow" in left and "econd heater" not in left
    more = replace(build, heater=(replace(build.heater[0], power_least=0.0), second))
    left = " ".join(days_chapter(Pack(more).trip).not_computed)
    assert "Second heater, which feeds no tap" in left and "overheats" not in left
