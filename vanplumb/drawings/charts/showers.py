"""A heater and its row of showers as they run: what is hot in the store, and what the tap gives.

The engine's layers are shown as hot water over cold: as much at the temperature of the top as
holds the heat of the whole store.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ...trip.hot_runs.plug import Array
from ...trip.play.session import Session
from ...words.glossary import ICE_POINT
from ...words.show import show
from ..style import AMBER, GREY, for_svg
from ..warmth import WIDE as LEGEND
from ..warmth import colour, legend

WIDE, HIGH, ROOM = 640.0, 222.0, 42.0
LEFT, RIGHT, TOP, FOOT = 44.0, 174.0, 44.0, 176.0
"""The store."""
HEAD, SPRAY, FLOOR = 400.0, 66.0, 176.0
"""Middle and lower edge of the shower's head, and where the water falls."""
FOLD = 300.0
FRAMES, INSIDE = 140, 8
"""Instants over the whole session, and in each shower besides."""
SECONDS = 24.0
"""s in which the whole session is played."""


def showers_picture(found: Session, units: str, *, at: float | None = None) -> str:
    """The session at one time, s from switching on: the end of the last shower if not said."""
    end = found.showers[-1].end if found.showers else float(found.time[-1])
    when = end if at is None else at
    now = _at(found, np.array([when]))
    told = {key: texts[0] for key, texts in _told(found, units, np.array([when])).items()}
    top, outlet = float(now["top"][0]), float(now["outlet"][0])
    hot = float(_hot_share(found, now)[0]) * (FOOT - TOP)
    runs = _running(found, when) is not None
    marks = "".join(_mark(found, n, when) for n in range(len(found.showers)))
    store = (
        f'<clipPath id="vp-store"><rect x="{LEFT:g}" width="{RIGHT - LEFT:g}" y="{TOP:g}" '
        f'height="{FOOT - TOP:g}" rx="10"/></clipPath><g clip-path="url(#vp-store)">'
        f'<rect x="{LEFT:g}" width="{RIGHT - LEFT:g}" y="{TOP:g}" height="{FOOT - TOP:g}" '
        f'fill="{colour(found.cold)}"/><rect data-part="hot" x="{LEFT:g}" '
        f'width="{RIGHT - LEFT:g}" y="{TOP:g}" height="{hot:.1f}" fill="{colour(top)}"/></g>'
    )
    name, figure = "top of the store", told["top"]
    if found.heater.flow_through:
        store, name, figure = "", "heater", "flow-through"
    stream = "".join(
        f"M{HEAD + 9 * k:g} {SPRAY + 4:g}L{HEAD + 15 * k:g} {FLOOR:g}" for k in (-2, -1, 0, 1, 2)
    )
    body = (
        f'{store}<rect x="{LEFT:g}" width="{RIGHT - LEFT:g}" y="{TOP:g}" '
        f'height="{FOOT - TOP:g}" rx="10" fill="none" stroke="currentColor" stroke-width="2.5"/>'
        f'<path d="M{RIGHT:g} {TOP + 12:g}H230V30H{HEAD:g}V{SPRAY - 12:g}" fill="none" '
        f'stroke="{GREY}" stroke-width="7" stroke-linejoin="round"/>'
        f'<path data-part="spray" d="{stream}" fill="none" stroke-width="3" '
        f'stroke="{colour(outlet if runs else found.cold)}" opacity="{1 if runs else 0}"/>'
        f'<path d="M{HEAD - 30:g} {SPRAY:g}Q{HEAD:g} {SPRAY - 26:g} {HEAD + 30:g} {SPRAY:g}Z" '
        f'fill="currentColor"/>'
        f'<g class="vp-part" data-box="0 0 {FOLD - 2:g} {HIGH:g}">'
        f'<text x="{LEFT:g}" y="{FOOT + 20:g}">{name}</text>'
        f'<text data-part="top" x="{LEFT:g}" y="{FOOT + 40:g}" font-weight="600" '
        f'font-size="17">{for_svg(figure)}</text></g>'
        f'<g class="vp-part" data-box="{FOLD + 2:g} 0 {WIDE:g} {HIGH:g}">'
        f'<text x="{WIDE - 12:g}" y="40" text-anchor="end">at the shower</text>'
        f'<text data-part="tap" x="{WIDE - 12:g}" y="68" text-anchor="end" font-weight="600" '
        f'font-size="24">{for_svg(told["tap"])}</text>'
        f'<text x="{WIDE - 12:g}" y="90" text-anchor="end">wanted '
        f"{for_svg(show(found.wanted, 'temperature', units))}</text>{marks}</g>"
        f'<g class="vp-legend" font-size="12" '
        f'transform="translate({(WIDE - LEGEND) / 2:.1f} {HIGH + 6:.1f})">'
        f"{legend(units, 'vp-warmth')}</g>"
    )
    words = f"{found.warm} of {len(found.showers)} showers are warm"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH + ROOM:g}" '
        f'font-family="sans-serif" font-size="14" fill="currentColor" role="img" '
        f'aria-label="{for_svg(words)}">{body}</svg>'
    )


def showers_scene(found: Session, units: str) -> dict[str, Any]:
    """From switching on to the end, in ``SECONDS``."""
    instants = _instants(found)
    now, told = _at(found, instants), _told(found, units, instants)
    hot = np.round(_hot_share(found, now) * (FOOT - TOP), 2).tolist()
    runs = [_running(found, float(t)) is not None for t in instants]
    outlet = np.where(np.isfinite(now["outlet"]), now["outlet"], found.cold) - ICE_POINT
    tracks: list[dict[str, Any]] = [
        {"part": "spray", "attr": "stroke", "warm": np.round(outlet, 2).tolist()},
        {"part": "spray", "attr": "opacity", "values": [float(on) for on in runs]},
        {"part": "tap", "text": told["tap"]},
    ]
    if not found.heater.flow_through:
        warm = np.round(now["top"] - ICE_POINT, 2).tolist()
        tracks += [
            {"part": "hot", "attr": "height", "values": hot},
            {"part": "hot", "warm": warm},
            {"part": "top", "text": told["top"]},
        ]
    for n, shower in enumerate(found.showers):
        seen = [1.0 if t >= shower.end - 1e-6 else 0.0 for t in instants]
        tracks.append({"part": f"shower-{n}", "attr": "opacity", "values": seen})
    span = float(found.time[-1]) or 1.0
    end = found.showers[-1].end if found.showers else span
    note = "The store is drawn as hot over cold, with the heat that it holds"
    return {
        "tracks": tracks,
        "play": {
            "name": f"session of {span:.0f} s",
            "times": np.round(instants / span * SECONDS, 4).tolist(),
            "clock": [_clock(float(t)) for t in instants],
            "says": told["says"],
            "still": end / span * SECONDS,
        },
        "paces": [[1, "all of it in 24 s"], [4, "in 6 s"], [0.2, "in 2 min"]],
        "dash": "" if found.heater.flow_through else note,
        "folds": [FOLD],
    }


def _instants(found: Session) -> Array:
    """Even steps through the session, and more while a shower runs; in order, each once."""
    every = [np.linspace(0.0, float(found.time[-1]) or 1.0, FRAMES)]
    for one in found.showers:
        every.append(np.linspace(one.start, one.end, INSIDE))
        every.append(np.array([one.start - 1.0, one.end + 1.0]))
    joined = np.unique(np.concatenate(every))
    return np.asarray(joined[(joined >= 0) & (joined <= found.time[-1])])


def _at(found: Session, instants: Array) -> dict[str, Array]:
    """What was kept last before each instant."""
    last = np.searchsorted(found.time, instants, side="right") - 1
    place = np.clip(last, 0, len(found.time) - 1)
    return {name: getattr(found, name)[place] for name in ("top", "mean", "outlet")}


def _hot_share(found: Session, now: dict[str, Array]) -> Array:
    """The share of the store that would hold all its heat at the temperature of its top."""
    over = np.maximum(now["top"] - found.cold, 1e-9)
    share = np.clip((now["mean"] - found.cold) / over, 0.0, 1.0)
    return np.asarray(np.where(now["top"] - found.cold > 0.1, share, 0.0))


def _running(found: Session, t: float) -> int | None:
    """The number of the shower that runs, from 0."""
    for n, one in enumerate(found.showers):
        if one.start <= t <= one.end:
            return n
    return None


def _told(found: Session, units: str, instants: Array) -> dict[str, list[str]]:
    """Figures and a sentence for each instant."""
    now = _at(found, instants)
    count, last = len(found.showers), found.showers[-1].end if found.showers else 0.0
    texts: dict[str, list[str]] = {"top": [], "tap": [], "says": []}
    for t, top, outlet in zip(instants, now["top"], now["outlet"], strict=True):
        n = _running(found, float(t))
        here = show(float(outlet), "temperature", units) if np.isfinite(outlet) else ""
        texts["top"].append(show(float(top), "temperature", units))
        texts["tap"].append(here if n is not None and here else "shut")
        if n is not None:
            luke = found.showers[n].lukewarm
            said = f"Shower {n + 1} of {count} runs{', lukewarm on the whole' if luke else ''}."
        elif found.heat_time and t < found.heat_time:
            said = "The heater warms the store from cold."
        elif t > last and found.recovered and t - last < found.recovered:
            said = "The last shower is over; the heater makes the store hot again."
        elif t > last:
            said = f"{found.warm} of {count} showers were warm."
        else:
            said = "Between two showers." if t > found.showers[0].start else "Hot."
        texts["says"].append(said)
    return texts


def _mark(found: Session, n: int, when: float) -> str:
    """One shower of the row: an empty ring that is filled with its warmth when it is over."""
    one, x = found.showers[n], WIDE - 24 - 27.0 * (len(found.showers) - 1 - n)
    ring = AMBER if one.lukewarm else "currentColor"
    return (
        f'<circle cx="{x:g}" cy="140" r="10" fill="none" stroke="{GREY}" stroke-width="1.5"/>'
        f'<g data-part="shower-{n}" opacity="{1 if when >= one.end - 1e-6 else 0}">'
        f'<circle cx="{x:g}" cy="140" r="10" fill="{colour(one.warmth)}" stroke="{ring}" '
        f'stroke-width="2.5"/></g><text x="{x:g}" y="170" text-anchor="middle">{n + 1}</text>'
    )


def _clock(t: float) -> str:
    minutes, seconds = divmod(round(t), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min {seconds:02d} s"
