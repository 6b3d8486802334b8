"""Tube bent round its corners instead of elbows, where its least radius allows.

``bend_corners`` under ``[shop]`` asks for it in all runs, ``corners`` of a run in that one.

The build file keeps its elbows; what is worked out is the run as it is made: bends for elbows,
and a centre line that is shorter by what each bend cuts off.  Flow, volume, joints, pieces, bill
and weight then follow from that one run.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..formulas.joints import bent_length
from ..words.tables import table
from .bent import BentRun
from .outlets import Run
from .rows import fitting_sort

if TYPE_CHECKING:
    from .model import Build

BEND = "bend"
"""The row of the table of fittings that a bend is."""


def with_bends(build: Build) -> Build:
    """The build with every corner bent that is asked for and can be; as it is where none is."""
    if not any(_asked(build, run) for run in build.run):
        return build
    runs, bent = [], []
    for index, run in enumerate(build.run):
        made = bent_run(build, index, run) if _asked(build, run) else None
        if made is None:
            runs.append(run)
            continue
        bent.append(made)
        runs.append(run if made.refused else _bend(build, run, made))
    return replace(build, run=tuple(runs), bent=tuple(bent))


def _asked(build: Build, run: Run) -> bool:
    """Whether a run's corners are to be bent: as it says itself, else as the shop makes them."""
    return run.corners == "bent" or (build.shop.bend_corners and run.corners != "elbows")


def bent_run(build: Build, index: int, run: Run) -> BentRun | None:
    """What bends ask of a run, and whether it has the room; None for a run without elbows.

    All corners of a run are bent or none.  A bend takes its radius off both legs; a leg to an end
    keeps half the least stub straight for the joint there.  Legs that nobody says are even.
    """
    elbows = {name: n for name, n in run.fittings if _is_elbow(build, name)}
    corners = sum(elbows.values())
    if not corners:
        return None
    row = table("tubes", build.rows)[run.tube]
    radius = float(row["bend_least"] or 0.0)
    straight = float(row["stub_least"] or 0.0) / 2
    others = sum(n for name, n in run.fittings if name not in elbows and _in_the_way(build, name))
    legs = list(run.legs) or [run.length / (corners + 1)] * (corners + 1)
    needs = [radius + straight, *[2 * radius] * (len(legs) - 2), radius + straight]
    worst = min(range(len(legs)), key=lambda n: legs[n] - needs[n])
    shorter = -corners * float(bent_length.si(0.0, 0.0, radius))
    refused = ""
    if not radius:
        refused = f"the tables say no least radius for {run.tube}"
    elif others:
        refused = "there are other fittings in it, and nobody says where"
    elif run.length - shorter < abs(run.rise):
        refused = "with its corners cut off it would be shorter than it rises"
    elif legs[worst] < needs[worst]:
        refused = "its legs are too short for the tube's least radius"
    return BentRun(index, corners, radius, shorter, legs[worst], needs[worst], refused)


def _is_elbow(build: Build, name: str) -> bool:
    return fitting_sort(table("fittings", build.rows)[name]) == "elbow"


def _in_the_way(build: Build, name: str) -> bool:
    """Whether a fitting stands somewhere in the run; adapters and reducers stand at its ends."""
    row = table("fittings", build.rows)[name]
    at_an_end = row["kind"] in ("adapter", "tee") or fitting_sort(row) == "reducer"
    return not at_an_end and (row["kind"] != "elbow" or bool(row["tube_ends"]))


def _bend(build: Build, run: Run, made: BentRun) -> Run:
    kept = {name: n for name, n in run.fittings if not _is_elbow(build, name)}
    kept[BEND] = kept.get(BEND, 0) + made.corners
    return replace(run, fittings=tuple(kept.items()), length=run.length - made.shorter, legs=())
