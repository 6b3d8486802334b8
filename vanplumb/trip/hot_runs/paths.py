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
    ``of_run`` the segment of each run, ``mixed`` the runs behind a mixing valve.
    """

    parts: tuple[Segment, ...]
    paths: dict[str, tuple[int, ...]]
    before: dict[str, int]
    of_run: dict[int, int]
    mixed: frozenset[int]


def segments(
    build: Build,
    found: dict[str, HotWay],
    used: set[str],
    hot: float,
    loops: Sequence[Sequence[int]] = (),
) -> Segments:
    """Runs joined into segments that serve the same fixtures, for the fixtures in use.

    Those of ``loops`` that hot water is brought round, by numbers of runs, are kept apart from
    others, and are there whether a fixture is behind them or not.
    """
    rounds = {run: frozenset(n for n, one in enumerate(loops) if run in one)
              for one in loops for run in one}  # fmt: skip
    serves: dict[int, frozenset[str]] = {}
    mixed: dict[int, bool] = {}
    for name, way in found.items():
        if name in used:
            for place, index in enumerate(way.runs):
                serves[index] = serves.get(index, frozenset()) | {name}
                mixed[index] = place >= way.mixed_from

    def key(run: int) -> tuple[object, ...]:
        return serves[run], mixed[run], rounds.get(run)

    made: list[Segment] = []
    of_run: dict[int, int] = {}
    paths: dict[str, tuple[int, ...]] = {}
    before: dict[str, int] = {}
    for name in sorted(set(found) & used):
        way = found[name]
        groups: list[list[int]] = []
        for index in way.runs:
            if groups and key(groups[-1][0]) == key(index):
                groups[-1].append(index)
            else:
                groups.append([index])
        for group in groups:
            if group[0] not in of_run:
                made.append(_joined(build, group, hot))
                of_run |= dict.fromkeys(group, len(made) - 1)
        paths[name] = tuple(dict.fromkeys(of_run[i] for i in way.runs))
        before[name] = sum(not mixed[g[0]] for g in groups)
    for run in rounds:
        if run not in of_run:
            made.append(_joined(build, [run], hot))
            of_run[run] = len(made) - 1
    behind = frozenset(run for run, is_mixed in mixed.items() if is_mixed)
    return Segments(tuple(made), paths, before, of_run, behind)


def _joined(build: Build, group: Sequence[int], hot: float) -> Segment:
    parts = [run_heat(build, build.run[i], hot) for i in group]
    held = sum(p.held for p in parts)
    leak = sum(p.held / p.cooling for p in parts)
    return Segment(
        name=" and ".join(run_words(build, i) for i in group),
        content=sum(p.content for p in parts),
        held=held,
        cooling=held / leak,
        air=sum(p.held / p.cooling * p.air for p in parts) / leak,
        length=sum(p.run.length for p in parts),
    )
