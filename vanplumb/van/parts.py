"""The components of a van's water system, as the build file names them.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.
"""

from __future__ import annotations

from .entries import BOILING, COLDEST, FREEZING, HOTTEST, PRACTICE, TINY, Component
from .line_parts import AirVent, LinePart, RecirculationPump, TankSelector
from .outlets import Fixture, Heater, Manifold, MixingValve, Run, Tee, Zone
from .supply import (
    Accumulator,
    CheckValve,
    DrainValve,
    Pump,
    Regulator,
    ShoreInlet,
    ShutOff,
    Strainer,
    Tank,
)

COMPONENTS: dict[str, type[Component]] = {
    "tank": Tank,
    "strainer": Strainer,
    "pump": Pump,
    "check_valve": CheckValve,
    "shut_off": ShutOff,
    "drain_valve": DrainValve,
    "line_part": LinePart,
    "air_vent": AirVent,
    "tank_selector": TankSelector,
    "recirculation_pump": RecirculationPump,
    "accumulator": Accumulator,
    "shore_inlet": ShoreInlet,
    "regulator": Regulator,
    "tee": Tee,
    "manifold": Manifold,
    "heater": Heater,
    "mixing_valve": MixingValve,
    "fixture": Fixture,
}

__all__ = [
    "BOILING",
    "COLDEST",
    "COMPONENTS",
    "FREEZING",
    "HOTTEST",
    "PRACTICE",
    "TINY",
    "Accumulator",
    "AirVent",
    "CheckValve",
    "Component",
    "DrainValve",
    "Fixture",
    "Heater",
    "LinePart",
    "Manifold",
    "MixingValve",
    "Pump",
    "RecirculationPump",
    "Regulator",
    "Run",
    "ShoreInlet",
    "ShutOff",
    "Strainer",
    "Tank",
    "TankSelector",
    "Tee",
    "Zone",
]
