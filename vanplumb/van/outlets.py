"""From the manifolds or the trunk to the taps: headers, heat, mixing, fixtures, runs.

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
    TINY,
    Component,
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
    texts,
    typical_kv,
)


@dataclass(frozen=True, kw_only=True)
class Tee(Component):
    """A branch point.  Any number of runs may meet here."""

    inlets: ClassVar[tuple[str, ...]] = ("any",)
    outlets: ClassVar[tuple[str, ...]] = ("any",)


@dataclass(frozen=True, kw_only=True)
class Manifold(Component):
    """A header.  Its outlets are its zones, each with a shut-off."""

    outlets: ClassVar[tuple[str, ...]] = ()

    side: str = choice("cold", "hot", "mixed", required=True, about="what it carries")
    form: str = choice(
        "tees",
        "block",
        "fewest joints",
        about="built of tees and stubs, a ready header, or that of both with fewer joints",
    )
    tube: str = row("tubes", required=True, about="of the header and its stubs")
    stub: float | None = quantity("length", about="tube between two fittings of the header")


@dataclass(frozen=True, kw_only=True)
class Zone:
    """One outlet of a manifold, with its shut-off."""

    manifold: str = reference(required=True, about="the manifold that it belongs to")
    name: str = name("unique in its manifold, without a point")
    valve: str = row("valves", "ball", about="its shut-off")
    opening: float = number("share", 1.0, about="0 shut, 1 open")


@brief
@dataclass(frozen=True, kw_only=True)
class Heater(Component):
    kind: str = choice(
        "storage", "flow-through", "coolant coil", required=True, about="how it heats"
    )
    volume: float | None = quantity("volume", about="of the store, or the water inside", low=TINY)
    setpoint: float = quantity(
        "temperature", required=True, low=FREEZING, high=BOILING, about="at which it stops heating"
    )
    differential: float = quantity(
        "rise",
        5.0,
        basis="typical, measure yours",
        low=TINY,
        about="how far it cools before it heats again",
    )
    hours: tuple[str, ...] = texts(
        form="span", about='when it is on, "06:30-08:00"; the crew\'s heater_hours if not said'
    )
    element_power: float = quantity("power", 0.0, about="electric, at the element")
    element_voltage: float = quantity(
        "voltage", 230.0, basis="see its plate", low=1, high=1000, about="that the element needs"
    )
    burner_power: float = quantity("power", 0.0, about="heat in the fuel burned per second")
    burner_efficiency: float = number(
        "efficiency",
        0.75,
        basis="typical, see its plate",
        about="heat into the water over heat in the fuel",
    )
    fuel: str = row("fuels", about="burned by the burner")
    burner_electric: float = quantity("power", 0.0, about="fan and control while burning")
    coolant_power: float = quantity("power", 0.0, about="given by the engine's coolant")
    power_least: float = quantity("power", 0.0, about="least that a flow-through heater burns at")
    flow_least: float = quantity(
        "flow", 0.0, low=0, about="least flow that starts a flow-through heater"
    )
    start_delay: float = quantity("duration", 0.0, about="from the first flow to the burner on")
    standing_loss: float | None = quantity("power", about="store at its setpoint, in a 20 °C cabin")
    bypass: str = choice(
        "none", "one valve", "three valves", about="a way round it for winter, and how it is shut"
    )
    bypass_open: bool = flag(False, about="the bypass stands open: to try what happens")
    bypass_length: float | None = quantity(
        "length", low=TINY, about="of the tube of its bypass; neither cut nor bought if not said"
    )
    relief_drain: str = choice(
        "not said",
        "outside, downward, in sight",
        "under the floor",
        "into the grey tank",
        "into the cabin",
        "capped",
        about="where the drain of its relief valve ends",
    )
    relief_drain_length: float | None = quantity(
        "length", low=TINY, about="of that drain's tube; neither cut nor bought if not said"
    )
    drain: bool | None = flag(None, about="has a drain of its own; a store has if not said")
    relief: float | None = quantity("pressure", about="opening pressure of its relief valve", low=0)
    relief_temperature: float | None = quantity("temperature", about="if it opens on heat too")
    relief_capacity: float | None = quantity(
        "power", low=TINY, about="heat that its relief valve can carry off, by the valve's plate"
    )
    relief_flow: float | None = quantity(
        "flow", low=TINY, about="water that its relief valve can let out, by the valve's plate"
    )
    pressure_rating: float | None = quantity("pressure", low=0, about="printed on its plate")
    kv: float = typical_kv(1.5)
    mass: float | None = quantity("mass", about="empty")
    inlets: ClassVar[tuple[str, ...]] = ("cold",)
    outlets: ClassVar[tuple[str, ...]] = ("hot",)


@brief
@dataclass(frozen=True, kw_only=True)
class MixingValve(Component):
    """Set once by hand ("fixed") or holding its outlet by itself ("thermostatic")."""

    inlets: ClassVar[tuple[str, ...]] = ("hot", "cold")
    outlets: ClassVar[tuple[str, ...]] = ("mixed",)

    kind: str = choice(
        "fixed",
        "thermostatic",
        required=True,
        about="set once by hand, or holds its outlet by itself",
    )
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
    kv: float = typical_kv(1.2)


@brief
@dataclass(frozen=True, kw_only=True)
class Fixture(Component):
    """A point of use.  A tap with both supplies has the ports hot and cold."""

    inlets: ClassVar[tuple[str, ...]] = ("inlet", "hot", "cold")
    outlets: ClassVar[tuple[str, ...]] = ()

    kind: str = row("fixtures", required=True, about="what it is")
    flow: float | None = quantity("flow", low=TINY, about="rated; from the table if not given")
    flow_pressure: float | None = quantity(
        "pressure", about="at which it gives that flow", low=TINY
    )
    limited: bool | None = flag(None, about="holds its flow above that pressure")
    temperature: float | None = quantity(
        "temperature", about="wanted at the outlet", low=FREEZING, high=BOILING
    )
    place: str = choice("cabin", "outside", about="where it is used")
    grey: str = reference(about="the tank that its water goes to, if any")
    vulnerable: bool = flag(False, about="used by children, old or ill people")
    backflow: bool = flag(False, about="has a backflow device, or ends above any water")
    mass: float | None = quantity("mass", about="of the fixture; typical of its sort if not said")


@brief
@dataclass(frozen=True, kw_only=True)
class Run:
    """Tube between two components.  ``start`` and ``end`` are written ``from`` and ``to``."""

    start: str = reference(key="from", required=True, about="where water comes from")
    end: str = reference(key="to", required=True, about="where it goes")
    tube: str = row("tubes", required=True, about="size and sort")
    length: float = quantity("length", required=True, about="all the way, bends too")
    rise: float = quantity("height", 0.0, basis="level", about="end above start; negative if below")
    fittings: tuple[tuple[str, int], ...] = counts_of_rows("fittings", about="in the run, by kind")
    place: str = choice("cabin", "underfloor", "outside", about="the coldest place that it passes")
    insulation: float = quantity("thickness", 0.0, basis="bare", about="thickness of foam")
    clip_spacing: float | None = quantity(
        "length", about="greatest distance between its clips; as close as asked if not said"
    )
    joint: str = row("joints", about="method at both ends; the tube's usual one if not said")
    legs: tuple[float, ...] = quantities(
        "length", about="from end to elbow to end, centre to centre; even ones if not said"
    )
    corners: str = choice(
        "as the shop makes them",
        "bent",
        "elbows",
        about="bent tube or elbows in this run, whatever bend_corners under [shop] says",
    )
    start_fittings: tuple[str, ...] = texts(
        about="from what it comes from to the tube, instead of those that the kit picks"
    )
    end_fittings: tuple[str, ...] = texts(
        about="from where it goes to the tube, instead of those that the kit picks"
    )
    note: str = text(about="free remark, printed on the lists")
