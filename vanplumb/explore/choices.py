"""What is usually weighed against each other in a build, where nobody says otherwise.

What may differ between variants of a build: lists, ranges and rows of tables, by path.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..flow.changed_build import find, values
from ..van.entries import Entry
from ..van.hot_ways import hot_ways
from ..van.kinds import heaters, pumps
from ..van.main_parts import main_heater
from ..van.model import Build
from ..van.trace import title
from ..words.glossary import word
from ..words.quantity import QuantityError, read
from ..words.show import out_of_bounds, show
from ..words.tables import Row, table

Array = NDArray[Any]

MOST = 100_000
"""Variants of one grid; more than that is asked for as a sample."""


@dataclass(frozen=True)
class Span:
    """From one value to another in ``count`` even steps, both ends among them."""

    low: float | str
    high: float | str
    count: int = 9


def span(low: float | str, high: float | str, count: int = 9) -> Span:
    """A range of values, as texts with units or SI floats.  ValueError below two steps.

    Finer steps cost time where they change what flows: about half a millisecond for each
    combination of such choices.
    """
    _steps(count)
    return Span(low, high, count)


def _steps(count: int) -> None:
    if not 2 <= count <= MOST:
        raise ValueError(f"a range needs 2 to {MOST} steps, got {count}")


@dataclass(frozen=True)
class Axis:
    """One choice: what it changes, and which of its values each variant has.

    ``values`` are SI floats or texts; ``codes`` has shape (variants,) and picks from them.
    All ``paths`` get the same value.
    """

    label: str
    paths: tuple[str, ...]
    word: str
    kind: str
    table: str
    values: Array
    codes: Array

    @property
    def column(self) -> Array:
        """The value of each variant, shape (variants,)."""
        return self.values[self.codes]

    def text(self, variant: int, system: str) -> str:
        """The value of one variant as the reader sees it."""
        return told(self.values[self.codes[variant]], self.word, system)


def told(value: Any, name: str, system: str) -> str:
    """A value of a build as the reader sees it."""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if name and not isinstance(value, str):
        return show(float(value), name, system)
    return f"{value:g}" if isinstance(value, float) else str(value)


def axes(
    build: Build,
    choices: Mapping[str | tuple[str, ...], Any],
    *,
    sample: int = 0,
    seed: int = 1,
) -> tuple[Axis, ...]:
    """The choices of a whole grid, or of ``sample`` random places in it, with their codes.

    A key is a path such as ``"heater.heater.volume"``, or several that change together.
    ValueError lists every path that names nothing and every value that can't be.
    """
    problems: list[str] = []
    generator = np.random.default_rng(seed)
    made: list[tuple[tuple[str, ...], Entry, Array]] = []
    for key, given in choices.items():
        paths = (key,) if isinstance(key, str) else tuple(key)
        try:
            entries = [find(build, path)[3] for path in paths]
            made.append((paths, entries[0], _listed(build, given, entries[0])))
            if len({(e.kind, e.word, e.table) for e in entries}) > 1:
                problems.append(f"{', '.join(paths)}: are not of one kind")
        except (KeyError, QuantityError, ValueError, TypeError) as error:
            problems.append(f"{', '.join(paths)}: {error.args[0] if error.args else error}")
    if problems:
        raise ValueError("; ".join(problems))
    sizes = [len(found) for _, _, found in made]
    count = sample or int(np.prod(sizes, dtype=float))
    if count > MOST:
        raise ValueError(
            f"these choices make {count} variants; {MOST} is the most. Take fewer values, or a "
            "sample of them"
        )
    if sample:
        codes = [generator.integers(0, n, sample) for n in sizes]
    else:
        grid = np.meshgrid(*(np.arange(n) for n in sizes), indexing="ij")
        codes = [one.ravel() for one in grid]
    return tuple(
        Axis(label(build, paths), paths, entry.word, entry.kind, entry.table, found, code)
        for (paths, entry, found), code in zip(made, codes, strict=True)
    )


def label(build: Build, paths: tuple[str, ...]) -> str:
    """What a choice is called: "fresh, height", "heater to hot manifold, tube"."""
    part, _, key = paths[0].rpartition(".")
    kind, _, name = part.partition(".")
    if kind == "run" and name.isdigit():
        name = title(build, int(name) - 1)
    more = f" and {len(paths) - 1} more" if len(paths) > 1 else ""
    return f"{name or kind}{more}, {key.replace('_', ' ')}"


def _listed(build: Build, given: Any, entry: Entry) -> Array:
    """The values of one choice: SI floats, or an array of texts and flags."""
    if isinstance(given, Span):
        if not entry.word:
            raise ValueError("a range needs a quantity; list the values instead")
        _steps(given.count)
        ends = (given.low, given.high)
        low, high = (read(v, entry.word) if isinstance(v, str) else v for v in ends)
        found = np.linspace(low, high, given.count)
        _bounds(found, entry)
        return found
    if isinstance(given, str) or not isinstance(given, Iterable):
        given = [given]
    listed = list(islice(given, MOST + 1))
    if len(listed) > MOST:
        raise ValueError(f"has more than {MOST} values")
    if not listed:
        raise ValueError("names no value")
    if entry.word:
        found = np.asarray(values(listed, entry), float)
        _bounds(found, entry)
        return found
    if entry.kind == "count":
        return np.asarray([int(v) for v in listed])
    if entry.kind == "row":
        known = table(entry.table, build.rows)
        strange = [v for v in listed if v not in known]
        if strange:
            raise ValueError(f"no row {strange[0]!r} in {entry.table}")
    if entry.options and (strange := [v for v in listed if v not in entry.options]):
        raise ValueError(f"must be one of {', '.join(entry.options)}, got {strange[0]!r}")
    found = np.empty(len(listed), object)
    found[:] = listed
    return found


def _bounds(found: Array, entry: Entry) -> None:
    """ValueError where a value is outside what a build file may say."""
    if not np.isfinite(found).all():
        raise ValueError("has a value that is no number")
    for value in (float(found.min()), float(found.max())):
        wrong = out_of_bounds(word(entry.word), value)
        low, high = entry.low, entry.high
        if not wrong and low is not None and value < low:
            wrong = f"must be {show(low, entry.word, 'SI')} or more"
        if not wrong and high is not None and value > high:
            wrong = f"must be {show(high, entry.word, 'SI')} or less"
        if wrong:
            raise ValueError(f"{wrong}, got {show(value, entry.word, 'SI')}")


CHOICES = dict[str | tuple[str, ...], Any]


def usual(build: Build) -> CHOICES:
    """Tank size, heater, setpoint, pump, hot tube, shower and crew, as far as the build has them.

    About three thousand variants.  Pumps and tubes are those of the tables that are of the same
    kind as the build's own.
    """
    found: CHOICES = {}
    tank = next((t for t in build.tank if t.holds == "fresh"), None)
    if tank is not None:
        side = "volume" if tank.shape == "stated" else "height"
        side = "diameter" if tank.shape == "lying cylinder" else side
        size = getattr(tank, side)
        if size:
            found[f"tank.{tank.name}.{side}"] = Span(0.7 * size, 1.3 * size, 7)
    heater = main_heater(build)
    if heater is not None and heater.volume and heaters.has_store(heater):
        sizes = [round(heater.volume * part, 6) for part in (0.6, 1.0, 1.5, 2.5)]
        found[f"heater.{heater.name}.volume"] = sizes
    if heater is not None:
        low, high = max(heater.setpoint - 10.0, 318.15), min(heater.setpoint + 5.0, 353.15)
        found[f"heater.{heater.name}.setpoint"] = sorted({low, heater.setpoint, high})
    pump = build.pump[0] if build.pump else None
    if pump is not None and pumps.is_electric(pump) and not pump.curve_flow:
        found[f"pump.{pump.name}.curve"] = _pumps_like(build, pump.curve)
    if heater is not None:
        found |= _hot_tubes(build)
    if build.crew.people:
        people = build.crew.people
        found["crew.people"] = sorted({max(people - 1, 1), people, people + 1, people + 2})
    return found


def _hot_tubes(build: Build) -> CHOICES:
    """The runs from the heater to the fixture that waits longest, in the sizes of their sort."""
    reached = {name: way for name, (_, way) in hot_ways(build).items()}
    if not reached:
        return {}
    name = max(reached, key=lambda f: sum(build.run[n].length for n in reached[f].runs))
    runs = [
        n for n in reached[name].runs if build.run[n].tube == build.run[reached[name].runs[0]].tube
    ]
    tube = build.run[runs[0]].tube
    names = _tubes_like(build, tube)[:4]
    return {tuple(f"run.{n + 1}.tube" for n in runs): names}


def _pumps_like(build: Build, own: str) -> list[str]:
    """Pumps of one's kind and voltage, with a pressure switch or without one as it is.

    They are made to round figures of its units, or of the build's where it says none.
    """
    rows = table("pumps", build.rows)
    said = rows[own]
    units = said["units"] or build.van.units

    def alike(row: Row) -> bool:
        same = all(row[column] == said[column] for column in ("kind", "voltage"))
        return same and (row["cut_out"] is None) == (said["cut_out"] is None)

    return [r.name for r in rows.values() if alike(r) and r["units"] in (units, None)]


def _tubes_like(build: Build, own: str) -> list[str]:
    """Tubes of one's material that are joined as it is."""
    rows = table("tubes", build.rows)
    said = rows[own]["material"], rows[own]["joint"]
    return [r.name for r in rows.values() if (r["material"], r["joint"]) == said]
