"""What moves on a schematic: the water of each run, at its speed, in dashes of one volume.

A dash takes as long through the line of a run as water takes through its tube, however long
the line is drawn.  Each dash stands for the same volume, so as many leave a tee as come to it,
and they follow one another closer in a wide tube.
"""

from __future__ import annotations

from math import pi
from typing import Any

from ...flow.moment import NOTHING, Moment
from ..dashes import DASH
from ..warmth import colour
from .draw import Schematic, thickness


def scene(s: Schematic, moment: Moment, units: str) -> dict[str, Any]:
    """The runs in which water flows: metres, metres a second and metres from dash to dash.

    ``points`` are the corners of the line in the units of the drawing, in the direction of the
    flow; ``folds`` the places where a narrow page may fold the drawing.
    """
    volume, called = DASH[units]
    most = max((abs(k.flow) for k in moment.links.values() if k.kind == "run"), default=0.0)
    flows = []
    for i, run in enumerate(s.build.run):
        link, points = moment.links.get(f"run {i + 1}"), s.outline(i)
        if link is None or abs(link.flow) <= NOTHING or not points or link.diameter <= 0:
            continue
        corners = points if link.flow > 0 else points[::-1]
        flows.append(
            {
                "key": i,
                "points": [[round(x, 1), round(y, 1)] for x, y in corners],
                "length": float(run.length),
                "speed": link.velocity,
                "gap": volume / (pi / 4 * link.diameter**2),
                "wide": round(thickness(link.flow, most), 2),
                "colour": colour(link.temperature),
            }
        )
    dash = f"Each dash is {called} of water and takes as long through a run as the water does"
    return {"flows": flows, "dash": dash, "folds": s.folds}
