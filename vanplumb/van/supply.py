"""The supply: from the tank and the shore inlet to the manifolds or the trunk.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..words.brief import brief
from .entries import (
    BOILING,
    FREEZING,
    PRACTICE,
    TINY,
    Component,
    choice,
    flag,
    number,
    quantities,
    quantity,
    reference,
    row,
    typical_kv,
)


@brief
@dataclass(frozen=True, kw_only=True)
class Tank(Component):
    """A fresh or grey water tank.  Inside sizes; the heel is what the pickup can't reach."""

    inlets: ClassVar[tuple[str, ...]] = ("fill",)

    holds: str = choice("fresh", "grey", about="what is in it")
    shape: str = choice(
        "box",
        "lying cylinder",
        "standing cylinder",
        "stepped box",
        "wedge",
        "stated",
        required=True,
        about="see the keys that each shape needs",
    )
    length: float | None = quantity("length", about="inside, along the van")
    width: float | None = quantity("length", about="inside, across the van")
    height: float | None = quantity("length", about="inside")
    diameter: float | None = quantity("diameter", about="inside, of a cylinder")
    heads: str = choice(
        "flat",
        "torispherical",
        "ellipsoidal",
        "hemispherical",
        about="ends of a cylinder; its length or height is over them",
    )
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
    overflow_diameter: float | None = quantity(
        "diameter", about="bore of an overflow that leads outside, apart from the vent"
    )
    fill_hose: float | None = quantity(
        "length", low=TINY, about="of the hose from its filler; not bought if not said"
    )
    vent_hose: float | None = quantity(
        "length", low=TINY, about="of the hose of its vent; not bought if not said"
    )
    overflow_hose: float | None = quantity(
        "length", low=TINY, about="of the hose of its overflow; not bought if not said"
    )
    mass_empty: float | None = quantity("mass", about="of the tank itself")
    space_length: float | None = quantity("length", about="of the space that the tank must go into")
    space_width: float | None = quantity("length", about="across the van")
    space_height: float | None = quantity("length", about="upwards")
    place: str = choice("cabin", "underfloor", "outside", about="where it hangs or stands")


@dataclass(frozen=True, kw_only=True)
class Strainer(Component):
    kv: float = typical_kv(1.5, "clean")
    clogged_share: float = number("share", 0.0, about="part of the mesh that is blocked")


@brief
@dataclass(frozen=True, kw_only=True)
class Pump(Component):
    """An electric pump with a pressure switch, or a foot or hand pump by strokes."""

    kind: str = choice("electric", "foot", "hand", required=True, about="what drives it")
    curve: str = row("pumps", about="a typical curve from the table")
    curve_flow: tuple[float, ...] = quantities(
        "flow", about="the pump's own curve, in step with curve_pressure"
    )
    curve_pressure: tuple[float, ...] = quantities(
        "pressure", about="in step with curve_flow, rising from nothing"
    )
    curve_current: tuple[float, ...] = quantities("current", about="in step with curve_flow")
    cut_in: float | None = quantity("pressure", low=0, about="from the table if not said")
    cut_out: float | None = quantity("pressure", low=1e4, about="from the table if not said")
    voltage: float | None = quantity(
        "voltage", low=1, high=1000, about="that the curve was taken at; from the table if not said"
    )
    supply_voltage: float | None = quantity("voltage", high=1000, about="at the pump's terminals")
    stroke_volume: float | None = quantity(
        "volume", about="foot or hand pump: water per stroke", low=TINY
    )
    stroke_rate: float | None = quantity(
        "frequency", about='strokes per time: "40 1/min"; from the table if not said', low=TINY
    )
    stroke_pressure: float | None = quantity(
        "pressure", about="most a foot or hand gives; from the table if not said", low=0
    )
    lift: float | None = quantity(
        "length", about="greatest suction lift; from the table if not said"
    )
    check: bool | None = flag(
        None, about="has a check valve of its own; from the table if not said"
    )
    in_tank: str = reference(about="the tank that it hangs in; then no run leads to it")
    mass: float | None = quantity("mass", about="of the pump")


@dataclass(frozen=True, kw_only=True)
class CheckValve(Component):
    kv: float = typical_kv(3.0, "open")
    cracking: float = quantity(
        "pressure", 2000.0, low=0, basis="typical, measure yours", about="pressure that opens it"
    )
    reversed: bool = flag(False, about="fitted the wrong way round: to try what happens")


@dataclass(frozen=True, kw_only=True)
class ShutOff(Component):
    opening: float = number("share", 1.0, about="0 shut, 1 open")
    valve: str = row("valves", "ball", about="kind of valve")


@dataclass(frozen=True, kw_only=True)
class DrainValve(Component):
    """A valve at a low point, shut in service, that lets the system run out into the open."""

    outlets: ClassVar[tuple[str, ...]] = ()

    kind: str = choice(
        "by hand",
        "in frost",
        about="who opens it: somebody, or its own spring when it gets cold",
    )
    opens_below: float = quantity(
        "temperature",
        276.15,
        basis="typical, see its plate",
        low=FREEZING,
        high=BOILING,
        about="at which one in frost opens by itself",
    )
    place: str = choice("outside", "underfloor", "cabin", about="where it lets the water go")


@brief
@dataclass(frozen=True, kw_only=True)
class Accumulator(Component):
    """A vessel with an air cushion, on the cold side or on the hot."""

    outlets: ClassVar[tuple[str, ...]] = ()

    volume: float = quantity("volume", required=True, low=TINY, about="of the whole vessel")
    precharge: float = quantity(
        "pressure", required=True, low=0, about="of the air, with no water in it"
    )
    potable: bool = flag(True, about="fit for drinking water")
    pressure_rating: float | None = quantity("pressure", low=0, about="printed on its plate")
    mass: float | None = quantity("mass", about="of the vessel")


@dataclass(frozen=True, kw_only=True)
class ShoreInlet(Component):
    """Where a hose brings water under pressure from outside."""

    inlets: ClassVar[tuple[str, ...]] = ()

    pressure: float = quantity(
        "pressure", 4.0e5, basis="assumed, measure at the site", low=0, about="of the site"
    )
    backflow: str = choice(
        "none",
        "vacuum breaker",
        "double check",
        "air gap",
        about="what keeps van water out of the mains",
    )


@dataclass(frozen=True, kw_only=True)
class Regulator(Component):
    setting: float = quantity("pressure", required=True, low=0, about="pressure behind it")
    kv: float = typical_kv(1.2, "open")
