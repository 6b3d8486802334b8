"""Rules on the manifold board: what is in the way, what is short, what could not be as asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..board.place.checks import in_units
from ..words.show import capital, show
from ..words.sources import PHYSICS, PRACTICE
from .finding import Finding, rule

BOARD_APART = 0.10
"""m by which a part may hang elsewhere than its runs say: 1 kPa (common practice)."""
RUN_APART, RUN_SHARE = 0.05, 0.25
"""m, and share of what the file says, that a run may be otherwise on the board (assumed)."""
BOARD_KEEPS = 5e-6
"""m³ of water on the board that is worth a word: a spoonful (assumed)."""

if TYPE_CHECKING:
    from ..answers import Answers
    from ..board.place.layout import Problem
    from ..board.plan import BoardPlan


def _board(answers: Answers) -> BoardPlan | None:
    return None if answers.board.trouble else answers.board


def _worst(plan: BoardPlan, kind: str) -> tuple[Problem, int] | None:
    """The worst problem of a kind, and how many there are."""
    found = [p for p in plan.problems if p.kind == kind]
    return (max(found, key=lambda p: p.by), len(found)) if found else None


def _finding(plan: BoardPlan, problem: Problem, count: int, advice: str) -> Finding:
    more = f" ({count} such places on the board)" if count > 1 else ""
    what = in_units(problem.what, plan.build.van.units)
    return Finding(
        "NOTICE",
        f"{capital(what)}{more}.",
        "board, " + " and ".join(problem.where),
        max(0.0, problem.value) / 1000,
        problem.need / 1000,
        PRACTICE,
        advice,
        "width",
    )


@rule
def board_missing_part(answers: Answers) -> Iterator[Finding]:
    """Manifolds whose board can't be laid out: too many, or a part not in the table."""
    plan = answers.board
    if plan.trouble and any(answers.build.zones(m.name) for m in answers.build.manifold):
        yield Finding(
            "NOTICE",
            f"The manifolds can't be laid out: {plan.trouble}.",
            "board",
            "too many for one" if plan.too_many else "no such part",
            "fewer zones and devices" if plan.too_many else "a part of that kind and size",
            PRACTICE,
            "Give some of the manifolds a board, and a build file, of their own."
            if plan.too_many
            else "Add a row for your own part under [rows.board_parts] in the build file.",
        )


@rule
def board_left_out_of_the_sums(answers: Answers) -> Iterator[Finding]:
    """Headers that the other sums take as the file has them, since the board's can't be had."""
    if answers.as_written.manifold:
        _ = answers.laid
    yield from ()


@rule
def runs_laid_otherwise(answers: Answers) -> Iterator[Finding]:
    """Runs on the board whose length in the file is far from what they are there."""
    told = []
    for number, run in enumerate(answers.as_written.run, 1):
        laid = answers.build.run[number - 1].length
        if abs(laid - run.length) > max(RUN_APART, RUN_SHARE * run.length):
            told.append((number, laid, run.length))
    if told:
        units = answers.build.van.units
        which = "; ".join(
            f"run {n} is {show(laid, 'length', units)} there, {show(said, 'length', units)} in the "
            "file"
            for n, laid, said in told
        )
        _, laid, said = max(told, key=lambda one: abs(one[1] - one[2]))
        yield Finding(
            "NOTICE",
            f"Runs that lie on the board are not as long there as the build file says: {which}. "
            "Flow, waits, cuts and all other sums take the board's.",
            "board",
            laid,
            said,
            PRACTICE,
            "If your tape is right, drag the parts on the board to where they are.",
            "length",
        )


@rule
def board_parts_collide(answers: Answers) -> Iterator[Finding]:
    """Parts or handles on the board that meet, or come nearer than they may."""
    plan = _board(answers)
    if plan and (worst := _worst(plan, "collision")):
        yield _finding(plan, *worst, "See the ways out on the board's page: turn, bend or swap a "
                       "handle, or give the zones more room.")  # fmt: skip


@rule
def board_no_room_for_fingers(answers: Answers) -> Iterator[Finding]:
    """A handle that fingers can't get at."""
    plan = _board(answers)
    if plan and (worst := _worst(plan, "fingers")):
        yield _finding(plan, *worst, "A shut-off that can't be turned in a hurry is none: give the "
                       "handle room, or turn it the other way.")  # fmt: skip


@rule
def board_too_small(answers: Answers) -> Iterator[Finding]:
    """Parts past the margin of the board, or too deep for the cabinet."""
    plan = _board(answers)
    if not plan:
        return
    for kind in ("edge", "depth"):
        if worst := _worst(plan, kind):
            advice = "Use a larger board, or one of the ways out that were checked."
            yield _finding(plan, *worst, advice)


@rule
def board_stub_too_short(answers: Answers) -> Iterator[Finding]:
    """A tube on the board that is cut shorter than its size allows."""
    plan = _board(answers)
    if plan and (worst := _worst(plan, "stub")):
        yield _finding(plan, *worst, "Cut it longer: both rings must sit on straight tube, and the "
                       "tool must get at each end.")  # fmt: skip


@rule
def board_joint_out_of_reach(answers: Answers) -> Iterator[Finding]:
    """A joint that is made in place and has no room for the tool."""
    plan = _board(answers)
    if plan and (worst := _worst(plan, "tool")):
        yield _finding(plan, *worst, "Make this joint on the bench, or move what is in the way.")


@rule
def board_not_as_asked(answers: Answers) -> Iterator[Finding]:
    """Pins that can't be read, parts that stand in for others, joins that go round outside."""
    plan = _board(answers)
    for note in plan.notes if plan else ():
        yield Finding(
            "NOTICE",
            f"{capital(note)}.",
            "board",
            "not as asked",
            "as the build file says",
            PRACTICE,
            "Look at the board's page; change the pin, the row or the run.",
        )


@rule
def board_zone_on_the_wrong_side(answers: Answers) -> Iterator[Finding]:
    """A zone that leaves the board on another side than towards its fixture."""
    plan = _board(answers)
    if not plan:
        return
    sides = {0: "right", 90: "up", 180: "left", 270: "down"}
    for one in plan.layout.opens:
        wanted = plan.needs.zone(one.zone).leaves if one.zone else ""
        leaves = sides[one.heading]
        if wanted and leaves != wanted and wanted in ("up", "down"):
            yield Finding(
                "NOTICE",
                f"{one.what} leaves {leaves}, its fixture is {wanted}: its run needs a bend more.",
                f"zone {one.what}",
                leaves,
                wanted,
                PRACTICE,
                "Lead the run round with a bend of its least radius, or pin the header's way.",
            )


@rule
def board_keeps_water(answers: Answers) -> Iterator[Finding]:
    """A board that can't be emptied: water stays in its own tubes and fittings."""
    plan = _board(answers)
    drained = answers.shop.draining
    if plan is None or drained.on_board < BOARD_KEEPS:
        return
    kept = [one for one in drained.pockets if one.on_board > 0]
    where = "; ".join(dict.fromkeys(drained.where(one) for one in kept))
    blocked = ", ".join(dict.fromkeys(name for one in kept for name in one.blocked))
    yield Finding(
        "NOTICE",
        "Hung upright as it is drawn, the board can't be let run out"
        + (f"; {blocked} keeps water in." if blocked else "."),
        f"board: lowest at {where}",
        drained.on_board,
        0.0,
        PHYSICS.at("water falls, and does not rise by itself"),
        "Put a drain valve at its lowest place, turn the row so that it falls to its feed, or move "
        "the part below it up; else blow it out zone by zone.",
        "volume",
    )


@rule
def board_stands_elsewhere(answers: Answers) -> Iterator[Finding]:
    """Parts whose height on the board is not that to which the runs of the build file lead."""
    plan = _board(answers)
    off = answers.shop.draining.system.off if plan is not None else {}
    apart = {name: by for name, by in off.items() if abs(by) > BOARD_APART}
    if not apart:
        return
    worst = max(apart, key=lambda name: abs(apart[name]))
    others = [name for name in apart if name != worst]
    yield Finding(
        "NOTICE",
        f"As the board is laid out {worst} hangs {'higher' if apart[worst] > 0 else 'lower'} than "
        "the rises of its runs say: flow and waits go by the runs, draining by the board."
        + (f" So do {', '.join(others)}." if others else ""),
        worst,
        abs(apart[worst]),
        BOARD_APART,
        PHYSICS.at("a part hangs at one height"),
        "Set the rises of the runs to and from it by the board's drawing, or pin it where the runs "
        "lead.",
        "length",
    )
