"""What pumps do beside running on their curve: starved by their suction, switched by pressure.

Looked at only in variants whose flows are found with the pumps as they were.
"""

from __future__ import annotations

import numpy as np

from .layout import Figures, Layout
from .links import Flags, Floats, Whole
from .pump_cycle import Drawn, Suction, cycle_means
from .states import DROOP, ROUNDING, State, inlet_pressures, outlet_pressures

MOVES = 40
"""Times that pumps of one variant may change before what they do is left as it is."""
CLOSE = 1e-5
"""Share of the cut-out pressure by which the mean of a cycle may have moved in the last try."""
REPEATS = 0.01
"""Share of its cut-out within which a pressure switch trips, either way (assumed): a pump whose
duty point lies in that band is stopped only part of the time, so that nothing jumps there."""
NO_FLOW = 1e-10
"""m³/s that counts as nothing drawn: the pump stands still between cut-out and cut-in."""


def settle_pumps(
    layout: Layout,
    f: Figures,
    state: State,
    flow: Floats,
    density: Floats,
    pressure: Floats,
    left: Floats,
    ready: Flags,
) -> Flags:
    """Changes what pumps do where what was found refutes it; (V,), true where it changed.

    ``flow`` (kg/s), ``density`` and ``left`` (difference of pressure less what the path takes)
    have shape (V, P); ``ready`` (V,) marks what is found.
    """
    at, pumps = layout.pumps, state.pumps
    if not len(at):
        return np.zeros(len(ready), bool)
    look = ready & (pumps.moves < MOVES)
    many = len(layout.regulators)
    out = outlet_pressures(layout, f, pressure)[:, many:]
    live = state.live[:, at] & look[:, None]
    over = live & ~pumps.cycling & ~pumps.resting & (out > (1 - REPEATS) * f.cut_out)
    starve = back = too_deep = np.zeros_like(over)
    if np.isfinite(f.inlet_least).any():
        into = inlet_pressures(layout, f, pressure)
        starve = live & ~pumps.starved & (into < f.inlet_least - 1.0)
        drained = live & pumps.starved
        too_deep = drained & (flow[:, at] < -ROUNDING)
        back = drained & ~too_deep & (left[:, at] < -1.0)
        over &= ~starve & ~too_deep
    wakes = (
        pumps.resting
        & look[:, None]
        & np.concatenate([state.reached, np.ones((len(ready), 1), bool)], axis=1)[
            :, np.minimum(layout.end[at], len(layout.free))
        ]
        & (out < f.cut_in - 1.0)
    )
    changed = starve | too_deep | back | over | wakes
    if changed.any():
        if over.any():
            over = _rest_one(layout, f, state, over, flow)
            into = inlet_pressures(layout, f, pressure)
            pumps.duty_flow = np.where(over, flow[:, at] / density[:, at], pumps.duty_flow)
            pumps.duty_inlet = np.where(over, into, pumps.duty_inlet)
            pumps.duty_outlet = np.where(over, out, pumps.duty_outlet)
        pumps.starved = (pumps.starved | starve) & ~back & ~over
        starts = over | wakes
        pumps.resting = pumps.resting & ~wakes
        pumps.cycling = (pumps.cycling | starts) & ~starve
        state.holding[:, many:] = (state.holding[:, many:] | starts) & ~starve
        state.open[:, at] = (state.open[:, at] | wakes) & ~too_deep & ~pumps.resting
        state.mark()
        state.reach(changed.any(axis=1))
    moved = np.asarray(changed.any(axis=1))
    cycles = pumps.cycling & state.holding[:, many:] & live & look[:, None]
    cycles &= over | ~moved[:, None]  # the duty point tells about where the mean will be
    rows = np.flatnonzero(cycles.any(axis=1))
    if len(rows):
        moved[rows] |= _mean_over_cycle(
            layout, f, state, flow, density, pressure, out, cycles, rows
        )
    pumps.moves = pumps.moves + moved
    return moved


def _rest_one(layout: Layout, f: Figures, state: State, over: Flags, flow: Floats) -> Flags:
    """Where several pumps run, the one that restarts last only rests: the others may do without.

    Gives the pumps that begin to cycle.
    """
    pumps, at = state.pumps, layout.pumps
    running = state.live[:, at] & ~pumps.cycling & ~pumps.resting & (flow[:, at] > ROUNDING)
    several = over.any(axis=1) & (running.sum(axis=1) > 1)
    if not several.any():
        return over
    rank = np.where(over, np.broadcast_to(f.cut_in, over.shape), np.inf)
    last = rank == rank.min(axis=1, keepdims=True)
    weak = np.where(last, flow[:, at], np.inf)
    one = last & (weak == weak.min(axis=1, keepdims=True))
    one &= np.cumsum(one, axis=1) == 1
    pumps.resting = pumps.resting | (one & several[:, None])
    return over & ~several[:, None]


def _of(figures: Floats, rows: Whole) -> Floats:
    return figures if len(figures) == 1 else figures[rows]


def _mean_over_cycle(
    layout: Layout,
    f: Figures,
    state: State,
    flow: Floats,
    density: Floats,
    pressure: Floats,
    out: Floats,
    cycles: Flags,
    rows: Whole,
) -> Flags:
    """Moves cycling pumps of some variants to the mean pressure of their cycle, as it follows
    from what is drawn at their outlets' pressure ``out``.  Gives which of them moved."""
    pumps, at, many = state.pumps, layout.pumps, len(layout.regulators)
    here, target = cycles[rows], out[rows]
    drawn = np.maximum(flow[rows][:, at] / density[rows][:, at], 0.0)
    here &= drawn > NO_FLOW
    inlet = inlet_pressures(layout, f.take(rows), pressure[rows])
    last_target, last_flow = pumps.last_target[rows], pumps.last_flow[rows]
    apart = np.abs(target - last_target) > 1e-4 * np.abs(target)
    rise = np.where(apart, target / np.where(apart, last_target, 1.0), 2.0)
    grows = np.where(apart & (last_flow > 0), drawn / np.maximum(last_flow, 1e-300), 1.0)
    power = np.log(np.maximum(grows, 1e-9)) / np.log(np.maximum(rise, 1e-9))
    power = np.where(apart, np.clip(power, 0.0, 50.0), pumps.power[rows])
    slope = np.where(
        apart, (drawn - last_flow) / np.where(apart, target - last_target, 1.0), pumps.slope[rows]
    )
    squares = pumps.duty_flow[rows] ** 2 - drawn**2
    lost = np.maximum(inlet - pumps.duty_inlet[rows], 0.0)
    drag = np.where(squares > 1e-6 * drawn**2, lost / np.where(squares > 0, squares, 1.0), 0.0)
    cut_in, cut_out = (
        np.where(here, np.broadcast_to(_of(c, rows), here.shape), 1.0)
        for c in (f.cut_in, f.cut_out)
    )
    duty = np.where(here, pumps.duty_outlet[rows], 1.0)
    first, last = (1 - REPEATS) * cut_out, (1 + REPEATS) * cut_out
    span = np.where(last > first, last - first, 1.0)  # none if it cuts out at no pressure at all
    trips = np.clip((duty - first) / span, 1e-6, 1.0)
    found = cycle_means(
        _of(f.pump_flow, rows),
        _of(f.pump_pressure, rows),
        cut_in,
        np.maximum(0.5 * (first + np.minimum(duty, last)), cut_in),
        _of(f.stored, rows),
        Suction(
            inlet + drag * drawn**2, drag, np.broadcast_to(_of(f.inlet_least, rows), here.shape)
        ),
        Drawn(np.maximum(drawn, NO_FLOW), np.where(here, target, 1.0), power, slope),
    )
    # beside another pump one may have no duty point at all: then it trips, wholly
    mean = trips * found.pressure + (1 - trips) * np.where(trips < 1.0, duty, 0.0)
    moves = here & (np.abs(mean - target) > CLOSE * cut_out)
    for held, new in (
        ("power", power),
        ("slope", slope),
        ("last_target", target),
        ("last_flow", drawn),
        ("share", trips * found.share + 1 - trips),
        ("filling", found.filling),
        ("duration", found.duration / trips),
    ):
        old = getattr(pumps, held).copy()
        old[rows] = np.where(here, new, old[rows])
        setattr(pumps, held, old)
    targets = state.targets.copy()
    drooped = mean + DROOP * drawn * density[rows][:, at]
    targets[rows, many:] = np.where(moves, drooped, targets[rows, many:])
    state.targets = targets
    return np.asarray(moves.any(axis=1))
