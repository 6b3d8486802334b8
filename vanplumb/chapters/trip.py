"""The days and nights on the sheet: the planned stay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..formulas.tank import water_mass
from ..formulas.water import water_density
from ..lists import Lists
from ..trip.hot_runs.ice import BLOCKED
from ..trip.hot_runs.plug import Array
from ..trip.play.make_plant import played_heaters
from ..trip.play.outcome import (
    CUT_SHORT,
    FROZEN,
    LUKEWARM,
    NO_POWER,
    NO_WATER,
    Outcome,
)
from ..trip.play.plant import Plant, UsePlant
from ..trip.play.timeline import track
from ..trip.stay.pumping import Pumping, pumping_of, starts
from ..van import tank_shapes
from ..van.kinds import heaters
from ..van.model import Build
from ..van.region import region_of
from ..words.glossary import ICE_POINT
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import capital, show
from ..words.unit_table import DAY
from .chance import chance_chapter
from .hot_water import lukewarm_store

if TYPE_CHECKING:
    from ..lists.weight import Weight
    from ..trip.trip import Trip
    from ..trip.what_if import WhatIf


_PLACES = ("second", "third", "fourth", "fifth", "sixth")


def days_chapter(trip: Trip, weight: Weight | None = None) -> Chapter:
    """The planned stay: what fails first, what was used, each use, each evening."""
    outcome, plant = trip.planned, trip.plant
    first = trip.first_failure
    answers = [
        Answer(
            "The first thing that fails",
            str(first) if first is not None else f"nothing fails in {outcome.days:g} days",
            key=True,
        ),
        *(
            Answer(f"The {place} thing", str(one))
            for place, one in zip(_PLACES, trip.failures[1:], strict=False)
        ),
        Answer("Water used", float(outcome.drawn.sum()), "volume"),
    ]
    if plant.heaters:
        answers += [
            Answer(
                "Water run off while waiting for hot",
                float(outcome.wasted.sum()),
                "volume",
                note="it would go back to the tank" if plant.options.return_line else "",
            ),
            Answer("Heat given to the water", float(outcome.heat_in[0]), "heat"),
            Answer(
                "Heat lost by heaters and runs"
                if len(plant.heaters) > 1
                else "Heat lost by heater and runs",
                float(outcome.heat_lost[0] + outcome.line_lost[0]),
                "heat",
            ),
        ]
        if plant.burns:
            label = (
                "Burners at work, in all" if len(plant.heaters) > 1 else "Burner at work, in all"
            )
            answers.append(Answer(label, float(outcome.burning[0]), "duration"))
            answers.append(Answer("Fuel burned", float(outcome.fuel_used[0]), "mass"))
    answers += _pump_answers(trip, outcome)
    if plant.battery is not None:
        lowest = float(track(outcome)["charge"].min()) / plant.battery.full
        answers.append(Answer("Lowest charge of the battery", lowest, "share"))
    gap = max(
        float(outcome.water_gap()[0]), float(outcome.heat_gap()[0]), float(outcome.energy_gap()[0])
    )
    answers.append(
        Answer(
            "Water, heat and energy that are unaccounted for",
            "less than 0.0001 %" if gap < 1e-6 else f"{gap * 100:.2f} %",
            note="share of what was used",
        )
    )
    return Chapter(
        key="trip",
        title="Days and nights",
        basis=_basis(trip),
        inputs=(
            Answer("Days played", float(outcome.days), "count"),
            Answer("Cold water", plant.cold, "temperature"),
            Answer("Air in the van", plant.cabin, "temperature"),
            Answer("Wait that is still accepted", plant.wait_limit, "duration"),
        ),
        answers=tuple(answers),
        grids=(
            _use_grid(outcome),
            *_heater_grid(outcome),
            _evening_grid(trip, outcome, weight),
            *_tank_grid(outcome),
        ),
        cautions=_cautions(trip),
        not_computed=_not_computed(trip.build),
    )


def _not_computed(build: Build) -> tuple[str, ...]:
    left = [
        "Slopping in the tanks on a slope or in bends, which may bare the pickup early.",
        "Two taps open at once: uses follow one another.",
        "The cold runs' own temperature: cold water comes as cold as it lies in the tank.",
    ]
    left += [
        f"How far {one.name} overheats a thin flow, below which it can't turn its flame down."
        for one in build.heater
        if heaters.follows_flow(one) and one.power_least > 0
    ]
    played = [one.name for one in played_heaters(build)]
    left += [
        f"{capital(one.name)}, which feeds no tap."
        for one in build.heater
        if one.name not in played
    ]
    return tuple(left)


def _basis(trip: Trip) -> tuple[str, ...]:
    plant, options = trip.plant, trip.options
    found = [
        "The trip begins at midnight with full fresh tanks, empty grey ones and cold "
        f"{'heaters' if len(plant.heaters) > 1 else 'heater'}.",
        "Uses follow their hours, or are spread over the waking day; a tap that wants warm water "
        "runs until it comes, then for as long as the habit says.",
        f"Hot has come {options.arrived:g} K under what is wanted; more than "
        f"{options.lukewarm:g} K under it counts as lukewarm (assumed).",
        "Every fixture at the flow that it gives open alone (see pressures and flows).",
    ]
    if plant.stores:
        found.append(
            f"{_whose(plant)} lowest {options.mixed_share * 100:.0f} % is stirred by the cold that "
            "comes in; above it the water moves as a plug in layers. So about 70 % comes out hot "
            "(ASHRAE Handbook, 60 to 80 %, from memory)."
        )
    found += _hours(trip)
    found += _feeds(trip)
    if any(one.coolant_power > 0 for one in plant.heaters):
        found.append(f"The engine runs {', '.join(options.drive_hours)} (assumed).")
    if any(one.air < ICE_POINT for one in plant.segments):
        found.append(
            "Hot runs outside stand in the mean air of day and night, below freezing here: their "
            f"water turns to ice at {show(ICE_POINT, 'temperature', trip.build.van.units)}, and a "
            f"run with {BLOCKED * 100:.0f} % ice in it gives nothing until it has thawed."
        )
    if options.hookup_hours:
        found.append(f"On a hook-up {', '.join(options.hookup_hours)}.")
    if not np.isfinite(plant.grey):
        found.append("No grey tank: waste water is caught elsewhere.")
    return tuple(found)


def _whose(plant: Plant) -> str:
    """Of what the lowest part is stirred."""
    if len(plant.stores) == len(plant.heaters) == 1:
        return "The heater's"
    return f"{capital(_and([plant.heaters[n].name for n in plant.stores]))}: the store's"


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)


def _hours(trip: Trip) -> list[str]:
    """When the heaters are on, those with the same hours together."""
    said = {one.name: ", ".join(one.hours) for one in trip.build.heater if one.hours}
    usual = ", ".join(trip.options.heater_hours) or "day and night"
    when: dict[str, list[str]] = {}
    for heater in trip.plant.heaters:
        when.setdefault(said.get(heater.name, usual), []).append(heater.name)
    if len(trip.plant.heaters) == 1:
        return [f"The heater is on {hours}." for hours in when]
    return [
        f"{capital(_and(names))} {'is' if len(names) == 1 else 'are'} on {hours}."
        for hours, names in when.items()
    ]


def _sides(trip: Trip) -> list[str]:
    """Taps whose hot water several heaters give side by side, each with its part."""
    plant = trip.plant
    told = {
        use.fixture: [
            f"{plant.heaters[n].name} ({show(part, 'share', trip.build.van.units)})"
            for n, part in use.heaters
        ]
        for use in plant.uses
        if use.path and len(use.heaters) > 1
    }
    return [
        f"Hot water of {fixture} comes from {_and(parts)} side by side, as pressures and flows "
        "have it with that tap alone."
        for fixture, parts in told.items()
    ]


def _feeds(trip: Trip) -> list[str]:
    """Which heater and which tanks each use draws from, where there are several."""
    plant, found = trip.plant, []
    found += _sides(trip)
    for n, heater in enumerate(plant.heaters):
        uses = dict.fromkeys(
            u.fixture for u in plant.uses if u.path and (u.heater == n or n in dict(u.heaters))
        )
        passed_on = not uses and any(other.before == n for other in plant.heaters)
        if len(plant.heaters) > 1 and not passed_on:
            taps = f"gives hot water at {_and(list(uses))}" if uses else "gives no use hot water"
            found.append(f"{capital(heater.name)} {taps}.")
        if heater.before is not None:
            found.append(
                f"What comes into {heater.name} has passed {plant.heaters[heater.before].name}."
            )
    if len(plant.tanks) > 1:
        for n, tank in enumerate(plant.tanks):
            uses = dict.fromkeys(
                u.fixture or u.name
                for u in plant.uses
                if (u.takes_hot and n in u.hot_from) or (u.takes_cold and n in u.cold_from)
            )
            gives = f"feeds {_and(list(uses))}" if uses else "feeds no use"
            found.append(f"{capital(tank.name)} {gives}.")
        steps = [use.by_level.steps for use in plant.uses if use.by_level is not None]
        when = (
            "as they stand, looked at anew each time that one has fallen by "
            f"1/{min(steps)} of its water"
            if steps
            else "as they stand at the start"
        )
        found.append(
            "Where several tanks feed one tap, each gives the part that pressures and flows have "
            f"{when}; when one is dry the others give it, and a crew turns a selector over."
        )
    units = trip.build.van.units
    found += [
        f"{capital(tank.name)} find one level at the start, and "
        f"{show(tank.spilt, 'volume', units)} of a full filling runs out at the lowest of their "
        "tops."
        for tank in plant.tanks
        if tank.spilt > 1e-6
    ]
    return found


def _pump_answers(trip: Trip, outcome: Outcome) -> list[Answer]:
    """How often each electric pump starts, and how long it runs."""
    found: list[Answer] = []
    for number, one in enumerate(trip.plant.pumps):
        pump = next(pump for pump in trip.build.pump if pump.name == one.name)
        about = "" if len(trip.plant.pumps) == 1 else f", {one.name}"
        found += _answers_of_pump(trip, outcome, number, pumping_of(trip.build, pump), about)
    return found


def _answers_of_pump(
    trip: Trip, outcome: Outcome, number: int, pump: Pumping, about: str
) -> list[Answer]:
    uses = trip.plant.uses
    flows = np.array([use.flow for use in uses] or [0.0])[outcome.draws.use[0]]
    lifts = np.array([number in (*use.hot_pumps, *use.cold_pumps) for use in uses] or [False])
    moved = (outcome.drawn[0] + outcome.wasted[0]) * lifts[outcome.draws.use[0]]
    some = moved > 0
    count = starts(moved[some], flows[some], pump)
    running = float(outcome.pumped[0, number]) / pump.flow
    days = max(outcome.days, 1)
    return [
        Answer(
            f"Water that comes before the pump starts{about}",
            pump.give,
            "volume_small",
            pump.work,
            note="" if trip.build.accumulator else "by what the tubes give (assumed)",
        ),
        Answer(
            f"Pump starts a day{about}",
            round(float(count.sum()) / days, 1),
            "count",
            note=f"{float(count.max(initial=0)):.0f} at most in one draw. A draw has one start for "
            "each time that this water comes, longer by what the tap takes while the pump fills "
            "up: times the pump's flow, over what the pump gives more than the tap",
        ),
        Answer(f"Pump at work a day{about}", running / days, "duration"),
    ]


def _use_grid(outcome: Outcome) -> Grid:
    return grid(
        "Uses on the planned stay",
        [_use_row(outcome, index, use) for index, use in enumerate(outcome.plant.uses)],
        {
            "use": 0,
            "at": 1,
            "draws": (2, RIGHT),
            "mean wait": (3, "duration"),
            "longest wait": (4, "duration"),
            "run off": (5, "volume"),
            "coolest": (6, "temperature"),
            "lukewarm": (7, RIGHT),
            "missed or cut": (8, RIGHT),
        },
        key="trip_uses",
    )


def _use_row(outcome: Outcome, index: int, use: UsePlant) -> tuple[object, ...]:
    """What became of one use on the planned stay."""
    draws = outcome.draws
    mine = (draws.use[0] == index) & np.isfinite(draws.time[0])
    state = outcome.state[0][mine]
    nothing = (NO_WATER, NO_POWER, FROZEN)
    happened = (state > 0) & ~np.isin(state, nothing)
    warmth = outcome.warmth[0][mine]
    warmth = warmth[np.isfinite(warmth)]
    warm = use.wanted is not None and bool(use.path) and use.waits
    wait = outcome.wait[0][mine][happened]
    return (
        use.name,
        use.fixture,
        str(int(happened.sum())),
        float(wait.mean()) if warm and len(wait) else None,
        float(wait.max()) if warm and len(wait) else None,
        float(outcome.wasted[0][mine].sum()) if warm else None,
        float(warmth.min()) if warm and len(warmth) else None,
        str(int((state == LUKEWARM).sum())) if warm else None,
        str(int(np.isin(state, (CUT_SHORT, *nothing)).sum())),
    )


def _heater_grid(outcome: Outcome) -> tuple[Grid, ...]:
    """What each of several heaters gave, lost and drew on."""
    heaters = outcome.plant.heaters
    if len(heaters) < 2:
        return ()
    rows = [
        (
            heater.name,
            float(outcome.heater_in[0, n]),
            float(outcome.heater_out[0, n]),
            float(outcome.heater_lost[0, n]),
            float(outcome.heater_burning[0, n]) if heater.burner_heat > 0 else None,
            float(outcome.heater_fuel[0, n]) if heater.burner_heat > 0 else None,
            float(outcome.heater_element[0, n]) if heater.element_power > 0 else None,
        )
        for n, heater in enumerate(heaters)
    ]
    return (
        grid(
            "Heaters on the planned stay",
            rows,
            {
                "heater": 0,
                "heat given": (1, "heat"),
                "taken along by the water": (2, "heat"),
                "lost by its store": (3, "heat"),
                "burner at work": (4, "duration"),
                "fuel": (5, "mass"),
                "its element, from the battery": (6, "energy"),
            },
            key="trip_heaters",
        ),
    )


def _tank_grid(outcome: Outcome) -> tuple[Grid, ...]:
    """What can still be pumped from each of several tanks at the end of each day."""
    tanks = [(n, tank) for n, tank in enumerate(outcome.plant.tanks) if not tank.shore]
    if len(tanks) < 2:
        return ()
    kept = track(outcome)
    rows = []
    for day in range(1, round(outcome.days) + 1):
        at = _evening(kept["time"], day)
        rows.append((str(day), *(float(kept["tanks"][at, n]) for n, _ in tanks)))
    return (
        grid(
            "Left in each tank at the end of each day",
            rows,
            {
                "day": (0, RIGHT),
                **{tank.name: (place, "volume") for place, (_, tank) in enumerate(tanks, 1)},
            },
            key="trip_tanks",
            note="What can be pumped.",
        ),
    )


def _evening(time: Array, day: int) -> int:
    """The last step kept before a refill at midnight: the first at or after that moment."""
    return min(int(np.searchsorted(time, day * DAY - 1e-3)), len(time) - 1)


def _evening_grid(trip: Trip, outcome: Outcome, weight: Weight | None) -> Grid:
    """What is aboard at the end of each day, before a refill, and its share of the payload."""
    build, plant = trip.build, trip.plant
    kept = track(outcome)
    density = float(water_density.si(plant.cold))
    heel = plant.heel
    carried = weight or Lists(build).weight
    tanks = {f"water in {tank.name}" for tank in build.tank}
    still = sum(one.mass for one in carried.loads if one.water and one.name not in tanks)
    full = float(kept["fuel"][0]) if plant.heaters else 0.0
    rows = []
    for day in range(1, round(outcome.days) + 1):
        at = _evening(kept["time"], day)
        fresh, grey = float(kept["fresh"][at]), float(kept["grey"][at])
        mass = float(water_mass.si(density, fresh + heel + grey))
        fuel = float(kept["fuel"][at])
        has_fuel = bool(plant.heaters) and bool(np.isfinite(fuel))
        aboard = carried.dry + still + mass - (full - fuel if has_fuel else 0.0)
        share = aboard / build.van.payload if build.van.payload else None
        charge = float(kept["charge"][at]) / plant.battery.full if plant.battery else None
        rows.append(
            (
                str(day),
                fresh,
                _level(build, fresh + heel),
                grey if np.isfinite(plant.grey) else None,
                mass,
                share,
                charge,
                fuel if has_fuel else None,
            )
        )
    return grid(
        "Aboard at the end of each day",
        rows,
        {
            "day": (0, RIGHT),
            "fresh that can be pumped": (1, "volume"),
            "it stands": (2, "length"),
            "grey": (3, "volume"),
            "water in the tanks": (4, "mass"),
            "system, share of payload": (5, "share"),
            "charge": (6, "share"),
            "fuel": (7, "mass"),
        },
        key="trip_days",
        note="The system's share counts its parts, the fuel that is left, and the water in tanks, "
        "heater and runs.",
    )


def _level(build: Build, held: float) -> float | None:
    """Depth of the water in the fresh tank, where there is one of known height."""
    tanks = [tank for tank in build.tank if tank.holds == "fresh"]
    if len(tanks) != 1:
        return None
    try:
        return float(tank_shapes.level(tanks[0], held))
    except ValueError:
        return None


def _cautions(trip: Trip) -> tuple[Caution, ...]:
    found = []
    if any(heater.coolant_power > 0 for heater in trip.plant.heaters):
        limit = show(trip.options.coolant_limit, "temperature", trip.build.van.units)
        found.append(
            Caution(
                "DANGER",
                f"An engine's coolant can heat the store to {limit} and more. Water at the taps "
                "then scalds at once: fit a mixing valve by local codes and test it.",
            )
        )
    told = dict.fromkeys(
        caution
        for n in trip.plant.stores
        for caution in lukewarm_store(
            region_of(trip.build).key,
            trip.plant.heaters[n].setpoint,
            trip.build.van.units,
            " on heating it through and on flushing",
        )
    )
    found += list(told)
    return tuple(found)


def what_if_chapter(found: WhatIf) -> Chapter:
    """Days and nights of a changed build, with the chances' table if there are any."""
    first = days_chapter(found.trip)
    if found.chance is None:
        return first
    second = chance_chapter(found.chance, found.ranking)
    return replace(
        first,
        basis=first.basis + second.basis,
        answers=first.answers + second.answers,
        grids=first.grids + second.grids,
    )
