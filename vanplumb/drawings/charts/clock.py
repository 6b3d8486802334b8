"""The shop's clock as a chart: work as bars, waiting as hollow bars, nights in grey."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape

from ...shop.clock.clock import WATER, Plan
from ...shop.clock.stages import Stage, stages
from ..style import COLD, HOT, MIXED, WHITE, follow

INK = "currentColor"
COLOURS = {"cold": COLD, "hot": HOT, "mixed": MIXED}
LEFT, RIGHT, TOP, ROW, WIDTH = 284.0, 12.0, 28.0, 18.0, 720.0
STYLE = (
    "<style>.vanplumb .vp-clock{max-height:82vh}"
    "@media(min-width:1600px){.vanplumb .vp-clock{max-height:none;max-width:560px}}</style>"
)
"""In a worksheet the whole chart fits on the screen; on a projector its letters are read first."""
SHUT = 0.11
"""How dark the hours without work are."""
LETTERS = 44
"""Most letters of a stage's name that stand beside its bars."""


@dataclass(frozen=True)
class RowFrame:
    """Where things stand.  On paper names stand beside the bars, on a screen above them."""

    width: float
    left: float
    row: float
    above: bool


PAPER = RowFrame(WIDTH, LEFT, ROW, False)
SCREEN = RowFrame(380.0, 8.0, 22.0, True)


def clock_picture(plan: Plan, frame: RowFrame = PAPER) -> str:
    """The plan as a complete SVG, 168 mm wide on paper, narrow for a ``SCREEN``."""
    rows = stages(plan)
    start = datetime.combine(plan.start.date(), plan.hours.day_start) - timedelta(hours=1)
    last = max(s.ready for s in rows)
    end = max(last, datetime.combine(last.date(), plan.hours.day_end)) + timedelta(hours=1)
    foot = TOP + frame.row * len(rows)
    scale = (frame.width - frame.left - RIGHT) / max((end - start).total_seconds(), 1.0)

    def x(moment: datetime) -> float:
        return frame.left + (min(max(moment, start), end) - start).total_seconds() * scale

    parts = [_days(plan, start, end, x, foot)]
    parts.append(_mark(x(plan.task(WATER).start), foot, "first water", frame.width))
    for number, stage in enumerate(rows):
        parts.append(_row(plan, stage, TOP + frame.row * number, x, frame))
    sides = [side for side in COLOURS if any(stage.side == side for stage in rows)]
    height = foot + (54 if sides else 38)
    millimetres = 168 * height / frame.width
    style = follow("vp-clock") + (STYLE if frame.above else "")
    paper = "" if frame.above else f'width="168mm" height="{millimetres:.1f}mm" '
    title = f"Order of work, hand-over {plan.told(plan.hand_over.end)}"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor" '
        f'{paper}viewBox="0 0 {frame.width:g} {height:g}" class="vp-clock" '
        f'role="img" aria-label="{escape(title)}">{style}'
        f"{''.join(parts)}{_key(foot + 31, sides)}</svg>"
    )


def _days(plan: Plan, start: datetime, end: datetime, x, foot: float) -> str:  # type: ignore[no-untyped-def]
    """Columns of the days: names on top, hours without work in grey."""
    parts = []
    day = datetime.combine(start.date(), datetime.min.time())
    number = 0
    spans = (end - start).days + 1
    while day < end:
        number += 1
        opens = datetime.combine(day.date(), plan.hours.day_start)
        closes = datetime.combine(day.date(), plan.hours.day_end)
        after = day + timedelta(days=1)
        grey = [(day, opens), (closes, after)] if plan.hours.works(opens) else [(day, after)]
        for a, b in grey:
            if x(b) > x(a):
                parts.append(
                    f'<rect x="{x(a):.1f}" y="{TOP - 4:g}" width="{x(b) - x(a):.1f}" '
                    f'height="{foot - TOP + 4:.1f}" fill="{INK}" fill-opacity="{SHUT}"/>'
                )
        name = f"{day:%a} {day.day}" if plan.dated else f"day {number}"
        if spans > 12:
            name = f"{day.day}" if plan.dated else f"{number}"
        if x(after) - x(day) > 5.6 * len(name):
            middle = (x(day) + x(after)) / 2
            parts.append(_text(middle, TOP - 10, name, anchor="middle", weight=600))
        day = after
    return "".join(parts)


def _row(plan: Plan, stage: Stage, y: float, x, frame: RowFrame) -> str:  # type: ignore[no-untyped-def]
    """One stage: its name, its work, its waiting."""
    colour = COLOURS.get(stage.side, INK)
    label = stage.what if len(stage.what) <= LETTERS else stage.what[: LETTERS - 1] + "…"
    if frame.above:
        parts = [_text(frame.left + 2, y + 10.0, label, halo=True)]
        middle, half = y + 16.8, 3.2  # clear of the tails of its letters and of the next name
    else:
        parts = [_text(frame.left - 8, y + 12.5, label, anchor="end")]
        middle, half = y + frame.row / 2, 5.5
    if stage.ready > stage.end:
        wide = max(x(stage.ready) - x(stage.end), 1)
        parts.append(_waits(x(stage.end), middle, wide, half * 0.9, colour))
    for a, b in _pieces(plan, stage):
        parts.append(_work(x(a), middle, max(x(b) - x(a), 2.5), half * 2, colour))
    return "".join(parts)


def _work(x: float, middle: float, wide: float, high: float, colour: str) -> str:
    return (
        f'<rect x="{x:.1f}" y="{middle - high / 2:.1f}" width="{wide:.1f}" height="{high:.1f}" '
        f'rx="1" fill="{colour}"/>'
    )


def _waits(x: float, middle: float, wide: float, high: float, colour: str) -> str:
    """A hollow bar: its edge is as dark as work, so that it is seen on any ground."""
    return (
        f'<rect x="{x:.1f}" y="{middle - high / 2:.1f}" width="{wide:.1f}" height="{high:.1f}" '
        f'fill="{colour}" fill-opacity="0.25" stroke="{colour}" stroke-width="0.9"/>'
    )


def _pieces(plan: Plan, stage: Stage) -> list[tuple[datetime, datetime]]:
    """The stage's work without the nights in it."""
    found: list[tuple[datetime, datetime]] = []
    for task in stage.tasks:
        here = task.start
        while here < task.end:
            closes = datetime.combine(here.date(), plan.hours.day_end)
            stop = min(task.end, closes) if closes > here else task.end
            if found and here - found[-1][1] < timedelta(minutes=1):
                found[-1] = (found[-1][0], stop)
            else:
                found.append((here, stop))
            here = plan.hours.next(stop) if stop < task.end else stop
    return found


def _mark(x: float, foot: float, text: str, width: float) -> str:
    line = (
        f'<line x1="{x:.1f}" y1="{TOP - 4:g}" x2="{x:.1f}" y2="{foot + 3:.1f}" '
        f'stroke="currentColor" stroke-width="1" stroke-dasharray="3 3"/>'
    )
    anchor = "start" if x < 40 else "end" if x > width - 80 else "middle"
    return line + _text(x, foot + 13, text, anchor=anchor)


def _key(y: float, sides: list[str]) -> str:
    """What the bars mean, and whose joints they are."""
    parts = [
        _work(8, y - 4, 18, 9, INK) + _text(32, y, "work"),
        _waits(74, y - 4, 18, 5, INK) + _text(98, y, "waits"),
        f'<rect x="144" y="{y - 9:g}" width="18" height="11" fill="{INK}" '
        f'fill-opacity="{SHUT}"/>' + _text(168, y, "shop shut"),
    ]
    if sides:
        parts.append(_text(8, y + 17, "joints:"))
    x = 52.0
    for side, colour in [(s, COLOURS[s]) for s in sides] + ([("all else", INK)] if sides else []):
        parts.append(_work(x, y + 13, 18, 9, colour) + _text(x + 24, y + 17, side))
        x += 42 + 6.0 * len(side)
    return "".join(parts)


def _text(
    x: float, y: float, text: str, *, anchor: str = "start", weight: int = 400, halo: bool = False
) -> str:
    paper = f' paint-order="stroke" stroke="{WHITE}" stroke-width="3"' if halo else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{11.5 if halo else 12:g}" '
        f'font-weight="{weight}" text-anchor="{anchor}"{paper}>{escape(text)}</text>'
    )
