"""Small charts of the shop's worksheets: a pressure test, readings, chances.

Plain SVG, about 360 wide, redrawn while a value changes; colours follow the theme by class.
"""

from __future__ import annotations

import numpy as np

from ...formulas.pressure import creeping_pressure
from ...shop.readings.measured import Judged
from ...shop.record.reliability import Sureness
from ...shop.test.leak import Judgement
from ...shop.test.pressure_test import SETTLING, TestPlan
from ...words.show import show, unit, value
from ..style import COLD, HOT, MIXED, for_svg

GREY, AMBER = "#8a949d", "#d99a2b"
BOX = 'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor"'


def test_picture(plan: TestPlan, found: Judgement, units: str) -> str:
    """Readings at one temperature, the fitted curve, and the pressure that was asked for."""
    times = np.array([r.time for r in found.corrected]) / 60
    shown = np.array([value(r.pressure, "pressure", units) for r in found.corrected])
    asked = value(plan.pressure, "pressure", units)
    span = max(float(times[-1] - times[0]), 1e-6)
    fine = np.linspace(0, span * 60, 80)
    scale = plan.stiffness.compliance if plan.medium == "water" else 1.0
    start = found.corrected[0].pressure
    curve = creeping_pressure.si(
        start, found.creep, found.leak if plan.medium == "water" else 0.0, scale, fine, SETTLING
    )
    line = np.array([value(float(p), "pressure", units) for p in curve])
    low = float(min(shown.min(), line.min(), asked))
    high = float(max(shown.max(), line.max(), asked))
    pad = max(0.12 * (high - low), 0.01 * abs(high), 1e-6)
    low, high = low - pad, high + pad

    def x(minutes: float) -> float:
        return 52 + (minutes - float(times[0])) / span * 290

    def y(pressure: float) -> float:
        return 236 - (pressure - low) / (high - low) * 206

    parts = [_axis(low, high, y, unit("pressure", units))]
    every = next(m for m in (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 1e9) if span / m <= 6)
    for tick in range(int(span // every) + 1):
        at = float(times[0]) + tick * every
        parts.append(_text(x(at), 256, f"{at:.0f}", anchor="middle", soft=True))
    parts.append(_text(342, 274, "minutes", anchor="end", soft=True))
    parts.append(f'<line x1="52" x2="342" y1="{y(asked):.1f}" y2="{y(asked):.1f}" '
                 f'stroke="{GREY}" stroke-dasharray="4 3"/>')  # fmt: skip
    beside = y(asked) + (19 if shown[-1] > asked else -9)  # clear of the last reading
    parts.append(_text(342, beside, "asked for", anchor="end", soft=True))
    if plan.medium == "water":
        points = " ".join(
            f"{x(t / 60 + float(times[0])):.1f},{y(p):.1f}" for t, p in zip(fine, line, strict=True)
        )
        parts.append(f'<polyline class="vp-mixed-line" points="{points}" fill="none" '
                     f'stroke="{MIXED}" stroke-width="2"/>')  # fmt: skip
    for t, p in zip(times, shown, strict=True):
        parts.append(f'<circle class="vp-cold" cx="{x(float(t)):.1f}" cy="{y(float(p)):.1f}" '
                     f'r="4.5" fill="{COLD}"/>')  # fmt: skip
    title = for_svg(f"Pressure test: {found.verdict}")
    return (
        f'<svg {BOX} viewBox="0 0 356 282" role="img" aria-label="{title}">{"".join(parts)}</svg>'
    )


def readings_picture(judged: Judged) -> str:
    """Each reading as a dot beside what was computed, in its own uncertainties."""
    rows = judged.compared
    height = 44 + 20 * len(rows)
    middle, step = 244.0, 15.0

    def x(apart: float) -> float:
        return middle + min(max(apart, -6.0), 6.0) * step

    band = (f'<rect x="{x(-3):.1f}" y="26" width="{6 * step:.1f}" height="{20 * len(rows):g}" '
            f'fill="{GREY}" fill-opacity="0.18"/>')  # fmt: skip
    axis = f'<line x1="{middle}" x2="{middle}" y1="26" y2="{26 + 20 * len(rows)}" stroke="{GREY}"/>'
    parts = [band, axis, _text(middle, 16, "as computed", anchor="middle", soft=True)]
    for i, one in enumerate(rows):
        at = 40 + 20 * i
        parts.append(_text(138, at, one.name, anchor="end", size=10.5))
        if one.apart is None:
            parts.append(_text(352, at, "not read", anchor="end", soft=True, size=10))
            continue
        odd = abs(one.apart) > 3
        colour, mark = (HOT, "vp-hot") if odd else (COLD, "vp-cold")
        parts.append(
            f'<circle class="{mark}" cx="{x(one.apart):.1f}" cy="{at - 4}" r="5" fill="{colour}"/>'
        )
        if abs(one.apart) > 6.0:  # off the picture: say how far
            side = 12 if one.apart < 0 else -12
            far = f"{one.apart:+.0f}".replace("-", "−")
            anchor = "start" if one.apart < 0 else "end"
            parts.append(_text(x(one.apart) + side, at, far, anchor=anchor, soft=True, size=10))
    foot = height - 6
    parts += [_text(x(-3), foot, "−3", anchor="middle", soft=True),
              _text(x(3), foot, "+3", anchor="middle", soft=True)]  # fmt: skip
    return (f'<svg {BOX} viewBox="0 0 356 {height}" role="img" '
            f'aria-label="Readings against what was computed">{"".join(parts)}</svg>')  # fmt: skip


def sureness_picture(found: Sureness) -> str:
    """For each kind the limits of its chance to weep, and the chance in the next van."""
    bars = [(t.kind, t.exact.low, t.mean, t.exact.high, COLD, "vp-cold")
            for t in found.tallies.values()]  # fmt: skip
    for name, van in (("next van", found.now), ("after a clean one", found.more.then)):
        bars.append((name, van.low, van.expected, van.high, MIXED, "vp-mixed"))
    top = max(1e-3, *(b[3] for b in bars))

    def x(chance: float) -> float:
        return 150 + min(chance / top, 1.0) * 178

    height = 40 + 26 * len(bars)
    parts = []
    for i, (name, low, mean, high, colour, mark) in enumerate(bars):
        at = 24 + 26 * i
        parts.append(_text(142, at + 4, name, anchor="end", size=10.5))
        parts.append(
            f'<rect class="{mark}" x="{x(low):.1f}" y="{at - 4}" fill="{colour}" '
            f'width="{max(x(high) - x(low), 2):.1f}" height="8" fill-opacity="0.4"/>'
        )
        parts.append(f'<circle class="{mark}" cx="{x(mean):.1f}" cy="{at}" r="5" fill="{colour}"/>')
    for part in (0.0, 0.5, 1.0):
        said = show(part * top, "share") if part else "0 %"
        parts.append(_text(x(part * top), height - 6, said, anchor="middle", soft=True))
    return (f'<svg {BOX} viewBox="0 0 356 {height}" role="img" '
            f'aria-label="Chances to weep">{"".join(parts)}</svg>')  # fmt: skip


def _axis(low: float, high: float, y, mark: str) -> str:  # type: ignore[no-untyped-def]
    """Level lines at round pressures."""
    rough = (high - low) / 4
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(next(power * m for m in (1, 2, 5, 10) if power * m >= rough * 0.999))
    parts, at = [], float(np.ceil(low / step) * step)
    digits = max(0, int(-np.floor(np.log10(step))))
    while at <= high:
        parts.append(f'<line x1="52" x2="342" y1="{y(at):.1f}" y2="{y(at):.1f}" stroke="{GREY}" '
                     'stroke-opacity="0.35"/>')  # fmt: skip
        parts.append(_text(46, y(at) + 4, f"{at:.{digits}f}", anchor="end", soft=True))
        at += step
    parts.append(_text(8, 16, mark, soft=True))
    return "".join(parts)


def _text(
    x: float, y: float, text: str, *, anchor: str = "start", soft: bool = False, size: float = 12
) -> str:
    shade = ' fill-opacity="0.75"' if soft else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{shade}>'
        f"{for_svg(text)}</text>"
    )
