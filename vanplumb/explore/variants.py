"""Variants of one build with their results, worked out in batches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from ..build.model import Build
from ..build.problems import nearest
from ..flow.vary import find, vary
from ..words.show import counted, show, unit
from ..words.show import value as in_unit
from .batch import evaluate
from .best import unbeaten
from .choices import Axis, axes, label, told
from .measures import LESS, MORE, Measure, measures

if TYPE_CHECKING:
    import pandas as pd

    from ..pack import Pack

Array = Any


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
        self.build = build
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
        """The pack of one variant."""
        from ..pack import Pack

        return Pack(self.build_of(variant))

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
            table[_head(axis.label, axis.word, system)] = (
                _scaled(column, axis.word, system) if axis.word else column
            )
        for key, one in self.measures.items():
            found = _scaled(self.values[key][rows], one.word, system)
            table[_head(one.label, one.word, system)] = found
        return pd.DataFrame(table, index=pd.Index(rows, name="variant"))

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


def _head(name: str, word: str, system: str) -> str:
    mark = unit(word, system) if word else ""
    return f"{name}, {mark}" if mark else name


def _scaled(column: Array, word: str, system: str) -> Array:
    """A column of SI figures in the reader's unit: every unit is a line from SI."""
    zero, one = in_unit(0.0, word, system), in_unit(1.0, word, system)
    return zero + (one - zero) * np.asarray(column, float)
