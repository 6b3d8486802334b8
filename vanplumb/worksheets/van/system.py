"""Worksheet of the whole system: the schematic with its taps to open and shut, and what follows.

Water is seen to move in it.  Taps stand twice in the page: on the schematic, where they are
pressed, and as ticks below it for whoever would rather read a list.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from ...board.as_laid import on_its_board
from ...chapters.flow import link_work
from ...drawings.schematic.draw import Schematic, schematic_picture
from ...drawings.schematic.motion import scene
from ...flow.engine import Flow
from ...flow.moment import Moment
from ...sheet.wording import words_of
from ...van import Build
from ...van.kinds import pumps
from ...van.trace import title
from ...words.hazards import SCALD
from ...words.report import Answer, Caution, Chapter, Grid, grid
from ...words.tables import table
from ..frame.base import Choice, Flag, Quantity, Worksheet
from ..frame.living import Before, LivingPicture

QUESTION = (
    "What happens at one tap when another is opened? Press the taps on the drawing, or tick them "
    "below it; change pump, heater or a run and see everything else follow."
)
AS_BUILT = "as built"


def system_worksheet(build: Build, open: tuple[str, ...] | None = None) -> Worksheet:
    """The worksheet of a build, with some fixtures open: the first situation's if not said.

    ValueError if the build has no fixture, or nothing that water comes from.
    """
    build = on_its_board(build)
    flow = Flow(build)
    if flow.problem:
        raise ValueError(flow.problem)
    first = open
    if first is None:
        first = tuple(build.situation[0].open) if build.situation else flow.fixtures[:1]
    drawing, picture = Schematic(build), LivingPicture()
    keys = {name: f"tap_{i}" for i, name in enumerate(flow.fixtures)}
    held: dict[tuple[Any, ...], Flow] = {(): flow}
    shown = Before[_Shown]()

    def compute(values: Mapping[str, Any]) -> _Result:
        changes = _changes(build, values)
        key = tuple(sorted(changes.items()))
        if key not in held:
            while len(held) > 24:
                held.pop(next(reversed(held)))
            from ...flow.changed_build import vary

            held[key] = Flow(vary(build, changes))
        now = held[key]
        opened = [name for name, tap in keys.items() if values[tap]]
        source = values.get("source", now.source)
        moment = now.batch([opened], [source]).moment(0, _name(opened))
        return _Result(now, moment, values, drawing)

    def move(result: _Result, units: str) -> None:
        values, moment = result.values, result.moment
        asked = (tuple(sorted(_changes(build, values).items())), moment.open, moment.source)
        old = shown.of(_Shown(asked, moment))
        svg = drawing.draw(
            moment,
            units=units,
            values=values["values"],
            mark=values.get("run", -1),
            before=old.moment if old is not None else None,
        )
        picture.show(svg, scene(drawing, moment, units))

    sheet = Worksheet(
        f"Whole system: {build.van.name}",
        question=QUESTION,
        units=build.van.units,
        words=words_of(build),
        fields=_fields(build, flow, keys, first),
        compute=compute,
        draw=lambda result, units: [],
        chapter=_chapter,
        findings=lambda result: [Caution("NOTICE", f"{r}.") for r in result.moment.reasons],
        keep=_kept,
        part=("remark", "whole system"),
        file=str(build.path or ""),
        ahead=True,
        living=picture,
        move=move,
    )
    picture.pressed = lambda name: sheet.set(**{keys[name]: not sheet.values[keys[name]]})
    _follow_run(sheet, build)
    return sheet


@dataclass(frozen=True)
class _Shown:
    """A moment, told from others by what was asked for."""

    asked: tuple[Any, ...]
    moment: Moment = field(compare=False)


class _Result:
    """A moment with the flow engine that it came from and the fields it was asked with."""

    def __init__(
        self, flow: Flow, moment: Moment, values: Mapping[str, Any], drawing: Schematic
    ) -> None:
        self.flow, self.moment, self.values = flow, moment, dict(values)
        self.drawing = drawing


def _name(opened: list[str]) -> str:
    return f"{' and '.join(opened)} open" if opened else "every fixture shut"


def _fields(build: Build, flow: Flow, keys: Mapping[str, str], first: tuple[str, ...]) -> list[Any]:
    found: list[Any] = ["Taps"]
    found += [Flag(key, f"{name} open", name in first) for name, key in keys.items()]
    found.append("On the drawing")
    shown = [("flow and warmth at the taps", ""), *((w, w) for w in ("pressure", "flow"))]
    found.append(Choice("values", "more values", [*shown, ("temperature", "temperature")]))
    if flow.made.shores and flow.made.pumps:
        found.append(
            Choice("source", "water comes from", [("the pump", "pump"), ("shore", "shore")])
        )
    electric = pumps.electric(build)
    if electric:
        pump = electric[0]
        volts = pumps.supply_voltage(build, pump)
        rows = table("pumps", build.rows)
        kinds = [n for n, r in rows.items() if r["kind"] == electric[0].kind]
        found += [
            "Pump",
            Choice("pump", "its curve", [AS_BUILT, *kinds]),
            Quantity("voltage", "voltage at it", "voltage", float(volts), 9.0, 15.0, step=0.1),
        ]
    if build.heater:
        heater = build.heater[0]
        low, high = "30 °C", "90 °C"
        found += [
            f"Heater: {heater.name}",
            Quantity(
                "setpoint",
                "its setpoint",
                "temperature",
                min(max(heater.setpoint, 303.15), 363.15),
                low,
                high,
                step={"US": 1, "SI": 0.5},
            ),
        ]
    runs = [(f"{i + 1}: {title(build, i)}", i) for i in range(len(build.run))]
    tubes = list(table("tubes", build.rows))
    if runs:
        start = _telling_run(flow, first)
        found += [
            "One run",
            Choice("run", "which", runs, start),
            Choice("tube", "its tube", tubes, build.run[start].tube),
            Quantity(
                "length",
                "its length",
                "length",
                min(max(build.run[start].length, 0.02), 20.0),
                0.02,
                20.0,
                step={"US": 1, "SI": 10},
            ),
        ]
    return found


def _telling_run(flow: Flow, first: tuple[str, ...]) -> int:
    """The run that takes most at the start: the one that is worth changing."""
    moment = flow.solve(first)
    lost = {
        k.place: abs(k.parts.get("friction", 0.0) + k.parts.get("fittings", 0.0))
        for k in moment.links.values()
        if k.kind == "run"
    }
    return max(lost, key=lambda i: lost[i])


def _follow_run(sheet: Worksheet, build: Build) -> None:
    """When another run is picked, its tube and length come as they were built."""
    if "run" not in sheet.fields:
        return

    def picked() -> None:
        run = build.run[sheet.fields["run"].value]
        sheet.set(tube=run.tube, length=min(max(run.length, 0.02), 20.0))

    sheet.fields["run"].on_change = picked


def _changes(build: Build, values: Mapping[str, Any]) -> dict[str, Any]:
    """What differs from the build, by path."""
    found: dict[str, Any] = {}
    if "pump" in values:
        pump = pumps.electric(build)[0]
        if values["pump"] != AS_BUILT:
            path = f"pump.{pump.name}"
            found[f"{path}.curve"] = values["pump"]
            row = table("pumps", build.rows)[values["pump"]]
            for key in ("curve_flow", "curve_pressure", "curve_current"):
                found[f"{path}.{key}"] = ()
            for key in ("cut_in", "cut_out"):
                found[f"{path}.{key}"] = row[key]
        volts = pumps.supply_voltage(build, pump)
        if abs(values["voltage"] - volts) > 1e-9:
            found[f"pump.{pump.name}.supply_voltage"] = values["voltage"]
    if "setpoint" in values and abs(values["setpoint"] - build.heater[0].setpoint) > 1e-9:
        found[f"heater.{build.heater[0].name}.setpoint"] = values["setpoint"]
    if "run" in values:
        run = build.run[values["run"]]
        path = f"run.{values['run'] + 1}"
        if values["tube"] != run.tube:
            found[f"{path}.tube"] = values["tube"]
        if abs(values["length"] - min(max(run.length, 0.02), 20.0)) > 1e-9:
            found[f"{path}.length"] = values["length"]
    return found


def _kept(sheet: Worksheet, part: str) -> dict[str, Any]:
    """What is written into a build file: only what was changed."""
    result: _Result = sheet.result
    changes = _changes(_built(result), result.values)
    texts = {"supply_voltage": "voltage", "setpoint": "setpoint", "length": "length"}
    found: dict[str, Any] = {}
    for path, value in changes.items():
        key = path.rpartition(".")[2]
        if key in ("curve_flow", "curve_pressure", "curve_current", "cut_in", "cut_out"):
            found[path] = None
        else:
            found[path] = sheet.written[texts[key]] if key in texts else value
    if not found:
        raise ValueError("nothing differs from the build file")
    return found


def _built(result: _Result) -> Build:
    """The build as it was read: its text still has the file's values."""
    from ...van import loads

    build = result.flow.build
    return loads(build.text, path=build.path) if build.text else build


def _chapter(result: _Result, units: str) -> Chapter:
    moment = result.moment
    answers = []
    for f in moment.opened:
        answers.append(Answer(f"{f.name}: flow", f.flow, "flow", key=True))
        if isfinite(f.temperature):
            answers.append(Answer(f"{f.name}: temperature", f.temperature, "temperature", key=True))
    for p in moment.pumps.values():
        if moment.source != "pump" or not isfinite(p.outlet):
            continue
        state = "cycles" if p.cycling else "runs" if p.running else "rests"
        part = next(x for x in result.flow.build.pump if x.name == p.name)
        high = pumps.switch(result.flow.build, part)[1]
        stop = Answer("", float(high), "pressure").shown(units) if isfinite(high) else ""
        note = f"{state}; its switch stops it at {stop}" if stop else state
        answers.append(Answer(f"{p.name}: pressure", p.outlet, "pressure", note=note))
        if isfinite(p.current):
            answers.append(Answer(f"{p.name}: current", p.current, "current"))
        if isfinite(p.starts) and p.cycling:
            answers.append(Answer(f"{p.name}: starts", p.starts, "frequency"))
    number = int(result.values.get("run", -1)) + 1
    link = moment.links.get(f"run {number}")
    if link is not None and abs(link.flow) > 1e-9:
        taken = abs(link.parts.get("friction", 0.0) + link.parts.get("fittings", 0.0))
        answers.append(
            Answer(f"run {number}: loss", taken, "pressure_loss", work=link_work(link, result.flow))
        )
        answers.append(Answer(f"run {number}: speed", link.velocity, "velocity"))
    return Chapter(
        key="system",
        title=f"Whole system: {moment.name}",
        answers=tuple(answers),
        grids=tuple(_limits(result)),
        cautions=(SCALD.caution("These are means of a steady flow."),)
        if result.flow.build.heater
        else (),
        pictures=(
            schematic_picture(result.drawing, moment, units, result.values["values"] or "pressure"),
        ),
    )


def _limits(result: _Result) -> list[Grid]:
    """What takes most of the pressure on the way to the first open fixture."""
    from ...flow.run_losses import shares

    first = next((f for f in result.moment.opened if f.flow > 1e-9), None)
    if first is None:
        return []
    found = shares(result.moment, first.name)
    side = "hot" if "hot" in found.ways else next(iter(found.ways))
    rows = sorted((s for s in found.ways[side] if s.loss > 0), key=lambda s: -s.loss)[:6]
    way = f" on its {side} way" if side else ""
    return [
        grid(
            f"Where the pressure goes{way}: {first.name}",
            rows,
            {
                "component": "title",
                "takes": ("loss", "pressure_loss"),
                "share": ("share", "share"),
            },
        )
    ]
