"""One build as plain numbers for the days and nights."""

from __future__ import annotations

import math

from ...formulas.water import water_density, water_specific_heat
from ...trip.hot_runs.lines import Segment
from ...van.kinds import heaters, line_parts, mixing_valves
from ...van.kinds.mixing_valves import share_when_set
from ...van.main_parts import feeding_tanks
from ...van.model import Build
from ...van.parts import Heater
from ...van.trace import loop
from ...words.tables import table
from ..hot_runs.loss import run_loss
from ..hot_runs.paths import LEAST_SHARE, Way, segments, ways
from ..stay.budget import fuel_carried, heater_of
from ..stay.habits import Habit, fixture_flow, habits, window
from ..stay.pumping import pumping
from ..stay.tanks import TankFacts, tank_facts
from .plant import BatteryPlant, HeaterPlant, Options, Plant, UsePlant

MEALS = (7.5 * 3600.0, 12.5 * 3600.0, 19.0 * 3600.0)
DRINKING = "drinking and cooking"
WAIT = 60.0
"""s that a wait for hot water may last where the build sets no limit (assumed)."""


class PlantError(ValueError):
    """A build that says too little to be played through; the message lists it all."""


def make_plant(build: Build, options: Options | None = None) -> Plant:
    """The plant of a build.  PlantError or HabitError list what is missing."""
    chosen = options or options_of(build)
    heater = heater_of(build)
    tanks = tank_facts(build)
    feeding = {tank.name for tank in feeding_tanks(build)}
    fresh = sum(t.usable for t in tanks if t.name in feeding)
    cold = build.van.cold_water
    hot = heater.setpoint if heater is not None else cold + 30.0
    mean = (cold + hot) / 2
    all_habits = habits(build)
    used = {habit.fixture for habit in all_habits}
    found = ways(build, heater) if heater is not None else {}
    parts, paths, before = segments(build, found, used, hot)
    uses = [
        _use(build, habit, heater, found.get(habit.fixture), paths, before) for habit in all_habits
    ]
    drinking = _drinking(build)
    if drinking is not None:
        uses.append(drinking)
    # Of uses at one hour the order of the file decides nothing: the coldest and thinnest first.
    uses.sort(key=lambda use: _order(use, parts))
    pump = pumping(build)
    battery = build.battery
    return Plant(
        days=max(build.crew.nights, 1),
        fresh=fresh,
        fresh_start=fresh,
        heel=sum(t.heel for t in tanks if t.name in feeding),
        grey=_grey_room(build, tanks),
        cold=cold,
        cabin=build.van.cabin,
        # Volumes are those of the cold water that was drawn, so its density goes with them.
        heat_per_volume=float(water_density.si(cold) * water_specific_heat.si(mean)),
        uses=tuple(uses),
        segments=parts,
        heater=_heater(build, heater) if heater is not None else None,
        battery=None
        if battery is None
        else BatteryPlant(
            full=battery.whole_capacity * battery.voltage,
            empty=battery.whole_capacity * battery.voltage * (1 - battery.usable),
            start=battery.whole_capacity * battery.voltage * battery.start_share,
            charge_power=battery.charge_current * battery.voltage,
            charge_hours=tuple(window(text) for text in battery.charge_hours),
            other_load=line_parts.other_load(build),
        ),
        fuel=_fuel(build, heater),
        pump_flow=pump.flow if pump is not None else 1e-4,
        pump_power=pump.power if pump is not None else 0.0,
        wait_limit=build.limits.wait if build.limits.wait is not None else WAIT,
        heater_hours=tuple(window(text) for text in chosen.heater_hours),
        drive_hours=tuple(window(text) for text in chosen.drive_hours),
        hookup_hours=tuple(window(text) for text in chosen.hookup_hours),
        options=chosen,
    )


def options_of(build: Build) -> Options:
    """How the days are played: with the hours that the build says, else the usual ones."""
    crew, usual = build.crew, Options()
    return Options(
        heater_hours=crew.heater_hours or usual.heater_hours,
        drive_hours=crew.drive_hours or usual.drive_hours,
        hookup_hours=crew.hookup_hours or usual.hookup_hours,
    )


def _grey_room(build: Build, tanks: tuple[TankFacts, ...]) -> float:
    """Room in the grey tanks at the start; endless without one.  Empty unless said."""
    room, some = 0.0, False
    for tank, facts in zip(build.tank, tanks, strict=True):
        if tank.holds == "grey":
            some = True
            said = f"tank.{tank.name}.fill_share" in build.given
            room += facts.volume * (1.0 - (tank.fill_share if said else 0.0))
    return room if some else math.inf


def _use(
    build: Build,
    habit: Habit,
    heater: Heater | None,
    way: Way | None,
    paths: dict[str, tuple[int, ...]],
    before: dict[str, int],
) -> UsePlant:
    wanted, waits = habit.temperature, True
    share = setting = None
    path: tuple[int, ...] = ()
    mix_at = 0
    if heater is not None and way is not None:
        if wanted is None and not way.cold_too:
            wanted, waits = way.valve.setting if way.valve is not None else heater.setpoint, False
        if wanted is not None:
            path, mix_at = paths[habit.fixture], before[habit.fixture]
        if way.valve is not None and mixing_valves.holds_outlet(way.valve):
            setting = way.valve.setting
        elif way.valve is not None:
            cold = build.van.cold_water
            share = max(share_when_set(way.valve, heater.setpoint, cold), LEAST_SHARE)
        elif not way.cold_too:
            share = 1.0
    return UsePlant(
        name=habit.name,
        fixture=habit.fixture,
        per_day=habit.per_day,
        flow=habit.flow,
        duration=habit.duration,
        wanted=wanted,
        hours=habit.hours,
        spread=habit.spread,
        grey=bool(habit.grey),
        path=path,
        mix_at=mix_at,
        share=share if path else None,
        setting=setting if path else None,
        waits=waits,
    )


def _order(use: UsePlant, parts: tuple[Segment, ...]) -> tuple[float, ...]:
    held = sum(parts[i].held for i in use.path)
    return (use.wanted or 0.0, use.flow, use.duration, use.per_day, held, *use.hours)


def _drinking(build: Build) -> UsePlant | None:
    """What the crew drinks and cooks with, at three meals."""
    volume = build.crew.drinking * build.crew.people
    if volume <= 0:
        return None
    taps = [f for f in build.fixture if f.place == "cabin"] or list(build.fixture)
    tap = min(taps, key=lambda f: fixture_flow(build, f), default=None)  # the thinnest
    flow = fixture_flow(build, tap) if tap is not None else 1e-4
    return UsePlant(
        name=DRINKING,
        fixture=tap.name if tap is not None else "",
        per_day=float(len(MEALS)),
        flow=flow,
        duration=volume / len(MEALS) / flow,
        wanted=None,
        hours=MEALS,
        spread=0.15,
        grey=False,
    )


def _heater(build: Build, heater: Heater) -> HeaterPlant:
    through = heaters.follows_flow(heater)
    if not through and not heaters.has_store(heater):
        raise PlantError(f"heater {heater.name!r}: needs a volume to be played through days")
    heater = heaters.at_altitude(build, heater)
    rows = table("fuels", build.rows)
    kind = heaters.fuel_kind(build, heater)
    rate = heater.burner_power / rows[kind].number("heating_value") if kind in rows else 0.0
    return HeaterPlant(
        name=heater.name,
        flow_through=through,
        volume=heaters.content(heater),
        setpoint=heater.setpoint,
        differential=max(heater.differential, 0.5),
        element_power=heater.element_power,
        element_draw=heater.element_power / heaters.inverter_efficiency(build, heater),
        burner_heat=heater.burner_power * heater.burner_efficiency,
        burner_electric=heater.burner_electric,
        fuel_rate=rate,
        coolant_power=heater.coolant_power,
        power_least=heater.power_least * heater.burner_efficiency,
        flow_least=heater.flow_least,
        start_delay=heater.start_delay,
        loss=heaters.standing_loss(heater) + _loop_loss(build, heater),
    )


def _loop_loss(build: Build, heater: Heater) -> float:
    """W/K that loops of hot water lose to the air while their pump runs, as a mean over a day."""
    tubes, found = table("tubes", build.rows), 0.0
    for pump in build.recirculation_pump:
        lost = 0.0
        for number in loop(build, heater.name, pump.name):
            run = build.run[number]
            one = run_loss(
                tubes[run.tube], run.insulation, heater.setpoint, build.van.cabin,
                windy=run.place != "cabin",
            )  # fmt: skip
            lost += run.length / one.resistance
        found += lost * line_parts.recirculating_hours(pump) / line_parts.DAY
    return found


def _fuel(build: Build, heater: Heater | None) -> float:
    """Fuel at the start, kg; endless where the build doesn't say."""
    carried = fuel_carried(build)
    return math.inf if carried is None or heater is None else carried
