"""The components of a van's water system, as the build file names them.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.
"""

from __future__ import annotations

from .entries import BOILING, COLDEST, FREEZING, HOTTEST, PRACTICE, TINY, Component
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
    "CheckValve",
    "Component",
    "DrainValve",
    "Fixture",
    "Heater",
    "Manifold",
    "MixingValve",
    "Pump",
    "Regulator",
    "Run",
    "ShoreInlet",
    "ShutOff",
    "Strainer",
    "Tank",
    "Tee",
    "Zone",
]
