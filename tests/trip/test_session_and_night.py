"""A heater with its showers, one run in one night, and a build with things changed."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from vanplumb.chapters.frost import cold_night_chapter
from vanplumb.chapters.hot_water import session_chapter
from vanplumb.drawings.charts.frost import frost_chart
from vanplumb.drawings.charts.session import session_chart
from vanplumb.pack import example
from vanplumb.trip.cold.frost import frost
from vanplumb.trip.cold.night import cold_night
from vanplumb.trip.play.session import session
from vanplumb.trip.what_if import WhatIf, fresh_volume, grey_volume, what_if

GALLON = 3.785411784e-3
PLAIN = {"nights": 3, "drinking": 0.004, "thrift": 1.0, "return_line": False, "chances": False}


def test_six_gallons_heat_in_the_time_of_the_reference() -> None:
    """22.7 L from 10 to 60 °C with 1.44 kW: 0.916 h (heat and mass, IAPWS), without losses."""
    found = session(
        volume=22.7e-3,
        setpoint=333.15,
        cold=283.15,
        burner_power=0.0,
        element_power=1440.0,
        standing_loss=0.0,
    )
    assert found.heat_time is not None
    assert found.heat_time / 3600 == pytest.approx(0.916, rel=0.003)
    assert found.works["time"].value == pytest.approx(found.heat_time, rel=1e-3)


def test_recovery_of_a_camper_heater_is_the_trades() -> None:
    """12 000 Btu/h at 75 % and a rise of 90 °F: 12.0 gal an hour, to 1 %."""
    found = session(
        burner_power=12000 * 0.29307107, efficiency=0.75, setpoint=(140 + 459.67) / 1.8,
        cold=(50 + 459.67) / 1.8,
    )  # fmt: skip
    assert found.works["recovery"].value * 3600 / GALLON == pytest.approx(12.0, rel=0.01)


def test_a_shower_in_balance_with_the_burner_never_ends() -> None:
    """As much heat as the shower takes: the tenth is as warm as the first."""
    found = session(count=6, gap=0.0, burner_power=20e3, efficiency=0.9)
    assert found.warm == 6
    warmth = [one.warmth for one in found.showers]
    assert warmth[-1] == pytest.approx(warmth[1], abs=0.3)


def test_a_larger_store_and_a_stronger_burner_never_hurt() -> None:
    by_volume = [session(volume=v).warm for v in (0.008, 0.015, 0.03, 0.06)]
    by_power = [session(burner_power=p).warm for p in (1500.0, 3500.0, 9000.0)]
    assert by_volume == sorted(by_volume) and by_volume[-1] == 3
    assert by_power == sorted(by_power)


def test_energy_of_a_session_is_accounted_for() -> None:
    for kind in ("storage", "flow-through"):
        assert session(kind=kind).outcome.heat_gap().max() < 1e-6


@pytest.mark.parametrize(
    "changes, told",
    [
        ({"burner_power": 0.0}, "neither a burner nor an element"),
        ({"setpoint": 288.0}, "setpoint is not above the cold water"),
        ({"wanted": 280.0}, "not warmer than the cold water"),
    ],
)
def test_a_session_that_makes_no_sense_says_why(changes: dict[str, float], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        session(**changes)


def test_a_weak_element_never_gets_there() -> None:
    found = session(burner_power=0.0, element_power=30.0, standing_loss=60.0)
    assert found.heat_time is None
    shown = {a.label: a.shown("SI") for a in session_chapter(found, "SI").answers}
    assert shown["from cold to hot"] == "never: it loses as much"


def test_the_worksheets_night_is_the_packs_night() -> None:
    build = example("dipper")
    van = replace(build.van, outside=265.15, outside_day=270.15)
    reel = next(r for r in frost(replace(build, van=van)).runs if r.run.place == "underfloor")
    alone = cold_night(
        tube=reel.run.tube,
        insulation=reel.run.insulation,
        coldest=265.15,
        warmest=270.15,
        water=build.van.cold_water,
    )
    assert alone.night.clock_freezing == reel.clock_zero
    assert alone.ice == pytest.approx(reel.ice)


def test_enough_glycol_keeps_all_ice_away_and_too_little_only_delays_it() -> None:
    plain, little, enough = (cold_night(coldest=263.15, by_volume=v) for v in (0.0, 0.1, 0.3))
    assert plain.ice >= little.ice > 0 == enough.ice
    assert plain.night.clock_freezing is not None and little.night.clock_freezing is not None
    assert enough.night.clock_freezing is None
    assert enough.lowest > enough.freezing


def test_heat_of_ice_is_what_flowed_through_the_wall() -> None:
    """Energy of a metre through the night: what left is what cooling and freezing gave."""
    found = cold_night(tube="PEX 3/4 in", insulation=0.02, coldest=260.15, warmest=270.15)
    night = found.night
    assert found.to_freezing is not None
    density, warmth, latent = 999.8, 4200.0, 333.6e3
    area = np.pi / 4 * (0.671 * 0.0254) ** 2
    rise = found.water - found.coldest
    resistance = found.to_freezing / (
        density * warmth * area * np.log(rise / (273.15 - found.coldest))
    )
    until = int((night.ice >= 1.0).argmax()) or len(night.ice) - 1
    left = ((night.temperature - night.air)[:until] * 60 / resistance).sum()
    cooled = density * warmth * area * (night.temperature[0] - night.temperature[until])
    frozen = density * latent * area * night.ice[until]
    assert left == pytest.approx(cooled + frozen, rel=0.02)


def test_a_night_that_makes_no_sense_says_why() -> None:
    with pytest.raises(ValueError, match="no tube 'straw'"):
        cold_night(tube="straw")
    with pytest.raises(ValueError, match="day's air is colder than the night's"):
        cold_night(coldest=270.0, warmest=260.0)


def test_nothing_changed_is_the_build_itself() -> None:
    build = example("dipper")
    same = what_if(
        build,
        people=build.crew.people,
        fresh=fresh_volume(build),
        grey=grey_volume(build),
        **{**PLAIN, "nights": build.crew.nights, "drinking": build.crew.drinking},
    )
    from vanplumb.trip.trip import Trip

    assert same.trip.planned.drawn == pytest.approx(Trip(build).planned.drawn)


def dry(found: WhatIf) -> float:
    return float(found.trip.planned.first["runs dry"][0])


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_more_water_and_more_care_last_longer(name: str) -> None:
    build = example(name)
    fresh, grey = fresh_volume(build), grey_volume(build)

    def lasts(people: int = 6, factor: float = 0.5, thrift: float = 1.0) -> float:
        changed = {**PLAIN, "nights": 8, "thrift": thrift}
        return dry(what_if(build, people=people, fresh=fresh * factor, grey=grey, **changed))

    assert lasts() < lasts(factor=1.5)
    assert lasts() < lasts(thrift=0.4)
    assert lasts(people=6) < lasts(people=1)


def test_no_crew_is_refused() -> None:
    with pytest.raises(ValueError, match="needs one person and one night"):
        what_if(example("wren"), people=0, fresh=0.03, grey=0.015, **PLAIN)


def test_charts_are_whole_and_the_same_every_time() -> None:
    for draw in (
        lambda: session_chart(session(), "US"),
        lambda: session_chart(session(kind="flow-through"), "SI"),
        lambda: frost_chart(cold_night(), "US"),
        lambda: frost_chart(cold_night(by_volume=0.4), "SI"),
    ):
        first = draw()
        assert first == draw()
        ElementTree.fromstring(first)
        assert "nan" not in first and "inf" not in first


def test_chapters_show_in_both_systems() -> None:
    for system in ("US", "SI"):
        for chapter in (
            session_chapter(session(), system),
            session_chapter(session(kind="flow-through"), system),
            cold_night_chapter(cold_night(), system),
            cold_night_chapter(cold_night(by_volume=0.2), system),
        ):
            assert all(a.shown(system) for a in chapter.answers)
            assert chapter.cautions
