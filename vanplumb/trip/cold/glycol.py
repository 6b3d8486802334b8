"""Propylene glycol against frost: where its first ice forms, and how much holds it off.

A smooth curve is fitted to the printed points: a straight line between them would lie below
it, and so promise as much as a kelvin too much.  Handbooks differ by half a kelvin, and so
much is kept back everywhere.
"""

from __future__ import annotations

from ...formulas.frost import first_ice, glycol_freezing
from ...words.glossary import ICE_POINT
from ...words.work import Work

MARGIN = 0.5
"""K by which handbooks differ on the first ice: it is taken as that much warmer."""
STRONGEST = 0.6
"""Share by mass up to which the fit holds."""


def first_ice_works(share: float) -> tuple[Work, Work]:
    """Steps of the temperature at which the first ice must be expected.

    ValueError outside 0 to 60 % by mass.
    """
    if not 0 <= share <= STRONGEST:
        most = f"{STRONGEST * 100:.0f} %"
        raise ValueError(f"share of glycol must be 0 to {most}, got {share * 100:.0f} %")
    fitted = glycol_freezing.work(share_glycol=share)
    return fitted, first_ice.work(temperature_fit=fitted.value, rise_margin=MARGIN)


def freezing_point(share: float) -> float:
    """First ice of propylene glycol in water, K, on the cautious side; share by mass.

    ValueError outside 0 to 60 %.
    """
    return first_ice_works(share)[1].value


def share_for(temperature: float) -> float | None:
    """Share by mass whose first ice is at that temperature (K); None if none is so cold."""
    if temperature >= ICE_POINT:
        return 0.0
    low, high = 0.0, STRONGEST
    if temperature < freezing_point(high):
        return None
    for _ in range(60):
        middle = (low + high) / 2
        if freezing_point(middle) > temperature:
            low = middle
        else:
            high = middle
    return high
