"""Water that freezes in a run and thaws again, with its latent heat counted.

What a cell of a run holds is told as one figure, its ``heat`` in kelvins: the temperature that
it would have if no ice formed.  Above the ice point that is its temperature.  Below, as far as
``melting`` reaches, the water stands at the ice point and a growing share of it is ice; only
when all of it is ice does it get colder.  Ice is taken to hold as much heat a kelvin as water,
which lets a frozen run thaw late.
"""

from __future__ import annotations

import numpy as np

from ...words.glossary import ICE_POINT
from .plug import Array

LATENT = 333.6e3
"""J/kg of ice (143.5 Btu/lb, ASHRAE)."""
BLOCKED = 0.20
"""Share of ice at which a run counts as blocked (ASHRAE practice, from memory)."""
DENSITY = 999.8
"""kg/m³ of water at the ice point (IAPWS)."""


def melting(content: Array, held: Array, heat_per_volume: float) -> Array:
    """Kelvins by which a cell's heat falls while all its water turns to ice.

    ``content`` is its water and ``held`` that with the wall's heat as water, in one unit;
    ``heat_per_volume`` in J/(m³ K).
    """
    return np.asarray(LATENT * DENSITY * content / (heat_per_volume * held))


def temperature(heat: Array, melts: Array) -> Array:
    """The temperature of cells by their heat; ice and water together stand at the ice point."""
    return np.where(heat > ICE_POINT, heat, np.minimum(heat + melts, ICE_POINT))


def share_of_ice(heat: Array, melts: Array) -> Array:
    """The share of the water that is ice, 0 to 1."""
    return np.clip((ICE_POINT - heat) / melts, 0.0, 1.0)


def after(heat: Array, melts: Array, air: Array, constant: Array, waited: Array) -> Array:
    """Heat of cells that stood in steady air for a time, frozen or thawed on the way.

    ``constant`` is the time in which their warmth falls to 1/e.  Exact: an exponential to the
    ice point, a straight line while ice forms or melts, and an exponential on from there.
    """
    # Thawing is freezing seen in a mirror that stands in the middle of the ice.
    mirror = air > ICE_POINT
    above = np.where(mirror, ICE_POINT - melts - heat, heat - ICE_POINT)
    around = -np.abs(air - ICE_POINT)
    with np.errstate(divide="ignore", invalid="ignore"):
        first = np.where(above > 0, constant * np.log((above - around) / -around), 0.0)
        rest = np.where(np.isfinite(first), np.maximum(waited - first, 0.0), 0.0)
        start = np.minimum(above, 0.0)
        left = np.maximum(start + melts, 0.0)
        second = np.where(around < 0, left * constant / -around, np.inf)
    to_ice = around + (above - around) * np.exp(-waited / constant)
    on_ice = start + around / constant * np.minimum(rest, second)
    last = np.where(np.isfinite(second), np.maximum(rest - second, 0.0), 0.0)
    frozen = np.minimum(start + melts, 0.0)
    below = around + (frozen - around) * np.exp(-last / constant) - melts
    found = np.where(waited < first, to_ice, np.where(rest < second, on_ice, below))
    return np.asarray(np.where(mirror, ICE_POINT - melts - found, ICE_POINT + found))
