"""Runs on the ways of hot water: what each holds and loses, joined where they serve the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ...formulas.runs_heat import cooling_constant, wall_heat_ratio
from ...formulas.tube import content_per_length
from ...formulas.water import water_density, water_specific_heat
from ...van.hot_ways import HotWay
from ...van.model import Build
from ...van.parts import Run
from ...van.rows import pick
from ...van.water_held import Leg, along
from ...van.wiring import run_words
from ...words.tables import table
from ...words.work import Steps, Work
from .lines import Segment
from .loss import FOAM, run_loss

WALL_DENSITY, WALL_HEAT = 940.0, 2300.0
"""kg/m³ and J/(kg K) of plastic tube whose row does not say (typical of PEX)."""

LEAST_SHARE = 0.02
"""Hot share under which a valve's hot side is taken as barely open, not shut (assumed)."""


@dataclass(frozen=True)
class RunHeat:
    """One run as hot water meets it: content, heat of its wall, cooling; SI."""

    run: Run
    content: float
    wall: float
    cooling: float
    loss: float
    air: float
    works: tuple[Work, ...] = ()

    @property
    def held(self) -> float:
        """Content and wall as water, m³."""
        return self.content * (1.0 + self.wall)


def air_around(build: Build, place: str) -> float:
    """Mean temperature of the air about a run: the cabin's, or the day's mean outside."""
    van = build.van
    if place == "cabin":
        return van.cabin
    return (van.outside + (van.outside if van.outside_day is None else van.outside_day)) / 2


def run_heat(build: Build, run: Run, hot: float) -> RunHeat:
    """One run with hot water in it."""
    row = table("tubes", build.rows)[run.tube]
    rows = table("insulations", build.rows)
    foam = rows["closed-cell foam"]["conductivity"] if "closed-cell foam" in rows else FOAM
    air = air_around(build, run.place)
    lost = run_loss(
        row,
        run.insulation,
        hot,
        min(air, hot - 1.0),
        windy=run.place != "cabin",
        foam=foam,
        altitude=build.van.altitude,
    )
    density, warmth = float(water_density.si(hot)), float(water_specific_heat.si(hot))
    content = content_per_length.work(diameter=row.number("bore"))
    of_wall = Steps()
    wall = wall_of(build, run.tube, hot, of_wall)
    cooling = cooling_constant.work(
        volume_per_length=content.value,
        density=density,
        specific_heat=warmth,
        number_wall=wall,
        resistance_per_length=lost.resistance,
    )
    works = (content, *of_wall, *lost.works.values(), cooling)
    return RunHeat(run, content.value * run.length, wall, cooling.value, lost.power, air, works)


def wall_of(build: Build, tube: Any, hot: Any, steps: Steps) -> Any:
    """Heat that warms a tube's wall over heat that warms the water in it; arrays of variants too.

    ``tube`` is a row of the tubes, or an array of them; ``hot`` the water's temperature, K.
    """
    return steps.of(
        wall_heat_ratio,
        density_wall=pick(build, "tubes", tube, "density", WALL_DENSITY),
        specific_heat_wall=pick(build, "tubes", tube, "specific_heat", WALL_HEAT),
        diameter_outside=pick(build, "tubes", tube, "od"),
        diameter_inside=pick(build, "tubes", tube, "bore"),
        density=water_density.si(hot),
        specific_heat=water_specific_heat.si(hot),
    )


@dataclass(frozen=True)
class Segments:
    """Runs of hot water joined into segments, by number.

    ``paths`` has those of each fixture in use, ``before`` how many of them come before mixing,
    ``of_leg`` the segment of each leg by its key, ``mixed`` the legs behind a mixing valve.
    """

    parts: tuple[Segment, ...]
    paths: dict[str, tuple[int, ...]]
    before: dict[str, int]
    of_leg: dict[int | str, int]
    mixed: frozenset[int | str]


def segments(
    build: Build,
    found: dict[str, HotWay],
    used: set[str],
    hot: float,
    loops: Sequence[Sequence[int]] = (),
) -> Segments:
    """Runs joined into segments that serve the same fixtures, for the fixtures in use.

    What stands in headers and valves on their ways goes with them.  Those of ``loops`` that hot
    water is brought round, by numbers of runs, are kept apart from others, and are there whether
    a fixture is behind them or not.
    """
    round_legs = [along(build, one) for one in loops]
    rounds: dict[int | str, frozenset[int]] = {}
    for n, some in enumerate(round_legs):
        for leg in some:
            rounds[leg.key] = rounds.get(leg.key, frozenset()) | {n}
    serves: dict[int | str, frozenset[str]] = {}
    mixed: dict[int | str, bool] = {}
    legs = {name: along(build, way.runs) for name, way in found.items() if name in used}
    for name, some in legs.items():
        after = found[name].runs[found[name].mixed_from :]
        for leg in some:
            serves[leg.key] = serves.get(leg.key, frozenset()) | {name}
            mixed[leg.key] = leg.number in after

    def sort(leg: Leg) -> tuple[object, ...]:
        return serves[leg.key], mixed[leg.key], rounds.get(leg.key)

    made: list[Segment] = []
    of_leg: dict[int | str, int] = {}
    paths: dict[str, tuple[int, ...]] = {}
    before: dict[str, int] = {}
    for name in sorted(legs):
        groups: list[list[Leg]] = []
        for leg in legs[name]:
            if groups and sort(groups[-1][0]) == sort(leg):
                groups[-1].append(leg)
            else:
                groups.append([leg])
        for group in groups:
            if group[0].key not in of_leg:
                made.append(_joined(build, group, hot))
                of_leg |= dict.fromkeys((leg.key for leg in group), len(made) - 1)
        paths[name] = tuple(dict.fromkeys(of_leg[leg.key] for leg in legs[name]))
        before[name] = sum(not mixed[g[0].key] for g in groups)
    for some in round_legs:
        for leg in some:
            if leg.key not in of_leg:
                made.append(_joined(build, [leg], hot))
                of_leg[leg.key] = len(made) - 1
    behind = frozenset(key for key, is_mixed in mixed.items() if is_mixed)
    return Segments(tuple(made), paths, before, of_leg, behind)


def _joined(build: Build, group: Sequence[Leg], hot: float) -> Segment:
    parts = [run_heat(build, leg.run(build), hot) for leg in group]
    held = sum(p.held for p in parts)
    leak = sum(p.held / p.cooling for p in parts)
    return Segment(
        name=" and ".join(_words(build, group)),
        content=sum(p.content for p in parts),
        held=held,
        cooling=held / leak,
        air=sum(p.held / p.cooling * p.air for p in parts) / leak,
        length=sum(p.run.length for p in parts),
    )


def _words(build: Build, group: Sequence[Leg]) -> list[str]:
    """The runs of a group; what it passes where there are none."""
    runs = [run_words(build, leg.number) for leg in group if leg.stretch is None]
    return runs or [leg.stretch.name for leg in group if leg.stretch is not None]
