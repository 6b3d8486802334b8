"""A plumber's list for the board: hot left, heater first, clips, isolators, unions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..board.place.mounting import Habit, habits
from ..lists.unions import fixed_ports, serviced, union_offers, with_tails
from ..van.trace import ways_to
from ..van.wiring import place
from ..words.show import counted, show, together
from ..words.sources import PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..board.plan import BoardPlan


def _board(answers: Answers) -> BoardPlan | None:
    return None if answers.board.trouble else answers.board


def _missed(answers: Answers, kind: str) -> Iterator[Habit]:
    plan = _board(answers)
    for habit in habits(plan.needs, plan.state) if plan else ():
        if habit.kind == kind and not habit.kept:
            yield habit


@rule
def hot_not_on_its_side(answers: Answers) -> Iterator[Finding]:
    """A valve whose hot water does not come in from the side where a hand expects it."""
    for habit in _missed(answers, "hot side"):
        side = answers.build.board.hot_side
        yield Finding(
            "NOTICE",
            f"At {habit.what} {habit.said}: whoever works on it later expects it there.",
            f"board, {habit.what}",
            habit.said,
            f"hot {side} of cold",
            PRACTICE,
            "Give the board more room and it is laid out so, pin the valve's turn, or set hot_side "
            "under [board]; else mark hot and cold at the valve.",
        )


@rule
def heater_zone_not_first(answers: Answers) -> Iterator[Finding]:
    """A cold header on which another zone comes before the one that feeds the heater."""
    for habit in _missed(answers, "heater first"):
        yield Finding(
            "NOTICE",
            f"On the header {habit.said}: the heater, which feeds most taps, is fed past the tees "
            "of the others.",
            f"board, {habit.what}",
            "not first",
            "first on its header",
            PRACTICE,
            "Give the board more room, or pin the order of the manifold.",
        )


@rule
def valve_not_held(answers: Answers) -> Iterator[Finding]:
    """A shut-off on the board without a clip on each side: a turned handle bends its stub."""
    plan = _board(answers)
    if plan is None or not plan.layout.unheld:
        return
    loose = plan.layout.unheld
    labels = together(list(dict.fromkeys(plan.needs.zone(one.zone).code for one in loose)))
    worst = max(loose, key=lambda one: one.short)
    units = answers.build.van.units
    sides = " and ".join(sorted({one.side for one in loose}))
    short = (
        f"; the tube of {plan.needs.zone(worst.zone).code} shows "
        f"{show(worst.short / 1000, 'thickness', units)} too little between its joints"
        if worst.short > 0
        else ""
    )
    yield Finding(
        "NOTICE",
        f"No clip goes on the {sides} of {labels}{short}: a stiff handle that is turned bends the "
        "tube beside its joint.",
        f"board, {labels}",
        f"{counted(len(loose), 'side')} without a clip",
        "a clip on both sides of each valve",
        PRACTICE,
        "Set clip_valves = true under [board] for stubs long enough, or hold the valve's body by a "
        "bracket; hold the body with a wrench when its handle is stiff.",
    )


@rule
def feed_without_isolator(answers: Answers) -> Iterator[Finding]:
    """A manifold that no valve shuts off as a whole."""
    plan, build = _board(answers), answers.build
    valves = {v.name for v in build.shut_off}
    for manifold in plan.needs.manifolds if plan else ():
        ways = ways_to(build, manifold.name)
        if not ways or all(valves & set(way.components) for way in ways):
            continue
        yield Finding(
            "NOTICE",
            f"Nothing shuts off {manifold.name} as a whole: to work on its header, the tank or "
            "every line before it is let run out.",
            f"feed of {manifold.name}",
            "no valve before it",
            "a shut-off at the feed",
            PRACTICE,
            'Put a [[shut_off]] into the run that feeds it; with the line "NAME on board" under '
            "pin it hangs on the board before the header.",
        )


@rule
def part_without_union(answers: Answers) -> Iterator[Finding]:
    """A part that is taken out for service, and only comes out if tube is cut."""
    build, lists = answers.build, answers.lists
    every = {name: fixed_ports(lists, name) for name in serviced(build, lists.headers.hung)}
    offered = union_offers(lists, {run for fixed in every.values() for _, run in fixed})
    for name, fixed in every.items():
        if not fixed:
            continue
        where = together([place(build, f"{name}.{port}") for port, _ in fixed])
        offers = [offered[run] for _, run in fixed if run in offered]
        tails = with_tails(lists, name)
        told = "; ".join(
            f"fittings = {{ union = 1 }} in run {offer.run + 1} puts in a {offer.fitting}, for "
            f"{counted(offer.joints, 'joint')} more"
            for offer in offers
        )
        if tails:
            told = f'The pin "{name} part {tails}" hangs one whose ends come apart'
        yield Finding(
            "NOTICE",
            f"{name} comes out for service only if tube is cut at {where}.",
            name,
            f"{counted(len(fixed), 'end')} fixed",
            "a union or a swivel at each end",
            PRACTICE,
            (f"{told}." if told else "Take a part with swivel ends and say them under ends.")
            + " Shut-offs on both sides keep the van from running out.",
        )
