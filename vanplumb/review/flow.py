"""Rules on what really flows: starved fixtures, jumps of temperature, crossed water, the pump."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite
from typing import TYPE_CHECKING

import numpy as np

from ..flow.moment import STARVED as CUT_BY_SUCTION
from ..van.region import region_of, speed_limit
from ..van.trace import fixtures_fed, title
from ..words.show import show
from ..words.sources import GEOMETRY, JOUKOWSKY, PHYSICS, PRACTICE
from ..words.tables import OWN
from .finding import Finding, NotWorkedOut, rule
from .tube import HOT_WATER

if TYPE_CHECKING:
    from ..answers import Answers
    from ..flow.cross_effects import Change
    from ..flow.engine import Flow

NO_FLOW = 1e-8
"""m³/s, some drops a minute: up to here nothing comes out."""
STARVED = 0.5
"""Part of its rated flow below which a fixture counts as starved: common practice, no source."""
BLOOD_HEAT = 310.15
"""K, 37 °C: water up to here can't scald, however it jumped (general physics)."""
COLDER = 2.0
"""K below what is wished at a tap that is worth a word (assumed)."""
SCALDING_JUMP = 4.0
"""K upward that makes a jump dangerous at the skin: common practice, no source."""
STARTS_MOST = 10 / 60
"""Starts a second: more wears switch and motor; common practice, no source."""
NPSH_LEAST = 2.0
"""m of water above boiling that a diaphragm pump should keep: common practice, no source."""
RISE_GAP = 0.05
"""m: how well heights can be measured in a van; common practice, no source."""
NEAR = 1.005


def _worked(flow: Flow) -> None:
    """NotWorkedOut where the network can't be solved for this build."""
    if flow.problem:
        raise NotWorkedOut(flow.problem)


@rule
def no_water_at_any_tap(answers: Answers) -> Iterator[Finding]:
    """A van that gives no water anywhere: said before all else, since all else hangs on it."""
    flow = answers.flow
    why = flow.problem
    if not why:
        alone = [flow.situation_of((name,)) for name in flow.fixtures]
        if any(
            not m.found or m.fixtures[n].flow > NO_FLOW
            for n, m in zip(flow.fixtures, alone, strict=True)
        ):
            return
        reasons = dict.fromkeys(reason for moment in alone for reason in moment.reasons)
        why = "; ".join(list(reasons)[:3]) or "no way leads from a tank or the shore to a tap"
    yield Finding(
        "WARNING",
        f"No water comes out of any tap: {why.rstrip('.')}.",
        "whole system",
        "no water",
        "water at a tap",
        GEOMETRY,
        "Join tank, pump and taps by runs, open what is shut, and look at the schematic; other "
        "figures mean little before water comes.",
        opens=True,
    )


@rule
def fixture_starved(answers: Answers) -> Iterator[Finding]:
    """A fixture that gives less than half of its rated flow, alone or beside others."""
    flow = answers.flow
    _worked(flow)
    for name in flow.fixtures:
        alone = flow.situation_of((name,)).fixtures[name]
        if alone.flow < STARVED * alone.wanted:
            why = "; ".join(flow.situation_of((name,)).reasons)
            yield _starved(name, "open alone", alone.flow, alone.wanted, why)
            continue
        worst = min(flow.changes.get(name, ()), key=lambda c: c.flow, default=None)
        if worst is not None and worst.flow < STARVED * alone.wanted:
            yield _starved(
                name,
                f"while {worst.told} {'run' if len(worst.others) > 1 else 'runs'}",
                worst.flow,
                alone.wanted,
                "",
            )


def _starved(name: str, when: str, flow: float, wanted: float, why: str) -> Finding:
    return Finding(
        "NOTICE",
        f"{name} gets too little water {when}" + (f": {why}." if why else "."),
        name,
        flow,
        STARVED * wanted,
        PRACTICE,
        "See what limits it: change the part that takes the greatest share of the pressure.",
        "flow",
    )


@rule
def tap_gets_no_warmer(answers: Answers) -> Iterator[Finding]:
    """A tap that gives colder water than is wished there, alone and turned wholly to hot."""
    flow = answers.flow
    _worked(flow)
    for name in flow.fixtures:
        if name not in flow.made.mixers:
            continue
        moment = flow.situation_of((name,))
        tap = moment.fixtures[name]
        wished = float(np.ravel(flow.made.net.mixers[flow.made.mixers.index(name)].setting)[0])
        if moment.found and tap.flow > NO_FLOW and tap.temperature < wished - COLDER:
            why = "; ".join(moment.reasons)
            yield Finding(
                "NOTICE",
                f"{name} gets no warmer, open alone and turned wholly to hot"
                + (f": {why}." if why else "."),
                name,
                tap.temperature,
                wished,
                PHYSICS,
                "See which heater its water comes from, what lights it at this flow, and how much "
                "it can warm; or wish for less.",
                "temperature",
            )


@rule
def temperature_jumps(answers: Answers) -> Iterator[Finding]:
    """Mixed water that changes its temperature when another fixture opens."""
    flow = answers.flow
    _worked(flow)
    system = answers.build.van.units
    here = region_of(answers.build).row
    band = here.number("control_band")
    guarded = {f.name for f in answers.build.fixture if f.vulnerable}
    for name in flow.fixtures:
        changes = [c for c in flow.changes.get(name, ()) if abs(c.rise) > band]
        for up in (True, False):
            some = [c for c in changes if (c.rise > 0) is up]
            if not some:
                continue
            worst = max(some, key=lambda c: (up and c.warm > BLOOD_HEAT, abs(c.rise)))
            severity = "NOTICE"
            if up and worst.warm > BLOOD_HEAT:
                hot = worst.rise > SCALDING_JUMP or name in guarded
                severity = "WARNING" if hot else "CAUTION"
            change = show(abs(worst.rise), "rise", system)
            yield Finding(
                severity,
                f"{name} gets {change} {'hotter' if up else 'colder'} when {worst.told} "
                f"{'open' if len(worst.others) > 1 else 'opens'}.",
                name,
                worst.rise,
                band if up else -band,
                here.source("control_band"),
                _against(worst),
                "rise",
            )


def _against(jump: Change) -> str:
    """What helps against a jump of temperature, by which side loses pressure."""
    if jump.rise > 0 and -jump.heater > jump.rise / 2:
        return (
            "Less water runs through the heater then, and its power warms that more: alone, the "
            "flow is too much for it. Turn the tap down until the water is warm, limit its flow, "
            "or fit a heater of more power."
        )
    if jump.rise > 0:
        return (
            "The cold side loses pressure. Fit a thermostatic valve that shuts when cold fails, or "
            "a wider tube on the cold side; set it cooler until then. Measure at the outlet with "
            f"{jump.told} open."
        )
    if jump.heater > -jump.rise / 2:
        return (
            "The heater can't warm both flows: the hot water itself gets cooler, and no valve "
            "makes up for that. Limit the flows, draw one after the other, or fit a heater of "
            "more power. Don't set it hotter to make up: it gets too hot when the other shuts."
        )
    return (
        "The hot side loses pressure. Fit a thermostatic valve, or a wider tube on the hot side. "
        "Don't set it hotter to make up: it gets too hot when the other shuts. Measure at the "
        "outlet."
    )


@rule
def water_crosses_in_valve(answers: Answers) -> Iterator[Finding]:
    """Hot water that runs back into the cold side, or cold into hot, in a real situation."""
    flow = answers.flow
    _worked(flow)
    for one in flow.crossings:
        other = "cold" if one.into == "hot" else "hot"
        yield Finding(
            "WARNING" if one.into == "cold" else "CAUTION",
            f"With {_opened(one.moment.open)}, {other} water runs backwards through {one.valve} "
            f"into the {one.into} side.",
            one.valve,
            one.flow,
            0.0,
            PRACTICE,
            "Fit check valves at both inlets.",
            "flow",
        )


def _opened(names: tuple[str, ...]) -> str:
    return f"{' and '.join(names)} open" if names else "every fixture shut"


@rule
def pump_cycles_fast(answers: Answers) -> Iterator[Finding]:
    """A pump that starts and stops many times a minute while one fixture runs."""
    flow = answers.flow
    _worked(flow)
    for pump in answers.build.pump:
        states = [
            (m, m.pumps[pump.name])
            for m in flow.situations
            if pump.name in m.pumps and m.pumps[pump.name].cycling
        ]
        if states and not answers.build.accumulator:
            yield Finding(
                "NOTICE",
                f"{pump.name} starts and stops while {_opened(states[0][0].open)}, and no "
                "accumulator keeps it apart.",
                pump.name,
                "no accumulator",
                "an accumulator, or a pump that slows down",
                PRACTICE,
                "Fit an accumulator behind the pump.",
            )
            continue
        fast = max(states, key=lambda s: s[1].starts, default=None)
        if fast is not None and fast[1].starts > STARTS_MOST:
            yield Finding(
                "NOTICE",
                f"{pump.name} starts and stops often while {_opened(fast[0].open)}.",
                pump.name,
                fast[1].starts,
                STARTS_MOST,
                PRACTICE,
                "Use a larger accumulator, or set its precharge just below the cut-in pressure.",
                "frequency",
            )


@rule
def pump_sucks_too_hard(answers: Answers) -> Iterator[Finding]:
    """A suction line that takes so much that the pump loses water or boils it."""
    flow = answers.flow
    _worked(flow)
    for pump in answers.build.pump:
        states = [
            (m, m.pumps[pump.name])
            for m in flow.situations
            if m.source == "pump" and pump.name in m.pumps and m.pumps[pump.name].running
        ]
        if not states:
            continue
        starved = [s for s in states if s[1].state == CUT_BY_SUCTION]
        moment, low = min(states, key=lambda s: s[1].npsh)
        if isfinite(low.npsh) and low.npsh < NPSH_LEAST:
            yield Finding(
                "NOTICE",
                f"The water nearly boils in the suction line of {pump.name} with "
                f"{_opened(moment.open)}" + (": its flow is cut." if starved else "."),
                pump.name,
                low.npsh,
                NPSH_LEAST,
                PRACTICE,
                "Shorten and widen the suction line, clean the strainer, lower the pump.",
                "height",
            )
        elif starved:
            moment, hard = min(starved, key=lambda s: s[1].flow)
            yield Finding(
                "NOTICE",
                f"The suction line of {pump.name} takes all of its lift with "
                f"{_opened(moment.open)}: its flow is cut.",
                pump.name,
                hard.lift_most,  # it stands at its limit, whatever the solver's last digit says
                hard.lift_most,
                PRACTICE,
                "Shorten and widen the suction line, or use a strainer of larger Kv.",
                "height",
            )


@rule
def speed_with_all_open(answers: Answers) -> Iterator[Finding]:
    """The fastest run with everything open."""
    flow = answers.flow
    _worked(flow)
    limits = answers.build.limits
    moment = flow.situation_of(flow.fixtures)
    fed = fixtures_fed(answers.build)
    worst = None
    for link in moment.links.values():
        if link.kind != "run" or not isfinite(link.velocity):
            continue
        hot = link.temperature > HOT_WATER
        own = limits.velocity_hot if hot else limits.velocity_cold
        tube = answers.build.run[link.place].tube
        single = len(fed.get(link.place, ())) <= 1
        known = speed_limit(answers.build, tube, hot=hot, single=single)
        limit = own if own is not None else known.value if known else inf
        over = link.velocity / limit
        if over > NEAR and (worst is None or over > worst[0]):
            worst = (over, link, limit, OWN if own is not None else known.source if known else OWN)
    if worst is not None:
        _, link, limit, source = worst
        yield Finding(
            "NOTICE",
            "Water runs fast with everything open: noise, loss and hammer.",
            f"{link.name}, {link.title}",
            link.velocity,
            limit,
            source,
            "Use the next size of tube.",
            "velocity",
        )


@rule
def surge_over_rating(answers: Answers) -> Iterator[Finding]:
    """Water hammer above what the tube is rated for at the water's temperature."""
    flow = answers.flow
    _worked(flow)
    for surge in flow.surges:
        if surge.rating is None or surge.peak > surge.rating:
            yield Finding(
                "CAUTION",
                f"Shutting {surge.fixture} fast sends a surge through {surge.run}.",
                surge.run,
                surge.peak,
                surge.rating if surge.rating is not None else "no rating at that temperature",
                JOUKOWSKY,
                "Shut it slower, fit an arrester near it, or use wider tube.",
                "pressure",
            )


@rule
def no_steady_flow(answers: Answers) -> Iterator[Finding]:
    """Situations of the build without an answer, and why."""
    flow = answers.flow
    _worked(flow)
    for moment in flow.situations:
        if not moment.found:
            yield Finding(
                "NOTICE",
                f"{moment.name}: {'; '.join(moment.reasons)}.",
                moment.name,
                "no steady state",
                "one",
                PRACTICE,
                "Expect swinging temperatures; open more, or use a heater that starts at less "
                "flow.",
            )


@rule
def rises_do_not_close(answers: Answers) -> Iterator[Finding]:
    """Rises that, taken round a ring of runs, do not come back to the same height."""
    flow = answers.flow
    _worked(flow)
    for number, gap in flow.made.gaps.items():
        if gap > RISE_GAP:
            yield Finding(
                "NOTICE",
                "The rises round a ring of runs do not add up: one of them is wrong.",
                f"run {number + 1}, {title(answers.build, number)}",
                gap,
                RISE_GAP,
                GEOMETRY,
                "Measure the heights again. Here this run is counted as it closes the ring.",
                "height",
            )
