"""Rules on what a heater may do beyond its setpoint and its usual pressure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..build.ratings import COOLANT, is_closed
from ..build.trace import COLD, contents, reached, ways
from ..flow.burns import burn
from ..words.sources import IPC, PRACTICE
from .finding import Finding, rule
from .heat import _bound

if TYPE_CHECKING:
    from ..pack import Pack


@rule
def coolant_past_setpoint(pack: Pack) -> Iterator[Finding]:
    """An engine's coolant heats a store past any thermostat, and an outlet may give that."""
    build = pack.build
    if not any(h.coolant_power > 0 for h in build.heater):
        return
    limit, source = _bound(pack)
    holding = {v.name for v in build.mixing_valve if v.kind == "thermostatic"}
    water, told = contents(build), set()
    for way in ways(build):
        warm = way.port != "cold" and water[way.runs[-1]] != COLD
        if not warm or holding & set(way.components) or way.fixture in told:
            continue
        told.add(way.fixture)
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
def flow_through_without_relief(pack: Pack) -> Iterator[Finding]:
    """A flow-through heater that is shut in and has no relief valve."""
    build = pack.build
    for heater in build.heater:
        if heater.kind == "flow-through" and heater.relief is None and is_closed(build):
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
def vessel_cut_off_from_heater(pack: Pack) -> Iterator[Finding]:
    """An accumulator on the far side of a check valve takes up nothing of what grows."""
    build = pack.build
    for facts in pack.heater:
        if not facts.growth or not build.accumulator or not is_closed(build):
            continue
        if reached(build, facts.name) & {a.name for a in build.accumulator}:
            continue
        yield Finding(
            "CAUTION",
            "A check valve or regulator stands between the heater and every accumulator: warming "
            "water can't get there, and the relief valve opens at each heating, whatever the "
            "chapter on heated water says.",
            facts.name,
            facts.growth,
            "a vessel that the heater's water can reach",
            IPC.at("607.3, thermal expansion", "memory"),
            "Fit a vessel between the last check valve and the heater.",
            "volume",
        )
