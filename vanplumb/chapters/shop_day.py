"""The shop's day at the bench: clock, test, dose and setting, each on a page of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..shop.clock.clock import WATER, Effect
from ..shop.disinfect import Dose
from ..shop.readings.setting import SetValve
from ..shop.test.by_rule import RuleResult
from ..shop.test.leak import Judgement
from ..shop.test.pressure_test import TestPlan
from ..words.report import RIGHT, Answer, Caution, Chapter, grid
from ..words.show import show
from .shop import clock_grid, late_grid, steps_grid

if TYPE_CHECKING:
    from ..shop.engine import Shop
    from ..van.model import Build


VERDICTS = {
    "tight": "tight to",
    "creep": "the tube gives; tight to",
    "leak": "leaks",
    "can't tell": "can't tell",
}


def verdict_told(found: Judgement, units: str) -> str:
    """The verdict in words: tight to so much in a time, leaks, or can't tell."""
    said = VERDICTS[found.verdict]
    if not said.endswith(" to"):
        return said
    return f"{said} {show(found.most, 'leak', units)} of {found.medium}"


def clock_chapter(shop: Shop, late: Effect | None = None) -> Chapter:
    """The order of work, the test and the hand-over, and what one late joint does."""
    plan = shop.clock
    answers = [
        Answer("joints to make", float(len(shop.joints)), "count"),
        Answer("joints that can't be made like this", float(len(shop.refused)), "count"),
    ]
    if plan.refused:
        answers.append(Answer("test", f"none: {len(plan.refused)} joints can't be made so cold"))
    elif not plan.joints:
        answers.append(Answer("test", "none: the build has no joints yet"))
    else:
        last = plan.last
        answers += [
            Answer("first water not before", plan.told(plan.task(WATER).start)),
            Answer("pressure test", plan.told(plan.test.start)),
            Answer("hand-over", plan.told(plan.hand_over.end)),
            Answer("ready last", last.name, note=f"{plan.told(last.ready)}, {last.basis}"),
        ]
    if late is not None:
        moves = late.test_moves.total_seconds()
        answers.append(
            Answer(
                f"{late.joint} late by {show(late.late.total_seconds(), 'duration')}",
                f"test {show(moves, 'duration')} later" if moves else "moves nothing",
                note=f"hand-over {late.after.told(late.after.hand_over.end)}",
            )
        )
    refused = [(j.name, j.place, why) for j in shop.refused for why in j.refused] + [
        (name, "", why) for name, why in plan.refused.items()
    ]
    grids = [clock_grid(shop)]
    if not plan.refused:
        grids.append(late_grid(shop))
    if refused:
        columns = {"joint": 0, "where": 1, "why not": 2}
        grids.insert(0, grid("Can't be made like this", refused, columns))
    cautions = (
        Caution(
            "NOTICE",
            "What the container and the tool's and tube's instructions say goes first.",
        ),
    )
    return Chapter("clock", "Order of work and the clock", answers=tuple(answers),
                   grids=tuple(grids), cautions=cautions)  # fmt: skip


def test_chapter(
    plan: TestPlan, found: Judgement, build: Build, ruled: RuleResult | None = None
) -> Chapter:
    """What the readings of a test say, of a leak and by the rule's stages."""
    units = build.van.units
    first, last = found.corrected[0], found.corrected[-1]
    answers = (
        *_by_rule(plan, ruled),
        Answer("verdict", verdict_told(found, units), note=found.why),
        Answer("fall, at one temperature", first.pressure - last.pressure, "pressure_loss",
               note=f"in {show(last.time - first.time, 'duration', units)}"),
        Answer("leak, as fitted", found.leak, "leak", found.work,
               note=f"± {show(found.uncertainty, 'leak', units)}; steps: as if all were leak"),
        Answer("no more than, at 95 %", found.most, "leak"),
        Answer("doubt of what warmth did", found.doubt, "pressure_loss"),
        Answer("lost to creep from 1 to 10 min, and again to 100", found.creep,
               "pressure_loss"),
        Answer("asked for", plan.pressure, "pressure", (), plan.rule.basis,
               f"for {show(plan.duration, 'duration', units)} at least"),
    )  # fmt: skip
    readings = grid(
        "Readings at one temperature",
        found.corrected,
        {
            "after, min": (lambda r: show(r.time / 60, "count"), RIGHT),
            "pressure": ("pressure", "pressure"),
        },
    )
    cautions = [*plan.cautions]
    if first.pressure < plan.pressure - 3500:
        cautions.insert(0, Caution("NOTICE", "The first reading is below what the rule asks for."))
    if last.time - first.time < plan.duration - 1:
        cautions.insert(0, Caution("NOTICE", "The readings end before the rule's time is over."))
    if found.verdict == "leak":
        cautions.insert(0, Caution("CAUTION", "Let the pressure down before a joint is touched."))
    return Chapter(
        "pressure-test",
        f"Pressure test by {plan.medium}",
        basis=("A leak goes with time, creep of plastic with its logarithm; neither is negative.",
               "The verdict is for the pressure: it never replaces looking at each joint."),
        answers=answers,
        grids=(readings, steps_grid("How", plan.steps)),
        cautions=tuple(cautions),
        not_computed=("give of the heater's wall, of fittings and of air left in the system",),
    )  # fmt: skip


def _by_rule(plan: TestPlan, ruled: RuleResult | None) -> tuple[Answer, ...]:
    if ruled is None:
        return ()
    return (Answer("by the rule", ruled.result, basis=plan.rule.basis,
                   note=f"{ruled.rule}: {ruled.why}"),)  # fmt: skip


def dose_chapter(dose: Dose, units: str, strip: tuple[str, str] | None = None) -> Chapter:
    """How much, how long, how it is got out; ``strip`` is what strips at the outlets say."""
    strips = (Answer("strips at the outlets", strip[0], note=strip[1]),) if strip else ()
    answers = (
        Answer(f"{dose.agent} to add", dose.told(units), "", dose.work, note=dose.chlorine.name),
        Answer("water to be dosed", dose.volume, "volume",
               note=f"tank {show(dose.tank, 'volume', units)}, the rest in runs and heater"),
        Answer("it stands for", dose.duration, "duration", (), dose.way.basis),
        Answer(
            f"{dose.agent} in the water",
            f"{show(dose.way.number('concentration'), 'concentration', units)} for "
            f"{show(dose.duration, 'duration', units)}",
        ),
        Answer("drain and fill", float(dose.refills), "count", note="times at least"),
        Answer("left then, by dilution alone", dose.residual, "concentration",
               note=f"measure it; {show(dose.drinking, 'concentration', units)} at most to drink"),
        *strips,
    )  # fmt: skip
    return Chapter("disinfecting", "Disinfecting", answers=answers,
                   grids=(steps_grid("How", dose.steps),), cautions=dose.cautions,
                   not_computed=dose.problems)  # fmt: skip


def setting_chapter(found: SetValve, steps: tuple[str, ...]) -> Chapter:
    """What two measurements at a mixing valve say."""
    answers = (
        Answer("as it is", "set" if found.good else "not right yet"),
        Answer("hot water in the mix", found.share, "share", found.work),
        Answer("with the heater at its hottest", found.hottest, "temperature"),
        Answer("between the two flows", found.spread, "rise"),
        Answer("limit at the outlet", found.limit, "temperature", (), str(found.limit_source)),
    )
    columns = {"flow": ("flow", "flow"), "outlet": ("temperature", "temperature")}
    measured = grid("Measured", found.readings, columns)
    return Chapter(
        "setting", f"Setting {found.valve}", answers=answers,
        grids=(measured, steps_grid("How", steps)), cautions=found.remarks,
    )  # fmt: skip
