"""Rules on what a heater may do beyond its setpoint and its usual pressure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..build.ratings import is_closed
from ..build.trace import COLD, contents, ways
from ..flow.burns import burn
from ..trip.plant import Options
from ..words.sources import IPC, PRACTICE
from .finding import Finding, rule
from .heat import _bound

if TYPE_CHECKING:
    from ..build.model import Build
    from ..pack import Pack

PARTED = ("tank", "pump", "shore_inlet", "mixing_valve", "fixture")
"""Parts that growing water is not counted on to pass."""


@rule
def coolant_past_setpoint(pack: Pack) -> Iterator[Finding]:
    """An engine's coolant heats a store past any thermostat, and an outlet may give that."""
    build = pack.build
    if not any(h.coolant_power > 0 for h in build.heater):
        return
    reached, (limit, source) = Options().coolant_limit, _bound(pack)
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
            f"valve stands before this outlet: {burn(reached).told(build.van.units)} to a deep "
            "burn.",
            way.fixture,
            reached,
            limit,
            source,
            "Put a thermostatic mixing valve before it and test it after a long drive; other "
            "chapters reckon with the setpoint.",
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
        if _reached(build, facts.name) & {a.name for a in build.accumulator}:
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


def _reached(build: Build, start: str) -> set[str]:
    """Components that water pushed out of one can get to with every outlet shut."""
    parted = {c.name for kind in PARTED for c in getattr(build, kind)}
    forward = {c.name for c in build.check_valve if not c.reversed}
    forward |= {r.name for r in build.regulator}
    backward = {c.name for c in build.check_valve if c.reversed}
    found, todo = {start}, [(start, True, True)]
    while todo:
        here, ahead, behind = todo.pop()
        for first, last in build.run_ends:
            for goes, other, back in (
                (ahead and first.component == here, last.component, False),
                (behind and last.component == here, first.component, True),
            ):
                barred = other in parted or other in (forward if back else backward)
                if not goes or barred or other in found:
                    continue
                found.add(other)
                todo.append((other, other not in backward, other not in forward))
    return found
