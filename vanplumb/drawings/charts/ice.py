"""A run in a cold night, cut open: it whitens from its ends, and ice grows inwards from the wall.

The engine tells one temperature and one share of ice for the run between its ends, and another
for the bare metal fittings that it ends in, which freeze first.  At both places the liquid core
has the share of the section that is still water.  How far in from the ends the fittings are felt
is drawn, not worked out: in truth it is a hand's breadth in copper and less in plastic.  Both ends
whiten alike, since a run lies in one place: which of its ends is the colder one, nobody has said.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np

from ...trip.cold.frost import BLOCKED, DUSK
from ...trip.cold.night import PLACES, ColdNight
from ...trip.hot_runs.plug import Array
from ...trip.play.timeline import clock
from ...words.glossary import ICE_POINT
from ...words.show import show
from ...words.tables import table
from ...words.unit_table import DAY
from ..style import GREY, for_svg
from ..warmth import colour

WIDE, HIGH = 640.0, 232.0
MIDDLE = 118.0
"""Height of the tube's axis."""
ALONG = (16.0, 318.0)
ACROSS = 436.0
"""Ends of the run that is cut lengthwise, and the middle of its section."""
ROOM = 78.0
"""What foam and tube may take, from the axis outwards."""
FOLD = 334.0
ICE, FOAM = "#d9ecf9", "#d8b878"
FRAMES = 180
SLICES, REACH = 14, 0.16
"""Slices from an end to the middle, and the part of the run in which an end is felt (to 1/e)."""
SECONDS = 0.6
"""s in which an hour goes by."""


def ice_picture(found: ColdNight, units: str, *, at: float | None = None) -> str:
    """The run at one time, s after dusk: when there is most ice if none is said."""
    instants, ice, water = _night(found)
    n = int(ice.argmax()) if at is None else int(np.abs(instants - at).argmin())
    foam, wall, bore = _radii(found)
    left, right = ALONG
    cores = _cores(found, bore)
    core = bore * sqrt(max(1.0 - float(ice[n]), 0.0))
    shade = colour(float(water[n]))
    rings = (
        (foam, FOAM, "foam"),
        (wall, GREY, "tube"),
        (bore, ICE, "ice"),
    )
    lengths = "".join(
        f'<rect x="{left:g}" width="{right - left:g}" y="{MIDDLE - r:.1f}" height="{2 * r:.1f}" '
        f'fill="{fill}" stroke="currentColor" stroke-width="0.8"/>'
        for r, fill, _ in rings
    )
    circles = "".join(
        f'<circle cx="{ACROSS:g}" cy="{MIDDLE:g}" r="{r:.1f}" fill="{fill}" '
        f'stroke="currentColor" stroke-width="0.8"><title>{name}</title></circle>'
        for r, fill, name in rings
    )
    foamed = found.insulation > 0
    thick = show(found.insulation, "length", units)
    lagged = f", {thick} of foam" if foamed else ", no foam"
    told = _told(found, units, n)
    figures = "".join(
        f'<text x="{WIDE - 8:g}" y="{y:g}" text-anchor="end">{name}</text>'
        f'<text data-part="{part}" x="{WIDE - 8:g}" y="{y + 22:g}" text-anchor="end" '
        f'font-weight="600" font-size="19">{for_svg(told[part])}</text>'
        for name, part, y in (
            ("air", "air", 50.0),
            ("in the run", "in", 108.0),
            ("ice", "ice", 166.0),
        )
    )
    body = (
        f'{lengths}<g data-part="core" shape-rendering="crispEdges" fill="{shade}">'
        f"{_slices(cores[:, n])}</g>"
        f'{circles}<circle data-part="middle" cx="{ACROSS:g}" cy="{MIDDLE:g}" r="{core:.1f}" '
        f'fill="{shade}"/>'
        f'<g class="vp-part" data-box="0 0 {FOLD - 2:g} {HIGH:g}">'
        f'<text x="{left:g}" y="18">{for_svg(found.tube + lagged)}</text>'
        f'<text x="{left:g}" y="{HIGH - 10:g}">{for_svg(PLACES[found.place])}</text></g>'
        f'<g class="vp-part" data-box="{FOLD + 2:g} 0 {WIDE:g} {HIGH:g}">{figures}</g>'
    )
    words = f"The run at its worst: {told['ice']} ice"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" '
        f'font-family="sans-serif" font-size="14" fill="currentColor" role="img" '
        f'aria-label="{for_svg(words)}">{body}</svg>'
    )


def ice_scene(found: ColdNight, units: str) -> dict[str, Any]:
    """The night from dusk to dusk, an hour in ``SECONDS``."""
    instants, ice, water = _night(found)
    _, _, bore = _radii(found)
    cores = np.round(_cores(found, bore), 1)
    middle = np.round(bore * np.sqrt(np.maximum(1.0 - ice, 0.0)), 2)
    warm = np.round(water - ICE_POINT, 2).tolist()
    told = [_told(found, units, n) for n in range(FRAMES)]
    return {
        "tracks": [
            *(
                {"part": f"slice-{k}", "attr": attr, "values": values.tolist()}
                for k, core in enumerate(cores)
                for attr, values in (("height", 2 * core), ("y", MIDDLE - core))
            ),
            {"part": "middle", "attr": "r", "values": middle.tolist()},
            *({"part": part, "warm": warm} for part in ("core", "middle")),
            *({"part": p, "text": [one[p] for one in told]} for p in ("air", "in", "ice")),
        ],
        "play": {
            "name": "night",
            "times": np.round(instants / 3600 * SECONDS, 3).tolist(),
            "clock": [clock(float((t + DUSK) % DAY)) for t in instants],
            "says": _says(found),
            "still": float(instants[int(ice.argmax())] / 3600 * SECONDS),
        },
        "paces": [[1, "an hour in 0.6 s"], [4, "4 times faster"], [0.25, "4 times slower"]],
        "dash": "The run's middle and the bare metal fittings at its ends are worked out, both "
        "ends in the run's own air; how far in from the ends they are felt is only drawn",
        "folds": [FOLD],
    }


def _night(found: ColdNight, *, ends: bool = False) -> tuple[Array, Array, Array]:
    """Instants after dusk, s, with the share of ice and the temperature there, K."""
    night = found.ends if ends else found.night
    since = night.hours - DUSK
    place = np.linspace(0, len(since) - 1, FRAMES).round().astype(int)
    return since[place], night.ice[place], night.temperature[place]


def _cores(found: ColdNight, bore: float) -> Array:
    """Radius of what is still water: slices from the ends to the middle by instants."""
    _, ice, _ = _night(found)
    _, ends, _ = _night(found, ends=True)
    way = (np.arange(SLICES) + 0.5) / SLICES / 2
    felt = np.exp(-way / REACH)[:, None]
    share = ice + felt * np.maximum(ends - ice, 0.0)
    return np.asarray(bore * np.sqrt(np.clip(1.0 - share, 0.0, 1.0)))


def _slices(cores: Array) -> str:
    """The liquid core, slice by slice from both ends."""
    left, right = ALONG
    wide = (right - left) / SLICES / 2
    return "".join(
        f'<rect data-part="slice-{k}" x="{x:.2f}" width="{wide + 0.3:.2f}" '
        f'y="{MIDDLE - core:.1f}" height="{2 * core:.1f}"/>'
        for k, core in enumerate(cores)
        for x in (left + k * wide, right - (k + 1) * wide - 0.3)
    )


def _radii(found: ColdNight) -> tuple[float, float, float]:
    """Of foam, tube and bore in the drawing, true to one another where there is room."""
    row = table("tubes")[found.tube]
    outside, bore = row.number("od") / 2, row.number("bore") / 2
    scale = min(ROOM / (outside + found.insulation), 42.0 / outside)
    if bore * scale < 15.0:  # thick foam is drawn thinner than it is, so that the ice is seen
        scale = 15.0 / bore
    return min((outside + found.insulation) * scale, ROOM), outside * scale, bore * scale


def _told(found: ColdNight, units: str, n: int) -> dict[str, str]:
    night = found.night
    place = round((len(night.hours) - 1) * n / (FRAMES - 1))
    ice = float(night.ice[place])
    held = show(float(night.temperature[place]), "temperature", units)
    return {
        "air": show(float(night.air[place]), "temperature", units),
        "in": "all ice" if ice >= 1.0 else held,
        "ice": show(ice, "share", units),
    }


def _says(found: ColdNight) -> list[str]:
    """What has come of the run by each instant."""
    _, ice, _ = _night(found)
    _, at_ends, _ = _night(found, ends=True)
    first = found.ends.clock_freezing
    blocked, freezing = found.night.clock_blocked, found.night.clock_freezing
    texts, was = [], False
    for share, end in zip(ice.tolist(), at_ends.tolist(), strict=True):
        was = was or share >= BLOCKED
        if share >= BLOCKED and blocked is not None:
            texts.append(f"Blocked by ice since {clock(blocked)}.")
        elif share > 0 and was:
            texts.append("It thaws; look for leaks before it is used.")
        elif share > 0 and freezing is not None:
            texts.append(f"Ice grows from the wall since {clock(freezing)}.")
        elif end > 0 and not was and first is not None:
            texts.append(f"The bare metal at its ends freezes first, since {clock(first)}.")
        else:
            texts.append("Thawed; look for leaks before it is used." if was else "No ice.")
    return texts
