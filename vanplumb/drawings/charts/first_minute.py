"""The first minute at a hot tap: a warm front travels the tube, the cold run-off fills a jug.

The water is drawn at its speed and the front at its own, which is slower: the wall of the tube
takes up heat as the front passes, so water arrives cooled and the dashes outrun the warmth.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ...words.glossary import ICE_POINT
from ...words.show import show
from ..dashes import DASH, Points, path
from ..style import GREY, for_svg
from ..warmth import WIDE as LEGEND
from ..warmth import colour, legend

WIDE, HIGH, ROOM = 640.0, 214.0, 42.0
LEVEL, START, TURN, SPOUT = 60.0, 92.0, 506.0, 100.0
"""Height of the tube, where it begins, where it turns down, and where it ends."""
JUG = (462.0, 124.0, 550.0, 200.0)
"""Left, top, right and foot of the jug."""
BORE = 22.0
ON = 1.3
"""How long it is shown, over the wait."""
FRAMES = 90
FULL = 0.86
"""How high the jug is filled by what runs off."""
FOLD = 312.0


@dataclass(frozen=True)
class FirstMinute:
    """A run that has gone cold, SI: ``content`` m³ in ``length`` m, ``flow`` at the tap.

    ``wait`` is how long hot water takes to come, ``wasted`` what runs off by then; ``hot`` and
    ``cold`` K in the heater and in the tube.
    """

    length: float
    content: float
    flow: float
    wait: float
    wasted: float
    hot: float
    cold: float


def minute_picture(minute: FirstMinute, units: str, *, at: float = 0.5) -> str:
    """The run when the share ``at`` of the wait has gone by: half of it if not said."""
    way, done = _way(), min(max(at, 0.0), 1.0)
    left, top, right, foot = JUG
    high = FULL * (foot - top) * done
    warm = minute.hot if done >= 1.0 else minute.cold
    heater = show(minute.hot, "temperature", units)
    run = f"{show(minute.length, 'length', units)} of tube holds "
    run += show(minute.content, "volume_small", units)
    flow = show(minute.flow, "flow", units)
    body = (
        f'<path d="{path(way)}" fill="none" stroke="{GREY}" stroke-width="{BORE + 6:g}" '
        'stroke-linejoin="round" opacity="0.35"/>'
        f'<path d="{path(way)}" fill="none" stroke="{colour(minute.cold)}" '
        f'stroke-width="{BORE:g}" stroke-linejoin="round"/>'
        f'<path d="{path(_part(way, done))}" fill="none" stroke="{colour(minute.hot)}" '
        f'stroke-width="{BORE:g}" stroke-linejoin="round"/>'
        f'<path data-part="stream" d="M{TURN:g} {SPOUT:g}V{foot - 4:g}" '
        f'stroke="{colour(warm)}" stroke-width="7" opacity="0.8"/>'
        f'<rect data-part="jug" x="{left + 2:g}" width="{right - left - 4:g}" '
        f'y="{foot - high:.1f}" height="{high:.1f}" fill="{colour(minute.cold)}" opacity="0.85"/>'
        f'<path d="M{left - 7:g} {top:g}L{left:g} {top + 9:g}V{foot:g}H{right:g}V{top:g}'
        f'M{right:g} {top + 14:g}h15v42h-15" fill="none" stroke="currentColor" stroke-width="2"/>'
        f'<g class="vp-part" data-box="0 0 {FOLD - 2:g} {HIGH:g}">'
        f'<rect x="12" y="{LEVEL - 42:g}" width="80" height="84" rx="8" '
        f'fill="{colour(minute.hot)}" fill-opacity="0.25" stroke="currentColor" '
        f'stroke-width="2"/><text x="52" y="{LEVEL - 4:g}" text-anchor="middle">heater</text>'
        f'<text x="52" y="{LEVEL + 18:g}" text-anchor="middle" font-weight="600" font-size="17">'
        f'{for_svg(heater)}</text><text x="106" y="{LEVEL + 40:g}">{for_svg(run)}</text>'
        f'<text x="106" y="{LEVEL + 60:g}">at {for_svg(flow)}</text></g>'
        f'<g class="vp-part" data-box="{FOLD + 2:g} 0 {WIDE:g} {HIGH:g}">'
        f'<text x="{WIDE - 10:g}" y="20" text-anchor="end">at the tap</text>'
        f'<text data-part="tap" x="{WIDE - 10:g}" y="48" text-anchor="end" font-weight="600" '
        f'font-size="24">{for_svg(show(warm, "temperature", units))}</text>'
        f'<text x="{left - 16:g}" y="{foot - 26:g}" text-anchor="end">in the jug</text>'
        f'<text data-part="jug-told" x="{left - 16:g}" y="{foot - 6:g}" text-anchor="end" '
        f'font-weight="600" font-size="17">'
        f"{for_svg(show(minute.wasted * done, 'volume_small', units))}</text></g>"
        f'<g class="vp-legend" font-size="12" '
        f'transform="translate({(WIDE - LEGEND) / 2:.1f} {HIGH + 6:.1f})">'
        f"{legend(units, 'vp-warmth')}</g>"
    )
    told = f"Hot water comes after {show(minute.wait, 'duration', units)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH + ROOM:g}" '
        f'font-family="sans-serif" font-size="14" fill="currentColor" role="img" '
        f'aria-label="{for_svg(told)}">{body}</svg>'
    )


def minute_scene(minute: FirstMinute, units: str) -> dict[str, Any]:
    """The wait in real time, and a little longer."""
    times = [minute.wait * ON * n / (FRAMES - 1) for n in range(FRAMES)]
    done = [min(t / minute.wait, 1.0) if minute.wait > 0 else 1.0 for t in times]
    _, top, _, foot = JUG
    high = [round(FULL * (foot - top) * share, 2) for share in done]
    here = [minute.hot if share >= 1.0 else minute.cold for share in done]
    gap, called = DASH[units]
    flow = {
        "length": minute.length,
        "speed": minute.flow / (minute.content / minute.length),
        "gap": gap / (minute.content / minute.length),
        "wide": 10.0,
    }
    way = [[round(x, 1), round(y, 1)] for x, y in _way()]
    waiting = "Cold water runs off: the warm front is on its way, behind the dashes of water."
    come = f"Hot water has come, after {show(minute.wait, 'duration', units)}."
    return {
        "flows": [{**flow, "key": "run", "points": way}],
        "tubes": [
            {
                "points": way,
                "wide": BORE,
                "front": [round(share, 4) for share in done],
                "warm": minute.hot - ICE_POINT,
                "cool": minute.cold - ICE_POINT,
            }
        ],
        "tracks": [
            {"part": "jug", "attr": "height", "values": high},
            {"part": "jug", "attr": "y", "values": [round(foot - h, 2) for h in high]},
            {
                "part": "jug-told",
                "text": [show(minute.wasted * s, "volume_small", units) for s in done],
            },
            {"part": "tap", "text": [show(t, "temperature", units) for t in here]},
            {"part": "stream", "attr": "stroke", "warm": [t - ICE_POINT for t in here]},
        ],
        "play": {
            "name": f"{minute.wait:.3f} s",
            "times": [round(t, 4) for t in times],
            "clock": [f"{t:.0f} s" for t in times],
            "says": [come if share >= 1.0 else waiting for share in done],
            "still": minute.wait / 2,
        },
        "dash": f"Each dash is {called} of water and takes as long through the tube as the water",
        "folds": [FOLD],
    }


def _way() -> Points:
    """From the heater to the spout."""
    return [(START, LEVEL), (TURN, LEVEL), (TURN, SPOUT)]


def _part(points: Points, share: float) -> Points:
    """The first part of a way."""
    ends = [abs(u - x) + abs(v - y) for (x, y), (u, v) in pairwise(points)]
    left = share * sum(ends)
    found = [points[0]]
    for (x, y), (u, v), long in zip(points, points[1:], ends, strict=False):
        part = min(left / long, 1.0)
        found.append((x + (u - x) * part, y + (v - y) * part))
        left -= long * part
        if part < 1.0:
            break
    return found
