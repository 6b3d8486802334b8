"""The days of a stay as they are played: what is aboard, falling and filling, under the sun.

Each vessel is as full as the engine says at that time; what runs off while somebody waits for
hot water fills a jug of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...trip.hot_runs.plug import Array
from ...trip.play.outcome import NO_WATER, Outcome
from ...trip.play.timeline import clock, track
from ...trip.trip import failures
from ...words.glossary import ICE_POINT
from ...words.show import capital, show
from ...words.unit_table import DAY
from ..style import AMBER, GREEN, GREY, HOT, NIGHT, for_svg
from ..warmth import colour

WIDE, HIGH = 640.0, 226.0
TOP, FOOT, BREADTH = 92.0, 182.0, 84.0
"""Where the vessels stand, and how broad they are."""
SKY_TOP, SKY_FOOT, EDGE = 8.0, 50.0, 12.0
NAME = 22.0
"""Half the room of a day's name."""
SUNRISE, SUNSET = 6.0 * 3600, 21.0 * 3600
SUN = "#f2b531"
FRAMES = 200
"""Instants that are shown; between two of them the picture goes over evenly."""
SECONDS = 8.0
"""s in which a day is played."""
LASTS = 1800.0
"""s for which a use is still told after it began."""


@dataclass(frozen=True)
class Vessel:
    """What one vessel holds at each instant: a share of its height, and how that is told."""

    part: str
    name: str
    share: Array
    told: tuple[str, ...]
    shade: str
    warm: Array | None = None
    limit: float | None = None


def stay_picture(outcome: Outcome, system: str, *, at: float | None = None) -> str:
    """The stay at one time, s from its first midnight: its end if none is said."""
    instants, vessels = _vessels(outcome, system)
    n = len(instants) - 1 if at is None else int(np.abs(instants - at).argmin())
    room = (WIDE - 2 * EDGE) / len(vessels)
    body = [_sky(outcome, float(instants[n]), _fold(len(vessels)))]
    for i, one in enumerate(vessels):
        x = EDGE + room * (i + 0.5)
        body.append(_vessel(one, n, x, room))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {HIGH:.0f}" '
        f'font-family="sans-serif" font-size="14" fill="currentColor" role="img" '
        f'aria-label="{for_svg(_told(outcome))}">{"".join(body)}</svg>'
    )


def stay_scene(outcome: Outcome, system: str) -> dict[str, Any]:
    """The stay from its first midnight to its end, a day in ``SECONDS``."""
    instants, vessels = _vessels(outcome, system)
    tracks: list[dict[str, Any]] = []
    for one in vessels:
        high = np.round(one.share * (FOOT - TOP), 2)
        tracks.append({"part": one.part, "attr": "height", "values": high.tolist()})
        tracks.append({"part": one.part, "attr": "y", "values": (FOOT - high).tolist()})
        tracks.append({"part": f"{one.part}-told", "text": list(one.told)})
        if one.warm is not None:
            tracks.append({"part": one.part, "warm": np.round(one.warm, 2).tolist()})
    sun = [[round(_x(outcome, float(t)), 2), round(_height(float(t)), 2)] for t in instants]
    tracks.append({"part": "sun", "shift": sun})
    day = f"a day in {SECONDS:.0f} s"
    failed = min((f.when for f in failures(outcome)), default=float(instants[-1]))
    return {
        "play": {
            "name": f"stay of {outcome.days:g}",
            "times": np.round(instants / DAY * SECONDS, 3).tolist(),
            "clock": [f"day {int(t // DAY) + 1}, {clock(float(t))}" for t in instants[:-1]]
            + [f"end of day {round(outcome.days)}"],
            "says": _says(outcome, instants, system),
            "still": failed / DAY * SECONDS,
        },
        "tracks": tracks,
        "paces": [[1, day], [4, "a day in 2 s"], [0.2, "a day in 40 s"]],
        "folds": [_fold(len(vessels))],
    }


def _vessels(outcome: Outcome, system: str) -> tuple[Array, list[Vessel]]:
    """What stands in the picture, with what each holds at every instant."""
    kept, plant = track(outcome), outcome.plant
    times = kept["time"]
    instants = np.linspace(0.0, outcome.days * DAY, FRAMES)
    place = np.clip(np.searchsorted(times, instants, side="right") - 1, 0, len(times) - 1)

    def told(values: Array, word: str) -> tuple[str, ...]:
        return tuple(show(float(v), word, system) for v in values)

    most = max(float(kept["fresh"].max()), 1e-6)
    found = []
    shown = [n for n, tank in enumerate(plant.tanks) if not tank.shore]
    for place_of, n in enumerate(shown):
        fresh = kept["tanks"][place, n]
        high = max(float(kept["tanks"][:, n].max()), 1e-6)
        name = "fresh" if len(shown) == 1 else plant.tanks[n].name
        words = told(fresh, "volume")
        part = _part("fresh", place_of)
        found.append(Vessel(part, name, fresh / high, words, colour(plant.cold)))
    for place_of, n in enumerate(plant.stores):
        top = kept["tops"][place, n]
        full = np.ones_like(top)
        warm = top - ICE_POINT
        name = "hot" if len(plant.stores) == 1 else plant.heaters[n].name
        words = told(top, "temperature")
        part = _part("store", place_of)
        found.append(Vessel(part, name, full, words, colour(top[-1]), warm))
    run_off = _run_off(outcome, instants)
    if run_off[-1] > 0:
        words = told(run_off, "volume")
        found.append(Vessel("run-off", "run off, waiting", run_off / most, words, colour(290.0)))
    if np.isfinite(plant.grey):
        grey = kept["grey"][place]
        share = np.minimum(grey / plant.grey, 1.0) if plant.grey > 0 else np.zeros_like(grey)
        found.append(Vessel("grey", "grey", share, told(grey, "volume"), GREY))
    if plant.battery is not None:
        share = kept["charge"][place] / plant.battery.full
        words = tuple(show(float(s), "share", system) for s in share)
        least = plant.battery.empty / plant.battery.full
        found.append(Vessel("battery", "battery", share, words, GREEN, limit=least))
    return instants, found


def _run_off(outcome: Outcome, instants: Array) -> Array:
    """m³ that have run off while somebody waited, by each instant."""
    start, wasted = outcome.start[0], outcome.wasted[0]
    done = np.isfinite(start)
    order = np.argsort(start[done], kind="stable")
    sums = np.concatenate([[0.0], np.cumsum(wasted[done][order])])
    return np.asarray(sums[np.searchsorted(start[done][order], instants, side="right")])


def _says(outcome: Outcome, instants: Array, system: str) -> list[str]:
    """What is going on at each instant: the use that began last, and what has failed by then."""
    found = sorted(failures(outcome), key=lambda f: f.when)
    start, uses = outcome.start[0], outcome.plant.uses
    texts = []
    for t in instants:
        failed = [str(f) for f in found if f.when <= t]
        said = f"{capital(failed[-1])}." if failed else "Nothing has failed yet."
        going = np.flatnonzero((start <= t) & (start > t - LASTS) & (outcome.state[0] > 0))
        if len(going):
            n = int(going[-1])
            use, warmth = uses[int(outcome.draws.use[0, n])], float(outcome.warmth[0, n])
            warm = use.wanted is not None and math.isfinite(warmth)
            how = f", {show(warmth, 'temperature', system)}" if warm else ""
            if int(outcome.state[0, n]) >= NO_WATER:
                how = ", gets nothing"
            said += f" Now: {use.name}{how}."
        texts.append(said)
    return texts


def _told(outcome: Outcome) -> str:
    found = failures(outcome)
    return f"The stay as it is played. First: {found[0]}" if found else "The stay as it is played."


def _x(outcome: Outcome, t: float) -> float:
    return EDGE + (WIDE - 2 * EDGE) * t / (outcome.days * DAY)


def _height(t: float) -> float:
    """Of the sun over the strip, below its foot at night."""
    part = (t % DAY - SUNRISE) / (SUNSET - SUNRISE)
    up = math.sin(math.pi * part) if 0 <= part <= 1 else -0.35
    return SKY_FOOT - 7 - (SKY_FOOT - SKY_TOP - 16) * max(up, 0.0)


def _fold(count: int) -> float:
    """Where a narrow page may fold the picture of so many vessels."""
    return EDGE + (WIDE - 2 * EDGE) / count * math.ceil(count / 2)


def _sky(outcome: Outcome, now: float, fold: float) -> str:
    """Days and nights from left to right, what fails in them, and the sun where it stands.

    The name of a day stands clear of the ``fold``.
    """

    def named_at(day: int) -> float:
        x = _x(outcome, (day + 0.5) * DAY)
        return fold - NAME if abs(x - fold) < NAME else x

    days = round(outcome.days)
    left, right = EDGE, WIDE - EDGE
    edges = [(0.0, SUNRISE)]
    edges += [(d * DAY + SUNSET, (d + 1) * DAY + SUNRISE) for d in range(days - 1)]
    edges.append(((days - 1) * DAY + SUNSET, days * DAY))
    spans = [(_x(outcome, a), _x(outcome, b)) for a, b in edges]
    nights = "".join(
        f'<rect x="{a:.1f}" y="{SKY_TOP}" width="{b - a:.1f}" height="{SKY_FOOT - SKY_TOP}" '
        f'fill="{NIGHT}" opacity="0.4"/>'
        for a, b in spans
    )
    names = "".join(
        f'<g class="vp-part" data-box="{named_at(d) - 1:.0f} {SKY_TOP} '
        f'{named_at(d) + 1:.0f} {SKY_FOOT + 18}">'
        f'<text x="{named_at(d):.1f}" y="{SKY_FOOT + 15}" '
        f'text-anchor="middle">{f"day {d + 1}" if days < 8 else d + 1}</text></g>'
        for d in range(days)
    )
    flags = "".join(
        f'<path d="M{_x(outcome, f.when):.1f} {SKY_TOP - 4}V{SKY_FOOT}" stroke="{HOT}" '
        f'stroke-width="2"><title>{for_svg(f)}</title></path>'
        for f in failures(outcome)
    )
    return (
        f'<rect x="{left}" y="{SKY_TOP}" width="{right - left}" height="{SKY_FOOT - SKY_TOP}" '
        f'fill="{SUN}" opacity="0.18"/>{nights}{flags}{names}'
        f'<g data-part="sun" transform="translate({_x(outcome, now):.1f} {_height(now):.1f})">'
        f'<circle r="7" fill="{SUN}" stroke="{AMBER}" stroke-width="1.5"/></g>'
    )


def _vessel(one: Vessel, n: int, x: float, room: float) -> str:
    """An open vessel with what it holds, its name, and the figure."""
    high = float(one.share[n]) * (FOOT - TOP)
    left, right = x - BREADTH / 2, x + BREADTH / 2
    limit = ""
    if one.limit is not None:
        y = FOOT - one.limit * (FOOT - TOP)
        limit = f'<path d="M{left} {y:.1f}H{right}" stroke="{AMBER}" stroke-dasharray="4 3"/>'
    outline = _outline(one.part, left, right)
    return (
        f'<g class="vp-part" data-box="{x - room / 2 + 1:.1f} {TOP - 12} '
        f'{x + room / 2 - 1:.1f} {HIGH}">'
        f'<rect data-part="{one.part}" x="{left + 2}" width="{BREADTH - 4}" '
        f'y="{FOOT - high:.1f}" height="{high:.1f}" fill="{one.shade}" opacity="0.85"/>{limit}'
        f'<path d="{outline}" fill="none" stroke="currentColor" stroke-width="2"/>'
        f'<text x="{x}" y="{FOOT + 18}" text-anchor="middle">{for_svg(one.name)}</text>'
        f'<text x="{x}" y="{FOOT + 37}" text-anchor="middle" font-weight="600" font-size="17" '
        f'data-part="{one.part}-told">{for_svg(one.told[n])}</text></g>'
    )


def _part(kind: str, place: int) -> str:
    """The mark of one vessel: the first of a kind bears the kind's own."""
    return f"{kind}-{place + 1}" if place else kind


def _outline(part: str, left: float, right: float) -> str:
    """The shape that a vessel is known by."""
    foot, middle = FOOT + 1, (left + right) / 2
    if part.startswith("store"):
        over = f"Q{left} {TOP - 6} {middle} {TOP - 6}Q{right} {TOP - 6} {right} {TOP + 8}"
        return f"M{left} {TOP + 8}{over}V{foot}H{left}Z"
    if part == "battery":
        poles = f"M{left + 12} {TOP}v-8h14v8M{right - 26} {TOP}v-8h14v8"
        return f"M{left} {TOP}H{right}V{foot}H{left}Z{poles}"
    if part == "run-off":
        handle = f"M{right} {TOP + 16}h14v44h-14"
        return f"M{left - 6} {TOP}L{left} {TOP + 8}V{foot}H{right}V{TOP}{handle}"
    return f"M{left} {TOP - 6}V{foot}H{right}V{TOP - 6}"
