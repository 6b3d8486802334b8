"""One moment of a build: what flows where, how warm and under what pressure, by plain names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf, isfinite, nan, pi

from ..words.glossary import GRAVITY


@dataclass(frozen=True)
class Outlet:
    """A fixture: m³/s, K, Pa gauge in front of it.  ``wanted`` is the flow it is rated for."""

    name: str
    open: bool
    flow: float
    temperature: float
    pressure: float
    wanted: float
    setting: float = nan


@dataclass(frozen=True)
class PumpState:
    """A pump: flow in m³/s, pressures in Pa gauge, ``rise`` from inlet to outlet.

    ``cycling``: its switch stops and starts it; then flow and current are means over time,
    ``share_running`` is the part of the time that it runs and ``starts`` how often a second
    it starts (NaN without an accumulator).  ``lift`` is the suction at its inlet as a column
    of water in m, ``lift_most`` what it can do; ``npsh`` the net positive suction head in m.
    """

    name: str
    running: bool
    flow: float
    inlet: float
    outlet: float
    current: float
    voltage: float
    cycling: bool
    share_running: float
    starts: float
    lift: float
    lift_most: float
    npsh: float
    cut_in: float = inf
    cut_out: float = inf

    @property
    def rise(self) -> float:
        return self.outlet - self.inlet

    @property
    def power(self) -> float:
        """Electric power, W."""
        return self.current * self.voltage


@dataclass(frozen=True)
class LinkState:
    """One link: m³/s and kg/s from start to end, Pa, K.

    ``loss`` is start less end; ``left`` is what remains when the parts are taken from it.
    ``coefficient`` is the loss coefficient of its fittings, ``kv`` the Kv of its valve as it
    stands (infinite without one).
    """

    name: str
    kind: str
    title: str
    start: str
    end: str
    flow: float
    mass_flow: float
    temperature: float
    density: float
    viscosity: float
    diameter: float
    reynolds: float
    factor: float
    loss: float
    parts: dict[str, float] = field(default_factory=dict)
    left: float = 0.0
    coefficient: float = 0.0
    kv: float = inf

    @property
    def velocity(self) -> float:
        """m/s in the link's tube; NaN where it has no diameter."""
        return abs(self.flow) / (pi / 4 * self.diameter**2) if self.diameter > 0 else nan


@dataclass(frozen=True)
class NodeState:
    """One node: Pa gauge (NaN where nothing reaches), K, and kg/s that do not balance."""

    name: str
    pressure: float
    temperature: float
    inflow: float
    left: float


@dataclass(frozen=True)
class Moment:
    """A build at one moment, with some fixtures open.

    ``reasons`` says why something does not flow or why there is no answer; empty if all is
    well.  ``imbalance`` is the greatest mass flow that does not balance, over the greatest
    flow.  ``source`` is "pump", "shore" or "gravity".
    """

    name: str
    open: tuple[str, ...]
    source: str
    found: bool
    reasons: tuple[str, ...]
    fixtures: dict[str, Outlet]
    pumps: dict[str, PumpState]
    links: dict[str, LinkState]
    nodes: dict[str, NodeState]
    positions: dict[str, float]
    imbalance: float

    def __repr__(self) -> str:
        return f"Moment {self.name}: open {', '.join(self.open) or 'nothing'}"

    @property
    def opened(self) -> Iterator[Outlet]:
        """The open fixtures."""
        return (f for f in self.fixtures.values() if f.open)

    @property
    def flow(self) -> float:
        """All that leaves through fixtures, m³/s."""
        return sum(f.flow for f in self.fixtures.values())


def column(pressure: float, density: float) -> float:
    """Height of water that a pressure holds, m."""
    return pressure / (density * GRAVITY) if isfinite(pressure) else nan
