"""How long what is used up in the lines lasts: elements of filters, fillings, lamps."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from ...van.kinds import line_parts
from ...van.model import Build
from ...van.parts import LinePart
from ...van.trace import served
from ...words.brief import brief
from .drinking import drinking_tap, drunk_a_day
from .habits import habits


@brief
@dataclass(frozen=True)
class Element:
    """What one part is used by: m³ a day drawn through it, and days in use until it is spent.

    ``days`` is infinite where neither its water nor its time is said; ``by`` tells which of
    the two ends it.
    """

    part: LinePart
    drawn: float
    days: float
    by: str


def drawn_through(build: Build, part: LinePart) -> float:
    """Water of a day that is drawn at the taps behind a part, m³: all of theirs.

    That is what habits draw, and what the crew drinks and cooks with.

    At a tap that mixes it is the water that comes out, hot and cold, which is too much rather
    than too little for a part on the cold side.
    """
    behind = set(served(build, part.name))
    drawn = sum(h.per_day * h.flow * h.duration for h in habits(build) if h.fixture in behind)
    tap = drinking_tap(build)
    return drawn + (drunk_a_day(build) if tap is not None and tap.name in behind else 0.0)


def elements(build: Build) -> tuple[Element, ...]:
    """Every part in a line with what is drawn through it and how long it lasts."""
    found = []
    for part in build.line_part:
        drawn = drawn_through(build, part)
        volume = line_parts.figure(build, part, "life_volume")
        by_water = volume / drawn if volume is not None and drawn > 0 else inf
        life = line_parts.row_of(build, part)["life_days"]
        by_time = float(life) if life is not None else inf
        days = min(by_water, by_time)
        by = "" if days == inf else "its water" if by_water <= by_time else "its time"
        found.append(Element(part, drawn, days, by))
    return tuple(found)
