"""Two tanks and two heaters: each gives to its own taps, and every budget closes for each."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from pytest import approx

from vanplumb.chapters.budget import energy_chapter, water_chapter
from vanplumb.chapters.owner_page import owner_page
from vanplumb.chapters.service_pressure import pressures_chapter
from vanplumb.chapters.trip import days_chapter
from vanplumb.drawings.charts.trip import trip_chart
from vanplumb.drawings.charts.vessels import stay_picture, stay_scene
from vanplumb.flow.elasticity import content_of
from vanplumb.flow.engine import Flow
from vanplumb.flow.service_pressure import service_pressures
from vanplumb.pack import Pack
from vanplumb.shop.disinfect import plan_dose, shares
from vanplumb.trip.play.outcome import NO_WATER, Outcome
from vanplumb.trip.stay.feeds import tank_sets
from vanplumb.trip.trip import Trip
from vanplumb.van import Build, loads

LITRE = 1e-3
HEAD = """format = 1
[van]
name = "Two of each"
units = "SI"
[crew]
people = 2
nights = 3
drinking = "0 L"
[battery]
capacity = "100 Ah"
other_load = "10 W"
[fuel]
kind = "propane"
mass = "10 kg"
"""
PARTS = """[[tank]]
name = "{side} tank"
shape = "box"
length = "500 mm"
width = "400 mm"
height = "300 mm"
pickup_height = "15 mm"
base_height = "{base}"
[[pump]]
name = "{side} pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[tee]]
name = "{side} tee"
[[heater]]
name = "{side} heater"
kind = "storage"
volume = "10 L"
setpoint = "{hot}"
burner_power = "3 kW"
fuel = "propane"
{more}
[[fixture]]
name = "{side} tap"
kind = "basin tap"
[[run]]
from = "{side} tank"
to = "{side} pump"
tube = "PEX 1/2 in"
length = "1 m"
rise = "{rise}"
[[run]]
from = "{side} pump"
to = "{side} tee"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "{side} tee"
to = "{side} heater"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "{side} tee"
to = "{side} tap.cold"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "{side} heater"
to = "{side} tap.hot"
tube = "PEX 1/2 in"
length = "2 m"
[[use]]
name = "{side} washing"
fixture = "{side} tap"
per_day = {times}
volume = "4 L"
temperature = "38 °C"
hours = ["07:00", "12:00", "19:00"]
"""


def half(side: str, **said: Any) -> str:
    """One of two systems that have nothing in common."""
    usual = {"base": "0 mm", "rise": "0 mm", "hot": "60 °C", "more": "", "times": 3}
    return PARTS.format(side=side, **usual | said)


def two(front: dict[str, Any] | None = None, rear: dict[str, Any] | None = None) -> Build:
    return loads(HEAD + half("front", **front or {}) + half("rear", **rear or {}))


def alone(side: str, **said: Any) -> Build:
    return loads(HEAD + half(side, **said))


def column(outcome: Outcome, what: str, name: str) -> float:
    """One part's figure on the planned stay."""
    plant = outcome.plant
    kind, _, _ = what.partition("_")
    names = [one.name for one in (plant.tanks if kind == "tank" else plant.heaters)]
    return float(getattr(outcome, what)[0, names.index(name)])


def closed(outcome: Outcome) -> None:
    for gap in (outcome.water_gap(), outcome.heat_gap(), outcome.energy_gap()):
        assert float(gap.max()) < 1e-6
    assert float(outcome.warmth_gap().max()) < 1e-6


def test_two_systems_in_one_van_do_what_each_does_in_a_van_of_its_own() -> None:
    """Nothing joins them, so no figure of one may know of the other."""
    said = {"front": {"hot": "55 °C", "times": 3}, "rear": {"hot": "70 °C", "times": 2}}
    together = Trip(two(**said)).planned
    closed(together)
    for side, more in said.items():
        one = Trip(alone(side, **more)).planned
        for what in ("tank_start", "tank_taken", "tank_end"):
            assert column(together, what, f"{side} tank") == approx(
                column(one, what, f"{side} tank"), rel=1e-9
            )
        for what in ("heater_in", "heater_out", "heater_lost", "heater_burning", "heater_fuel"):
            assert column(together, what, f"{side} heater") == approx(
                column(one, what, f"{side} heater"), rel=2e-3
            ), "the heat of a litre is taken at the mean of one heater's warmth"


def test_a_tank_runs_dry_while_the_other_is_full() -> None:
    """18 times 4 L a day are more than one tank holds, 4 L a day are not."""
    outcome = Trip(two(front={"times": 18}, rear={"times": 1})).planned
    closed(outcome)
    held = 0.5 * 0.4 * (0.3 - 0.015)
    assert column(outcome, "tank_start", "front tank") == approx(held)
    assert column(outcome, "tank_end", "front tank") == approx(0.0, abs=1e-9)
    assert column(outcome, "tank_taken", "rear tank") < held / 2
    assert np.isfinite(outcome.first["runs dry"][0])
    refused = outcome.draws.use[0][outcome.state[0] == NO_WATER]
    assert {outcome.plant.uses[n].name for n in refused} == {"front washing"}


def test_each_heater_has_its_own_hours_and_its_own_fuel() -> None:
    """One that is on in the morning alone gives nothing at night; diesel is not the propane."""
    build = two(rear={"more": 'hours = ["06:00-06:30"]'})
    diesel = replace(build.heater[1], fuel="diesel")
    build = replace(build, heater=(build.heater[0], diesel))
    outcome = Trip(build).planned
    closed(outcome)
    assert column(outcome, "heater_burning", "rear heater") <= 3 * 1800.0
    assert column(outcome, "heater_burning", "rear heater") < column(
        outcome, "heater_burning", "front heater"
    )
    assert outcome.fuel_used[0] == approx(column(outcome, "heater_fuel", "front heater"))
    assert column(outcome, "heater_fuel", "rear heater") > 0
    budget = Pack(build).budget
    kinds = {fuel.kind: fuel for fuel in budget.fuels}
    assert set(kinds) == {"propane", "diesel"}
    assert budget.fuel is kinds["propane"] and kinds["propane"].days is not None
    assert kinds["diesel"].carried is None and kinds["diesel"].days is None
    chapter = energy_chapter(budget, build)
    labels = [answer.label for answer in chapter.answers]
    assert "Diesel in a day" in labels and "Propane in a day" in labels


def test_fuel_and_charge_of_both_heaters_are_in_the_days_that_they_last() -> None:
    """Two alike burn twice what one does, and each is as long at work."""
    one, both = Pack(alone("front")), Pack(two())
    assert one.budget.fuel is not None and both.budget.fuel is not None
    assert both.budget.fuel.mass_day == approx(2 * one.budget.fuel.mass_day, rel=1e-6)
    assert both.budget.fuel.days == approx(one.budget.fuel.days / 2, rel=1e-6)
    assert both.budget.electric.pump_day == approx(2 * one.budget.electric.pump_day, rel=1e-6)
    assert both.budget.heat.heat_day == approx(2 * one.budget.heat.heat_day, rel=1e-6)


JOINED = """[[run]]
from = "rear tank"
to = "front tank.fill"
tube = "PEX 1/2 in"
length = "1 m"
rise = "-600 mm"
"""


def test_an_upper_tank_drains_into_a_lower_one_which_runs_over() -> None:
    """Nothing stops it: what the lower one can't hold is out before the first night."""
    raised = {"base": "600 mm", "rise": "-600 mm"}
    text = HEAD + half("front") + half("rear", **raised)
    apart = tank_sets(loads(text))
    assert [one.name for one in apart] == ["rear tank", "front tank"]
    assert all(one.spilt == 0 for one in apart)
    joined = tank_sets(loads(text + JOINED))
    assert [one.name for one in joined] == ["front tank and rear tank"]
    usable = 0.5 * 0.4 * (0.3 - 0.015)
    assert joined[0].usable == approx(usable) and joined[0].spilt == approx(usable)
    trip = Trip(loads(text + JOINED))
    closed(trip.planned)
    said = " ".join(days_chapter(trip).basis)
    assert "find one level" in said and "57" in said


def test_tanks_that_find_one_level_share_what_is_left() -> None:
    """Two boxes side by side, one 100 mm lower: the level is one, by the area of both."""
    text = HEAD + half("front") + half("rear", base="100 mm", rise="-100 mm")
    joined = tank_sets(loads(text + JOINED.replace("-600", "-100")))[0]
    area, high = 0.2, 0.3
    # Full to the lower one's roof: 300 mm of the one, 200 mm of the other, less both heels.
    assert joined.usable == approx(area * (high + high - 0.1 - 2 * 0.015))
    held = area * (0.25 + 0.15 - 2 * 0.015)
    contents = joined.contents(held)
    assert contents is not None
    assert contents["front tank"] == approx(area * 0.25, rel=1e-6)
    assert contents["rear tank"] == approx(area * 0.15, rel=1e-6)


def test_a_shut_valve_of_a_tank_shuts_it() -> None:
    """A tee takes from two tanks, each with its valve; the one that is shut gives nothing."""
    tanks = "".join(
        f"""[[tank]]
name = "{name}"
shape = "stated"
volume = "20 L"
[[shut_off]]
name = "{name} valve"
opening = {opening}
[[run]]
from = "{name}"
to = "{name} valve"
tube = "PEX 1/2 in"
length = "1 m"
[[run]]
from = "{name} valve"
to = "join"
tube = "PEX 1/2 in"
length = "1 m"
"""
        for name, opening in (("left", 1), ("right", 0))
    )
    rest = JOIN.format("5 L") + RUN.format("join", "pump", "1 m") + RUN.format("pump", "tap", "1 m")
    build = loads(HEAD + tanks + rest)
    assert [one.name for one in tank_sets(build)] == ["left"]
    assert Pack(build).water.usable == approx(20 * LITRE)
    outcome = Trip(build).planned
    closed(outcome)
    assert outcome.water_taken[0] == approx(20 * LITRE)
    both = loads((HEAD + tanks + rest).replace("opening = 0", "opening = 1"))
    assert Pack(both).water.usable == approx(40 * LITRE)
    chapter = water_chapter(Pack(build).budget, build)
    assert any("right" in line for line in chapter.not_computed)


def series() -> Build:
    """A store that an engine heats, and behind it a small one with a burner."""
    text = HEAD + half("front")
    coil = """[[heater]]
name = "coil"
kind = "coolant coil"
volume = "10 L"
setpoint = "80 °C"
coolant_power = "5 kW"
standing_loss = "20 W"
"""
    text = text.replace('to = "front heater"', 'to = "coil"') + coil
    text += '[[run]]\nfrom = "coil"\nto = "front heater"\ntube = "PEX 1/2 in"\nlength = "0.5 m"\n'
    return loads(text)


def test_what_one_heater_has_warmed_the_next_need_not_heat() -> None:
    """Heat closes for each, and a coil in front saves fuel."""
    warmed, bare = Trip(series()), Trip(alone("front"))
    closed(warmed.planned)
    names = [heater.name for heater in warmed.plant.heaters]
    before = warmed.plant.heaters[names.index("front heater")].before
    assert before == names.index("coil")
    assert column(warmed.planned, "heater_in", "coil") > 1e5
    assert column(warmed.planned, "heater_fuel", "front heater") < 0.8 * column(
        bare.planned, "heater_fuel", "front heater"
    )
    assert "has passed coil" in " ".join(days_chapter(warmed).basis)


JOIN = """[[tee]]
name = "join"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[fixture]]
name = "tap"
kind = "cold tap"
[[use]]
name = "buckets"
fixture = "tap"
per_day = 3
volume = "{}"
"""
"""Where two tanks join, the pump and the tap behind; the use is of so much water."""
RUN = """[[run]]
from = "{}"
to = "{}"
tube = "PEX 1/2 in"
length = "{}"
"""


def side_by_side(length: str = "6 m") -> Build:
    """Two stores between one pump and one tap; the way through the rear one is longer."""
    text = HEAD + half("front", hot="50 °C")
    rear = half("rear", hot="70 °C")
    rear = rear[rear.index("[[heater]]") : rear.index("[[fixture]]")]
    text = text.replace(
        'from = "front heater"\nto = "front tap.hot"', 'from = "join"\nto = "front tap.hot"'
    )
    text += rear + '[[tee]]\nname = "join"\n[[tee]]\nname = "split"\n'
    text = text.replace(
        'from = "front tee"\nto = "front heater"', 'from = "front tee"\nto = "split"'
    )
    text += RUN.format("split", "front heater", "1 m") + RUN.format("front heater", "join", "1 m")
    text += RUN.format("split", "rear heater", length) + RUN.format("rear heater", "join", length)
    return loads(text)


def test_two_heaters_side_by_side_give_what_the_network_says() -> None:
    """Each has the part of the flow that runs through it; heat and water close for each."""
    build = side_by_side()
    moment = Flow(build).solve(["front tap"])
    through = {n: moment.links[n].mass_flow for n in ("front heater", "rear heater")}
    trip = Trip(build)
    (use,) = {u.name: u for u in trip.plant.uses if u.path}.values()
    names = [heater.name for heater in trip.plant.heaters]
    for number, part in use.heaters:
        assert part == approx(through[names[number]] / sum(through.values()), rel=1e-6)
    assert dict(use.heaters)[names.index("front heater")] > 0.5
    closed(trip.planned)
    out = {n: column(trip.planned, "heater_out", n) for n in names}
    assert min(out.values()) > 1e5
    # the rear one is 20 K warmer over the cold and gets the lesser part of the water
    assert "side by side" in " ".join(days_chapter(trip).basis)
    even = Trip(side_by_side("1 m")).plant
    parts = next(dict(u.heaters) for u in even.uses if u.path)
    assert parts[0] == approx(0.5, abs=0.02)  # but for straight and branch of the tees
    assert sum(parts.values()) == approx(1.0)


CHECKED = """[[check_valve]]
name = "{side} check"
[[run]]
from = "{side}"
to = "{side} check"
tube = "PEX 1/2 in"
length = "{length}"
rise = "{rise}"
[[run]]
from = "{side} check"
to = "join"
tube = "PEX 1/2 in"
length = "1 m"
[[tank]]
name = "{side}"
shape = "box"
length = "400 mm"
width = "300 mm"
height = "300 mm"
base_height = "{base}"
"""


def two_tanks(base: str, rise: str, length: str = "2 m") -> Build:
    """Two tanks, each behind a check valve of its own, to one pump and one tap."""
    text = HEAD + CHECKED.format(side="low", length="2 m", rise="0 mm", base="0 mm")
    text += CHECKED.format(side="high", length=length, rise=rise, base=base)
    text += JOIN.format("3 L")
    return loads(text + RUN.format("join", "pump", "1 m") + RUN.format("pump", "tap", "1 m"))


def test_tanks_at_one_tap_give_what_the_network_says() -> None:
    """Level: by the length of their lines, and more and more evenly as the one is behind.

    One a metre higher: that one alone, until it is dry.
    """
    level = two_tanks("0 mm", "0 mm", "8 m")
    moment = Flow(level).solve(["tap"])
    runs = {n: moment.links[f"{n} check"].flow for n in ("low", "high")}
    outcome = Trip(level).planned
    closed(outcome)
    names = [one.name for one in outcome.plant.tanks]
    first = dict(outcome.plant.uses[0].cold_parts)[names.index("low")]
    assert first == approx(runs["low"] / sum(runs.values()), rel=1e-5)
    assert 0.1 < runs["high"] / sum(runs.values()) < 0.49
    taken = {n: column(outcome, "tank_taken", n) for n in runs}
    part = taken["low"] / sum(taken.values())
    assert 0.5 < part < first - 0.005, "what it is behind lifts what comes of the other"
    stacked = Trip(two_tanks("1000 mm", "-1000 mm")).planned
    closed(stacked)
    assert column(stacked, "tank_taken", "high") == approx(27e-3)
    assert column(stacked, "tank_taken", "low") == approx(0.0, abs=1e-12)


def test_chances_of_two_of_each_close_too() -> None:
    closed(Trip(two(front={"times": 12})).chance(20, seed=3).outcome)
    closed(Trip(series()).chance(10, seed=4).outcome)


def test_the_chapter_the_table_and_the_pictures_tell_each() -> None:
    trip = Trip(two())
    chapter = days_chapter(trip)
    grids = {one.key: one for one in chapter.grids}
    assert {"trip_heaters", "trip_tanks"} <= set(grids)
    assert {row[0] for row in grids["trip_heaters"].rows} == {"front heater", "rear heater"}
    said = " ".join(chapter.basis)
    for line in ("Front tank feeds front tap", "Rear heater gives hot water at rear tap"):
        assert line in said
    frame = trip.timeline()
    for name in ("fresh in front tank, L", "fresh in rear tank, L"):
        assert frame[name].iloc[0] == approx(57.0)
    pictures = (
        trip_chart(trip.planned, "SI"),
        stay_picture(trip.planned, "SI"),
        str(stay_scene(trip.planned, "SI")),
    )
    for picture in pictures[:2]:
        assert "front tank" in picture and "rear heater" in picture
    assert "fresh-2" in pictures[2] and "store-2" in pictures[2]


def test_each_tank_is_dosed_for_what_it_feeds_and_the_dose_is_whole() -> None:
    """Two tanks of one size; the one that also fills a heater and its runs takes more."""
    text = HEAD + half("front") + half("rear").replace('volume = "10 L"', 'volume = "30 L"')
    build = loads(text)
    dose = plan_dose(build)
    parts = {name: part.bleach for name, _, part in shares(build, dose)}
    assert sum(parts.values()) == approx(dose.bleach)
    runs = content_of(build, range(5)).volume
    tank = 0.5 * 0.4 * 0.3
    runs += 0.1 * LITRE  # what stands in a pump, by the table of devices
    held = {"front tank": tank + 10 * LITRE + runs, "rear tank": tank + 30 * LITRE + runs}
    for name, water in held.items():
        assert parts[name] / dose.bleach == approx(water / sum(held.values()), rel=1e-6)


def test_the_paper_says_when_to_stop_filling_tanks_that_find_one_level() -> None:
    raised = {"base": "600 mm", "rise": "-600 mm"}
    text = HEAD + half("front") + half("rear", **raised)
    told = []
    for one in (text, text + JOINED):
        build = loads(one)
        page = owner_page(Pack(build).shop)
        fill = next(grid for grid in page.grids if grid.key == "fill")
        told.append(" ".join(row[0] for row in fill.rows))
        assert all(tank.name in told[-1] for tank in build.tank)
    assert "find one level" not in told[0] and "find one level" in told[1]


def test_a_pressure_that_nothing_would_hold_says_what_gives_first() -> None:
    """Shut in, with no relief valve: no figure is told that no part would stand."""
    bare = service_pressures(two())
    first, top = bare.gives_first, bare.highest
    assert first is not None and top.unheld
    assert top.value == first.pressure < top.reckoned
    chapter = pressures_chapter(bare)
    answer = next(a for a in chapter.answers if a.label.startswith("Highest"))
    assert str(answer.value).startswith("over") and first.part in answer.note
    most = max(
        cell
        for table in chapter.grids
        for row in table.rows
        for cell, column in zip(row, table.columns, strict=True)
        if isinstance(cell, float) and column.word == "pressure" and column.head != "made for"
    )
    assert most <= first.pressure
    said = [f for f in Pack(two()).findings if f.word == "pressure"]
    assert any(f.severity == "DANGER" and f.where == first.part for f in said)
    assert not [f for f in said if isinstance(f.value, float) and f.value > first.pressure]
    build = two()
    open_at = replace(
        build, heater=tuple(replace(h, relief=5e5, pressure_rating=8e5) for h in build.heater)
    )
    held = service_pressures(open_at)
    assert not held.highest.unheld
    assert held.gives_first is None
    answer = next(a for a in pressures_chapter(held).answers if a.label.startswith("Highest"))
    assert "gives first" not in answer.note
