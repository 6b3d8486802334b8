"""What the links of each path take at a flow, and how fast that grows: exact derivatives.

Shapes: V variants (1 where the same in all) by P paths.  Mass flow in kg/s, loss in Pa.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..words.glossary import GRAVITY
from .friction import friction_number

if TYPE_CHECKING:
    from .layout import Figures, Layout

Array = Any

DRIP = 1e-6
"""Mass flow (kg/s) below which a square law is straightened, so that its slope is never nought."""
LIMIT_RISE = 1e5 / 1e-3
"""Pa for each time the limit is exceeded: a limited fixture lets 0.1 % more pass for each bar."""
STOP = 1e10
"""Pa s/kg: how a check valve resists while the solver still feels its way (0.01 g/s at 1 bar)."""
SLOPE_LEAST = 1e-3
"""Least slope, Pa s/kg, so that a link without any loss still has an answer."""
OPENING_LEAST = 3e-4
"""A mixing valve shuts a way down to this share of its opening: it never quite shuts."""


def loss(
    layout: Layout,
    f: Figures,
    flow: Array,
    density: Array,
    viscosity: Array,
    position: Array,
    against: Array | None = None,
) -> tuple[Array, Array, Array]:
    """Loss from start to end of each path, its slope over the mass flow, and for the mixing
    valves the slope over the logarithmic position: shapes (V, P), (V, P), (V, 2·mixers).

    ``against`` (V, P) marks flows against a check valve, which are met with ``STOP``.
    """
    drag = f.quadratic / density
    mixers = len(layout.hot)
    if mixers:
        share = np.concatenate([position, 1.0 - position], axis=1)
        drag[:, layout.ways] /= share**2
    square = flow**2
    bend = np.sqrt(square + DRIP**2)
    dragged = drag * flow * bend
    whole = dragged + density * (GRAVITY * f.rise) + f.crack
    slope = drag * (bend + square / bend)
    if layout.has_linear:
        whole += f.linear * flow
        slope += f.linear
    by_position = np.zeros((len(flow), 2 * mixers))
    if mixers:
        by_position = -2 * dragged[:, layout.ways] * (1.0 - share)
        by_position[:, mixers:] *= -1
    if len(layout.tubes):
        path = layout.tube_path
        stretch = flow[:, path]
        thick = viscosity[:, path]
        number, growth = friction_number(np.abs(stretch) * f.reach / thick, f.wall, f.wall_guess)
        each = f.tube * thick / (f.reach * density[:, path])
        whole += (each * number * stretch) @ layout.tube_gather
        slope += (each * (number + growth)) @ layout.tube_gather
    if len(layout.limited):
        passed = flow[:, layout.limited]
        over = np.abs(passed) / density[:, layout.limited] / f.limit - 1.0
        steep = np.where(over > 0, LIMIT_RISE, 0.0)
        whole[:, layout.limited] += np.sign(passed) * steep * over
        slope[:, layout.limited] += steep / (density[:, layout.limited] * f.limit)
    if len(layout.pumps):
        thin = density[:, layout.pumps]
        gives, falls = pump_pressure(f, flow[:, layout.pumps] / thin)
        whole[:, layout.pumps] -= gives
        slope[:, layout.pumps] -= falls / thin
    if against is not None and against.any():
        rest = f.crack + density * GRAVITY * f.rise
        if len(layout.pumps):
            still = pump_pressure(f, np.zeros_like(thin))[0]
            rest[:, layout.pumps] -= still
        whole = np.where(against, rest + STOP * flow, whole)
        slope = np.where(against, STOP, slope)
    return whole, np.maximum(slope, SLOPE_LEAST), by_position


def pump_pressure(f: Figures, flow: Array) -> tuple[Array, Array]:
    """Pressure on the pumps' curves and its slope over the flow, shapes (V, pumps)."""
    points, heights = f.pump_flow, f.pump_pressure
    at = np.sum(flow[..., None] > points[..., 1:-1], axis=-1)
    pump = np.arange(points.shape[1])
    row = np.arange(len(points))[:, None] if len(points) > 1 else 0
    line = np.arange(len(heights))[:, None] if len(heights) > 1 else 0
    left, right = points[row, pump, at], points[row, pump, at + 1]
    low, high = heights[line, pump, at], heights[line, pump, at + 1]
    slope = (high - low) / (right - left)
    return low + slope * (flow - left), slope
