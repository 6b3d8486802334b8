"""Rules on what stands in the lines: filters, lamps, softeners, bypass, recirculation, drains."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..trip.hot_runs.recirculating import recirculating
from ..trip.stay.elements import drawn_through
from ..van.heights import heights
from ..van.kinds import heaters, line_parts
from ..van.parts import LinePart
from ..van.trace import HOT, contents, loop, served, ways_to
from ..van.wiring import place
from ..words.glossary import ICE_POINT
from ..words.show import show
from ..words.sources import PHYSICS, PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..van.model import Build

EXTRA_LOW = 50.0
"""V above which a lamp's leads count as mains (IEC 61140)."""
SPENT = 0.10
"""Share of the usable charge that a day of recirculation may take (assumed)."""


def _sort(build: Build, part: LinePart) -> str:
    return str(line_parts.row_of(build, part)["sort"])


def _parts(build: Build, sort: str) -> tuple[LinePart, ...]:
    return tuple(part for part in build.line_part if _sort(build, part) == sort)


def _upstream(build: Build, component: str) -> set[str]:
    return {name for way in ways_to(build, component) for name in way.components}


@rule
def line_part_flows_too_fast(answers: Answers) -> Iterator[Finding]:
    """A filter, lamp or softener through which more flows than it can do its work on."""
    build, flow = answers.build, answers.flow
    for part in build.line_part:
        most = line_parts.figure(build, part, "flow_most")
        if most is None or flow.problem:
            continue
        fastest, at = 0.0, ""
        for name in served(build, part.name):
            moment = flow.solve([name])
            link = moment.links.get(part.name)
            if moment.found and link is not None and abs(link.flow) > fastest:
                fastest, at = abs(link.flow), name
        if fastest <= most * 1.001:
            continue
        lamp = _sort(build, part) == "lamp"
        does = "too little light reaches germs" if lamp else "it does not do its whole work"
        yield Finding(
            "WARNING" if lamp else "CAUTION",
            f"With {at} open more flows through it than it is made for: {does}.",
            part.name,
            fastest,
            most,
            line_parts.row_of(build, part).source("flow_most"),
            "Fit a flow limiter behind it or take a larger one; its sheet says what it can do.",
            "flow",
        )


@rule
def filter_spent_within_the_stay(answers: Answers) -> Iterator[Finding]:
    """An element or a filling that lasts less water than one stay draws through it."""
    build = answers.build
    for part in build.line_part:
        lasts = line_parts.figure(build, part, "life_volume")
        if lasts is None:
            continue
        drawn = drawn_through(build, part) * max(build.crew.nights, 1)
        if drawn > lasts:
            yield Finding(
                "NOTICE",
                "More water is drawn through it in one stay than it lasts for.",
                part.name,
                drawn,
                lasts,
                line_parts.row_of(build, part).source("life_volume"),
                "Take a larger one, carry a spare, or lead only the drinking tap through it.",
                "volume",
            )


@rule
def lamp_without_a_filter(answers: Answers) -> Iterator[Finding]:
    """Particles shade germs from a lamp's light."""
    build = answers.build
    filters = {part.name for part in _parts(build, "filter")}
    for lamp in _parts(build, "lamp"):
        if not filters & _upstream(build, lamp.name):
            yield Finding(
                "CAUTION",
                "No filter stands before the lamp: what floats in the water shades germs.",
                lamp.name,
                "none",
                "a fine filter before it",
                PRACTICE,
                "Fit a filter of 5 µm or finer before the lamp, or as its sheet says.",
            )


@rule
def lamp_on_mains(answers: Answers) -> Iterator[Finding]:
    """A lamp in the water line on a voltage that can kill."""
    build = answers.build
    for part in build.line_part:
        volts = line_parts.figure(build, part, "voltage")
        if volts is not None and volts > EXTRA_LOW:
            yield Finding(
                "WARNING",
                "It runs on a voltage that can kill, and stands in a water line.",
                part.name,
                volts,
                EXTRA_LOW,
                PRACTICE,
                "Earth, residual-current protection and wiring by a licensed electrician, to the "
                "local code; unplug it before its cover comes off.",
                "voltage",
            )


@rule
def carbon_before_a_store(answers: Answers) -> Iterator[Finding]:
    """A filter that takes out chlorine before a store of hot water or the whole van."""
    build = answers.build
    for part in _parts(build, "filter"):
        if "pressure test" not in (line_parts.row_of(build, part)["left_out"] or ()):
            continue  # a filter for grit leaves chlorine in
        stores = [h.name for h in build.heater
                  if heaters.has_store(h) and part.name in _upstream(build, h.name)]  # fmt: skip
        if stores:
            yield Finding(
                "CAUTION",
                "It takes out the chlorine that keeps water, before a store: germs grow behind it.",
                f"{part.name}, before {' and '.join(stores)}",
                "before the store",
                "at the drinking tap only",
                PRACTICE,
                "Lead only the drinking tap through it.",
            )


@rule
def drinking_softened_water(answers: Answers) -> Iterator[Finding]:
    """A tap for drinking behind a softener: sodium in place of hardness."""
    build = answers.build
    cold = {f.name for f in build.fixture if f.kind == "cold tap"}
    for part in _parts(build, "softener"):
        taps = sorted(cold & set(served(build, part.name)))
        if taps:
            yield Finding(
                "NOTICE",
                "A cold tap gets softened water, which carries sodium.",
                f"{part.name}, before {' and '.join(taps)}",
                "behind the softener",
                "before it",
                PRACTICE,
                "Feed the tap for drinking from before the softener.",
            )


@rule
def line_part_in_hot_water(answers: Answers) -> Iterator[Finding]:
    """A part that is made for cold water in a hot line."""
    build = answers.build
    for number, (_, end) in enumerate(build.run_ends):
        part = build.component(end.component)
        if not isinstance(part, LinePart) or contents(build)[number] != HOT:
            continue
        if not line_parts.row_of(build, part)["hot"]:
            yield Finding(
                "CAUTION",
                "It is made for cold water and stands in a hot line.",
                part.name,
                "hot",
                "cold",
                line_parts.row_of(build, part).source("hot"),
                "Move it to the cold side, or take one whose sheet names the temperature.",
            )


@rule
def pick_up_not_before_the_pump(answers: Answers) -> Iterator[Finding]:
    """A pick-up for antifreeze through which no pump draws."""
    build = answers.build
    drawn = {name for pump in build.pump for name in _upstream(build, pump.name)}
    for part in _parts(build, "pick-up"):
        if part.name not in drawn:
            yield Finding(
                "NOTICE",
                "No pump draws through the pick-up: antifreeze can't be drawn in there.",
                part.name,
                "not before a pump",
                "between tank and pump",
                PRACTICE,
                "Fit it in the suction line, before the strainer or right before the pump.",
            )


@rule
def bypass_left_open(answers: Answers) -> Iterator[Finding]:
    """A heater's bypass that stands open in service: cold water at the hot taps."""
    build = answers.build
    for heater in build.heater:
        if heater.bypass != "none" and heater.bypass_open:
            taps = " and ".join(served(build, heater.name)) or "no tap"
            yield Finding(
                "WARNING",
                f"The bypass stands open: cold water comes at the hot side of {taps}, and valves "
                "that were set with hot water stand wrong.",
                heater.name,
                "open",
                "shut in service",
                PRACTICE,
                "Shut the bypass and open the heater's valves before it is lit.",
            )


@rule
def heater_without_bypass_in_frost(answers: Answers) -> Iterator[Finding]:
    """Antifreeze for the hot lines, that can only go through the heater."""
    build = answers.build
    if answers.trip.frost.outside >= ICE_POINT:
        return
    for heater in build.heater:
        if heater.bypass == "none" and served(build, heater.name):
            much = show(float(heaters.content(heater)), "volume", build.van.units)
            yield Finding(
                "NOTICE",
                f"The heater has no bypass: to fill the hot lines with antifreeze takes {much} "
                "more, or they are blown out.",
                heater.name,
                "none",
                "a bypass with its valves",
                PRACTICE,
                "Fit a bypass (bypass under [[heater]]), or plan to blow the hot lines out.",
            )


@rule
def relief_drain_ends_badly(answers: Answers) -> Iterator[Finding]:
    """The drain of a relief valve that is shut, or ends where it scalds or isn't seen."""
    for heater in answers.build.heater:
        if heater.relief is None or heater.relief_drain in (
            "not said",
            "outside, downward, in sight",
        ):
            continue
        capped = heater.relief_drain == "capped"
        what = {
            "capped": "The drain of the relief valve is capped: the valve can't let go, and the "
            "store can burst.",
            "into the cabin": "The relief valve drains into the cabin: scalding water and steam.",
        }.get(heater.relief_drain, "Nobody sees where the relief valve drips.")
        yield Finding(
            "DANGER" if capped else "WARNING" if "cabin" in heater.relief_drain else "NOTICE",
            what,
            heater.name,
            heater.relief_drain,
            "open, downward, outside, in sight",
            PRACTICE,
            "Lead it full bore and falling to the outside, where it hurts nobody and is seen, to "
            "the local code.",
        )


@rule
def recirculation_costs(answers: Answers) -> Iterator[Finding]:
    """A recirculation pump that runs day and night, or leads nowhere."""
    build = answers.build
    for pump in build.recirculation_pump:
        back = any(loop(build, heater.name, pump.name) for heater in build.heater)
        if not back:
            yield Finding(
                "NOTICE",
                "No loop leads from a heater through the pump and back.",
                pump.name,
                "no loop",
                "from the far end of the hot line to the heater's cold side",
                PRACTICE,
                "Draw a run from the hot line to the pump, and one to a tee before the heater.",
            )
        hours = line_parts.recirculating_hours(pump)
        energy = float(pump.power) * hours * 3600.0
        battery = build.battery
        if battery is None:
            continue
        usable = battery.whole_capacity * battery.voltage * battery.usable
        if energy > SPENT * usable > 0:  # a battery that gives nothing is told of elsewhere
            yield Finding(
                "NOTICE",
                f"It runs {hours:.3g} h a day and takes a good part of the battery, and the loop "
                "gives off heat all that time.",
                pump.name,
                energy / usable,
                SPENT,
                PRACTICE,
                "Let a button or a timer run it just before hot water is wanted (hours under "
                "[[recirculation_pump]]), and foam the loop.",
                "share",
            )


@rule
def recirculation_through_a_flow_heater(answers: Answers) -> Iterator[Finding]:
    """A loop through a heater that keeps no store: it lights at every round, or never."""
    build = answers.build
    for one in recirculating(answers.flow):
        heater = next(h for h in build.heater if h.name == one.heater)
        if not heaters.follows_flow(heater):
            continue
        lights = one.flow >= heater.flow_least > 0
        yield Finding(
            "NOTICE",
            f"{one.heater} keeps no hot water: "
            + ("it burns as long as the pump runs." if lights
               else "what the pump brings round is too little to light it, and stays cold."),
            one.pump,
            one.flow,
            heater.flow_least,
            PHYSICS.at("conservation of heat"),
            "Leave the pump out, or bring water round through a store.",
            "flow",
        )  # fmt: skip


@rule
def frost_valve_opens_in_use(answers: Answers) -> Iterator[Finding]:
    """A drain that opens in frost, in air that gets as cold as that while the van is used."""
    build = answers.build
    for drain in build.drain_valve:
        air = build.van.cabin if drain.place == "cabin" else build.van.outside
        if drain.kind == "in frost" and air < drain.opens_below:
            yield Finding(
                "NOTICE",
                "It opens by itself in the coldest night and lets the water out, the tank's too if "
                "nothing holds it.",
                drain.name,
                air,
                drain.opens_below,
                PRACTICE,
                "Mount it in the heated cabin with only its outlet outside, and mind that it must "
                "be shut again by hand.",
                "temperature",
            )


@rule
def vent_not_at_the_top(answers: Answers) -> Iterator[Finding]:
    """An air vent that hangs below what it should vent."""
    build = answers.build
    high = heights(build)
    for vent in build.air_vent:
        near = [
            first.component if last.component == vent.name else last.component
            for first, last in build.run_ends
            if vent.name in (first.component, last.component)
        ]
        for other in near:
            if high[vent.name] < high[other] - 1e-6:
                yield Finding(
                    "NOTICE",
                    "The vent hangs below the line that it should vent: air does not go down.",
                    f"{vent.name}, under {place(build, other)}",
                    float(high[vent.name]),
                    float(high[other]),
                    PHYSICS.at("air rises"),
                    "Let its run rise from the highest place of the line.",
                    "height",
                )
