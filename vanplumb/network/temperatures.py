"""Temperatures: every node has the mean of what flows into it, weighted by mass.

Linear for given flows, so it is solved at once, with rings and all.  Water in a line keeps
its temperature on the way; only heaters change it.  Shapes as in ``layout``.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from .layout import Figures, Layout
from .links import Flags, Floats
from .states import NOTHING, NOTHING_AT_ALL

Outside: TypeAlias = tuple[Floats, Floats]
"""Temperatures of held nodes at the start and the end of each path, and of all held nodes."""


TRICKLE = 1e-17
"""kg/s of standing water mixed into every node, so that one without any line has a temperature."""
SEEP = 1e-13
"""kg/s exchanged along every line, so that standing water takes its neighbours' temperature."""


def entering(layout: Layout, flow: Floats, warm: Floats) -> Floats:
    """What ``warm`` (V, N + H) says of the water that enters each heater, shape (V, heaters)."""
    ahead = flow[:, layout.heaters] >= 0
    return np.where(ahead, warm[:, layout.heater_start], warm[:, layout.heater_end])


def heater_rule(
    layout: Layout, f: Figures, flow: Floats, warm: Floats, density: Floats
) -> tuple[Floats, Floats]:
    """What leaves each heater is ``a + b·what enters``: gives a and b, shape (1 or V, heaters)."""
    if layout.all_stores:
        return f.setpoint, 0.0 * f.setpoint
    through = np.abs(flow[:, layout.heaters])
    endless = np.isinf(f.power)
    burns = through >= f.flow_least * density[:, layout.heaters]
    power = np.where(endless | ~burns, 0.0, f.power)
    gain = power / (layout.net.specific_heat * np.maximum(through, 1e-9))
    room = f.setpoint - entering(layout, flow, warm)
    # as a share of the way to the setpoint, so that water in a ring can't warm for ever
    share = np.minimum(gain / np.maximum(room, 1e-9), 1.0)
    share = np.where(endless, 1.0, np.where(room > -1e-6, share, 0.0))
    return share * f.setpoint, 1.0 - share


def from_outside(layout: Layout, f: Figures, size: int) -> Outside:
    """Temperatures of the held nodes where they bring water (0 at a heater that a free node feeds),
    shape (1 or V, ``layout.brings``), and of all held nodes, shape (V, H)."""
    both = np.concatenate([np.zeros((len(f.held_warm), len(layout.free))), f.held_warm], axis=1)
    held = np.broadcast_to(f.held_warm, (size, f.held_warm.shape[1]))
    return both[:, layout.both_ends[layout.brings]], held


def temperatures(
    layout: Layout,
    f: Figures,
    flow: Floats,
    warm: Floats,
    density: Floats,
    live: Flags,
    outside: Outside,
    method: str,
    seeps: float = SEEP,
) -> Floats:
    """Temperature of every node, free ones first, shape (V, N + H).

    ``warm`` holds the last guess; a heater of limited power looks at what entered it there.
    ``live`` (V, P) marks the paths that are open; ``outside`` comes from ``from_outside``.
    ``seeps`` (kg/s) is exchanged along every line.
    """
    size, paths = np.abs(flow), flow.shape[1]
    most = np.maximum.reduce(size, axis=1, keepdims=True, initial=0.0)
    flow = np.where(size > NOTHING * most + NOTHING_AT_ALL, flow, 0.0)
    along = np.concatenate([flow, -flow], axis=1)  # ahead, then back
    np.maximum(along, 0.0, out=along)
    seep = seeps * live
    along[:, :paths] += seep
    seep[:, layout.heaters] = 0.0
    along[:, paths:] += seep
    beyond, held = outside
    keeps, at = along, layout.heaters_both
    if len(at):
        a, b = (np.concatenate([x, x], axis=1) for x in heater_rule(layout, f, flow, warm, density))
        keeps = along.copy()
        keeps[:, at] *= b
    brings = keeps.take(layout.brings, axis=1) * beyond
    if len(at):
        brings[:, layout.heaters_bring] += along[:, at] * a
    values = keeps @ layout.from_both
    values[:, layout.diagonal] += along @ layout.into + TRICKLE
    brought = brings @ layout.brought + TRICKLE * f.standing
    return np.concatenate([layout.matrix.solve(values, brought, method), held], axis=1)
