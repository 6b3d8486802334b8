"""Density and viscosity of the water in each path, at its own temperature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..formulas.water import water_density, water_viscosity

if TYPE_CHECKING:
    from .layout import Layout

Array = Any


def properties(layout: Layout, flow: Array, warm: Array) -> tuple[Array, Array]:
    """Density and viscosity, shape (V, P).

    Water in a path has the temperature of where it comes from; in a heater, of where it goes.
    """
    net = layout.net
    if net.density is not None:
        viscosity = 1e-3 if net.viscosity is None else net.viscosity
        shape = flow.shape
        return np.full(shape, net.density), np.full(shape, viscosity)
    source = np.where(flow >= 0, warm[:, layout.start], warm[:, layout.end])
    return water_density.si(source), water_viscosity.si(source)
