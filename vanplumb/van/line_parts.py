"""Parts that a line passes through beside valves: filters, lamps, softeners, unions and more.

What each kind is to the water stands in the table line_parts; here is what a build file says.
Every dimensional field is a float in SI.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..words.brief import brief
from .entries import TINY, Component, choice, flag, number, quantity, row, texts, typical_kv


@brief
@dataclass(frozen=True, kw_only=True)
class LinePart(Component):
    """One part with an inlet and an outlet; what is not said is taken from its row."""

    kind: str = row("line_parts", required=True, about="what it is")
    kv: float | None = quantity(
        "flow_coefficient", low=TINY, about="clean, flow at a loss of 1 bar; from the table if not"
    )
    clogged_share: float = number("share", 0.0, about="part of it that is blocked")
    content: float | None = quantity("volume", about="water that stands in it")
    flow_most: float | None = quantity("flow", low=TINY, about="above which it does not work")
    life_volume: float | None = quantity("volume", low=TINY, about="water that an element lasts")
    power: float | None = quantity("power", about="while it is on")
    voltage: float | None = quantity("voltage", low=1, high=1000, about="that it runs on")
    hours: tuple[str, ...] = texts(
        form="span", about='when it is on, such as "06:00-23:00"; always if not said'
    )
    bypass: bool = flag(False, about="has a way round it with three valves")
    bypass_length: float | None = quantity(
        "length", low=TINY, about="of the tube of its bypass; neither cut nor bought if not said"
    )
    mass: float | None = quantity("mass", about="empty")


@dataclass(frozen=True, kw_only=True)
class AirVent(Component):
    """A vent at a high point: lets air out while the system is filled, and in when it drains."""

    outlets: ClassVar[tuple[str, ...]] = ()

    kind: str = choice("by hand", "automatic", about="who opens it")


@dataclass(frozen=True, kw_only=True)
class TankSelector(Component):
    """A three-way valve that draws from the one tank or from the other."""

    inlets: ClassVar[tuple[str, ...]] = ("first", "second")

    set_to: str = choice("first", "second", "both", about="the inlet that is open")
    kv: float = typical_kv(2.5)


@brief
@dataclass(frozen=True, kw_only=True)
class RecirculationPump(Component):
    """A small pump that brings cooled hot water back to the heater, so that taps wait less."""

    control: str = choice("timer", "thermostat", "button", required=True, about="what switches it")
    power: float = quantity("power", required=True, about="while it runs")
    head: float = quantity(
        "pressure", 0.1e5, low=TINY, basis="typical, see its plate", about="with nothing flowing"
    )
    flow_most: float = quantity(
        "flow", 8e-3 / 60, low=TINY, basis="typical, see its plate", about="with nothing in its way"
    )
    hours: tuple[str, ...] = texts(
        form="span", about='when its timer lets it run, such as "06:30-08:00"; always if not said'
    )
    running_share: float = number(
        "share",
        0.3,
        basis="assumed",
        about="thermostat or button: part of those hours that it runs",
    )
    mass: float | None = quantity("mass", about="of the pump")
