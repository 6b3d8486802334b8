"""Which heater and pump the van lives by, whatever their order and names in the file.

Sums that are made with one heater or one pump take these; parts that feed no tap count for
nothing but their weight.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from .kinds import pumps
from .kinds.heaters import content, most_power
from .model import Build
from .parts import Heater, Pump
from .trace import served


def _greatest(figure: Any) -> float:
    """The greatest of a figure, which may be an array for variants."""
    return float(np.max(np.asarray(figure, float)))


def main_heater(build: Build) -> Heater | None:
    """The heater that feeds the most fixtures, then the greatest; None where none feeds any."""
    if not build.run:
        return build.heater[0] if build.heater else None
    feeds = [(len(served(build, heater.name)), heater) for heater in build.heater]
    found = max(
        (pair for pair in feeds if pair[0]),
        key=lambda p: (
            p[0],
            _greatest(content(p[1])),
            _greatest(most_power(p[1])),
            p[1].name,
        ),
        default=None,
    )
    return found[1] if found else None


def main_pump(build: Build) -> Pump | None:
    """The pump that feeds the most fixtures, then of most pressure; None where none feeds any."""
    if not build.run:
        return build.pump[0] if build.pump else None
    feeds = [(len(served(build, pump.name)), pump) for pump in build.pump]
    able = [pair for pair in feeds if pair[0]]
    if len(able) < 2:
        return able[0][1] if able else None
    return max(able, key=lambda p: (p[0], pumps.highest(build, p[1])[0], p[1].name))[1]


def as_joined(build: Build) -> Build:
    """The build without heaters, pumps, vessels and shore inlets that no run leads to.

    They may stand in the van, but no water gets to them; where no run is drawn all count.  The
    build itself where it has none.
    """
    if not build.run:
        return build
    sections = ("heater", "pump", "accumulator", "shore_inlet")
    kept = {s: tuple(p for p in getattr(build, s) if p.name in build.joined) for s in sections}
    if all(len(kept[section]) == len(getattr(build, section)) for section in sections):
        return build
    return replace(build, **kept)  # type: ignore[arg-type]
