"""Figures of a build varied over lists and ranges, solved in one batch, as a table with units."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..van.kinds import pumps
from ..words.show import heading, unit, value
from .changed_build import find, values, vary
from .solving import BuildFlow
from .turned import open_flags

if TYPE_CHECKING:
    import pandas as pd

TOGETHER = ("tubes", "valves")
"""Tables whose rows may differ from variant to variant in one batch."""


def sweep(
    flow: BuildFlow,
    changes: Mapping[str, Any],
    open: Iterable[str] | None,
    *,
    source: str,
    grid: bool,
) -> pd.DataFrame:
    """One row for each variant: what was changed, then what each open fixture gives.

    Columns carry the reader's units; ``frame.attrs["words"]`` gives each column's glossary
    word.  Where a solution does not exist the figures are NaN and "found" is False.
    ValueError for an unknown path, value or fixture, or lists of different lengths.
    """
    import pandas as pd

    build = flow.build
    names = flow.fixtures if open is None else tuple(open)
    listed = {path: _listed(flow, path, given) for path, given in changes.items()}
    if grid:
        rows = list(product(*listed.values()))
    else:
        lengths = {path: len(v) for path, v in listed.items()}
        if len(set(lengths.values())) > 1:
            raise ValueError(f"lists in step must be equally long, got {lengths}")
        rows = list(zip(*listed.values(), strict=True))
    columns = {path: [row[i] for row in rows] for i, path in enumerate(listed)}
    frames = []
    for chosen, fixed in _groups(flow, columns, len(rows)):
        several = {
            p: np.asarray([columns[p][i] for i in chosen]) for p in columns if p not in fixed
        }
        one = BuildFlow(vary(build, {**fixed, **several}))
        found = _outputs(one, names, source)
        frames.append(
            pd.DataFrame(
                {k: np.broadcast_to(v, len(chosen)) for k, v in found.items()}, index=chosen
            )
        )
    outputs = pd.concat(frames).sort_index()
    system = build.van.units
    table: dict[str, Any] = {}
    words: dict[str, str] = {}
    for path, listed_values in columns.items():
        entry = find(build, path)[3]
        head = heading(path, entry.word, system)
        words[head] = entry.word
        table[head] = (
            [value(float(x), entry.word, system) for x in listed_values]
            if entry.word
            else listed_values
        )
    for key in outputs:
        label, _, word = str(key).rpartition("|")
        head = heading(label, word, system)
        words[head] = word
        column = outputs[key].to_numpy()
        table[head] = value(column, word, system) if word else column
    frame = pd.DataFrame(table)
    frame.attrs["words"] = words
    frame.attrs["units"] = {h: unit(w, system) for h, w in words.items() if w}
    return frame


def _listed(flow: BuildFlow, path: str, given: Any) -> list[Any]:
    """The values of one path in SI.  ValueError if the path names nothing."""
    try:
        entry = find(flow.build, path)[3]
    except KeyError as error:
        raise ValueError(f"{path}: {error.args[0]}") from None
    if isinstance(given, str) or not isinstance(given, Iterable):
        given = [given]
    found = values(list(given), entry)
    return list(found.tolist()) if isinstance(found, np.ndarray) else [found]


def _groups(
    flow: BuildFlow, columns: Mapping[str, list[Any]], count: int
) -> Iterator[tuple[list[int], dict[str, Any]]]:
    """Rows that can be solved together, and the values that they share."""
    apart = []
    for path in columns:
        entry = find(flow.build, path)[3]
        together = entry.kind in ("quantity", "number") or (
            entry.kind == "row" and entry.table in TOGETHER
        )
        if path.startswith("tank.") and not path.endswith((".fill_share", ".pickup_height")):
            together = False
        if not together:
            apart.append(path)
    groups: dict[tuple[Any, ...], list[int]] = {}
    for i in range(count):
        groups.setdefault(tuple(columns[p][i] for p in apart), []).append(i)
    for key, chosen in groups.items():
        yield chosen, dict(zip(apart, key, strict=True))


def _outputs(flow: BuildFlow, names: tuple[str, ...], source: str) -> dict[str, NDArray[Any]]:
    """What each fixture and pump does, in SI, by "label|word"."""
    flags = open_flags(flow.made, [names], [source])
    net = flow.made.net
    solution = net.solve(flags, positions=flow.positions, thermostatic=[flow.made.self_acting])
    solution = flow.without_lift(solution, flags)
    good = np.atleast_1d(solution.found)
    found: dict[str, NDArray[Any]] = {}

    def put(label: str, word: str, figure: Any) -> None:
        found[f"{label}|{word}"] = np.where(good, np.atleast_1d(figure), np.nan)

    for name in names:
        link = net.link(name)
        passed = np.atleast_1d(solution.flow[name])
        put(f"{name} flow", "flow", passed)
        warm = np.where(passed > 1e-9, np.atleast_1d(solution.temperature[link.start]), np.nan)
        put(f"{name} temperature", "temperature", warm)
        put(f"{name} pressure", "pressure", solution.pressure[link.start])
    for name in flow.made.pumps:
        part = next(p for p in flow.build.pump if p.name == name)
        out = np.atleast_1d(solution.pressure[f"{name}.outlet"])
        into = np.atleast_1d(solution.pressure[f"{name}.inlet"])
        put(f"{name} flow", "flow", solution.flow[name])
        put(f"{name} pressure", "pressure", out)
        put(f"{name} inlet", "pressure", into)
        points = pumps.points(flow.build, part)
        cycling = np.atleast_1d(solution.cycling[name]) > 0
        if points is not None:
            pushes = np.where(cycling, solution.filling_pressure[name], out)
            rise = np.nan_to_num(pushes - into)
            amps = np.interp(rise, points[1][::-1], points[2][::-1])
            share = np.where(cycling, solution.running_share[name], 1.0)
            runs = np.atleast_1d(solution.flow[name]) > 1e-9
            put(f"{name} current", "current", np.where(runs, amps * share, 0.0))
        found[f"{name} cycling|"] = cycling
        found[f"{name} starved|"] = np.atleast_1d(solution.starved[name]) > 0
    found["found|"] = good
    return found
