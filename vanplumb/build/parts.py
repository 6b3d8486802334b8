"""The components of a van's water system, as the build file names them.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .fields import (
    choice,
    counts_of_rows,
    flag,
    name,
    number,
    quantities,
    quantity,
    reference,
    row,
    text,
)

PRACTICE = "common practice, no source"

FREEZING, BOILING = 273.15, 373.15
"""Bounds of liquid water at sea level, K."""
COLDEST, HOTTEST = 213.15, 343.15
"""Bounds of the air that a van meets, K (−60 to 70 °C)."""
TINY = 1e-9
"""Low bound of what must be more than nothing."""


@dataclass(frozen=True, kw_only=True)
class Component:
    """Anything that a run can end at.  ``inlets`` and ``outlets`` are its port names."""

    inlets: ClassVar[tuple[str, ...]] = ("inlet",)
    outlets: ClassVar[tuple[str, ...]] = ("outlet",)

    name: str = name()
    note: str = text(about="free remark, printed on the sheet")


@dataclass(frozen=True, kw_only=True)
class Tank(Component):
    """A fresh or grey water tank.  Inside sizes; the heel is what the pickup can't reach."""

    inlets: ClassVar[tuple[str, ...]] = ("fill",)

    holds: str = choice("fresh", "grey")
    shape: str = choice(
        "box",
        "lying cylinder",
        "standing cylinder",
        "stepped box",
        "wedge",
        "stated",
        required=True,
    )
    length: float | None = quantity("length", about="inside, along the van")
    width: float | None = quantity("length", about="inside, across the van")
    height: float | None = quantity("length", about="inside")
    diameter: float | None = quantity("diameter", about="inside, of a cylinder")
    step_length: float | None = quantity("length", about="part of the length over the wheel arch")
    step_height: float | None = quantity("length", about="how much less high the step is")
    height_low: float | None = quantity("length", about="height of a wedge's low end")
    volume: float | None = quantity(
        "volume", about="printed on the tank, or for shape = stated", low=TINY
    )
    wall: float = quantity("thickness", 0.005, basis=PRACTICE, about="wall thickness")
    pickup_height: float = quantity(
        "depth", 0.015, basis=PRACTICE, about="of the suction opening above the tank floor"
    )
    base_height: float = quantity("height", 0.0, basis="floor level", about="of the tank's floor")
    fill_share: float = number("share", 1.0, about="how full it starts")
    vent_diameter: float | None = quantity("diameter", about="bore of the vent")
    fill_diameter: float | None = quantity("diameter", about="bore of the filler")
    mass_empty: float | None = quantity("mass")
    space_length: float | None = quantity("length", about="of the space that the tank must go into")
    space_width: float | None = quantity("length")
    space_height: float | None = quantity("length")
    place: str = choice("cabin", "underfloor", "outside")


@dataclass(frozen=True, kw_only=True)
class Strainer(Component):
    kv: float = quantity("flow_coefficient", 1.5 / 3600, low=TINY, basis="typical, measure yours")
    clogged_share: float = number("share", 0.0, about="part of the mesh that is blocked")


@dataclass(frozen=True, kw_only=True)
class Pump(Component):
    """An electric pump with a pressure switch, or a foot or hand pump by strokes."""

    kind: str = choice("electric", "foot", "hand", required=True)
    curve: str = row("pumps", about="a typical curve from the table")
    curve_flow: tuple[float, ...] = quantities("flow", about="the pump's own curve, in step with")
    curve_pressure: tuple[float, ...] = quantities("pressure")
    curve_current: tuple[float, ...] = quantities("current")
    cut_in: float | None = quantity("pressure", low=0, about="from the table if not said")
    cut_out: float | None = quantity("pressure", low=0, about="from the table if not said")
    voltage: float = quantity(
        "voltage", 12.0, low=1, high=1000, basis=PRACTICE, about="that the curve was taken at"
    )
    supply_voltage: float | None = quantity("voltage", high=1000, about="at the pump's terminals")
    stroke_volume: float | None = quantity(
        "volume", about="foot or hand pump: water per stroke", low=TINY
    )
    stroke_rate: float = quantity(
        "frequency", 40 / 60, basis=PRACTICE, about='strokes per time: "40 1/min"', low=TINY
    )
    stroke_pressure: float = quantity(
        "pressure", 0.7e5, basis=PRACTICE, about="most a foot gives", low=0
    )
    lift: float = quantity("length", 1.8, basis=PRACTICE, about="greatest suction lift")
    check: bool = flag(True, basis=PRACTICE, about="has a check valve of its own")
    mass: float | None = quantity("mass")


@dataclass(frozen=True, kw_only=True)
class CheckValve(Component):
    kv: float = quantity("flow_coefficient", 3.0 / 3600, low=TINY, basis="typical, measure yours")
    cracking: float = quantity("pressure", 2000.0, low=0, basis="typical, measure yours")
    reversed: bool = flag(False, about="fitted the wrong way round: to try what happens")


@dataclass(frozen=True, kw_only=True)
class ShutOff(Component):
    opening: float = number("share", 1.0, about="0 shut, 1 open")
    valve: str = row("valves", "ball")


@dataclass(frozen=True, kw_only=True)
class Accumulator(Component):
    """A vessel with an air cushion, on the cold side or on the hot."""

    outlets: ClassVar[tuple[str, ...]] = ()

    volume: float = quantity("volume", required=True, low=TINY)
    precharge: float = quantity("pressure", required=True, low=0)
    potable: bool = flag(True)
    mass: float | None = quantity("mass")


@dataclass(frozen=True, kw_only=True)
class ShoreInlet(Component):
    """Where a hose brings water under pressure from outside."""

    inlets: ClassVar[tuple[str, ...]] = ()

    pressure: float = quantity("pressure", 4.0e5, basis="assumed, measure at the site", low=0)
    backflow: str = choice("none", "vacuum breaker", "double check", "air gap")


@dataclass(frozen=True, kw_only=True)
class Regulator(Component):
    setting: float = quantity("pressure", required=True, low=0)
    kv: float = quantity("flow_coefficient", 1.2 / 3600, low=TINY, basis="typical, measure yours")


@dataclass(frozen=True, kw_only=True)
class Tee(Component):
    """A branch point.  Any number of runs may meet here."""

    inlets: ClassVar[tuple[str, ...]] = ("any",)
    outlets: ClassVar[tuple[str, ...]] = ("any",)


@dataclass(frozen=True, kw_only=True)
class Manifold(Component):
    """A header.  Its outlets are its zones, each with a shut-off."""

    outlets: ClassVar[tuple[str, ...]] = ()

    side: str = choice("cold", "hot", "mixed", required=True)
    form: str = choice("tees", "block", about="built of tees and stubs, or a ready header")
    tube: str = row("tubes", required=True, about="of the header and its stubs")
    stub: float | None = quantity("length", about="tube between two fittings of the header")


@dataclass(frozen=True, kw_only=True)
class Zone:
    """One outlet of a manifold, with its shut-off."""

    manifold: str = reference(required=True)
    name: str = name("unique in its manifold, without a point")
    valve: str = row("valves", "ball")
    opening: float = number("share", 1.0, about="0 shut, 1 open")


@dataclass(frozen=True, kw_only=True)
class Heater(Component):
    kind: str = choice("storage", "flow-through", "coolant coil", required=True)
    volume: float | None = quantity("volume", about="of the store, or the water inside", low=TINY)
    setpoint: float = quantity("temperature", required=True, low=FREEZING, high=BOILING)
    differential: float = quantity(
        "rise", 5.0, basis="typical, measure yours", low=TINY, about='such as "5 K"'
    )
    element_power: float = quantity("power", 0.0, about="electric, at the element")
    element_voltage: float = quantity("voltage", 230.0, basis="see its plate", low=1, high=1000)
    burner_power: float = quantity("power", 0.0, about="heat in the fuel burned per second")
    burner_efficiency: float = number("efficiency", 0.75, basis="typical, see its plate")
    fuel: str = row("fuels", about="burned by the burner")
    burner_electric: float = quantity("power", 0.0, about="fan and control while burning")
    coolant_power: float = quantity("power", 0.0, about="given by the engine's coolant")
    power_least: float = quantity("power", 0.0, about="least that a flow-through heater burns at")
    flow_least: float = quantity(
        "flow", 0.0, low=0, about="least flow that starts a flow-through heater"
    )
    start_delay: float = quantity("duration", 0.0, about="from flow to fire")
    standing_loss: float | None = quantity("power", about="store at its setpoint, in a 20 °C cabin")
    relief: float | None = quantity("pressure", about="opening pressure of its relief valve", low=0)
    relief_temperature: float | None = quantity("temperature", about="if it opens on heat too")
    pressure_rating: float | None = quantity("pressure", low=0, about="printed on its plate")
    kv: float = quantity("flow_coefficient", 1.5 / 3600, low=TINY, basis="typical, measure yours")
    mass: float | None = quantity("mass", about="empty")
    inlets: ClassVar[tuple[str, ...]] = ("cold",)
    outlets: ClassVar[tuple[str, ...]] = ("hot",)


@dataclass(frozen=True, kw_only=True)
class MixingValve(Component):
    """Set once by hand ("fixed") or holding its outlet by itself ("thermostatic")."""

    inlets: ClassVar[tuple[str, ...]] = ("hot", "cold")
    outlets: ClassVar[tuple[str, ...]] = ("mixed",)

    kind: str = choice("fixed", "thermostatic", required=True)
    setting: float = quantity(
        "temperature",
        required=True,
        about="of the mixed water when set",
        low=FREEZING,
        high=BOILING,
    )
    set_hot: float | None = quantity(
        "temperature", about="of the hot supply when it was set", low=FREEZING, high=BOILING
    )
    set_cold: float | None = quantity(
        "temperature", about="of the cold supply when it was set", low=FREEZING, high=BOILING
    )
    hot_check: bool = flag(False, about="check valve at its hot inlet")
    cold_check: bool = flag(False, about="check valve at its cold inlet")
    kv: float = quantity("flow_coefficient", 1.2 / 3600, low=TINY, basis="typical, measure yours")


@dataclass(frozen=True, kw_only=True)
class Fixture(Component):
    """A point of use.  A tap with both supplies has the ports hot and cold."""

    inlets: ClassVar[tuple[str, ...]] = ("inlet", "hot", "cold")
    outlets: ClassVar[tuple[str, ...]] = ()

    kind: str = row("fixtures", required=True)
    flow: float | None = quantity("flow", low=TINY, about="rated; from the table if not given")
    flow_pressure: float | None = quantity(
        "pressure", about="at which it gives that flow", low=TINY
    )
    limited: bool | None = flag(None, about="holds its flow above that pressure")
    temperature: float | None = quantity(
        "temperature", about="wanted at the outlet", low=FREEZING, high=BOILING
    )
    place: str = choice("cabin", "outside")
    grey: str = reference(about="the tank that its water goes to, if any")
    vulnerable: bool = flag(False, about="used by children, old or ill people")


@dataclass(frozen=True, kw_only=True)
class Run:
    """Tube between two components.  ``start`` and ``end`` are written ``from`` and ``to``."""

    start: str = reference(key="from", required=True, about="where water comes from")
    end: str = reference(key="to", required=True, about="where it goes")
    tube: str = row("tubes", required=True)
    length: float = quantity("length", required=True)
    rise: float = quantity("height", 0.0, basis="level", about="end above start; negative if below")
    fittings: tuple[tuple[str, int], ...] = counts_of_rows("fittings")
    place: str = choice("cabin", "underfloor", "outside")
    insulation: float = quantity("thickness", 0.0, basis="bare", about="thickness of foam")
    joint: str = row("joints", about="method at both ends; the tube's usual one if not said")
    note: str = text()


COMPONENTS: dict[str, type[Component]] = {
    "tank": Tank,
    "strainer": Strainer,
    "pump": Pump,
    "check_valve": CheckValve,
    "shut_off": ShutOff,
    "accumulator": Accumulator,
    "shore_inlet": ShoreInlet,
    "regulator": Regulator,
    "tee": Tee,
    "manifold": Manifold,
    "heater": Heater,
    "mixing_valve": MixingValve,
    "fixture": Fixture,
}

__all__ = [c.__name__ for c in COMPONENTS.values()] + ["COMPONENTS", "Component", "Run", "Zone"]
