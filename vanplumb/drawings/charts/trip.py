"""The days and nights as one picture: water, hot water, battery, and what fails when.

The same bytes every time.  Nights are shaded.  What fails is flagged where it does; what a
customer needs to know is written on top.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ...trip.hot_runs.plug import Array
from ...trip.play.outcome import LUKEWARM, NO_WATER, Outcome
from ...trip.play.timeline import track
from ...trip.trip import Failure, Trip, failures
from ...words.report import Picture
from ...words.show import show
from ...words.unit_table import DAY
from ..style import AMBER, COLD, GREEN, GREY, HOT, MIXED, NIGHT
from .lanes import GAP, LANE, LEFT, PAPER, Frame, axis, legend, line, marks, rule, text, up, whole

HEAD, FLAG, FOOT = 15.5, 3.6, 8.0
FLAG_SIZE = 2.6
LETTER, BOLD = 0.6, 0.7
"""Mean width of a letter over its size in the widest sans that browsers take, plain and bold."""
SUNRISE, SUNSET = 6.0 * 3600, 21.0 * 3600


def trip_picture(trip: Trip) -> Picture:
    """The planned stay drawn for the sheet.  ValueError where it can't be played through."""
    caption = "The planned stay: what is aboard and how warm the water is, hour by hour."
    return Picture("trip", caption, trip_chart(trip.planned, trip.build.van.units))


def trip_chart(outcome: Outcome, system: str, trip: int = 0, *, wide: float = PAPER) -> str:
    """The chart of one recorded trip as a complete SVG.  ValueError if it was not recorded."""
    kept = track(outcome, trip)
    plant = outcome.plant
    frame = Frame(wide, outcome.days * DAY)
    lanes: list[Callable[[float], str]] = [lambda top: _water(frame, outcome, kept, system, top)]
    if plant.heaters:
        lanes.append(lambda top: _heat(frame, outcome, kept, system, top, trip))
    if plant.battery is not None:
        lanes.append(lambda top: _battery(frame, outcome, kept, top))
    found = failures(outcome, trip)
    flags = _flags_in_rows(frame, found)
    head = HEAD + FLAG * (max((flag.row for flag in flags), default=-1) + 1)
    tops = [head + i * (LANE + GAP) for i in range(len(lanes))]
    body = [
        *(frame.box(top) + _nights(frame, top) for top in tops),
        *(_flag(flag, tops) for flag in flags),
        *(lane(top) for lane, top in zip(lanes, tops, strict=True)),
        _clock(frame, tops[-1] + LANE),
        _verdict(outcome, found, system, trip, wide),
    ]
    return whole(frame, tops[-1] + LANE + FOOT, _told(found, round(outcome.days)), body)


def _nights(frame: Frame, top: float) -> str:
    """Shade from sunset to sunrise."""
    days = round(frame.span / DAY)
    edges = [(0.0, SUNRISE)]
    edges += [(d * DAY + SUNSET, (d + 1) * DAY + SUNRISE) for d in range(days - 1)]
    edges.append(((days - 1) * DAY + SUNSET, frame.span))
    return "".join(frame.band(a, b, top, top + LANE, NIGHT, 0.10) for a, b in edges)


def _clock(frame: Frame, foot: float) -> str:
    """Names of days in their middle, and hours where there is room."""
    days = round(frame.span / DAY)
    room = (frame.right - LEFT) / days
    parts = []
    for day in range(days):
        middle = frame.x((day + 0.5) * DAY)
        name = f"day {day + 1}" if room > 10 else f"{day + 1}"
        parts.append(text(middle, foot + 6.4, name, anchor="middle"))
        if day:
            parts.append(rule(frame.x(day * DAY), foot, foot + 2.0, GREY, 0.25))
        if room > 18:
            for hour in (6, 12, 18):
                at = frame.x(day * DAY + hour * 3600)
                parts.append(rule(at, foot, foot + 0.8, GREY, 0.15))
                mark = f"{hour:02d}"
                parts.append(text(at, foot + 3.2, mark, size=2.2, anchor="middle", colour=GREY))
    return "".join(parts)


def _water(frame: Frame, outcome: Outcome, kept: dict[str, Array], system: str, top: float) -> str:
    plant = outcome.plant
    grey = plant.grey if np.isfinite(plant.grey) else 0.0
    most = max(float(kept["fresh"].max()), float(kept["grey"].max()), grey, 1e-4)
    y = up(top, 0.0, most * 1.04)
    fresh = frame.points(kept["time"], kept["fresh"], y)
    parts = [
        frame.filled(fresh, y(0.0), COLD, 0.28),
        line(fresh, COLD),
        axis(top, "Water", marks(0.0, most, "volume", system), y),
    ]
    names = [("fresh", COLD)]
    if len(plant.tanks) > 1:
        names = [("fresh, all", COLD)]
        for n, tank in enumerate(plant.tanks):
            level = kept["tanks"][:, n]
            parts.append(line(frame.points(kept["time"], level, y), COLD, 0.35, _dash(n)))
            parts.append(_at_start(y(float(level[0])), tank.name, COLD))
    if grey:
        names.append(("grey", GREY))
        parts += [
            line(frame.points(kept["time"], kept["grey"], y), GREY),
            frame.level(y(grey), GREY),
            text(LEFT + 0.8, y(grey) + 2.6, "grey tank full", size=2.2, colour=GREY, halo=True),
        ]
    return "".join(parts) + legend(top, names)


def _heat(
    frame: Frame, outcome: Outcome, kept: dict[str, Array], system: str, top: float, trip: int
) -> str:
    plant = outcome.plant
    low = plant.cold - 3.0
    high = max(float(kept["tops"].max()), *(one.setpoint for one in plant.heaters)) + 4.0
    y = up(top, low, high)
    parts = [axis(top, "Hot water", marks(low, high, "temperature", system), y)]
    names = [("at the taps", MIXED)]
    for place, n in enumerate(plant.stores):
        points = frame.points(kept["time"], kept["tops"][:, n], y)
        parts.append(line(points, HOT, 0.4, _dash(place - 1) if place else ""))
        if len(plant.stores) > 1:
            parts.append(_at_start(y(plant.heaters[n].setpoint), plant.heaters[n].name, HOT))
    if plant.stores:
        names.insert(0, ("in the store" if len(plant.stores) == 1 else "in the stores", HOT))
    if (outcome.state[trip] == LUKEWARM).any():
        names.append(("lukewarm", AMBER))
    draws = outcome.draws
    for place in np.flatnonzero(outcome.state[trip] > 0).tolist():
        use = plant.uses[int(draws.use[trip, place])]
        warmth = float(outcome.warmth[trip, place])
        if use.wanted is None or not use.waits or not use.path or not math.isfinite(warmth):
            continue
        at = frame.x(float(outcome.start[trip, place]))
        if int(outcome.state[trip, place]) == LUKEWARM:
            parts.append(_cross(at, y(warmth), AMBER))
        else:
            parts.append(
                f'<circle cx="{at:.2f}" cy="{y(warmth):.2f}" r="0.9" fill="{MIXED}" '
                'opacity="0.85"/>'
            )
    return "".join(parts) + legend(top, names)


def _dash(number: int) -> str:
    """The dashes that tell one of several tanks or heaters from the others."""
    return ("1.6 0.8", "0.6 0.6", "2.4 0.6 0.6 0.6")[number % 3]


def _at_start(y: float, name: str, colour: str) -> str:
    """The name of a tank or heater beside its line."""
    return text(LEFT + 0.8, y - 0.6, name, size=2.2, colour=colour, halo=True)


def _cross(x: float, y: float, colour: str) -> str:
    return (
        f'<path d="M{x - 1:.2f} {y - 1:.2f} l2 2 m0 -2 l-2 2" stroke="{colour}" '
        'stroke-width="0.7" fill="none"/>'
    )


def _battery(frame: Frame, outcome: Outcome, kept: dict[str, Array], top: float) -> str:
    battery = outcome.plant.battery
    assert battery is not None
    y = up(top, 0.0, 1.0)
    points = frame.points(kept["time"], kept["charge"] / battery.full, y)
    spent = y(battery.empty / battery.full)
    parts = [
        frame.filled(points, y(0.0), GREEN, 0.18),
        frame.band(0.0, frame.span, spent, y(0.0), AMBER, 0.22),
        line(points, GREEN),
        axis(top, "Battery", [(0.0, "0"), (0.5, "50"), (1.0, "100 %")], y),
    ]
    if y(0.0) - spent > 3.2:
        parts.append(text(LEFT + 0.8, spent + 2.6, "kept for the battery's sake", size=2.2))
    return "".join(parts)


@dataclass(frozen=True)
class _Flag:
    """A failure's name with its clock time, in a row above the lanes, 0 the lowest.

    Its line ends at the name, which stands to the right of it unless the chart ends there.
    """

    at: float
    words: str
    colour: str
    left: bool
    row: int = 0

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where the words go."""
        wide = len(self.words) * BOLD * FLAG_SIZE + 1.0
        return (self.at - wide, self.at) if self.left else (self.at, self.at + wide)


def _flags_in_rows(frame: Frame, found: tuple[Failure, ...]) -> list[_Flag]:
    """A flag for each failure, as low as can be, so that no line runs up through a name.

    Those to the right of their line are set from the last to the first, then the others from
    the first to the last: each stands above all whose line or name it would meet.
    """
    flags = []
    for one in sorted(found, key=lambda failure: failure.when):
        colour = AMBER if one.what in ("lukewarm", "long wait") else HOT
        flag = _Flag(frame.x(one.when), f"{one.clock} {one.what}", colour, False)
        flags.append(replace(flag, left=flag.reach[1] > frame.wide))
    placed: list[_Flag] = []
    for flag in [f for f in flags[::-1] if not f.left] + [f for f in flags if f.left]:
        start, end = flag.reach
        met = [p.row for p in placed if p.reach[0] < end + 1.0 and p.reach[1] > start - 1.0]
        placed.append(replace(flag, row=max(met, default=-1) + 1))
    return placed


def _flag(flag: _Flag, tops: list[float]) -> str:
    """A line through all lanes up to the name beside its end."""
    y = tops[0] - 1.6 - FLAG * flag.row
    at, side = (flag.at - 0.8, "end") if flag.left else (flag.at + 0.8, "start")
    return rule(flag.at, y - 2.2, tops[-1] + LANE, flag.colour, 0.35, "1.2 0.8") + text(
        at, y, flag.words, size=FLAG_SIZE, anchor=side, bold=True, colour=flag.colour, halo=True
    )


def _told(found: tuple[Failure, ...], days: int) -> str:
    if not found:
        return f"All goes well for {days} day{'s' if days > 1 else ''}"
    return f"First: {found[0]}"


def _verdict(
    outcome: Outcome, found: tuple[Failure, ...], system: str, trip: int, wide: float
) -> str:
    """The sentence on top, and the sums under it."""
    wasted = float(outcome.wasted[trip].sum())
    sums = f"{show(float(outcome.drawn[trip].sum()), 'volume', system)} used"
    if wasted > 0:
        sums += f", {show(wasted, 'volume', system)} run off while waiting for hot water"
    refused = int((outcome.state[trip] >= NO_WATER).sum())
    if refused:
        sums += f", {refused} uses got nothing"
    told = _told(found, round(outcome.days)) + "."
    head = text(
        1.0, 5.0, told, size=_fits(told, wide, 4.4, BOLD), bold=True, colour=HOT if found else GREEN
    )
    return head + text(1.0, 9.8, sums + ".", size=_fits(sums, wide, 2.9))


def _fits(words: str, wide: float, most: float, letter: float = LETTER) -> float:
    """A size of letters in which a line stays inside the chart."""
    return min(most, round((wide - 2.0) / (max(len(words), 1) * letter), 2))
