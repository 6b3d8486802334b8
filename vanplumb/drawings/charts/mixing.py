"""The outlet of a mixing valve against the limits.  The valve with its flows: ``valve``.

Plain SVG, small enough to be redrawn while a slider moves.  The colours are for paper;
a worksheet sets its theme's own by the classes (``vp-hot``, ``vp-cold``, ``vp-mixed``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ...chapters.mixing import two_limits
from ...flow.mixing.valve import Drift, MixingState
from ...van.region import usual_region
from ...words.show import show
from ..style import HOT, MIXED

GREY = "#8a949d"
AMBER = "#d99a2b"
BOX = 'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor"'

LOWEST, HIGHEST = 273.15, 363.15  # of the scale, K
TOP, FOOT = 22.0, 318.0  # where these two stand in the picture
LINE = 15.5  # between two labels
NEEDLE = 18.0  # between the outlet's figure and a limit's label


def scale_picture(state: MixingState, drifts: Iterable[Drift], units: str, region: str = "") -> str:
    """A thermometer with bands and limits; on it the outlet now and after each drift."""
    rows = two_limits(region or usual_region(units))
    shower, code = (row.number("temperature") for row in rows)
    bands = [
        _band(LOWEST, shower, GREY, 0.22),
        _band(shower, code, AMBER, 0.55),
        _band(code, HIGHEST, HOT, 0.55),
    ]
    limits = {
        shower: f"for washing {show(shower, 'temperature', units)}",
        code: f"limit {show(code, 'temperature', units)}",
    }
    left = _limits(limits, state.temperature, units)
    body = "".join([*bands, _scale(units), *left, *_marks(drifts)])
    title = f"Outlet {outlet(state, units)} against the limits"
    return f'<svg {BOX} viewBox="-16 0 372 340" role="img" aria-label="{title}">{body}</svg>'


def height_of(temperature: float) -> float:
    """Where a temperature stands in the picture of the scale."""
    part = (min(max(temperature, LOWEST), HIGHEST) - LOWEST) / (HIGHEST - LOWEST)
    return FOOT - part * (FOOT - TOP)


def spread(places: list[float], least: float, top: float, foot: float) -> list[float]:
    """Heights as near as can be to the given ones (in falling order), none closer than ``least``.

    Neighbours that would touch are moved apart together, about their own middle.
    """

    def ends(group: list[float]) -> tuple[float, float]:
        """Lowest and highest label of a group, about its middle and inside the picture."""
        middle, half = sum(group) / len(group), (len(group) - 1) * least / 2
        middle = max(min(middle, foot - half), top + half)
        return middle + half, middle - half

    groups: list[list[float]] = []
    for place in places:
        groups.append([place])
        while len(groups) > 1 and ends(groups[-2])[1] - ends(groups[-1])[0] < least:
            last = groups.pop()
            groups[-1] += last
    return [ends(group)[0] - i * least for group in groups for i in range(len(group))]


def _band(low: float, high: float, colour: str, strength: float) -> str:
    top, foot = height_of(high), height_of(low)
    return (
        f'<rect x="112" y="{top:.1f}" width="32" height="{foot - top:.1f}" '
        f'fill="{colour}" opacity="{strength}"/>'
    )


def _scale(units: str) -> str:
    """Outline and round temperatures of the reader."""
    step = range(40, 200, 20) if units == "US" else range(0, 100, 10)
    ticks = []
    for degrees in step:
        kelvin = (degrees + 459.67) * 5 / 9 if units == "US" else degrees + 273.15
        if LOWEST <= kelvin <= HIGHEST:
            y = height_of(kelvin)
            ticks.append(text_at(128, y + 4, str(degrees), size=11, anchor="middle"))
    unit = "°F" if units == "US" else "°C"
    return (
        f'<rect x="112" y="{TOP}" width="32" height="{FOOT - TOP}" fill="none" stroke="{GREY}"/>'
        + "".join(ticks)
        + text_at(128, 15, unit, size=11, anchor="middle")
    )


def _limits(limits: Mapping[float, str], now: float | None, units: str) -> list[str]:
    """Left of the scale: the limits and the outlet, each figure clear of the others."""
    found = [] if now is not None else [text_at(6, 334, "no flow", size=15, weight=600)]
    shown = sorted([*limits.items(), *([] if now is None else [(now, "")])])
    places = [height_of(one) for one, _ in shown]
    for (one, told), place, y in zip(shown, places, spread(places, NEEDLE, TOP, FOOT), strict=True):
        if told:
            found.append(
                f'<path d="M95 {y:.1f} L114 {place:.1f}" stroke="currentColor" '
                'stroke-width="1.5" fill="none"/>'
            )
            found.append(text_at(92, y + 4, told, size=12, anchor="end"))
            continue
        found.append(
            f'<path class="vp-mixed" d="M112 {place:.1f} l-15 -8 v16 Z" fill="{MIXED}"/>'
            f'<path class="vp-mixed-line" d="M112 {place:.1f} h4 M140 {place:.1f} h4" '
            f'stroke="{MIXED}" stroke-width="3"/>'  # short of the scale's figures
        )
        outlet_told = show(one, "temperature", units)
        found.append(text_at(94, y + 6, outlet_told, size=17, weight=600, anchor="end"))
    return found


def _marks(drifts: Iterable[Drift]) -> list[str]:
    """One line for each drift, from its temperature on the scale to its label."""
    flowing = [d for d in drifts if d.state.temperature is not None]
    flowing.sort(key=lambda d: d.state.temperature or 0.0)
    places = [height_of(d.state.temperature or 0.0) for d in flowing]
    marks = []
    for drift, place, y in zip(flowing, places, spread(places, LINE, TOP, FOOT + 8), strict=True):
        path = f"M146 {place:.1f} H160 L186 {y:.1f} H194"
        marks.append(f'<path d="{path}" stroke="{GREY}" fill="none"/>')
        marks.append(f'<circle class="vp-mixed" cx="146" cy="{place:.1f}" r="3" fill="{MIXED}"/>')
        marks.append(text_at(197, y + 4, drift.label, size=12))
    return marks


def text_at(
    x: float,
    y: float,
    text: str,
    *,
    size: int = 13,
    weight: int = 400,
    anchor: str = "start",
) -> str:
    """A line of writing on the drawing."""
    bold = f' font-weight="{weight}"' if weight != 400 else ""
    where = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text x="{x:g}" y="{y:.1f}" font-size="{size}"{bold}{where}>{text}</text>'


def outlet(state: MixingState, units: str) -> str:
    """How warm the mixed water is, in words."""
    if state.temperature is None:
        return "no flow"
    return show(state.temperature, "temperature", units)
