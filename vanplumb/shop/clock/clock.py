"""The order of work and the clock: what is made when, and when each joint may see pressure.

Joints that wait for hours come first wherever they are, then the bench, then the van; work
stops at night, waiting does not.  The test can begin when the work is done and the last
joint is ready.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from ...lists.joints import Joint
from ...words.brief import brief
from ...words.show import counted
from ...words.tables import table
from ..joints.compounds import Wait, cure, joint_wait
from .hours import Hours, clock_time, start_of, told

if TYPE_CHECKING:
    from ...van.model import Build
    from ...van.whole_van import Shop

MOUNT = "mount the board"
WATER = "fill and bleed"
SETTLE = 30 * 60.0
"""Time for plastic tube to give before a pressure test is read, s (common practice)."""
LOOK = 15.0
"""Time to wipe and look at one joint, s (common practice)."""
LONG = 4 * 3600.0
"""Joints that wait this long, s, are made first of all."""


@brief
@dataclass(frozen=True)
class Task:
    """One step.  ``start`` to ``end`` is work, ``end`` to ``ready`` is waiting."""

    name: str
    what: str
    where: str
    start: datetime
    end: datetime
    ready: datetime
    basis: str = ""
    joint: Joint | None = None

    @property
    def waits(self) -> timedelta:
        return self.ready - self.end


@brief
@dataclass(frozen=True)
class Plan:
    """All tasks in order, and what they mean.

    ``refused`` names joints that can't be made at this temperature, with the reason; a plan
    with such joints has no test.
    """

    tasks: tuple[Task, ...]
    start: datetime
    dated: bool
    hours: Hours
    temperature: float
    refused: Mapping[str, str]

    def task(self, name: str) -> Task:
        """The task of that name.  KeyError if there is none."""
        for task in self.tasks:
            if task.name == name:
                return task
        raise KeyError(name)

    @property
    def joints(self) -> tuple[Task, ...]:
        return tuple(t for t in self.tasks if t.joint is not None)

    @property
    def test(self) -> Task:
        """The pressure test."""
        return self.task("pressure test")

    @property
    def hand_over(self) -> Task:
        return self.task("hand-over")

    @property
    def last(self) -> Task:
        """The joint that is ready last: it decides when the test can begin."""
        return max(self.joints, key=lambda t: t.ready)

    def slack(self, joint: str) -> timedelta:
        """How much later a joint could be ready without moving the test."""
        return self.task(WATER).start - self.task(joint).ready

    def told(self, moment: datetime) -> str:
        return told(moment, self.start, self.dated)


@dataclass(frozen=True)
class Effect:
    """What one late joint does."""

    joint: str
    late: timedelta
    before: Plan
    after: Plan

    @property
    def test_moves(self) -> timedelta:
        return self.after.test.start - self.before.test.start

    @property
    def hand_over_moves(self) -> timedelta:
        return self.after.hand_over.end - self.before.hand_over.end


def wait_of(joint: Joint, temperature: float, build: Build) -> Wait:
    """How long a joint waits before pressure, at the shop's temperature."""
    if joint.thread:
        return cure(joint.compound, temperature, build.rows, build.van.units)
    return joint_wait(joint.kind, temperature, build.rows, build.van.units)


def waits_of(joints: Iterable[Joint], build: Build) -> dict[str, Wait]:
    """The wait of every joint by its name; joints of one compound or kind wait alike."""
    known: dict[tuple[str, str], Wait] = {}
    found = {}
    for joint in joints:
        key = (joint.compound, joint.kind)
        if key not in known:
            known[key] = wait_of(joint, build.shop.temperature, build)
        found[joint.name] = known[key]
    return found


@dataclass(frozen=True)
class Work:
    """What is made in which order, and how long each joint waits then."""

    joints: tuple[Joint, ...]
    waits: Mapping[str, Wait]
    slow: tuple[Joint, ...]
    """Joints that wait for hours, made first wherever they are."""
    bench: tuple[Joint, ...]
    van: tuple[Joint, ...]

    def __repr__(self) -> str:
        return (
            f"order of {counted(len(self.joints), 'joint')}: {len(self.slow)} that wait for hours, "
            f"{len(self.bench)} on the bench, {len(self.van)} in the van"
        )


def order_of_work(joints: tuple[Joint, ...], build: Build) -> Work:
    """Three heaps: those that wait for hours, the bench's, the van's.

    In each the longest wait comes first; the rest keep their order, a thread before its tube.
    """

    long = 1e9
    known = waits_of(joints, build)
    waits = {name: long if wait.duration is None else wait.duration for name, wait in known.items()}
    heaps: tuple[list[Joint], list[Joint], list[Joint]] = ([], [], [])
    for joint in joints:
        first = joint.thread and waits[joint.name] >= LONG
        heaps[0 if first else 1 if joint.where == "bench" else 2].append(joint)
    slow, bench, van = (
        tuple(sorted(heap, key=lambda j: (bool(j.tube), -waits[j.name]))) for heap in heaps
    )
    return Work(joints, known, slow, bench, van)


def plan_of(
    build: Build,
    joints: tuple[Joint, ...] | Work,
    *,
    test: float = 900.0,
    contact: float = 0.0,
    late: Mapping[str, float] | None = None,
    begun: Sequence[Task] = (),
) -> Plan:
    """The clock of a build, whose joints may come in the order of work already.

    ``test`` is how long the pressure test is read, ``contact`` how long the chlorine does,
    ``late`` maps names of joints to how many seconds of waiting for a hand (or a part) come
    before each is made; a late joint is made last at its place of work.  ``begun`` are the first
    tasks where they are known, as another plan has them.  KeyError for a joint that is not there.
    """
    work = joints if isinstance(joints, Work) else order_of_work(joints, build)
    late = dict(late or {})
    unknown = set(late) - set(work.waits)
    if unknown:
        raise KeyError(f"no joint {sorted(unknown)[0]!r} in this build")
    diary = _Diary(build, work.waits, begun)
    diary.make(j for j in (*work.slow, *work.bench) if j.name not in late)
    if build.manifold:
        diary.do(MOUNT, "board with its manifolds into the van", MOUNT)
    runs = len(build.run)
    diary.do("run the tubes", f"drill, run and clip {runs} runs", "drill and clip one run", runs)
    diary.make(j for j in work.van if j.name not in late)
    for joint in sorted((j for j in work.joints if j.name in late), key=lambda j: late[j.name]):
        diary.make([joint], diary.opening + timedelta(seconds=late[joint.name]))
    ready = max((t.ready for t in diary.tasks), default=diary.here)
    diary.do(WATER, "cold water, bleed every outlet, look at every joint", WATER, earliest=ready)
    diary.do("pressure test", "pump up, let the tube settle, pump up again, read", "read the test",
             more=SETTLE + test + LOOK * len(work.joints))  # fmt: skip
    if contact:
        diary.do("disinfect", "dose the tank, draw at every outlet until it smells", WATER,
                 stand=contact)  # fmt: skip
        diary.here = max(diary.here, diary.tasks[-1].ready)
    diary.do("drain and flush", "drain, fill and draw until little chlorine is left",
             "drain and flush")  # fmt: skip
    for valve in build.mixing_valve:
        what = "set the mixing valve at two flows and write it down"
        diary.do(f"set {valve.name}", what, "set the mixing valve")
    diary.do("measure", "flow, pressure, time to hot, current", "measure the van")
    diary.do("hand-over", "show the owner, sign the papers", "show the owner")
    return diary.plan()


class _Diary:
    """Fills the days one task after another."""

    def __init__(self, build: Build, waits: Mapping[str, Wait], begun: Sequence[Task]) -> None:
        self.build, self.waits, self.begun = build, waits, begun
        self.hours = hours_of(build.shop)
        self.start, self.dated = start_of(build.shop.start, self.hours)
        self.opening = self.here = self.hours.next(self.start)
        self.labour = table("labour", build.rows)
        self.tasks: list[Task] = []
        self.refused: dict[str, str] = {}

    def do(self, name: str, what: str, step: str, times: int = 1, *, more: float = 0.0,
           stand: float = 0.0, earliest: datetime | None = None, where: str = "van",
           basis: str = "", joint: Joint | None = None) -> None:  # fmt: skip
        """Write a task down at the first moment that it can be begun, and ended the same day."""
        if len(self.tasks) < len(self.begun):
            self.tasks.append(self.begun[len(self.tasks)])
            self.here = self.tasks[-1].end
            return
        work = self.labour[step].number("time") * times + more
        begin = max(self.here, earliest or self.here)
        begin = self.hours.whole(begin, work)
        end = self.hours.after(begin, work)
        ready = end + timedelta(seconds=stand)
        self.tasks.append(Task(name, what, where, begin, end, ready, basis, joint))
        self.here = end

    def make(self, joints: Iterable[Joint], earliest: datetime | None = None) -> None:
        """Make joints one after another."""
        for joint in joints:
            wait = self.waits[joint.name]
            if wait.duration is None:
                self.refused[joint.name] = wait.basis
            step = joint.kind if joint.kind in self.labour else "union"
            self.do(joint.name, joint.place, step, stand=wait.duration or 0.0, earliest=earliest,
                    where=joint.where, basis=wait.basis, joint=joint)  # fmt: skip

    def plan(self) -> Plan:
        heat = self.build.shop.temperature
        return Plan(tuple(self.tasks), self.start, self.dated, self.hours, heat, self.refused)


def one_late(build: Build, plan: Plan, joint: str, delay: float, *, test: float = 900.0,
             contact: float = 0.0, work: Work | None = None) -> Effect:  # fmt: skip
    """What it does to the test and the hand-over when one joint is made ``delay`` seconds late.

    Late against when the plan makes it; it is then made by itself, when its hour comes.  What the
    plan does before it stays.  ``work`` is the plan's order of work, if it is at hand.
    """
    task = plan.task(joint)
    offset = (task.start - plan.hours.next(plan.start)).total_seconds() + delay
    joints = work or tuple(t.joint for t in plan.joints if t.joint is not None)
    begun = plan.tasks[: plan.tasks.index(task)]
    after = plan_of(build, joints, test=test, contact=contact, late={joint: offset}, begun=begun)
    return Effect(joint, timedelta(seconds=delay), plan, after)


def without_waiting(plan: Plan) -> timedelta:
    """How long the work alone takes, so that the rest is waiting and nights."""
    return sum((t.end - t.start for t in plan.tasks), timedelta(0))


def hours_of(shop: Shop) -> Hours:
    """The working hours that a build states.  ValueError if they can't be."""
    return Hours(clock_time(shop.day_start), clock_time(shop.day_end), shop.weekend)


def warmer(build: Build, temperature: float) -> Build:
    """The same build in a shop of another temperature."""
    return replace(build, shop=replace(build.shop, temperature=temperature))
