"""Rules on what a heater may do beyond its setpoint and its usual pressure.

Rules on hot water: scald, legionella, relief, room to grow, mains and fuel.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ..flow.mixing.burns import burn
from ..flow.mixing.check import cannot_be_set
from ..flow.relief import relief_capacities
from ..shop.readings.setting import limit_of
from ..van.kinds import heaters, mixing_valves
from ..van.kinds.heaters import COOLANT, has_store, hottest, why_hottest
from ..van.region import (
    PLASTICS,
    advised_at_outlets,
    heater_distance,
    source_here,
    water_temperature,
)
from ..van.trace import COLD, HOT, contents, title, ways
from ..words.glossary import ICE_POINT
from ..words.sources import NFPA54, PRACTICE, Z21_22, Source
from ..words.tables import table
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..van.parts import Heater

SCALDS_AT_ONCE = 60 + ICE_POINT
"""From here an adult is burnt in seconds (CPSC)."""
MARGIN = 0.3
SAME = 0.5
"""K within which two temperatures are one: of the store, and of what comes out of it."""


def _bound(answers: Answers, component: str) -> tuple[float, Source]:
    """The limit at an outlet or at all that a valve feeds, and whose it is."""
    return limit_of(answers.build, component)


@rule
def scald_at_mixed_outlet(answers: Answers) -> Iterator[Finding]:
    """A mixing valve that is set hotter than skin bears."""
    advised = advised_at_outlets(answers.build)
    for valve in answers.build.mixing_valve:
        limit, source = _bound(answers, valve.name)
        if valve.setting > limit + MARGIN:
            until = burn(valve.setting)
            time = (
                f": {until.told(answers.build.van.units)} to a deep burn" if until.seconds else ""
            )
            yield Finding(
                "DANGER" if valve.setting >= SCALDS_AT_ONCE else "WARNING",
                f"The mixing valve is set above the limit at an outlet{time}.",
                valve.name,
                valve.setting,
                limit,
                source,
                "Set it lower and measure at the outlet, with the heater at its hottest.",
                "temperature",
            )
        elif advised is not None and valve.setting > advised.value + MARGIN:
            yield Finding(
                "CAUTION",
                "The mixing valve is set warmer than is advised for washing.",
                valve.name,
                valve.setting,
                advised.value,
                advised.source,
                "Set it to the advised value where children or old people wash.",
                "temperature",
            )


def _beyond_its_setpoint(heaters: Iterable[Heater], reached: float, units: str) -> str:
    """A sentence on why a heater's water gets hotter than it is set to, where that is told."""
    for heater in heaters:
        why = why_hottest(heater, units)
        if why and abs(hottest(heater) - reached) < SAME:
            return f" {why}"
    return ""


@rule
def unmixed_hot_at_fixture(answers: Answers) -> Iterator[Finding]:
    """A tap that can give water as hot as the heater makes it."""
    build = answers.build
    water = contents(build)
    for way in ways(build):
        if way.port == "cold" or water[way.runs[-1]] != HOT:
            continue
        limit, source = _bound(answers, way.fixture)
        passed = [h for h in build.heater if h.name in way.components]
        reached = [hottest(h) for h in passed]
        if not reached or max(reached) <= limit + MARGIN:
            continue
        stores = any(has_store(h) for h in passed)
        flush = " and flush the store hot now and then" if stores else ""
        fixture = next(f for f in build.fixture if f.name == way.fixture)
        who = "child" if fixture.vulnerable else "adult"
        until = burn(max(reached), who)
        time = f": {until.told(build.van.units)} to a deep burn ({who})" if until.seconds else ""
        yield Finding(
            "WARNING",
            f"The tap can give water straight from the heater{time}."
            f"{_beyond_its_setpoint(passed, max(reached), build.van.units)}",
            way.fixture,
            max(reached),
            limit,
            source,
            f"Put a thermostatic mixing valve before it, or lower the setpoint{flush}; mark the "
            "tap as hot.",
            "temperature",
        )


@rule
def fixed_valve_on_a_hot_store(answers: Answers) -> Iterator[Finding]:
    """A valve that was set once lets the outlet follow the heater."""
    for valve in answers.build.mixing_valve:
        limit, source = _bound(answers, valve.name)
        if not mixing_valves.is_set_once(valve) or valve.setting > limit + MARGIN:
            continue
        found = answers.mixing[valve.name]
        if found.most > limit + MARGIN and found.hottest is not None:
            yield Finding(
                "WARNING",
                "The valve is set once, and the outlet gets hotter than the limit with "
                f"{found.hottest.told}.",
                valve.name,
                found.most,
                limit,
                source,
                "Set it with the heater at its hottest and the cold water at its warmest, or fit a "
                "thermostatic valve.",
                "temperature",
            )


@rule
def set_once_valve_without_cold(answers: Answers) -> Iterator[Finding]:
    """A valve that was set once gives the heater's own heat when its cold supply is shut."""
    units = answers.build.van.units
    for valve in answers.build.mixing_valve:
        shut = answers.mixing[valve.name].cold_shut
        limit, source = _bound(answers, valve.name)
        if shut is not None and shut.temperature > limit + MARGIN:
            yield Finding(
                "WARNING",
                "With the cold supply of the valve shut, by the handle of a zone or by a failure, "
                "hot water comes straight from the heater."
                f"{_beyond_its_setpoint(answers.build.heater, shut.temperature, units)}",
                valve.name,
                shut.temperature,
                limit,
                source,
                "Mark the handles of its zones, or fit a thermostatic valve that shuts when cold "
                "fails; measure that it does.",
                "temperature",
            )


@rule
def thermostatic_valve_cannot_hold(answers: Answers) -> Iterator[Finding]:
    """A thermostatic valve needs its hot supply so much above its setting."""
    for valve in answers.build.mixing_valve:
        found = answers.mixing[valve.name]
        if found.lead_fails:
            yield Finding(
                "CAUTION",
                "The hot supply may be colder than what the valve is set to, so that the water is "
                "lukewarm: so much hot leads the setting, negative where it is colder."
                if found.lead < 0
                else "The hot supply may lead the valve's setting by less than such a valve needs "
                "to hold it.",
                valve.name,
                found.lead,
                found.lead_needed,
                PRACTICE,
                "Set the heater higher or the valve cooler; the valve's own sheet says what it "
                "needs.",
                "rise",
            )


@rule
def valve_that_cannot_be_set(answers: Answers) -> Iterator[Finding]:
    """A valve whose setting does not lie between its supplies gives what they give."""
    for valve in answers.build.mixing_valve:
        supply = cannot_be_set(answers.build, valve)
        if supply is not None:
            hot = supply <= valve.setting
            yield Finding(
                "CAUTION",
                "The valve can't be set so: its hot supply is no hotter than its setting, and the "
                "water comes lukewarm."
                if hot
                else "The valve can't be set so: its cold supply is no colder than its setting, "
                "and the water comes hotter.",
                valve.name,
                valve.setting,
                supply,
                PRACTICE,
                "Set it between its supplies, or say the hot and cold that it was set with.",
                "temperature",
            )


@rule
def store_below_legionella_advice(answers: Answers) -> Iterator[Finding]:
    """A store that is kept lukewarm grows legionella."""
    asked = water_temperature(answers.build, "store")
    if asked is None:
        return
    least = asked.number("least")
    for heater in answers.build.heater:
        if not heaters.follows_flow(heater) and heater.setpoint < least - MARGIN:
            yield Finding(
                "WARNING",
                "The store is kept below the temperature that is advised against legionella.",
                heater.name,
                heater.setpoint,
                least,
                asked.source("least"),
                "Heat it to the advised value and mix at the outlets, or empty it after each trip "
                "and heat it through before use.",
                "temperature",
            )


@rule
def relief_missing(answers: Answers) -> Iterator[Finding]:
    """A closed store that heats without a relief valve can burst."""
    for heater in answers.build.heater:
        if not heaters.follows_flow(heater) and heater.relief is None:
            yield Finding(
                "DANGER",
                "The build names no relief valve for a store that is heated.",
                heater.name,
                "none",
                "one, by its plate",
                source_here(answers.build, Z21_22.at("relief valves")),
                "Fit a listed pressure and temperature relief valve, its drain led outside.",
            )


@rule
def relief_opens_on_heat_in_use(answers: Answers) -> Iterator[Finding]:
    """A relief valve that opens on heat too, where the heater's own hottest water gets there."""
    for heater in answers.build.heater:
        opens = heater.relief_temperature
        if opens is not None and hottest(heater) >= opens:
            yield Finding(
                "WARNING",
                "The heater's hottest water opens the relief valve: it runs off scalding hot, and "
                "a valve that often opens may stop shutting, or opening."
                f"{_beyond_its_setpoint([heater], hottest(heater), answers.build.van.units)}",
                heater.name,
                hottest(heater),
                opens,
                source_here(answers.build, Z21_22.at("relief valves that open on heat")),
                "Turn the heater down or take cooler coolant; never put a plug in its place.",
                "temperature",
            )


@rule
def checks_missing_at_valve(answers: Answers) -> Iterator[Finding]:
    """Without check valves a mixing valve joins hot and cold when its outlet is shut."""
    for valve in answers.build.mixing_valve:
        lacking = [
            side for side, has in (("hot", valve.hot_check), ("cold", valve.cold_check)) if not has
        ]
        if lacking:
            yield Finding(
                "CAUTION",
                "With the outlet shut, water can cross from one supply into the other.",
                valve.name,
                f"no check valve on {' and '.join(lacking)}",
                "one at each inlet",
                PRACTICE,
                "Fit check valves at both inlets of the mixing valve.",
            )


@rule
def mains_beside_water(answers: Answers) -> Iterator[Finding]:
    """An element on a voltage that can kill."""
    for heater in answers.build.heater:
        if heaters.on_mains(heater):
            yield Finding(
                "WARNING",
                "The element runs on a voltage that can kill, beside water.",
                heater.name,
                heater.element_voltage,
                50.0,
                PRACTICE,
                "Earthing, residual-current protection and wiring by a licensed electrician, to "
                "the local code; never on in an empty store.",
                "voltage",
            )


@rule
def plastic_tube_at_a_heater(answers: Answers) -> Iterator[Finding]:
    """Plastic tube joined straight to a heater, where a rule asks for metal first."""
    build = answers.build
    tubes = table("tubes", build.rows)
    for heater in build.heater:
        for number, run in enumerate(build.run):
            near = heater.name in (p.component for p in build.ends(run))
            if not near or tubes[run.tube]["material"] not in PLASTICS:
                continue
            asked = heater_distance(build, run.tube, heater.kind)
            if asked is None and not heater.burner_power:
                continue
            yield Finding(
                "NOTICE",
                "Plastic tube is joined to a heater"
                + (" that burns fuel." if heater.burner_power else "."),
                f"run {number + 1}, {title(build, number)}",
                0.0 if asked else "joined at the heater",
                asked.value if asked else "away from flue and burner, as the manual says",
                asked.source if asked else PRACTICE,
                "Bring the first part in metal, or keep the distance that the manual asks for.",
                "length" if asked else "",
            )


@rule
def coolant_past_setpoint(answers: Answers) -> Iterator[Finding]:
    """An engine's coolant heats a store past any thermostat, and an outlet may give that."""
    build = answers.build
    if not any(h.coolant_power > 0 for h in build.heater):
        return
    holding = {v.name for v in build.mixing_valve if mixing_valves.holds_outlet(v)}
    water, told = contents(build), set()
    for way in ways(build):
        warm = way.port != "cold" and water[way.runs[-1]] != COLD
        if not warm or holding & set(way.components) or way.fixture in told:
            continue
        told.add(way.fixture)
        limit, source = _bound(answers, way.fixture)
        yield Finding(
            "DANGER",
            "The engine's coolant can heat the water far above the setpoint, and no thermostatic "
            f"valve stands before this outlet: {burn(COOLANT).told(build.van.units)} to a deep "
            "burn.",
            way.fixture,
            COOLANT,
            limit,
            source,
            "Put a thermostatic mixing valve before it and test it after a long drive.",
            "temperature",
        )


@rule
def relief_too_small(answers: Answers) -> Iterator[Finding]:
    """A relief valve that can't carry off all the heat put in, or that nobody looked up."""
    for one in relief_capacities(answers.build):
        several = len(heaters.sources(one.heater)) > 1
        if one.carries is not None and one.too_small:
            yield Finding(
                "DANGER",
                "More heat can be put into the water than the relief valve can carry off: with a "
                "thermostat that sticks the pressure goes on rising.",
                one.heater.name,
                one.put_in,
                one.carries,
                source_here(answers.build, Z21_22.at("discharge capacity")),
                "Fit a relief valve rated for all sources at once, or have them locked against "
                "each other; by somebody licensed, to the local code.",
                "power",
            )
        elif one.carries is None and several:
            yield Finding(
                "NOTICE",
                "Several sources heat this water, and the build does not say what its relief "
                "valve can carry off.",
                one.heater.name,
                one.put_in,
                "not known",
                source_here(answers.build, Z21_22.at("discharge capacity")),
                "Read it on the valve's plate (relief_capacity or relief_flow): it must be more "
                "than all sources together.",
                "power",
            )


@rule
def flow_through_without_relief(answers: Answers) -> Iterator[Finding]:
    """A flow-through heater that is shut in and has no relief valve."""
    build = answers.build
    for heater in build.heater:
        shut_in = answers.pressures.is_closed(heater.name)
        if heaters.follows_flow(heater) and heater.relief is None and shut_in:
            yield Finding(
                "WARNING",
                "The build names no relief valve for a flow-through heater behind a check valve.",
                heater.name,
                "none",
                "one, unless its manual says that it has its own",
                PRACTICE,
                "Look in the heater's manual, and fit the relief valve that it asks for.",
            )


@rule
def burner_weaker_in_thin_air(answers: Answers) -> Iterator[Finding]:
    """A burner high up: it has less air, is turned down, and gives less than its plate says."""
    build = answers.build
    height = build.van.altitude
    if height <= heaters.THIN_AIR_ABOVE:
        return
    for heater in build.heater:
        if heaters.burns_fuel(heater):
            less = 1 - heaters.at_altitude(build, heater).burner_power / heater.burner_power
            yield Finding(
                "CAUTION",
                f"In air so thin the burner is turned down by some {less * 100:.0f} %, or it "
                "burns badly and makes carbon monoxide. Recovery, times to heat, fuel and days are "
                "worked out with that.",
                heater.name,
                height,
                heaters.THIN_AIR_ABOVE,
                NFPA54,
                "Look in its manual for the highest place that it may be used at, and have a "
                "licensed fitter change its jet where that says so.",
                "height",
            )
