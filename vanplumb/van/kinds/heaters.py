"""What each kind of heater does, and where its heat comes from.

To add a kind: a row in ``KINDS`` here and its word among the choices of ``Heater.kind``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...formulas.heater import burner_in_thin_air
from ...words.show import show
from ..model import Build
from ..parts import Heater

FLOW_THROUGH_CONTENT = 0.5e-3
"""m³ of water in a heater without a store that does not say (typical, measure yours)."""
FLOW_THROUGH_LOSS = 3.0
"""W/K that the water in a heater without a store loses when it stands (assumed)."""
LOSS_AIR = 293.15
"""K, the air for which a standing loss is stated."""
EXTRA_LOW_VOLTAGE = 50.0
"""V above which an element counts as mains: it can kill (IEC 61140, 50 V a.c.), and the
battery feeds it through an inverter."""
COOLANT = 80 + 273.15
"""How hot an engine's coolant makes a store, K: typical, measure yours."""


@dataclass(frozen=True)
class HeaterKind:
    """What a kind of heater does.

    ``may_store`` tells whether it keeps a store of hot water if it has a content;
    ``needs_store`` and ``needs_coolant`` what the file must say of it; ``follows_flow``
    whether its heat starts and stops with the flow and is modulated.
    """

    name: str
    may_store: bool
    follows_flow: bool
    needs_store: bool
    needs_coolant: bool


KINDS = {
    kind.name: kind
    for kind in (
        HeaterKind("storage", True, False, True, False),
        HeaterKind("flow-through", False, True, False, False),
        HeaterKind("coolant coil", True, False, False, True),
    )
}


THIN_AIR_ABOVE = 609.6
"""m, 2000 ft: from there up a burner gives less than its plate says (NFPA 54, from memory)."""


def at_altitude(build: Build, heater: Heater) -> Heater:
    """The heater as it heats where the van camps: high up its burner is turned down.

    The power of its plate stays that of the plate below 2000 ft.  Its least flame is no
    more than that.
    """
    height = np.asarray(build.van.altitude)
    thin = height > THIN_AIR_ABOVE
    if not burns_fuel(heater) or not np.any(thin):
        return heater
    less = np.where(
        thin, burner_in_thin_air.si(np.asarray(heater.burner_power), height), heater.burner_power
    )
    least = np.minimum(heater.power_least, less)
    if np.ndim(less) == 0:
        return replace(heater, burner_power=float(less), power_least=float(least))
    many: Any = less, least
    return replace(heater, burner_power=many[0], power_least=many[1])


def kind_of(heater: Heater) -> HeaterKind:
    """What a heater's kind does.  KeyError for a kind that nobody has written down."""
    return KINDS[heater.kind]


def follows_flow(heater: Heater) -> bool:
    """Whether it heats while water flows through it, and only then."""
    return kind_of(heater).follows_flow


def has_store(heater: Heater) -> bool:
    """Whether it keeps a store of hot water: a coil in a store is one as much as a boiler."""
    return kind_of(heater).may_store and heater.volume is not None


def has_drain(heater: Heater) -> bool:
    """Whether it is emptied by a drain of its own: as the file says, else a store is."""
    return has_store(heater) if heater.drain is None else bool(heater.drain)


def store_volume(heater: Heater) -> Any:
    """The store's content, m³; zero for a heater without one.  An array for variants."""
    return heater.volume if has_store(heater) else 0.0


def content(heater: Heater) -> Any:
    """The water in a heater, m³: as stated, or the usual little of one without a store."""
    return FLOW_THROUGH_CONTENT if heater.volume is None else heater.volume


def standing_loss(heater: Heater) -> float:
    """What its water loses to the air, W/K."""
    if heater.standing_loss is not None:
        return heater.standing_loss / max(heater.setpoint - LOSS_AIR, 1.0)
    return FLOW_THROUGH_LOSS if follows_flow(heater) else 0.0


@dataclass(frozen=True)
class HeatSource:
    """One source of a heater's heat: ``power`` put in, W, and what of it gets to the water."""

    name: str
    label: str
    power: Any
    efficiency: Any


def sources(heater: Heater) -> tuple[HeatSource, ...]:
    """What heats it, the one that is used first at the front: burner, element, coolant."""
    every = (
        HeatSource("burner", "burner", heater.burner_power, heater.burner_efficiency),
        HeatSource("element", "electric element", heater.element_power, 1.0),
        HeatSource("coolant", "engine coolant", heater.coolant_power, 1.0),
    )
    return tuple(source for source in every if np.any(np.asarray(source.power) > 0))


def first_source(heater: Heater) -> HeatSource | None:
    """The source that heats it in the first place; None where nothing does."""
    found = sources(heater)
    return found[0] if found else None


def first_power(heater: Heater) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Power put in by the first source, W, and its efficiency; arrays if the figures are."""
    burner, element, coolant = (
        np.asarray(p, float)
        for p in (heater.burner_power, heater.element_power, heater.coolant_power)
    )
    power = np.where(burner > 0, burner, np.where(element > 0, element, coolant))
    return power, np.where(burner > 0, heater.burner_efficiency, 1.0)


def most_power(heater: Heater) -> Any:
    """Heat that all its sources give the water together, W."""
    return (
        np.asarray(heater.burner_power) * np.asarray(heater.burner_efficiency)
        + np.asarray(heater.element_power)
        + np.asarray(heater.coolant_power)
    )


def burns_fuel(heater: Heater) -> bool:
    """Whether it has a burner."""
    return bool(np.any(np.asarray(heater.burner_power) > 0))


def on_mains(heater: Heater) -> bool:
    """Whether it has an element that is fed with mains voltage."""
    return bool(np.any(np.asarray(heater.element_power) > 0)) and bool(
        np.any(np.asarray(heater.element_voltage) > EXTRA_LOW_VOLTAGE)
    )


def inverter_efficiency(build: Build, heater: Heater) -> Any:
    """What of the battery's energy gets to the element: an inverter's share, or all of it."""
    if build.battery is None:
        return 1.0
    mains = np.asarray(heater.element_voltage) > EXTRA_LOW_VOLTAGE
    found = np.where(mains, build.battery.inverter_efficiency, 1.0)
    return float(found) if found.ndim == 0 else found


def fuel_kind(build: Build, heater: Heater) -> str:
    """The row of the fuel table that its burner burns; empty where nothing says."""
    return heater.fuel or (build.fuel.kind if build.fuel is not None else "")


def hottest(heater: Heater) -> float:
    """The hottest that a heater's water may get, K.

    A thermostat may be off by as much as its differential (common practice, no source), and
    an engine's coolant knows no thermostat.
    """
    stop = heater.setpoint + heater.differential
    return max(stop, COOLANT) if heater.coolant_power > 0 else stop


def why_hottest(heater: Heater, units: str) -> str:
    """Why its water may get hotter than its setpoint, as a sentence; empty where it does not."""
    if hottest(heater) <= heater.setpoint:
        return ""
    setpoint = show(heater.setpoint, "temperature", units)
    off = show(heater.differential, "rise", units)
    told = f"The setpoint of {heater.name} is {setpoint}"
    if hottest(heater) > heater.setpoint + heater.differential:
        return f"{told}, and the engine's coolant knows none."
    return f"{told}, and its thermostat may stop as much as {off} above that."
