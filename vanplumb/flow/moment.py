"""From arrays to one moment: every fixture, pump, link and node by name, and why if not.

One moment of a build: what flows where, how warm and under what pressure, by plain names.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf, isfinite, nan, pi
from typing import Any

import numpy as np

from ..formulas.pressure import air_pressure
from ..formulas.water import vapour_pressure, water_density
from ..network.solution import Solution
from ..van.kinds import heaters, pumps
from ..van.kinds.fixtures import rated_flow
from ..words.brief import brief
from ..words.glossary import GRAVITY
from ..words.show import to_figures
from . import components as parts
from .pumps import lift_here
from .van_network import BuildNetwork


@brief
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


RUNNING, CYCLING, RESTING = "running", "cycling", "resting"
STALLED, STARVED, OFF = "stalled", "starved", "off"
"""Running on its curve; started and stopped by its switch; kept off by its switch; pushing with
nothing drawn; cut by its suction, whose pressure can't fall further; switched off or dry."""


@brief
@dataclass(frozen=True)
class PumpState:
    """A pump: flow in m³/s, pressures in Pa gauge, ``rise`` from inlet to outlet.

    ``state`` is one of ``PUMP_STATES``.  ``cycling``: its switch stops and starts it; then all
    figures are means over filling and drawing, ``share_running`` is the part of the time that
    it runs and ``starts`` how often a second it starts.  ``lift`` is the suction at its inlet
    as a column of water in m, ``lift_most`` what it can do; ``npsh`` the net
    positive suction head in m.
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
    state: str = RUNNING

    @property
    def rise(self) -> float:
        return self.outlet - self.inlet

    @property
    def power(self) -> float:
        """Electric power, W."""
        return self.current * self.voltage


@brief
@dataclass(frozen=True)
class LinkState:
    """One link: m³/s and kg/s from start to end, Pa, K.

    ``loss`` is start less end; ``left`` is what remains when the parts are taken from it.
    ``coefficient`` is the loss coefficient of its fittings, ``kv`` the Kv of its valve as it
    stands (infinite without one).  ``place`` is the run's in the build, −1 if it is none.
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
    place: int = -1

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


TRICKLE = 2e-6
"""m³/s (0.12 L/min) at a valve's outlet: less is no use of it."""
BARELY = 1e-4
"""Share of a burner's least flow above it at which a little less hot water puts it out."""
NOTHING = 1e-9
"""m³/s: less than a drop a minute counts as no flow."""


def _at(figure: Any, i: int) -> float:
    """One variant of a figure."""
    a = np.asarray(figure, float)
    return float(a) if a.ndim == 0 else float(a[i] if len(a) > 1 else a[0])


def read_out(
    made: BuildNetwork,
    solution: Solution,
    i: int,
    open: tuple[str, ...],
    source: str,
    name: str,
) -> Moment:
    """The ``i``-th variant of a solution."""
    pressure, warm = solution.pressure.row(i), solution.temperature.row(i)
    links = _links(made, solution, i, pressure, warm)
    nodes = _nodes(made, links, pressure, warm)
    fixtures = {}
    for part in made.build.fixture:
        link = links[part.name]
        supply = made.taps[part.name]
        inlet = links[supply[1]].start if len(supply) > 1 else link.start
        at = pressure[link.start if link.flow > NOTHING else inlet]
        fixtures[part.name] = Outlet(
            name=part.name,
            open=part.name in open,
            flow=link.flow if part.name in open else 0.0,
            temperature=warm[link.start] if link.flow > NOTHING else nan,
            pressure=at,
            wanted=_at(rated_flow(made.build, part), i),
        )
    pumps = {n: _pump(made, solution, i, n, links, pressure, warm) for n in made.pumps}
    positions = {n: float(solution.positions[i, k]) for k, n in enumerate(made.mixers)}
    # Where less than a drop a minute creeps, nothing flows, however its warmth may wander.
    still = all(abs(link.flow) < NOTHING for link in links.values())
    found = bool(solution.found[i]) or still
    return Moment(
        name=name,
        open=open,
        source=source,
        found=found,
        reasons=tuple(
            [*_chattering(made, found, links, i)]
            or [
                *_reasons(made, found, open, source, fixtures, pumps, i),
                *_just_lit(made, fixtures, links, i),
            ]
        ),
        fixtures=fixtures,
        pumps=pumps,
        links=links,
        nodes=nodes,
        positions=positions,
        imbalance=float(solution.imbalance[i]),
    )


def _links(
    made: BuildNetwork,
    solution: Solution,
    i: int,
    pressure: dict[str, float],
    warm: dict[str, float],
) -> dict[str, LinkState]:
    found: dict[str, LinkState] = {}
    flows, densities = solution.mass_flow.row(i), solution.density.row(i)
    viscosities, live = solution.viscosity.row(i), solution.live.row(i)
    shares = _shares(solution, i)
    for link in solution.layout.links:
        mass, dense, thick = flows[link.name], densities[link.name], viscosities[link.name]
        start, end = pressure[link.start], pressure[link.end]
        tube = np.max(np.asarray(link.length)) > 0 or np.max(np.asarray(link.loss)) > 0
        bore = _at(link.diameter, i) if tube else 0.0
        reynolds = 4 * abs(mass) / (np.pi * bore * thick) if bore else nan
        share = shares.get(link.name, 1.0)
        lost: dict[str, float] = {}
        left, factor = 0.0, nan
        special = link.curve is not None or link.setting is not None
        if live[link.name] and not special:
            lost = solution.parts_of(link, i)
            lost["valve"] = lost["valve"] / share**2
            left = start - end - sum(lost.values())
            length = _at(link.length, i)
            if length > 0 and reynolds > 0:
                speed = mass / dense / (np.pi / 4 * bore**2)
                factor = lost["friction"] / (length / bore * dense * speed * abs(speed) / 2)
        found[link.name] = LinkState(
            name=link.name,
            kind=link.kind,
            place=link.place,
            title=made.titles[link.place] if link.place >= 0 else link.name,
            start=link.start,
            end=link.end,
            flow=mass / dense,
            mass_flow=mass,
            temperature=warm[link.start if mass >= 0 else link.end],
            density=dense,
            viscosity=thick,
            diameter=bore,
            reynolds=reynolds,
            factor=factor,
            loss=start - end,
            parts={n: v for n, v in lost.items() if v},
            left=left,
            coefficient=_at(link.loss, i),
            kv=_at(link.kv, i) * share,
        )
    return found


def _shares(solution: Solution, i: int) -> dict[str, float]:
    """How far each way of a mixing valve is open, by its link."""
    found: dict[str, float] = {}
    for k, mixer in enumerate(solution.layout.net.mixers):
        position = float(solution.positions[i, k])
        found |= {mixer.hot: position, mixer.cold: 1.0 - position}
    return found


def _nodes(
    made: BuildNetwork,
    links: dict[str, LinkState],
    pressure: dict[str, float],
    warm: dict[str, float],
) -> dict[str, NodeState]:
    inflow = dict.fromkeys(pressure, 0.0)
    left = dict.fromkeys(pressure, 0.0)
    for link in links.values():
        left[link.start] -= link.mass_flow
        left[link.end] += link.mass_flow
        inflow[link.end if link.mass_flow > 0 else link.start] += abs(link.mass_flow)
    held = made.net.held
    return {
        n: NodeState(n, pressure[n], warm[n], inflow[n], 0.0 if n in held else left[n])
        for n in pressure
    }


def _pump(
    made: BuildNetwork,
    solution: Solution,
    i: int,
    name: str,
    links: dict[str, LinkState],
    pressure: dict[str, float],
    warm: dict[str, float],
) -> PumpState:
    build = made.build
    part = next(p for p in build.pump if p.name == name)
    link = links[name]
    inlet, outlet = pressure[f"{name}.inlet"], pressure[f"{name}.outlet"]
    curve = made.net.link(name).curve
    assert curve is not None
    cut_in, cut_out = _at(curve.cut_in, i), _at(curve.cut_out, i)
    cycling = bool(_at(solution.cycling[name], i))
    resting = bool(_at(solution.resting[name], i)) or (cycling and link.flow < NOTHING)
    starved = bool(_at(solution.starved[name], i))
    live = bool(_at(solution.live[name], i))
    runs = live and not resting and link.flow > NOTHING
    share = (_at(solution.running_share[name], i) if cycling else 1.0) if runs else 0.0
    amps = 0.0
    printed = pumps.points(build, part)
    if printed is not None and runs:
        pushes = _at(solution.filling_pressure[name], i) if cycling else outlet
        amps = float(np.interp(pushes - inlet, printed[1][::-1], printed[2][::-1])) * share
    if starved:
        state = STARVED
    elif resting:
        state = RESTING
    elif not live:
        state = OFF
    else:
        state = CYCLING if cycling else RUNNING if runs else STALLED
    air = float(air_pressure.si(_at(build.van.altitude, i)))
    at = warm[f"{name}.inlet"]
    dense = float(water_density.si(at))
    volts = pumps.supply_voltage(build, part)
    return PumpState(
        name=name,
        running=runs,
        flow=link.flow,
        inlet=inlet,
        outlet=outlet,
        current=amps,
        voltage=_at(volts, i),
        cycling=cycling and runs,
        share_running=share,
        starts=1.0 / _at(solution.cycle_duration[name], i) if cycling and runs else 0.0,
        lift=max(-column(inlet, dense), 0.0),
        lift_most=_at(lift_here(build, part), i),
        npsh=column(inlet + air - float(vapour_pressure.si(at)), dense),
        cut_in=cut_in,
        cut_out=cut_out,
        state=state,
    )


def _chattering(
    made: BuildNetwork, found: bool, links: dict[str, LinkState], i: int
) -> Iterator[str]:
    """Burners that go out as soon as they are lit: lit, they get less than their least flow."""
    units = made.build.van.units
    for heater in made.build.heater:
        least = _at(heater.flow_least, i) if heaters.follows_flow(heater) else 0.0
        gets = abs(links[heater.name].flow)
        if not found and NOTHING < gets < least:
            yield (
                f"no steady state: the burner of {heater.name} lights and goes out again for ever; "
                f"unlit, enough flows through it, lit {to_figures(gets, 'flow', units)}, and "
                f"it needs {to_figures(least, 'flow', units)}"
            )


def _just_lit(
    made: BuildNetwork, fixtures: dict[str, Outlet], links: dict[str, LinkState], i: int
) -> Iterator[str]:
    """A tap open alone that was set as cold as it gets with the burner lit, and is too warm yet."""
    units = made.build.van.units
    opened = [f for f in fixtures.values() if f.open]
    if len(opened) != 1 or opened[0].name not in made.mixers:
        return
    [tap] = opened
    wished = _at(made.net.mixers[made.mixers.index(tap.name)].setting, i)
    for heater in made.build.heater:
        least = _at(heater.flow_least, i) if heaters.follows_flow(heater) else 0.0
        gets = abs(links[heater.name].flow)
        if 0 < least <= gets < (1 + BARELY) * least and tap.temperature > wished + 0.05:
            yield (
                f"{tap.name} can't be set to {to_figures(wished, 'temperature', units)}: with a "
                f"little less hot water the burner of {heater.name} goes out"
            )


def _reasons(
    made: BuildNetwork,
    found: bool,
    open: tuple[str, ...],
    source: str,
    fixtures: dict[str, Outlet],
    pumps: dict[str, PumpState],
    i: int,
) -> list[str]:
    reasons = []
    if not found:
        reasons.append(
            "no steady state: a heater that starts at a flow and a valve chase each other"
            if any(_at(h.flow_least, i) > 0 for h in made.build.heater)
            else "no steady state: warm and cold water in standing lines keep changing places"
        )
    if not open:
        reasons.append("every fixture is shut, so nothing flows")
    flows = any(f.flow > NOTHING for f in fixtures.values())
    if open and not flows:
        dry = bool(made.tanks) and all(bool(np.ravel(parts.is_dry(t))[-1]) for t in made.tanks)
        if source == "pump" and dry:
            reasons.append("the water stands below the pickup: the pump runs dry")
        else:
            for pump in pumps.values():
                if source == "pump" and not pump.running:
                    reasons.append(
                        f"{pump.name} can't reach the water: it lies deeper than it can lift"
                        if _at(made.lifts[pump.name], i) > pump.lift_most
                        else f"{pump.name} gets no water: its suction is shut"
                        if pump.state == STARVED
                        else f"{pump.name} gives no pressure"
                    )
    reasons += [
        f"the flow of {p.name} is cut by its suction: its inlet can't go lower than where its lift "
        "ends or the water boils"
        for p in pumps.values()
        if p.state == STARVED and p.flow > NOTHING
    ]
    if open and flows:
        reasons += [
            f"no water comes out of {f.name}"
            for f in fixtures.values()
            if f.open and f.flow < NOTHING
        ]
    elif open and not reasons:
        reasons.append("nothing pushes water to an open fixture")
    return reasons
