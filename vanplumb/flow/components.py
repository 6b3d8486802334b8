"""What each kind of component is to the water: figures of a build turned into links.

Every figure may be an array of shape (variants,), and a name of a table's row may be an
array of names: then what comes out is an array too.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from ..network.links import Figure, Heat
from ..van.kinds import heaters
from ..van.model import Build
from ..van.parts import Fixture, Heater, Tank
from ..van.rows import own_or_row
from ..van.run_ends import picked_losses
from ..van.tank_shapes import full_depth, level, volume
from ..words.glossary import BAR, GRAVITY
from ..words.tables import table

RowName: TypeAlias = str | NDArray[Any]
"""The name of a table's row, or an array of names, shape (variants,)."""

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


def runs_losses(build: Build) -> list[Figure]:
    """Velocity heads that the fittings of each run take in all, on the speed in its tube.

    Those that the build file counts, and the adapters, reducers and tees at its ends that it
    does not.
    """
    rows = table("fittings", build.rows)
    stated = [
        sum(n * rows[name].number("loss_coefficient") for name, n in run.fittings)
        for run in build.run
    ]
    return [one + more for one, more in zip(stated, picked_losses(build), strict=True)]


def valve_loss(build: Build, valve: RowName, opening: Figure) -> tuple[Figure, Figure]:
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


def heat(build: Build, heater: Heater) -> Heat:
    """A store that is hot gives its setpoint; else the water warms by what the power gives."""
    if heaters.has_store(heater):
        return Heat(setpoint=heater.setpoint)
    return Heat(
        setpoint=heater.setpoint,
        power=heaters.most_power(heaters.at_altitude(build, heater)),
        flow_least=heater.flow_least if heaters.follows_flow(heater) else 0.0,
    )


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
