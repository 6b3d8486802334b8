"""What the water system adds on each axle, by lever arms, and what is left of what is allowed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ..formulas.carrying import axle_load_front, axle_load_rear, axle_room
from ..formulas.tank import water_mass
from ..formulas.water import water_density
from ..trip.stay.tanks import TankFacts, tank_facts
from ..words.brief import brief
from ..words.work import Work, total
from .weight import FUEL, Load, Weight, water_in

if TYPE_CHECKING:
    from ..van.model import Build

AXLES = ("front", "rear")
EMPTY, LEAVING, HOME, ALL_FULL = "no water", "leaving", "coming home", "every tank full"
STATES = {
    EMPTY: "parts and fuel, no water",
    LEAVING: "fresh tanks as the build fills them, grey ones empty, heater and runs full",
    HOME: "what the fresh tanks gave stands in the grey ones, as far as they hold it",
    ALL_FULL: "fresh and grey tanks full: filled again before the grey ones were emptied",
}
"""What is aboard in each state that is worked out."""
LEAST = 0.05
"""A mass below this, kg, that nobody placed moves no axle."""


@brief
@dataclass(frozen=True)
class Placed:
    """One thing aboard, kg, and the places, m behind the front axle, where it stands.

    ``distance`` is None where the build does not say; then it is on neither axle.
    """

    name: str
    mass: float
    distance: float | None
    front: Work | None = None
    rear: Work | None = None


@brief
@dataclass(frozen=True)
class AxleState:
    """One state of the water: what is added on each axle, and what no axle was given.

    ``added`` are the sums for "front" and "rear"; ``unplaced`` is the mass, kg, of what says no
    place: on either axle it may be up to that much more, if it stands between them.
    """

    name: str
    placed: tuple[Placed, ...]
    added: Mapping[str, Work]
    unplaced: float

    def of(self, axle: str) -> float:
        """What is added on an axle, kg."""
        return self.added[axle].value if axle in self.added else 0.0


@brief
@dataclass(frozen=True)
class Axles:
    """Loads of the water system on the axles, kg.

    ``room`` is what is left of what is allowed, by axle and state, for the axles whose load and
    limit the build says; ``unknown`` tells what was not worked out and which key would do it.
    """

    wheelbase: float
    states: tuple[AxleState, ...]
    limits: Mapping[str, float]
    room: Mapping[tuple[str, str], Work]
    without_place: tuple[str, ...]
    unknown: tuple[str, ...] = ()
    weighed: Mapping[str, float] = field(default_factory=dict)

    def least_room(self, axle: str) -> tuple[AxleState, Work] | None:
        """The state with the least left on an axle; None where that is not known."""
        known = [(s, self.room[axle, s.name]) for s in self.states if (axle, s.name) in self.room]
        return min(known, key=lambda one: one[1].value, default=None)


def axles_of(build: Build, weight: Weight) -> Axles | None:
    """Every load of the bill, with water and fuel, on the axles; None without a wheelbase."""
    base = build.van.wheelbase
    if base is None:
        return None
    states = tuple(_state(build, base, *one) for one in _states(build, weight))
    limits, weighed = _said(build, "limit"), _said(build, "weighed")
    dry = next(s for s in states if s.name == EMPTY)
    room = {}
    for axle in AXLES:
        if axle not in limits or axle not in weighed:
            continue
        for state in states:
            if axle not in state.added:
                continue
            already = dry.of(axle) if build.van.weighed == "with it, dry" else 0.0
            room[axle, state.name] = axle_room.work(
                axle_load_allowed=limits[axle],
                axle_load_weighed=weighed[axle],
                axle_load_added=state.of(axle) - already,
            )
    nowhere = tuple(
        dict.fromkeys(p.name for s in states for p in s.placed if p.distance is None and p.mass)
    )
    return Axles(base, states, limits, room, nowhere, tuple(_unknown(build)), weighed)


def _said(build: Build, what: str) -> dict[str, float]:
    said = {axle: getattr(build.van, f"{axle}_axle_{what}") for axle in AXLES}
    return {axle: mass for axle, mass in said.items() if mass is not None}


def _unknown(build: Build) -> list[str]:
    found = []
    for axle in AXLES:
        for what, about in (("weighed", "what it bears"), ("limit", "what it is allowed")):
            key = f"{axle}_axle_{what}"
            if getattr(build.van, key) is None:
                found.append(f"{about} on the {axle} axle ({key}, under [van])")
    return found


def _state(build: Build, base: float, name: str, loads: list[Load]) -> AxleState:
    placed = []
    terms: dict[str, dict[str, float]] = {axle: {} for axle in AXLES}
    for load in loads:
        where = distance_of(build, load)
        if where is None:
            placed.append(Placed(load.name, load.mass, None))
            continue
        values = {"mass": load.mass, "distance": where, "distance_axles": base}
        on = (axle_load_front.work(**values), axle_load_rear.work(**values))
        placed.append(Placed(load.name, load.mass, where, *on))
        term = _term(build, load, name)
        for axle, work in zip(AXLES, on, strict=True):
            terms[axle][term] = terms[axle].get(term, 0.0) + work.value
    added = {axle: total("axle_load", list(of.items())) for axle, of in terms.items() if of}
    nowhere = sum(p.mass for p in placed if p.distance is None)
    return AxleState(name, tuple(placed), added, nowhere if nowhere > LEAST else 0.0)


def _term(build: Build, load: Load, state: str) -> str:
    """Which term of a state's sum a load is in; the list of what stands where has each by itself.

    Dry, what has no place of its own goes together; with water, all that was there dry does.
    """
    if load.water or load.name == FUEL:
        return load.name
    if state != EMPTY:
        return "all parts"
    return load.name if _own_place(build, load) is not None else "pipework"


def distance_of(build: Build, load: Load) -> float | None:
    """Where a load of the weight stands, m behind the front axle; None where nobody says.

    What belongs to a part, its water, filler or relief valve, stands where that does.
    """
    if load.name == FUEL:
        return build.fuel.behind_front_axle if build.fuel else None
    own = _own_place(build, load)
    return own if own is not None else build.van.pipework_behind_front_axle


def _own_place(build: Build, load: Load) -> float | None:
    places = {one.name: one.behind_front_axle for one in build.components}
    return places.get(load.part)


def _states(build: Build, weight: Weight) -> list[tuple[str, list[Load]]]:
    """Each state with what is aboard in it."""
    counted = [load for load in weight.loads if load.counted and load.mass]
    dry = [load for load in counted if not load.water]
    leaving = dry + [load for load in counted if load.water]
    states = [(EMPTY, dry), (LEAVING, leaving)]
    facts = tank_facts(build)
    grey = [t for t in facts if t.holds == "grey"]
    fresh = [t for t in facts if t.holds == "fresh"]
    if grey and fresh:
        states.append((HOME, _home(build, counted, dry, fresh, grey)))
    if fresh or grey:
        full = [water_in(t.name, t.mass_water, "full") for t in facts]
        tanks = {load.part for load in full}
        rest = [load for load in leaving if not (load.water and load.part in tanks)]
        states.append((ALL_FULL, rest + full))
    return states


def _home(
    build: Build,
    counted: list[Load],
    dry: list[Load],
    fresh: list[TankFacts],
    grey: list[TankFacts],
) -> list[Load]:
    """After the stay: each fresh tank gave its share of what was drawn, each grey one took it."""
    starts = {t.name: t.fill_share for t in build.tank}
    density = float(water_density.si(build.van.cold_water))

    def weighs(volume: float) -> float:
        return float(water_mass.si(density=density, volume=volume))

    gives = {t.name: max(t.volume * starts[t.name] - t.heel, 0.0) for t in fresh}
    drawn, holds = sum(gives.values()), sum(t.volume for t in grey)
    back = min(drawn, holds)
    found = [
        replace(load, mass=load.mass - weighs(gives.get(load.part, 0.0)))
        for load in counted
        if load.water
    ]
    found += [water_in(t.name, weighs(back * t.volume / holds), "drained") for t in grey]
    return dry + [load for load in found if load.mass > 0]
