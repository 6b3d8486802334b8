"""What a new build file shows as the value of a key that is not filled in, in either units.

A key with a default shows the default.  Others show what is given here, else what an example
build says, else any value of the right sort.  They are invented, and of believable size.
"""

from __future__ import annotations

import tomllib
from dataclasses import MISSING
from functools import lru_cache
from typing import Any

from ..words.glossary import word
from ..words.show import example, show, sixteenths, unit, value
from ..words.tables import example_builds, table
from .edit import toml
from .fields import Entry

SAMPLES: dict[str, tuple[Any, Any]] = {
    # key: US, SI
    "van.payload": ("1700 lb", "780 kg"),
    "van.outside_day": ("70 °F", "21 °C"),
    "van.currency": ("USD", "EUR"),
    "battery.capacity": ("200 Ah", "200 Ah"),
    "board.width": ("24 in", "600 mm"),
    "board.height": ("20 in", "500 mm"),
    "fuel.mass": ("20 lb", "9 kg"),
    "fuel.volume": ("5 gal", "20 L"),
    "limits.velocity_cold": ("5 ft/s", "1.5 m/s"),
    "limits.velocity_hot": ("4 ft/s", "1.2 m/s"),
    "limits.working_pressure": ("60 psi", "4 bar"),
    "limits.wait": ("30 s", "30 s"),
    "tank.diameter": ("12 in", "300 mm"),
    "tank.step_length": ("10 in", "250 mm"),
    "tank.step_height": ("4 in", "100 mm"),
    "tank.height_low": ("8 in", "200 mm"),
    "tank.volume": ("20 gal", "75 L"),
    "tank.mass_empty": ("12 lb", "5 kg"),
    "tank.vent_diameter": ("5/8 in", "16 mm"),
    "tank.fill_diameter": ("1 1/4 in", "38 mm"),
    "tank.space_length": ("32 in", "800 mm"),
    "tank.space_width": ("16 in", "400 mm"),
    "tank.space_height": ("14 1/2 in", "370 mm"),
    "pump.curve_flow": (["3.0 gpm", "2.4 gpm", "1.8 gpm", "0 gpm"],
                        ["10 L/min", "8 L/min", "6 L/min", "0 L/min"]),
    "pump.curve_pressure": (["0 psi", "20 psi", "40 psi", "62 psi"],
                            ["0 bar", "1 bar", "2 bar", "3.2 bar"]),
    "pump.curve_current": (["4.0 A", "6.0 A", "7.5 A", "8.5 A"],
                           ["3.4 A", "5.0 A", "6.4 A", "7.4 A"]),
    "pump.cut_in": ("32 psi", "1.4 bar"),
    "pump.cut_out": ("45 psi", "2.1 bar"),
    "pump.supply_voltage": ("12.4 V", "12.4 V"),
    "pump.stroke_volume": ("7 fl oz", "0.2 L"),
    "accumulator.volume": ("24 fl oz", "0.75 L"),
    "accumulator.precharge": ("30 psi", "1.3 bar"),
    "manifold.tube": ("PEX 1/2 in", "PE-X 16x2.0"),
    "manifold.stub": ("2 in", "50 mm"),
    "heater.kind": ("storage", "storage"),
    "heater.volume": ("4 gal", "15 L"),
    "heater.setpoint": ("140 °F", "60 °C"),
    "heater.element_voltage": ("120 V", "230 V"),
    "heater.burner_power": ("0 Btu/h", "0 W"),
    "heater.coolant_power": ("0 Btu/h", "0 W"),
    "heater.power_least": ("0 Btu/h", "0 W"),
    "heater.standing_loss": ("45 W", "45 W"),
    "heater.relief": ("150 psi", "7 bar"),
    "heater.relief_temperature": ("210 °F", "99 °C"),
    "heater.pressure_rating": ("150 psi", "8 bar"),
    "mixing_valve.set_hot": ("140 °F", "60 °C"),
    "mixing_valve.set_cold": ("60 °F", "15 °C"),
    "fixture.flow_pressure": ("20 psi", "1.4 bar"),
    "fixture.temperature": ("105 °F", "40 °C"),
    "use.duration": ("10 s", "10 s"),
    "use.temperature": ("100 °F", "38 °C"),
    "use.volume": ("1.2 gal", "4.5 L"),
    "stock.tube": ("PEX 1/2 in", "PE-X 16x2.0"),
    "stock.length": ("20 ft", "5 m"),
}  # fmt: skip

_US_WORDS = {
    "at a loss of 1 bar": "at a loss of 14.5 psi, 3.8 gpm for each 1 of Cv",
    "20 °C": "68 °F",
    "EUR": "USD",
}


def sample(kind: str, key: str, entry: Entry, default: Any, units: str) -> str:
    """A value of the right sort, as the file writes it."""
    own = SAMPLES.get(f"{kind}.{key}")
    if own is not None:
        return toml(own[0] if units == "US" else own[1])
    if default is not MISSING and default not in (None, "", ()):
        return toml(quantity(default, entry.word, units) if entry.kind == "quantity" else default)
    quantities = entry.kind == "quantity"
    for said in () if key == "note" else _examples():
        if quantities and said["van"]["units"] != units:
            continue
        parts = said.get(kind, {})
        for part in parts if isinstance(parts, list) else [parts]:
            if key in part:
                return toml(part[key])
    if quantities:
        one = example(word(entry.word).kind).split('"')[1::2]
        return toml(one[0] if units == "US" else one[-1])
    plain: dict[str, Any] = {
        "number": 0.5,
        "flag": False,
        "choice": entry.options[0] if entry.options else "",
        "row": next(iter(table(entry.table))) if entry.table else "",
        "name": kind.replace("_", " "),
        "texts": [],
    }
    return toml(plain.get(entry.kind, ""))


def explain(kind: str, key: str, entry: Entry, default: Any, units: str) -> str:
    """What a key means, what it may be, and where its default comes from."""
    said = [entry.about]
    if entry.kind == "choice":
        said.append(" | ".join(entry.options))
    if entry.kind in ("row", "counts_of_rows"):
        said.append(f"rows of the table {entry.table}")
    if entry.required:
        said.append("must be given")
    elif default not in (None, "", ()) and default is not MISSING:
        told = _if_not_said(kind, key, entry, default, units)
        said.append(f"{told}, {entry.basis}" if entry.basis else told)
    text = "; ".join(said)
    for ours, theirs in _US_WORDS.items() if units == "US" else ():
        text = text.replace(ours, theirs)
    return text


def _if_not_said(kind: str, key: str, entry: Entry, default: Any, units: str) -> str:
    """The word "default", or its value where the line shows another one."""
    if not default or f"{kind}.{key}" not in SAMPLES:
        return "default"
    usual = quantity(default, entry.word, units) if entry.kind == "quantity" else str(default)
    same = sample(kind, key, entry, default, units) == toml(usual)
    return "default" if same else f"if not said {usual}"


def quantity(si: float, name: str, units: str) -> str:
    """A value as a builder would write it: whole, to two figures, or to more if two aren't near."""
    kind = word(name).kind
    if kind == "temperature":
        return show(si, name, units).replace("−", "-")
    if kind == "flow_coefficient" and units == "US":
        name = "flow"
    mark = "Δ°F" if kind == "rise" and units == "US" else unit(name, units)
    number = value(si, name, units)
    if mark == "in" and number and abs(number * 16 - round(number * 16)) < 1e-6:
        return f"{sixteenths(number)} in"
    for figures, far in ((4, 1e-6), (2, 0.02), (3, 0.02)):
        if abs(float(f"{number:.{figures}g}") - number) <= far * abs(number):
            break
    return f"{number:.{figures}g} {mark}".strip()


@lru_cache(maxsize=1)
def _examples() -> tuple[dict[str, Any], ...]:
    """The example builds as TOML reads them."""
    return tuple(tomllib.loads(p.read_text(encoding="utf-8")) for p in example_builds().values())
