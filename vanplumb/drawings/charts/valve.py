"""A mixing valve with its flows: two streams meet, lie side by side, and mix on their way out.

A stream is as wide as its flow and coloured by its temperature, so that the widths of both add
up to the outlet's.
"""

from __future__ import annotations

from math import pi, sin
from typing import Any

from ...flow.mixing.valve import SHUT_FLOW, MixingState
from ...van.kinds.mixing_valves import FIXED
from ...words.show import show
from ..dashes import DASH, Points, counted, curve, path
from ..style import ARROW, GREY, changed
from ..warmth import WIDE as LEGEND
from ..warmth import colour, legend
from .mixing import BOX, outlet, text_at

WIDE, HIGH, ROOM = 620.0, 262.0, 42.0
"""Size of the drawing, and the height below it for the scale of temperatures."""
MIDDLE, HOT_AT, COLD_AT = 134.0, 66.0, 202.0
"""Heights of the outlet and of both supplies."""
MEET, APART, TURN, SPOUT = 352.0, 446.0, 560.0, 590.0
"""x where the streams meet, where they are mixed, and where the outlet turns down."""
WIDEST, BORE = 40.0, 30.0
"""Stroke of the outlet's flow at most, and of an empty tube."""
_Word = tuple[float, float, str, int, int, str]
FOLD = 292.0
"""Where a narrow page may fold it."""


def valve_picture(state: MixingState, units: str, before: MixingState | None = None) -> str:
    """Both supplies, the openings of the valve as parts of a ring, and the mixed water.

    A tube that gives nothing is an empty outline.  What the outlet gave ``before`` stands
    beside what it gives.
    """
    now = state.supplies
    shades = [colour(t) for t in (now.temperature_hot, now.temperature_cold)]
    mixed = colour(state.temperature) if state.temperature is not None else GREY
    shells, water = [], []
    for name, points in (("hot", _way(HOT_AT, MIDDLE)), ("cold", _way(COLD_AT, MIDDLE))):
        shells.append(_line(points, GREY, BORE, 0.22, name))
    shells.append(_line(_out(), GREY, BORE + 10, 0.22, "out"))
    for name, (points, flow, wide) in streams(state).items():
        if abs(flow) > SHUT_FLOW:
            shade = mixed if name == "out" else f"url(#vp-mixing-{name})"
            water.append(_line(points, shade, wide, 1.0, name))
    fades = "".join(
        f'<linearGradient id="vp-mixing-{name}" gradientUnits="userSpaceOnUse" x1="{MEET - 8:.0f}" '
        f'y1="0" x2="{APART:.0f}" y2="0"><stop offset="0" stop-color="{shade}"/>'
        f'<stop offset="1" stop-color="{mixed}"/></linearGradient>'
        for name, shade in zip(("hot", "cold"), shades, strict=True)
    )
    kind = "set once" if state.valve.kind == FIXED else "thermostatic"
    told, given = outlet(state, units), _flow(state.flow, units)
    if before is not None and before.temperature is not None and state.temperature is not None:
        told = changed(outlet(before, units), told)
        given = changed(_flow(before.flow, units), given)
    texts: list[_Word] = [
        (10, 18, "hot supply", 600, 14, "start"),
        (10, 38, _supply(now.temperature_hot, now.pressure_hot, units), 400, 14, "start"),
        (10, 100, _flow(state.flow_hot, units), 600, 14, "start"),
        (10, 178, _flow(state.flow_cold, units), 600, 14, "start"),
        (10, 236, "cold supply", 600, 14, "start"),
        (10, 256, _supply(now.temperature_cold, now.pressure_cold, units), 400, 14, "start"),
    ]
    right: list[_Word] = [
        (MEET + 20, 52, kind, 400, 14, "middle"),
        (MEET + 20, 226, f"hot opening {show(state.opening, 'share', units)}", 400, 14, "middle"),
        (SPOUT + 24, 24, "outlet", 600, 14, "end"),
        (SPOUT + 24, 54, told, 600, 24, "end"),
        (SPOUT + 24, 78, given, 600, 14, "end"),
    ]
    body = (
        f"{fades}{''.join(shells)}{_ring(state, shades)}{''.join(water)}{_spout(state, mixed)}"
        f'<g class="vp-part" data-box="0 0 {FOLD:.0f} {HIGH:.0f}">'
        f"{''.join(_checks(state))}{''.join(map(_word, texts))}</g>"
        f'<g class="vp-part" data-box="{FOLD + 2:.0f} 0 {WIDE:.0f} {HIGH:.0f}">'
        f"{''.join(map(_word, right))}</g>"
        f'<g class="vp-legend" font-size="12" '
        f'transform="translate({(WIDE - LEGEND) / 2:.1f} {HIGH + 6:.1f})">'
        f"{legend(units, 'vp-warmth')}</g>"
    )
    title = f"Mixing valve, outlet {outlet(state, units)}"
    return (
        f'<svg {BOX} viewBox="0 0 {WIDE:.0f} {HIGH + ROOM:.0f}" role="img" '
        f'aria-label="{title}">{body}</svg>'
    )


def valve_scene(state: MixingState, units: str) -> dict[str, Any]:
    """What moves: dashes of one volume, as many in a second as truly flow, and eddies between."""
    flows = [
        counted(name, points, flow, units, wide)
        for name, (points, flow, wide) in streams(state).items()
        if abs(flow) > SHUT_FLOW
    ]
    if not state.crossing and min(state.flow_hot, state.flow_cold) > SHUT_FLOW:
        for number, turn in enumerate((0.0, pi)):
            eddy = counted(f"eddy {number}", _eddy(turn), state.flow, units, 4.5)
            flows.append({**eddy, "gap": 17.0})
    dash = f"Each dash is {DASH[units][1]} of water: as many pass in a second as truly flow"
    return {"flows": flows, "dash": dash, "folds": [FOLD]}


def streams(state: MixingState) -> dict[str, tuple[Points, float, float]]:
    """The corners, the flow in m³/s and the width of each stream; widths follow the flows."""
    flows = {"hot": state.flow_hot, "cold": state.flow_cold, "out": state.flow}
    most = max(*(abs(f) for f in flows.values()), SHUT_FLOW)
    wide = {name: _wide(abs(f), most) for name, f in flows.items()}
    top = MIDDLE - (wide["hot"] + wide["cold"]) / 2
    ways = {
        "hot": _way(HOT_AT, top + wide["hot"] / 2),
        "cold": _way(COLD_AT, top + wide["hot"] + wide["cold"] / 2),
        "out": _out(),
    }
    return {name: (ways[name], flows[name], wide[name]) for name in flows}


def _wide(flow: float, most: float) -> float:
    return max(WIDEST * flow / most, 3.0) if flow > SHUT_FLOW else 0.0


def _way(start: float, end: float) -> Points:
    """From the left, at its own height, to where both streams lie side by side."""
    return [(4.0, start), *curve((210.0, start), (MEET, end)), (APART, end)]


def _out() -> Points:
    """From where the water is mixed to the spout."""
    bend = [(TURN + 30 * sin(a), MIDDLE + 30 - 30 * sin(pi / 2 - a)) for a in _angles()]
    return [(APART, MIDDLE), *bend, (SPOUT, 218.0)]


def _angles() -> list[float]:
    return [pi / 2 * n / 8 for n in range(9)]


def _eddy(turn: float) -> Points:
    """A line that winds from one stream into the other, wider first."""
    high = 11.0
    return [
        (x, MIDDLE + high * (1 - (x - MEET) / 150) * sin((x - MEET) / 13 + turn))
        for x in range(int(MEET), int(APART) + 40, 4)
    ]


def _line(points: Points, shade: str, wide: float, strength: float, name: str) -> str:
    return (
        f'<path d="{path(points)}" fill="none" stroke="{shade}" stroke-width="{wide:.1f}" '
        f'stroke-linejoin="round" opacity="{strength:g}" data-stream="{name}"/>'
    )


def _ring(state: MixingState, shades: list[str]) -> str:
    """The valve: a ring whose upper part is the hot opening and whose lower is the cold."""
    x, radius = MEET + 20, 62.0
    around = 2 * pi * radius
    ring = f'cx="{x:.0f}" cy="{MIDDLE:.0f}" r="{radius:.0f}" fill="none" stroke-width="7"'
    turn = f"rotate({-90 - 180 * state.opening:.1f} {x:.0f} {MIDDLE:.0f})"
    return (
        f'<circle {ring} stroke="{shades[1]}" opacity="0.75"/>'
        f'<circle {ring} stroke="{shades[0]}" transform="{turn}" opacity="0.9" '
        f'stroke-dasharray="{around * state.opening:.1f} {around:.1f}"/>'
    )


def _spout(state: MixingState, shade: str) -> str:
    """What falls from the outlet."""
    if state.flow <= SHUT_FLOW:
        return ""
    return (
        f'<path d="M{SPOUT} 230Q{SPOUT - 8} 246 {SPOUT} 250Q{SPOUT + 8} 246 {SPOUT} 230Z" '
        f'fill="{shade}"/>'
    )


def _checks(state: MixingState) -> list[str]:
    """A small arrow head with a bar in each supply that has a check valve."""
    if not state.valve.checks:
        return []
    return [
        f'<g class="vp-check" fill="#ffffff" stroke="#1d2328" stroke-width="1.2">'
        f'<title>check valve</title><path d="M146 {y - 9:g}l17 9l-17 9Z"/>'
        f'<path d="M164 {y - 9:g}h4v18h-4Z"/></g>'
        for y in (HOT_AT, COLD_AT)
    ]


def _word(one: _Word) -> str:
    x, y, text, weight, size, anchor = one
    made = text_at(x, y, text, size=size, weight=weight, anchor=anchor)
    return made.replace("<text ", '<text class="vp-changed" ', 1) if ARROW in text else made


def _supply(temperature: float, pressure: float, units: str) -> str:
    return f"{show(temperature, 'temperature', units)}, {show(pressure, 'pressure', units)}"


def _flow(flow: float, units: str) -> str:
    if abs(flow) < SHUT_FLOW:
        return "no flow"
    return f"{show(flow, 'flow', units)}{' backwards' if flow < 0 else ''}"
