"""One heater and a row of showers: from cold to hot, shower after shower, and hot again."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from ...formulas.heater import flow_through_rise, heat_to_warm, heating_time, recovery, usable_hot
from ...formulas.mixing import mixed_yield
from ...formulas.water import water_density, water_specific_heat
from ...van.kinds.heaters import FLOW_THROUGH_CONTENT, FLOW_THROUGH_LOSS, LOSS_AIR
from ...van.kinds.heaters import KINDS as HEATERS
from ...words.unit_table import DAY
from ...words.work import Work
from ..hot_runs.lines import Segment
from ..hot_runs.plug import Array
from ..stay.heaters import USABLE_SHARE
from .draws import planned
from .outcome import Outcome
from .plant import HeaterPlant, Options, Plant, TankPlant, UsePlant
from .simulate import simulate
from .timeline import track

TAP = Segment("at the tap", 1e-5, 1.3e-5, 1000.0, 293.15)
"""Next to no run: this is about the heater."""
AFTER = 4 * 3600.0
"""s that are looked at after the last shower."""
SETTLE = 120.0
"""s between the store being hot and the first shower."""


@dataclass(frozen=True)
class Shower:
    """One shower of the row: when it ran and how warm it was on the whole, K."""

    start: float
    end: float
    warmth: float
    lukewarm: bool


@dataclass(frozen=True)
class Session:
    """A heater and its showers; SI.  Times in s from switching on.

    ``heat_time`` and ``recovered`` are None where the heater never gets there; for a
    flow-through heater both are zero.  ``time``, ``top``, ``mean`` and ``outlet`` are what
    was kept after each step.
    """

    heater: HeaterPlant
    cold: float
    wanted: float
    flow: float
    minutes: float
    showers: tuple[Shower, ...]
    heat_time: float | None
    recovered: float | None
    power: float
    time: Array
    top: Array
    mean: Array
    outlet: Array
    outcome: Outcome
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def warm(self) -> int:
        """Showers that were warm."""
        return sum(not one.lukewarm for one in self.showers)


def session(
    *,
    kind: str = "storage",
    volume: float = 0.015,
    setpoint: float = 333.15,
    differential: float = 5.0,
    burner_power: float = 3500.0,
    efficiency: float = 0.75,
    element_power: float = 0.0,
    standing_loss: float = 45.0,
    start_delay: float = 4.0,
    flow_least: float = 3e-5,
    cold: float = 288.15,
    cabin: float = 293.15,
    wanted: float = 313.15,
    flow: float = 1e-4,
    duration: float = 180.0,
    count: int = 3,
    gap: float = 120.0,
) -> Session:
    """Switch the heater on, let it get hot, then shower after shower.

    Burner and element heat together.  ValueError where nothing heats, or the setpoint is not
    above the cold water.
    """
    power = burner_power * efficiency + element_power
    if power <= 0:
        raise ValueError("the heater has neither a burner nor an element that heats")
    if setpoint <= cold + 1.0:
        raise ValueError("the setpoint is not above the cold water")
    if wanted <= cold:
        raise ValueError("the shower that is wanted is not warmer than the cold water")
    through = HEATERS[kind].follows_flow
    loss = FLOW_THROUGH_LOSS if through else standing_loss / max(setpoint - LOSS_AIR, 1.0)
    heater = HeaterPlant(
        name="heater",
        flow_through=through,
        volume=FLOW_THROUGH_CONTENT if through else volume,
        setpoint=setpoint,
        differential=differential,
        element_power=0.0,
        element_draw=0.0,
        burner_heat=power,
        burner_electric=0.0,
        fuel_rate=0.0,
        coolant_power=0.0,
        power_least=0.0,
        flow_least=flow_least if through else 0.0,
        start_delay=start_delay if through else 0.0,
        loss=loss,
    )
    mean = (cold + setpoint) / 2
    density, warmth = float(water_density.si(cold)), float(water_specific_heat.si(mean))
    works = _works(heater, power, density, warmth, cold, wanted, flow)
    heat_time = 0.0 if through else _time_from_cold(heater, power, density * warmth, cold, cabin)
    first = (heat_time if heat_time is not None else DAY / 4) + SETTLE
    hours = tuple(first + k * (duration + gap) for k in range(count))
    last = hours[-1] + duration if hours else first
    days = (last + AFTER) / DAY
    use = UsePlant(
        name="shower",
        fixture="shower",
        per_day=float(count),
        flow=flow,
        duration=duration,
        wanted=wanted,
        hours=hours,
        spread=0.0,
        grey=False,
        path=(0,),
        mix_at=1,
    )
    plant = Plant(
        days=1000,
        tanks=(TankPlant("tank", 1e3),),
        grey=math.inf,
        cold=cold,
        cabin=cabin,
        heat_per_volume=density * warmth,
        uses=(use,),
        segments=(TAP,),
        heaters=(heater,),
        options=Options(step_draw=15.0, step_rest=300.0),
    )
    outcome = simulate(plant, planned(plant, 1), days=days, record=True)
    return _read(outcome, heater, heat_time, power, works, duration, wanted, flow)


def _time_from_cold(
    heater: HeaterPlant, power: float, heat_per_volume: float, cold: float, cabin: float
) -> float | None:
    """Time from cold to the setpoint with the losses; None if it never gets there."""
    capacity = heat_per_volume * heater.volume
    rate = max(heater.loss / capacity, 1e-12)
    most = power / (capacity * rate)
    above = heater.setpoint - cabin
    if most <= above:
        return None
    return math.log((most - (cold - cabin)) / (most - above)) / rate


def _works(
    heater: HeaterPlant,
    power: float,
    density: float,
    warmth: float,
    cold: float,
    wanted: float,
    flow: float,
) -> dict[str, Work]:
    rise = heater.setpoint - cold
    works = {
        "recovery": recovery.work(
            power=power, efficiency=1.0, density=density, specific_heat=warmth, rise=rise
        )
    }
    if heater.flow_through:
        works["rise"] = flow_through_rise.work(
            power=power, efficiency=1.0, density=density, specific_heat=warmth, flow=flow
        )
        return works
    works["heat"] = heat_to_warm.work(
        density=density, volume=heater.volume, specific_heat=warmth, rise=rise
    )
    works["time"] = heating_time.work(heat=works["heat"].value, power=power, efficiency=1.0)
    works["usable"] = usable_hot.work(volume=heater.volume, share_usable=USABLE_SHARE)
    if cold < wanted < heater.setpoint:
        works["yield"] = mixed_yield.work(
            volume_hot=works["usable"].value,
            temperature_hot=heater.setpoint,
            temperature_cold=cold,
            temperature_mixed=wanted,
        )
    return works


def _read(
    outcome: Outcome,
    heater: HeaterPlant,
    heat_time: float | None,
    power: float,
    works: dict[str, Work],
    duration: float,
    wanted: float,
    flow: float,
) -> Session:
    kept = track(outcome)
    starts = outcome.start[0]
    ends = starts + outcome.wait[0] + duration
    showers = tuple(
        Shower(float(a), float(b), float(w), int(s) == 2)
        for a, b, w, s in zip(starts, ends, outcome.warmth[0], outcome.state[0], strict=True)
    )
    last = float(ends.max(initial=0.0))
    recovered: float | None = 0.0
    if not heater.flow_through:
        again = (kept["time"] >= last) & (kept["mean"] >= heater.setpoint - 0.05)
        at = kept["time"][again]
        recovered = float(at[0]) - last if len(at) else None
    stay = last + min((recovered if recovered else 600.0) * 1.15 + 300.0, AFTER)
    shown = kept["time"] <= stay
    return Session(
        heater=heater,
        cold=outcome.plant.cold,
        wanted=wanted,
        flow=flow,
        minutes=duration / 60,
        showers=showers,
        heat_time=heat_time,
        recovered=recovered,
        power=power,
        time=kept["time"][shown],
        top=kept["top"][shown],
        mean=kept["mean"][shown],
        outlet=np.where(np.isfinite(kept["outlet"]), kept["outlet"], np.nan)[shown],
        outcome=outcome,
        works=works,
    )
