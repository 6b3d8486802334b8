"""Water that is seen to move: dashes that stand for one volume each, on lines that may bend."""

from __future__ import annotations

from itertools import pairwise
from math import hypot
from typing import Any

DASH = {"US": (29.5735e-6, "1 fl oz"), "SI": (30e-6, "30 mL")}
"""m³ of water that a dash stands for, and how that is called (fluid ounce: NIST SP 811, B.8)."""

Points = list[tuple[float, float]]


def curve(start: tuple[float, float], end: tuple[float, float], steps: int = 14) -> Points:
    """The corners of a soft bend that leaves and arrives level."""
    (x, y), (u, v) = start, end
    found = []
    for n in range(steps + 1):
        t = n / steps
        found.append((x + (u - x) * t, y + (v - y) * (3 * t**2 - 2 * t**3)))
    return found


def path(points: Points) -> str:
    """The corners as an SVG path."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def counted(key: str, points: Points, flow: float, units: str, wide: float) -> dict[str, Any]:
    """A line on which as many dashes pass in a second as truly flow; its length is the drawing's.

    ``flow`` in m³/s; one below zero runs the other way.
    """
    gap = 34.0
    ahead = points if flow > 0 else points[::-1]
    return {
        "key": key,
        "points": [[round(x, 1), round(y, 1)] for x, y in ahead],
        "length": sum(hypot(u - x, v - y) for (x, y), (u, v) in pairwise(points)),
        "gap": gap,
        "speed": abs(flow) / DASH[units][0] * gap,
        "wide": round(wide, 1),
    }
