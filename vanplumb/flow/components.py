"""What each kind of component is to the water: figures of a build turned into links.

Every figure may be an array of shape (variants,), and a name of a table's row may be an
array of names: then what comes out is an array too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..network.network import Curve, Heat
from ..van.model import Build
from ..van.parts import Fixture, Heater, Pump, Tank
from ..van.tank_shapes import full_depth, level, volume
from ..van.trace import ways_to
from ..words.glossary import BAR, GRAVITY
from ..words.tables import table

Figure = Any

SHUT_REST = 0.2e5
"""Pa that opens the valves of a resting diaphragm pump (assumed, measure yours)."""
OWN_CHECK = 2000.0
"""Pa that opens the check built into a mixing valve (assumed, measure yours)."""
REST_KV = 1.0 / 3600
"""Kv of a resting diaphragm pump (assumed, measure yours)."""
CARTRIDGE_SHARE = 0.5
"""Part of a two-supply tap's rated pressure that its cartridge takes, its spout the rest."""
BLOCK_LOSS = 1.0
"""Velocity heads from a ready header into one of its outlets: entrance and turn (assumed)."""


def pick(build: Build, name: str, row: Figure, column: str) -> Figure:
    """A column of a table for one row, or for an array of rows."""
    rows = table(name, build.rows)
    if isinstance(row, str):
        return rows[row].number(column)
    known = {r: rows[r].number(column) for r in dict.fromkeys(np.asarray(row).tolist())}
    return np.array([known[r] for r in np.asarray(row).tolist()])


def fittings_loss(build: Build, fittings: Any) -> float:
    """Velocity heads that a run's fittings take in all."""
    rows = table("fittings", build.rows)
    return float(sum(n * rows[name].number("loss_coefficient") for name, n in fittings))


def valve_loss(build: Build, valve: Figure, opening: Figure) -> tuple[Figure, Figure]:
    """Velocity heads of a shut-off at an opening, and whether it is open at all.

    Between the table's openings the logarithm of K is taken on a straight line; below the
    last it grows with the inverse square of the opening.
    """
    if not isinstance(valve, str):
        names = np.asarray(valve).tolist()
        pairs = [
            valve_loss(build, n, o)
            for n, o in zip(names, np.broadcast_to(opening, len(names)), strict=True)
        ]
        return np.array([float(p[0]) for p in pairs]), np.array([bool(p[1]) for p in pairs])
    row = table("valves", build.rows)[valve]
    openings = np.array(row["openings"])[::-1]
    logs = np.log(np.array(row["loss_coefficients"]))[::-1]
    x = np.asarray(opening, float)
    found: Figure = np.exp(np.interp(x, openings, logs))
    small = np.minimum(np.maximum(x, 1e-3) / openings[0], 1.0)
    found = found / small**2
    return (float(found), bool(x > 0)) if x.ndim == 0 else (found, x > 0)


def water_level(tank: Tank) -> Figure:
    """Height of the water above the tank's floor, as full as it starts; 0 if nobody knows."""
    if tank.shape == "stated" and tank.height is None:
        return 0.0
    held = np.asarray(tank.fill_share) * volume(tank)
    found = level(tank, held)
    return float(found) if np.ndim(found) == 0 else found


def suction_pressure(tank: Tank, density: float) -> Figure:
    """Pressure at the pickup: the column of water above it."""
    if tank.shape == "stated" and tank.height is None:
        return 0.0
    return density * GRAVITY * (water_level(tank) - np.asarray(tank.pickup_height))


def is_dry(tank: Tank) -> Figure:
    """Whether the water stands below the pickup."""
    if tank.shape == "stated" and tank.height is None:
        return np.asarray(tank.fill_share) <= 0
    return water_level(tank) <= np.minimum(tank.pickup_height, full_depth(tank))


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


def own_or_row(build: Build, part: Any, key: str, rows: str, row: Figure, column: str) -> Figure:
    """A part's own figure, or that of its row in a table if the build does not say."""
    own = getattr(part, key)
    if own is not None and not (isinstance(own, tuple) and not own):
        return own
    if row is None or (isinstance(row, str) and row not in table(rows, build.rows)):
        return None
    if isinstance(row, str):
        return table(rows, build.rows)[row][column]
    return pick(build, rows, row, column)


def pump_points(build: Build, pump: Pump) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """Flow, pressure and current of the curve as printed, flow rising; None without a curve."""
    rows = table("pumps", build.rows)
    source: Mapping[str, Any] | None = rows.get(pump.curve) if isinstance(pump.curve, str) else None
    flow = pump.curve_flow or (source or {}).get("curve_flow") or ()
    pressure = pump.curve_pressure or (source or {}).get("curve_pressure") or ()
    current = pump.curve_current or (source or {}).get("curve_current") or ()
    if not flow or len(flow) != len(pressure):
        return None
    order = np.argsort(np.asarray(flow))
    amps = np.asarray(current)[order] if len(current) == len(flow) else np.full(len(flow), np.nan)
    return np.asarray(flow)[order], np.asarray(pressure)[order], amps


def stroke(build: Build, pump: Pump) -> Curve:
    """A foot or hand pump: its mean flow, up to the most that a foot or a hand gives."""
    row = pump.curve if pump.curve in table("pumps", build.rows) else None
    volume_stroke = own_or_row(build, pump, "stroke_volume", "pumps", row, "stroke_volume")
    if volume_stroke is None:
        volume_stroke = 0.15e-3
    flow = np.asarray(volume_stroke) * np.asarray(pump.stroke_rate)
    top = np.asarray(pump.stroke_pressure, float)
    flow, top = np.broadcast_arrays(flow, top)
    return Curve(
        flow=np.stack([0.0 * flow, flow, 1.05 * flow], axis=-1),
        pressure=np.stack([top, 0.95 * top, 0.0 * top], axis=-1),
    )


def pump_curve(build: Build, pump: Pump) -> Curve:
    """The curve at the voltage that the pump gets.  ValueError if nothing gives a curve.

    A direct-current motor's speed at a torque moves with its voltage, and a diaphragm pump's
    flow with its speed: at each pressure the flow moves by as much as that of the open pump.
    """
    if not isinstance(pump.curve, str):
        return _many_curves(build, pump)
    if pump.kind != "electric":
        return stroke(build, pump)
    points = pump_points(build, pump)
    if points is None:
        raise ValueError(f"pump {pump.name!r}: no curve is given, so its flow is unknown")
    flow, pressure, _ = points
    ratio = 1.0
    if pump.supply_voltage is not None:
        ratio = np.asarray(pump.supply_voltage) / np.asarray(pump.voltage)
    moved = flow + flow[-1] * (np.asarray(ratio)[..., None] - 1.0)
    cut_in, cut_out = switch(build, pump)
    return Curve(flow=moved, pressure=pressure, cut_in=cut_in, cut_out=cut_out)


def _many_curves(build: Build, pump: Pump) -> Curve:
    from dataclasses import replace

    names = np.asarray(pump.curve).tolist()
    volts = np.broadcast_to(
        pump.supply_voltage if pump.supply_voltage is not None else np.asarray(pump.voltage),
        len(names),
    )
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
    )


def switch(build: Build, pump: Pump) -> tuple[Figure, Figure]:
    """Cut-in and cut-out pressure; both infinite for a pump without a pressure switch."""
    low = own_or_row(build, pump, "cut_in", "pumps", pump.curve, "cut_in")
    high = own_or_row(build, pump, "cut_out", "pumps", pump.curve, "cut_out")
    if high is None:
        return np.inf, np.inf
    return (high if low is None else low), high


def heat(heater: Heater) -> Heat:
    """A store that is hot gives its setpoint; else the water warms by what the power gives."""
    if heater.kind == "storage":
        return Heat(setpoint=heater.setpoint)
    power = (
        np.asarray(heater.burner_power) * np.asarray(heater.burner_efficiency)
        + np.asarray(heater.element_power)
        + np.asarray(heater.coolant_power)
    )
    return Heat(setpoint=heater.setpoint, power=power, flow_least=heater.flow_least)


def fixture_kv(build: Build, fixture: Fixture) -> tuple[Figure, Figure]:
    """Kv of a fixture as a whole, and the flow that it holds (infinite if it holds none)."""
    flow = own_or_row(build, fixture, "flow", "fixtures", fixture.kind, "flow")
    pressure = own_or_row(
        build, fixture, "flow_pressure", "fixtures", fixture.kind, "flow_pressure"
    )
    limited = fixture.limited
    if limited is None:
        limited = bool(table("fixtures", build.rows)[fixture.kind]["limited"])
    kv = np.asarray(flow) / np.sqrt(np.asarray(pressure) / BAR)
    return (float(kv) if kv.ndim == 0 else kv), (flow if limited else np.inf)


def wanted(build: Build, fixture: Fixture) -> Figure:
    """Temperature that its user sets; None where cold water does."""
    return own_or_row(build, fixture, "temperature", "fixtures", fixture.kind, "temperature")
