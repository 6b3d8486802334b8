"""A network turned into arrays: links in a row become one path between two junctions.

Between two junctions the flow is the same in every link, so the solver sees paths, not
links, and only junctions have an unknown pressure.  Shapes: V variants (1 where a figure is
the same in all), L links, P paths, N free junctions, H held nodes, E stretches of tube.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..words.glossary import BAR, DENSITY_REFERENCE
from .linear_systems import Elimination
from .links import Curve, Flags, Floats, Lines, Link, Rows, Whole, take_rows
from .mostly_zeros import MostlyZeros
from .pump_cycle import STEPS

EVERY = slice(None)
PLAIN = {float, int, bool, np.float64}
"""Types of a single figure."""
LARGE = 100_000
"""Entries of the matrix from paths to a linear system from which it is kept as a sparse one."""
SHAPES = 32
"""Shapes of networks that are kept: a search changes figures of one network time and again."""
_SHAPES: dict[tuple[Any, ...], dict[str, Any]] = {}


def columns(figures: Iterable[Any]) -> Floats:
    """Figures side by side: shape (1, n), or (V, n) if any is an array of shape (V,)."""
    given = list(figures)
    if all(type(f) in PLAIN for f in given):
        return np.array([given], dtype=float).reshape(1, len(given))
    listed: list[Floats] = [np.asarray(f, dtype=float) for f in given]
    if all(f.ndim == 0 for f in listed):
        return np.array([listed], dtype=float).reshape(1, len(listed))
    count = max(len(np.atleast_1d(f)) for f in listed)
    return np.stack([np.broadcast_to(f, (count,)) for f in listed], axis=1)


def _curves(curves: list[Curve]) -> tuple[Floats, Floats]:
    """Points of all curves, shape (V, pumps, points); short ones go on along their last line."""
    if not curves:
        return np.zeros((1, 0, 2)), np.zeros((1, 0, 2))
    most = max(np.asarray(c.flow).shape[-1] for c in curves)
    flows, pressures = [], []
    for curve in curves:
        flow, pressure = np.broadcast_arrays(
            np.atleast_2d(np.asarray(curve.flow, float)),
            np.atleast_2d(np.asarray(curve.pressure, float)),
        )
        for _ in range(most - flow.shape[-1]):
            flow = np.concatenate([flow, 2 * flow[:, -1:] - flow[:, -2:-1]], axis=1)
            pressure = np.concatenate([pressure, 2 * pressure[:, -1:] - pressure[:, -2:-1]], axis=1)
        flows.append(flow)
        pressures.append(pressure)
    count = max(len(f) for f in flows)
    return (
        np.stack([np.broadcast_to(f, (count, most)) for f in flows], axis=1),
        np.stack([np.broadcast_to(p, (count, most)) for p in pressures], axis=1),
    )


def _stored(curves: list[Curve]) -> Floats:
    """Water stored behind each pump in steps from cut-in to cut-out, shape (V, pumps, steps)."""
    if not curves:
        return np.zeros((1, 0, STEPS))
    given = [np.ones(STEPS) if c.stored is None else np.asarray(c.stored, float) for c in curves]
    listed = [np.atleast_2d(g) for g in given]
    shape = (max(len(g) for g in listed), STEPS)
    return np.stack([np.broadcast_to(g, shape) for g in listed], axis=1)


@dataclass
class Figures:
    """Everything that may differ between variants; each array has V or 1 rows."""

    tube: Floats  # E: length / (2 diameter area²)
    reach: Floats  # E: 4 / (π diameter): Reynolds number is reach · mass flow / viscosity
    drag: Floats  # E: tube / reach
    wall: Floats  # E: roughness / diameter / 3.7
    wall_guess: Floats  # E
    quadratic: Floats  # P
    linear: Floats  # P
    rise: Floats  # P
    crack: Floats  # P, signed
    forward: Flags  # P, flags: may water pass from start to end
    back: Flags  # P
    drawn: Floats  # N
    held: Floats  # H
    held_warm: Floats  # H
    standing: Floats  # 1
    limit: Floats  # limited fixtures
    pump_flow: Floats
    pump_pressure: Floats
    pump_falls: Floats  # slope of each line of a curve, and what it would give at no flow
    pump_rests: Floats
    cut_in: Floats
    cut_out: Floats
    stored: Floats  # V, pumps, steps
    inlet_least: Floats
    setpoint: Floats
    power: Floats
    flow_least: Floats
    setting: Floats  # regulators
    position: Floats  # mixers
    mixed: Floats  # mixers
    thermostatic: Flags  # mixers, flags

    @property
    def several(self) -> bool:
        """Whether any figure differs from variant to variant."""
        return any(len(getattr(self, f.name)) > 1 for f in fields(self))

    def take(self, rows: Rows) -> Figures:
        """The figures of some variants."""
        return take_rows(self, rows)


@dataclass(frozen=True)
class Path:
    """Links in a row.  ``signs`` is −1 for a link that points against the path."""

    start: str
    end: str
    links: tuple[int, ...]
    signs: tuple[int, ...]


MATRICES = (
    "ends_free",
    "touch",
    "touch_single",
    "into",
    "leaves_mixer",
    "stencil",
    "from_both",
    "mixer_stencil",
)
"""Those of a layout that are mostly zeros and only stand to the right of a product."""


class Layout:
    """The fixed shape of a network and its figures.  ValueError if no pressure is held."""

    def __init__(self, net: Lines) -> None:
        if not net.held:
            raise ValueError("no pressure is held anywhere, so none can be found")
        self.net = net
        self.links: tuple[Link, ...] = tuple(net.links)
        key = self._shape_key()
        known = _SHAPES.pop(key, None)
        if known is None:
            before = set(vars(self))
            self._shape()
            known = {name: one for name, one in vars(self).items() if name not in before}
        else:
            vars(self).update(known)
        _SHAPES[key] = known
        while len(_SHAPES) > SHAPES:
            _SHAPES.pop(next(iter(_SHAPES)), None)
        self.figures = self._figures()
        self.variants = max(
            max(len(getattr(self.figures, f.name)) for f in fields(Figures)), len(self.open)
        )

    def _shape_key(self) -> tuple[Any, ...]:
        """All that the shape hangs on."""
        net = self.net
        links = tuple(
            (k.name, k.start, k.end, k.curve is None, k.heat is None, k.setting is None)
            for k in self.links
        )
        return links, tuple(net.held), tuple(net.drawn), tuple((m.hot, m.cold) for m in net.mixers)

    def _shape(self) -> None:
        """What does not change with any figure."""
        net = self.net
        self.index = {link.name: i for i, link in enumerate(self.links)}
        self.paths = self._find_paths()
        ends = [n for p in self.paths for n in (p.start, p.end)]
        known = dict.fromkeys([*ends, *net.drawn])
        self.free = [n for n in known if n not in net.held]
        self.held = list(net.held)
        self.place = {n: i for i, n in enumerate([*self.free, *self.held])}
        self.tried_again: dict[bytes, Any] = {}  # answers that took many starts, or None
        self._topology()
        if self.stencil.size > LARGE:
            self._thin_out()

    def _thin_out(self) -> None:
        """Keeps the matrices of a large network as sparse ones: ``array @ matrix`` still works."""
        for name in MATRICES:
            setattr(self, name, MostlyZeros(getattr(self, name)))

    def _special(self, i: int, mixers: set[str]) -> bool:
        link = self.links[i]
        return (
            link.curve is not None
            or link.heat is not None
            or link.setting is not None
            or link.name in mixers
        )

    def _find_paths(self) -> list[Path]:
        at: dict[str, list[int]] = {}
        for i, link in enumerate(self.links):
            at.setdefault(link.start, []).append(i)
            at.setdefault(link.end, []).append(i)
        kept = {n for n, touching in at.items() if len(touching) != 2}
        kept |= set(self.net.held) | set(self.net.drawn)
        mixers = {n for m in self.net.mixers for n in (m.hot, m.cold)}
        for i, link in enumerate(self.links):
            if self._special(i, mixers):
                kept |= {link.start, link.end}
        paths: list[Path] = []
        used: set[int] = set()

        def follow(node: str, first: int) -> None:
            start, links, signs = node, [], []
            nxt = first
            while True:
                link = self.links[nxt]
                used.add(nxt)
                sign = 1 if link.start == node else -1
                node = link.end if sign == 1 else link.start
                links.append(nxt)
                signs.append(sign)
                if node in kept:
                    break
                nxt = next(i for i in at[node] if i != nxt)
            if len(links) == 1 and signs[0] == -1:
                start, node, signs = node, start, [1]
            paths.append(Path(start, node, tuple(links), tuple(signs)))

        for node in [n for n in at if n in kept]:
            for i in at[node]:
                if i not in used:
                    follow(node, i)
        for i, link in enumerate(self.links):
            if i not in used:  # a ring that touches nothing else
                kept.add(link.start)
                follow(link.start, i)
        return paths

    def _topology(self) -> None:
        n, held, paths = len(self.free), len(self.held), len(self.paths)
        self.path_of = np.zeros(len(self.links), int)
        self.sign = np.zeros(len(self.links))
        for k, path in enumerate(self.paths):
            self.path_of[list(path.links)] = k
            self.sign[list(path.links)] = path.signs
        self.start = np.array([self.place[p.start] for p in self.paths], int)
        self.end = np.array([self.place[p.end] for p in self.paths], int)
        ends = np.zeros((paths, n + held))
        ends[np.arange(paths), self.start] += 1.0
        ends[np.arange(paths), self.end] -= 1.0
        self.ends_free, self.ends_held = ends[:, :n].copy(), ends[:, n:].copy()
        self.touch = (ends != 0).astype(float)
        self.touch_single = self.touch.astype(np.float32)
        self.draws = np.array([float(m in self.net.drawn) for m in self.free])
        # what flows ahead along each path, then what flows back, into every free node
        self.into = np.concatenate([self.ends_free < 0, self.ends_free > 0]).astype(float)
        own = {i: k for k, p in enumerate(self.paths) for i in p.links}

        def with_what(name: str) -> tuple[Whole, Whole]:
            found = [i for i, k in enumerate(self.links) if getattr(k, name) is not None]
            return np.array(found, int), np.array([own[i] for i in found], int)

        self.pump_links, self.pumps = with_what("curve")
        _, self.heaters = with_what("heat")
        self.regulator_links, self.regulators = with_what("setting")
        self.heaters_both = np.concatenate([self.heaters, self.heaters + paths])
        self.holders = np.concatenate([self.regulators, self.pumps])
        self.holder_ends = self.end[self.holders]
        self.heater_start, self.heater_end = self.start[self.heaters], self.end[self.heaters]
        self.joined = self._joined()[self.heater_start]
        self.holders_inside = bool(np.all(self.holder_ends < n))
        self.hot = np.array([own[self.index[m.hot]] for m in self.net.mixers], int)
        self.cold = np.array([own[self.index[m.cold]] for m in self.net.mixers], int)
        self.ways = np.concatenate([self.hot, self.cold])
        self.ways_free = self.ends_free[self.ways]
        self.not_mixer = np.ones(paths)
        self.not_mixer[self.ways] = 0.0
        self.leaves_mixer = np.zeros((paths, len(self.hot)))
        for m, (hot, cold) in enumerate(zip(self.hot, self.cold, strict=True)):
            touching = self.touch[:, self.end[hot]].copy()
            touching[[hot, cold]] = 0
            self.leaves_mixer[:, m] = touching
        pairs = [(self.start[k], self.end[k]) for k in range(paths)]
        for hot, cold in zip(self.hot, self.cold, strict=True):
            pairs.append((self.start[hot], self.start[cold]))
        inside = [(int(a), int(b)) for a, b in pairs if a < n and b < n and a != b]
        self.matrix = Elimination(n, inside)
        entry = self.matrix.entry
        self.stencil = np.zeros((paths, self.matrix.size))
        self.from_both = np.zeros((2 * paths, self.matrix.size))
        for k, (a, b) in enumerate(zip(self.start, self.end, strict=True)):
            if a == b:
                continue
            if a < n:
                self.stencil[k, entry[a, a]] += 1
            if b < n:
                self.stencil[k, entry[b, b]] += 1
            if a < n and b < n:
                self.stencil[k, entry[a, b]] -= 1
                self.stencil[k, entry[b, a]] -= 1
                self.from_both[k, entry[b, a]] -= 1
                self.from_both[paths + k, entry[a, b]] -= 1
        self.mixer_stencil = np.zeros((4 * len(self.hot), self.matrix.size))
        ways = (self.hot, self.cold)
        for k in range(4):
            for m in range(len(self.hot)):
                through, because = ways[k // 2][m], ways[k % 2][m]
                for row, out in ((self.start[through], 1), (self.end[through], -1)):
                    for col, up in ((self.start[because], 1), (self.end[because], -1)):
                        if row < n and col < n:
                            self.mixer_stencil[k * len(self.hot) + m, entry[row, col]] += out * up
        self.diagonal = slice(0, n)  # where ``Elimination`` has it
        # what comes with a temperature that does not hang on others: from held nodes and heaters
        self.both_ends = np.concatenate([self.start, self.end])
        brings = self.both_ends >= n
        brings[self.heaters_both] = True
        self.brings = np.flatnonzero(brings)
        self.brought = self.into[self.brings]
        self.heaters_bring = np.searchsorted(self.brings, self.heaters_both)

    def _joined(self) -> Flags:
        """Nodes that links lead to from a held one, whether open or shut."""
        seen = np.arange(self.touch.shape[1]) >= len(self.free)
        while True:
            further = seen | (self.touch[self.touch @ seen > 0] > 0).any(axis=0)
            if (further == seen).all():
                return seen
            seen = further

    def _figures(self) -> Figures:
        links, net = self.links, self.net
        area = np.pi / 4 * columns(k.diameter for k in links) ** 2
        kv = columns(k.kv for k in links)
        some = kv > 0
        quadratic = (
            columns(k.loss for k in links) / (2 * area**2)
            + BAR / DENSITY_REFERENCE / np.where(some, kv, 1.0) ** 2
        )
        self.open, self.passes = (columns(k.open for k in links) > 0) & some, some
        way = columns(k.one_way for k in links) * self.sign
        gather = np.zeros((len(links), len(self.paths)))
        gather[np.arange(len(links)), self.path_of] = 1.0
        self.gather = gather
        tubes = [i for i, k in enumerate(links) if np.any(np.asarray(k.length) > 0)]
        self.tubes = np.array(tubes, int)
        self.tube_path = self.path_of[self.tubes]
        self.tube_gather = gather[self.tubes]
        bore = columns(links[i].diameter for i in tubes)
        section = np.pi / 4 * bore**2
        wall = columns(links[i].roughness for i in tubes) / bore / 3.7
        limited = [i for i, k in enumerate(links) if np.any(np.isfinite(k.flow_limit))]
        self.limited_links = np.array(limited, int)
        self.limited = self.path_of[self.limited_links]
        self.all_stores = all(
            bool(np.all(np.isinf(k.heat.power))) for k in links if k.heat is not None
        )
        self.has_linear = any(bool(np.any(np.asarray(k.linear) != 0)) for k in links)
        self.heats = [k.heat for k in links if k.heat is not None]
        curves = [k.curve for k in links if k.curve is not None]
        pump_flow, pump_pressure = _curves(curves)
        falls = np.diff(pump_pressure) / np.diff(pump_flow)
        forward = (way >= 0) @ gather >= gather.sum(axis=0)
        back = (way <= 0) @ gather >= gather.sum(axis=0)
        self.gates = np.flatnonzero((forward != back).any(axis=0))
        self.regulator_gates = np.isin(self.gates, self.regulators)
        mixers = net.mixers
        tube = columns(links[i].length for i in tubes) / (2 * bore * section**2)
        return Figures(
            tube=tube,
            reach=4 / (np.pi * bore),
            drag=tube * np.pi * bore / 4,
            wall=wall,
            wall_guess=wall**1.11,
            quadratic=quadratic @ gather,
            linear=columns(k.linear for k in links) @ gather,
            rise=(columns(k.rise for k in links) * self.sign) @ gather,
            crack=(columns(k.cracking for k in links) * way) @ gather,
            forward=forward,
            back=back,
            drawn=columns(net.drawn.get(n, 0.0) for n in self.free),
            held=columns(net.held[n][0] for n in self.held),
            held_warm=columns(net.held[n][1] for n in self.held),
            standing=columns([net.temperature]),
            limit=columns(links[i].flow_limit for i in limited),
            pump_flow=pump_flow,
            pump_pressure=pump_pressure,
            pump_falls=falls,
            pump_rests=pump_pressure[..., :-1] - falls * pump_flow[..., :-1],
            cut_in=columns(c.cut_in for c in curves),
            cut_out=columns(c.cut_out for c in curves),
            stored=_stored(curves),
            inlet_least=columns(c.inlet_least for c in curves),
            setpoint=columns(h.setpoint for h in self.heats),
            power=columns(h.power for h in self.heats),
            flow_least=columns(h.flow_least for h in self.heats),
            setting=columns(k.setting for k in links if k.setting is not None),
            position=columns(m.position for m in mixers),
            mixed=columns(m.setting for m in mixers),
            thermostatic=columns(m.thermostatic for m in mixers) > 0,
        )

    def figures_with(
        self, thermostatic: ArrayLike | None = None, positions: ArrayLike | None = None
    ) -> Figures:
        """The figures with mixing valves that stand otherwise, shapes (V or 1, mixers)."""
        figures = copy(self.figures)
        if thermostatic is not None:
            figures.thermostatic = np.atleast_2d(np.asarray(thermostatic, bool))
        if positions is not None:
            figures.position = np.atleast_2d(np.asarray(positions, float))
        return figures

    def open_links(self, flags: Mapping[str, Any], rows: Rows = EVERY) -> Flags:
        """Which links are open, shape (V or 1, L), in some variants.  KeyError for an unknown name.

        ``flags`` have a row for each that is chosen, or one for all.
        """
        open, passes = (a[rows] if len(a) > 1 else a for a in (self.open, self.passes))
        if flags:
            count = max(len(open), *(np.size(f) for f in flags.values()))
            open = np.array(np.broadcast_to(open, (count, open.shape[1])))
            for name, flag in flags.items():
                open[:, self.index[name]] = flag
            open &= passes
        return open

    def open_paths(self, open: Flags) -> Flags:
        """Which paths have all their links open, shape (V or 1, P)."""
        return np.asarray((~open).astype(float) @ self.gather == 0)
