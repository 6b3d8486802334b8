"""Laws that hold for any build: order, names and unused parts change no answer."""

from __future__ import annotations

import random
import re
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.flow.service_pressure import service_pressures
from vanplumb.trip.hot_runs.waits import waits
from vanplumb.trip.stay.budget import budget
from vanplumb.trip.stay.heaters import heater_facts
from vanplumb.trip.stay.pumping import pumping
from vanplumb.trip.trip import Trip
from vanplumb.van import Build, loads

sys.path.insert(0, str(Path(__file__).parents[1] / "flow"))
from random_builds import random_build

USE = """
[[use]]
name = "washing {name}"
fixture = "{name}"
per_person = 1
duration = "60 s"
temperature = "38 °C"
"""
SPARES = """
[[heater]]
name = "spare heater"
kind = "storage"
volume = "30 L"
setpoint = "80 °C"
element_power = "2 kW"
[[pump]]
name = "spare pump"
kind = "electric"
curve = "12 V 3.4 gpm 50 psi"
[[tank]]
name = "spare tank"
shape = "stated"
volume = "90 L"
[[accumulator]]
name = "spare vessel"
volume = "2 L"
precharge = "2 bar"
[[shore_inlet]]
name = "spare inlet"
pressure = "9 bar"
"""
seeds = st.integers(0, 10_000)
few = settings(max_examples=cases(8, 300))


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
        found["growth", heating.heater] = heating.growth
        found["end", heating.heater] = heating.end
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
    for heater in day.heaters:
        found["day's heat", heater.name], found["day's fuel", heater.name] = (
            heater.heat,
            heater.fuel,
        )
    for name, lifted in day.pumped:
        found["day's lifting", name] = lifted
    found |= {("start", tank.name): tank.start for tank in Trip(build).plant.tanks}
    water = budget(build, day).water
    found["nights", ""], found["need", ""] = water.nights, water.need
    return {key: value for key, value in found.items() if not key[1].startswith("spare")}


def the_same(one: Figures, other: Figures) -> None:
    assert one.keys() == other.keys()
    apart = {
        key: (value, other[key])
        for key, value in one.items()
        if other[key] != pytest.approx(value, rel=1e-6, abs=1e-9)
    }
    assert apart == {}


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


@few
@given(seeds)
def test_the_order_of_blocks_changes_no_answer(seed: int) -> None:
    text = text_of(seed)
    the_same(figures(loads(text)), figures(loads(shuffled(text, seed))))


@few
@given(seeds)
def test_a_name_changed_changes_no_answer(seed: int) -> None:
    text = text_of(seed)
    build = loads(text)
    names = [part.name for part in build.components]
    new = {name: f"part {n:03d}" for n, name in enumerate(reversed(names))}

    def renamed(match: re.Match[str]) -> str:
        name, point, port = match[2].partition(".")
        return f'{match[1]}"{new.get(name, name)}{point}{port}"'

    keys = "name|from|to|fixture|manifold|grey"
    other = loads(re.sub(rf'(?m)^((?:{keys}) = )"([^"\n]+)"', renamed, text))
    the_same({(what, new.get(n, n)): v for (what, n), v in figures(build).items()}, figures(other))


@few
@given(seeds)
def test_unused_parts_change_nothing(seed: int) -> None:
    text = text_of(seed)
    the_same(figures(loads(text)), figures(loads(text + SPARES)))


@few
@given(seeds)
def test_water_and_heat_of_the_days_close(seed: int) -> None:
    day = Trip(loads(text_of(seed))).mean_day
    out = day.heat_taps + day.heat_store + day.heat_runs + day.heat_left
    assert out == pytest.approx(day.heat, rel=1e-6, abs=1.0)
    assert day.run_off >= -1e-12 and day.pump <= day.electric + 1e-6
