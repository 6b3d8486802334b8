"""One mixing valve with its two supplies and its outlet, at one moment and after a drift.

The valve is two openings, hot and cold, that share its Kv between them, and an outlet that
passes its rated flow at its rated pressure.  A valve that is *set once* keeps the openings
that gave the wanted temperature on the day it was set; a *thermostatic* one finds them anew,
as far as its supplies allow.  What the supplies are is given at the valve's own inlets, with
water flowing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from math import sqrt

from ...formulas import mixing
from ...formulas.valves import coefficient_from_test
from ...formulas.water import water_density
from ...words.brief import brief
from ...words.glossary import BAR, DENSITY_REFERENCE
from ...words.show import show
from ...words.work import Work

KINDS = ("fixed", "thermostatic")
LEAST_LEAD = 10.0
"""How much hotter than the setting a thermostatic valve's hot supply must be, K: typical
published figure for thermostatic mixing valves; its own sheet goes first."""
CONTROL_BAND = 2.0
"""How closely a thermostatic valve holds its setting, K either way: typical published figure."""
SHUT_FLOW = 1e-9  # m³/s: less than a drop a minute


@dataclass(frozen=True)
class Supplies:
    """Both supplies at the valve's inlets: temperatures in K, pressures in Pa gauge."""

    temperature_hot: float
    temperature_cold: float
    pressure_hot: float
    pressure_cold: float


@brief
@dataclass(frozen=True)
class Valve:
    """The valve and what it feeds, in SI.

    ``when_set`` are the supplies of the day on which a set-once valve was set; a thermostatic
    one has no use for them.  ``outlet_flow`` is what the outlet gives at ``outlet_pressure``.
    """

    kind: str
    setting: float
    when_set: Supplies
    flow_coefficient: float
    outlet_flow: float
    outlet_pressure: float
    checks: bool = True


@brief
@dataclass(frozen=True)
class MixingState:
    """What a valve does with its supplies.

    ``temperature`` is the outlet's in K, None where nothing flows out.  ``opening`` is the
    hot part of the openings (0 to 1), ``share`` the hot part of the mass that flows out.
    Flows are in m³/s of the water of each side; one below zero runs backwards into its supply.
    ``notes`` say in words what stands out.
    """

    valve: Valve
    supplies: Supplies
    opening: float
    share: float | None
    temperature: float | None
    pressure: float
    flow_hot: float
    flow_cold: float
    flow: float
    notes: tuple[str, ...]

    @property
    def crossing(self) -> bool:
        """Whether one supply is pushed back into the other."""
        return min(self.flow_hot, self.flow_cold) < -SHUT_FLOW


def mixing_state(valve: Valve, supplies: Supplies) -> MixingState:
    """What the valve does with these supplies.

    ValueError if a set-once valve could never have been set so, if a pressure is below zero
    or if the kind is unknown.
    """
    if valve.kind not in KINDS:
        raise ValueError(f'a mixing valve is "fixed" or "thermostatic", not "{valve.kind}"')
    if min(supplies.pressure_hot, supplies.pressure_cold) < 0:
        raise ValueError("a supply's pressure can't be below zero at the valve")
    notes: tuple[str, ...] = ()
    if valve.kind == "fixed":
        opening = opening_when_set(valve)
    else:
        opening, notes = _thermostatic_opening(valve, supplies)
    state = _flows(valve, supplies, opening)
    if valve.kind == "thermostatic" and state.crossing:
        notes += ("the valve can't mix while one supply pushes into the other",)
    return replace(state, notes=_notes(state) + notes)


def opening_when_set(valve: Valve) -> float:
    """Hot part of a set-once valve's openings, from the day it was set.

    ValueError if the setting was out of reach with the supplies of that day.
    """
    day = valve.when_set
    if not day.temperature_cold < valve.setting < day.temperature_hot:
        raise ValueError(
            "the valve can't have been set to that temperature: it must lie between the cold "
            "and the hot supply of the day it was set"
        )
    if min(day.pressure_hot, day.pressure_cold) <= 0:
        raise ValueError("both supplies need pressure on the day the valve is set")
    share = mixing.hot_share.si(valve.setting, day.temperature_hot, day.temperature_cold)
    return _opening_for(valve, day, share)


def kv_outlet(valve: Valve) -> float:
    """Kv of the outlet, from its rated flow at its rated pressure (water as in a rating)."""
    return float(
        coefficient_from_test.si(valve.outlet_flow, valve.outlet_pressure, DENSITY_REFERENCE)
    )


def density(temperature: float) -> float:
    """Density of water of a temperature in K, kg/m³."""
    return float(water_density.si(temperature))


def _thermostatic_opening(valve: Valve, supplies: Supplies) -> tuple[float, tuple[str, ...]]:
    """Opening that gives the setting, or the nearest that the supplies allow, and why."""
    hot, cold = supplies.temperature_hot, supplies.temperature_cold
    if supplies.pressure_cold <= 0:
        return 0.0, (
            "without cold water the valve should shut the hot off; only a test of the valve "
            "shows that it does",
        )
    if supplies.pressure_hot <= 0:
        return 1.0, ("without hot water the outlet runs dry or cold, as the valve is made",)
    if hot <= valve.setting:
        return 1.0, ("the hot supply is cooler than the setting: the valve is fully hot",)
    if cold >= valve.setting:
        return 0.0, ("the cold supply is warmer than the setting: the valve is fully cold",)
    share = mixing.hot_share.si(valve.setting, hot, cold)
    notes: tuple[str, ...] = ()
    if hot - valve.setting < LEAST_LEAD:
        notes = ("the hot supply leads the setting by less than such a valve needs to hold it",)
    return _opening_for(valve, supplies, share), notes


def _opening_for(valve: Valve, supplies: Supplies, share: float) -> float:
    """Hot part of the openings that passes a hot share of the mass.

    The pressure where both join is found by halving: with it, the ratio of the openings
    follows from the share, and too high a pressure lets too little in.
    """
    heavy_hot, heavy_cold = _pushes(supplies)
    ratio = share / (1 - share)
    out = kv_outlet(valve) * sqrt(density(valve.setting) * DENSITY_REFERENCE / BAR)
    opening = share

    def surplus(pressure: float) -> float:
        nonlocal opening
        hot = heavy_hot * sqrt(supplies.pressure_hot - pressure)
        cold = heavy_cold * sqrt(supplies.pressure_cold - pressure)
        opening = ratio * cold / (ratio * cold + hot) if hot + cold > 0 else share
        return valve.flow_coefficient * (opening * hot + (1 - opening) * cold) - out * sqrt(
            pressure
        )

    pressure = _halve(surplus, 0.0, min(supplies.pressure_hot, supplies.pressure_cold))
    surplus(pressure)
    return opening


def _flows(valve: Valve, supplies: Supplies, opening: float) -> MixingState:
    """Pressure where both join, and the flows, for given openings.

    What flows out is as dense as its temperature makes it, which is known only afterwards:
    a few rounds settle that.
    """
    heavy_hot, heavy_cold = _pushes(supplies)
    kv, kv_out = valve.flow_coefficient, kv_outlet(valve)

    def into(drop: float, heavy: float, part: float) -> float:
        if drop < 0:
            return 0.0 if valve.checks else -kv * part * heavy * sqrt(-drop)
        return kv * part * heavy * sqrt(drop)

    def masses(pressure: float) -> tuple[float, float]:
        return (
            into(supplies.pressure_hot - pressure, heavy_hot, opening),
            into(supplies.pressure_cold - pressure, heavy_cold, 1 - opening),
        )

    def surplus(out: float, pressure: float) -> float:
        return sum(masses(pressure)) - out * sqrt(pressure)

    most = max(supplies.pressure_hot, supplies.pressure_cold)
    share = temperature = None
    outlet = valve.setting
    pressure = hot = cold = 0.0
    for _ in range(4):
        out = kv_out * sqrt(density(outlet) * DENSITY_REFERENCE / BAR)
        pressure = _halve(partial(surplus, out), 0.0, most)
        hot, cold = masses(pressure)
        if hot + cold <= SHUT_FLOW * DENSITY_REFERENCE:
            break
        share = min(max(hot / (hot + cold), 0.0), 1.0)
        temperature = outlet = float(
            mixing.temperature_from_share.si(
                share, supplies.temperature_hot, supplies.temperature_cold
            )
        )
    return MixingState(
        valve=valve,
        supplies=supplies,
        opening=opening,
        share=share,
        temperature=temperature,
        pressure=pressure,
        flow_hot=hot / density(supplies.temperature_hot),
        flow_cold=cold / density(supplies.temperature_cold),
        flow=(hot + cold) / density(outlet) if share is not None else 0.0,
        notes=(),
    )


def _pushes(supplies: Supplies) -> tuple[float, float]:
    """Mass flow per Kv and per root of pressure drop, hot and cold."""
    hot, cold = density(supplies.temperature_hot), density(supplies.temperature_cold)
    return sqrt(hot * DENSITY_REFERENCE / BAR), sqrt(cold * DENSITY_REFERENCE / BAR)


def _notes(state: MixingState) -> tuple[str, ...]:
    if state.temperature is None:
        return ("nothing flows out",)
    if state.crossing:
        weak, strong = ("hot", "cold") if state.flow_hot < 0 else ("cold", "hot")
        return (f"{strong} water runs back into the {weak} supply: there is no check valve",)
    return ()


def _halve(surplus: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero, to the last bit that matters."""
    for _ in range(70):
        middle = 0.5 * (low + high)
        if surplus(middle) > 0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


DRIFT = 10.0  # K, up and down

SMALL_FALL, GREAT_FALL = 0.05, 1 / 3  # of a supply's pressure


@brief
@dataclass(frozen=True)
class Drift:
    """One thing that changes about a supply, and what the valve does then."""

    label: str
    state: MixingState


@lru_cache(maxsize=16)
def drifts(state: MixingState, units: str = "SI") -> tuple[Drift, ...]:
    """What the outlet does when one supply changes and the valve is left alone.

    ``units`` is for the labels.  A supply is not cooled below 1 °C nor heated above 99 °C.
    """
    now = state.supplies
    by = show(DRIFT, "rise", units)
    hot, cold = now.temperature_hot, now.temperature_cold
    cases = [
        (f"hot supply {by} hotter", replace(now, temperature_hot=min(hot + DRIFT, 372.15))),
        (f"hot supply {by} cooler", replace(now, temperature_hot=max(hot - DRIFT, 274.15))),
        (f"cold supply {by} warmer", replace(now, temperature_cold=min(cold + DRIFT, 372.15))),
        (f"cold supply {by} cooler", replace(now, temperature_cold=max(cold - DRIFT, 274.15))),
    ]
    for side, label in (("cold", "cold pressure"), ("hot", "hot pressure")):
        key = f"pressure_{side}"
        push = getattr(now, key)
        for fall, told in ((SMALL_FALL, "5 % lower"), (GREAT_FALL, "a third lower")):
            cases.append((f"{label} {told}", replace(now, **{key: push * (1 - fall)})))
    cases.append(("cold supply shut", replace(now, pressure_cold=0.0)))
    cases.append(("hot supply shut", replace(now, pressure_hot=0.0)))
    return tuple(Drift(label, mixing_state(state.valve, supplies)) for label, supplies in cases)


def pressure_work(state: MixingState) -> Work | None:
    """Worked steps of the pressure where both join; None unless both supplies flow in."""
    least = min(state.supplies.pressure_hot, state.supplies.pressure_cold)
    if not 0 < state.opening < 1 or not 0 < state.pressure < least or state.temperature is None:
        return None
    kv, by_mass = state.valve.flow_coefficient, mixing.kv_by_mass.si
    hot, cold = state.supplies.temperature_hot, state.supplies.temperature_cold
    return mixing.joined_pressure.work(
        flow_coefficient_hot=by_mass(kv * state.opening, density(hot)),
        flow_coefficient_cold=by_mass(kv * (1 - state.opening), density(cold)),
        flow_coefficient_outlet=by_mass(kv_outlet(state.valve), density(state.temperature)),
        pressure_hot=state.supplies.pressure_hot,
        pressure_cold=state.supplies.pressure_cold,
    )


def temperature_works(state: MixingState, *, short: bool = False) -> tuple[Work, ...]:
    """Worked steps of the outlet temperature, as far as both supplies flow into it.

    If ``short``, the pressure where both join is not worked out but proved: with it, what
    leaves by the outlet is what both openings let in.
    """
    joined = pressure_work(state)
    if joined is None or state.temperature is None:
        return ()
    valve, now = state.valve, state.supplies
    works = []
    if valve.kind == "fixed":
        day = valve.when_set
        works.append(
            mixing.hot_share.work(
                temperature_mixed=valve.setting,
                temperature_hot=day.temperature_hot,
                temperature_cold=day.temperature_cold,
            )
        )
        if short and day.pressure_hot == day.pressure_cold:
            works.append(
                mixing.opening_for_share.work(
                    share_hot=works[0].value,
                    density_hot=density(day.temperature_hot),
                    density_cold=density(day.temperature_cold),
                )
            )
    if not short:
        works.append(joined)
    masses = []
    for part, temperature, pressure in (
        (state.opening, now.temperature_hot, now.pressure_hot),
        (1 - state.opening, now.temperature_cold, now.pressure_cold),
    ):
        opening = mixing.kv_of_opening.work(flow_coefficient=valve.flow_coefficient, share=part)
        mass = mixing.valve_mass_flow.work(
            flow_coefficient=opening.value,
            density=density(temperature),
            pressure_loss=pressure - state.pressure,
        )
        works += [opening, mass]
        masses.append(mass.value)
    if short:
        leaves = mixing.valve_mass_flow.work(
            flow_coefficient=kv_outlet(valve),
            density=density(state.temperature),
            pressure_loss=state.pressure,
        )
        works.append(leaves)
    works.append(
        mixing.mixed_temperature.work(
            mass_flow_hot=masses[0],
            mass_flow_cold=masses[1],
            temperature_hot=now.temperature_hot,
            temperature_cold=now.temperature_cold,
        )
    )
    return tuple(works)
