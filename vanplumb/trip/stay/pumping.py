"""What the pump gives and draws in use, and how often its pressure switch starts it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...flow.pumps import TUBE_GIVE, SwitchCycle, pump_curve
from ...formulas.heater import drawdown
from ...formulas.pressure import air_pressure
from ...van.kinds import pumps
from ...van.main_parts import main_pump
from ...van.model import Build
from ...van.parts import Pump
from ...words.brief import brief
from ...words.tables import table
from ...words.work import Work, total

Array = NDArray[np.float64]


@brief
@dataclass(frozen=True)
class Pumping:
    """A pump between its cut-in and cut-out; ``power`` is zero for a foot or hand pump.

    ``give`` is the water that flows between cut-out and cut-in before the pump starts; ``cycle``
    says how its switch works, None where it has none.
    """

    name: str
    flow: float
    voltage: float
    current: float
    give: float
    basis: str
    work: tuple[Work, ...] = ()
    cycle: SwitchCycle | None = None

    @property
    def power(self) -> float:
        return self.voltage * self.current


def pumping(build: Build) -> Pumping | None:
    """The pump that the van lives by, halfway from cut-in to cut-out; None without one."""
    pump = main_pump(build)
    return pumping_of(build, pump) if pump is not None else None


def pumping_of(build: Build, pump: Pump) -> Pumping:
    """One pump of a build, halfway from its cut-in to its cut-out."""
    row = table("pumps", build.rows).get(pump.curve)
    if not pumps.is_electric(pump):
        flow = float(pumps.stroke_flow(build, pump))
        return Pumping(pump.name, flow, 0.0, 0.0, 0.0, "strokes of the file")
    own = bool(pump.curve_flow)
    if not own and row is None:
        raise ValueError(f"pump {pump.name!r}: says neither a curve of the table nor its own")
    pressures = np.array(pump.curve_pressure if own else row["curve_pressure"])  # type: ignore[index]
    currents = np.array(pump.curve_current or (row["curve_current"] if row else ()) or (6.0,))
    if len(currents) != len(pressures):
        currents = np.full(len(pressures), currents.mean())
    curve = pump_curve(build, pump)
    low, high = switch_pressures(build, pump)
    usual = (low + high) / 2 if high > 0 else pressures[len(pressures) // 2]
    order = np.argsort(pressures)
    give, work = _give(build, low, high)
    return Pumping(
        name=pump.name,
        flow=max(float(np.interp(-usual, -curve.pressure, curve.flow)), 1e-6),
        voltage=float(pumps.supply_voltage(build, pump)),
        current=float(np.interp(usual, pressures[order], currents[order])),
        give=give,
        basis="its own curve" if own else row.basis,  # type: ignore[union-attr]
        work=work,
        cycle=SwitchCycle(curve) if high > 0 else None,
    )


def switch_pressures(build: Build, pump: Pump) -> tuple[float, float]:
    """Cut-in and cut-out of a pump, gauge; zeros without a switch."""
    if not pumps.has_switch(build, pump):
        return 0.0, 0.0
    low, high = pumps.switch(build, pump)
    return float(low), float(high)


def _give(build: Build, low: float, high: float) -> tuple[float, tuple[Work, ...]]:
    """Water between cut-out and cut-in: of all accumulators, or the little of the tubes."""
    works: list[Work] = []
    parts: list[tuple[str, float]] = []
    air = float(air_pressure.si(build.van.altitude))
    for vessel in (one for one in build.accumulator if one.name in build.joined or not build.run):
        first = min(vessel.precharge, high)
        lower = max(low, first)
        if high > lower:
            one = drawdown.work(
                volume=vessel.volume,
                pressure_precharge=first,
                pressure_in=lower,
                pressure_out=high,
                pressure_absolute_air=air,
            )
            works.append(one)
            parts.append((vessel.name, one.value))
    if len(works) == 1:
        return works[0].value, tuple(works)
    whole = total("volume_small", parts or [("tubes", TUBE_GIVE)])
    return whole.value, (*works, whole)


def starts(volume: Array, flow: Array, pump: Pumping) -> Array:
    """Pump starts in draws of these volumes at these flows; a trickle makes many.

    Each cycle gives the water that is held ready, and what flows on while the pump refills it.
    At a flow as great as the pump's at its cut-out it starts once and runs on; without a
    pressure switch it starts once a draw.
    """
    if pump.power <= 0:
        return np.zeros_like(volume)
    if pump.cycle is None:
        return np.where(volume > 0, 1.0, 0.0)
    each = volume / np.maximum(flow, 1e-12)
    rate = pump.cycle.starts(np.ravel(flow)).reshape(np.shape(flow))
    return np.where(volume > pump.give, np.maximum(1.0, each * rate), volume / pump.give)
