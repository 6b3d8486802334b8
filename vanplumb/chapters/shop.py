"""The shop on paper: joints, clock, test, disinfection, winter, setting; the sheet's and others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from ..formulas.pressure import leak_rate
from ..lists.joints import Joint
from ..shop.clock.clock import LOOK, SETTLE, WATER, Effect, Wait, wait_of
from ..shop.clock.stages import sort_of, stages
from ..shop.readings.setting import setting_steps
from ..shop.test.pressure_test import (
    LEAST,
    TRADE_FACTOR,
    hardly_pressed,
    stored_work,
    work_told,
)
from ..van.region import is_plastic
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import counted, show
from ..words.tables import table
from ..words.unit_table import DAY, PSI

if TYPE_CHECKING:
    from ..shop.engine import Shop


def _made_with(joint: Joint) -> str:
    return joint.compound if joint.thread else joint.kind


def wait_answers(shop: Shop) -> tuple[Answer, ...]:
    """The wait of each compound that the shop's temperature makes longer, with its steps."""
    heat, units = shop.build.shop.temperature, shop.build.van.units
    found: dict[str, Answer] = {}
    for joint in shop.joints:
        wait = wait_of(joint, heat, shop.build)
        if wait.work and wait.duration is not None:
            name = _made_with(joint)
            warmth = show(heat, "temperature", units)
            found[name] = Answer(
                f"{name} waits at {warmth}", wait.duration, "duration", wait.work, note=wait.basis
            )
    return tuple(found.values())


def waits_grid(shop: Shop) -> Grid:
    """How long each kind of joint waits before pressure, at the shop's temperature."""
    heat = shop.build.shop.temperature
    waits = {_made_with(j): wait_of(j, heat, shop.build) for j in shop.joints}

    def told(row: tuple[str, Wait]) -> str:
        length = row[1].duration
        return "can't be made so cold" if length is None else _time(length)

    return grid(
        "Waits before pressure, in this shop",
        waits.items(),
        {"joint made with": 0, "waits": told, "from": lambda row: row[1].basis},
        key="waits_of_joints",
    )


def labour_grid(shop: Shop) -> Grid:
    """Time of each step that the clock is made of."""
    labour = table("labour", shop.build.rows)
    kinds = dict.fromkeys(j.kind if j.kind in labour else "union" for j in shop.joints)
    common = [
        *(["mount the board"] if shop.build.manifold else []),
        "drill and clip one run",
        "fill and bleed",
        "read the test",
        "drain and flush",
        *(["set the mixing valve"] if shop.build.mixing_valve else []),
        "measure the van",
        "show the owner",
    ]
    names = {f"one joint: {name}": name for name in kinds} | {name: name for name in common}
    settle, look = show(SETTLE, "duration"), show(LOOK, "duration")
    reads = show(shop.test.duration, "duration")
    return grid(
        "Times of work",
        names.items(),
        {
            "step": 0,
            "takes": (lambda row: show(labour[row[1]].number("time"), "duration"), RIGHT),
            "from": lambda row: labour[row[1]].basis,
        },
        key="times_of_work",
        note=f"The pressure test takes its reading, {settle} for the tube to give, {reads} of the "
        f"rule and {look} a joint to look at it. Dosing takes as long as filling.",
    )


FALL = {"US": PSI, "SI": 1e4}
"""A fall that a gauge shows: 1 psi, 0.1 bar."""


def why(shop: Shop) -> str:
    """Why the test's pressure is what it is, and how long it stands."""
    test, units = shop.test, shop.build.van.units
    working = show(test.working, "pressure", units)
    if shop.build.shop.test_pressure is not None:
        reason = "as the build says"
    elif hardly_pressed(shop.build, shop.pressures) and abs(test.pressure - LEAST[units]) < 1.0:
        reason = f"what a gauge can tell (common practice, no source): {working} in service is less"
    elif "US" in test.rule["regions"] and abs(test.pressure - TRADE_FACTOR * test.working) < 1.0:
        reason = f"{TRADE_FACTOR:g} times the highest in service, {working}"
    elif test.weakest is not None and test.pressure >= test.weakest.pressure - 1.0:
        reason = f"all that {test.weakest.part} may see"
    else:
        reason = f"by the rule, with {working} in service"
    return f"{reason}; for {show(test.duration, 'duration', units)} at least"


def stored(shop: Shop) -> tuple[Answer, ...]:
    """What a test holds in store, by air and by water under the same pressure."""
    slow, burst, wet = stored_work(shop.test.pressure, shop.test.stiffness)
    units = shop.build.van.units
    level = show(shop.test.pressure, "pressure", units)
    return (
        Answer(f"work that water under {level} can do", work_told(wet.value, units), work=(wet,)),
        Answer(
            "work that air in its place could do",
            work_told(slow.value, units),
            work=(slow,),
            note="slowly, less what pushes the atmosphere away",
        ),
        Answer(
            "work that air in its place could do in a burst",
            work_told(burst.value, units),
            work=(burst,),
            note="atmosphere and all",
        ),
    )


def _shut_off(shop: Shop) -> str:
    """What is shut off while the test stands, in words; empty for a van that has none of it."""
    names = ["accumulator"] if shop.build.accumulator else []
    names += ["heater"] if shop.build.heater and not shop.test.relief_stays else []
    return f"{' and '.join(names)} shut off" if names else ""


def leak_of_a_fall(shop: Shop) -> Answer:
    """The leak that a small fall over the test means."""
    units = shop.build.van.units
    work = leak_rate.work(
        compliance=shop.test.stiffness.compliance,
        pressure_loss=FALL[units],
        duration=shop.test.duration,
    )
    return Answer(
        f"leak that a fall of {show(FALL[units], 'pressure_loss', units)} over the test means",
        work.value,
        "leak",
        (work,),
        note=", ".join(filter(None, ("once the tube has settled", _shut_off(shop)))),
    )


def steps_grid(title: str, steps: Iterable[str], key: str = "", note: str = "") -> Grid:
    """A numbered list as a grid."""
    numbered = [(str(n), step) for n, step in enumerate(steps, 1)]
    return grid(title, numbered, {"step": (0, RIGHT), "what": 1}, key=key, note=note)


def joints_grid(shop: Shop) -> Grid:
    """Every joint, one a line."""
    heat = shop.build.shop.temperature

    def waits(joint: Joint) -> str:
        wait = wait_of(joint, heat, shop.build).duration
        return "not so cold" if wait is None else _time(wait)

    def where(joint: Joint) -> str:
        return joint.line.split(",")[0] if joint.run is not None else joint.line

    return grid(
        "Joints",
        shop.joints,
        {
            "joint": "name",
            "where": where,
            "at the": "fitting",
            "made with": _put_on,
            "on": "where",
            "waits": waits,
        },
        key="joints",
        note="Tables are typical: what the container and the tool's sheet say goes first. Turns "
        "of a taper thread are by hand, then by wrench; a thread with a washer takes no compound "
        "and no count of turns. Ends that the build file does not say are typical of parts of "
        "their kind.",
    )


def runs_grid(shop: Shop) -> Grid:
    """Joints by run, by header and by device, one a line; the full list is on the shop card."""
    groups: dict[str, list[Joint]] = {}
    for joint in shop.joints:
        where = (
            f"run {joint.run + 1}, {joint.title}"
            if joint.run is not None
            else joint.line or joint.place
        )
        if joint.run is None and joint.line.startswith("board"):
            where = f"{joint.side} header"
        groups.setdefault(where, []).append(joint)
    rows = []
    for where, joints in groups.items():
        names = joints[0].name if len(joints) == 1 else f"{joints[0].name} to {joints[-1].name}"
        made = ", ".join(f"{n} × {sort}" for sort, n in _counted(joints).items())
        rows.append(
            (where, names if joints[0].run is not None else counted(len(joints), "joint"), made)
        )
    return grid(
        "Joints by run",
        rows,
        {"where": 0, "joints": 1, "made as": 2},
        key="joints_by_run",
        note="Every joint is listed on the shop card and in papers/joints.csv. Tables are "
        "typical: what the container and the tool's sheet say goes first.",
    )


def _counted(joints: Iterable[Joint]) -> dict[str, int]:
    found: dict[str, int] = {}
    for joint in joints:
        found[sort_of(joint)] = found.get(sort_of(joint), 0) + 1
    return found


def _put_on(joint: Joint) -> str:
    if joint.thread:
        turns = f", {joint.engagement.short}" if joint.engagement else ""
        return f"{joint.thread}, {joint.compound}{turns}"
    if joint.hose:
        return f"hose, {joint.hose}, {joint.collar}"
    if not joint.tube:
        return f"{joint.washer}, washer, no compound" if joint.washer else "seal, no compound"
    if joint.collar == "ring":
        many = f"{joint.expansions} expansions" if joint.expansions else "expanded by its sheet"
        count = f", {many}"
        return f"{joint.tube}, ring{count}"
    return f"{joint.tube}, {joint.collar or joint.kind}"


def sorts_grid(shop: Shop) -> Grid:
    """Joints counted by kind and size, with what they use up."""

    def rings(sort: str) -> int:
        return sum(j.rings for j in shop.joints if j.sort == sort and j.collar == "ring")

    def expansions(sort: str) -> int:
        return sum(j.expansions or 0 for j in shop.joints if j.sort == sort)

    columns: dict[str, Getter | tuple[Getter, str]] = {
        "kind and size": str,
        "joints": (lambda sort: float(shop.sorts[sort]), "count"),
    }
    for head, count in (("rings", rings), ("expansions", expansions)):
        if any(map(count, shop.sorts)):  # a van of other joints has none of it
            columns[head] = (partial(_or_none, count), "count")
    return grid("Joints by kind", shop.sorts, columns, key="joints_by_kind")


def _or_none(count: Callable[[str], int], sort: str) -> float | None:
    return float(count(sort)) or None


def clock_grid(shop: Shop) -> Grid:
    """The order of work by stages: joints of one kind in a row are one line."""
    plan = shop.clock
    return grid(
        "Order of work",
        stages(plan),
        {
            "work": "what",
            "place": "where",
            "begins": lambda stage: plan.told(stage.start),
            "done": lambda stage: plan.told(stage.end),
            "ready": lambda stage: plan.told(stage.ready),
        },
        key="order_of_work",
        note="Work stops at night, waiting does not. Times of work are common practice, no source.",
    )


def late_grid(shop: Shop) -> Grid:
    """What one joint made a day late does, for one joint of each kind and wait."""
    first: dict[tuple[str, str], tuple[str, str, Effect]] = {}
    for task in shop.clock.joints:
        assert task.joint is not None
        sort = sort_of(task.joint)
        if (task.where, sort) not in first:
            first[task.where, sort] = (task.name, sort, shop.late(task.name, DAY))
    return grid(
        "One joint a day late",
        first.values(),
        {
            "joint": 0,
            "kind": 1,
            "time in hand, h": (lambda row: _hours(shop.clock.slack(row[0])), RIGHT),
            "test later by, h": (lambda row: _hours(row[2].test_moves), RIGHT),
            "hand-over later by, h": (lambda row: _hours(row[2].hand_over_moves), RIGHT),
        },
        key="one_joint_late",
    )


def _hours(time: timedelta) -> str:
    """Hours, so that the times of a column can be compared."""
    hours = max(time.total_seconds(), 0.0) / 3600
    return f"{hours:.1f}" if hours else "none"


def _time(seconds: float) -> str:
    return show(seconds, "duration") if seconds else "none"


def bounds_grid(shop: Shop) -> Grid:
    """What bounds the test's pressure."""
    return grid(
        "What the test must not exceed",
        shop.test.bounds,
        {"part": "part", "at most": ("pressure", "pressure"), "why": "why"},
    )


def shop_chapter(shop: Shop) -> Chapter:
    """The shop's pages."""
    build, plan, test = shop.build, shop.clock, shop.test
    grids = [
        sorts_grid(shop), runs_grid(shop), clock_grid(shop), labour_grid(shop), waits_grid(shop)
    ]  # fmt: skip
    if not plan.refused:
        grids.append(late_grid(shop))
    grids += [bounds_grid(shop), steps_grid("Pressure test by water", test.steps,
              note=f"{test.rule.basis}; {test.rule['about']}")]  # fmt: skip
    air = shop.air_test
    if air is not None and not (air.rule["plastic"] is False and is_plastic(build)):
        grids.append(steps_grid("Test by air", air.steps, note=air.rule.basis))
    if shop.dose:
        grids.append(steps_grid("Disinfecting", shop.dose.steps, note=shop.dose.way.basis))
    if build.mixing_valve:
        grids.append(steps_grid("Setting a mixing valve", setting_steps(build)))
    grids.append(steps_grid("Laying up for winter", shop.winter.steps,
                 note="common practice, no source"))  # fmt: skip
    return Chapter(
        "shop",
        "Shop: joints, waiting, testing, handing over",
        basis=_basis(),
        inputs=_inputs(shop),
        answers=_answers(shop),
        grids=tuple(grids),
        cautions=_cautions(shop),
        not_computed=_left_out(shop),
    )


def _basis() -> tuple[str, ...]:
    return (
        "Joints belong to the tube ends that the build names; each tube end on a fitting has one.",
        "A joint may see pressure when its own wait is over; what the container and the makers' "
        "sheets say goes first.",
        "A fall of pressure is turned into a leak by what water and tube give: known to some "
        "tens of percent, no better.",
    )


def _inputs(shop: Shop) -> tuple[Answer, ...]:
    build = shop.build

    def basis(key: str) -> str:
        return "given" if f"shop.{key}" in build.given else "assumed"

    hours = f"{build.shop.day_start} to {build.shop.day_end}"
    days = "all week" if build.shop.weekend else "Monday to Friday"
    return (
        Answer("shop temperature", build.shop.temperature, "temperature", (), basis("temperature")),
        Answer("working hours", f"{hours}, {days}", basis=basis("day_start")),
        Answer("cold threads", build.shop.cold_compound, basis=basis("cold_compound")),
        Answer("hot threads", build.shop.hot_compound, basis=basis("hot_compound")),
    )


def _answers(shop: Shop) -> tuple[Answer, ...]:
    plan, test, dose, winter = shop.clock, shop.test, shop.dose, shop.winter
    found = [Answer("joints to make", float(len(shop.joints)), "count", key=True)]
    if plan.refused:
        found.append(
            Answer("earliest test", f"none: {len(plan.refused)} joints can't be made so cold")
        )
    elif not plan.joints:
        found.append(Answer("earliest test", "none: the build has no joints yet"))
    else:
        last = plan.last
        found += [
            Answer("earliest test", plan.told(plan.test.start), key=True,
                   note=f"{last.name} is ready last, {plan.told(last.ready)}"),
            Answer("earliest hand-over", plan.told(plan.hand_over.end), key=True),
            Answer("first water", plan.told(plan.task(WATER).start)),
        ]  # fmt: skip
    found += [
        Answer("test pressure, by water", test.pressure, "pressure", (), test.rule.basis,
               why(shop), key=True),
        Answer("water under test", test.stiffness.volume, "volume"),
        Answer("water taken up per pressure", test.stiffness.compliance, "compliance",
               test.stiffness.works, note=_shut_off(shop)),
    ]  # fmt: skip
    found += wait_answers(shop)
    found += [*stored(shop), leak_of_a_fall(shop)]
    if dose:
        found += [
            Answer(f"{dose.agent} to add", dose.told(shop.build.van.units), work=dose.work,
                   basis=dose.way.basis, note=f"{dose.chlorine.name}; {dose.way.name}"),
            Answer("it stands for", dose.duration, "duration"),
            Answer("left after draining and filling", dose.residual, "concentration",
                   dose.thinned, note=f"{dose.refills} time(s), by dilution alone; measure it"),
        ]  # fmt: skip
    found.append(
        Answer("antifreeze for the winter", winter.antifreeze, "volume", winter.work,
               "Melinder; what stays in the runs is assumed",
               f"first ice at {show(winter.freezes, 'temperature', shop.build.van.units)}")
    )  # fmt: skip
    return tuple(found)


def _cautions(shop: Shop) -> tuple[Caution, ...]:
    said = [*shop.test.cautions]
    if shop.air_test is not None:
        said.append(shop.air_test.cautions[0])
    if shop.dose:
        said += shop.dose.cautions
    return (*said, *shop.winter.cautions)


def _left_out(shop: Shop) -> tuple[str, ...]:
    said = ["drying times of compounds not in the table, and of any on dirty or oily threads"]
    said += [f"{name}: {why}" for name, why in shop.clock.refused.items()]
    said += shop.test.problems + shop.winter.problems + (shop.dose.problems if shop.dose else ())
    return tuple(said)
