"""What is open, shut or held: check valves, regulators, cycling pumps, and what water reaches.

Each state is a guess that the pressures found with it confirm or refute.  Links that hold the
pressure at their outlet are regulators, and pumps that their switch cycles: while one holds,
its flow is whatever keeps its outlet at the set pressure, but for a droop too small to matter.
Shapes: V variants, P paths, N free junctions, K holders (regulators first, then pumps).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..words.glossary import GRAVITY
from .layout import Figures, Layout, take_rows
from .links import Flags, Floats, Rows, Whole

DROOP = 1e3
"""Pa s/kg by which a held outlet falls with flow: 1 mbar at 6 L/min."""
INLET_DROOP = 10.0
"""Pa s/kg by which the inlet of a starved pump stands above its least pressure."""
TENSION = 1e-4
"""Pa that is rounding."""
ROUNDING = 1e-9
"""kg/s that is rounding: what the droop makes of the last digits of a pressure."""
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


def _some(flags: Flags) -> bool:
    """``flags.any()``, in a third of its time where the array is small."""
    return bool(np.count_nonzero(flags))


def _put(old: Flags, chosen: Rows, new: Flags) -> Flags:
    """Some rows of an array anew; the old one stays as it was."""
    if isinstance(chosen, slice):
        return new
    found = old.copy()
    found[chosen] = new
    return found


@dataclass
class PumpStates:
    """What pumps do beside running on their curve, shape (V, pumps).

    ``cycling``: its switch is at work; ``resting``: its switch keeps it off, another gives;
    ``starved``: its inlet is as low as it can go, and the suction line says how much comes.
    ``duty_flow`` (m³/s), ``duty_inlet`` and ``duty_outlet`` (Pa) are those before its switch
    stopped it.
    ``last_flow`` at ``last_target`` is what it gave at the pressure tried before, ``power`` and
    ``slope`` how what is drawn hangs on the pressure.  ``share``, ``filling`` and ``duration``
    are those of the ``Cycle``.
    """

    cycling: Flags
    resting: Flags
    starved: Flags
    duty_flow: Floats
    duty_inlet: Floats
    duty_outlet: Floats
    last_target: Floats
    last_flow: Floats
    power: Floats
    slope: Floats
    share: Floats
    filling: Floats
    duration: Floats
    moves: Whole

    @classmethod
    def begin(cls, size: int, count: int) -> PumpStates:
        """All run."""
        shape = (size, count)
        return cls(
            cycling=np.zeros(shape, bool),
            resting=np.zeros(shape, bool),
            starved=np.zeros(shape, bool),
            duty_flow=np.zeros(shape),
            duty_inlet=np.zeros(shape),
            duty_outlet=np.full(shape, np.inf),
            last_target=np.full(shape, np.nan),
            last_flow=np.zeros(shape),
            power=np.full(shape, 0.5),
            slope=np.zeros(shape),
            share=np.ones(shape),
            filling=np.full(shape, np.nan),
            duration=np.full(shape, np.nan),
            moves=np.zeros(size, int),
        )


@dataclass
class State:
    """The state of each path.

    ``open`` (V, P): no shut-off in the way; ``shut``: a check valve or regulator is shut;
    ``live``: open, not shut, and water reaches both ends; ``idle``: live, but leads nowhere;
    ``runs``: live, and its flow follows from its loss.
    ``holding`` (V, K): holds its outlet.
    ``reached`` (V, N).  ``soft`` (V,): check valves resist backward flow instead of shutting.
    ``way`` (1 or V, P): 1 or −1 where water may pass only so.  ``targets`` (1 or V, K).
    """

    layout: Layout
    open: Flags
    shut: Flags
    live: Flags
    idle: Flags
    runs: Flags
    holding: Flags
    holding_path: Flags
    pumps: PumpStates
    reached: Flags
    way: Floats
    soft: Flags
    targets: Floats

    @classmethod
    def begin(cls, layout: Layout, f: Figures, open: Flags) -> State:
        size, paths = open.shape
        passes = open & (f.forward | f.back)
        targets = set_pressures(f)
        state = cls(
            layout=layout,
            open=passes,
            shut=np.zeros((size, paths), bool),
            live=passes,
            idle=np.zeros((size, paths), bool),
            runs=passes,
            holding=np.zeros((size, len(layout.holders)), bool),
            holding_path=np.zeros((1, paths), bool),
            pumps=PumpStates.begin(size, len(layout.pumps)),
            reached=np.ones((size, len(layout.free)), bool),
            way=f.forward.astype(float) - f.back.astype(float),
            soft=np.zeros(size, bool),
            targets=np.array(np.broadcast_to(targets, (size, targets.shape[1]))),
        )
        state.reach()
        return state

    def take(self, rows: Rows) -> State:
        """The states of some variants."""
        return replace(take_rows(self, rows), pumps=take_rows(self.pumps, rows))

    def mark(self) -> None:
        """Writes ``holding_path`` anew."""
        if self.holding.any() or self.pumps.starved.any():
            self.holding_path = np.zeros(self.open.shape, bool)
            self.holding_path[:, self.layout.holders] = self.holding
            self.holding_path[:, self.layout.pumps] |= self.pumps.starved
        else:
            self.holding_path = np.zeros((1, self.open.shape[1]), bool)

    def reach(self, rows: Flags | None = None) -> None:
        """Finds the nodes that are joined to a held pressure by what is open.

        Through a link that holds its outlet, pressure passes only forward.  ``rows`` (V,) marks
        the variants that changed; all if None.
        """
        chosen = slice(None) if rows is None or rows.mean() > 0.5 else np.flatnonzero(rows)
        passes = self.open[chosen] & ~self.shut[chosen]
        holding = self.holding_path if len(self.holding_path) == 1 else self.holding_path[chosen]
        if len(passes) < MANY:
            found = self._spread(passes, holding, self._starved_paths(chosen))
        else:  # few of many variants differ in what is open: each pattern once
            pattern = np.packbits(passes, axis=1)
            if len(holding) > 1:
                pattern = np.concatenate([pattern, np.packbits(holding, axis=1)], axis=1)
            if self.pumps.starved.any():
                starved = np.packbits(self.pumps.starved[chosen], axis=1)
                pattern = np.concatenate([pattern, starved], axis=1)
            whole = np.ascontiguousarray(pattern).view(f"V{pattern.shape[1]}")[:, 0]
            _, first, each = np.unique(whole, return_index=True, return_inverse=True)
            one_of = holding if len(holding) == 1 else holding[first]
            found = tuple(
                part[each]
                for part in self._spread(passes[first], one_of, self._starved_paths(chosen, first))
            )
        self.reached, self.live, self.idle = (
            _put(old, chosen, new)
            for old, new in zip((self.reached, self.live, self.idle), found, strict=True)
        )
        self.runs = self.live & ~self.holding_path

    def _starved_paths(self, chosen: Rows, then: Rows = slice(None)) -> Flags | None:
        """Paths of starved pumps in some variants; None if there are none."""
        if not self.pumps.starved.any():
            return None
        found = np.zeros(self.open.shape, bool)
        found[:, self.layout.pumps] = self.pumps.starved
        return found[chosen][then]

    def _spread(self, passes: Flags, holding: Flags, starved: Flags | None) -> tuple[Flags, ...]:
        """Which nodes are reached, which paths are live, and which of these are idle.

        A starved pump's inlet is as good as held, but nothing of it is felt beyond the pump.
        """
        layout, free = self.layout, len(self.layout.free)
        seen = np.zeros((len(passes), len(layout.place)), bool)
        seen[:, free:] = True
        every = passes
        if starved is not None:
            for k in layout.pumps:
                seen[:, layout.start[k]] |= starved[:, k] & passes[:, k]
            passes = passes & ~starved
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
        live = every & seen[:, layout.start] & seen[:, layout.end]
        return seen[:, :free], live, self._idle(live)

    def _idle(self, live: Flags) -> Flags:
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
        flow: Floats,
        difference: Floats,
        takes: Floats,
        pressure: Floats,
        typical: Floats,
        turn: int,
    ) -> tuple[Floats, Flags]:
        """Shuts what runs backwards, opens what is pushed, moves what holds.

        Gives the flows, shape (V, P), and which variants changed, shape (V,).
        """
        layout = self.layout
        wished = flow[:, layout.holders]
        size = np.abs(flow)
        flow = np.where(self.idle | (size < DUST), 0.0, flow)
        little = NOTHING * size.max(axis=1, keepdims=True) + NOTHING_AT_ALL
        at = layout.gates
        back = self.live[:, at] & (self.way[:, at] * flow[:, at] < -little)
        if _some(self.soft):
            back &= ~self.soft[:, None]
        apart = (difference - takes)[:, at]
        pushed = self._pushed(apart)
        moved = np.zeros(len(flow), bool)
        if len(layout.holders):
            if _some(pushed):
                busy = np.zeros(flow.shape, bool)
                busy[:, layout.pumps] = self.pumps.cycling | self.pumps.starved
                pushed &= ~(layout.regulator_gates | busy[:, at])
            back &= ~self.holding_path[:, at]
            moved = move_holders(layout, f, self, wished, difference, pressure, little)
        if not (_some(back) or _some(pushed) or _some(moved)):
            return np.where(self.live, flow, 0.0), moved
        if turn > PATIENT:
            ill = np.where(back, np.abs(flow[:, at]) / np.abs(typical[:, at]), 0.0)
            ill = np.where(pushed, 1e-5 * np.abs(apart) + 1e-9, ill)
            worst = ill == ill.max(axis=1, keepdims=True, initial=0.0)
            back &= worst
            pushed &= worst
        self.shut = self.shut.copy()
        self.shut[:, at] = (self.shut[:, at] | back) & ~pushed
        changed = moved | (back | pushed).any(axis=1)
        self.reach(changed)
        # what leads nowhere now is at rest at once: the pressure at its end, by which others are
        # pushed open, would else be found with the slope at a flow that is gone
        return np.where(self.live & ~self.idle, flow, 0.0), changed

    def _pushed(self, apart: Floats) -> Flags:
        """Shut check valves that the pressure opens, or that part water from nothing.

        ``apart`` is what they would have to take beyond what they do, shape (V, gates).
        """
        layout, at = self.layout, self.layout.gates
        barred = self.open[:, at] & self.shut[:, at]
        if not _some(barred):
            return barred
        inside = np.ones((len(barred), len(layout.place)), bool)
        inside[:, : len(layout.free)] = self.reached
        start, end = inside[:, layout.start[at]], inside[:, layout.end[at]]
        ahead = self.way[:, at] > 0
        first, second = np.where(ahead, start, end), np.where(ahead, end, start)
        return first & barred & ((self.way[:, at] * apart > TENSION) | ~second)

    def soften(self, which: Flags) -> None:
        """Lets check valves of some variants resist instead of shut: slower, but it always ends."""
        self.soft |= which
        self.shut = np.where(which[:, None], False, self.shut)
        self.reach()

    def harden(self, flow: Floats, which: Flags) -> None:
        """Shuts the check valves that a soft answer runs against."""
        self.shut |= which[:, None] & (self.way * flow < 0) & ~self.holding_path
        self.soft &= ~which
        self.reach()

    def against(self, flow: Floats) -> Flags | None:
        """Flows that soft check valves resist, shape (V, P)."""
        if not _some(self.soft):
            return None
        return self.soft[:, None] & self.runs & (self.way * flow < 0)


def set_pressures(f: Figures) -> Floats:
    """Set pressures to begin with: of regulators their setting, of pumps the middle between
    cut-in and cut-out."""
    switched = np.isfinite(f.cut_out)
    mean = np.where(switched, 0.5 * np.where(switched, f.cut_in + f.cut_out, 0.0), 0.0)
    if len(mean) != len(f.setting):
        count = max(len(mean), len(f.setting))
        mean = np.broadcast_to(mean, (count, mean.shape[1]))
        return np.concatenate([np.broadcast_to(f.setting, (count, f.setting.shape[1])), mean], 1)
    return np.concatenate([f.setting, mean], axis=1)


def outlet_pressures(layout: Layout, f: Figures, pressure: Floats) -> Floats:
    """Pressure at the outlet of each holder, shape (V, K)."""
    if layout.holders_inside:
        return pressure[:, layout.holder_ends]
    held = np.broadcast_to(f.held, (len(pressure), f.held.shape[1]))
    return np.concatenate([pressure, held], axis=1)[:, layout.holder_ends]


def tie_outlets(
    layout: Layout, f: Figures, state: State, values: Floats, right: Floats, pressure: Floats
) -> None:
    """Ties the outlet of each that holds to its set pressure, and feeds it from the inlet."""
    free = len(layout.free)
    on = (state.holding & state.live[:, layout.holders]) / DROOP
    given = on * (state.targets - outlet_pressures(layout, f, pressure))
    for k, path in enumerate(layout.holders):
        a, b = layout.start[path], layout.end[path]
        if b < free:
            values[:, layout.matrix.entry[b, b]] += on[:, k]
            right[:, b] += given[:, k]
        if a < free:
            right[:, a] -= given[:, k]
            if b < free:
                values[:, layout.matrix.entry[a, b]] -= on[:, k]
    if not state.pumps.starved.any():
        return
    on, given = starved_flows(layout, f, state, pressure)
    for k, path in enumerate(layout.pumps):
        a, b = layout.start[path], layout.end[path]
        if a < free:
            values[:, layout.matrix.entry[a, a]] += on[:, k]
            right[:, a] -= given[:, k]
        if b < free:
            right[:, b] += given[:, k]
            if a < free:
                values[:, layout.matrix.entry[b, a]] -= on[:, k]


def inlet_pressures(layout: Layout, f: Figures, pressure: Floats) -> Floats:
    """Pressure at the inlet of each pump, shape (V, pumps)."""
    held = np.broadcast_to(f.held, (len(pressure), f.held.shape[1]))
    return np.concatenate([pressure, held], axis=1)[:, layout.start[layout.pumps]]


def starved_flows(
    layout: Layout, f: Figures, state: State, pressure: Floats
) -> tuple[Floats, Floats]:
    """Of starved pumps: how their flow grows with the pressure at the inlet, and the flow, kg/s."""
    on = (state.pumps.starved & state.live[:, layout.pumps]) / INLET_DROOP
    least = np.where(np.isfinite(f.inlet_least), f.inlet_least, 0.0)
    return on, on * (inlet_pressures(layout, f, pressure) - least)


def put_held_flows(
    layout: Layout, f: Figures, state: State, flow: Floats, pressure: Floats
) -> None:
    """Puts the flow of those that hold in its place."""
    given = (state.targets - outlet_pressures(layout, f, pressure)) / DROOP
    on = state.holding & state.live[:, layout.holders]
    flow[:, layout.holders] = np.where(on, given, flow[:, layout.holders])
    if state.pumps.starved.any():
        slope, comes = starved_flows(layout, f, state, pressure)
        flow[:, layout.pumps] = np.where(slope > 0, comes, flow[:, layout.pumps])


def move_holders(
    layout: Layout,
    f: Figures,
    state: State,
    wished: Floats,
    difference: Floats,
    pressure: Floats,
    little: Floats,
) -> Flags:
    """Opens, shuts or lets hold.  Gives which variants changed, shape (V,).

    A regulator opens where it would have to draw; a cycling pump only rests, if something
    else keeps its outlet above its mean.
    """
    at, many = layout.holders, len(layout.regulators)
    if not many and not state.holding.any():
        return np.zeros(len(wished), bool)
    out, target = outlet_pressures(layout, f, pressure), state.targets
    if not (_some(state.holding) or _some(state.shut[:, at]) or _some(out > target)):
        return np.zeros(len(wished), bool)
    across = difference[:, at]
    wide = f.quadratic[:, at] * wished * np.abs(wished) / 1000.0
    wide = wide + 1000.0 * GRAVITY * f.rise[:, at]
    live, closed = state.live[:, at], state.shut[:, at]
    regulator = np.arange(len(at)) < many
    to_shut = state.holding & (wished < -little - ROUNDING)
    to_open = regulator & state.holding & live & ~to_shut & (across < wide - TENSION)
    to_hold = live & ~state.holding & (wished >= -little) & (out > target + TENSION)
    to_hold |= state.open[:, at] & closed & (out < target - TENSION) & (across > TENSION)
    to_hold &= regulator
    changed = to_shut | to_open | to_hold
    if changed.any():
        state.holding = (state.holding | to_hold) & ~to_open & ~to_shut
        state.shut[:, at] = (closed | to_shut) & ~to_hold
        state.mark()
    return np.asarray(changed.any(axis=1))
