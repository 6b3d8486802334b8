"""What a solved network says: by name, with arrays of shape (variants,), or floats for one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..words.glossary import BAR, DENSITY_REFERENCE, GRAVITY
from .layout import Figures, Layout
from .links import Flags, Floats, Link, Whole
from .losses import DRIP, LIMIT_RISE, friction_number
from .newton import Found

KEPT_VARIANTS = 500
"""With so many variants or fewer the losses of a link are worked out for all at once."""


class ByName(Mapping[str, Any]):
    """Columns of an array (V, n) by name; a float where there is one variant."""

    def __init__(self, place: Mapping[str, int], values: NDArray[Any]) -> None:
        self.place, self.array = place, values

    def __getitem__(self, name: str) -> Any:
        column = self.array[:, self.place[name]]
        return float(column[0]) if len(column) == 1 else column

    def row(self, i: int) -> dict[str, Any]:
        """All columns of one variant."""
        values = self.array[i if len(self.array) > 1 else 0].tolist()
        return {name: values[k] for name, k in self.place.items()}

    def __iter__(self) -> Any:
        return iter(self.place)

    def __len__(self) -> int:
        return len(self.place)

    def __repr__(self) -> str:
        return f"<{len(self)} columns of {len(self.array)} variants>"


class Solution:
    """Answers of all variants.

    ``flow`` (m³/s) and ``mass_flow`` (kg/s) by link, positive from its start to its end;
    ``pressure`` (Pa) and ``temperature`` (K) by node, the pressure NaN where nothing held
    reaches; ``found`` (V,) flags and ``rounds`` (V,) counts; ``exchanged`` (V,) is what each line
    had to exchange with its neighbours to be found, kg/s (``convection``); flags are ``live`` by
    link, ``cycling``, ``resting`` and ``starved`` by pump and ``holding`` by regulator;
    ``position`` by mixer, all of them as an array (V, mixers) in ``positions``.  ``running_share``,
    ``filling_pressure`` (Pa) and ``cycle_duration`` (s) are means over a pump's cycle.
    """

    def __init__(self, layout: Layout, figures: Figures, answers: Found, open_links: Flags) -> None:
        self.layout, self.figures, self.answers = layout, figures, answers
        self._open = open_links
        self._parts: dict[str, dict[str, list[float]]] = {}
        self.found: Flags = answers.done
        self.rounds: Whole = answers.rounds
        self.exchanged: Floats = answers.exchanged
        self.positions: Floats = answers.position

    def __repr__(self) -> str:
        return f"<{len(self.found)} variants of {len(self.layout.links)} links>"

    @cached_property
    def mass_flow(self) -> ByName:
        layout = self.layout
        return ByName(layout.index, self.answers.flow[:, layout.path_of] * layout.sign)

    @cached_property
    def density(self) -> ByName:
        return ByName(self.layout.index, self.answers.density[:, self.layout.path_of])

    @cached_property
    def viscosity(self) -> ByName:
        return ByName(self.layout.index, self.answers.viscosity[:, self.layout.path_of])

    @cached_property
    def flow(self) -> ByName:
        return ByName(self.layout.index, self.mass_flow.array / self.density.array)

    @cached_property
    def position(self) -> ByName:
        place = {m.hot: i for i, m in enumerate(self.layout.net.mixers)}
        return ByName(place, self.positions)

    @cached_property
    def live(self) -> ByName:
        return ByName(self.layout.index, self.answers.live[:, self.layout.path_of])

    def _of(self, links: Whole, flags: NDArray[Any]) -> ByName:
        return ByName({self.layout.links[i].name: k for k, i in enumerate(links)}, flags)

    @cached_property
    def cycling(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.cycling)

    @cached_property
    def resting(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.resting)

    @cached_property
    def starved(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.starved)

    @cached_property
    def running_share(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.share)

    @cached_property
    def filling_pressure(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.filling)

    @cached_property
    def cycle_duration(self) -> ByName:
        return self._of(self.layout.pump_links, self.answers.duration)

    @cached_property
    def holding(self) -> ByName:
        return self._of(self.layout.regulator_links, self.answers.holding)

    @cached_property
    def _place(self) -> dict[str, int]:
        """The column of every node: junctions, held nodes, then those inside paths."""
        layout = self.layout
        place = dict(layout.place)
        for path in layout.paths:
            for i, sign in zip(path.links[:-1], path.signs[:-1], strict=True):
                link = layout.links[i]
                place[link.end if sign > 0 else link.start] = len(place)
        return place

    @cached_property
    def pressure(self) -> ByName:
        layout, place = self.layout, self._place
        count = len(self.found)
        held = np.broadcast_to(self.figures.held, (count, self.figures.held.shape[1]))
        pressure = [*np.concatenate([self.answers.pressure, held], axis=1).T]
        for k, path in enumerate(layout.paths):
            if len(path.links) == 1:
                continue
            flows, live = self.answers.flow[:, k], self.answers.live[:, k]
            lost = [
                sign * self._link_loss(layout.links[i], flows * sign, k)
                for i, sign in zip(path.links, path.signs, strict=True)
            ]
            barred = [
                ~live & (~self._open[:, i] | (np.asarray(layout.links[i].one_way) != 0))
                for i in path.links
            ]
            fall = np.cumsum([np.where(b, np.nan, x) for b, x in zip(barred, lost, strict=True)], 0)
            rest = np.cumsum(
                [np.where(b, np.nan, x) for b, x in zip(barred[::-1], lost[::-1], strict=True)], 0
            )[::-1]
            first, last = pressure[place[path.start]], pressure[place[path.end]]
            for j in range(len(path.links) - 1):
                ahead = first - fall[j]
                pressure.append(np.where(np.isfinite(ahead), ahead, last + rest[j + 1]))
        return ByName(place, np.stack(pressure, axis=1))

    @cached_property
    def temperature(self) -> ByName:
        layout, place = self.layout, self._place
        warm = [*self.answers.warm.T]
        for k, path in enumerate(layout.paths):
            if len(path.links) > 1:
                ahead = self.answers.flow[:, k] >= 0
                inside = np.where(ahead, warm[place[path.start]], warm[place[path.end]])
                warm += [inside] * (len(path.links) - 1)
        return ByName(place, np.stack(warm, axis=1))

    def _link_loss(self, link: Link, flow: Floats, path: int) -> Floats:
        """Loss from start to end of a plain link at a mass flow."""
        parts = self.link_parts(
            link, flow, self.answers.density[:, path], self.answers.viscosity[:, path]
        )
        return np.asarray(sum(parts.values()), dtype=float)

    def parts_of(self, link: Link, i: int) -> dict[str, float]:
        """The loss of a link in one variant, split as by ``link_parts``."""
        k = self.layout.index[link.name]
        rows = slice(None) if len(self.found) <= KEPT_VARIANTS else slice(i, i + 1)
        if link.name not in self._parts or rows != slice(None):
            water = (self.mass_flow.array, self.density.array, self.viscosity.array)
            parts = self.link_parts(link, *(w[rows, k] for w in water))
            self._parts[link.name] = {n: np.ravel(v).tolist() for n, v in parts.items()}
        found = self._parts[link.name]
        return {n: v[i if len(v) > 1 else 0] for n, v in found.items()}

    @staticmethod
    def link_parts(
        link: Link, flow: Floats, density: Floats, viscosity: Floats
    ) -> dict[str, Floats]:
        """The loss of a link, split: friction, fittings, valve, rise, cracking."""
        bore = np.asarray(link.diameter, float)
        area = np.pi / 4 * bore**2
        square = flow * np.sqrt(flow**2 + DRIP**2) / density
        parts: dict[str, Floats] = {}
        if np.any(np.asarray(link.length) > 0):
            wall = np.asarray(link.roughness) / bore / 3.7
            reynolds = 4 * np.abs(flow) / (np.pi * bore * viscosity)
            number, _ = friction_number(reynolds, wall, wall**1.11)
            per_flow = np.asarray(link.length) / (2 * bore * area**2) * np.pi * bore / 4
            parts["friction"] = per_flow * viscosity / density * number * flow
        parts["fittings"] = np.asarray(link.loss) / (2 * area**2) * square
        some = np.where(np.asarray(link.kv) > 0, link.kv, 1.0)
        parts["valve"] = BAR / DENSITY_REFERENCE / some**2 * square
        parts["line"] = np.asarray(link.linear) * flow
        parts["rise"] = density * GRAVITY * np.asarray(link.rise)
        parts["cracking"] = np.asarray(link.cracking) * np.asarray(link.one_way) + 0.0 * flow
        if np.any(np.isfinite(link.flow_limit)):
            over = np.maximum(np.abs(flow) / density / np.asarray(link.flow_limit) - 1.0, 0.0)
            parts["limit"] = np.sign(flow) * LIMIT_RISE * over
        return parts

    @cached_property
    def imbalance(self) -> Floats:
        """Greatest mass flow that does not balance at a junction, over the greatest flow
        (or over 1 g/s if all is less), shape (V,)."""
        flow = self.answers.flow
        drawn = self.figures.drawn * self.answers.density[:, :1]
        reached = np.isfinite(self.answers.pressure)
        off = np.where(reached, flow @ self.layout.ends_free + drawn, 0.0)
        most = np.abs(flow).max(axis=1, initial=0.0)
        return np.abs(off).max(axis=1, initial=0.0) / np.maximum(most, 1e-3)
