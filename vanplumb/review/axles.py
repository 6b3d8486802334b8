"""Rules on what the water system adds on the axles."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..lists.axles import AXLES
from ..words.sources import PHYSICS, PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

LIFTED = 20.0
"""kg that may be taken off the front axle before it is told (assumed)."""


@rule
def axle_carries_too_much(answers: Answers) -> Iterator[Finding]:
    """An axle that the water system loads above what the van's plate allows it."""
    axles = answers.axles
    if axles is None:
        return
    for axle in AXLES:
        least = axles.least_room(axle)
        if least is None:
            continue
        state, room = least
        limit = axles.limits[axle]
        if room.value < 0:
            yield Finding(
                "WARNING",
                "The axle carries more than it is allowed, before crew and luggage: it or its "
                "tyres can fail on the road.",
                f"{axle} axle, {state.name}",
                limit - room.value,
                limit,
                PHYSICS.at("moments about the axles"),
                "Carry less water, move tanks and heavy parts towards the other axle, and weigh "
                "each axle.",
                "axle_load",
            )
        elif room.value < state.unplaced:
            yield Finding(
                "WARNING",
                "The axle may carry more than it is allowed: some parts say no place, and it has "
                "not as much left as they weigh.",
                f"{axle} axle, {state.name}",
                room.value,
                state.unplaced,
                PHYSICS.at("moments about the axles"),
                "Say where each part stands (behind_front_axle), and weigh each axle.",
                "axle_load",
            )


@rule
def front_axle_gets_lighter(answers: Answers) -> Iterator[Finding]:
    """Water behind the rear axle takes load off the wheels that steer."""
    axles = answers.axles
    if axles is None:
        return
    lightest = min(axles.states, key=lambda s: s.of("front"), default=None)
    if lightest is not None and lightest.of("front") < -LIFTED:
        yield Finding(
            "CAUTION",
            "The water system takes load off the front axle: the wheels that steer and brake most "
            "hold the road less.",
            f"front axle, {lightest.name}",
            lightest.of("front"),
            -LIFTED,
            PRACTICE,
            "Put tanks between the axles; weigh the front axle against the least that the van's "
            "maker asks for.",
            "axle_load",
        )
