"""The colour of water by its temperature: one scale for every picture, with its legend.

A colour stands for the same temperature wherever it is seen.  The scale runs from blue over a
grey green and ochre to red: it climbs along the axis from blue to yellow, which eyes that don't
tell red from green see as well, and every colour of it stands out from white paper and from the
dark theme.  Numbers stand on the pictures all the same.
"""

from __future__ import annotations

from itertools import pairwise
from math import isfinite

from ..words.glossary import ICE_POINT
from ..words.show import show

STOPS = (
    (4.0, "#2563c9"),
    (20.0, "#2f86ad"),
    (32.0, "#5f8f86"),
    (42.0, "#a58a63"),
    (53.0, "#d0721a"),
    (68.0, "#bb2328"),
)
"""°C and colour; between two the colour goes over evenly, beyond the ends it stays."""
MIXED_FROM, HOT_FROM = 30.0, 48.0
"""°C from which grey print says mixed and hot: our own bounds, for the look alone."""
WIDE, HIGH = 300.0, 30.0
"""Size of the legend, in the units of a drawing."""
TICKS = {"US": (40, 60, 80, 100, 120, 140), "SI": (5, 15, 25, 35, 45, 55, 65)}


def colour(temperature: float) -> str:
    """The colour of water at a temperature in K; that of the cold end if it is not known."""
    warm = temperature - ICE_POINT if isfinite(temperature) else STOPS[0][0]
    warm = min(max(warm, STOPS[0][0]), STOPS[-1][0])
    for (low, one), (high, other) in pairwise(STOPS):
        if warm <= high:
            part = (warm - low) / (high - low)
            pairs = zip(bytes.fromhex(one[1:]), bytes.fromhex(other[1:]), strict=True)
            return "#" + bytes(round(a + (b - a) * part) for a, b in pairs).hex()
    return STOPS[-1][1]


def legend(units: str, name: str) -> str:
    """The scale with its numbers, ``WIDE`` by ``HIGH``; ``name`` is the id of its gradient."""
    low, high = STOPS[0][0], STOPS[-1][0]
    stops = "".join(
        f'<stop offset="{(warm - low) / (high - low):.3f}" stop-color="{shade}"/>'
        for warm, shade in STOPS
    )
    marks = []
    for tick in TICKS[units]:
        warm = (tick - 32) / 1.8 if units == "US" else float(tick)
        told = show(warm + ICE_POINT, "temperature", units).split()
        x = (warm - low) / (high - low) * WIDE
        if 0 <= x <= WIDE:
            last = tick == TICKS[units][-1]
            unit = f" {told[-1]}" if last else ""
            marks.append(f'<text x="{x:.1f}" y="26" text-anchor="middle">{tick}{unit}</text>')
    return (
        f'<linearGradient id="{name}">{stops}</linearGradient>'
        f'<rect width="{WIDE:.0f}" height="10" rx="5" fill="url(#{name})" stroke="none"/>'
        f"{''.join(marks)}"
    )
