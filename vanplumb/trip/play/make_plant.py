"""One build as plain numbers for the days and nights."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ...formulas.water import water_density, water_specific_heat
from ...trip.hot_runs.lines import Segment
from ...van.hot_ways import HotWay
from ...van.kinds import heaters, line_parts, mixing_valves
from ...van.kinds.mixing_valves import share_when_set
from ...van.main_parts import main_heater
from ...van.model import Build
from ...van.parts import Fixture, Heater, RecirculationPump
from ...van.trace import loop, served
from ...van.water_held import along
from ...words.tables import table
from ..hot_runs.loss import run_loss
from ..hot_runs.paths import LEAST_SHARE, air_around, segments
from ..stay.at_taps import AtTaps, at_taps
from ..stay.budget import fuel_carried
from ..stay.by_level import ByLevel, by_level
from ..stay.drinking import drinking_tap, drunk_a_day
from ..stay.feeds import Feed, TankSet, cold_feed, heater_before, hot_feed, tank_sets
from ..stay.habits import Habit, habits, window
from ..stay.pumping import Pumping, pumping_of
from ..stay.tanks import TankFacts, tank_facts
from .heating import ALWAYS
from .plant import (
    BatteryPlant,
    HeaterPlant,
    Options,
    Plant,
    PumpPlant,
    RoundPlant,
    TankPlant,
    UsePlant,
    Windows,
)

MEALS = (7.5 * 3600.0, 12.5 * 3600.0, 19.0 * 3600.0)
DRINKING = "drinking and cooking"
WAIT = 60.0
"""s that a wait for hot water may last where the build sets no limit (assumed)."""


class PlantError(ValueError):
    """A build that says too little to be played through; the message lists it all."""


def make_plant(build: Build, options: Options | None = None, taps: AtTaps | None = None) -> Plant:
    """The plant of a build.  PlantError or HabitError list what is missing.

    ``taps`` is what the network gives at each, worked out if it isn't given.
    """
    taps = at_taps(build) if taps is None else taps
    chosen = options or options_of(build)
    every = played_heaters(build)
    tanks = tank_facts(build)
    sets = tank_sets(build)
    cold = build.van.cold_water
    hot = every[0].setpoint if every else cold + 30.0
    mean = (cold + hot) / 2
    all_habits = habits(build, taps)
    lifts = electric_pumps(build)
    loops = _loops(build, every)
    supply = _Supply(build, sets, lifts, taps)
    parts, uses, of_leg = _uses(build, all_habits, every, supply, loops)
    drinking = _drinking(build, supply)
    if drinking is not None:
        uses.append(drinking)
    # Of uses at one hour the order of the file decides nothing: the coldest and thinnest first.
    uses.sort(key=lambda use: _order(use, parts))
    battery = build.battery
    hours = tuple(window(text) for text in chosen.heater_hours)
    return Plant(
        days=max(build.crew.nights, 1),
        tanks=tuple(
            TankPlant(
                one.name, float(one.usable), float(one.heel), float(one.spilt), shore=one.shore
            )
            for one in sets
        ),
        grey=_grey_room(build, tanks),
        cold=cold,
        cabin=build.van.cabin,
        # Volumes are those of the cold water that was drawn, so its density goes with them.
        heat_per_volume=float(water_density.si(cold) * water_specific_heat.si(mean)),
        uses=tuple(uses),
        segments=parts,
        heaters=tuple(_heater(build, heater, every, hours) for heater in every),
        pumps=tuple(PumpPlant(pump.name, pump.flow, pump.power) for pump in lifts),
        rounds=tuple(_round(build, one, every, of_leg) for one in loops),
        battery=None
        if battery is None
        else BatteryPlant(
            full=battery.whole_capacity * battery.voltage,
            empty=battery.whole_capacity * battery.voltage * (1 - battery.usable),
            start=battery.whole_capacity * battery.voltage * battery.start_share,
            charge_power=battery.charge_current * battery.voltage,
            charge_hours=tuple(window(text) for text in battery.charge_hours),
            other_load=battery.other_load,
            loads=tuple(
                (power, tuple(map(window, hours)) or ALWAYS)
                for _, power, hours in line_parts.loads(build)
            ),
        ),
        fuel=_fuel(build, every),
        wait_limit=build.limits.wait if build.limits.wait is not None else WAIT,
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


def played_heaters(build: Build) -> tuple[Heater, ...]:
    """Every heater that feeds a tap, the one that the van lives by first, then the greatest."""
    first = main_heater(build)
    if first is None:
        return ()
    others = [h for h in build.heater if h is not first and build.run and served(build, h.name)]
    others.sort(key=lambda h: (-float(heaters.content(h)), -float(heaters.most_power(h)), h.name))
    return (first, *others)


def electric_pumps(build: Build) -> tuple[Pumping, ...]:
    """Every electric pump that feeds a tap, in use; the most flow first."""
    feeding = [p for p in build.pump if not build.run or served(build, p.name)]
    found = [one for one in (pumping_of(build, pump) for pump in feeding) if one.power > 0]
    return tuple(sorted(found, key=lambda one: (-one.flow, -one.power, one.name)))


class _Supply:
    """Where the water of each tap and each heater comes from."""

    def __init__(
        self,
        build: Build,
        sets: tuple[TankSet, ...],
        lifts: tuple[Pumping, ...],
        taps: AtTaps,
    ) -> None:
        self.build, self.sets, self.taps = build, sets, taps
        self.numbers = {pump.name: n for n, pump in enumerate(lifts)}
        self.levels: dict[tuple[str, tuple[int, ...]], ByLevel | None] = {}

    def cold(self, fixture: Fixture) -> Feed:
        """What a fixture's cold water comes from; nothing where the network gets none there."""
        if fixture.name in self.taps.unserved:
            return Feed((), ())
        return cold_feed(self.build, self.sets, fixture)

    def heaters(self, fixture: str, names: list[str]) -> tuple[tuple[int, float], ...]:
        """The part of each heater in a fixture's hot water; empty where one gives it all."""
        comes = self.taps.hot[fixture].parts if fixture in self.taps.hot else ()
        parts = [(name, part) for name, part in comes if name in names]
        if len(parts) < 2:
            return ()
        return tuple((names.index(name), part) for name, part in parts)

    def parts(self, fixture: str, feed: Feed, *, hot: bool) -> tuple[tuple[int, float], ...]:
        """The part that each set of tanks gives, by number; empty where one gives it all.

        As the network says of the tanks as they start; a tank that is dry leaves it to the others.
        """
        if len(feed.sets) < 2:
            return ()
        given = self.taps.sources(fixture, hot=hot)
        found = [
            (number, sum(given.get(tank.name, 0.0) for tank in self.sets[number].tanks))
            for number in feed.sets
        ]
        return tuple((number, part) for number, part in found if part > 0)

    def by_level(self, fixture: str, *feeds: Feed) -> ByLevel | None:
        """The same as the tanks fall; None where one set gives it all."""
        fed = tuple(sorted({number for feed in feeds for number in feed.sets}))
        if len(fed) < 2:
            return None
        if (fixture, fed) not in self.levels:
            self.levels[fixture, fed] = by_level(self.taps.flow, fixture, self.sets, fed)
        return self.levels[fixture, fed]

    def pumps(self, feed: Feed) -> tuple[int, ...]:
        """The electric ones of the pumps that lift it, by number."""
        return tuple(self.numbers[name] for name in feed.pumps if name in self.numbers)


def _uses(
    build: Build,
    all_habits: tuple[Habit, ...],
    every: tuple[Heater, ...],
    supply: _Supply,
    loops: tuple[_Loop, ...],
) -> tuple[tuple[Segment, ...], list[UsePlant], dict[int | str, int]]:
    """All runs of hot water as segments, every habit with its way through them, and the segment
    of each leg that carries hot water which isn't mixed."""
    names = [heater.name for heater in every]
    reached = {
        fixture: (names.index(comes.heater.name), comes.way)
        for fixture, comes in supply.taps.hot.items()
        if comes.heater.name in names
    }
    used = {habit.fixture for habit in all_habits}
    parts: tuple[Segment, ...] = ()
    paths: dict[str, tuple[int, ...]] = {}
    before: dict[str, int] = {}
    of_leg: dict[int | str, int] = {}
    for number, one in enumerate(every):
        mine = {fixture: way for fixture, (n, way) in reached.items() if n == number}
        rounds = [loop.runs for loop in loops if loop.heater == number]
        made = segments(build, mine, used, one.setpoint, rounds)
        first = len(parts)
        paths |= {f: tuple(first + n for n in path) for f, path in made.paths.items()}
        before |= made.before
        of_leg |= {leg: first + n for leg, n in made.of_leg.items() if leg not in made.mixed}
        parts += made.parts
    hot = [hot_feed(build, supply.sets, heater) for heater in every]
    cold = {fixture.name: supply.cold(fixture) for fixture in build.fixture if fixture.name in used}
    uses = []
    for habit in all_habits:
        number, way = reached.get(habit.fixture, (0, None))
        heater = every[number] if every else None
        use = _use(build, habit, heater, way, paths, before)
        from_cold, from_hot = cold[habit.fixture], Feed((), ())
        if every:
            giving = [n for n, _ in supply.heaters(habit.fixture, names)] or [number]
            from_hot = _together([hot[n] for n in giving])
        if habit.fixture in supply.taps.unserved:
            from_hot = Feed((), ())
        elif use.path and not from_hot.sets:  # nothing comes through the heater
            use = replace(use, path=(), mix_at=0, share=None, setting=None)
        elif use.path and not from_cold.sets:  # nothing to mix it with
            use = replace(use, share=1.0, setting=None)
        uses.append(
            replace(
                use,
                heater=number,
                cold_from=from_cold.sets,
                heaters=supply.heaters(habit.fixture, names),
                cold_parts=supply.parts(habit.fixture, from_cold, hot=False),
                hot_parts=supply.parts(habit.fixture, from_hot, hot=True),
                by_level=supply.by_level(habit.fixture, from_hot, from_cold),
                cold_pumps=supply.pumps(from_cold),
                hot_from=from_hot.sets,
                hot_pumps=supply.pumps(from_hot),
            )
        )
    return parts, uses, of_leg


def _together(feeds: list[Feed]) -> Feed:
    """What several heaters are filled from."""
    sets = dict.fromkeys(number for feed in feeds for number in feed.sets)
    pumps = dict.fromkeys(name for feed in feeds for name in feed.pumps)
    return Feed(tuple(sets), tuple(pumps))


def _use(
    build: Build,
    habit: Habit,
    heater: Heater | None,
    way: HotWay | None,
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
    """In six figures: the last ones of what was solved hang on the order of the file."""
    held = sum(parts[i].held for i in use.path)
    figures = (use.wanted or 0.0, use.flow, use.duration, use.per_day, held, *use.hours)
    return tuple(float(f"{figure:.6g}") for figure in figures)


def _drinking(build: Build, supply: _Supply) -> UsePlant | None:
    """What the crew drinks and cooks with, at three meals: at a tap that gets cold water."""
    volume = drunk_a_day(build)
    if volume <= 0:
        return None
    tap = drinking_tap(build, supply.sets, supply.taps)
    fed = supply.cold(tap) if tap is not None else Feed(tuple(range(len(supply.sets))), ())
    flow = supply.taps[tap.name] if tap is not None else 1e-4
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
        cold_from=fed.sets,
        cold_parts=supply.parts(tap.name, fed, hot=False) if tap is not None else (),
        by_level=supply.by_level(tap.name, fed) if tap is not None else None,
        cold_pumps=supply.pumps(fed),
    )


def _heater(build: Build, heater: Heater, every: tuple[Heater, ...], hours: Windows) -> HeaterPlant:
    through = heaters.follows_flow(heater)
    if not through and not heaters.has_store(heater):
        raise PlantError(f"heater {heater.name!r}: needs a volume to be played through days")
    heater = heaters.at_altitude(build, heater)
    rows = table("fuels", build.rows)
    kind = heaters.fuel_kind(build, heater)
    rate = heater.burner_power / rows[kind].number("heating_value") if kind in rows else 0.0
    many = len(every) > 1
    before = heater_before(build, heater) if many else None
    names = [one.name for one in every]
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
        loss=heaters.standing_loss(heater),
        hours=tuple(window(text) for text in heater.hours) or hours,
        carried=build.fuel is None or kind == build.fuel.kind,
        before=names.index(before) if before in names else None,
    )


@dataclass(frozen=True)
class _Loop:
    """A recirculation pump with the number of its heater and those of the runs it goes round."""

    pump: RecirculationPump
    heater: int
    runs: tuple[int, ...]


def _loops(build: Build, every: tuple[Heater, ...]) -> tuple[_Loop, ...]:
    """The loops through stores; of a pump behind several, through the last before it.

    A heater that only warms what flows keeps no store to bring round, and a pump that runs no part
    of its hours brings nothing round.
    """
    found = []
    for pump in build.recirculation_pump:
        if line_parts.share_running(pump) == 0:
            continue
        ways = [
            (len(runs), number, runs)
            for number, heater in enumerate(every)
            if not heaters.follows_flow(heater) and (runs := loop(build, heater.name, pump.name))
        ]
        if ways:
            _, number, runs = min(ways)
            found.append(_Loop(pump, number, runs))
    return tuple(found)


def _round(
    build: Build, one: _Loop, every: tuple[Heater, ...], of_leg: dict[int | str, int]
) -> RoundPlant:
    """A loop as numbers: what all its runs lose while it is warm, per kelvin above the cabin.

    A store that is kept no warmer than the air warms by it, by the bare conductance.
    """
    tubes, heater = table("tubes", build.rows), every[one.heater]
    cabin, lost = build.van.cabin, 0.0
    legs = along(build, one.runs)
    for number in one.runs:
        run = build.run[number]
        air = air_around(build, run.place)
        way = run_loss(
            tubes[run.tube], run.insulation, heater.setpoint, min(air, heater.setpoint - 1.0),
            windy=run.place != "cabin",
        )  # fmt: skip
        above = heater.setpoint - cabin
        colder = max(heater.setpoint - air, 0.0) / above if above > 1.0 else 1.0
        lost += run.length / way.resistance * colder
    return RoundPlant(
        one.pump.name,
        one.heater,
        lost * line_parts.share_kept_warm(one.pump),
        tuple(dict.fromkeys(of_leg[leg.key] for leg in legs if leg.key in of_leg)),
        tuple(window(text) for text in one.pump.hours),
    )


def _fuel(build: Build, every: tuple[Heater, ...]) -> float:
    """Fuel at the start, kg; endless where the build doesn't say."""
    carried = fuel_carried(build)
    return math.inf if carried is None or not every else carried
