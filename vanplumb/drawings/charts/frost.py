"""One run through one cold night as a picture: air, water, and how much of it is ice."""

from __future__ import annotations

import numpy as np

from ...trip.cold.frost import DUSK, Night
from ...trip.cold.night import ColdNight
from ...trip.hot_runs.ice import BLOCKED
from ...trip.hot_runs.plug import Array
from ...trip.play.timeline import clock
from ...words.show import show
from ..style import COLD, GREEN, GREY, HOT, NIGHT
from .lanes import (
    GAP,
    LANE,
    LEFT,
    SCREEN,
    Frame,
    Scale,
    axis,
    legend,
    line,
    marks,
    rule,
    text,
    up,
    whole,
)

HEAD, FOOT = 15.5, 8.0
ICE = "#3a87ad"
HOURS = (21, 24, 27, 30, 33, 36, 39)


def frost_chart(found: ColdNight, system: str, *, wide: float = SCREEN) -> str:
    """The night from dusk to dusk as a complete SVG."""
    night = found.night
    since = night.hours - DUSK
    frame = Frame(wide, float(since[-1]))
    tops = (HEAD, HEAD + LANE + GAP)
    low = min(float(night.air.min()), found.freezing) - 2.0
    high = max(float(night.temperature.max()), float(night.air.max())) + 2.0
    y = up(tops[0], low, high)
    body = []
    for top in tops:
        body.append(frame.box(top))
        body.append(frame.band(3 * 3600.0, 12 * 3600.0, top, top + LANE, NIGHT, 0.10))
    body += [
        frame.level(y(found.freezing), COLD),
        line(frame.points(since, night.air, y), GREY, 0.4),
        *_warmth(frame, night, since, y),
        axis(tops[0], "Warmth", marks(low, high, "temperature", system), y),
        legend(tops[0], [("in the run", HOT), ("air", GREY), ("freezing", COLD)]),
    ]
    share = up(tops[1], 0.0, 1.0)
    ice = frame.points(since, night.ice, share)
    body += [
        frame.filled(ice, share(0.0), ICE, 0.45),
        line(ice, ICE),
        frame.level(share(BLOCKED), HOT),
        text(
            frame.right - 0.8,
            share(BLOCKED) - 0.8,
            "blocked",
            size=2.2,
            anchor="end",
            colour=HOT,
            halo=True,
        ),
        axis(tops[1], "Ice", [(0.0, "0"), (0.5, "50"), (1.0, "100 %")], share),
    ]
    foot = tops[1] + LANE
    for hour in HOURS:
        at = frame.x(hour * 3600.0 - DUSK)
        body.append(rule(at, foot, foot + 1.2, GREY, 0.2))
        body.append(text(at, foot + 4.4, f"{hour % 24:02d}", size=2.6, anchor="middle"))
    body.append(text(LEFT, foot + 4.4, "18", size=2.6, anchor="middle"))
    told, fine = _told(found)
    ice = f"{found.ice * 100:.0f} %"
    under = f"Coldest {show(found.lowest, 'temperature', system)}, most ice {ice}."
    full = night.ice >= 1.0
    if full.any():
        when = clock(float(night.hours[full.argmax()]))
        under = f"All ice at {when}. How cold the ice gets is not computed."
    body.append(text(1.0, 5.0, told + ".", size=4.2, bold=True, colour=GREEN if fine else HOT))
    body.append(text(1.0, 9.6, under, size=2.9))
    return whole(frame, foot + FOOT, told, body)


def _warmth(frame: Frame, night: Night, since: Array, y: Scale) -> list[str]:
    """The water's warmth, left out while all of it is ice: that would get colder than shown."""
    wet = night.ice < 1.0
    edges = np.flatnonzero(np.diff(wet)) + 1
    parts = []
    for piece in np.split(np.arange(len(wet)), edges):
        if wet[piece[0]]:
            points = frame.points(since[piece], night.temperature[piece], y)
            parts.append(line(points, HOT, 0.6))
        else:
            at, words = frame.x(float(since[piece[0]])) + 0.8, y(night.freezing) - 1.0
            parts.append(text(at, words, "all ice", size=2.2, colour=HOT, halo=True))
    return parts


def _told(found: ColdNight) -> tuple[str, bool]:
    """The sentence on top, and whether it is good news."""
    blocked = found.night.clock_blocked
    if blocked is not None:
        return f"Blocked by ice at {clock(blocked)}", False
    freezing = found.night.clock_freezing
    if freezing is not None:
        return f"Ice begins at {clock(freezing)}, and does not block it", False
    return "No ice this night", True
