"""The budgets of a stay on the sheet: water and tanks, current and fuel, weight."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from ..lists.weight import FUEL, Weight
from ..trip.stay.budget import Budget, HeatBudget
from ..trip.stay.tanks import TankFacts
from ..van.kinds import heaters
from ..van.model import Build
from ..words.hazards import OVERLOAD
from ..words.report import Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import capital, show, together
from ..words.work import Work


def weight_chapter(weight: Weight) -> Chapter:
    """What the water system weighs, and its share of the payload."""
    works = {name: work for name, work in weight.works.items() if name not in ("dry", "share")}
    dry = tuple(weight.works[name] for name in ("dry",) if name in weight.works)
    light = f"without {_some(weight.unknown)}: nobody has said the mass" if weight.unknown else ""
    fuelled = any(load.name == FUEL for load in weight.loads)
    answers = [
        Answer(
            "Parts and fuel, without water" if fuelled else "Parts without water",
            weight.dry,
            "mass",
            dry,
            note=light,
        ),
        Answer(
            "All of it, fresh tanks full" + (f", {len(weight.unknown)} unweighed" if light else ""),
            weight.leaving,
            "mass",
            tuple(works.values()),
            note=light,
            key=True,
        ),
    ]
    if weight.share is not None and weight.payload is not None:
        answers.append(
            Answer(
                "Share of the payload", weight.share, "share", (weight.works["share"],), key=True
            )
        )
    unknown = ", ".join(weight.unknown)
    return Chapter(
        key="weight",
        title="Weight",
        basis=(
            "The masses of the bill: what is said, else typical; tube by its sizes and density.",
        ),
        inputs=()
        if weight.payload is None
        else (Answer("Payload of the van", weight.payload, "mass", basis="given"),),
        answers=tuple(answers),
        grids=(
            grid(
                "What weighs how much",
                weight.loads,
                {
                    "part": "name",
                    "mass": (lambda load: load.mass if load.counted else None, "mass"),
                    "from": "basis",
                },
                key="weight",
            ),
        ),
        cautions=(OVERLOAD.caution(),),
        not_computed=(f"Masses that nobody has said: {unknown}.",) if unknown else (),
    )


def _some(names: Sequence[str], most: int = 4) -> str:
    """The first few of several names, and how many more there are."""
    if len(names) <= most + 1:
        return together(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def basis_of(build: Build, path: str, otherwise: str = "default") -> str:
    """Whether the file states a value, or where its default comes from."""
    return "given" if path in build.given else otherwise


def water_chapter(budget: Budget, build: Build) -> Chapter:
    """Water for the crew and the nights, use by use, against what the tanks give."""
    water, crew, system = budget.water, build.crew, build.van.units
    uses: list[tuple[Any, ...]] = [
        (
            row.habit.name,
            row.habit.fixture,
            row.habit.per_day,
            row.habit.volume,
            row.volume_day,
            row.hot_day or None,
        )
        for row in water.uses
    ]
    uses.append(("drinking and cooking", "", None, None, water.drinking_day, None))
    if water.run_off_day > 0:
        uses.append(("run off waiting for hot", "", None, None, water.run_off_day, None))
    answers = [
        Answer(
            "Water used in a day",
            water.volume_day,
            "volume",
            (
                water.works["drinking"],
                *(work.about(row.habit.name) for row in water.uses for work in row.work),
                water.works["day"],
            ),
        ),
        Answer(
            f"Water needed for {crew.nights} nights, with the reserve",
            water.need,
            "volume",
            (water.works["need"],),
            key=True,
        ),
        Answer("Water that the pump can reach", water.usable, "volume", _usable(budget), key=True),
        Answer(
            "Nights that one filling lasts",
            water.nights,
            "count",
            (water.works["nights"],) if "nights" in water.works else (),
            note=_about_nights(budget),
            key=True,
        ),
    ]
    return Chapter(
        key="water",
        title="Water and tanks",
        basis=(
            "Every use at what its fixture gives open alone (see pressures and flows); hot "
            "water at the heater's setpoint.",
            "What runs off while taps wait for hot, and what store and runs lose, is a mean of "
            "seven planned days played through.",
            *_levels(budget, system),
        ),
        inputs=(
            Answer("People", float(crew.people), "count", basis=basis_of(build, "crew.people")),
            Answer("Nights", float(crew.nights), "count", basis=basis_of(build, "crew.nights")),
            Answer(
                "Drunk and cooked with, a person and day",
                crew.drinking,
                "volume",
                basis=basis_of(build, "crew.drinking", "Sphere Handbook 2011, with a margin"),
            ),
            Answer(
                "Reserve",
                crew.reserve,
                "share",
                basis=basis_of(build, "crew.reserve", "common practice, no source"),
            ),
        ),
        answers=tuple(answers),
        grids=(
            grid(
                "Uses of water in a day",
                uses,
                {
                    "use": 0,
                    "at": 1,
                    "times a day": (2, "count"),
                    "each": (3, "volume"),
                    "in a day": (4, "volume"),
                    "of it, hot": (5, "volume"),
                },
                key="uses",
            ),
            _tank_grid(budget.tanks, system),
        ),
        cautions=(
            Caution(
                "CAUTION",
                "Water that has stood for days in a warm tank is not what it was. Empty, clean and "
                "disinfect as the builder's papers say, and follow local rules for drinking water.",
            ),
        ),
        not_computed=("Water lost by slopping, leaks and overfilling.", *_idle(budget)),
    )


def _about_nights(budget: Budget) -> str:
    """What the nights of a filling mean: of all tanks, though one may be dry before the others."""
    water = budget.water
    told = (
        "for a mean day; how sure that is has a chapter of its own"
        if water.enough
        else f"{water.nights_wanted} are wanted"
    )
    if len(water.sets) > 1:
        told += "; all tanks together: which is dry first is told by the days and nights"
    return told


def _levels(budget: Budget, system: str) -> tuple[str, ...]:
    """Which tanks find one level, and what runs out before they have found it."""
    found = []
    for one in budget.water.sets:
        if len(one.tanks) > 1:
            lost = (
                f": {show(one.spilt, 'volume', system)} of a full filling runs out at the lowest "
                "of their tops"
                if one.spilt > 1e-6
                else ""
            )
            found.append(f"{capital(one.name)} find one level, nothing between them{lost}.")
    return tuple(found)


def _idle(budget: Budget) -> tuple[str, ...]:
    """Fresh tanks that feed no tap."""
    feeding = {tank.name for one in budget.water.sets for tank in one.tanks}
    idle = [t.name for t in budget.tanks if t.holds == "fresh" and t.name not in feeding]
    if not idle:
        return ()
    does = "feeds" if len(idle) == 1 else "feed"
    return (f"The water in {' and '.join(idle)}, which {does} no tap: shut off, or not joined.",)


def _usable(budget: Budget) -> tuple[Work, ...]:
    order = ("volume", "heel", "usable")
    feeding = [tank.name for one in budget.water.sets for tank in one.tanks]
    works = [
        tank.works[name].about(tank.name) if len(feeding) > 1 else tank.works[name]
        for tank in budget.tanks
        if tank.name in feeding
        for name in order
        if name in tank.works
    ]
    whole = budget.water.works.get("usable")
    return (*works, *([whole] if whole is not None else []))


def _tank_grid(tanks: tuple[TankFacts, ...], system: str) -> Grid:
    def fit(tank: TankFacts) -> str:
        if tank.fits is None:
            return "space not said"
        over = [f"{side} by {show(by, 'length', system)}" for side, by in tank.misfits]
        return "fits" if tank.fits else "too great: " + ", ".join(over)

    def size(place: int) -> tuple[Getter, str]:
        return lambda tank: tank.outside[place] if tank.outside else None, "length"

    return grid(
        "Tanks",
        tanks,
        {
            "tank": "name",
            "shape": "shape",
            "holds": ("volume", "volume"),
            "heel": (lambda tank: tank.heel if tank.holds == "fresh" else None, "volume"),
            "usable": (lambda tank: tank.usable if tank.holds == "fresh" else None, "volume"),
            "water when full": ("mass_water", "mass"),
            "long": size(0),
            "wide": size(1),
            "high": size(2),
            "in its space": fit,
        },
        key="tanks",
        note="Sizes are over the walls.",
    )


def energy_chapter(budget: Budget, build: Build, flat: str = "") -> Chapter:
    """Current and fuel of a day against battery and bottle.

    ``flat`` tells when the battery is flat in the stay as it is played, if it is.
    """
    electric, heat = budget.electric, budget.heat
    answers: list[Answer] = []
    if heat.source != "none":
        answers.append(
            Answer(
                "Heat for hot water in a day",
                heat.heat_day,
                "heat",
                tuple(heat.works.values()),
                note=f"by the {heat.source}; {show(heat.lost_day, 'heat', build.van.units)} "
                "of it gets to no tap",
            )
        )
    if electric.pump_day > 0:
        pumps = _works_of(electric.works, "pump")
        label = "Pumps in a day" if len(pumps) > 1 else "Pump in a day"
        answers.append(Answer(label, electric.pump_day, "energy", pumps))
    steps = ("burner", "element", "other", "all")
    answers.append(
        Answer(
            "Energy drawn from the battery in a day, all in",
            electric.use_day,
            "energy",
            tuple(work for name in steps for work in _works_of(electric.works, name)),
            key=True,
        )
    )
    if electric.usable is not None:
        answers.append(
            Answer(
                "Energy that may be taken from the battery",
                electric.usable,
                "energy",
                (electric.works["usable"],),
            )
        )
    if electric.charge_day:
        answers.append(
            Answer("Charged in a day", electric.charge_day, "energy", (electric.works["charge"],))
        )
    if electric.days is not None:
        answers.append(
            _days(
                "Days that the battery lasts, at the mean of a day",
                electric.days,
                electric.works.get("days"),
                f"by the clock of the stay it is flat on {flat}" if flat else "",
            )
        )
    for fuel in budget.fuels:
        answers.append(
            Answer(
                f"{fuel.kind} in a day".capitalize(),
                fuel.mass_day,
                "mass",
                (*_works_of(fuel.works, "mass"), fuel.works["volume"]),
            )
        )
        if fuel.days is not None:
            answers.append(
                _days(f"Days that the {fuel.kind} lasts", fuel.days, fuel.works.get("days"))
            )
    drawn = {
        "pump": electric.pump_day,
        "heater element": electric.element_day,
        "burner's fan and control": electric.burner_day,
        "everything else": electric.other_day,
    }
    return Chapter(
        key="energy",
        title="Current and fuel",
        basis=_energy_basis(budget, heat),
        answers=tuple(answers),
        grids=(
            grid(
                "Energy drawn from the battery in a day",
                [(name, value) for name, value in drawn.items() if value > 0],
                {"by": 0, "energy": (1, "energy")},
                key="current",
            ),
        ),
        not_computed=(
            *_unsaid_loss(build),
            "What the battery loses by age and cold, and what a cloudy week charges.",
        ),
    )


def _works_of(works: Mapping[str, Work], name: str) -> tuple[Work, ...]:
    """The steps of a figure, those of its parts first where several make it."""
    parts = tuple(work for key, work in works.items() if key.startswith(f"{name} "))
    return (*parts, *((works[name],) if name in works else ()))


def _unsaid_loss(build: Build) -> tuple[str, ...]:
    """A store's standing loss counts as nothing where the build does not say it."""
    return tuple(
        f"What {heater.name} loses while it is kept hot: the build does not say its standing loss, "
        "which can be most of the heat."
        for heater in build.heater
        if not heaters.follows_flow(heater) and heater.standing_loss is None
    )


def _days(label: str, days: float, work: Work | None, note: str = "") -> Answer:
    if math.isinf(days):
        endless = "no end: it is charged as fast as it is used"
        return Answer(label, endless, note=note, key=True)
    return Answer(label, round(days, 1), "count", (work,) if work else (), note=note, key=True)


def _energy_basis(budget: Budget, heat: HeatBudget) -> tuple[str, ...]:
    found = [
        "A mean of seven planned days played through, with what store and runs lose; hours and "
        "order of things are in the days and nights."
    ]
    if budget.pump is not None and budget.pump.power > 0:
        found.append(
            "Pump halfway between cut-in and cut-out, on its curve (see pressures and flows): "
            f"{budget.pump.basis}."
        )
    if heat.source == "burner":
        found.append("The heater runs on its burner; an element beside it is left for a hook-up.")
    return tuple(found)
