"""What a pump is to the water: its curve at its voltage, its suction, and what its switch fills.

Every figure may be an array of shape (variants,): then what comes out is an array too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..formulas.heater import drawdown
from ..formulas.pressure import air_pressure
from ..formulas.water import vapour_pressure, water_density
from ..network.links import Curve, Figure, Floats
from ..network.pump_cycle import STEPS, Cycle, Drawn, Suction, cycle_means, pump_flow
from ..van.kinds import pumps
from ..van.model import Build
from ..van.parts import Pump
from ..van.trace import ways_to
from ..words.brief import brief
from ..words.glossary import GRAVITY
from .components import suction_pressure

TUBE_GIVE = 20e-6
"""m³ that tubes, hoses and the pump's head give between cut-out and cut-in where no accumulator
does (assumed)."""


def suction_lifts(build: Build) -> dict[str, Figure]:
    """Height of each pump's inlet above the water of the nearest fresh tank, in m."""
    found: dict[str, Figure] = {}
    for pump in build.pump:
        found[pump.name] = 0.0
        for way in ways_to(build, pump.name):
            tank = next((t for t in build.tank if t.name == way.components[0]), None)
            if tank is not None:
                up = sum((np.asarray(build.run[n].rise) for n in way.runs), np.asarray(0.0))
                found[pump.name] = up - suction_pressure(tank, 1.0) / GRAVITY
                break
    return found


def lift_here(build: Build, pump: Pump) -> Figure:
    """Its greatest suction lift at the van's altitude, m: what it is said to lift at sea level, by
    the pressure of the air, since a pump thins the air before it by so many times."""
    air = air_pressure.si(np.asarray(build.van.altitude)) / air_pressure.si(np.asarray(0.0))
    found = np.asarray(pumps.lift(build, pump)) * np.minimum(air, 1.0)
    return float(found) if np.ndim(found) == 0 else found


def inlet_least(build: Build, pump: Pump) -> Figure:
    """The pressure, Pa gauge, that the pump's inlet can't go below: where its stated lift ends,
    or where the water boils.  Flow is cut there."""
    cold = np.asarray(build.van.cold_water, float)
    by_lift = -water_density.si(cold) * GRAVITY * np.asarray(lift_here(build, pump))
    boils = vapour_pressure.si(cold) - air_pressure.si(np.asarray(build.van.altitude))
    found = np.maximum(by_lift, boils)
    return float(found) if np.ndim(found) == 0 else found


def stored_in_steps(build: Build, cut_in: Figure, cut_out: Figure) -> NDArray[Any]:
    """Water, m³, that is stored in each of ``STEPS`` equal steps of pressure from cut-in to
    cut-out, shape (STEPS,) or (variants, STEPS): that of all accumulators, or of the tubes."""
    low = np.asarray(np.where(np.isfinite(cut_in), cut_in, 0.0), float)[..., None]
    high = np.asarray(np.where(np.isfinite(cut_out), cut_out, 1.0), float)[..., None]
    pressure = low + (high - low) * np.linspace(0.0, 1.0, STEPS + 1)
    air = np.asarray(air_pressure.si(np.asarray(build.van.altitude)))[..., None]
    whole: Any = 0.0 * pressure[..., 1:]
    for vessel in (one for one in build.accumulator if one.name in build.joined):
        charge = np.asarray(vessel.precharge)[..., None]
        volume = np.asarray(vessel.volume)[..., None]
        each = drawdown.si(volume, charge, pressure[..., :-1], pressure[..., 1:], air)
        whole = whole + np.maximum(each, 0.0)
    some = whole.sum(axis=-1, keepdims=True) > 0
    return np.asarray(np.where(some, whole, TUBE_GIVE / STEPS), float)


def stroke(build: Build, pump: Pump) -> Curve:
    """A foot or hand pump: its mean flow, up to the most that a foot or a hand gives."""
    top = np.asarray(pumps.stroke_pressure(build, pump), float)
    flow, top = np.broadcast_arrays(pumps.stroke_flow(build, pump), top)
    return Curve(
        flow=np.stack([0.0 * flow, flow, 1.05 * flow], axis=-1),
        pressure=np.stack([top, 0.95 * top, 0.0 * top], axis=-1),
        inlet_least=inlet_least(build, pump),
    )


def pump_curve(build: Build, pump: Pump) -> Curve:
    """The curve at the voltage that the pump gets.  ValueError if nothing gives a curve.

    A direct-current motor's speed at a torque moves with its voltage, and a diaphragm pump's
    flow with its speed: at each pressure the flow moves by as much as that of the open pump.
    """
    if not isinstance(pump.curve, str):
        return _many_curves(build, pump)
    if not pumps.is_electric(pump):
        return stroke(build, pump)
    points = pumps.points(build, pump)
    if points is None:
        raise ValueError(f"pump {pump.name!r}: no curve is given, so its flow is unknown")
    flow, pressure, _ = points
    ratio = np.asarray(pumps.supply_voltage(build, pump)) / pumps.curve_voltage(build, pump)
    moved = flow + flow[-1] * (np.asarray(ratio)[..., None] - 1.0)
    cut_in, cut_out = pumps.switch(build, pump)
    return Curve(
        flow=moved,
        pressure=pressure,
        cut_in=cut_in,
        cut_out=cut_out,
        stored=stored_in_steps(build, cut_in, cut_out),
        inlet_least=inlet_least(build, pump),
    )


def _many_curves(build: Build, pump: Pump) -> Curve:
    names = np.asarray(pump.curve).tolist()
    volts = np.broadcast_to(pumps.supply_voltage(build, pump), len(names))
    curves = [
        pump_curve(build, replace(pump, curve=str(n), supply_voltage=float(v)))
        for n, v in zip(names, volts, strict=True)
    ]
    most = max(c.flow.shape[-1] for c in curves)
    flows, pressures = [], []
    for c in curves:
        flow, pressure = c.flow, c.pressure
        for _ in range(most - len(flow)):
            flow = np.append(flow, 2 * flow[-1] - flow[-2])
            pressure = np.append(pressure, 2 * pressure[-1] - pressure[-2])
        flows.append(flow)
        pressures.append(pressure)
    return Curve(
        flow=np.stack(flows),
        pressure=np.stack(pressures),
        cut_in=np.array([float(c.cut_in) for c in curves]),
        cut_out=np.array([float(c.cut_out) for c in curves]),
        stored=np.stack([np.asarray(c.stored) for c in curves]),
        inlet_least=inlet_least(build, pump),
    )


@brief
@dataclass(frozen=True)
class SwitchCycle:
    """How a pump's switch works while so much is drawn, without its suction line.

    ``stored`` is the water that flows between cut-out and cut-in before the pump starts, m³.
    """

    curve: Curve

    @cached_property
    def stored(self) -> float:
        return 0.0 if self.curve.stored is None else float(np.sum(self.curve.stored))

    @cached_property
    def most(self) -> float:
        """What the pump gives at its cut-out, m³/s: from there on it runs without a stop."""
        curve = self.curve
        rest = Suction(np.zeros((1, 1)), np.zeros((1, 1)), np.full((1, 1), -np.inf))
        top = np.full((1, 1, 1), float(curve.cut_out))
        return float(
            pump_flow(curve.flow[None, None], curve.pressure[None, None], rest, top)[0, 0, 0]
        )

    def at(self, flow: Floats) -> Cycle:
        """The cycle at drawn flows of shape (n,), m³/s, that hang on the root of the pressure."""
        curve = self.curve
        drawn = np.asarray(flow, float)[:, None]
        same = np.ones_like(drawn)
        low, high = float(curve.cut_in), float(curve.cut_out)
        return cycle_means(
            curve.flow[None, None],
            curve.pressure[None, None],
            low * same,
            high * same,
            np.asarray(curve.stored, float)[None, None],
            Suction(0.0 * same, 0.0 * same, -np.inf * same),
            Drawn(drawn, 0.5 * (low + high) * same, 0.5 * same, 0.0 * same),
        )

    def starts(self, flow: Floats) -> Floats:
        """Starts a second at drawn flows of shape (n,), m³/s; 0 where the pump runs on."""
        drawn = np.asarray(flow, float)
        cycles = (drawn > 0) & (drawn < self.most)
        some = max(0.5 * self.most, 1e-12)  # any flow at all does where the pump runs on
        found = self.at(np.where(cycles, drawn, some)).duration[:, 0]
        return np.where(cycles, 1.0 / found, 0.0)
