"""The clock told by stages: joints of one sort that are made in a row are one line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from ...lists.joints import Joint
from .clock import Plan, Task


@dataclass(frozen=True)
class Stage:
    """Some tasks in a row.  ``side`` is "cold", "hot" or "mixed" if all joints are so, or ""."""

    what: str
    where: str
    tasks: tuple[Task, ...]
    side: str = ""

    @property
    def start(self) -> datetime:
        return self.tasks[0].start

    @property
    def end(self) -> datetime:
        return self.tasks[-1].end

    @property
    def ready(self) -> datetime:
        return max(t.ready for t in self.tasks)


def sort_of(joint: Joint) -> str:
    """A joint in words: its thread and compound, or its kind and tube."""
    return f"{joint.thread} with {joint.compound}" if joint.thread else joint.sort


def stages(plan: Plan) -> tuple[Stage, ...]:
    """All tasks, in order, alike joints together."""
    found: list[list[Task]] = []
    for task in plan.tasks:
        if found and _alike(found[-1][-1], task):
            found[-1].append(task)
        else:
            found.append([task])
    return tuple(_stage(group) for group in found)


def _alike(one: Task, other: Task) -> bool:
    if one.joint is None or other.joint is None or one.where != other.where:
        return False
    return sort_of(one.joint) == sort_of(other.joint)


def _stage(group: list[Task]) -> Stage:
    first = group[0]
    if first.joint is None:
        return Stage(first.name, first.where, tuple(group))
    sides = {t.joint.side for t in group if t.joint is not None}
    side = sides.pop() if len(sides) == 1 else ""
    return Stage(f"{len(group)} × {sort_of(first.joint)}", first.where, tuple(group), side)
