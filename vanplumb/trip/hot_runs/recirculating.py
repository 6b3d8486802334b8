"""Hot water that goes round: the flow that a recirculation pump makes, and what that does.

The loop is solved in the network of the van with the pump on its curve, all taps shut and each hot
tap open alone.  What its runs lose on the way is Newton's cooling of water that flows.
"""

from __future__ import annotations

from dataclasses import dataclass

from ...flow.engine import Flow
from ...flow.solving import BuildFlow
from ...flow.van_network import network
from ...formulas.runs_heat import cooled, cooling_constant
from ...formulas.tube import content_per_length
from ...formulas.water import water_density, water_specific_heat
from ...van.model import Build
from ...van.trace import loop, served
from ...words.brief import brief
from ...words.tables import table
from .loss import run_loss

STANDS = 1e-8
"""m³/s: less than this in the loop is no flow."""


@brief
@dataclass(frozen=True)
class AtTap:
    """A hot tap open alone, with the pump at rest and running: m³/s and K."""

    fixture: str
    flow: float
    flow_running: float
    temperature: float
    temperature_running: float


@brief
@dataclass(frozen=True)
class Recirculating:
    """One pump with all taps shut.

    ``flow`` in its loop in m³/s, ``head`` in Pa that it gives there, ``leaves`` and ``returns`` in
    K, ``lost`` in W by the runs of the loop.  ``runs`` are their numbers.
    """

    pump: str
    heater: str
    runs: tuple[int, ...]
    flow: float
    head: float
    leaves: float
    returns: float
    lost: float
    taps: tuple[AtTap, ...] = ()

    @property
    def stands(self) -> bool:
        """Whether nothing goes round: something in the loop is shut, or a check is against it."""
        return self.flow <= STANDS


def recirculating(flow: Flow) -> tuple[Recirculating, ...]:
    """Every recirculation pump that has a loop.  Empty where the van can't be solved."""
    build = flow.build
    loops = [
        (pump, heater, loop(build, heater.name, pump.name))
        for pump in build.recirculation_pump
        for heater in build.heater
    ]
    loops = [one for one in loops if one[2]]
    if not loops or flow.problem:
        return ()
    running = BuildFlow(build, flow.positions, network(build, recirculating=True))
    found = []
    for pump, heater, runs in loops:
        still = running.solve([], name="recirculating")
        link = still.links[pump.name]
        rate = max(link.flow, 0.0)
        taps = []
        for name in (f for f in flow.fixtures if f in served(build, heater.name)):
            one, other = (
                flow.situation_of([name]).fixtures[name],
                running.solve([name]).fixtures[name],
            )
            taps.append(AtTap(name, one.flow, other.flow, one.temperature, other.temperature))
        leaves = float(heater.setpoint)
        returns = way_back(build, runs, leaves, rate)
        held = water_density.si(leaves) * water_specific_heat.si(leaves) * rate
        found.append(
            Recirculating(
                pump.name, heater.name, runs, rate, max(-link.loss, 0.0), leaves, returns,
                float(held * (leaves - returns)), tuple(taps),
            )
        )  # fmt: skip
    return tuple(found)


def way_back(build: Build, runs: tuple[int, ...], leaves: float, flow: float) -> float:
    """Temperature of the water as it is back at the heater, K; that of the air if it stands."""
    air, tubes, now = build.van.cabin, table("tubes", build.rows), leaves
    if flow <= STANDS:
        return air
    for number in runs:
        run = build.run[number]
        row = tubes[run.tube]
        here = float(content_per_length.si(row.number("bore")))
        lost = run_loss(row, run.insulation, now, air, windy=run.place != "cabin")
        # the wall is as warm as it will be: it takes no heat any more
        constant = cooling_constant.si(
            here, water_density.si(now), water_specific_heat.si(now), 0.0, lost.resistance
        )
        now = float(cooled.si(now, air, here * run.length / flow, constant))
    return now
