"""A pump that its pressure switch starts and stops: means over the time of filling and drawing.

The pump fills whatever gives between pump and taps from the cut-in to the cut-out pressure,
resting while that is drawn.  In each small step of pressure the flows run straight, so the time
that it takes is the water stored in it over the logarithmic mean of the flow that fills or
empties it; near a duty point at the cut-out the filling then takes ever longer, and the mean
goes over into the duty point without a step.  Shapes: R variants, pumps, M steps of pressure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .links import Floats

STEPS = 24
"""Steps of pressure from cut-in to cut-out."""
LEAST = 1e-9
"""Flow left for filling, as a share of the drawn flow, that stands for none."""
FLATTEST = 0.3
"""Least power of the pressure that is meant over time, where the drawn flow hangs on it less."""


@dataclass
class Suction:
    """The way to the pump's inlet: pressure there at rest, what it loses per square of the flow
    (m³/s), and the pressure below which the inlet can't go; shape (R, pumps) each, Pa."""

    rest: Floats
    drag: Floats
    least: Floats

    @property
    def most(self) -> Floats:
        """The greatest flow that it lets through, m³/s."""
        room = np.maximum(self.rest - self.least, 0.0)
        return np.where(self.drag > 0, np.sqrt(room / np.maximum(self.drag, 1e-300)), np.inf)


@dataclass
class Drawn:
    """What is drawn at the pump's outlet, net of all other supplies: ``flow`` (m³/s) at
    ``pressure`` (Pa), growing with the ``power`` of the pressure, or straight by ``slope`` where
    the power is above 1."""

    flow: Floats
    pressure: Floats
    power: Floats
    slope: Floats

    def at(self, pressure: Floats) -> Floats:
        """The flow at pressures of shape (R, pumps, M + 1)."""
        flow, here = self.flow[..., None], self.pressure[..., None]
        part = np.maximum(pressure / np.maximum(here, 1.0), 0.02)
        curved = flow * part ** np.minimum(self.power, 1.0)[..., None]
        straight = flow + self.slope[..., None] * (pressure - here)
        found = np.where(self.power[..., None] > 1.0, straight, curved)
        return np.maximum(found, LEAST * flow)


@dataclass
class Cycle:
    """Means over one cycle, shape (R, pumps).

    ``pressure`` is that at which what is drawn equals its mean over time; ``share`` the part of
    the time that the pump runs, ``filling`` the mean pressure while it does; ``duration`` is
    that of a cycle in s, if the stored water is in m³.
    """

    pressure: Floats
    share: Floats
    filling: Floats
    duration: Floats


def pump_flow(points: Floats, heights: Floats, suction: Suction, pressure: Floats) -> Floats:
    """What the pump gives against pressures (R, pumps, any) at its outlet, m³/s.

    On each straight piece of its curve (1 or R, pumps, points), less the square that the suction
    takes, that is the root of a square equation.
    """
    rest, drag = suction.rest[..., None], suction.drag[..., None]
    shape = (*pressure.shape[:2], points.shape[-1])
    x, y = np.broadcast_to(points, shape), np.broadcast_to(heights, shape)
    knots = y + rest - drag * x**2
    at = np.sum(pressure[..., None] < knots[..., None, 1:-1], axis=-1)
    left, right = np.take_along_axis(x, at, -1), np.take_along_axis(x, at + 1, -1)
    low, high = np.take_along_axis(y, at, -1), np.take_along_axis(y, at + 1, -1)
    slope = (high - low) / (right - left)
    short = np.minimum(pressure - rest - low + slope * left, 0.0)
    root = np.sqrt(slope**2 - 4 * drag * short)
    flow = 2 * short / np.minimum(slope - root, -1e-300)
    return np.minimum(flow, suction.most[..., None])


def _log_mean(a: Floats, b: Floats) -> Floats:
    """The logarithmic mean of two positive figures."""
    ratio = a / b
    near = np.abs(ratio - 1.0) < 1e-4
    safe = np.where(near, 2.0, ratio)
    return np.where(near, 0.5 * (a + b), (a - b) / np.log(safe))


def _centre(first: Floats, last: Floats) -> Floats:
    """Where the time of a step has its middle, 0 to 1, if the flow goes straight from one end
    of it to the other."""
    ratio = last / first
    near = np.abs(ratio - 1.0) < 1e-3
    safe = np.where(near, 2.0, ratio)
    return np.where(near, 0.5 - (ratio - 1.0) / 12, 1 / np.log(safe) - 1 / (safe - 1.0))


def cycle_means(
    points: Floats,
    heights: Floats,
    cut_in: Floats,
    cut_out: Floats,
    stored: Floats,
    suction: Suction,
    drawn: Drawn,
) -> Cycle:
    """Means over a cycle.  ``stored`` (1 or R, pumps, M) is the water, m³, that each step of
    pressure holds; only its proportions matter, but for the duration."""
    way = np.linspace(0.0, 1.0, stored.shape[-1] + 1)
    wide = (cut_out - cut_in)[..., None]
    pressure = cut_in[..., None] + wide * way
    out = drawn.at(pressure)
    fills = np.maximum(
        pump_flow(points, heights, suction, pressure) - out, LEAST * drawn.flow[..., None]
    )
    fill = stored / _log_mean(fills[..., :-1], fills[..., 1:])
    draw = stored / _log_mean(out[..., :-1], out[..., 1:])
    step = wide / stored.shape[-1]
    at_fill = pressure[..., :-1] + step * _centre(fills[..., :-1], fills[..., 1:])
    at_draw = pressure[..., :-1] + step * _centre(out[..., :-1], out[..., 1:])
    whole = fill.sum(axis=-1) + draw.sum(axis=-1)
    power = np.clip(drawn.power, FLATTEST, 1.0)
    n = power[..., None]
    mean = (fill * np.maximum(at_fill, 1.0) ** n + draw * np.maximum(at_draw, 1.0) ** n).sum(
        axis=-1
    ) / whole
    return Cycle(
        pressure=np.clip(mean ** (1 / power), cut_in, cut_out),
        share=fill.sum(axis=-1) / whole,
        filling=(fill * at_fill).sum(axis=-1) / fill.sum(axis=-1),
        duration=whole,
    )
