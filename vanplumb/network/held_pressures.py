"""Links that hold the pressure at their outlet: regulators, and pumps that their switch cycles.

While one holds, its flow is whatever keeps its outlet at the set pressure, but for a droop
too small to matter.  Shapes: V variants, K holders (regulators first, then pumps).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..words.glossary import GRAVITY

if TYPE_CHECKING:
    from .layout import Figures, Layout
    from .states import State

Array = Any

DROOP = 1e3
"""Pa s/kg by which a held outlet falls with flow: 1 mbar at 6 L/min."""
TENSION = 1e-4
"""Pa that is rounding."""
ROUNDING = 1e-9
"""kg/s that is rounding: what the droop makes of the last digits of a pressure."""


def targets(layout: Layout, f: Figures) -> Array:
    """Set pressures: of regulators their setting, of pumps the mean of cut-in and cut-out."""
    switched = np.isfinite(f.cut_out)
    mean = np.where(switched, 0.5 * np.where(switched, f.cut_in + f.cut_out, 0.0), 0.0)
    if len(mean) != len(f.setting):
        count = max(len(mean), len(f.setting))
        mean = np.broadcast_to(mean, (count, mean.shape[1]))
        return np.concatenate([np.broadcast_to(f.setting, (count, f.setting.shape[1])), mean], 1)
    return np.concatenate([f.setting, mean], axis=1)


def outlets(layout: Layout, f: Figures, pressure: Array) -> Array:
    """Pressure at the outlet of each holder, shape (V, K)."""
    if layout.holders_inside:
        return pressure[:, layout.holder_ends]
    held = np.broadcast_to(f.held, (len(pressure), f.held.shape[1]))
    return np.concatenate([pressure, held], axis=1)[:, layout.holder_ends]


def tie(
    layout: Layout, f: Figures, state: State, values: Array, right: Array, pressure: Array
) -> None:
    """Ties the outlet of each that holds to its set pressure, and feeds it from the inlet."""
    free = len(layout.free)
    on = (state.active & state.live[:, layout.holders]) / DROOP
    given = on * (state.targets - outlets(layout, f, pressure))
    for k, path in enumerate(layout.holders):
        a, b = layout.start[path], layout.end[path]
        if b < free:
            values[:, layout.matrix.entry[b, b]] += on[:, k]
            right[:, b] += given[:, k]
        if a < free:
            right[:, a] -= given[:, k]
            if b < free:
                values[:, layout.matrix.entry[a, b]] -= on[:, k]


def flows(layout: Layout, f: Figures, state: State, flow: Array, pressure: Array) -> None:
    """Puts the flow of those that hold in its place."""
    given = (state.targets - outlets(layout, f, pressure)) / DROOP
    on = state.active & state.live[:, layout.holders]
    flow[:, layout.holders] = np.where(on, given, flow[:, layout.holders])


def move(
    layout: Layout,
    f: Figures,
    state: State,
    wished: Array,
    difference: Array,
    pressure: Array,
    little: Array,
) -> Array:
    """Opens, shuts or lets hold.  Gives which variants changed, shape (V,).

    A regulator opens where it would have to draw; a cycling pump only rests, if something
    else keeps its outlet above its mean.
    """
    at, many = layout.holders, len(layout.regulators)
    if not many and not state.active.any():
        return np.zeros(len(wished), bool)
    out, target = outlets(layout, f, pressure), state.targets
    if not (state.active.any() or state.closed[:, at].any() or (out > target).any()):
        return np.zeros(len(wished), bool)
    across = difference[:, at]
    wide = f.quadratic[:, at] * wished * np.abs(wished) / 1000.0
    wide = wide + 1000.0 * GRAVITY * f.rise[:, at]
    live, closed = state.live[:, at], state.closed[:, at]
    regulator = np.arange(len(at)) < many
    to_shut = state.active & (wished < -little - ROUNDING)
    to_open = regulator & state.active & live & ~to_shut & (across < wide - TENSION)
    to_hold = live & ~state.active & (wished >= -little) & (out > target + TENSION)
    to_hold |= state.open[:, at] & closed & (out < target - TENSION) & (across > TENSION)
    to_hold &= regulator
    changed = to_shut | to_open | to_hold
    if changed.any():
        state.active = (state.active | to_hold) & ~to_open & ~to_shut
        state.closed[:, at] = (closed | to_shut) & ~to_hold
        state.mark()
    return changed.any(axis=1)


def switch(layout: Layout, f: Figures, state: State, pressure: Array, ready: Array) -> Array:
    """Lets pumps cycle whose duty point lies above their cut-out; (V,), true where new."""
    if not len(layout.pumps):
        return np.zeros(len(ready), bool)
    many = len(layout.regulators)
    out = outlets(layout, f, pressure)[:, many:]
    live = state.live[:, layout.pumps]
    over = (out > f.cut_out) & live & ~state.steady & ready[:, None]
    if over.any():
        state.steady = state.steady | over
        state.active[:, many:] |= over
        state.mark()
    return over.any(axis=1)
