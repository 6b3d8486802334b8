"""The days and nights as one picture: water, hot water, battery, and what fails when.

Plain SVG, to scale in millimetres, so that it is the same on paper and in a worksheet, and
the same bytes every time.  Nights are shaded.  What fails is flagged where it does; what a
customer needs to know is written on top.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from html import escape

import numpy as np

from ..trip.outcome import LUKEWARM, Outcome
from ..trip.plant import DAY
from ..trip.plug import Array
from ..trip.timeline import track
from ..trip.trip import Failure, Trip, failures
from ..words.report import Chapter, Picture
from ..words.show import show, to_si, unit
from ..words.show import value as in_unit

HOT, COLD, MIXED, GREY = "#c2372c", "#1c6db0", "#7b4bb3", "#8a949d"
AMBER, GREEN, NIGHT = "#d99a2b", "#3b8a57", "#29415c"
WIDE, LEFT, RIGHT = 180.0, 25.0, 5.0
LANE, GAP, HEAD, FLAGS, FOOT = 25.0, 6.0, 14.0, 8.0, 8.0
SUNRISE, SUNSET = 6.0, 21.0

Scale = Callable[[float], float]


def trip_chart(outcome: Outcome, system: str, trip: int = 0) -> str:
    """The chart of one recorded trip as a complete SVG.  ValueError if it was not recorded."""
    kept = track(outcome, trip)
    plant = outcome.plant
    lanes: list[Callable[[float], str]] = [lambda top: _water(outcome, kept, system, top, trip)]
    if plant.heater is not None:
        lanes.append(lambda top: _heat(outcome, kept, system, top, trip))
    if plant.battery is not None:
        lanes.append(lambda top: _battery(outcome, kept, top, trip))
    found = failures(outcome, trip)
    head = HEAD + (FLAGS if found else 0.0)
    tops = [head + i * (LANE + GAP) for i in range(len(lanes))]
    high = tops[-1] + LANE + FOOT
    body = [
        _nights(outcome.days, tops),
        *(lane(top) for lane, top in zip(lanes, tops, strict=True)),
        _clock(outcome.days, tops[-1] + LANE),
        _flags(found, outcome.days, tops),
        _verdict(outcome, found, system, trip),
    ]
    title = escape(_told(found, outcome.days))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE:.0f}mm" height="{high:.1f}mm" '
        f'viewBox="0 0 {WIDE:.0f} {high:.1f}" font-family="sans-serif" font-size="3" '
        f'fill="currentColor" role="img" aria-label="{title}">{"".join(body)}</svg>'
    )


def trip_chapters(trip: Trip, *, chances: bool = True) -> tuple[Chapter, ...]:
    """The chapters of a trip with the chart in the first.

    Where the build says too little to be played through, one chapter tells what is missing.
    """
    try:
        first, *rest = trip.chapters(chances=chances)
        picture = trip_chart(trip.planned, trip.build.van.units)
    except ValueError as error:
        return (Chapter("trip", "Days and nights", not_computed=(f"{error}.",)),)
    caption = "The planned stay: what is aboard and how warm the water is, hour by hour."
    return (first.with_pictures(Picture("trip", caption, picture)), *rest)


def _across(days: int) -> Scale:
    return lambda seconds: LEFT + (WIDE - LEFT - RIGHT) * seconds / (days * DAY)


def _up(top: float, low: float, high: float) -> Scale:
    span = (high - low) or 1.0
    return lambda value: top + LANE * (1.0 - (min(max(value, low), high) - low) / span)


def _text(
    x: float,
    y: float,
    text: str,
    *,
    size: float = 3.0,
    anchor: str = "start",
    bold: bool = False,
    colour: str = "",
) -> str:
    weight = ' font-weight="600"' if bold else ""
    fill = f' fill="{colour}"' if colour else ""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" text-anchor="{anchor}"'
        f"{weight}{fill}>{escape(text)}</text>"
    )


def _nights(days: int, tops: list[float]) -> str:
    """Shade from sunset to sunrise, behind every lane."""
    x = _across(days)
    hours = [(0.0, SUNRISE)]
    hours += [(24.0 * d + SUNSET, 24.0 * (d + 1) + SUNRISE) for d in range(days - 1)]
    hours.append((24.0 * (days - 1) + SUNSET, 24.0 * days))
    parts = []
    for top in tops:
        parts.append(
            f'<rect x="{LEFT:.2f}" y="{top:.2f}" width="{WIDE - LEFT - RIGHT:.2f}" '
            f'height="{LANE:.2f}" fill="none" stroke="{GREY}" stroke-width="0.15"/>'
        )
        for start, end in hours:
            a, b = x(start * 3600), x(end * 3600)
            parts.append(
                f'<rect x="{a:.2f}" y="{top:.2f}" width="{b - a:.2f}" height="{LANE:.2f}" '
                f'fill="{NIGHT}" opacity="0.10"/>'
            )
    return "".join(parts)


def _clock(days: int, foot: float) -> str:
    """Names of days in their middle, and noon or midnight where there is room."""
    x = _across(days)
    parts = []
    for day in range(days):
        parts.append(_text(x((day + 0.5) * DAY), foot + 6.2, f"day {day + 1}", anchor="middle"))
        if day:
            parts.append(_rule(x(day * DAY), foot, foot + 2.0, GREY, 0.25))
        if days <= 5:
            for hour in (6, 12, 18):
                at = x(day * DAY + hour * 3600)
                parts.append(_rule(at, foot, foot + 0.8, GREY, 0.15))
                mark = f"{hour:02d}"
                parts.append(_text(at, foot + 3.1, mark, size=2.1, anchor="middle", colour=GREY))
    return "".join(parts)


def _rule(x: float, top: float, foot: float, colour: str, wide: float, dash: str = "") -> str:
    style = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x:.2f}" y1="{top:.2f}" x2="{x:.2f}" y2="{foot:.2f}" stroke="{colour}" '
        f'stroke-width="{wide:g}"{style}/>'
    )


def _level(y: float, colour: str, dash: str = "1 0.8") -> str:
    return (
        f'<line x1="{LEFT:.2f}" y1="{y:.2f}" x2="{WIDE - RIGHT:.2f}" y2="{y:.2f}" '
        f'stroke="{colour}" stroke-width="0.2" stroke-dasharray="{dash}"/>'
    )


def _points(times: Array, values: Array, x: Scale, y: Scale) -> str:
    """Points of a line, without those that would not be seen."""
    kept: list[tuple[str, str]] = []
    for time, value in zip(times.tolist(), values.tolist(), strict=True):
        point = (f"{x(time):.2f}", f"{y(value):.2f}")
        if kept and point == kept[-1]:
            continue
        if len(kept) > 1 and kept[-1][1] == kept[-2][1] == point[1]:
            kept[-1] = point
            continue
        kept.append(point)
    return " ".join(f"{a},{b}" for a, b in kept)


def _line(points: str, colour: str, wide: float = 0.5, dash: str = "") -> str:
    style = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{wide:g}" '
        f'stroke-linejoin="round"{style}/>'
    )


def _axis(top: float, name: str, marks: list[tuple[float, str]], y: Scale) -> str:
    parts = [_text(1.0, top + 3.0, name, size=3.2, bold=True)]
    for value, mark in marks:
        at = y(value)
        parts.append(_text(LEFT - 1.2, at + 0.8, mark, size=2.4, anchor="end"))
    return "".join(parts)


def _round_step(span: float, most: int = 4) -> float:
    """A step of 1, 2 or 5 that cuts a span into a few parts."""
    raw = max(span, 1e-9) / most
    size = 10.0 ** math.floor(math.log10(raw))
    return size * next(s for s in (1, 2, 5, 10) if s * size >= raw)


def _marks(low: float, high: float, word: str, system: str) -> list[tuple[float, str]]:
    """Round values between two, in the reader's unit."""
    first, last = in_unit(low, word, system), in_unit(high, word, system)
    step = _round_step(last - first, 5)
    count = math.floor(last / step + 1e-6)
    start = math.ceil(first / step - 1e-6)
    found = []
    for k in range(start, count + 1):
        label = f"{k * step:g}"
        if k == count:
            label += f" {unit(word, system)}"
        found.append((to_si(k * step, word, system), label))
    return found


def _water(outcome: Outcome, kept: dict[str, Array], system: str, top: float, trip: int) -> str:
    plant = outcome.plant
    grey = plant.grey if np.isfinite(plant.grey) else 0.0
    most = max(float(kept["fresh"].max()), float(kept["grey"].max()), grey, 1e-4)
    x, y = _across(outcome.days), _up(top, 0.0, most * 1.04)
    fresh = _points(kept["time"], kept["fresh"], x, y)
    floor = y(0.0)
    first, last = fresh.split(" ")[0].split(",")[0], fresh.split(" ")[-1].split(",")[0]
    parts = [
        f'<polygon points="{first},{floor:.2f} {fresh} {last},{floor:.2f}" fill="{COLD}" '
        'opacity="0.28"/>',
        _line(fresh, COLD),
        _axis(top, "Water", _marks(0.0, most, "volume", system), y),
        _text(1.0, top + 7.0, "fresh", size=2.6, colour=COLD, bold=True),
    ]
    if grey:
        parts += [
            _line(_points(kept["time"], kept["grey"], x, y), GREY, 0.5),
            _level(y(grey), GREY),
            _text(1.0, top + 10.4, "grey", size=2.6, colour=GREY, bold=True),
            _text(
                WIDE - RIGHT - 0.8,
                y(grey) - 0.7,
                "grey tank full",
                size=2.2,
                anchor="end",
                colour=GREY,
            ),
        ]
    return "".join(parts)


def _heat(outcome: Outcome, kept: dict[str, Array], system: str, top: float, trip: int) -> str:
    plant = outcome.plant
    assert plant.heater is not None
    low = plant.cold - 3.0
    high = max(float(kept["top"].max()), plant.heater.setpoint) + 4.0
    x, y = _across(outcome.days), _up(top, low, high)
    parts = [_axis(top, "Hot water", _marks(low, high, "temperature", system), y)]
    if not plant.heater.flow_through:
        parts.append(_line(_points(kept["time"], kept["top"], x, y), HOT, 0.4))
        parts.append(_text(1.0, top + 7.0, "in the store", size=2.6, colour=HOT, bold=True))
    below = 7.0 if plant.heater.flow_through else 10.4
    parts.append(_text(1.0, top + below, "at the taps", size=2.6, colour=MIXED, bold=True))
    lukewarm = (outcome.state[trip] == LUKEWARM).any()
    if lukewarm:
        parts.append(_text(1.0, top + below + 3.4, "lukewarm", size=2.6, colour=AMBER, bold=True))
    draws = outcome.draws
    for place in np.flatnonzero(outcome.state[trip] > 0).tolist():
        use = plant.uses[int(draws.use[trip, place])]
        warmth = float(outcome.warmth[trip, place])
        if use.wanted is None or not use.waits or not use.path or not math.isfinite(warmth):
            continue
        at = x(float(outcome.start[trip, place]))
        if int(outcome.state[trip, place]) == LUKEWARM:
            parts.append(_cross(at, y(warmth), AMBER))
        else:
            parts.append(
                f'<circle cx="{at:.2f}" cy="{y(warmth):.2f}" r="0.9" fill="{MIXED}" '
                'opacity="0.85"/>'
            )
    return "".join(parts)


def _cross(x: float, y: float, colour: str) -> str:
    return (
        f'<path d="M{x - 1:.2f} {y - 1:.2f} l2 2 m0 -2 l-2 2" stroke="{colour}" '
        'stroke-width="0.7" fill="none"/>'
    )


def _battery(outcome: Outcome, kept: dict[str, Array], top: float, trip: int) -> str:
    battery = outcome.plant.battery
    assert battery is not None
    x, y = _across(outcome.days), _up(top, 0.0, 100.0)
    share = 100.0 * kept["charge"] / battery.full
    points = _points(kept["time"], share, x, y)
    floor = 100.0 * battery.empty / battery.full
    spent = y(floor)
    first, last = points.split(" ")[0].split(",")[0], points.split(" ")[-1].split(",")[0]
    marks = [(0.0, "0"), (50.0, "50"), (100.0, "100 %")]
    return "".join(
        [
            f'<polygon points="{first},{y(0):.2f} {points} {last},{y(0):.2f}" fill="{GREEN}" '
            'opacity="0.18"/>',
            f'<rect x="{LEFT:.2f}" y="{spent:.2f}" width="{WIDE - LEFT - RIGHT:.2f}" '
            f'height="{y(0) - spent:.2f}" fill="{AMBER}" opacity="0.22"/>',
            _line(points, GREEN),
            _axis(top, "Battery", marks, y),
            _text(LEFT + 0.8, spent + 2.6, "kept for the battery's sake", size=2.2, colour=GREY)
            if y(0) - spent > 3.2
            else "",
        ]
    )


def _flags(found: tuple[Failure, ...], days: int, tops: list[float]) -> str:
    """A line through all lanes where something first fails, with its name at the top."""
    x = _across(days)
    parts = []
    edges = [-100.0, -100.0]  # how far to the right each of two rows of names reaches
    for one in found:
        at = x(one.when)
        colour = AMBER if one.what in ("lukewarm", "long wait") else HOT
        parts.append(_rule(at, tops[0] - 1.2, tops[-1] + LANE, colour, 0.35, "1.2 0.8"))
        room = len(one.what) * 1.45
        left = at + room > WIDE - RIGHT
        start = at - room if left else at
        free = [row for row, edge in enumerate(edges) if start > edge]
        if free:
            side = "end" if left else "start"
            y = tops[0] - 1.8 - 3.4 * free[0]
            parts.append(_text(at, y, one.what, size=2.6, anchor=side, bold=True, colour=colour))
            edges[free[0]] = start + room + 2.0
    return "".join(parts)


def _told(found: tuple[Failure, ...], days: int) -> str:
    if not found:
        return f"All goes well for {days} day{'s' if days > 1 else ''}."
    return f"First: {found[0]}."


def _verdict(outcome: Outcome, found: tuple[Failure, ...], system: str, trip: int) -> str:
    """The sentence on top, and the sums under it."""
    colour = GREEN if not found else HOT
    wasted = float(outcome.wasted[trip].sum())
    used = float(outcome.drawn[trip].sum())
    sums = f"{show(used, 'volume', system)} used"
    if wasted > 0:
        sums += f", {show(wasted, 'volume', system)} run off while waiting for hot water"
    refused = int((outcome.state[trip] >= 4).sum())
    if refused:
        sums += f", {refused} draws got nothing"
    return _text(1.0, 5.0, _told(found, outcome.days), size=4.6, bold=True, colour=colour) + _text(
        1.0, 10.0, sums + ".", size=3.0
    )
