"""Two results of many variants against each other: a dot each, those that nothing beats marked.

Plain SVG.  Thousands of dots are drawn as one path on a fine raster, so that they are quick
to draw; ``places`` gives where chosen points stand, as shares of the picture, for buttons
that a worksheet lays over them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from ...words.show import heading
from ...words.show import value as in_unit

Array: TypeAlias = NDArray[Any]

WIDE, HIGH = 420.0, 340.0
LEFT, RIGHT, TOP, FOOT = 58.0, 12.0, 12.0, 48.0
CELL = 2.0
GREY, MARK, GOOD, ASK = "#8a949d", "#8f62c8", "#22794f", "#d99a2b"
BOX = 'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor"'


@dataclass(frozen=True)
class AxisOf:
    """One side of the picture: its title, glossary word, figures (variants,) and better side."""

    title: str
    word: str
    figures: Array
    better: str = ""


@dataclass(frozen=True)
class Range:
    """From which figure to which one side of the picture goes, in the reader's unit."""

    low: float
    high: float

    def share(self, figures: float | Array) -> Array:
        """Where figures stand on it, from 0 to 1."""
        return (np.asarray(figures, float) - self.low) / (self.high - self.low)


def ranges(x: AxisOf, y: AxisOf, units: str) -> tuple[Range, Range]:
    """The two sides with a little room about all figures."""
    return _range(x, units), _range(y, units)


def places(x: AxisOf, y: AxisOf, chosen: Sequence[int], units: str) -> list[tuple[float, float]]:
    """Where some variants stand: shares of the picture's width and height from its top left."""
    across, up = ranges(x, y, units)
    found = []
    for one in chosen:
        px, py = _place(across.share(_scaled(x, units)[one]), up.share(_scaled(y, units)[one]))
        found.append((float(px) / WIDE, float(py) / HIGH))
    return found


def scatter_picture(
    x: AxisOf,
    y: AxisOf,
    units: str,
    *,
    unbeaten: Sequence[int] = (),
    meeting: Array | None = None,
    base: tuple[float, float] | None = None,
    picked: int | None = None,
) -> str:
    """The picture.  ``meeting`` flags the variants that meet all targets, shape (variants,).

    ``base`` has the figures of the build as it is, SI; ``picked`` is a variant with a ring.
    """
    across, up = ranges(x, y, units)
    px, py = _place(across.share(_scaled(x, units)), up.share(_scaled(y, units)))
    fine = np.isfinite(px) & np.isfinite(py)
    good = np.zeros(len(px), bool) if meeting is None else np.asarray(meeting, bool)
    parts = [_frame(x, y, across, up, units)]
    parts.append(_dots(px[fine & ~good], py[fine & ~good], GREY, 2.4, 0.6, "vp-dots"))
    parts.append(_dots(px[fine & good], py[fine & good], GOOD, 3.2, 0.85, "vp-good-line"))
    for one in unbeaten:
        if fine[one]:
            parts.append(
                f'<circle class="vp-mixed" cx="{px[one]:.1f}" cy="{py[one]:.1f}" r="3.6" '
                f'fill="{MARK}" style="fill:{MARK}" stroke="#ffffff" stroke-width="0.8"/>'
            )
    if base is not None and all(np.isfinite(base)):
        bx, by = _place(
            across.share(_one(base[0], x.word, units)), up.share(_one(base[1], y.word, units))
        )
        if LEFT <= bx <= WIDE - RIGHT and TOP <= by <= HIGH - FOOT:
            parts.append(_base(float(bx), float(by)))
    if picked is not None and fine[picked]:
        parts.append(
            f'<circle cx="{px[picked]:.1f}" cy="{py[picked]:.1f}" r="7.5" fill="none" '
            f'stroke="{ASK}" stroke-width="3"/>'
        )
    told = escape(f"{y.title} against {x.title}, {int(fine.sum())} variants", quote=True)
    body = "".join(parts)
    return f'<svg {BOX} viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" aria-label="{told}">{body}</svg>'


def _range(axis: AxisOf, units: str) -> Range:
    figures = _scaled(axis, units)
    figures = figures[np.isfinite(figures)]
    if not len(figures):
        return Range(0.0, 1.0)
    low, high = float(figures.min()), float(figures.max())
    room = 0.05 * (high - low) or max(abs(low) * 0.05, 0.5)
    return Range(low - room, high + room)


def _scaled(axis: AxisOf, units: str) -> Array:
    """Figures in the reader's unit: every unit is a line from SI."""
    zero, one = _one(0.0, axis.word, units), _one(1.0, axis.word, units)
    return zero + (one - zero) * np.asarray(axis.figures, float)


def _one(figure: float, word: str, units: str) -> float:
    return in_unit(figure, word, units)


def _place(across: Array, up: Array) -> tuple[Array, Array]:
    return (
        LEFT + across * (WIDE - LEFT - RIGHT),
        HIGH - FOOT - up * (HIGH - TOP - FOOT),
    )


def _dots(px: Array, py: Array, colour: str, size: float, opacity: float, mark: str) -> str:
    """One path with a round dot in every cell of a raster that has a variant."""
    if not len(px):
        return ""
    cells = np.unique(np.stack([np.rint(px / CELL), np.rint(py / CELL)], axis=1), axis=0) * CELL
    path = "".join(f"M{a:g} {b:g}h0" for a, b in cells.tolist())
    return (
        f'<path class="{mark}" d="{path}" stroke="{colour}" stroke-width="{size:g}" '
        f'stroke-linecap="round" opacity="{opacity:g}" fill="none"/>'
    )


def _base(x: float, y: float) -> str:
    """A cross where the build stands as it is."""
    path = f"M{x - 7:.1f} {y:.1f}h14M{x:.1f} {y - 7:.1f}v14"
    return (
        f'<path d="{path}" stroke="currentColor" stroke-width="2.4" fill="none"/>'
        f'<text x="{x + 10:.1f}" y="{y - 6:.1f}" font-size="13">as it is</text>'
    )


def _frame(x: AxisOf, y: AxisOf, across: Range, up: Range, units: str) -> str:
    """Axes with ticks at round figures, titles, and an arrow to the better side."""
    right, foot = WIDE - RIGHT, HIGH - FOOT
    rim = f"M{LEFT} {TOP}V{foot}H{right}"
    parts = [f'<path d="{rim}" stroke="{GREY}" fill="none"/>']
    for figure in _ticks(across):
        px = LEFT + float(across.share(figure)) * (right - LEFT)
        parts.append(f'<path d="M{px:.1f} {TOP}V{foot}" stroke="{GREY}" opacity="0.22"/>')
        parts.append(_text(px, foot + 17, f"{figure:g}", "middle"))
    for figure in _ticks(up):
        py = foot - float(up.share(figure)) * (foot - TOP)
        parts.append(f'<path d="M{LEFT} {py:.1f}H{right}" stroke="{GREY}" opacity="0.22"/>')
        parts.append(_text(LEFT - 7, py + 4, f"{figure:g}", "end"))
    ahead = {"less": "← better", "more": "better →", "": ""}[x.better]
    parts.append(_text((LEFT + right) / 2, HIGH - 12, _titled(x, units, ahead), "middle", 14))
    ahead = {"less": "← better", "more": "better →", "": ""}[y.better]
    middle = (TOP + foot) / 2
    parts.append(
        f'<text transform="translate(17 {middle:.1f}) rotate(-90)" text-anchor="middle" '
        f'font-size="14">{escape(_titled(y, units, ahead))}</text>'
    )
    return "".join(parts)


def _titled(axis: AxisOf, units: str, ahead: str) -> str:
    title = heading(axis.title, axis.word, units)
    return f"{ahead}  ·  {title}" if ahead.startswith("←") else f"{title}  ·  {ahead}".rstrip(" ·")


def _text(x: float, y: float, words: str, anchor: str, size: float = 13) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}">'
        f"{escape(words)}</text>"
    )


def _ticks(one: Range) -> list[float]:
    """Four to eight round figures inside a range."""
    span = one.high - one.low
    rough = span / 5
    power = 10.0 ** np.floor(np.log10(rough))
    step = next(m * power for m in (1, 2, 2.5, 5, 10) if m * power >= rough * 0.8)
    first = np.ceil(one.low / step) * step
    return [round(float(v), 10) for v in np.arange(first, one.high, step)]
