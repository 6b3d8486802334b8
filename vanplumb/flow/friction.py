"""Which law of friction holds in a tube, over the whole range of flow, and its slope.

Up to Re 2000 flow is laminar and f = 64/Re.  From Re 4000 it is turbulent and f solves
Colebrook's equation, here to ten digits by Newton's way.  Between them the share of the
turbulent law grows smoothly (``bridged_friction``), so neither f nor its slope has a step.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..formulas.tube import bridged_friction, colebrook_residual, laminar_friction
from ..words.glossary import REYNOLDS_LAMINAR, REYNOLDS_TURBULENT

if TYPE_CHECKING:
    from ..words.work import Work

Array = Any

_LN10 = np.log(10.0)
_WAY = np.log(REYNOLDS_TURBULENT / REYNOLDS_LAMINAR)
_REYNOLDS_LEAST = 1e-9
"""Stands in for standing water, where f itself has no bound."""


def friction_factor(reynolds: Array, roughness_relative: Array) -> Array:
    """Darcy friction factor; arrays of any shapes that go together.  Re 0 counts as 1e-9."""
    return friction_with_slope(reynolds, roughness_relative)[0]


def friction_slope(reynolds: Array, roughness_relative: Array) -> Array:
    """How the friction factor changes with the Reynolds number: df/dRe."""
    return friction_with_slope(reynolds, roughness_relative)[1]


def friction_with_slope(reynolds: Array, roughness_relative: Array) -> tuple[Array, Array]:
    """Friction factor and df/dRe at once."""
    re = np.maximum(reynolds, _REYNOLDS_LEAST)
    number, growth = friction_number(re, *wall_numbers(roughness_relative))
    return number / re, (growth - number) / re**2


def wall_numbers(roughness_relative: Array) -> tuple[Array, Array]:
    """What ``friction_number`` needs of a tube's wall, worked out once for all flows."""
    wall = np.asarray(roughness_relative, dtype=float) / 3.7
    return wall, wall**1.11


def friction_number(reynolds: Array, wall: Array, wall_guess: Array) -> tuple[Array, Array]:
    """f·Re, and its slope over ln Re: 64 and 0 where flow is laminar, standing water too.

    The flow engine works with f·Re, since a tube's loss is that times viscosity and speed,
    without a bound to break at no flow.  ``wall`` and ``wall_guess`` are ``wall_numbers``.
    """
    re = np.maximum(reynolds, REYNOLDS_LAMINAR)
    film = 2.51 / re
    root, part = _root(re, film, wall, wall_guess)
    number = re / root**2
    growth = number * (1 - 2 * part / (1 + part))
    way = np.minimum(np.log(re / REYNOLDS_LAMINAR) / _WAY, 1.0)
    share = way * way * (3 - 2 * way)
    turn = way * (1 - way) * (6 / _WAY)
    return 64.0 + share * (number - 64.0), share * growth + turn * (number - 64.0)


def _root(re: Array, film: Array, wall: Array, wall_guess: Array) -> tuple[Array, Array]:
    """1/√f by Colebrook, and the slope of its logarithm that Newton's way needs.

    Haaland's formula starts within 3 % of f and each pass squares the error: 3e-5 after the
    first, 1e-11 at the most after the second, which is what the flow engine closes to.
    """
    root = (-1.8 / _LN10) * np.log(wall_guess + 6.9 / re)
    for _ in range(2):
        inside = wall + film * root
        part = (2 / _LN10) * film / inside
        root = root - (root + (2 / _LN10) * np.log(inside)) / (1 + part)
    return root, (2 / _LN10) * film / (wall + film * root)


def turbulent_friction(reynolds: Array, roughness_relative: Array) -> Array:
    """Friction factor by Colebrook alone, whatever the flow."""
    wall, guess = wall_numbers(roughness_relative)
    return _root(reynolds, 2.51 / np.asarray(reynolds), wall, guess)[0] ** -2


def friction_work(reynolds: float, roughness_relative: float) -> tuple[Work, ...]:
    """Worked steps of the law that holds at one flow, the last giving the friction factor."""
    from ..words.work import solved

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
