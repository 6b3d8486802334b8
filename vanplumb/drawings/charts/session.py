"""A heater and its showers as one picture: the store, and the water at the tap."""

from __future__ import annotations

import numpy as np

from ...trip.play.session import Session
from ...words.show import show
from ..style import AMBER, GREEN, GREY, HOT, MIXED
from .lanes import (
    LANE,
    LEFT,
    SCREEN,
    Frame,
    Scale,
    axis,
    legend,
    line,
    marks,
    round_step,
    rule,
    text,
    up,
    whole,
)

HEAD, FOOT, HIGH = 15.5, 8.0, 2.0


def session_chart(found: Session, system: str, *, wide: float = SCREEN) -> str:
    """Temperatures from switching on until it is hot again, as a complete SVG."""
    frame = Frame(wide, float(found.time[-1]) or 1.0)
    low = min(found.cold, 290.0) - 3.0
    high = max(float(found.top.max()), found.heater.setpoint) + 4.0
    low_y = up(HEAD, low, high)

    def y(value: float) -> float:
        """A lane twice as high as usual."""
        return HEAD + (low_y(value) - HEAD) * HIGH

    foot = HEAD + LANE * HIGH
    names = [("at the tap", MIXED), ("wanted", GREY)]
    body = [_tall_box(frame, foot)]
    for number, shower in enumerate(found.showers, 1):
        colour = AMBER if shower.lukewarm else MIXED
        body.append(frame.band(shower.start, shower.end, HEAD, foot, colour, 0.20))
        middle = frame.x((shower.start + shower.end) / 2)
        body.append(text(middle, foot - 1.2, f"{number}", size=2.6, anchor="middle", bold=True))
    body.append(frame.level(y(found.wanted), GREY))
    if not found.heater.flow_through:
        names = [("top of store", HOT), ("- - its mean", HOT), *names]
        body.append(line(frame.points(found.time, found.mean, y), HOT, 0.4, "1.6 0.9"))
        body.append(line(frame.points(found.time, found.top, y), HOT, 0.4))
    body += _outlets(frame, found, y)
    body.append(axis(HEAD, "Hot water", marks(low, high, "temperature", system, 6), y))
    body.append(legend(HEAD, names))
    body.append(_minutes(frame, foot))
    body.append(_verdict(found, system))
    return whole(frame, foot + FOOT, _told(found), body)


def _tall_box(frame: Frame, foot: float) -> str:
    return (
        f'<rect x="{LEFT:.2f}" y="{HEAD:.2f}" width="{frame.right - LEFT:.2f}" '
        f'height="{foot - HEAD:.2f}" fill="none" stroke="{GREY}" stroke-width="0.15"/>'
    )


def _outlets(frame: Frame, found: Session, y: Scale) -> list[str]:
    """The water at the tap, shower by shower."""
    parts = []
    for shower in found.showers:
        inside = (found.time >= shower.start) & (found.time <= shower.end + 1.0)
        inside &= np.isfinite(found.outlet)
        if inside.sum() > 1:
            points = frame.points(found.time[inside], found.outlet[inside], y)
            parts.append(line(points, MIXED, 0.8))
    return parts


def _minutes(frame: Frame, foot: float) -> str:
    """The axis of time in minutes, or in hours where there are many."""
    hours = frame.span > 3 * 3600
    unit, name = (3600.0, "h") if hours else (60.0, "min")
    step = round_step(frame.span / unit, 8)
    parts = []
    for k in range(int(frame.span / unit / step + 1e-9) + 1):
        at = frame.x(k * step * unit)
        parts.append(rule(at, foot, foot + 1.2, GREY, 0.2))
        parts.append(text(at, foot + 4.2, f"{k * step:g}", size=2.6, anchor="middle"))
    parts.append(text(frame.right, foot + 7.4, name, size=2.6, anchor="end"))
    return "".join(parts)


def _told(found: Session) -> str:
    count = len(found.showers)
    if found.warm == count:
        return "Every shower is warm"
    cold = next(i for i, one in enumerate(found.showers) if one.lukewarm)
    return f"Shower {cold + 1} of {count} is lukewarm"


def _verdict(found: Session, system: str) -> str:
    colour = GREEN if found.warm == len(found.showers) else HOT
    coolest = min(one.warmth for one in found.showers)
    under = f"The coolest is {show(coolest, 'temperature', system)} on the whole."
    if found.heat_time:
        under += f" From cold to hot in {show(found.heat_time, 'duration', system)}."
    return text(1.0, 5.0, _told(found) + ".", size=4.2, bold=True, colour=colour) + text(
        1.0, 9.6, under, size=2.9
    )
