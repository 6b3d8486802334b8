"""Lanes under one another that share an axis of time: the pieces that such charts are made of.

Plain SVG in millimetres.  ``PAPER`` fills a sheet; ``SCREEN`` is narrower, so that its letters
stay legible where a worksheet shows it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape

from ...trip.hot_runs.plug import Array
from ...words.show import to_si, unit
from ...words.show import value as in_unit
from ..style import GREY, WHITE, follow

PAPER, SCREEN = 171.0, 98.0
LEFT, RIGHT = 25.0, 4.0
LANE, GAP = 25.0, 6.0

Scale = Callable[[float], float]


@dataclass(frozen=True)
class Frame:
    """The axis of time: a chart so wide, from zero to ``span`` seconds."""

    wide: float
    span: float

    @property
    def right(self) -> float:
        return self.wide - RIGHT

    def x(self, seconds: float) -> float:
        """Where a moment stands."""
        return LEFT + (self.right - LEFT) * seconds / self.span

    def box(self, top: float) -> str:
        """The outline of a lane."""
        return (
            f'<rect x="{LEFT:.2f}" y="{top:.2f}" width="{self.right - LEFT:.2f}" '
            f'height="{LANE:.2f}" fill="none" stroke="{GREY}" stroke-width="0.15"/>'
        )

    def band(
        self, start: float, end: float, top: float, foot: float, colour: str, strength: float
    ) -> str:
        """A shaded stretch of time."""
        a, b = self.x(start), self.x(end)
        return (
            f'<rect x="{a:.2f}" y="{top:.2f}" width="{b - a:.2f}" height="{foot - top:.2f}" '
            f'fill="{colour}" opacity="{strength:g}"/>'
        )

    def level(self, y: float, colour: str) -> str:
        """A dashed line across a lane."""
        return (
            f'<line x1="{LEFT:.2f}" y1="{y:.2f}" x2="{self.right:.2f}" y2="{y:.2f}" '
            f'stroke="{colour}" stroke-width="0.2" stroke-dasharray="1 0.8"/>'
        )

    def points(self, times: Array, values: Array, y: Scale) -> str:
        """Points of a line, without those that would not be seen."""
        kept: list[tuple[str, str]] = []
        for time, value in zip(times.tolist(), values.tolist(), strict=True):
            point = (f"{self.x(time):.2f}", f"{y(value):.2f}")
            if kept and point == kept[-1]:
                continue
            if len(kept) > 1 and kept[-1][1] == kept[-2][1] == point[1]:
                kept[-1] = point
                continue
            kept.append(point)
        return " ".join(f"{a},{b}" for a, b in kept)

    def filled(self, points: str, foot: float, colour: str, strength: float) -> str:
        """The room between a line and the foot of its lane."""
        first, last = points.split(" ")[0].split(",")[0], points.split(" ")[-1].split(",")[0]
        return (
            f'<polygon points="{first},{foot:.2f} {points} {last},{foot:.2f}" fill="{colour}" '
            f'opacity="{strength:g}"/>'
        )


def whole(frame: Frame, high: float, title: str, body: Iterable[str]) -> str:
    """The chart as a complete SVG."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{frame.wide:.0f}mm" '
        f'height="{high:.1f}mm" viewBox="0 0 {frame.wide:.0f} {high:.1f}" '
        'font-family="sans-serif" font-size="3" fill="currentColor" role="img" class="vp-lanes" '
        f'aria-label="{escape(title)}">{follow("vp-lanes")}{"".join(body)}</svg>'
    )


def up(top: float, low: float, high: float) -> Scale:
    """Where values stand in a lane that reaches from low to high; others stay at its edge."""
    span = (high - low) or 1.0
    return lambda value: top + LANE * (1.0 - (min(max(value, low), high) - low) / span)


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = 3.0,
    anchor: str = "start",
    bold: bool = False,
    colour: str = "",
    halo: bool = False,
) -> str:
    """Words at a place; with a ``halo`` of paper they stay legible over lines."""
    weight = ' font-weight="600"' if bold else ""
    fill = f' fill="{colour}"' if colour else ""
    paper = (
        f' paint-order="stroke" stroke="{WHITE}" stroke-width="{size / 3:.2f}" '
        'stroke-linejoin="round"'
        if halo
        else ""
    )
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" text-anchor="{anchor}"'
        f"{weight}{fill}{paper}>{escape(words)}</text>"
    )


def rule(x: float, top: float, foot: float, colour: str, wide: float, dash: str = "") -> str:
    """An upright line."""
    style = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x:.2f}" y1="{top:.2f}" x2="{x:.2f}" y2="{foot:.2f}" stroke="{colour}" '
        f'stroke-width="{wide:g}"{style}/>'
    )


def line(points: str, colour: str, wide: float = 0.5, dash: str = "") -> str:
    """A line through points."""
    style = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{wide:g}" '
        f'stroke-linejoin="round"{style}/>'
    )


def axis(top: float, name: str, marks: list[tuple[float, str]], y: Scale) -> str:
    """The name of a lane, above its scale, and the scale."""
    parts = [text(1.0, top - 1.0, name, size=3.2, bold=True)]
    for value, mark in marks:
        at = max(y(value), top + 1.6)
        parts.append(text(LEFT - 1.0, at + 0.8, mark, size=2.4, anchor="end"))
    return "".join(parts)


def legend(top: float, rows: list[tuple[str, str]]) -> str:
    """Names of lines in their colours, under the lane's name."""
    return "".join(
        text(1.0, top + 6.6 + 3.4 * i, name, size=2.6, colour=colour, bold=True)
        for i, (name, colour) in enumerate(rows)
    )


def marks(
    low: float, high: float, word: str, system: str, most: int = 5
) -> list[tuple[float, str]]:
    """Round values between two, in the reader's unit; the last one carries it."""
    first, last = in_unit(low, word, system), in_unit(high, word, system)
    step = round_step(last - first, most)
    count = math.floor(last / step + 1e-6)
    found = []
    for k in range(math.ceil(first / step - 1e-6), count + 1):
        label = f"{k * step:g}".replace("-", "−")
        if k == count:
            label += f" {unit(word, system)}"
        found.append((to_si(k * step, word, system), label))
    return found


def round_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 that cuts a span into a few parts."""
    raw = max(span, 1e-9) / most
    size = 10.0 ** math.floor(math.log10(raw))
    return float(size * next(s for s in (1, 2, 5, 10) if s * size >= raw * (1 - 1e-9)))
