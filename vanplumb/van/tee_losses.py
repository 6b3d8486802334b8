"""What tees take from the water that passes them, where no run of the build file counts it.

A build file gives "tee run" or "tee branch" with the run whose water goes straight on or round
the corner.  A tee that no such fitting stands for takes what the tee that is bought for it takes:
counted once on each way through it, in the run where the water has parted or not yet met.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..words.tables import table
from .ends import End, method_of
from .model import Build
from .tees import TeeSet, on_branch, runs_in_order

INSIDE = ("expansion", "crimp", "press", "push-fit", "hose clamp")
"""Ways of joining whose fittings go inside the tube."""

At = tuple[int, int]
"""The number of a run, and 0 for its start or 1 for its end."""


@dataclass(frozen=True)
class TeePass:
    """What one end of a run at a tee takes beyond what the file counts.

    ``straight`` and ``round`` tell how many tees the water passes straight on and round the
    corner; ``row`` is the tee's own in the table of losses, round the corner.  ``ends`` are those
    of the tee that the water passes, none where the tee isn't known.
    """

    tee: str
    straight: int
    round: int
    row: str
    ends: tuple[End, ...] = ()

    @property
    def rows(self) -> tuple[str, ...]:
        """The row of the table of losses for each passage."""
        return (self.row.replace("branch", "run"),) * self.straight + (self.row,) * self.round


def stated_tees(build: Build, index: int) -> int:
    """How many tees a run's own fittings count."""
    rows = table("fittings", build.rows)
    return sum(many for name, many in build.run[index].fittings if rows[name]["kind"] == "tee")


def _sides(runs: list[At]) -> tuple[list[At], list[At]]:
    """The runs at a tee that hold the water of all, and those that hold a part of it each."""
    arrive = [run for run in runs if run[1] == 1]
    leave = [run for run in runs if run[1] == 0]
    if not arrive or not leave:
        return runs[:1], runs[1:]
    return (leave, arrive) if len(leave) == 1 < len(arrive) else (arrive, leave)


def _stood_for(build: Build, tees: Mapping[str, list[At]]) -> set[At]:
    """Ends of runs whose tee the file counts.

    A run between two tees that counts one of them stands for that which nothing else counts.
    """
    at_tees: dict[int, list[tuple[str, At]]] = {}
    for tee, runs in tees.items():
        for run in runs:
            at_tees.setdefault(run[0], []).append((tee, run))
    stood: set[At] = set()
    open_ = []
    for index, ends in at_tees.items():
        many = stated_tees(build, index)
        if many >= len(ends):
            stood |= {run for _, run in ends}
        elif many:
            open_.append(index)

    def counted(tee: str, run: At) -> bool:
        whole, parted = _sides(tees[tee])
        return run in stood or all(r in stood for r in whole) or all(r in stood for r in parted)

    order = {run[0]: n for n, run in enumerate(runs_in_order(build, [(i, 0) for i in open_]))}
    open_.sort(key=order.__getitem__)
    while open_:
        useful = {i: [run for tee, run in at_tees[i] if not counted(tee, run)] for i in open_}
        index = min(open_, key=lambda i: (len(useful[i]) != 1, order[i]))
        stood |= set(sorted(useful[index], key=lambda run: run[1])[:1])
        open_.remove(index)
    return stood


def uncounted(build: Build, sets: Mapping[str, TeeSet]) -> dict[int, tuple[TeePass, ...]]:
    """For each run the tees at its ends whose loss the file does not count, by its number."""
    tees = {name: runs_in_order(build, list(one.ends)) for name, one in sets.items()}
    stood = _stood_for(build, tees)
    found: dict[int, tuple[TeePass, ...]] = {}
    for name, runs in tees.items():
        whole, parted = _sides(runs)
        if all(run in stood for run in whole):
            continue
        for run in parted:
            if run not in stood:
                one = _passed(build, name, sets[name], whole[0], run, runs)
                found[run[0]] = (*found.get(run[0], ()), one)
    return found


def _passed(build: Build, name: str, one: TeeSet, whole: At, run: At, runs: list[At]) -> TeePass:
    if one.part is not None and one.part.loss and one.places:
        (first, a), (last, b) = sorted((one.places[whole], one.places[run]))
        between = last - first
        ends = one.part.ends[a], one.part.ends[b]
        if not between:
            corner = int({a, b} != {0, 1})
            return TeePass(name, 1 - corner, corner, one.part.loss, ends)
        # in a row of tees: out of the first, straight through those between, into the last
        corners = int(a == 2) + int(b == 2)
        return TeePass(name, between + 1 - corners, corners, one.part.loss, ends)
    own = build.run[run[0]]
    inside = "insert " if method_of(own.tube, own.joint, build.rows) in INSIDE else ""
    others = [r for r in runs if r != whole]
    stated = [r for r in others if on_branch(build, r[0])]
    straight = next((r for r in others if r not in stated), None)
    return TeePass(name, int(run == straight), int(run != straight), f"{inside}tee branch")


__all__ = ["TeePass", "stated_tees", "uncounted"]
