"""What is open or shut: check valves, and what water reaches.

Each state is a guess that the pressures found with it confirm or refute.  Shapes: V variants,
P paths, N free junctions, K holders (see ``holders``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from .held_pressures import TENSION, move, targets

if TYPE_CHECKING:
    from .layout import Figures, Layout

Array = Any

PATIENT = 20
"""Rounds after which only one state may change at a time, so that none go round in a ring."""
MANY = 64
"""Variants from which it pays to look for those that are alike."""
NOTHING = 1e-9
"""Share of the greatest flow of a variant that is rounding, not flow."""
NOTHING_AT_ALL = 1e-12
"""kg/s that is nothing however little flows."""
DUST = 1e-18
"""kg/s that would only make the arithmetic underflow."""


def _put(old: Array, chosen: Any, new: Array) -> Array:
    """Some rows of an array anew; the old one stays as it was."""
    if isinstance(chosen, slice):
        return new
    found = old.copy()
    found[chosen] = new
    return found


@dataclass
class State:
    """The state of each path.

    ``open`` (V, P): no shut-off in the way; ``closed``: a check valve or regulator is shut;
    ``live``: open, not closed, and water reaches both ends; ``idle``: live, but leads nowhere.
    ``active`` (V, K): holds its outlet; ``steady`` (V, pumps): its switch is at work.
    ``reached`` (V, N).  ``soft`` (V,): check valves resist backward flow instead of shutting.
    ``way`` (1 or V, P): 1 or −1 where water may pass only so.  ``targets`` (1 or V, K).
    """

    layout: Layout
    open: Array
    closed: Array
    live: Array
    idle: Array
    active: Array
    active_path: Array
    steady: Array
    reached: Array
    way: Array
    soft: Array
    targets: Array

    @classmethod
    def begin(cls, layout: Layout, f: Figures, open: Array) -> State:
        size, paths = open.shape
        passes = open & (f.forward | f.back)
        state = cls(
            layout=layout,
            open=passes,
            closed=np.zeros((size, paths), bool),
            live=passes,
            idle=np.zeros((size, paths), bool),
            active=np.zeros((size, len(layout.holders)), bool),
            active_path=np.zeros((1, paths), bool),
            steady=np.zeros((size, len(layout.pumps)), bool),
            reached=np.ones((size, len(layout.free)), bool),
            way=f.forward.astype(float) - f.back.astype(float),
            soft=np.zeros(size, bool),
            targets=targets(layout, f),
        )
        state.reach()
        return state

    @property
    def runs(self) -> Array:
        """Paths whose flow follows from their loss, shape (V, P)."""
        return self.live & ~self.active_path

    def mark(self) -> None:
        """Writes ``active_path`` anew."""
        if self.active.any():
            self.active_path = np.zeros(self.open.shape, bool)
            self.active_path[:, self.layout.holders] = self.active
        else:
            self.active_path = np.zeros((1, self.open.shape[1]), bool)

    def reach(self, rows: Array | None = None) -> None:
        """Finds the nodes that are joined to a held pressure by what is open.

        Through a link that holds its outlet, pressure passes only forward.  ``rows`` (V,) marks
        the variants that changed; all if None.
        """
        chosen = slice(None) if rows is None or rows.mean() > 0.5 else np.flatnonzero(rows)
        passes = self.open[chosen] & ~self.closed[chosen]
        holding = self.active_path if len(self.active_path) == 1 else self.active_path[chosen]
        if len(passes) < MANY:
            found = self._spread(passes, holding)
        else:  # few of many variants differ in what is open: each pattern once
            pattern = np.packbits(passes, axis=1)
            if len(holding) > 1:
                pattern = np.concatenate([pattern, np.packbits(holding, axis=1)], axis=1)
            whole = np.ascontiguousarray(pattern).view(f"V{pattern.shape[1]}")[:, 0]
            _, first, each = np.unique(whole, return_index=True, return_inverse=True)
            one_of = holding if len(holding) == 1 else holding[first]
            found = tuple(part[each] for part in self._spread(passes[first], one_of))
        self.reached, self.live, self.idle = (
            _put(old, chosen, new)
            for old, new in zip((self.reached, self.live, self.idle), found, strict=True)
        )

    def _spread(self, passes: Array, holding: Array) -> tuple[Array, ...]:
        """Which nodes are reached, which paths are live, and which of these are idle."""
        layout, free = self.layout, len(self.layout.free)
        seen = np.zeros((len(passes), len(layout.place)), bool)
        seen[:, free:] = True
        onward = passes & ~holding
        holds = bool(holding.any())
        count = -1
        while (now := int(np.count_nonzero(seen))) != count:
            count = now
            if now == seen.size:
                break
            hot = onward & (seen[:, layout.start] | seen[:, layout.end])
            if holds:
                hot |= passes & holding & seen[:, layout.start]
            seen |= (hot.astype(np.float32) @ layout.touch_single) > 0
        live = passes & seen[:, layout.start] & seen[:, layout.end]
        return seen[:, :free], live, self._idle(live)

    def _idle(self, live: Array) -> Array:
        """Paths that end blind, so that nothing can flow in them."""
        layout, free = self.layout, len(self.layout.free)
        apart = layout.start != layout.end
        runs = live & apart
        while True:
            ends = runs.astype(np.float32) @ layout.touch_single
            ends[:, free:] = 2
            ends[:, :free] += layout.draws
            single = ends == 1
            blind = runs & (single[:, layout.start] | single[:, layout.end])
            if not blind.any():
                return live & ~runs & apart
            runs &= ~blind

    def correct(
        self,
        f: Figures,
        flow: Array,
        difference: Array,
        takes: Array,
        pressure: Array,
        typical: Array,
        turn: int,
    ) -> tuple[Array, Array]:
        """Shuts what runs backwards, opens what is pushed, moves what holds.

        Gives the flows, shape (V, P), and which variants changed, shape (V,).
        """
        layout = self.layout
        wished = flow[:, layout.holders]
        size = np.abs(flow)
        flow = np.where(self.idle | (size < DUST), 0.0, flow)
        little = NOTHING * size.max(axis=1, keepdims=True) + NOTHING_AT_ALL
        back = self.live & (self.way * flow < -little) & ~self.soft[:, None]
        pushed = self._pushed(difference, takes)
        moved = np.zeros(len(flow), bool)
        if len(layout.holders):
            pushed[:, layout.regulators] = False
            pushed[:, layout.pumps] &= ~self.steady
            back &= ~self.active_path
            moved = move(layout, f, self, wished, difference, pressure, little)
        if not (back.any() or pushed.any() or moved.any()):
            return np.where(self.live, flow, 0.0), moved
        if turn > PATIENT:
            ill = np.where(back, np.abs(flow) / np.abs(typical), 0.0)
            ill = np.where(pushed, 1e-5 * np.abs(difference - takes) + 1e-9, ill)
            worst = ill == ill.max(axis=1, keepdims=True)
            back &= worst
            pushed &= worst
        self.closed = (self.closed | back) & ~pushed
        changed = moved | (back | pushed).any(axis=1)
        self.reach(changed)
        return np.where(self.live, flow, 0.0), changed

    def _pushed(self, difference: Array, takes: Array) -> Array:
        """Shut check valves that the pressure opens, or that part water from nothing."""
        layout = self.layout
        shut = self.open & self.closed
        if not shut.any():
            return shut
        pushed = shut & (self.way * (difference - takes) > TENSION)
        inside = np.ones((len(shut), len(layout.place)), bool)
        inside[:, : len(layout.free)] = self.reached
        ahead = self.way > 0
        first = np.where(ahead, inside[:, layout.start], inside[:, layout.end])
        second = np.where(ahead, inside[:, layout.end], inside[:, layout.start])
        return first & (pushed | (shut & ~second))

    def soften(self, which: Array) -> None:
        """Lets check valves of some variants resist instead of shut: slower, but it always ends."""
        self.soft |= which
        self.closed = np.where(which[:, None], False, self.closed)
        self.reach()

    def harden(self, flow: Array, which: Array) -> None:
        """Shuts the check valves that a soft answer runs against."""
        self.closed |= which[:, None] & (self.way * flow < 0) & ~self.active_path
        self.soft &= ~which
        self.reach()

    def against(self, flow: Array) -> Array | None:
        """Flows that soft check valves resist, shape (V, P)."""
        if not self.soft.any():
            return None
        return self.soft[:, None] & self.runs & (self.way * flow < 0)
