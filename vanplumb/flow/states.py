"""What is open, shut or holding: check valves, regulators, pump switches, and what water reaches.

Each state is a guess that the pressures found with it confirm or refute.  Shapes: V variants,
P paths, N free junctions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..words.glossary import GRAVITY

if TYPE_CHECKING:
    from .layout import Figures, Layout

Array = Any

PATIENT = 20
"""Rounds after which only one state may change at a time, so that none go round in a ring."""
NOTHING = 1e-9
"""Share of the greatest flow of a variant that is rounding, not flow."""
NOTHING_AT_ALL = 1e-12
"""kg/s that is nothing however little flows."""
TENSION = 1e-4
"""Pa: a pressure across a shut check valve that is rounding."""
LEVEL_NEAR = 0.1
"""Pa to which the mean pressure at a cycling pump is found."""
DUST = 1e-18
"""kg/s that would only make the arithmetic underflow."""


@dataclass
class State:
    """``open`` (V, P): no shut-off in the way; ``closed``: a check valve or regulator is shut;
    ``live``: open, not closed, and water reaches both ends; ``idle``: live, but leads
    nowhere; ``active`` (V, regulators): holds its setting; ``steady`` (V, pumps): its switch
    is at work; ``reached`` (V, N); ``soft`` (V,): check valves resist backward flow instead of shutting."""

    open: Array
    closed: Array
    live: Array
    idle: Array
    active: Array
    active_path: Array
    steady: Array
    level: Array
    reached: Array
    way: Array
    soft: Array

    @classmethod
    def begin(cls, layout: Layout, f: Figures, open: Array) -> State:
        size, paths = open.shape
        way = f.forward.astype(float) - f.back.astype(float)
        blocked = ~(f.forward | f.back)
        state = cls(
            open=open & ~blocked,
            closed=np.zeros((size, paths), bool),
            live=open & ~blocked,
            idle=np.zeros((size, paths), bool),
            active=np.zeros((size, len(layout.regulators)), bool),
            active_path=np.zeros((1, paths), bool),
            steady=np.zeros((size, len(layout.pumps)), bool),
            level=np.zeros((size, len(layout.pumps))),
            reached=np.ones((size, len(layout.free)), bool),
            way=way,
            soft=np.zeros(size, bool),
        )
        state.reach(layout)
        return state

    def reach(self, layout: Layout) -> None:
        """Finds the nodes that are joined to a held pressure by what is open."""
        size = len(self.open)
        passes = self.open & ~self.closed
        free, total = len(layout.free), len(layout.place)
        seen = np.zeros((size, total), bool)
        seen[:, free:] = True
        onward = passes
        if np.any(self.active):
            onward = passes & ~self.active_path
        count = -1
        while (now := int(np.count_nonzero(seen))) != count:
            count = now
            hot = onward & (seen[:, layout.start] | seen[:, layout.end])
            if np.any(self.active):
                hot |= passes & self.active_path & seen[:, layout.start]
            seen |= (hot.astype(float) @ layout.touch) > 0
        self.reached = seen[:, :free]
        self.live = passes & seen[:, layout.start] & seen[:, layout.end]
        runs = self.live & (layout.start != layout.end)
        while True:
            ends = runs.astype(float) @ layout.touch
            ends[:, free:] = 2
            ends[:, :free] += layout.draws
            blind = runs & ((ends[:, layout.start] == 1) | (ends[:, layout.end] == 1))
            if not np.any(blind):
                break
            runs &= ~blind
        self.idle = self.live & ~runs & (layout.start != layout.end)

    def add_regulators(
        self,
        layout: Layout,
        f: Figures,
        values: Array,
        right: Array,
        pressure: Array,
        droop: float,
    ) -> None:
        """Ties the outlet of each holding regulator to its setting, and feeds it from the inlet."""
        free = len(layout.free)
        on = (self.active & self.live[:, layout.regulators]) / droop
        given = on * (f.setting - self.outlet(layout, f, pressure))
        for r, path in enumerate(layout.regulators):
            a, b = layout.start[path], layout.end[path]
            if b < free:
                values[:, layout.matrix.entry[b, b]] += on[:, r]
                right[:, b] += given[:, r]
            if a < free:
                right[:, a] -= given[:, r]
                if b < free:
                    values[:, layout.matrix.entry[a, b]] -= on[:, r]

    def outlet(self, layout: Layout, f: Figures, pressure: Array) -> Array:
        """Pressure behind each regulator, shape (V, regulators)."""
        held = np.broadcast_to(f.held, (len(pressure), f.held.shape[1]))
        return np.concatenate([pressure, held], axis=1)[:, layout.end[layout.regulators]]

    def pass_regulators(
        self, layout: Layout, f: Figures, flow: Array, pressure: Array, droop: float
    ) -> None:
        """Puts the flow of the holding regulators in its place."""
        given = (f.setting - self.outlet(layout, f, pressure)) / droop
        on = self.active & self.live[:, layout.regulators]
        flow[:, layout.regulators] = np.where(on, given, flow[:, layout.regulators])

    def correct(
        self,
        layout: Layout,
        f: Figures,
        flow: Array,
        difference: Array,
        takes: Array,
        pressure: Array,
        typical: Array,
        turn: int,
    ) -> tuple[Array, Array]:
        """Shuts what runs backwards, opens what is pushed, moves regulators.

        Gives the flows, shape (V, P), and which variants changed, shape (V,).
        """
        wished = flow[:, layout.regulators]
        flow = np.where(self.idle | (np.abs(flow) < DUST), 0.0, flow)
        most = np.abs(flow).max(axis=1, keepdims=True, initial=0.0)
        little = NOTHING * most + NOTHING_AT_ALL
        back = self.live & (self.way * flow < -little)
        back &= ~self.soft[:, None]
        shut = self.open & self.closed
        pushed = shut & (self.way * (difference - takes) > TENSION)
        if np.any(shut):
            inside = np.ones((len(flow), len(layout.place)), bool)
            inside[:, : len(layout.free)] = self.reached
            ahead = self.way > 0
            first = np.where(ahead, inside[:, layout.start], inside[:, layout.end])
            second = np.where(ahead, inside[:, layout.end], inside[:, layout.start])
            pushed = first & (pushed | (shut & ~second))
        regulators = layout.regulators
        moved = np.zeros(len(flow), bool)
        if len(regulators):
            pushed[:, regulators] = False
            moved = self._move_regulators(layout, f, wished, difference, pressure, little)
            back[:, regulators] &= ~self.active
        if not (np.any(back) or np.any(pushed) or np.any(moved)):
            return np.where(self.live, flow, 0.0), moved
        if turn > PATIENT:
            ill = np.where(back, np.abs(flow) / np.abs(typical), 0.0)
            ill = np.where(pushed, 1e-5 * np.abs(difference - takes) + 1e-9, ill)
            worst = ill == ill.max(axis=1, keepdims=True)
            back &= worst
            pushed &= worst
        self.closed = (self.closed | back) & ~pushed
        was = self.live
        self.reach(layout)
        start = np.where(self.way < 0, -np.abs(typical), np.abs(typical))
        flow = np.where(self.live & ~was, start, flow)
        return np.where(self.live, flow, 0.0), moved | np.any(back | pushed, axis=1)

    def soften(self, layout: Layout, which: Array) -> None:
        """Lets check valves of some variants resist instead of shut: slower, but it always ends."""
        self.soft |= which
        self.closed = np.where(which[:, None], False, self.closed)
        self.closed[:, layout.regulators] &= ~which[:, None]
        self.reach(layout)

    def harden(self, layout: Layout, flow: Array, which: Array) -> None:
        """Shuts the check valves that a soft answer runs against."""
        self.closed |= which[:, None] & (self.way * flow < 0)
        self.soft &= ~which
        self.reach(layout)

    def against(self, flow: Array) -> Array | None:
        """Flows that soft check valves resist, shape (V, P)."""
        if not np.any(self.soft):
            return None
        return self.soft[:, None] & self.live & (self.way * flow < 0)

    def _move_regulators(
        self,
        layout: Layout,
        f: Figures,
        wished: Array,
        difference: Array,
        pressure: Array,
        little: Array,
    ) -> Array:
        """Open, holding, or shut: shape (V,), true where one changed."""
        at = layout.regulators
        out = self.outlet(layout, f, pressure)
        through, across = wished, difference[:, at]
        density = 1000.0
        wide = f.quadratic[:, at] * through * np.abs(through) / density
        wide = wide + density * GRAVITY * f.rise[:, at]
        live, closed = self.live[:, at], self.closed[:, at]
        to_shut = self.active & (through < -little)
        to_open = self.active & live & ~to_shut & (across < wide - TENSION)
        to_hold = live & ~self.active & (through >= -little) & (out > f.setting + TENSION)
        to_hold |= self.open[:, at] & closed & (out < f.setting - TENSION) & (across > TENSION)
        self.active = (self.active | to_hold) & ~to_open & ~to_shut
        self.closed[:, at] = (closed | to_shut) & ~to_hold
        if np.any(self.active):
            self.active_path = np.zeros(self.open.shape, bool)
            self.active_path[:, at] = self.active
        else:
            self.active_path = np.zeros((1, self.open.shape[1]), bool)
        return np.any(to_shut | to_open | to_hold, axis=1)

    def switch_pumps(self, layout: Layout, f: Figures, pressure: Array, ready: Array) -> Array:
        """Marks pumps whose duty point lies above their cut-out, and sets their mean level so
        that the mean of cut-in and cut-out stands at their outlet.  True (V,) where it moved.
        """
        if not len(layout.pumps):
            return np.zeros(len(ready), bool)
        held = np.broadcast_to(f.held, (len(pressure), f.held.shape[1]))
        out = np.concatenate([pressure, held], axis=1)[:, layout.end[layout.pumps]]
        live = self.live[:, layout.pumps]
        over = (out > f.cut_out) & live & ~self.steady & ready[:, None]
        switched = np.isfinite(f.cut_out)
        mean = np.where(switched, 0.5 * (np.where(switched, f.cut_in + f.cut_out, 0.0)), 0.0)
        self.level = np.where(over, mean, self.level)
        self.steady = self.steady | over
        off = self.steady & live & ready[:, None] & ~over & (np.abs(out - mean) > LEVEL_NEAR)
        self.level = np.where(off, self.level + mean - out, self.level)
        return np.any(over | off, axis=1)
