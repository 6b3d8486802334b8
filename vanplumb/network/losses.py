"""Density and viscosity of the water in each path, at its own temperature.

Which law of friction holds in a tube, over the whole range of flow, and its slope.
What the links of each path take at a flow, and how fast that grows: exact derivatives.
"""

from __future__ import annotations

import numpy as np

from ..formulas.tube import bridged_friction, colebrook_residual, laminar_friction
from ..formulas.water import water_density, water_viscosity
from ..words.glossary import GRAVITY, REYNOLDS_LAMINAR, REYNOLDS_TURBULENT
from ..words.work import Work, solved
from .layout import Figures, Layout
from .links import Figure, Flags, Floats

_LN10 = np.log(10.0)
_PART = 2 / _LN10
_WAY = np.log(REYNOLDS_TURBULENT / REYNOLDS_LAMINAR)
_REYNOLDS_LEAST = 1e-9
"""Stands in for standing water, where f itself has no bound."""


def friction_factor(reynolds: Figure, roughness_relative: Figure) -> Floats:
    """Darcy friction factor; arrays of any shapes that go together.  Re 0 counts as 1e-9."""
    return friction_with_slope(reynolds, roughness_relative)[0]


def friction_with_slope(reynolds: Figure, roughness_relative: Figure) -> tuple[Floats, Floats]:
    """Friction factor and df/dRe at once."""
    re = np.maximum(reynolds, _REYNOLDS_LEAST)
    number, growth = friction_number(re, *wall_numbers(roughness_relative))
    return number / re, (growth - number) / re**2


def wall_numbers(roughness_relative: Figure) -> tuple[Floats, Floats]:
    """What ``friction_number`` needs of a tube's wall, worked out once for all flows."""
    wall = np.asarray(roughness_relative, dtype=float) / 3.7
    return wall, wall**1.11


def friction_number(reynolds: Floats, wall: Floats, wall_guess: Floats) -> tuple[Floats, Floats]:
    """f·Re, and its slope over ln Re: 64 and 0 where flow is laminar, standing water too.

    The flow engine works with f·Re, since a tube's loss is that times viscosity and speed,
    without a bound to break at no flow.  ``wall`` and ``wall_guess`` are ``wall_numbers``.
    """
    re = np.maximum(reynolds, REYNOLDS_LAMINAR)
    film = 2.51 / re
    root, inside = _root(re, film, wall, wall_guess)
    number = re / (root * root)
    bend = _PART * film
    growth = number * (inside - bend) / (inside + bend)
    way = np.minimum(np.log(re / REYNOLDS_LAMINAR) / _WAY, 1.0)
    beyond, rest = number - 64.0, 1 - way
    share = way * way * (1 + 2 * rest)
    return 64.0 + share * beyond, share * growth + (6 / _WAY) * way * rest * beyond


def _root(re: Floats, film: Floats, wall: Floats, wall_guess: Floats) -> tuple[Floats, Floats]:
    """1/√f by Colebrook, and what stands in its logarithm.

    Haaland's formula starts within 3 % of f and each pass squares the error: 3e-5 after the
    first, 1e-11 at the most after the second, which is what the flow engine closes to.
    """
    root = np.asarray((-1.8 / _LN10) * np.log(wall_guess + 6.9 / re))
    bend = _PART * film
    for _ in range(2):
        inside = wall + film * root
        step = np.log(inside)
        step *= _PART
        step += root
        step *= inside
        step /= inside + bend
        root -= step
    return root, wall + film * root


def turbulent_friction(reynolds: Figure, roughness_relative: Figure) -> Floats:
    """Friction factor by Colebrook alone, whatever the flow."""
    wall, guess = wall_numbers(roughness_relative)
    re = np.asarray(reynolds, dtype=float)
    return _root(re, 2.51 / re, wall, guess)[0] ** -2


def friction_work(reynolds: float, roughness_relative: float) -> tuple[Work, ...]:
    """Worked steps of the law that holds at one flow, the last giving the friction factor."""
    laminar = reynolds <= REYNOLDS_LAMINAR
    turbulent = reynolds >= REYNOLDS_TURBULENT
    if laminar:
        return (laminar_friction.work(reynolds=reynolds),)
    found = float(turbulent_friction(reynolds, roughness_relative))
    colebrook = solved(
        colebrook_residual,
        "friction_factor",
        friction_factor=found,
        reynolds=reynolds,
        roughness_relative=roughness_relative,
    )
    if turbulent:
        return (colebrook,)
    bridged = bridged_friction.work(
        reynolds=reynolds,
        friction_factor_laminar=64 / reynolds,
        friction_factor_turbulent=found,
    )
    return (colebrook, bridged)


DRIP = 1e-6
"""Mass flow (kg/s) below which a square law is straightened, so that its slope is never zero."""
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
    flow: Floats,
    density: Floats,
    viscosity: Floats,
    position: Floats,
    against: Flags | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Loss from start to end of each path, its slope over the mass flow, and for the mixing
    valves the slope over the logarithmic position: shapes (V, P), (V, P), (V, 2·mixers).

    ``against`` (V, P) marks flows against a check valve, which are met with ``STOP``.
    """
    drag = f.quadratic / density
    mixers = len(layout.hot)
    if mixers:
        share = np.concatenate([position, 1.0 - position], axis=1)
        drag[:, layout.ways] /= share * share
    square = flow**2
    bend = np.sqrt(square + DRIP**2)
    dragged = drag * flow * bend
    whole = density * (GRAVITY * f.rise)
    whole += dragged
    whole += f.crack
    slope = square / bend
    slope += bend
    slope *= drag
    if layout.has_linear:
        whole += f.linear * flow
        slope += f.linear
    if mixers:
        by_position = -2 * dragged[:, layout.ways] * (1.0 - share)
        by_position[:, mixers:] *= -1
    else:
        by_position = np.zeros((len(flow), 0))
    if len(layout.tubes):
        path = layout.tube_path
        stretch = flow[:, path]
        thick = viscosity[:, path]
        number, growth = friction_number(np.abs(stretch) * f.reach / thick, f.wall, f.wall_guess)
        each = f.drag * thick / density[:, path]
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


def pump_pressure(f: Figures, flow: Floats) -> tuple[Floats, Floats]:
    """Pressure on the pumps' curves and its slope over the flow, shapes (V, pumps)."""
    past = flow[..., None] > f.pump_flow[..., 1:-1]
    line = np.add.reduce(past, axis=-1, dtype=np.intp)
    pump = np.arange(line.shape[1])
    row = np.arange(len(f.pump_falls))[:, None] if len(f.pump_falls) > 1 else 0
    falls = f.pump_falls[row, pump, line]
    return f.pump_rests[row, pump, line] + falls * flow, falls


def properties(layout: Layout, flow: Floats, warm: Floats) -> tuple[Floats, Floats]:
    """Density and viscosity, shape (V, P).

    Water in a path has the temperature of where it comes from; in a heater, of where it goes.
    """
    if layout.net.density is not None:
        return _stated(layout, flow)
    density, viscosity = water_of(layout, warm)
    source = np.where(flow >= 0, layout.start, layout.end)
    if len(source) > 1:
        source += (warm.shape[1] * np.arange(len(source)))[:, None]
    return density.take(source), viscosity.take(source)


def water_of(layout: Layout, warm: Floats) -> tuple[Floats, Floats]:
    """Density and viscosity, shape (V, P), of water that is so warm in each path."""
    if layout.net.density is not None:
        return _stated(layout, warm)
    return water_density.si(warm), water_viscosity.si(warm)


def _stated(layout: Layout, like: Floats) -> tuple[Floats, Floats]:
    net = layout.net
    viscosity = 1e-3 if net.viscosity is None else net.viscosity
    return np.full(like.shape, net.density), np.full(like.shape, viscosity)
