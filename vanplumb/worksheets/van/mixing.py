"""Worksheet of one mixing valve: both supplies, the valve, the outlet, and what drifts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...board.as_laid import on_its_board
from ...chapters.mixing import mixing_chapter
from ...drawings.charts.mixing import scale_picture
from ...drawings.charts.valve import valve_picture, valve_scene
from ...flow.engine import Flow
from ...flow.mixing.check import valve_of
from ...flow.mixing.valve import MixingState, Supplies, Valve, drifts, mixing_state
from ...sheet.wording import words_of
from ...van import Build
from ...van.region import region_of, usual_region
from ..frame.base import Choice, Flag, Quantity, Worksheet
from ..frame.controls import temperature_field
from ..frame.living import Before, LivingPicture

QUESTION = (
    "How warm is the water at the outlet, how near is it to scalding, and what happens when a "
    "supply changes? Type a value in any unit and press Enter, or drag."
)


ALIKE = 2e5  # Pa: on the day it was set both supplies pushed alike, and how hard does not matter


def mixing_of(build: Build, name: str) -> Worksheet:
    """The worksheet of one mixing valve of a build, in the build's units.

    KeyError that lists the valves if the build has none of that name.
    """
    parts = {part.name: part for part in build.mixing_valve}
    if name not in parts:
        raise KeyError(f"no mixing valve {name!r}; there are {', '.join(parts) or 'none'}")
    build = on_its_board(build)
    valve, now = valve_of(Flow(build), parts[name])
    values = vars(valve) | vars(now)
    values["set_hot"] = valve.when_set.temperature_hot
    values["set_cold"] = valve.when_set.temperature_cold
    del values["when_set"]
    return mixing_worksheet(
        build.van.units,
        part=name,
        file=str(build.path or ""),
        build=build,
        **values,
    )


def valves_of(build: Build) -> list[str]:
    """The mixing valves of a build.  ValueError if it has none."""
    if not build.mixing_valve:
        raise ValueError(f"{build.van.name} has no mixing valve")
    return [valve.name for valve in build.mixing_valve]


def mixing_worksheet(
    units: str = "US",
    *,
    part: str = "",
    file: str = "",
    build: Build | None = None,
    **values: float | str | bool,
) -> Worksheet:
    """The worksheet, opened with ``values`` for some of its fields (see ``sheet.values``).

    ``part`` and ``file`` are offered when the values are kept in a build file.  Words and limits
    are those of the ``build``'s region, or else of the units' usual one.
    QuantityError or KeyError if a value does not belong to its field.
    """

    region = region_of(build).key if build else usual_region(units)

    def pressure(key: str, label: str, value: str) -> Quantity:
        low = "1 psi" if key == "outlet_pressure" else "0 psi"
        step = {"US": 1, "SI": 0.05}
        return Quantity(key, label, "pressure", value, low, "80 psi", step=step)

    picture = LivingPicture(instead=1)
    before = Before[MixingState]()

    def move(state: MixingState, units: str) -> None:
        old = before.of(state)
        picture.show(valve_picture(state, units, old), valve_scene(state, units))

    sheet = Worksheet(
        "Mixing valve",
        question=QUESTION,
        units=units,
        words=words_of(build) if build else None,
        fields=[
            Choice(
                "kind",
                "the valve is",
                [("set once by hand", "fixed"), ("thermostatic", "thermostatic")],
            ),
            "On the day it was set",
            temperature_field("setting", "mixed water", "105 °F", "25 °C", "60 °C"),
            temperature_field("set_hot", "hot supply then", "140 °F", "30 °C", "90 °C"),
            temperature_field("set_cold", "cold supply then", "60 °F", "1 °C", "40 °C"),
            "Now",
            temperature_field("temperature_hot", "hot supply now", "140 °F", "10 °C", "90 °C"),
            temperature_field("temperature_cold", "cold supply now", "60 °F", "1 °C", "40 °C"),
            pressure("pressure_hot", "hot pressure at the valve", "30 psi"),
            pressure("pressure_cold", "cold pressure at the valve", "30 psi"),
            "Valve and outlet",
            Quantity(
                "flow_coefficient",
                "Kv of the valve",
                "flow_coefficient",
                "1.2 m^3/h",
                "0.2 m^3/h",
                "5 m^3/h",
                about="flow in m³/h at 1 bar; typical, see the valve's sheet",
            ),
            Quantity(
                "outlet_flow", "the outlet gives", "flow", "1.5 gpm", "0.3 gpm", "5 gpm", step=0.1
            ),
            pressure("outlet_pressure", "at a pressure of", "20 psi"),
            Flag("checks", "check valves at both inlets", True),
        ],
        compute=_compute,
        draw=lambda state, units: [
            valve_picture(state, units),
            scale_picture(state, drifts(state, units), units, region),
        ],
        living=picture,
        move=move,
        chapter=lambda state, units: mixing_chapter(state, units=units, region=region),
        hide=lambda values: ["set_hot", "set_cold"] if values["kind"] == "thermostatic" else [],
        keep=_kept,
        part=("valve's name", part),
        file=file,
        captions=["The valve and its flows", "The outlet against the limits, and what drifts"],
    )
    if values:
        sheet.set(**values)
    return sheet


def _compute(values: Mapping[str, Any]) -> MixingState:
    now = Supplies(
        values["temperature_hot"],
        values["temperature_cold"],
        values["pressure_hot"],
        values["pressure_cold"],
    )
    day = Supplies(values["set_hot"], values["set_cold"], ALIKE, ALIKE)
    valve = Valve(
        values["kind"],
        values["setting"],
        day,
        values["flow_coefficient"],
        values["outlet_flow"],
        values["outlet_pressure"],
        values["checks"],
    )
    return mixing_state(valve, now)


def _kept(sheet: Worksheet, name: str) -> dict[str, Any]:
    """What a build file says about such a valve.  A thermostatic one has no day it was set."""
    if not name:
        raise ValueError("type the name of the mixing valve in the build file")
    texts = sheet.written
    fixed = texts["kind"] == "fixed"
    said = {
        "kind": texts["kind"],
        "setting": texts["setting"],
        "set_hot": texts["set_hot"] if fixed else None,
        "set_cold": texts["set_cold"] if fixed else None,
        "kv": texts["flow_coefficient"],
        "hot_check": texts["checks"],
        "cold_check": texts["checks"],
    }
    return {f"mixing_valve.{name}.{key}": value for key, value in said.items()}
