"""Why a variant stands where it does: what it changes, what limits each result, what to trade."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..pack import Pack
from ..trip.hot_runs.paths import run_heat
from ..van.main_parts import main_heater
from ..van.trace import title
from ..words.show import show
from .variants import Variants, differs

Array = NDArray[Any]


@dataclass(frozen=True)
class Limit:
    """One result of a variant and what decides it."""

    key: str
    label: str
    shown: str
    by: str


@dataclass(frozen=True)
class Trade:
    """Another variant that is better in one result, and what that costs in the others."""

    key: str
    variant: int
    text: str


@dataclass(frozen=True, repr=False)
class Reason:
    """Why a variant stands where it does.

    ``changes`` maps a name to (as the build is, as the variant has it); ``beaten_by`` is a
    variant that is nowhere worse and somewhere better, None if there is none.
    """

    variant: int
    changes: Mapping[str, tuple[str, str]]
    limits: tuple[Limit, ...]
    trades: tuple[Trade, ...]
    beaten_by: int | None

    def __repr__(self) -> str:
        lines = [f"variant {self.variant}" + (": the build as it is" if not self.changes else "")]
        lines += [f"  {name}: {old} → {new}" for name, (old, new) in self.changes.items()]
        lines += [f"  {one.label} {one.shown}: {one.by}" for one in self.limits if one.by]
        if self.beaten_by is not None:
            lines.append(f"  variant {self.beaten_by} is nowhere worse and somewhere better")
        lines += [f"  {one.text}" for one in self.trades]
        return "\n".join(lines)


def reason(
    variants: Variants,
    variant: int,
    objectives: Iterable[str] | Mapping[str, str],
    *,
    limits: bool = True,
) -> Reason:
    """Why a variant stands where it does among some results.  IndexError for an unknown one.

    What limits each result asks the engines of that one variant, which takes about a second;
    without ``limits`` it is left out, and the rest is read from what all variants have.
    """
    changes = variants.changes(variant)
    keys = list(objectives)
    decided = limited_by(variants.pack_of(variant), keys) if limits else {}
    told = tuple(
        Limit(key, variants.measures[key].label, variants.shown(key, variant), by)
        for key, by in decided.items()
    )
    costs = variants.costs(objectives)
    own = costs[variant]
    with np.errstate(invalid="ignore"):
        beats = np.all(costs <= own, axis=1) & np.any(costs < own, axis=1)
    scaled = _scaled(costs)
    beaten = None
    if np.any(beats):
        beaten = int(np.argmin(np.where(beats, scaled.sum(axis=1), np.inf)))
    trades = () if beaten is not None else _trades(variants, variant, keys, costs, scaled)
    return Reason(variant, differs(variants.build, changes), told, tuple(trades), beaten)


def _trades(
    variants: Variants, variant: int, keys: list[str], costs: Array, scaled: Array
) -> list[Trade]:
    """For each result the variant that is better in it and loses least in the others."""
    found = []
    for place, key in enumerate(keys):
        better = costs[:, place] < costs[variant, place]
        if not np.any(better):
            continue
        others = np.delete(scaled, place, axis=1) - np.delete(scaled[variant], place)
        lost = np.maximum(others, 0.0).sum(axis=1)
        other = int(np.nanargmin(np.where(better, lost, np.inf)))
        worse = [k for i, k in enumerate(keys) if costs[other, i] > costs[variant, i]]
        if not np.isfinite(lost[other]) or not worse:
            continue
        pairs = [
            (variants.measures[k].label, variants.shown(k, variant), variants.shown(k, other))
            for k in [key, *worse]
        ]
        told = ", ".join(f"{label} {own} → {then}" for label, own, then in pairs if own != then)
        if not told:  # better by less than is worth printing
            continue
        found.append(Trade(key, other, f"variant {other} instead: {told}"))
    return found


def _scaled(costs: Array) -> Array:
    low, high = np.nanmin(costs, axis=0), np.nanmax(costs, axis=0)
    return (costs - low) / np.where(high > low, high - low, 1.0)


def limited_by(pack: Pack, keys: Iterable[str]) -> dict[str, str]:
    """What decides each of some results of a build, in a few words; empty where nothing does."""
    system = pack.build.van.units
    found: dict[str, str] = {}
    for key in keys:
        name, _, fixture = key.partition(" ")
        if name in ("flow", "pressure"):
            found[key] = _way(pack, fixture)
        elif name == "wait":
            found[key] = _wait(pack, fixture)
        elif key in ("weight", "share"):
            heavy = max(pack.weight.loads, key=lambda load: load.mass)
            found[key] = f"{heavy.name} is {show(heavy.mass, 'mass', system)} of it"
        elif key == "nights":
            found[key] = _nights(pack, system)
        elif key in ("heating", "mixed"):
            found[key] = _heater(pack, key, system)
        elif key == "energy":
            found[key] = _energy(pack, system)
        elif key == "fuel":
            heat = pack.budget.heat
            some = show(heat.lost_day, "heat", system)
            found[key] = f"{some} of the day's heat gets to no tap"
        else:
            found[key] = ""
    return found


def _way(pack: Pack, fixture: str) -> str:
    try:
        worst = pack.flow.limits(fixture).worst
    except ValueError as error:
        return str(error)
    lost = show(worst.loss, "pressure_loss", pack.build.van.units)
    return f"{worst.title} takes most of the pressure on the way, {lost}"


def _wait(pack: Pack, fixture: str) -> str:
    build, reached = pack.build, pack.trip.taps.hot
    if fixture not in reached:
        return ""
    heater, way = reached[fixture].heater, reached[fixture].way
    held = {n: run_heat(build, build.run[n], heater.setpoint).held for n in way.runs}
    most = max(held, key=lambda n: held[n])
    share = held[most] / sum(held.values())
    run = build.run[most]
    told = show(share, "share")
    return f"{title(build, most)} ({run.tube}) holds {told} of the cold water on the way"


def _nights(pack: Pack, system: str) -> str:
    water = pack.water
    takes = {use.habit.name: use.volume_day for use in water.uses}
    takes["drinking and cooking"] = water.drinking_day
    takes["water run off waiting for hot"] = water.run_off_day
    most = max(takes, key=lambda name: takes[name])
    share = takes[most] / water.volume_day if water.volume_day else 0.0
    usable, told = show(water.usable, "volume", system), show(share, "share")
    return f"{most} takes {told} of a day's water, from {usable} that the pump can reach"


def _heater(pack: Pack, key: str, system: str) -> str:
    main = main_heater(pack.build)
    if main is None:
        return ""
    one = next(facts for facts in pack.heater if facts.name == main.name)
    if key == "mixed" or not one.sources:
        return "" if one.usable is None else f"{show(one.usable, 'volume', system)} come out hot"
    source = one.sources[0]
    power = show(source.power * source.efficiency, "power", system)
    return f"the {source.label} gives the water {power}"


def _energy(pack: Pack, system: str) -> str:
    electric = pack.electric
    takes = {
        "the pump": electric.pump_day,
        "the heater's element": electric.element_day,
        "the burner's fan and valve": electric.burner_day,
        "all that is not water": electric.other_day,
    }
    most = max(takes, key=lambda name: takes[name])
    return f"{most} takes {show(takes[most], 'energy', system)} of it"
