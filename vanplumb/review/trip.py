"""Rules on the days and nights: what runs out, what is cold, what freezes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..formulas.heater import flow_through_rise
from ..formulas.water import water_density, water_specific_heat
from ..shop.winter import BLOW_MOST
from ..trip.hot_runs.ice import BLOCKED
from ..trip.play.outcome import STATES
from ..van.kinds import heaters
from ..van.region import region_of
from ..words.glossary import ICE_POINT
from ..words.show import show, together
from ..words.sources import ASHRAE_FREEZING, OWN, PHYSICS, PRACTICE
from ..words.unit_table import DAY
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..trip.play.plant import Plant, UsePlant, Windows
    from ..trip.trip import Failure

POCKET = 5e-6
"""m³ of water that is worth a word: a spoonful (assumed)."""
PLAYED = OWN.at("the planned stay, played through hour by hour")


def _failure(answers: Answers, what: str) -> Failure | None:
    """The first time that something fails on the planned stay; None if it doesn't."""
    return next((one for one in answers.trip.failures if one.what == what), None)


@rule
def tap_fed_by_no_tank(answers: Answers) -> Iterator[Finding]:
    """A tap that the crew means to use, and no water gets to."""
    unfed = _failure(answers, "no water gets there")
    if unfed is None:
        return
    plant = answers.trip.plant
    names = [
        use.fixture or use.name
        for use in plant.uses
        if (use.takes_cold and not use.cold_from) or (use.takes_hot and not use.hot_from)
    ]
    yield Finding(
        "NOTICE",
        "The crew means to use it, and no water gets there from any tank.",
        ", ".join(dict.fromkeys(names)),
        "no water",
        "water from a tank",
        PLAYED,
        "Open the valve or the zone that is shut, or join it to a tank.",
    )


@rule
def tap_that_no_use_is_planned_for(answers: Answers) -> Iterator[Finding]:
    """A tap that no use mentions: its water is in no budget and in none of the days."""
    build = answers.build
    if not build.use:
        return
    used = {use.fixture for use in answers.trip.plant.uses}
    idle = [fixture.name for fixture in build.fixture if fixture.name not in used]
    if idle:
        yield Finding(
            "NOTICE",
            f"No use is planned for {together(idle)}: what it takes is in no budget.",
            ", ".join(idle),
            "no use",
            "a use",
            PLAYED,
            "Say in the build file how often and how long it runs, under [[use]], or leave it so "
            "where it is not meant to be used.",
        )


@rule
def trip_runs_dry(answers: Answers) -> Iterator[Finding]:
    """A tank that would last by its uses, and does not once the waits are counted."""
    dry = _failure(answers, "runs dry")
    if dry is None or not answers.water.enough_by_uses:
        return
    yield Finding(
        "NOTICE",
        f"The tank runs dry on {dry.at}: water run off while waiting for hot is what it lacks.",
        dry.use or "fresh tanks",
        dry.when,
        answers.trip.planned.days * DAY,
        PLAYED,
        "Shorten or thin the hot runs, catch the first water, or carry more.",
        "duration",
    )


@rule
def grey_full_first(answers: Answers) -> Iterator[Finding]:
    """Waste water that has nowhere to go before the stay is over."""
    full = _failure(answers, "grey full")
    if full is None:
        return
    yield Finding(
        "NOTICE",
        f"The grey tank is full on {full.at}, before the stay is over.",
        full.use or "grey tanks",
        full.when,
        answers.trip.planned.days * DAY,
        PLAYED,
        "Fit a larger grey tank, or plan where to empty it on the way.",
        "duration",
    )


@rule
def water_comes_lukewarm(answers: Answers) -> Iterator[Finding]:
    """A draw that wanted warm water and got it too cool."""
    cool = _failure(answers, "lukewarm")
    if cool is None:
        return
    outcome = answers.trip.planned
    # Draws overlap: the use is that of the first draw that was lukewarm, not the first that ran.
    lukewarm = outcome.state[0] == STATES.index("lukewarm")
    draws = np.flatnonzero(lukewarm & np.isfinite(outcome.warmth[0]))
    if not len(draws):
        draws = np.flatnonzero(np.isfinite(outcome.warmth[0]) & (outcome.drawn[0] > 0))
    index = int(outcome.draws.use[0][draws[np.argmin(outcome.start[0][draws])]])
    mine = outcome.warmth[0][draws[outcome.draws.use[0][draws] == index]]
    use = outcome.plant.uses[index]
    wanted = use.wanted
    off = _heater_off(outcome.plant, use, cool.when)
    why = f"{off} gets no heat then" if off else "the heater can't follow the uses before it"
    yield Finding(
        "NOTICE",
        f"Water is lukewarm on {cool.at}: {why}.",
        use.name,
        float(mine.min()),
        float(wanted if wanted is not None else 0.0),
        PLAYED,
        "Draw it in the hours of the heater, or have those hours earlier and longer (hours under "
        "[[heater]]; heater_hours, drive_hours and hookup_hours under [crew])."
        if off
        else "Space the uses, fit a larger or stronger heater, or mend the mixing.",
        "temperature",
    )


def _heater_off(plant: Plant, use: UsePlant, when: float) -> str:
    """The heater of a use, where nothing heats it at that time; empty where something does."""
    if not use.path or not plant.heaters:
        return ""
    heater = plant.heaters[use.heater]
    on = not heater.hours or _within(heater.hours, when)
    always = heater.burner_heat > 0 or heater.element_power > 0
    driven = heater.coolant_power > 0 and _within(plant.drive_hours, when)
    return "" if (on and always) or driven else heater.name


def _within(windows: Windows, when: float) -> bool:
    """Whether a clock, s from a midnight, stands in stretches of the day."""
    hour = when % DAY
    return any(start <= hour < end or hour + DAY < end for start, end in windows)


@rule
def warm_water_from_nowhere(answers: Answers) -> Iterator[Finding]:
    """A habit that wants warm water at a fixture that no hot water comes to."""
    cold = answers.build.van.cold_water
    for use in answers.trip.plant.uses:
        if use.wanted is None or use.path or use.wanted <= cold + 5.0:
            continue
        yield Finding(
            "NOTICE",
            "Warm water is wanted here and no hot water comes to it.",
            use.name,
            cold,
            use.wanted,
            PLAYED,
            "Lead a hot run to the fixture, or let the habit do with cold water.",
            "temperature",
        )


@rule
def hot_water_comes_late(answers: Answers) -> Iterator[Finding]:
    """A long wait for hot water, by the builder's own limit or by the water that runs off."""
    own = answers.build.limits.wait
    here = region_of(answers.build).row
    most = here["hot_draw_greatest"]
    for wait in answers.trip.waits:
        if own is not None and wait.wait > own:
            yield Finding(
                "NOTICE",
                "Hot water comes later than the builder's own limit.",
                wait.fixture,
                wait.wait,
                own,
                PRACTICE,
                "Shorten the run, take thinner tube, or foam it so that it stays warm.",
                "duration",
            )
        elif most is not None and wait.wasted > most:
            yield Finding(
                "NOTICE",
                "Much water runs off before hot comes.",
                wait.fixture,
                wait.wasted,
                most,
                here.source("hot_draw_greatest"),
                "Shorten the run, take thinner tube, or lead the first water back to the tank.",
                "volume",
            )


@rule
def battery_goes_flat(answers: Answers) -> Iterator[Finding]:
    """A battery that is down to what must stay in it; then the pump stops too."""
    flat = _failure(answers, "battery flat")
    if flat is None:
        return
    yield Finding(
        "NOTICE",
        f"The battery is flat on {flat.at}; pump and heater stop with it.",
        flat.use or "battery",
        flat.when,
        answers.trip.planned.days * DAY,
        PLAYED,
        "Draw less, charge longer, or heat by fuel instead of current.",
        "duration",
    )


@rule
def fuel_runs_out(answers: Answers) -> Iterator[Finding]:
    """A burner without fuel before the stay is over."""
    out = _failure(answers, "fuel out")
    if out is None:
        return
    yield Finding(
        "NOTICE",
        f"The heater's fuel is used up on {out.at}.",
        out.use or "fuel",
        out.when,
        answers.trip.planned.days * DAY,
        PLAYED,
        "Carry more, or switch the heater off between uses.",
        "duration",
    )


@rule
def run_freezes_at_night(answers: Answers) -> Iterator[Finding]:
    """A run that is blocked by ice in the coldest night, with the cabin kept warm."""
    for run in answers.trip.frost.freezing:
        if run.ice < BLOCKED:
            continue
        yield Finding(
            "NOTICE",
            "The run freezes in the coldest night; ice may burst its valves and fittings.",
            run.label,
            run.ice,
            BLOCKED,
            ASHRAE_FREEZING,
            "Lead it through the cabin, foam it, heat it, or drain it before the night.",
            "share",
        )


@rule
def tank_stands_in_frost(answers: Answers) -> Iterator[Finding]:
    """A tank under the floor or outside, in nights below freezing: no sum says when it freezes."""
    outside = answers.trip.frost.outside
    if outside >= ICE_POINT:
        return
    for tank in answers.build.tank:
        if tank.place == "cabin":
            continue
        yield Finding(
            "NOTICE",
            "The tank meets frost: its outlet and its drain freeze first, and ice may split it. "
            "How soon is not worked out.",
            tank.name,
            outside,
            ICE_POINT,
            PHYSICS.at("water freezes"),
            "Drain it before such a night, or foam and heat it with its outlet, vent and drain.",
            "temperature",
        )


@rule
def hot_line_freezes_on_the_stay(answers: Answers) -> Iterator[Finding]:
    """A use that gets nothing on the stay because its hot run has turned to ice."""
    frozen = _failure(answers, "hot line frozen")
    if frozen is None:
        return
    airs = [one.air for one in answers.trip.plant.segments]
    yield Finding(
        "NOTICE",
        f"The hot line is frozen from {frozen.at} on: nothing comes, and ice may burst it.",
        frozen.use or "hot runs",
        min(airs),
        ICE_POINT,
        PLAYED,
        "Lead the hot runs through the cabin, foam and heat them, or drain them before frost.",
        "temperature",
    )


@rule
def water_stays_in_frost(answers: Answers) -> Iterator[Finding]:
    """A van that meets frost, with water that stays in it when all is opened."""
    if answers.trip.frost.outside >= ICE_POINT:
        return
    drained = answers.shop.draining
    units = answers.build.van.units
    for pocket in drained.pockets:
        if pocket.volume < POCKET:
            continue
        kept = f"; {', '.join(pocket.blocked)} keeps it" if pocket.blocked else ""
        yield Finding(
            "NOTICE",
            f"With every tap and drain open, {show(pocket.volume, 'volume', units)} of water "
            f"stays in {drained.holds(pocket)}{kept}.",
            drained.where(pocket),
            answers.trip.frost.outside,
            ICE_POINT,
            PHYSICS.at("water falls, and does not rise by itself"),
            "Put a drain valve at its lowest place, or blow it out with at most "
            f"{show(BLOW_MOST, 'pressure', units)} of clean air.",
            "temperature",
        )


@rule
def flow_through_overheats(answers: Answers) -> Iterator[Finding]:
    """A flow-through heater whose least flame is too much for its least flow."""
    build = answers.build
    for heater in build.heater:
        if not heaters.follows_flow(heater) or heater.power_least <= 0 or heater.flow_least <= 0:
            continue
        outlet = build.van.cold_water + flow_through_rise.si(
            power=heater.power_least,
            efficiency=heater.burner_efficiency,
            density=water_density.si(heater.setpoint),
            specific_heat=water_specific_heat.si(heater.setpoint),
            flow=heater.flow_least,
        )
        if outlet <= heater.setpoint + 2.0:
            continue
        yield Finding(
            "CAUTION",
            "At its least flow even the least flame makes the water hotter than the setpoint, or "
            "the burner goes on and off.",
            heater.name,
            outlet,
            heater.setpoint,
            PHYSICS.at("conservation of energy"),
            "Keep the flow higher, or take a heater that burns lower; mix at the outlets.",
            "temperature",
        )
