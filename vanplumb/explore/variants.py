"""Variants of one build with their results, worked out in batches.

Which sums a result needs, what they depend on, and how variants share them.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..board.as_laid import on_its_board
from ..flow.changed_build import find, vary
from ..van.model import Build
from ..van.problems import nearest
from ..words.show import counted, heading, show
from ..words.show import value as in_unit
from . import sums
from .choices import Axis, axes, label, told
from .sums import LESS, MORE, Measure, measures, outflow
from .unbeaten import unbeaten

if TYPE_CHECKING:
    import pandas as pd

    from ..pack import Pack

Array = NDArray[Any]


AT_ONCE = 1000
"""Variants in one batch of flow: more leave the processor's cache and are slower."""
PACKS = 16
"""Packs of variants that are kept with what was worked out."""

_TANK = ("tank.*",)
_HEATER = ("heater.*", "van.cold_water")
_FLOW = (
    *(f"tank.*.{key}" for key in (
        "shape", "holds", "length", "width", "height", "diameter", "step_length", "step_height",
        "height_low", "volume", "fill_share", "pickup_height")),
    "heater.*", "run.*",
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

    work: Callable[[Build], dict[str, Array | float]]
    looks_at: tuple[str, ...]
    one_by_one: tuple[str, ...] = ()
    at_once: int = 10**9

    def needs(self, axis: Axis) -> bool:
        return any(fnmatchcase(p, pattern) for p in axis.paths for pattern in self.looks_at)

    def apart(self, axis: Axis) -> bool:
        """Whether the values of a choice are worked out one after the other."""
        if any(fnmatchcase(p, pattern) for p in axis.paths for pattern in self.one_by_one):
            return True
        rows = axis.kind == "row" and axis.table in ("tubes", "valves")
        if axis.kind not in ("quantity", "number", "count") and not rows:
            return not (self.at_once < 10**9 and axis.table == "pumps")
        return False


GROUPS = {
    "water": Group(
        sums.water, (*_TANK, "crew.*", "use.*", "fixture.*"), ("use.*.per_*",)
    ),
    "heater": Group(
        sums.heating, (*_HEATER, "fixture.*.temperature", "mixing_valve.*.setting")
    ),
    "energy": Group(
        sums.energy,
        (*_HEATER, "crew.*", "use.*", "fixture.*", "pump.*", "battery.*", "fuel.*"),
        ("use.*.per_*", "pump.*"),
    ),
    "cost": Group(sums.cost, ("pump.*.curve", "run.*")),
}  # fmt: skip


_STOPS = ("zone.*.opening", "shut_off.*.opening")
"""What may shut the way of hot water: which taps it gets to is not found in an array."""

_WEIGHT = ("tank.*", "pump.*", "accumulator.*", "heater.*", "run.*", "line_part.*", "fuel.*",
           "van.cold_water", "van.payload")  # fmt: skip


def group(name: str, build: Build) -> Group:
    """The sums of a group.  KeyError for an unknown one."""
    if name == "weight":
        return Group(
            partial(sums.weights, carried=_carried(build)), _WEIGHT, ("run.*", "line_part.*")
        )
    if name.startswith("flow "):
        return Group(partial(outflow, fixture=name[5:]), _FLOW, _STOPS, at_once=AT_ONCE)
    one = GROUPS[name]
    by_heater = name == "energy" and len(build.heater) > 1  # each gives its part by the network
    if by_heater or (name in ("water", "energy") and sums.lasts_by_duration(build)):
        apart = (*one.one_by_one, *_STOPS)
        return Group(one.work, (*one.looks_at, *_FLOW), apart, at_once=AT_ONCE)
    return one


_KEPT: list[sums.Carried] = []
"""What the lists of the last few builds weigh: a base is asked for beside its variants."""


def _carried(build: Build) -> sums.Carried:
    for one in _KEPT:
        if one.base is build:
            return one
    _KEPT.append(sums.Carried(build))
    del _KEPT[:-4]
    return _KEPT[-1]


def evaluate(
    build: Build, axes: Sequence[Axis], size: int, groups: Sequence[str]
) -> dict[str, Array]:
    """All results of some groups, each an array of shape (size,)."""
    found: dict[str, Array] = {}
    varied: dict[Any, Build] = {}
    for name in groups:
        one = group(name, build)
        mine = [axis for axis in axes if one.needs(axis)]
        first, back = _distinct(mine, size)
        distinct: dict[str, Array] = {}
        for chosen, fixed in _together(one, mine, first):
            for part in _pieces(chosen, one.at_once):
                several = {
                    path: axis.values[axis.codes[first[part]]]
                    for axis in mine if not one.apart(axis) for path in axis.paths
                }  # fmt: skip
                here = {**fixed, **several}
                same = tuple((path, np.asarray(v).tobytes()) for path, v in sorted(here.items()))
                if same not in varied:  # groups that vary alike share what is solved for it
                    if len(varied) == sums.SOLVED_BUILDS:
                        varied.clear()
                    varied[same] = vary(build, here)
                done = one.work(varied[same])
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


def explore(
    build: Build,
    choices: Mapping[str | tuple[str, ...], Any],
    results: Iterable[str] = (),
    *,
    sample: int = 0,
    seed: int = 1,
) -> Variants:
    """Every combination of some choices, or ``sample`` random ones, with their results.

    ``choices`` maps a path (or several that change together) to a list of values or a
    ``span``.  ``results`` are keys of ``measures(build)``, all of them if empty.  ValueError
    lists every path and value that can't be; KeyError for a result that does not exist.
    """
    return Variants(build, axes(build, choices, sample=sample, seed=seed), results)


class Variants:
    """Variants of ``build``; ``values`` has each result as an array of shape (variants,), SI.

    ``base`` has the results of the build as it is.
    """

    def __init__(self, build: Build, chosen: Sequence[Axis], results: Iterable[str] = ()) -> None:
        self.build = build = on_its_board(build)
        self.axes = tuple(chosen)
        known = measures(build)
        wanted = list(results) or list(known)
        for key in wanted:
            if key not in known:
                raise KeyError(f"no result {key!r}{nearest(key, list(known))}")
        self.measures: dict[str, Measure] = {key: known[key] for key in wanted}
        groups = list(dict.fromkeys(m.group for m in self.measures.values()))
        self.size = len(self.axes[0].codes) if self.axes else 1
        found = evaluate(build, self.axes, self.size, groups)
        nothing = np.full(self.size, np.nan)
        self.values: dict[str, Array] = {key: found.get(key, nothing) for key in wanted}
        self._packs: OrderedDict[int, Pack] = OrderedDict()

    def __repr__(self) -> str:
        size, results = counted(self.size, "variant"), counted(len(self.measures), "result")
        return f"{size} of {self.build.van.name}, {results} each"

    def __len__(self) -> int:
        return self.size

    @cached_property
    def base(self) -> dict[str, float]:
        """The results of the build as it is."""
        groups = list(dict.fromkeys(m.group for m in self.measures.values()))
        found = evaluate(self.build, (), 1, groups)
        return {key: float(found[key][0]) if key in found else np.nan for key in self.measures}

    def changes(self, variant: int) -> dict[str, Any]:
        """What a variant changes: path to SI float or text."""
        self._within(variant)
        return {
            path: _plain(axis.values[axis.codes[variant]])
            for axis in self.axes
            for path in axis.paths
        }

    def build_of(self, variant: int) -> Build:
        """The build of one variant."""
        return vary(self.build, self.changes(variant))

    def pack_of(self, variant: int) -> Pack:
        """The pack of one variant; those asked for last are kept with what was worked out."""
        from ..pack import Pack

        if variant not in self._packs:
            self._packs[variant] = Pack(self.build_of(variant))
        self._packs.move_to_end(variant)
        while len(self._packs) > PACKS:
            self._packs.popitem(last=False)
        return self._packs[variant]

    @cached_property
    def pack_of_base(self) -> Pack:
        """The pack of the build as it is."""
        from ..pack import Pack

        return Pack(self.build)

    def texts(self, variant: int) -> dict[str, str]:
        """What a variant chooses, in the reader's units, by the choice's name."""
        self._within(variant)
        return {axis.label: axis.text(variant, self.build.van.units) for axis in self.axes}

    def shown(self, key: str, variant: int) -> str:
        """One result of one variant in the reader's units."""
        return self.in_words(key, float(self.values[key][variant]))

    def in_words(self, key: str, figure: float) -> str:
        """A figure of a result in the reader's units."""
        if not np.isfinite(figure):
            return "none"
        return show(figure, self.measures[key].word, self.build.van.units)

    def unbeaten(self, objectives: Iterable[str] | Mapping[str, str]) -> Array:
        """Numbers of the variants that no other beats in all of some results.

        With a mapping each result says which way is better: "less" or "more".  ValueError
        where neither it nor the result itself says so.
        """
        return np.flatnonzero(unbeaten(self.costs(objectives)))

    def costs(self, objectives: Iterable[str] | Mapping[str, str]) -> Array:
        """Results with their signs turned so that less is better, shape (variants, objectives)."""
        ways = (
            dict(objectives) if isinstance(objectives, Mapping) else dict.fromkeys(objectives, "")
        )
        rows = []
        for key, way in ways.items():
            if key not in self.measures:
                raise KeyError(f"no result {key!r}{nearest(key, list(self.measures))}")
            better = way or self.measures[key].better
            if better not in (LESS, MORE):
                raise ValueError(f'{key}: say whether "less" or "more" is better')
            rows.append(self.values[key] if better == LESS else -self.values[key])
        return np.stack(rows, axis=1) if rows else np.zeros((self.size, 0))

    def frame(self, variants: Iterable[int] | None = None) -> pd.DataFrame:
        """Choices and results as a table in the reader's units, one row a variant."""
        import pandas as pd

        system = self.build.van.units
        rows = np.arange(self.size) if variants is None else np.asarray(list(variants), int)
        table: dict[str, Any] = {}
        for axis in self.axes:
            column = axis.column[rows]
            table[heading(axis.label, axis.word, system)] = (
                in_unit(np.asarray(column, float), axis.word, system) if axis.word else column
            )
        for key, one in self.measures.items():
            found = in_unit(np.asarray(self.values[key][rows], float), one.word, system)
            table[heading(one.label, one.word, system)] = found
        return pd.DataFrame(table, index=pd.Index(rows, name="variant"))

    def plot(self, x: str, y: str, ax: Any = None) -> Any:
        """Every variant over two of the results, on matplotlib axes.  Gives the axes.

        KeyError for a result that was not worked out.
        """
        from ..drawings.plots import variants_plot

        best = self.unbeaten([x, y])
        return variants_plot(
            (self.values[x], self.values[y]),
            (self.measures[x].word, self.measures[y].word),
            (self.measures[x].label, self.measures[y].label),
            best,
            (self.base[x], self.base[y]),
            self.build.van.units,
            f"{self.build.van.name}: {counted(self.size, 'variant')}",
            ax,
        )

    def _within(self, variant: int) -> None:
        if not 0 <= variant < self.size:
            raise IndexError(f"variant must be 0 to {self.size - 1}, got {variant}")


def differs(build: Build, changes: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Of some changes those that differ from the build: name to (as it is, as changed)."""
    system = build.van.units
    found = {}
    for path, new in changes.items():
        section, place, name, entry = find(build, path)
        held = getattr(build, section)
        old = getattr(held[place] if isinstance(held, tuple) else held, name)
        same = old == new if isinstance(new, str) or old is None else np.isclose(old, new)
        if not same:
            before = "not said" if old is None else told(old, entry.word, system)
            found[label(build, (path,))] = (before, told(new, entry.word, system))
    return found


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic) else value
