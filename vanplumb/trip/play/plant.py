"""What the days are played through with: one build as plain numbers, and the ways to play it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from ...van.kinds.heaters import COOLANT
from ...words.brief import brief
from ..hot_runs.lines import Segment
from ..hot_runs.waits import ARRIVED
from ..stay.by_level import ByLevel

Windows = tuple[tuple[float, float], ...]


@brief
@dataclass(frozen=True)
class Options:
    """How the days are played.  Each has a default that says where it comes from.

    ``layers`` and ``mixed_share`` shape the store: with 30 % stirred, about 70 % of it comes
    out hot, the usual figure for usable storage.  ``step_draw`` is the longest step while
    water flows, ``step_rest`` between; water that drips for hours is followed in fiftieths of
    its draw, up to ``step_drip``.  A draw counts as lukewarm ``lukewarm`` kelvins under
    what was wanted; hot has arrived ``arrived`` kelvins under it; nobody waits longer than
    ``patience``.  ``heater_hours``, ``drive_hours`` and ``hookup_hours`` are stretches of the
    day; without ``heater_hours`` a heater with no hours of its own is on at all times.
    """

    layers: int = 12
    mixed_share: float = 0.30
    step_draw: float = 60.0
    step_rest: float = 7200.0
    step_drip: float = 900.0
    lukewarm: float = 4.0
    arrived: float = ARRIVED
    patience: float = 180.0
    coolant_limit: float = COOLANT
    heater_hours: tuple[str, ...] = ()
    drive_hours: tuple[str, ...] = ("10:00-11:00",)
    hookup_hours: tuple[str, ...] = ()
    return_line: bool = False


@brief
@dataclass(frozen=True)
class HeaterPlant:
    """A heater as numbers; ``burner_heat`` is what reaches the water, ``loss`` W/K.

    ``hours`` are stretches of the day when it is on, at all times if there are none.  ``carried``
    tells whether it burns the fuel that is counted aboard; ``before`` is the number of the heater
    whose water comes into it, None where cold water does.
    """

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
    hours: Windows = ()
    carried: bool = True
    before: int | None = None


@brief
@dataclass(frozen=True)
class TankPlant:
    """Tanks that find one level, as numbers: ``start`` is what can be pumped, m³.

    ``heel`` stays below the pickups, ``spilt`` ran out before the start.  The ``shore`` has no
    end.
    """

    name: str
    start: float
    heel: float = 0.0
    spilt: float = 0.0
    shore: bool = False


@brief
@dataclass(frozen=True)
class PumpPlant:
    """An electric pump as numbers: its flow and power in use."""

    name: str
    flow: float
    power: float


@brief
@dataclass(frozen=True)
class UsePlant:
    """One habit as numbers.  ``path`` are segments from the heater; empty where all is cold.

    Water is mixed after the first ``mix_at`` segments.  ``share`` is the hot share of a valve
    that was set once, ``setting`` the temperature that a thermostatic valve holds; both are
    None for a tap mixed by hand.  Where nobody ``waits``, the water is taken as it comes.
    ``heater`` is the number of the one that most hot water comes from, ``heaters`` the part of
    each by its number where several give it.  ``hot_from`` and ``cold_from`` are numbers of the
    plant's tanks.  ``hot_parts`` and ``cold_parts`` say what part each gives, by the network as
    full as they start, ``by_level`` as they fall; where those are empty, or say nothing, the first
    that is not gives the water.  ``hot_pumps`` and ``cold_pumps`` are numbers of the pumps that
    lift it.
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
    heater: int = 0
    hot_from: tuple[int, ...] = (0,)
    cold_from: tuple[int, ...] = (0,)
    hot_pumps: tuple[int, ...] = ()
    cold_pumps: tuple[int, ...] = ()
    heaters: tuple[tuple[int, float], ...] = ()
    hot_parts: tuple[tuple[int, float], ...] = ()
    cold_parts: tuple[tuple[int, float], ...] = ()
    by_level: ByLevel | None = None

    @property
    def takes_hot(self) -> bool:
        """Whether hot water is a part of it."""
        return bool(self.path)

    @property
    def takes_cold(self) -> bool:
        """Whether water that no heater warms is a part of it."""
        return not self.path or self.share != 1.0


@brief
@dataclass(frozen=True)
class RoundPlant:
    """A recirculation pump as numbers: its loop begins and ends at the store of a heater.

    ``loss`` is what the loop's runs lose to the cabin's air per kelvin while they are kept warm,
    W/K, ``path`` the segments of the loop, ``hours`` when it runs, at all times if there are none.
    """

    name: str
    heater: int
    loss: float
    path: tuple[int, ...]
    hours: Windows = ()


@brief
@dataclass(frozen=True)
class BatteryPlant:
    """Energies in J, powers in W; ``empty`` is the least charge that is to be left in it.

    ``other_load`` is drawn at all times, each of ``loads`` in its own hours.
    """

    full: float
    empty: float
    start: float
    charge_power: float
    charge_hours: Windows
    other_load: float
    loads: tuple[tuple[float, Windows], ...] = ()


@brief
@dataclass(frozen=True)
class Plant:
    """One build as numbers, ready to be played through.

    The first heater is the one that the van lives by.
    """

    days: int
    tanks: tuple[TankPlant, ...]
    grey: float
    cold: float
    cabin: float
    heat_per_volume: float
    uses: tuple[UsePlant, ...]
    segments: tuple[Segment, ...] = ()
    heaters: tuple[HeaterPlant, ...] = ()
    pumps: tuple[PumpPlant, ...] = ()
    rounds: tuple[RoundPlant, ...] = ()
    battery: BatteryPlant | None = None
    fuel: float = math.inf
    wait_limit: float = math.inf
    drive_hours: Windows = ()
    hookup_hours: Windows = ()
    options: Options = field(default_factory=Options)

    @property
    def fresh(self) -> float:
        """Fresh water that can be pumped at the start, of all tanks."""
        return sum(tank.start for tank in self.tanks)

    @property
    def heel(self) -> float:
        """Fresh water that stays in the tanks."""
        return sum(tank.heel for tank in self.tanks)

    @property
    def burns(self) -> bool:
        """Whether any heater burns fuel."""
        return any(heater.burner_heat > 0 for heater in self.heaters)

    @property
    def stores(self) -> tuple[int, ...]:
        """Numbers of the heaters that keep a store."""
        return tuple(n for n, heater in enumerate(self.heaters) if not heater.flow_through)
