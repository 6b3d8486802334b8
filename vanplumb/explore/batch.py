"""Which sums a result needs, what they depend on, and how variants share them.

Variants that agree in all that a group of sums looks at are worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import partial
from typing import Any

import numpy as np

from ..build.model import Build
from ..flow.vary import vary
from . import sums
from .choices import Axis
from .outflow import outflow
from .waiting import waits

Array = Any

AT_ONCE = 1000
"""Variants in one batch of flow: more leave the processor's cache and are slower."""

_TANK = ("tank.*",)
_HEATER = ("heater.*", "van.cold_water")
_FLOW = (
    *(f"tank.*.{key}" for key in (
        "shape", "holds", "length", "width", "height", "diameter", "step_length", "step_height",
        "height_low", "volume", "fill_share", "pickup_height")),
    *(f"heater.*.{key}" for key in (
        "kind", "setpoint", "kv", "burner_power", "burner_efficiency", "element_power",
        "coolant_power", "flow_least")),
    *(f"run.*.{key}" for key in ("from", "to", "tube", "length", "rise", "fittings")),
    *(f"pump.*.{key}" for key in (
        "kind", "curve*", "voltage", "supply_voltage", "cut_in", "cut_out", "stroke*", "lift",
        "check")),
    *(f"fixture.*.{key}" for key in (
        "kind", "flow", "flow_pressure", "temperature", "limited")),
    "strainer.*", "check_valve.*", "shut_off.*", "regulator.*", "manifold.*", "zone.*",
    "mixing_valve.*", "shore_inlet.*", "van.cold_water",
)  # fmt: skip


@dataclass(frozen=True)
class Group:
    """Some sums, the paths that they look at, and those they can't take as arrays."""

    work: Callable[[Build], dict[str, Array]]
    looks_at: tuple[str, ...]
    one_by_one: tuple[str, ...] = ()
    at_once: int = 10**9

    def needs(self, axis: Axis) -> bool:
        return any(fnmatchcase(p, pattern) for p in axis.paths for pattern in self.looks_at)

    def apart(self, axis: Axis) -> bool:
        """Whether the values of a choice are worked out one after the other."""
        rows = axis.kind == "row" and axis.table in ("tubes", "valves")
        if axis.kind not in ("quantity", "number", "count") and not rows:
            return not (self.at_once < 10**9 and axis.table == "pumps")
        return any(fnmatchcase(p, pattern) for p in axis.paths for pattern in self.one_by_one)


GROUPS = {
    "weight": Group(
        sums.weights,
        ("tank.*", "pump.*", "accumulator.*", "heater.*", "run.*", "fuel.*", "van.cold_water",
         "van.payload"),
    ),
    "water": Group(
        sums.water, (*_TANK, "crew.*", "use.*", "fixture.*"), ("use.*.per_*",)
    ),
    "heater": Group(
        sums.heating, (*_HEATER, "fixture.*.temperature", "mixing_valve.*.setting")
    ),
    "wait": Group(
        waits,
        ("run.*", "heater.*", "fixture.*", "mixing_valve.*", "zone.*.opening",
         "shut_off.*.opening", "van.cold_water"),
        ("zone.*", "shut_off.*"),
    ),
    "energy": Group(
        sums.energy,
        (*_HEATER, "crew.*", "use.*", "fixture.*", "pump.*", "battery.*", "fuel.*"),
        ("use.*.per_*", "pump.*"),
    ),
    "cost": Group(sums.cost, ("pump.*.curve", "run.*")),
}  # fmt: skip


def group(name: str) -> Group:
    """The sums of a group.  KeyError for an unknown one."""
    if name.startswith("flow "):
        return Group(partial(outflow, fixture=name[5:]), _FLOW, at_once=AT_ONCE)
    return GROUPS[name]


def evaluate(
    build: Build, axes: Sequence[Axis], size: int, groups: Sequence[str]
) -> dict[str, Array]:
    """All results of some groups, each an array of shape (size,)."""
    found: dict[str, Array] = {}
    for name in groups:
        one = group(name)
        mine = [axis for axis in axes if one.needs(axis)]
        first, back = _distinct(mine, size)
        distinct: dict[str, Array] = {}
        for chosen, fixed in _together(one, mine, first):
            for part in _pieces(chosen, one.at_once):
                several = {
                    path: axis.values[axis.codes[first[part]]]
                    for axis in mine if not one.apart(axis) for path in axis.paths
                }  # fmt: skip
                done = one.work(vary(build, {**fixed, **several}))
                for key, figure in done.items():
                    whole = distinct.setdefault(key, np.full(len(first), np.nan))
                    whole[part] = figure
        found |= {key: whole[back] for key, whole in distinct.items()}
    return found


def _distinct(axes: Sequence[Axis], size: int) -> tuple[Array, Array]:
    """The first variant of each combination of some choices, and where each variant has its own."""
    code = np.zeros(size, np.int64)
    for axis in axes:
        _, code = np.unique(code * len(axis.values) + axis.codes, return_inverse=True)
    _, first, back = np.unique(code, return_index=True, return_inverse=True)
    return first, back


def _together(
    one: Group, axes: Sequence[Axis], first: Array
) -> Iterator[tuple[Array, dict[str, Any]]]:
    """Places of variants that go in one batch, with the values that they share."""
    apart = [axis for axis in axes if one.apart(axis)]
    _, back = _distinct(
        [Axis(a.label, a.paths, a.word, a.kind, a.table, a.values, a.codes[first]) for a in apart],
        len(first),
    )
    order = np.argsort(back, kind="stable")
    edges = np.flatnonzero(np.diff(back[order])) + 1
    for chosen in np.split(order, edges):
        fixed: dict[str, Any] = {}
        for axis in apart:
            value = axis.values[axis.codes[first[chosen[0]]]]
            fixed |= dict.fromkeys(axis.paths, value.item() if hasattr(value, "item") else value)
        yield chosen, fixed


def _pieces(chosen: Array, at_once: int) -> Iterator[Array]:
    for start in range(0, len(chosen), at_once):
        yield chosen[start : start + at_once]
