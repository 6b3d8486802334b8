"""Laws that hold for any build: order, names and unused parts change no answer."""

from __future__ import annotations

import random
import re
from functools import cache

import pytest

from tests.cases import builds
from tests.flow.random_builds import SPARES, random_build
from vanplumb.flow.service_pressure import service_pressures
from vanplumb.shop.disinfect import plan_dose
from vanplumb.shop.test.pressure_test import plan_test
from vanplumb.trip.hot_runs.waits import waits
from vanplumb.trip.stay.at_taps import at_taps
from vanplumb.trip.stay.budget import budget
from vanplumb.trip.stay.drinking import drinking_tap
from vanplumb.trip.stay.heaters import heater_facts
from vanplumb.trip.stay.pumping import pumping
from vanplumb.trip.trip import Trip
from vanplumb.van import Build, loads

USE = """
[[use]]
name = "washing {name}"
fixture = "{name}"
per_person = 1
duration = "60 s"
temperature = "38 °C"
"""
COUNT = builds(8, 300)
BLOCKS = 4
in_blocks = pytest.mark.parametrize("block", range(BLOCKS))


def seeds(block: int) -> range:
    return range(block * COUNT // BLOCKS, (block + 1) * COUNT // BLOCKS)


def text_of(seed: int) -> str:
    """A random van whose crew uses every fixture once a day."""
    text = random_build(seed)
    names = [f.name for f in loads(text).fixture]
    return text + "".join(USE.format(name=name) for name in names)


Figures = dict[tuple[str, str], float]


def figures(build: Build) -> Figures:
    """What several engines answer of a build, by what it is and of which part."""
    found: Figures = {}
    pressures = service_pressures(build)
    for part in build.components:
        found["pressure", part.name] = pressures.of_part(part.name).value
    found["highest", ""] = pressures.highest.value
    for heating in pressures.heatings:
        for heater in heating.heaters:
            found["growth", heater] = heating.growth
            found["end", heater] = heating.end
    for wait in waits(build):
        found["wait", wait.fixture] = wait.wait
    for one in heater_facts(build):
        if one.mixed is not None:
            found["mixed", one.name] = one.mixed
    pump = pumping(build)
    if pump is not None:
        found["pump flow", ""], found["pump power", ""] = pump.flow, pump.power
    day = Trip(build).mean_day
    found |= {
        (f"day's {name}", ""): value
        for name, value in vars(day).items()
        if isinstance(value, float)
    }
    for played in day.heaters:
        found["day's heat", played.name], found["day's fuel", played.name] = (
            played.heat,
            played.fuel,
        )
    for name, lifted in day.pumped:
        found["day's lifting", name] = lifted
    found |= {("start", tank.name): tank.start for tank in Trip(build).plant.tanks}
    water = budget(build, day).water
    found["nights", ""], found["need", ""] = water.nights, water.need
    return {key: value for key, value in found.items() if not key[1].startswith("spare")}


def the_same(one: Figures, other: Figures, seed: int) -> None:
    assert one.keys() == other.keys(), seed
    apart = {
        key: (value, other[key])
        for key, value in one.items()
        if other[key] != pytest.approx(value, rel=1e-6, abs=1e-9)
    }
    assert apart == {}, seed


def blocks(text: str) -> list[str]:
    return re.split(r"\n(?=\[)", text)


def shuffled(text: str, seed: int) -> str:
    """Blocks in another order, but for zones: among those that draw alike, theirs is where they
    stand on the header, and how much of it is passed."""
    first, *rest = blocks(text)
    random.Random(seed).shuffle(rest)
    zones = iter([one for one in blocks(text) if one.startswith("[[zone]]")])
    rest = [next(zones) if one.startswith("[[zone]]") else one for one in rest]
    return "\n".join([first, *rest])


@cache
def own(seed: int) -> Figures:
    """What they answer of a random van as it is."""
    return figures(loads(text_of(seed)))


@in_blocks
def test_the_order_of_blocks_changes_no_answer(block: int) -> None:
    for seed in seeds(block):
        the_same(own(seed), figures(loads(shuffled(text_of(seed), seed))), seed)


@in_blocks
def test_a_name_changed_changes_no_answer(block: int) -> None:
    for seed in seeds(block):
        text = text_of(seed)
        names = [part.name for part in loads(text).components]
        new = {name: f"part {n:03d}" for n, name in enumerate(reversed(names))}
        mine = {(what, new.get(n, n)): v for (what, n), v in own(seed).items()}
        the_same(mine, figures(loads(renamed(text, new))), seed)


def test_the_crew_drinks_at_a_tap_that_gives_water_whatever_its_name() -> None:
    """Of three showers two get nothing: the pump sucks air, or they stand too high."""
    for seed in (98, 99):
        text = text_of(seed)
        chosen = set()
        for turned in (False, True):
            names = sorted((f.name for f in loads(text).fixture), reverse=turned)
            build = loads(renamed(text, {n: f"tap {i}" for i, n in enumerate(names)}))
            taps, tap = at_taps(build), drinking_tap(build)
            assert taps.unserved and tap is not None and tap.name not in taps.unserved
            chosen.add(names[int(tap.name.removeprefix("tap "))])
        assert len(chosen) == 1, seed


def renamed(text: str, new: dict[str, str]) -> str:
    """The same build with other names wherever a part is named."""

    def told(match: re.Match[str]) -> str:
        name, point, port = match[2].partition(".")
        return f'{match[1]}"{new.get(name, name)}{point}{port}"'

    keys = "name|from|to|fixture|manifold|grey"
    return re.sub(rf'(?m)^((?:{keys}) = )"([^"\n]+)"', told, text)


@in_blocks
def test_unused_parts_change_nothing(block: int) -> None:
    for seed in seeds(block):
        the_same(own(seed), figures(loads(text_of(seed) + SPARES)), seed)


def test_uses_that_draw_alike_are_played_in_one_order() -> None:
    """Two taps of one flow but for its last digits, which hang on what else the file names."""
    the_same(own(560), figures(loads(text_of(560) + SPARES)), 560)


@in_blocks
def test_water_and_heat_of_the_days_close(block: int) -> None:
    for seed in seeds(block):
        trip = Trip(loads(text_of(seed)))
        day, outcome = trip.mean_day, trip.planned
        out = day.heat_taps + day.heat_store + day.heat_runs + day.heat_left
        assert out == pytest.approx(day.heat, rel=1e-6, abs=1.0), seed
        assert day.run_off >= -1e-12 and day.pump <= day.electric + 1e-6, seed
        for gap in (outcome.water_gap(), outcome.heat_gap(), outcome.energy_gap()):
            assert float(gap.max()) < 1e-6, seed
        assert float(outcome.warmth_gap().max()) < 1e-6, seed


@in_blocks
def test_unused_parts_change_no_test_and_no_dose_but_by_what_a_tank_holds(block: int) -> None:
    """A heater, a pump, a vessel and an inlet that no run leads to see no water."""
    for seed in seeds(block):
        text, spares = text_of(seed), SPARES.replace('volume = "90 L"', 'volume = "0.001 mL"')
        build, other = loads(text), loads(text + spares)
        plans = [plan_test(one) for one in (build, other)]
        assert plans[0].steps == plans[1].steps, seed
        assert plans[0].pressure == pytest.approx(plans[1].pressure, rel=1e-9), seed
        assert plans[0].stiffness.volume == pytest.approx(plans[1].stiffness.volume, rel=1e-9), seed
        doses = [plan_dose(one) for one in (build, other)]
        assert doses[0].bleach == pytest.approx(doses[1].bleach, rel=1e-6), seed
        assert doses[0].through_heater == pytest.approx(doses[1].through_heater, rel=1e-9), seed
