"""What parts in a line do: their figures, as the file says or their row, and what they draw."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from ...words.tables import Row, table
from ..line_parts import LinePart, RecirculationPump
from ..model import Build
from ..rows import own_or_row

DAY = 24.0
"""Hours of a day."""


def row_of(build: Build, part: LinePart) -> Row:
    """The row of its kind."""
    return table("line_parts", build.rows)[part.kind]


def figure(build: Build, part: LinePart, key: str) -> Any:
    """One of its figures: its own, or that of its row; None where neither says."""
    return own_or_row(build, part, key, "line_parts", part.kind, key)


def open_kv(build: Build, part: LinePart) -> Any:
    """Kv as far as it is not clogged."""
    return np.asarray(figure(build, part, "kv")) * (1.0 - np.asarray(part.clogged_share))


def content(build: Build, part: LinePart) -> float:
    """Water that stands in it, m³."""
    return float(figure(build, part, "content"))


def clogs(build: Build, part: LinePart) -> bool:
    """Whether it has an element that holds back what the water brings, and clogs with it."""
    return row_of(build, part)["sort"] in ("filter", "softener")


def left_out(build: Build, when: str) -> tuple[LinePart, ...]:
    """Parts that are bypassed or have their element out: when "disinfecting", for instance."""
    return tuple(p for p in build.line_part if when in (row_of(build, p)["left_out"] or ()))


def wetted(build: Build, when: str) -> tuple[tuple[str, float], ...]:
    """Parts that hold water all the same, each with how much, m³: a bowl does without its element.

    One that is bypassed or taken out holds none of it.
    """
    out = left_out(build, when)
    return tuple(
        (part.name, held)
        for part in build.line_part
        if (held := content(build, part)) > 0
        and (part not in out or (row_of(build, part)["sort"] == "filter" and not part.bypass))
    )


def out_of_the_way(build: Build, when: str) -> tuple[str, ...]:
    """How each of those parts is kept out of it, as a step: by its bypass, or without one."""
    return tuple(_kept_out(build, part) for part in left_out(build, when))


def _kept_out(build: Build, part: LinePart) -> str:
    if part.bypass:
        return f"open the bypass of {part.name} and shut its two valves"
    if row_of(build, part)["sort"] == "filter":
        return f"take the element out of {part.name} and close its bowl again"
    return f"take {part.name} out and join its line across the gap"


def back_in(build: Build, parts: Iterable[LinePart]) -> tuple[str, ...]:
    """How each of some parts that were kept out comes back, as a step."""
    found = []
    for part in parts:
        if part.bypass:
            said = f"open the two valves of {part.name} and shut its bypass"
        elif row_of(build, part)["sort"] == "filter":
            said = f"put the element of {part.name} back"
        else:
            said = f"put {part.name} back"
        found.append(f"{said}{_renewed(build, part)}")
    return tuple(found)


def _renewed(build: Build, part: LinePart) -> str:
    worn = worn_part(build, part)
    return f"; a new {worn} if its time is up" if worn else ""


def worn_part(build: Build, part: LinePart) -> str:
    """What of a part is used up and renewed: "element", "lamp", "filling"; empty for nothing."""
    said = row_of(build, part)
    if figure(build, part, "life_volume") is None and said["life_days"] is None:
        return ""
    return {"filter": "element", "lamp": "lamp", "softener": "filling"}.get(said["sort"], "element")


def hours_on(spans: tuple[str, ...]) -> float:
    """Hours of a day in spans such as "06:30-08:00"; all of it where none is said."""
    if not spans:
        return DAY
    total = 0.0
    for span in spans:
        first, last = (_clock(text) for text in span.split("-"))
        total += (last - first) % DAY or DAY
    return min(total, DAY)


def _clock(text: str) -> float:
    hours, minutes = text.strip().split(":")
    return int(hours) + int(minutes) / 60


def recirculating_hours(pump: RecirculationPump) -> float:
    """Hours a day that a recirculation pump runs."""
    return hours_on(pump.hours) * share_running(pump)


def share_running(pump: RecirculationPump) -> float:
    """Part of its hours that a recirculation pump runs."""
    return 1.0 if pump.control == "timer" else float(pump.running_share)


def share_kept_warm(pump: RecirculationPump) -> float:
    """Part of its hours that its loop is warm: a thermostat keeps it so between its runs too."""
    return float(pump.running_share) if pump.control == "button" else 1.0


def loads(build: Build) -> tuple[tuple[str, Any, tuple[str, ...]], ...]:
    """What parts in lines draw from the battery, each with its mean power, W, in its hours.

    What runs on mains is fed through the inverter; no hours are all hours.
    """
    found: list[tuple[str, Any, tuple[str, ...]]] = []
    for part in build.line_part:
        power = figure(build, part, "power")
        if not power:
            continue
        voltage = figure(build, part, "voltage") or 12.0
        through = build.battery.inverter_efficiency if build.battery and voltage > 50.0 else 1.0
        found.append((part.name, power / through, part.hours))
    for pump in build.recirculation_pump:
        found.append((pump.name, pump.power * share_running(pump), pump.hours))
    return tuple(found)


def mean_loads(build: Build) -> tuple[tuple[str, Any], ...]:
    """The same, each with its mean power over a day, W."""
    return tuple((name, power * hours_on(hours) / DAY) for name, power, hours in loads(build))


def other_load(build: Build) -> Any:
    """All that is drawn beside pump and heater, mean W: as stated, and by parts in the lines."""
    stated = 0.0 if build.battery is None else build.battery.other_load
    return stated + sum(power for _, power in mean_loads(build))
