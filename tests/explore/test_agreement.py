"""Batches of variants against the Pack's own figures, one variant at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from pytest import approx

from tests.cases import cases
from tests.examples import pack_of
from tests.small_van import SMALL_VAN
from tests.trip.test_several_tanks_and_heaters import column, side_by_side
from vanplumb.board.plan import BoardPlan
from vanplumb.explore import Variants, explore, measures, span, sums
from vanplumb.flow.engine import Flow
from vanplumb.lists import Lists
from vanplumb.pack import Pack, example
from vanplumb.trip.hot_runs.waits import waits
from vanplumb.trip.stay.at_taps import at_taps
from vanplumb.trip.stay.heaters import HeaterFacts
from vanplumb.trip.trip import Trip
from vanplumb.van import Build, loads
from vanplumb.van.hot_ways import hot_ways
from vanplumb.van.main_parts import main_heater

TUBES_US = ["PEX-B 3/8 in", "PEX-B 1/2 in", "PEX-B 3/4 in"]

DIPPER: Mapping[str | tuple[str, ...], Any] = {
    "tank.fresh.height": span("8 in", "16 in", 4),
    "tank.fresh.pickup_height": ["0.5 in", "1.5 in"],
    "tank.fresh.fill_share": [0.4, 1.0],
    "tank.fresh.mass_empty": ["20 lb", "30 lb"],
    "heater.heater.volume": ["2.5 gal", "6 gal"],
    "heater.heater.setpoint": ["120 °F", "140 °F", "165 °F"],
    "heater.heater.burner_power": ["0 Btu/h", "8000 Btu/h", "12000 Btu/h"],
    "heater.heater.element_power": ["0 W", "800 W"],
    "heater.heater.standing_loss": ["20 W", "60 W"],
    "pump.pump.curve": ["12 V 2.0 gpm 30 psi", "12 V 2.8 gpm 40 psi", "12 V 3.4 gpm 50 psi"],
    "pump.pump.supply_voltage": ["11.5 V", "13 V"],
    ("run.14.tube", "run.21.tube"): TUBES_US,
    "run.23.tube": TUBES_US,
    "run.20.length": span("4 ft", "14 ft", 3),
    "run.19.length": ["4 ft", "9 ft"],
    "fixture.shower.flow": ["1.0 gpm", "1.8 gpm"],
    "fixture.sink.temperature": ["100 °F", "115 °F"],
    "mixing_valve.basin valve.setting": ["95 °F", "105 °F"],
    "mixing_valve.basin valve.kind": ["fixed", "thermostatic"],
    "zone.hot manifold.wet room.opening": [0.4, 1.0],
    "strainer.strainer.clogged_share": [0.0, 0.6],
    "crew.people": [1, 2, 4],
    "crew.reserve": [0.0, 0.2],
    "crew.drinking": ["1 gal", "2 gal"],
    "use.shower.per_person": [0.3, 1.0],
    "use.shower.volume": ["2 gal", "4 gal"],
    "use.dishes.temperature": ["100 °F", "120 °F"],
    "battery.other_load": ["10 W", "60 W"],
    "fuel.mass": ["5 lb", "20 lb"],
    "van.cold_water": ["45 °F", "60 °F"],
    "van.payload": ["1400 lb", "2200 lb"],
}

BOARDS: dict[int, BoardPlan] = {}


def _uses_alone(build: Build) -> dict[str, float]:
    """Sums of the uses alone, of one build: what the variants are compared by."""
    found = sums.water(build) | sums.energy(build)
    return {key: float(value) for key, value in found.items() if np.isfinite(value)}


def _main(pack: Pack) -> HeaterFacts:
    """Of the heater that the van lives by, which need not stand first in the file."""
    heater = main_heater(pack.build)
    return next(one for one in pack.heater if heater is not None and one.name == heater.name)


SHARES: dict[str, Callable[[Pack], float | None]] = {
    "heating": lambda p: _main(p).sources[0].time if _main(p).sources else None,
    "mixed": lambda p: _main(p).mixed,
}


def own_figures(variants: Variants, number: int) -> dict[str, float | None]:
    """The results of one variant as the engines give them for its build alone."""
    build = variants.build_of(number)
    pack, flow, alone = Pack(build), Flow(build), _uses_alone(build)
    found = {k: alone.get(k) for k in ("nights", "energy", "fuel") if k in variants.measures}
    found |= {key: give(pack) for key, give in SHARES.items() if key in variants.measures}
    if "weight" in variants.measures:  # with the board of the build as it is, as they say
        board = BOARDS.setdefault(id(variants.build), BoardPlan(variants.build))
        weight = Lists(build, board).weight
        found |= {"weight": weight.leaving, "share": weight.share}
    found |= {f"wait {one.fixture}": one.wait for one in waits(build)}
    for fixture in flow.fixtures:
        outlet = flow.solve([fixture]).fixtures[fixture]
        found[f"flow {fixture}"] = outlet.flow
        if outlet.flow > 1e-9:
            found[f"pressure {fixture}"] = outlet.pressure
            found[f"temperature {fixture}"] = outlet.temperature
    return found


def hold_together(variants: Variants, numbers: range) -> int:
    compared = 0
    for number in numbers:
        for key, own in own_figures(variants, number).items():
            batch = variants.values[key][number]
            if own is None:
                assert np.isnan(batch), (number, key)
            else:
                # what hangs on no flow is the same sum; a flow is solved to a tolerance
                within = 1e-9 if key in ("weight", "share", "heating", "mixed") else 1e-4
                assert batch == approx(own, rel=within), (number, key, variants.texts(number))
                compared += 1
    return compared


def test_what_stands_in_a_filter_weighs_in_variants_too() -> None:
    build = loads(
        SMALL_VAN.replace('to = "tap"', 'to = "filter"')
        + '[[line_part]]\nname = "filter"\nkind = "carbon filter"\n'
        + '[[run]]\nfrom = "filter"\nto = "tap"\ntube = "PEX 1/2 in"\nlength = "1 ft"\n'
    )
    carried = sums.Carried(build)
    weight = Lists(build, carried.board).weight
    assert any("filter" in load.name and load.water for load in weight.loads)
    assert float(sums.weights(build, carried)["weight"]) == approx(weight.leaving, rel=1e-9)


def test_what_is_lost_makes_the_days_fewer_and_never_more() -> None:
    """The variants leave out what runs off and what runs lose; the sheet has it in."""
    for name in ("dipper", "heron", "wren"):
        pack = pack_of(name)
        alone = _uses_alone(pack.build)
        assert pack.water.nights <= alone["nights"] * (1 + 1e-9)
        assert pack.electric.use_day >= alone["energy"] * (1 - 0.01)
        if pack.fuel is not None:
            assert pack.fuel.mass_day > alone["fuel"]


def test_random_variants_have_the_figures_that_the_pack_gives() -> None:
    variants = explore(example("dipper"), DIPPER, sample=24, seed=7)
    some = cases(8, 24)
    assert hold_together(variants, range(some)) > some * 15


def test_each_choice_alone_has_the_figures_that_the_pack_gives() -> None:
    """So that no result overlooks a choice: each is moved while all else stays."""
    build = example("dipper")
    for key, values in DIPPER.items():
        variants = explore(build, {key: values})
        assert hold_together(variants, range(variants.size - 1, variants.size)) > 10


@pytest.mark.parametrize("name", ["heron", "wren"])
def test_other_builds_too(name: str) -> None:
    build = example(name)
    choices: dict[str | tuple[str, ...], Any] = {"crew.people": [1, 3]}
    tank = next(t for t in build.tank if t.holds == "fresh")
    choices[f"tank.{tank.name}.fill_share"] = [0.5, 0.9]
    choices["run.2.length"] = ["0.5 m", "2 m"]
    if build.heater:
        choices[f"heater.{build.heater[0].name}.setpoint"] = ["50 °C", "65 °C"]
    variants = explore(build, choices)
    assert hold_together(variants, range(variants.size)) > variants.size * 3


def test_the_wait_of_a_tap_behind_two_heaters_comes_from_the_one_that_gives_most() -> None:
    """As the network shares the water between them, which the nearest need not give most of."""
    build = side_by_side()
    into = {run.end: n + 1 for n, run in enumerate(build.run) if run.start == "split"}
    choices = {
        f"run.{into['front heater']}.length": ["1 m", "6 m"],
        f"run.{into['rear heater']}.length": ["1 m", "4 m"],
        f"run.{into['rear heater']}.tube": ["PEX 1/2 in", "PEX 3/8 in"],
    }
    variants = explore(build, choices, ["wait front tap"])
    first, near = set(), set()
    for number, waited in enumerate(variants.values["wait front tap"]):
        one = variants.build_of(number)
        assert waited == approx(waits(one)[0].wait, rel=1e-4)
        first.add(at_taps(one).hot["front tap"].heater.name)
        near.add(hot_ways(one)["front tap"][0].name)
    assert first == {"front heater", "rear heater"}
    assert near == {"front heater"}, "what comes after the heaters stays as it is"


def test_the_burner_of_two_heaters_burns_for_its_part_of_the_water() -> None:
    """Fuel of variants against the heat that the days played through take out of each heater; the
    other one has an element, and nothing but the network shares the water between them."""
    burner = 'burner_power = "3 kW"\nfuel = "propane"'
    build = loads(side_by_side().text.replace(burner, 'element_power = "500 W"', 1))
    length = f"run.{next(n + 1 for n, r in enumerate(build.run) if r.end == 'rear heater')}.length"
    variants = explore(build, {length: ["0.5 m", "30 m"]}, ["fuel"])
    short, long = variants.values["fuel"]
    rear = []
    for number in range(2):
        planned = Trip(variants.build_of(number)).planned
        out = {n: column(planned, "heater_out", n) for n in ("front heater", "rear heater")}
        rear.append(out["rear heater"] / sum(out.values()))
    assert rear[1] < 0.8 * rear[0]
    assert long / short == approx(rear[1] / rear[0], rel=0.02)


def test_the_base_is_the_build_as_it_is() -> None:
    variants = explore(example("dipper"), {"heater.heater.volume": ["5 gal"]})
    for key, figure in variants.base.items():
        assert variants.values[key][0] == approx(figure, rel=1e-12, nan_ok=True)


def test_cost_is_that_of_the_lengths_and_the_pump_by_hand() -> None:
    text = example("dipper").text + (
        '\n[[rows.board_parts]]\nname = "PEX-B 1/2 in"\nkind = "tube"\nprice = 20\n'
        '\n[[rows.board_parts]]\nname = "PEX-B 3/8 in"\nkind = "tube"\nprice = 8\n'
        '\n[[rows.board_parts]]\nname = "PEX-B 3/4 in"\nkind = "tube"\nprice = 6\n'
        '\n[[rows.board_parts]]\nname = "12 V 3.4 gpm 50 psi"\nkind = "valve"\nprice = 110\n'
    )
    build = loads(text)
    tubes = ["PEX-B 1/2 in", "PEX-B 3/8 in"]
    variants = explore(build, {"run.21.tube": tubes, "run.21.length": ["9 ft", "4 ft"]}, ["cost"])
    runs = Pack(build).build.run  # those on the board are as long as they are cut
    inches = sum(run.length for run in runs if run.tube == "PEX-B 1/2 in") / 0.0254
    # 20 for 20 ft of 1/2 in, 8 for 20 ft of 3/8 in, 6 for 5 ft of 3/4 in: the lengths on the shelf
    thin, wide = 84 + 24 + 60 + 96, 14 + 9
    others = (inches - 48) / 240 * 20 + thin / 240 * 8 + wide / 60 * 6 + 110
    expected = [others + 108 / 240 * 20, others + 48 / 240 * 20]
    expected += [others + 108 / 240 * 8, others + 48 / 240 * 8]
    assert variants.values["cost"] == approx(expected)


def test_a_build_without_prices_has_no_cost() -> None:
    assert "cost" not in measures(example("dipper"))
