"""Boards to test with: invented builds of any number of zones."""

from __future__ import annotations

from typing import Any

from vanplumb.board.plan import BoardPlan
from vanplumb.van.model import Build
from vanplumb.van.parts import Fixture, Manifold, MixingValve, Run, Tank, Zone
from vanplumb.van.whole_van import Board, Stock, Van


def build_of(
    cold: int = 4,
    hot: int = 0,
    *,
    form: str = "tees",
    tube: str = "PEX 1/2 in",
    units: str = "US",
    mixing: bool = False,
    rows: dict[str, Any] | None = None,
    leaves: str = "",
    **board: Any,
) -> Build:
    """A build with so many zones; with ``mixing`` the last zones of both feed a mixing valve.

    ``leaves`` is "up" or "down": the rise of every run.
    """
    manifolds, zones, runs, fixtures = [], [], [], []
    rise = {"": 0.0, "up": 0.5, "down": -0.5}[leaves]
    for side, count in (("cold", cold), ("hot", hot)):
        if not count:
            continue
        name = f"{side} manifold"
        manifolds.append(Manifold(name=name, side=side, form=form, tube=tube))
        runs.append(Run(start=f"{side} tank", end=name, tube=tube, length=1.0))
        for number in range(count):
            zone = f"zone {number + 1}"
            zones.append(Zone(manifold=name, name=zone))
            if mixing and number == count - 1:
                runs.append(Run(start=f"{name}.{zone}", end=f"mixer.{side}", tube=tube, length=0.5))
            else:
                tap = f"{side} tap {number + 1}"
                fixtures.append(Fixture(name=tap, kind="galley tap"))
                ends = {"start": f"{name}.{zone}", "end": f"{tap}.inlet"}
                runs.append(Run(**ends, tube=tube, length=2.0, rise=rise))
    valves = ()
    if mixing:
        valves = (MixingValve(name="mixer", kind="fixed", setting=311.0),)
        fixtures.append(Fixture(name="tub", kind="outside shower"))
        runs.append(Run(start="mixer", end="tub.inlet", tube=tube, length=2.0))
    return Build(
        van=Van(name="Trial", units=units),
        board=Board(**board),
        tank=tuple(Tank(name=f"{s} tank", shape="box") for s in ("cold", "hot")),
        manifold=tuple(manifolds),
        zone=tuple(zones),
        run=tuple(runs),
        fixture=tuple(fixtures),
        mixing_valve=valves,
        stock=(Stock(tube=tube, length=6.096, pieces=3),),
        rows=rows or {},
    )


LEVER = "ball valve, lever 1/2 in"
LONG = {"board_parts": {LEVER: {"handle_length": 0.088, "handle_width": 0.017}}}
"""A build's own row: a longer lever on the usual ball valve."""


def plan_of(*args: Any, **more: Any) -> BoardPlan:
    """The board of such a build."""
    return BoardPlan(build_of(*args, **more))
