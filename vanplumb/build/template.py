"""A new build file to fill in: every key explained, from the same declarations that check it."""

from __future__ import annotations

from typing import Any

from .edit import toml
from .fields import entries
from .model import FORMAT, LISTS, SECTIONS
from .samples import explain, sample

_START = """\
# A van's fresh-water system.  Lines that begin with # are remarks: take the # away to use one.
# A value with a unit is a text in quotes: {values}.
# Components have names; a run joins two of them, from where water comes to where it goes.
#   from = "heater"                its hot outlet      to = "heater"               its cold inlet
#   from = "hot manifold.shower"   one zone            to = "rinse valve.cold"     one port
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


def template(units: str = "US") -> str:
    """The text of a small build that loads as it stands, with every other key in a remark.

    ``units`` is "US" or "SI".  ValueError for anything else.
    """
    if units not in _FILLED:
        raise ValueError(f'units must be "US" or "SI", got {units!r}')
    filled = _FILLED[units]
    blocks = [_START.format(format=FORMAT, values=_VALUES[units])]
    for key, kind in SECTIONS.items():
        blocks.append(_block(f"[{key}]", key, kind, filled.get(key), units))
    for key, kind in LISTS.items():
        blocks.append(_block(f"[[{key}]]", key, kind, filled.get(key), units))
        if f"{key} 2" in filled:
            lines = [f"[[{key}]]"] + [_line(k, v) for k, v in filled[f"{key} 2"].items()]
            blocks.append("\n".join(lines) + "\n")
    blocks.append(_ROWS[units])
    return "\n".join(blocks)


def _block(head: str, key: str, kind: type, filled: dict[str, Any] | None, units: str) -> str:
    """One table with its keys; all of it in remarks unless some of it is filled."""
    lines = [f"# {_ABOUT[key]}", head if filled else f"# {head}"]
    for name, (_, entry, default) in entries(kind).items():
        remark = explain(key, name, entry, default, units)
        if filled and name in filled:
            lines.append(f"{_line(name, filled[name])}  # {remark}")
        else:
            lines.append(f"# {name} = {sample(key, name, entry, default, units)}  # {remark}")
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
