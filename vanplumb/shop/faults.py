"""What may be wrong in a finished van, as causes that the model can try.

Runs in a row are one suspect: a kink in one of them reads like a kink in the next.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..build.places import place
from ..build.trace import title
from ..words.tables import table
from .suspects import Cause

if TYPE_CHECKING:
    from ..build.model import Build
    from .measured import MeasuredVan

OPENINGS = (0.65, 0.6, 0.54, 0.48, 0.42, 0.36, 0.3, 0.25, 0.2, 0.16, 0.13)
LOSSES = (15.0, 40.0, 80.0, 150.0, 300.0, 600.0, 1000.0, 1500.0)
CLOGGED = (0.2, 0.35, 0.5, 0.6, 0.7, 0.78, 0.85, 0.9)
SPEEDS = (0.93, 0.89, 0.85, 0.8, 0.75, 0.7)
COOLER = (4.0, 7.0, 11.0, 16.0, 22.0)
TURNED = (-0.3, -0.2, -0.12, -0.07, 0.07, 0.12, 0.2, 0.3)
LONG = 0.9
"""Runs of at least so many metres are tried as wrong tube."""


def upstream(build: Build, fixture: str, port: str = "") -> frozenset[int]:
    """Numbers of all runs that water may come through to a fixture, or to one port of it."""
    pairs = [build.ends(run) for run in build.run]
    found: set[int] = set()
    todo = [
        i for i, (_, end) in enumerate(pairs) if end.component == fixture and port in ("", end.port)
    ]
    while todo:
        i = todo.pop()
        if i in found:
            continue
        found.add(i)
        behind = pairs[i][0].component
        todo += [j for j, (_, end) in enumerate(pairs) if end.component == behind]
    return frozenset(found)


def hot_runs(build: Build, fixture: str, port: str = "") -> tuple[int, ...]:
    """Runs between a heater and a fixture, in the order of the water."""
    pairs = [build.ends(run) for run in build.run]
    reached = {h.name for h in build.heater}
    order: list[int] = []
    wanted = upstream(build, fixture, port)
    while True:
        more = [
            i
            for i, (start, _) in enumerate(pairs)
            if i in wanted and i not in order and start.component in reached
        ]
        if not more:
            return tuple(order)
        order += more
        reached |= {pairs[i][1].component for i in more}


def causes_of(van: MeasuredVan) -> tuple[Cause, ...]:
    """Suspects of a build: pump, screens, valves, tubes, heater, mixing valves."""
    build, levers = van.build, van.model.levers
    found: list[Cause] = []

    def add(name: str, lever: str, steps: Iterable[float], look: str, *, between: bool = True,
            weight: float = 1.0) -> None:  # fmt: skip
        if lever in levers:
            found.append(Cause(name, lever, tuple(steps), look, between, weight))

    for zone in build.zone:
        link = f"{zone.manifold}.{zone.name}"
        add(f"valve not fully open: {place(build, link)}", f"valve {link}", OPENINGS,
            "turn the handle all the way and measure again", weight=2.0)  # fmt: skip
    for valve in build.shut_off:
        add(f"valve not fully open: {valve.name}", f"valve {valve.name}", OPENINGS,
            "turn the handle all the way and measure again", weight=2.0)  # fmt: skip
    for strainer in build.strainer:
        add(f"clogged screen: {strainer.name}", f"strainer {strainer.name}", CLOGGED,
            "take the bowl off and wash the mesh", weight=2.0)  # fmt: skip
    for fixture in build.fixture:
        add(f"clogged screen: {fixture.name}", f"screen {fixture.name}", CLOGGED,
            "unscrew the aerator or the shower head", weight=2.0)  # fmt: skip
    add("low voltage at the pump", "speed", SPEEDS,
        "measure at its terminals while it runs; leads, fuse, earth", weight=2.0)  # fmt: skip
    for heater in build.heater:
        lever = f"store {heater.name}"
        if lever in levers:
            cooler = [van.model.usual(lever) - d for d in COOLER]
            add(f"{heater.name} not at its setpoint", lever, cooler, "wait until it switches off")
    for name in van.made.mixers:
        lever = f"turned {name}"
        if lever in levers:
            usual = van.model.usual(lever)
            steps = [usual + d for d in TURNED if 0.02 < usual + d < 0.98]
            add(f"{name} not as it was set", lever, steps, "set it again at two flows")
    for group in groups(van):
        number = max(group, key=lambda i: build.run[i].length)
        where = ", ".join(f"run {i + 1}" for i in group)
        name = f"kink: {where} ({title(build, number)})" if len(group) == 1 else f"kink: {where}"
        add(name, f"kink {number + 1}", LOSSES, "follow the tube by hand, bend by bend")
    wet = frozenset().union(*van.reach.values())
    for i, run in enumerate(build.run):
        if i in wet and run.length >= LONG and (bore := smaller(build, run.tube)):
            add(f"wrong tube: run {i + 1} ({title(build, i)}) in {bore[0]}", f"bore {i + 1}",
                (bore[1],), "read the print on the tube", between=False, weight=0.5)  # fmt: skip
    return tuple(found)


def groups(van: MeasuredVan) -> tuple[tuple[int, ...], ...]:
    """Runs that the same outlets draw through, on the same side of the pump."""
    build = van.build
    before = {
        i
        for i in range(len(build.run))
        if any(build.ends(build.run[i])[1].component == p.name for p in build.pump)
    }
    for i in list(before):
        before |= upstream(build, build.ends(build.run[i])[0].component)
    found: dict[tuple[frozenset[str], bool], list[int]] = {}
    for i in range(len(build.run)):
        outlets = frozenset(name for name, runs in van.reach.items() if i in runs)
        if outlets:
            found.setdefault((outlets, i in before), []).append(i)
    return tuple(tuple(g) for g in found.values())


def smaller(build: Build, tube: str) -> tuple[str, float] | None:
    """The next smaller tube of the same material: its name and bore."""
    tubes = table("tubes", build.rows)
    row = tubes[tube]
    below = [
        r
        for r in tubes.values()
        if r["material"] == row["material"] and r.number("bore") < 0.97 * row.number("bore")
    ]
    if not below:
        return None
    best = max(below, key=lambda r: r.number("bore"))
    return best.name, best.number("bore")
