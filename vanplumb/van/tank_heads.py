"""Heads of cylindrical tanks that are not flat: how far they bulge and what they hold.

Lengths and heights of a tank are over all, so its heads take from its cylinder.  Heads of one
form are alike whatever their size, so their content at a depth is a curve of depth over
diameter, times the diameter cubed.  The curves come from ``fluids.TANK``, which integrates the
forms numerically where there is no closed expression, at points that lie close near empty and
full; between them they are straight.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ..words.sources import Source

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Figures = float | NDArray[np.float64]

HEADS: dict[str, dict[str, Any]] = {
    "torispherical": {"sideA": "torispherical", "sideA_f": 1.0, "sideA_k": 0.1},
    "ellipsoidal": {"sideA": "ellipsoidal", "sideA_a_ratio": 0.25},
    "hemispherical": {"sideA": "spherical", "sideA_a_ratio": 0.5},
}
"""Form to what the library needs of one head: dish radius and knuckle over the diameter (as
DIN 28011 has them), or depth over the diameter."""
POINTS = 400

LIBRARY = Source("fluids", "library fluids, TANK: heads of tanks, partly filled", "computed")


def depth_over_diameter(heads: str) -> float:
    """How far one head bulges, over the tank's diameter; 0 for flat ones."""
    return 0.0 if heads == "flat" else float(_tank(heads, lying=True).sideA_a)


def lying_heads(heads: str, diameter: Figures, depth: Figures) -> Figures:
    """Water in both heads of a lying tank, m³, for water ``depth`` deep."""
    over, held = _curve(heads, True)
    return np.asarray(diameter) ** 3 * np.interp(np.asarray(depth) / diameter, over, held)


def standing_head(heads: str, diameter: Figures, depth: Figures) -> Figures:
    """Water in the bottom head of a standing tank, m³; full where it is deeper than the head."""
    over, held = _curve(heads, False)
    return np.asarray(diameter) ** 3 * np.interp(np.asarray(depth) / diameter, over, held)


def standing_content(heads: str, diameter: Figures, height: Figures, depth: Figures) -> Figures:
    """All the water in a standing tank with two heads, m³; ``height`` over both."""
    bulge = depth_over_diameter(heads) * np.asarray(diameter)
    straight = np.clip(depth - bulge, 0.0, height - 2 * bulge)
    above = standing_head(heads, diameter, bulge) - standing_head(
        heads, diameter, np.clip(height - np.asarray(depth), 0.0, bulge)
    )
    wall = np.pi / 4 * np.asarray(diameter) ** 2 * straight
    return standing_head(heads, diameter, np.clip(depth, 0.0, bulge)) + wall + above


@lru_cache(maxsize=8)
def _tank(heads: str, lying: bool) -> Any:
    """A tank of diameter 1 whose cylinder has no length to speak of."""
    from fluids.geometry import TANK

    one = HEADS[heads]
    other = {key.replace("sideA", "sideB"): value for key, value in one.items()}
    return TANK(D=1.0, L=1e-12, horizontal=lying, **one, **(other if lying else {}))


@lru_cache(maxsize=8)
def _curve(heads: str, lying: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    tank = _tank(heads, lying)
    top = 1.0 if lying else float(tank.sideA_a)
    over = top * (1 - np.cos(np.linspace(0, np.pi, POINTS))) / 2
    return over, np.array([float(tank.V_from_h(min(x, float(tank.h_max)))) for x in over])
