"""What each kind of pump does: its curve as printed, its strokes, its pressure switch.

To add a kind: a row in ``KINDS`` here and its word among the choices of ``Pump.kind``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...words.tables import table
from ..model import Build
from ..parts import Pump
from ..rows import own_or_row

Array = NDArray[np.float64]

STROKE_VOLUME = 0.15e-3
"""m³ a stroke of a foot or hand pump that does not say (assumed, measure yours)."""
STROKE_RATE, STROKE_PRESSURE = 40 / 60, 0.7e5
"""1/s and Pa of one that does not say (common practice, no source)."""
VOLTAGE = 12.0
"""V that a curve was taken at, if neither file nor row says (common practice, no source)."""
LIFT = 1.8
"""m that a pump draws up, if neither file nor row says (common practice, no source)."""


@dataclass(frozen=True)
class PumpKind:
    """What a kind of pump does.

    ``by_motor`` tells whether a motor drives it along a curve, draws current and may be
    stopped by a pressure switch; ``by_strokes`` whether a foot or a hand does, up to the
    pressure that it can press.  ``holds`` tells whether the check valve in it is counted on to
    keep water that grows from going back to the tank: a stroke pump's valves weep.
    """

    name: str
    by_motor: bool
    by_strokes: bool
    holds: bool


KINDS = {
    kind.name: kind
    for kind in (
        PumpKind("electric", True, False, True),
        PumpKind("foot", False, True, False),
        PumpKind("hand", False, True, False),
    )
}


def kind_of(pump: Pump) -> PumpKind:
    """What a pump's kind does.  KeyError for a kind that nobody has written down."""
    return KINDS[pump.kind]


def is_electric(pump: Pump) -> bool:
    """Whether a motor drives it: it has a curve, draws current and can be switched."""
    return kind_of(pump).by_motor


def electric(build: Build) -> tuple[Pump, ...]:
    """The pumps of a build that a motor drives."""
    return tuple(pump for pump in build.pump if is_electric(pump))


def has_check(build: Build, pump: Pump) -> bool:
    """Whether it has a check valve of its own: by the file, or its row; else it has.

    ValueError for variants whose rows differ in that: one network can't have both.
    """
    if pump.check is not None:
        return pump.check
    rows = table("pumps", build.rows)
    told = {rows[c]["check"] for c in np.ravel(pump.curve).tolist() if c in rows} or {True}
    if len(told) > 1:
        raise ValueError(
            f"{pump.name}: some of its curves are of pumps with a check valve of their own, some "
            "of pumps without: say check under [[pump]], or compare them apart"
        )
    return told.pop() is not False


def holds_back(build: Build, pump: Pump) -> bool:
    """Whether its own check valve keeps growing water from going back to the tank."""
    return has_check(build, pump) and kind_of(pump).holds


def lift(build: Build, pump: Pump) -> Any:
    """Its greatest suction lift, m: its own, its row's, or the usual."""
    return _own_or_usual(build, pump, "lift", LIFT)


def points(build: Build, pump: Pump) -> tuple[Array, Array, Array] | None:
    """Flow, pressure and current of the curve as printed, flow rising.

    None for a pump by strokes, or where nothing gives a curve; amperes are nan where unsaid.
    """
    if not is_electric(pump):
        return None
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


def curve_voltage(build: Build, pump: Pump) -> Any:
    """V that its curve was taken at: its own, its row's, or the usual."""
    return _own_or_usual(build, pump, "voltage", VOLTAGE)


def supply_voltage(build: Build, pump: Pump) -> Any:
    """V at its terminals: that of its curve if the file does not say."""
    said = pump.supply_voltage
    return curve_voltage(build, pump) if said is None else said


def stroke_volume(build: Build, pump: Pump) -> Any:
    """Water of one stroke, m³: its own, its row's, or the usual."""
    return _own_or_usual(build, pump, "stroke_volume", STROKE_VOLUME)


def stroke_flow(build: Build, pump: Pump) -> Any:
    """Mean flow of a pump by strokes, m³/s."""
    rate = _own_or_usual(build, pump, "stroke_rate", STROKE_RATE)
    return np.asarray(stroke_volume(build, pump)) * np.asarray(rate)


def stroke_pressure(build: Build, pump: Pump) -> Any:
    """The most that a foot or a hand gives, Pa."""
    return _own_or_usual(build, pump, "stroke_pressure", STROKE_PRESSURE)


def _own_or_usual(build: Build, pump: Pump, key: str, usual: float) -> Any:
    found = own_or_row(build, pump, key, "pumps", pump.curve, key)
    return usual if found is None else found


def switch(build: Build, pump: Pump) -> tuple[Any, Any]:
    """Cut-in and cut-out pressure; both infinite for a pump without a pressure switch."""
    low = own_or_row(build, pump, "cut_in", "pumps", pump.curve, "cut_in")
    high = own_or_row(build, pump, "cut_out", "pumps", pump.curve, "cut_out")
    if high is None:
        return np.inf, np.inf
    return (high if low is None else low), high


def has_switch(build: Build, pump: Pump) -> bool:
    """Whether a pressure switch starts and stops it."""
    return is_electric(pump) and bool(np.all(np.isfinite(switch(build, pump)[1])))


def highest(build: Build, pump: Pump) -> tuple[float, str]:
    """The highest pressure that it gives, Pa gauge, and what stops it there."""
    if not is_electric(pump):
        return float(stroke_pressure(build, pump)), f"stroke of {pump.name}"
    if has_switch(build, pump):
        return float(switch(build, pump)[1]), f"cut-out of {pump.name}"
    found = points(build, pump)
    top = float(found[1].max()) if found is not None else 0.0
    return top, f"top of the curve of {pump.name}, which no switch stops"
