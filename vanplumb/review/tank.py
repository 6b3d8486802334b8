"""Rules on tanks and weight: heel, fit, vent, payload, water for the stay."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..trip.stay.feeds import has_level
from ..van.heights import heights
from ..van.region import source_here
from ..van.tank_shapes import full_depth, heel, missing, volume
from ..van.trace import flows_by_itself
from ..words.sources import NFPA1192, PHYSICS, PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

HEEL_SHARE = 0.10
PRINTED_SHARE = 0.10
"""Of the volume by its measures: round corners and walls make no more (assumed)."""
PAYLOAD_SHARE = 0.25
LEVEL = 0.02
"""m that one full tank may stand over another one before it counts as higher (assumed)."""


@rule
def heel_large(answers: Answers) -> Iterator[Finding]:
    """Water that the pump can't reach."""
    for tank in answers.build.tank:
        if tank.holds != "fresh" or missing(tank):
            continue
        left, all_of_it = heel(tank), volume(tank)
        if all_of_it > 0 and left / all_of_it > HEEL_SHARE:
            yield Finding(
                "NOTICE",
                "A good part of the water stays below the pickup.",
                tank.name,
                left / all_of_it,
                HEEL_SHARE,
                PRACTICE,
                "Lower the pickup, or give the tank a sump.",
                "share",
            )


@rule
def printed_volume_differs(answers: Answers) -> Iterator[Finding]:
    """A tank whose measures hold another volume than is printed on it."""
    for facts in answers.tanks:
        if facts.stated is None or facts.volume <= 0:
            continue
        if abs(facts.stated / facts.volume - 1) > PRINTED_SHARE:
            yield Finding(
                "NOTICE",
                "The measures of the tank hold another volume than is printed on it; the measures "
                "are used.",
                facts.name,
                facts.volume,
                facts.stated,
                PRACTICE,
                "Measure it inside once more, or take out the measures.",
                "volume",
            )


@rule
def tank_does_not_fit(answers: Answers) -> Iterator[Finding]:
    """A tank that is larger than the space it must go into."""
    for tank, facts in zip(answers.build.tank, answers.tanks, strict=True):
        spaces = {"length": tank.space_length, "width": tank.space_width}
        spaces["height"] = tank.space_height
        for side, over in facts.misfits:
            space = spaces.get(side) or 0.0
            yield Finding(
                "NOTICE",
                f"The tank's outside {side} is more than its space.",
                tank.name,
                space + over,
                space,
                PRACTICE,
                "Take a smaller tank or another shape; leave room for fittings and hose too.",
                "length",
            )


@rule
def vent_missing(answers: Answers) -> Iterator[Finding]:
    """A tank that can't breathe bulges when it is filled and collapses when it is emptied."""
    for tank in answers.build.tank:
        if tank.vent_diameter is None:
            yield Finding(
                "NOTICE",
                "The build names no vent for the tank.",
                tank.name,
                "none",
                "a screened vent, turned down",
                source_here(answers.build, NFPA1192.at("chapter 7")),
                "Give it a vent at its highest point that water can't block.",
            )
        elif tank.fill_diameter is not None and tank.vent_diameter < tank.fill_diameter / 3:
            yield Finding(
                "NOTICE",
                "The vent is narrow beside the filler: filling under pressure strains the tank.",
                tank.name,
                tank.vent_diameter,
                tank.fill_diameter / 3,
                PRACTICE,
                "Fit a wider vent, or fill slowly with an open cap.",
                "diameter",
            )


@rule
def overflow_narrow(answers: Answers) -> Iterator[Finding]:
    """An overflow that takes less than the filler brings: the rest comes out of the vent."""
    for tank in answers.build.tank:
        if (
            tank.overflow_diameter is not None
            and tank.fill_diameter is not None
            and tank.overflow_diameter < tank.fill_diameter / 2
        ):
            yield Finding(
                "NOTICE",
                "The overflow is narrow beside the filler: water comes out of the vent, or strains "
                "the tank, once it is full.",
                tank.name,
                tank.overflow_diameter,
                tank.fill_diameter / 2,
                PRACTICE,
                "Fit a wider overflow that falls to the outside, turned down and screened, or "
                "watch the level while filling.",
                "diameter",
            )


@rule
def water_heavy_for_the_van(answers: Answers) -> Iterator[Finding]:
    """Water that takes a large share of what the van may carry."""
    weight = answers.weight
    own = answers.build.limits.water_share_of_payload
    limit = own if own is not None else PAYLOAD_SHARE
    if weight.share is not None and weight.share > limit:
        yield Finding(
            "NOTICE" if weight.share < 1 else "WARNING",
            "The water system, full, takes a large share of the payload.",
            "whole system",
            weight.share,
            limit,
            PRACTICE,
            "Carry less water on the road, or weigh the van as it will travel.",
            "share",
        )


@rule
def water_short_for_the_stay(answers: Answers) -> Iterator[Finding]:
    """A tank that does not last the nights that were asked for."""
    water = answers.water
    waits_alone = water.enough_by_uses and any(
        failure.what == "runs dry" for failure in answers.trip.failures
    )  # then the rule on the days played through says why
    carries = any(tank.holds == "fresh" for tank in answers.build.tank)
    if carries and water.need > 0 and water.usable < water.need and not waits_alone:
        yield Finding(
            "NOTICE",
            "The tank does not last the nights between two fillings.",
            "fresh tanks",
            water.usable,
            water.need,
            PRACTICE,
            "Carry more, use less, or fill sooner.",
            "volume",
        )


@rule
def tank_runs_over_into_a_lower_one(answers: Answers) -> Iterator[Finding]:
    """A tank whose water sinks into a lower one by itself: nothing on the way stops it."""
    build = answers.build
    fresh = [t for t in build.tank if t.holds == "fresh"]
    if len(fresh) < 2:
        return
    stand = heights(build)
    tops = {
        t.name: stand[t.name] + (0.0 if missing(t) or not has_level(t) else full_depth(t))
        for t in fresh
    }
    for upper in fresh:
        below = flows_by_itself(build, upper.name) & set(tops)
        lower = [n for n in below if tops[n] < tops[upper.name] - LEVEL]
        if lower:
            yield Finding(
                "NOTICE",
                f"Water of this tank runs by itself into {' and '.join(sorted(lower))}, which "
                "stands lower: nothing on the way stops it, and the lower one runs over at its "
                "vent.",
                upper.name,
                tops[upper.name],
                min(tops[name] for name in lower),
                PHYSICS.at("water in pipes that join finds one level"),
                "Put a check valve behind each tank, or a valve that is shut between fillings.",
                "length",
            )
