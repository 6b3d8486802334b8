"""A new build file to fill in: every key explained, from the same declarations that check it.

What a new build file shows as the value of a key that is not filled in, in either units.
"""

from __future__ import annotations

import tomllib
from dataclasses import MISSING
from functools import lru_cache
from typing import Any

from ...words.glossary import word
from ...words.regions import Local, speaker
from ...words.show import example, show, sixteenths, unit, value
from ...words.tables import example_builds, table
from ..entries import Entry, entries
from ..model import FORMAT, LISTS, SECTIONS
from ..parts import COMPONENTS
from ..region import usual_region
from .write import toml

SAMPLES: dict[str, tuple[Any, Any]] = {
    # key: US, SI
    "van.length": ("20 ft", "6 m"),
    "van.wheelbase": ("11 ft 6 in", "3.5 m"),
    "van.pipework_behind_front_axle": ("9 ft", "2.7 m"),
    "van.front_axle_weighed": ("3400 lb", "1540 kg"),
    "van.rear_axle_weighed": ("3000 lb", "1360 kg"),
    "van.front_axle_limit": ("4100 lb", "1850 kg"),
    "van.rear_axle_limit": ("5200 lb", "2250 kg"),
    "fuel.behind_front_axle": ("13 ft", "4 m"),
    "van.payload": ("1700 lb", "780 kg"),
    "van.outside_day": ("70 °F", "21 °C"),
    "battery.capacity": ("200 Ah", "200 Ah"),
    "board.width": ("24 in", "600 mm"),
    "board.height": ("20 in", "500 mm"),
    "fuel.mass": ("20 lb", "9 kg"),
    "fuel.volume": ("5 gal", "20 L"),
    "limits.velocity_cold": ("5 ft/s", "1.5 m/s"),
    "limits.velocity_hot": ("4 ft/s", "1.2 m/s"),
    "limits.working_pressure": ("60 psi", "4 bar"),
    "limits.design_pressure": ("90 psi", "6 bar"),
    "limits.wait": ("30 s", "30 s"),
    "tank.diameter": ("12 in", "300 mm"),
    "tank.step_length": ("10 in", "250 mm"),
    "tank.step_height": ("4 in", "100 mm"),
    "tank.height_low": ("8 in", "200 mm"),
    "tank.volume": ("20 gal", "75 L"),
    "tank.mass_empty": ("12 lb", "5 kg"),
    "tank.fill_hose": ("3 ft", "0.9 m"),
    "tank.vent_hose": ("4 ft", "1.2 m"),
    "tank.overflow_hose": ("2 ft", "0.6 m"),
    "tank.overflow_diameter": ("3/4 in", "19 mm"),
    "tank.vent_diameter": ("5/8 in", "16 mm"),
    "tank.fill_diameter": ("1 1/4 in", "38 mm"),
    "tank.space_length": ("32 in", "800 mm"),
    "tank.space_width": ("16 in", "400 mm"),
    "tank.space_height": ("14 1/2 in", "370 mm"),
    "line_part.kv": ("4.5 gpm", "1.0 m³/h"),
    "line_part.content": ("27 fl oz", "0.8 L"),
    "line_part.flow_most": ("1 gpm", "4 L/min"),
    "line_part.life_volume": ("800 gal", "3000 L"),
    "line_part.power": ("14 W", "14 W"),
    "line_part.voltage": ("12 V", "12 V"),
    "line_part.bypass_length": ("10 in", "250 mm"),
    "heater.bypass_length": ("10 in", "250 mm"),
    "heater.relief_drain_length": ("4 ft", "1.2 m"),
    "fixture.mass": ("3 lb", "1.4 kg"),
    "line_part.mass": ("2.4 lb", "1.1 kg"),
    "recirculation_pump.mass": ("2 lb", "0.9 kg"),
    "recirculation_pump.power": ("15 W", "15 W"),
    "pump.curve": ("12 V 3.4 gpm 50 psi", "12 V 9 L/min 2.0 bar"),
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
    "heater.relief_capacity": ("34000 Btu/h", "10000 W"),
    "heater.relief_flow": ("2.6 gpm", "10 L/min"),
    "heater.pressure_rating": ("150 psi", "8 bar"),
    "mixing_valve.set_hot": ("140 °F", "60 °C"),
    "mixing_valve.set_cold": ("60 °F", "15 °C"),
    "fixture.flow": ("1 gpm", "4 L/min"),
    "fixture.flow_pressure": ("20 psi", "1.4 bar"),
    "fixture.temperature": ("105 °F", "40 °C"),
    "use.duration": ("10 s", "10 s"),
    "use.temperature": ("100 °F", "38 °C"),
    "use.volume": ("1.2 gal", "4.5 L"),
    "run.clip_spacing": ("16 in", "400 mm"),
    "run.legs": (["2 ft"], ["0.6 m"]),
    "stock.tube": ("PEX 1/2 in", "PE-X 16x2.0"),
    "stock.length": ("20 ft", "5 m"),
}  # fmt: skip

OF_REGION = {
    # key: column of the region's own row
    "van.currency": "currencies",
    "limits.test_rule": "test_water",
    "limits.disinfection": "disinfection",
    "limits.mixed_limit": "mixed_other",
}
"""Samples that are the region's own choice."""

_US_WORDS = {
    "at a loss of 1 bar": "at a loss of 14.5 psi, 3.8 gpm for each 1 of Cv",
    "20 °C": "68 °F",
    "EUR": "USD",
}


def sample(kind: str, key: str, entry: Entry, default: Any, units: str, region: str = "") -> str:
    """A value of the right sort, as the file writes it."""
    region = region or usual_region(units)
    path = f"{kind}.{key}"
    if path == "van.region":
        return toml(region)
    if path in OF_REGION:
        usual = table("regions")[region][OF_REGION[path]]
        return toml(usual[0] if isinstance(usual, (tuple, list)) else usual)
    own = SAMPLES.get(path)
    if own is not None:
        return toml(own[0] if units == "US" else own[1])
    if default is not MISSING and default not in (None, "", ()):
        return toml(quantity(default, entry.word, units) if entry.kind == "quantity" else default)
    if entry.kind == "ends":
        part = COMPONENTS[kind]
        end = "1/2 in NPT male" if units == "US" else "1/2 in G male"
        return toml({(part.inlets or part.outlets)[0]: end})
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


def explain(kind: str, key: str, entry: Entry, default: Any, units: str, say: Local = str) -> str:
    """What a key means, what it may be, and where its default comes from.

    ``say`` tells it in the words of a region; what a file may say stays as it is written there.
    """
    said = [say(entry.about)]
    if entry.kind == "choice":
        said.append(" | ".join(entry.options))
    if entry.kind in ("row", "counts_of_rows"):
        said.append(f"rows of the table {entry.table}")
    if entry.required:
        said.append("must be given")
    elif default not in (None, "", ()) and default is not MISSING:
        told = _if_not_said(kind, key, entry, default, units)
        said.append(f"{told}, {say(entry.basis)}" if entry.basis else told)
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


_START = """\
# A van's fresh-water system.  Lines that begin with # are remarks: take the # away to use one.
# A value with a unit is a text in quotes: {values}.
# Components have names; a run joins two of them, from where water comes to where it goes.
#   from = "heater"                its hot outlet      to = "heater"               its cold inlet
#   from = "hot manifold.shower"   one zone            to = "basin valve.cold"     one port
# Every value marked "typical" or "assumed" is a guess until you measure yours.
# Scald, fuel, relief valves, mains electricity and drinking water can hurt people: local codes
# and licensed practice come before anything that is computed from this file.

format = {format}
"""

_VALUES = {
    "US": '"1 1/2 in", "2 ft 6 in", "16 gal", "105 °F", "40 psi"',
    "SI": '"12.5 mm", "0.6 m", "60 L", "41 °C", "3.5 bar"',
}

_FILLED: dict[str, dict[str, dict[str, Any]]] = {
    "US": {
        "van": {"name": "my van", "units": "US"},
        "tank": {
            "name": "fresh", "shape": "box", "length": "30 in", "width": "14 in", "height": "12 in",
        },
        "pump": {"name": "pump", "kind": "electric", "curve": "12 V 2.8 gpm 40 psi"},
        "fixture": {"name": "galley", "kind": "cold tap"},
        "run": {"from": "fresh", "to": "pump", "tube": "PEX 1/2 in", "length": "2 ft"},
        "run 2": {"from": "pump", "to": "galley", "tube": "PEX 1/2 in", "length": "6 ft"},
    },
    "SI": {
        "van": {"name": "my van", "units": "SI"},
        "tank": {
            "name": "fresh", "shape": "box",
            "length": "750 mm", "width": "350 mm", "height": "300 mm",
        },
        "pump": {"name": "pump", "kind": "electric", "curve": "12 V 9 L/min 2.0 bar"},
        "fixture": {"name": "galley", "kind": "cold tap"},
        "run": {"from": "fresh", "to": "pump", "tube": "PE-X 16x2.0", "length": "0.6 m"},
        "run 2": {"from": "pump", "to": "galley", "tube": "PE-X 16x2.0", "length": "1.8 m"},
    },
}  # fmt: skip

_ABOUT = {
    "van": "the van as a whole",
    "crew": "who travels, and how long",
    "battery": "what the pump and the heater draw on",
    "fuel": "what the heater burns",
    "board": "the backer board that carries the manifolds",
    "shop": "when and how the work is done",
    "limits": "your own limits, where they differ from the usual ones",
    "tank": "fresh or grey water tanks",
    "strainer": "keeps grit out of the pump",
    "pump": "electric with a pressure switch, or by foot or hand",
    "check_valve": "lets water pass one way",
    "shut_off": "a valve in a run, beside the zones' own",
    "drain_valve": "at a low point; a run leads to it from a tee, a tank or a zone",
    "line_part": "a filter, an ultraviolet lamp, a softener, a union, a coupling and the like",
    "air_vent": "at a high point",
    "tank_selector": "a three-way valve between two tanks and the pump",
    "recirculation_pump": "from the far end of the hot line back to the heater's cold side",
    "accumulator": "a vessel with an air cushion",
    "shore_inlet": "where a hose brings water under pressure; give it a regulator",
    "regulator": "holds the pressure behind it down",
    "tee": "a branch point; any number of runs may meet here",
    "manifold": "a header with a shut-off for each zone",
    "zone": "one outlet of a manifold",
    "heater": "storage, flow-through, or a coil on the engine's coolant",
    "mixing_valve": "set once, or thermostatic",
    "fixture": "taps, showers, outside outlets; with two supplies the ports hot and cold",
    "run": "tube between two components",
    "use": "one habit of the crew: what is drawn where",
    "situation": "fixtures open at once, to look at",
    "stock": "tube on the shelf",
}


def template(units: str = "", region: str = "") -> str:
    """The text of a small build that loads as it stands, with every other key in a remark.

    ``units`` is "US" or "SI", or else what the region's builders read; ``region`` is a row of
    the table of regions, or else the units' usual one.  US if neither is given.  ValueError for
    anything else.
    """
    known = table("regions")
    if region and region not in known:
        raise ValueError(f"region must be one of {', '.join(known)}, got {region!r}")
    units = units or (str(known[region]["units"]) if region else "US")
    if units not in _FILLED:
        raise ValueError(f'units must be "US" or "SI", got {units!r}')
    filled = {key: dict(block) for key, block in _FILLED[units].items()}
    if region:
        filled["van"]["region"] = region
    place = region or usual_region(units)
    say = speaker(place)
    blocks = [say(_START).format(format=FORMAT, values=_VALUES[units])]
    for key, kind in SECTIONS.items():
        blocks.append(_block(f"[{key}]", key, kind, filled.get(key), units, place))
    for key, kind in LISTS.items():
        blocks.append(_block(f"[[{key}]]", key, kind, filled.get(key), units, place))
        if f"{key} 2" in filled:
            lines = [f"[[{key}]]"] + [_line(k, v) for k, v in filled[f"{key} 2"].items()]
            blocks.append("\n".join(lines) + "\n")
    blocks.append(_ROWS[units])
    return "\n".join(blocks)


def _block(
    head: str, key: str, kind: type, filled: dict[str, Any] | None, units: str, region: str
) -> str:
    """One table with its keys; all of it in remarks unless some of it is filled."""
    say = speaker(region)
    lines = [f"# {say(_ABOUT[key])}", head if filled else f"# {head}"]
    for name, (_, entry, default) in entries(kind).items():
        remark = explain(key, name, entry, default, units, say)
        if filled and name in filled:
            lines.append(f"{_line(name, filled[name])}  # {remark}")
        else:
            shown = sample(key, name, entry, default, units, region)
            lines.append(f"# {name} = {shown}  # {remark}")
    return "\n".join(lines) + "\n"


def _line(key: str, value: Any) -> str:
    return f"{key} = {toml(value)}"


_OWN_ROWS = """\
# rows of your own for the data tables: what is not said is taken from the row named by like
# [[rows.tubes]]
# name = "my tube"
# like = {like}
# bore = {bore}
"""

_ROWS = {
    "US": _OWN_ROWS.format(like='"PEX 1/2 in"', bore='"0.480 in"'),
    "SI": _OWN_ROWS.format(like='"PE-X 16x2.0"', bore='"12.1 mm"'),
}
