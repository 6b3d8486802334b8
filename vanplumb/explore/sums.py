"""What comes out of one fixture, open alone, for many variants at once.

The results that variants are compared by, and which way each is better.
Sums of a build whose figures may be arrays, one for each variant.
The wait for hot water at each fixture, for many variants at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..board.plan import BoardPlan
from ..flow.engine import Flow, open_flags
from ..flow.moment import NOTHING
from ..flow.origins import heater_parts
from ..flow.set_by_hand import set_positions, stays_where_it_turns
from ..formulas import heater as h
from ..formulas.mixing import mixed_yield
from ..formulas.needs import (
    heat_of_a_day,
    nights_of_water,
    payload_share,
    pump_energy,
)
from ..formulas.water import water_density, water_specific_heat
from ..lists import Lists
from ..lists.weight import water_aboard
from ..network.solution import Solution
from ..trip.hot_runs.waits import time_to_hot
from ..trip.stay.at_taps import LEAST_PART, by_part, joined_way
from ..trip.stay.budget import fuel_carried, water_and_hot
from ..trip.stay.feeds import usable_water
from ..trip.stay.habits import habits
from ..trip.stay.heaters import USABLE_SHARE, target
from ..trip.stay.pumping import pumping
from ..van.hot_ways import HotWay, hot_ways, ways
from ..van.kinds import heaters
from ..van.kinds.fixtures import rated_flow
from ..van.kinds.line_parts import other_load
from ..van.main_parts import main_heater
from ..van.model import Build
from ..van.parts import Fixture, Heater, LinePart, Run
from ..van.rows import pick
from ..van.trace import served
from ..words.tables import table
from ..words.unit_table import DAY
from ..words.work import Steps

LESS, MORE, NEITHER = "less", "more", ""


@dataclass(frozen=True)
class Measure:
    """One result.  ``better`` is "less", "more" or "" where nobody can say.

    ``group`` says which sums give it, see ``vanplumb.explore.variants``; ``about`` where it
    comes from.
    """

    key: str
    label: str
    word: str
    better: str
    group: str
    about: str


def measures(build: Build) -> dict[str, Measure]:
    """All results that a build has, by key, in the order in which they are shown."""
    found = [
        Measure("weight", "weight when leaving", "mass", LESS, "weight",
                "with full fresh tanks and empty grey ones; the board as it is"),
        Measure("nights", "nights of water by the uses alone", "count", MORE, "water",
                "until only the reserve is left; what runs off waiting for hot is not in it"),
    ]  # fmt: skip
    if build.van.payload:
        about = "of what the van may still carry"
        found.insert(1, Measure("share", "share of payload", "share", LESS, "weight", about))
    heater = main_heater(build)
    reached = hot_ways(build)
    if heater is not None:
        found += [
            Measure("heating", "time to heat", "duration", LESS, "heater",
                    "one filling, by its first source of heat"),
            Measure("mixed", "warm water at a time", "volume", MORE, "heater",
                    "from one filling, mixed to what is wanted"),
        ]  # fmt: skip
        found += [
            Measure(f"wait {name}", f"wait at {name}", "duration", LESS, f"flow {name}",
                    "for hot water after the runs have gone cold")
            for name in (f.name for f in build.fixture) if name in reached
        ]  # fmt: skip
    for one in (f.name for f in build.fixture):
        group = f"flow {one}"
        alone = "open alone"
        found += [
            Measure(f"flow {one}", f"flow at {one}", "flow", MORE, group, alone),
            Measure(f"pressure {one}", f"pressure at {one}", "pressure", MORE, group, alone),
            Measure(f"temperature {one}", f"temperature at {one}", "temperature", NEITHER, group,
                    alone),
        ]  # fmt: skip
    found.append(
        Measure("energy", "electric energy a day, no losses", "energy", LESS, "energy",
                "pump, heater and all that is not water; what runs lose is not in it")
    )  # fmt: skip
    if heater is not None and heater.burner_power > 0:
        found.append(
            Measure(
                "fuel",
                "fuel a day, no losses of runs",
                "mass",
                LESS,
                "energy",
                "for all that heats with it",
            )
        )
    if priced(build):
        about = "pump and tube by length, of what the build file prices"
        found.append(Measure("cost", "cost of pump and tube", "price", LESS, "cost", about))
    return {one.key: one for one in found}


def priced(build: Build) -> dict[str, float]:
    """Prices that the build file states, by the name of pump row or tube."""
    rows = build.rows.get("board_parts", {})
    return {name: float(row["price"]) for name, row in rows.items() if row.get("price")}


Array = NDArray[Any] | float
Found = dict[str, Array]


class Carried:
    """kg of all that the lists count in variants of a build, but for what may be an array.

    Call it with a variant: what the van is put together from follows from its runs and the parts
    in them, so they must not be arrays.  The board is the one of the build as it is.
    """

    def __init__(self, base: Build) -> None:
        self.base = base
        self.board = BoardPlan(base)
        self.known: dict[tuple[tuple[Run, ...], tuple[LinePart, ...]], float] = {}
        heavy = (*base.tank, *base.pump, *base.accumulator, *base.heater)
        self.without = {component.name for component in heavy}

    def __call__(self, build: Build) -> float:
        lines = build.run, build.line_part
        if lines not in self.known:
            changed = replace(self.base, run=build.run, line_part=build.line_part)
            self.known[lines] = Lists(changed, self.board).mass_without(self.without)
        return self.known[lines]


def weights(build: Build, carried: Carried) -> Found:
    """Mass when leaving, and its share of the payload."""
    total: Array = sum(mass for _, mass, _ in water_aboard(build, Steps(kept=False)))
    for pump in build.pump:
        mass = pump.mass
        if mass is None and pump.curve in table("pumps", build.rows):
            total = total + pick(build, "pumps", pump.curve, "mass", 0.0)
        total = total + (0.0 if mass is None else mass)
    masses = [tank.mass_empty for tank in build.tank]
    masses += [one.mass for one in build.accumulator] + [one.mass for one in build.heater]
    for mass in masses:
        total = total + (0.0 if mass is None else mass)
    total = total + carried(build)
    fuel = fuel_carried(build)
    total = total + (0.0 if fuel is None else fuel)
    payload = build.van.payload
    share = np.nan if payload is None else payload_share.si(mass=total, mass_payload=payload)
    return {"weight": total, "share": share}


def lasts_by_duration(build: Build) -> set[str]:
    """Fixtures with a use that is told by how long it runs: its water goes by their flow."""
    usual = table("habits", build.rows)
    found = set()
    for use in build.use:
        row = usual.get(use.name)
        by_row = row is not None and row["volume"] is None
        if use.volume is None and (use.duration is not None or by_row):
            found.add(use.fixture.split(".")[0])
    return found


class Gives(Mapping[str, Array]):
    """m³/s that each fixture gives open alone, worked out when it is asked for.

    Where every use of a fixture is told by its volume, that is the same at any flow, and what the
    fixture is rated for does.
    """

    def __init__(self, build: Build) -> None:
        self.build = build
        self.parts = {part.name: part for part in build.fixture}
        self.asked = lasts_by_duration(build)
        self.known: dict[str, Array] = {}

    def __getitem__(self, fixture: str) -> Array:
        if fixture not in self.asked or not self.build.run:
            return rated_flow(self.build, self.parts[fixture])
        if fixture not in self.known:
            passed = outflow(self.build, fixture)[f"flow {fixture}"]
            self.known[fixture] = gives(self.build, self.parts[fixture], passed)
        return self.known[fixture]

    def __iter__(self) -> Iterator[str]:
        return iter(self.parts)

    def __len__(self) -> int:
        return len(self.parts)


def gives(build: Build, fixture: Fixture, passed: Array) -> Array:
    """What waits and uses go by: the flow alone, on shore where only that gives any, else rated."""
    passed = np.atleast_1d(passed)
    if not np.all(passed > NOTHING) and build.shore_inlet:
        there = _alone(build, fixture.name, "shore").figures
        on_shore = np.atleast_1d(there[f"flow {fixture.name}"])
        passed = np.where(passed > NOTHING, passed, on_shore)
    found = np.where(passed > NOTHING, passed, rated_flow(build, fixture))
    return found[0] if len(found) == 1 else found  # one build, or one for all variants


def water(build: Build, gives: Mapping[str, Array] | None = None) -> Found:
    """Nights that a filling lasts, and water of a day, m³; ``gives`` is what each fixture gives."""
    crew = build.crew
    day: Array = np.asarray(crew.people) * np.asarray(crew.drinking)
    for habit in habits(build, Gives(build) if gives is None else gives):
        used, _ = water_and_hot(build, habit, None, Steps(kept=False))
        day = day + used
    usable: Array = usable_water(build)
    with np.errstate(divide="ignore", invalid="ignore"):
        nights = nights_of_water.si(usable, day, crew.reserve)
    return {"nights": np.where(np.asarray(day) > 0, nights, 0.0), "day": day}


def _hot_days(build: Build, gives: Mapping[str, Array]) -> dict[str, Array]:
    """Water as it leaves the heaters that a day takes from each of them, m³.

    Each has its part of a fixture's hot water by the network, as in the days that are played.
    """
    main = main_heater(build)
    found: dict[str, Array] = {heater.name: 0.0 for heater in _heating(build)}
    reached, by_name = hot_ways(build), {heater.name: heater for heater in build.heater}
    for habit in habits(build, gives):
        parts: dict[str, Array] = {} if main is None else {main.name: 1.0}
        if habit.fixture in reached:
            parts = _parts(build, habit.fixture)
        if not parts:
            continue
        together: Any = sum(part * by_name[n].setpoint for n, part in parts.items())
        mixed = replace(by_name[next(iter(parts))], setpoint=together)
        _, hot = water_and_hot(build, habit, mixed, Steps(kept=False))
        for name, part in parts.items():
            found[name] = found.get(name, 0.0) + hot * part
    return found


def _heating(build: Build) -> tuple[Heater, ...]:
    """The heater that the van lives by, and every other one that feeds a tap."""
    main = main_heater(build)
    others = [h for h in build.heater if h is not main and build.run and served(build, h.name)]
    return () if main is None else (main, *others)


def energy(build: Build) -> Found:
    """Electric energy, J, and fuel, kg, of a day: all heaters that feed a tap."""
    battery, gives = build.battery, Gives(build)
    pump, pumped = pumping(build), np.asarray(0.0)
    if pump is not None and pump.power > 0:
        day = water(build, gives)["day"]
        pumped = pump_energy.si(day, pump.flow, pump.voltage, pump.current)
    other = np.asarray(0.0 if battery is None else other_load(build)) * DAY
    found: Found = {"energy": pumped + other}
    hot_days = _hot_days(build, gives)
    kinds = [heaters.fuel_kind(build, heater) for heater in _heating(build)]
    for heater, kind in zip(_heating(build), kinds, strict=True):
        electric, fuel = _day_of(build, heater, hot_days[heater.name])
        found["energy"] = found["energy"] + electric
        if fuel is not None and kind == kinds[0]:
            more = np.nan_to_num(fuel) if "fuel" in found else fuel
            found["fuel"] = found.get("fuel", 0.0) + more
    return found


def _day_of(build: Build, heater: Heater, hot_day: Array) -> tuple[Array, Array | None]:
    """Electric energy, J, and fuel, kg, that one heater takes in a day; None without a fuel."""
    cold, hot = np.asarray(build.van.cold_water), np.asarray(heater.setpoint)
    mean = (cold + hot) / 2
    warmed = h.heat_to_warm.si(
        density=water_density.si(cold),
        volume=hot_day,
        specific_heat=water_specific_heat.si(mean),
        rise=hot - cold,
    )
    standing = 0.0 if heater.standing_loss is None else heater.standing_loss
    day = heat_of_a_day.si(warmed, standing, DAY)
    kind = heaters.fuel_kind(build, heater)
    heater = heaters.at_altitude(build, heater)
    burner, element = np.asarray(heater.burner_power), np.asarray(heater.element_power)
    lost = heaters.inverter_efficiency(build, heater)
    electric = np.where((burner <= 0) & (element > 0), day / lost, 0.0)
    useful = np.where(burner > 0, burner * np.asarray(heater.burner_efficiency), 1.0)
    burning = np.where(burner > 0, day / useful, 0.0)
    taken = electric + np.asarray(heater.burner_electric) * burning
    if kind not in table("fuels", build.rows):
        return taken, None
    value = table("fuels", build.rows)[kind].number("heating_value")
    fuel = h.fuel_mass.si(day, value, heater.burner_efficiency)
    return taken, np.where(burner > 0, fuel, np.nan)


def heating(build: Build) -> Found:
    """Time for one filling by the first source of heat, and warm water from it."""
    heater = main_heater(build)
    if heater is None or not heaters.has_store(heater):
        return {"heating": np.nan, "mixed": np.nan}
    cold, hot = np.asarray(build.van.cold_water), np.asarray(heater.setpoint)
    mean = (cold + hot) / 2
    heat = h.heat_to_warm.si(
        density=water_density.si(cold),
        volume=heater.volume,
        specific_heat=water_specific_heat.si(mean),
        rise=hot - cold,
    )
    power, share = heaters.first_power(heaters.at_altitude(build, heater))
    fine = (power > 0) & (hot > cold)
    time = h.heating_time.si(heat, np.where(fine, power, 1.0), share)
    aim = target(build, heater)
    usable = h.usable_hot.si(heater.volume, USABLE_SHARE)
    some = (cold < aim) & (aim <= hot)
    mixed = mixed_yield.si(usable, hot, cold, np.where(some, aim, hot))
    return {"heating": np.where(fine, time, np.nan), "mixed": np.where(some, mixed, np.nan)}


def cost(build: Build) -> Found:
    """Pump and tube by length, of what the build file prices."""
    prices = priced(build)
    shelf = {stock.tube: stock.length for stock in build.stock}
    total: Array = 0.0
    for pump in build.pump:
        total = total + _by_name(pump.curve, prices)
    for run in build.run:
        each = {n: prices.get(n, 0.0) / shelf.get(n, 1.0) for n in table("tubes", build.rows)}
        total = total + _by_name(run.tube, each) * np.asarray(run.length)
    return {"cost": total}


def _by_name(name: Any, figures: dict[str, float]) -> Array:
    if isinstance(name, str):
        return figures.get(name, 0.0)
    return np.array([figures.get(one, 0.0) for one in np.asarray(name).tolist()])


def outflow(build: Build, fixture: str) -> Found:
    """Flow, pressure in front of the fixture, temperature of the water, wait for hot, SI.

    Not a number where no solution exists or no water comes.
    """
    alone = _alone(build, fixture)
    found = dict(alone.figures)
    if fixture in hot_ways(build):
        part = next(one for one in build.fixture if one.name == fixture)
        passed = gives(build, part, found[f"flow {fixture}"])
        found[f"wait {fixture}"] = _wait(build, part, passed)
    return found


def _wait(build: Build, part: Fixture, passed: Array) -> Array:
    """The wait for hot, s: from the heaters that give the fixture's hot water, by the network.

    Which of several gives most may change from variant to variant: each order of them is worked
    out for all variants, and taken where it is theirs.
    """
    by_name = {heater.name: heater for heater in build.heater}
    reaching, found = _reaching(build, part.name), np.asarray(np.nan)
    for order, first, theirs in _orders(build, part.name):
        wait, _ = time_to_hot(
            build, part, joined_way(reaching, order), by_name[order[0]], passed, Steps(kept=False),
            part=first,
        )  # fmt: skip
        found = np.where(theirs, wait, found)
    return found


def _reaching(build: Build, fixture: str) -> dict[str, HotWay]:
    """The way to a fixture from each heater that reaches it."""
    every = {heater.name: ways(build, heater) for heater in build.heater}
    return {name: each[fixture] for name, each in every.items() if fixture in each}


def _orders(build: Build, fixture: str) -> Iterator[tuple[tuple[str, ...], Array, Array]]:
    """Heaters by what they give of a fixture's hot water, as it comes: each order of them, the
    part of the first, and in which variants it is so."""
    near, parts = hot_ways(build)[fixture][0].name, _parts(build, fixture)
    if len(parts) < 2:
        yield (near,), 1.0, np.asarray(True)
        return
    rows = np.stack([np.atleast_1d(part) for part in parts.values()], axis=1).tolist()
    orders = [
        by_part({n: x for n, x in zip(parts, row, strict=True) if x > 0}, near) for row in rows
    ]
    for order in dict.fromkeys(orders):
        first = np.atleast_1d(parts[order[0]])
        theirs = np.array([one == order for one in orders])
        yield order, first if len(first) > 1 else float(first[0]), theirs


def _parts(build: Build, fixture: str) -> dict[str, Array]:
    """The part of a fixture's hot water that each heater gives, by the network; all from the
    nearest where that is not known."""
    near, reaching = hot_ways(build)[fixture][0].name, _reaching(build, fixture)
    if len(reaching) < 2:
        return {near: 1.0}
    parts = _alone(build, fixture).parts
    if build.shore_inlet and not all(np.all(np.isfinite(part)) for part in parts.values()):
        on_shore = _alone(build, fixture, "shore").parts
        parts = {n: np.where(np.isfinite(p), p, on_shore[n]) for n, p in parts.items()}
    given = {n: np.where(parts[n] >= LEAST_PART, parts[n], 0.0) for n in reaching}
    whole = np.asarray(sum(given.values()))
    return {
        n: np.where(whole > 0, part / np.where(whole > 0, whole, 1.0), float(n == near))
        for n, part in given.items()
    }


@dataclass(frozen=True)
class Alone:
    """What a fixture gives open alone: its flow, pressure and temperature, and the part of its
    hot water that comes from each heater where the van has several."""

    figures: Found
    parts: dict[str, Array]


SOLVED_BUILDS = 8
_SOLVED: list[tuple[Build, dict[tuple[str, str], Alone]]] = []
"""Fixtures of the last few builds open alone: flow, water and energy all ask for them."""


def _alone(build: Build, fixture: str, source: str = "") -> Alone:
    """One fixture alone, solved once for a build."""
    known = next((found for one, found in _SOLVED if one is build), None)
    if known is None:
        known = {}
        _SOLVED.append((build, known))
        del _SOLVED[:-SOLVED_BUILDS]
    if (fixture, source) not in known:
        flow, solution = _solved(build, fixture, source)
        parts: dict[str, Array] = {}
        if len(build.heater) > 1:
            parts |= heater_parts(flow.made, solution, fixture)
        known[fixture, source] = Alone(_figures(flow, solution, fixture), parts)
    return known[fixture, source]


def _solved(build: Build, fixture: str, source: str) -> tuple[Flow, Solution]:
    """Its own tap is set while it is open alone: this very moment, so one solution may do."""
    flow = Flow(build)
    made, usual = flow.made, source or flow.source
    flags = open_flags(made, [(fixture,)], [usual])
    own = [by == fixture or acting for by, acting in
           zip(made.set_by, made.self_acting, strict=True)]  # fmt: skip
    by_hand = any(o and not s for o, s in zip(own, made.self_acting, strict=True))
    alone = all(own[i] for i in _mixers_in_use(flow, fixture))
    if alone and (not by_hand or usual == flow.source):
        acting = [own] if own else None
        solution = made.net.solve(flags, thermostatic=acting, patient=not by_hand)
        if not by_hand or stays_where_it_turns(solution.layout, solution.answers).all():
            return Flow(build, solution.positions), flow.without_lift(solution, flags)
        flow = Flow(build, set_positions(made, usual, fixture, solution.answers))
    solution = made.net.solve(flags, positions=flow.positions, thermostatic=[made.self_acting])
    return flow, flow.without_lift(solution, flags)


def _figures(flow: Flow, solution: Solution, fixture: str) -> Found:
    link = flow.made.net.link(fixture)
    good = np.atleast_1d(solution.found)
    passed = np.atleast_1d(solution.flow[fixture])
    some = good & (passed > 1e-9)
    warm = np.where(some, np.atleast_1d(solution.temperature[link.start]), np.nan)
    return {
        f"flow {fixture}": np.where(good, passed, np.nan),
        f"pressure {fixture}": np.where(some, np.atleast_1d(solution.pressure[link.start]), np.nan),
        f"temperature {fixture}": warm,
    }


def _mixers_in_use(flow: Flow, fixture: str) -> list[int]:
    """Mixing valves and taps that lead to a fixture; those of other fixtures stand shut."""
    names = flow.made.mixers
    fixtures = set(flow.fixtures)
    return [
        i
        for i, name in enumerate(names)
        if name == fixture or (name not in fixtures and fixture in served(flow.build, name))
    ]
