"""What was measured at the finished van, beside what was computed, on paper."""

from __future__ import annotations

from ..shop.readings.fit import Estimate, Fitted
from ..shop.readings.measured import Compared, Judged
from ..shop.readings.suspects import Diagnosis
from ..shop.readings.van_model import reading_parts
from ..words.hazards import SCALD
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import show

SHOWN = 6
"""Causes that are listed."""


def verdict_of(judged: Judged) -> str:
    """One sentence."""
    found = judged.diagnosis
    if found is None:
        return "no reading yet"
    if found.verdict == "fits":
        return "the readings fit a sound van"
    if found.verdict == "nothing fits":
        return "no single cause explains these readings: measure the odd ones again"
    if found.verdict == "likely":
        return f"likely: {found.first.cause.name}"
    return f"can't tell between {len(found.alike)} causes"


def measured_chapter(judged: Judged, units: str) -> Chapter:
    """Readings, causes in order, and what was fitted."""
    answers = [Answer("verdict", verdict_of(judged))]
    grids = [_readings(judged)]
    found = judged.diagnosis
    if found is not None and found.verdict not in ("fits",):
        grids.append(_causes(found))
        answers += [Answer("first", r.cause.name, note=r.cause.look) for r in found.alike[:1]]
    if judged.fitted is not None:
        grids.append(_fitted(judged.fitted, units))
    return Chapter(
        "measured",
        "Measured against computed",
        basis=(
            "Each outlet by itself, everything else shut; the pump's own pressure and current.",
            "What differs between sound vans (fittings, pump, taps, heater) is averaged out.",
            "One cause at a time; a cause that would explain anything is worth less.",
        ),
        answers=tuple(answers),
        grids=tuple(grids),
        cautions=(
            SCALD.caution("Keep hands out of it while it is measured."),
            Caution("NOTICE", "Look before you take apart: the first in the list costs least."),
        ),
        not_computed=("two things wrong at once", "kinks that only hot or moved tube has"),
    )


def _readings(judged: Judged) -> Grid:
    """Each reading beside what was computed, and how far apart."""
    system = judged.van.build.van.units

    def seen(one: Compared) -> str:
        return "not read" if one.measured is None else show(one.measured, one.word, system)

    def apart(one: Compared) -> str:
        return "–" if one.apart is None else f"{one.apart:+.1f}".replace("-", "−")

    return grid(
        "Readings",
        judged.compared,
        {
            "outlet": lambda one: reading_parts(one.name)[0],
            "reading": lambda one: reading_parts(one.name)[1],
            "computed": (lambda one: show(one.computed, one.word, system), RIGHT),
            "measured": (seen, RIGHT),
            "apart": (apart, RIGHT),
        },
        key="readings",
        note="Apart in uncertainties of the reading: beyond 2 or 3 it is not chance. "
        "Differences between sound vans are part of it.",
    )


def _causes(found: Diagnosis) -> Grid:
    """The likeliest causes, and what to look at first."""
    return grid(
        "Causes, in order",
        [r for r in found.ranked[:SHOWN] if r.chance >= 0.01],
        {
            "cause": "cause.name",
            "how likely": (lambda r: f"{r.chance * 100:.0f} %", RIGHT),
            "look first": "cause.look",
        },
        key="causes",
        note="Among the causes that were tried, if one of them is true.",
    )


def _fitted(fitted: Fitted, units: str) -> Grid:
    """What the readings say about what differs between vans."""

    def told(one: Estimate) -> tuple[str, str, str, str]:
        heat = one.name.startswith("store ")
        value = show(one.value, "temperature", units) if heat else f"{one.value:.2f}"
        sigma = show(one.sigma, "rise", units) if heat else f"{one.sigma:.2f}"
        known = "from the readings" if one.told else "the readings don't say"
        return _name(one.name), value, f"± {sigma}", "at its bound" if one.bound else known

    return grid(
        "Fitted, as if nothing were wrong",
        map(told, fitted.estimates.values()),
        {"unknown": 0, "value": (1, RIGHT), "uncertainty": 2, "told": 3},
        key="fitted",
        note="1.00 is as computed; a mixing valve's is the hot share of its opening.",
    )


def _name(parameter: str) -> str:
    kind, _, rest = parameter.partition(" ")
    said = {"speed": "pump's flow", "fittings": "losses of fittings"}.get(parameter)
    if said:
        return said
    return {"store": f"{rest}, water", "tap": f"{rest}, passage",
            "turned": f"{rest}, hot share"}.get(kind, parameter)  # fmt: skip
