"""What the days are played through with: one build as plain numbers, and the ways to play it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from ...van.kinds.heaters import COOLANT
from ...words.brief import brief
from ..hot_runs.lines import Segment

DAY = 86400.0
Windows = tuple[tuple[float, float], ...]


@brief
@dataclass(frozen=True)
class Options:
    """How the days are played.  Each has a default that says where it comes from.

    ``layers`` and ``mixed_share`` shape the store: with 30 % stirred, about 70 % of it comes
    out hot, the usual figure for usable storage.  ``step_draw`` is the longest step while
    water flows, ``step_rest`` between.  A draw counts as lukewarm ``lukewarm`` kelvins under
    what was wanted; hot has arrived ``arrived`` kelvins under it; nobody waits longer than
    ``patience``.  ``heater_hours``, ``drive_hours`` and ``hookup_hours`` are stretches of the
    day; without ``heater_hours`` the heater is on at all times.
    """

    layers: int = 12
    mixed_share: float = 0.30
    step_draw: float = 60.0
    step_rest: float = 7200.0
    lukewarm: float = 4.0
    arrived: float = 2.0
    patience: float = 180.0
    coolant_limit: float = COOLANT
    heater_hours: tuple[str, ...] = ()
    drive_hours: tuple[str, ...] = ("10:00-11:00",)
    hookup_hours: tuple[str, ...] = ()
    return_line: bool = False


@brief
@dataclass(frozen=True)
class HeaterPlant:
    """A heater as numbers; ``burner_heat`` is what reaches the water, ``loss`` W/K."""

    name: str
    flow_through: bool
    volume: float
    setpoint: float
    differential: float
    element_power: float
    element_draw: float
    burner_heat: float
    burner_electric: float
    fuel_rate: float
    coolant_power: float
    power_least: float
    flow_least: float
    start_delay: float
    loss: float


@brief
@dataclass(frozen=True)
class UsePlant:
    """One habit as numbers.  ``path`` are segments from the heater; empty where all is cold.

    Water is mixed after the first ``mix_at`` segments.  ``share`` is the hot share of a valve
    that was set once, ``setting`` the temperature that a thermostatic valve holds; both are
    None for a tap mixed by hand.  Where nobody ``waits``, the water is taken as it comes.
    """

    name: str
    fixture: str
    per_day: float
    flow: float
    duration: float
    wanted: float | None
    hours: tuple[float, ...]
    spread: float
    grey: bool
    path: tuple[int, ...] = ()
    mix_at: int = 0
    share: float | None = None
    setting: float | None = None
    waits: bool = True


@brief
@dataclass(frozen=True)
class BatteryPlant:
    """Energies in J, powers in W; ``empty`` is the least charge that is to be left in it."""

    full: float
    empty: float
    start: float
    charge_power: float
    charge_hours: Windows
    other_load: float


@brief
@dataclass(frozen=True)
class Plant:
    """One build as numbers, ready to be played through."""

    days: int
    fresh: float
    fresh_start: float
    heel: float
    grey: float
    cold: float
    cabin: float
    heat_per_volume: float
    uses: tuple[UsePlant, ...]
    segments: tuple[Segment, ...] = ()
    heater: HeaterPlant | None = None
    battery: BatteryPlant | None = None
    fuel: float = math.inf
    pump_flow: float = 1e-4
    pump_power: float = 0.0
    wait_limit: float = math.inf
    heater_hours: Windows = ()
    drive_hours: Windows = ()
    hookup_hours: Windows = ()
    options: Options = field(default_factory=Options)
