"""Parts in the lines on the sheet: what passes them, how long they last, what they draw."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite
from typing import Any

from ..formulas.valves import cv_from_kv
from ..trip.hot_runs.recirculating import Recirculating
from ..trip.stay.elements import Element, elements
from ..van.kinds import line_parts
from ..van.model import Build
from ..van.parts import LinePart
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import show
from ..words.work import total


def line_parts_chapter(build: Build, rounds: tuple[Recirculating, ...] = ()) -> Chapter:
    """Filters, lamps, softeners, selectors and recirculation of a van that has any."""
    answers: list[Answer] = []
    loads = line_parts.mean_loads(build)
    if loads:
        summed = total("power", loads)
        answers.append(
            Answer("drawn by parts in the lines, mean of a day", summed.value, "power", (summed,))
        )
    for one in rounds:
        answers += _round(build, one)
    answers += [Answer(f"{one.name} stands to", one.set_to) for one in build.tank_selector]
    return Chapter(
        "line_parts",
        "Parts in the lines",
        basis=(
            "Figures of the table of parts in a line unless the build file says its own.",
            "Drawn through: all the water of the taps behind a part, hot and cold, drunk or not.",
            *_played(build),
        ),
        answers=tuple(answers),
        grids=(*_grids(build), *_taps(rounds)),
        cautions=_cautions(build),
        not_computed=(
            "whether the water that comes out is fit to drink: only a laboratory can say",
            *(
                ("when a thermostat or a button switches a recirculation pump: a share is assumed",)
                if any(pump.control != "timer" for pump in build.recirculation_pump)
                else ()
            ),
        ),
    )


def _played(build: Build) -> tuple[str, ...]:
    """How the days play a loop through."""
    if not build.recirculation_pump:
        return ()
    return (
        "In the days played through a loop is as warm as its store in the hours of its pump: the "
        "store loses what the loop loses, the battery gives what the pump takes, and a tap waits "
        "for its own run only. A thermostat keeps the loop warm between its runs too.",
    )


def _round(build: Build, one: Recirculating) -> list[Answer]:
    """What one recirculation pump does with all taps shut."""
    if one.stands:
        return [
            Answer(f"{one.pump} brings round", "nothing", note="something is shut, or against it")
        ]
    air = show(build.van.cabin, "temperature", build.van.units)
    return [
        Answer(f"{one.pump} brings round", one.flow, "flow",
               note=f"against {show(one.head, 'pressure', build.van.units)}, all taps shut"),
        Answer(f"comes back to {one.heater} at", one.returns, "temperature",
               note=f"left at its setpoint, air at {air} all the way"),
        Answer("heat lost by the loop while it runs", one.lost, "power"),
    ]  # fmt: skip


def _taps(rounds: tuple[Recirculating, ...]) -> tuple[Grid, ...]:
    if not any(one.taps for one in rounds):
        return ()
    return (
        grid(
            "Each hot tap alone, with the return at rest and running",
            [(one.pump, tap) for one in rounds for tap in one.taps],
            {
                "pump": 0,
                "tap": lambda row: row[1].fixture,
                "flow": (lambda row: row[1].flow, "flow"),
                "flow, running": (lambda row: row[1].flow_running, "flow"),
                "temperature": (lambda row: row[1].temperature, "temperature"),
                "temperature, running": (lambda row: row[1].temperature_running, "temperature"),
            },
            key="return",
            note="With the hot line warm; what runs lose on the way is not in these.",
        ),
    )


def _grids(build: Build) -> tuple[Grid, ...]:
    if not build.line_part:
        return ()

    def lasts(one: Element) -> str | None:
        return f"{one.days:.0f} d, by {one.by}" if isfinite(one.days) else None

    def of(key: str) -> Callable[[Element], Any]:
        return lambda one: line_parts.figure(build, one.part, key)

    kv = of("kv")
    loses: dict[str, Any] = {"Kv, clean": (kv, "flow_coefficient")}
    if build.van.units == "US":
        cv = "Cv, clean, gpm at 1 psi"
        loses = {cv: (lambda one: float(cv_from_kv.si(kv(one))), "flow_coefficient_us")}
    return (
        grid(
            "Parts in the lines",
            elements(build),
            {
                "part": "part.name",
                "kind": "part.kind",
                **loses,
                "holds": (of("content"), "volume"),
                "most flow": (of("flow_most"), "flow"),
                "drawn a day": ("drawn", "volume"),
                "lasts in use": (lasts, RIGHT),
                "power": (of("power"), "power"),
            },
            key="line_parts",
            note="Typical figures: look at the sheets of yours. An element that stands wet grows "
            "old by time, not by water alone.",
        ),
    )


def _cautions(build: Build) -> tuple[Caution, ...]:
    """What to mind of each kind, once, and of hot water that goes round."""
    found: dict[str, list[LinePart]] = {}
    for part in build.line_part:
        text = line_parts.row_of(build, part)["caution"]
        if text:
            found.setdefault(str(text), []).append(part)
    said = [
        Caution("CAUTION", f"{' and '.join(part.name for part in parts)}: {text}.")
        for text, parts in found.items()
    ]
    if build.recirculation_pump:
        said.append(
            Caution(
                "WARNING",
                "A hot line that goes round is hot at its tap at once, and gives off heat and "
                "takes charge as long as it runs; kept lukewarm, it grows legionella.",
            )
        )
    return tuple(said)
