"""The shop's clock as a chart: work as bars, waiting as lighter bars, nights in grey."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape
from typing import TYPE_CHECKING

from ..shop.clock import WATER, Plan
from ..shop.stages import Stage, stages
from ..words.report import Chapter, Picture

if TYPE_CHECKING:
    from ..shop import Shop

HOT, COLD, MIXED, INK, GREY = "#c2372c", "#1c6db0", "#7b4bb3", "#56606a", "#8a949d"
COLOURS = {"hot": HOT, "cold": COLD, "mixed": MIXED}
MARKS = {"hot": "vp-hot", "cold": "vp-cold", "mixed": "vp-mixed"}
LEFT, RIGHT, TOP, ROW, WIDTH = 284.0, 12.0, 44.0, 19.0, 720.0
LETTERS = 44
"""Most letters of a stage's name that stand beside its bars."""


@dataclass(frozen=True)
class Frame:
    """Where things stand.  On paper names stand beside the bars, on a screen above them."""

    width: float
    left: float
    row: float
    above: bool


PAPER = Frame(WIDTH, LEFT, ROW, False)
SCREEN = Frame(380.0, 8.0, 34.0, True)


def shop_chapter(shop: Shop) -> Chapter:
    """The shop's pages of the sheet, with the clock drawn."""
    picture = Picture("clock", "Order of work, waiting and the test", clock_picture(shop.clock))
    return shop.chapter().with_pictures(picture)


def clock_picture(plan: Plan, frame: Frame = PAPER) -> str:
    """The plan as a complete SVG, 168 mm wide on paper, narrow for a ``SCREEN``."""
    rows = stages(plan)
    start = datetime.combine(plan.start.date(), plan.hours.day_start) - timedelta(hours=1)
    end = max(s.ready for s in rows) + timedelta(hours=1)
    foot = TOP + frame.row * len(rows)
    scale = (frame.width - frame.left - RIGHT) / max((end - start).total_seconds(), 1.0)

    def x(moment: datetime) -> float:
        return frame.left + (min(max(moment, start), end) - start).total_seconds() * scale

    parts = [_days(plan, start, end, x, foot)]
    for number, stage in enumerate(rows):
        parts.append(_row(plan, stage, TOP + frame.row * number, x, frame))
    parts.append(_mark(x(plan.task(WATER).start), foot, "first water", frame.width))
    height = foot + 40
    millimetres = 168 * height / frame.width
    paper = "" if frame.above else f'width="168mm" height="{millimetres:.1f}mm" '
    title = f"Order of work, hand-over {plan.told(plan.hand_over.end)}"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor" '
        f'{paper}viewBox="0 0 {frame.width:g} {height:g}" '
        f'role="img" aria-label="{escape(title)}">{"".join(parts)}{_key(height - 10)}</svg>'
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
                    f'height="{foot - TOP + 4:.1f}" fill="{GREY}" fill-opacity="0.16"/>'
                )
        name = f"{day:%a} {day.day}" if plan.dated else f"day {number}"
        if spans > 12:
            name = f"{day.day}" if plan.dated else f"{number}"
        if x(after) - x(day) > 5.6 * len(name):
            middle = (x(day) + x(after)) / 2
            parts.append(_text(middle, TOP - 12, name, anchor="middle", weight=600))
        day = after
    return "".join(parts)


def _row(plan: Plan, stage: Stage, y: float, x, frame: Frame) -> str:  # type: ignore[no-untyped-def]
    """One stage: its name, its work, its waiting."""
    colour, mark = COLOURS.get(stage.side, INK), MARKS.get(stage.side, "")
    named = f' class="{mark}"' if mark else ""
    label = stage.what if len(stage.what) <= LETTERS else stage.what[: LETTERS - 1] + "…"
    if frame.above:
        parts = [_text(frame.left + 2, y + 12, label)]
        middle = y + 23
    else:
        parts = [_text(frame.left - 8, y + 12.5, label, anchor="end")]
        middle = y + frame.row / 2
    if stage.ready > stage.end:
        parts.append(
            f'<rect{named} x="{x(stage.end):.1f}" y="{middle - 2.5:.1f}" '
            f'width="{max(x(stage.ready) - x(stage.end), 1):.1f}" height="5" fill="{colour}" '
            'fill-opacity="0.4"/>'
        )
    for a, b in _pieces(plan, stage):
        parts.append(
            f'<rect{named} x="{x(a):.1f}" y="{middle - 6:.1f}" '
            f'width="{max(x(b) - x(a), 2.5):.1f}" height="12" rx="1.5" fill="{colour}"/>'
        )
    return "".join(parts)


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
        f'<line x1="{x:.1f}" y1="{TOP - 4:g}" x2="{x:.1f}" y2="{foot + 4:.1f}" '
        f'stroke="currentColor" stroke-width="1" stroke-dasharray="3 3"/>'
    )
    return line + _text(x, foot + 15, text, anchor="end" if x > width - 80 else "middle")


def _key(y: float) -> str:
    """What the bars mean."""
    return (
        f'<rect x="8" y="{y - 10:g}" width="18" height="12" rx="1.5" fill="{INK}"/>'
        + _text(32, y, "work")
        + f'<rect x="74" y="{y - 6.5:g}" width="18" height="5" fill="{INK}" fill-opacity="0.4"/>'
        + _text(98, y, "waits")
        + f'<rect x="144" y="{y - 10:g}" width="18" height="12" fill="{GREY}" '
        'fill-opacity="0.16"/>' + _text(168, y, "shop shut")
    )


def _text(x: float, y: float, text: str, *, anchor: str = "start", weight: int = 400) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="12" font-weight="{weight}" '
        f'text-anchor="{anchor}">{escape(text)}</text>'
    )
