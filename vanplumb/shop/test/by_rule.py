"""Readings of a pressure test beside the stages of its rule: passed, failed, or can't tell.

This is what the rule says of the gauge.  Whether a fall is creep or a leak is another question,
which ``leak.judge`` answers: a rule that lets nothing fall fails creep too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ...words.show import show
from ...words.unit_table import PSI
from .leak import DOUBT_STEPS, Reading, corrected, correction_doubt
from .pressure_test import Hold, TestPlan

Passed = Literal["passed", "failed", "can't tell"]
NEAR = 0.1
"""How far from a stage's beginning or end a reading may be taken, as part of the stage."""
LEAST = 60.0
"""The same, s at the least: nobody reads a gauge on the second."""


@dataclass(frozen=True)
class StageResult:
    """One stage beside its readings.  ``fall`` is at the first temperature, None if not read."""

    stage: Hold
    result: Passed
    why: str
    fall: float | None = None


@dataclass(frozen=True)
class RuleResult:
    """What the rule says of all stages: failed if one failed, passed only if all passed."""

    rule: str
    stages: tuple[StageResult, ...]

    @property
    def result(self) -> Passed:
        found = {s.result for s in self.stages if s.stage.kind == "watch"}
        if "failed" in found:
            return "failed"
        return "passed" if found == {"passed"} else "can't tell"

    @property
    def why(self) -> str:
        """Why it is not passed, or that every stage is."""
        said = [s.why for s in self.stages if s.result == self.result and s.stage.kind == "watch"]
        return "; ".join(dict.fromkeys(said))


def by_rule(
    plan: TestPlan, readings: Sequence[Reading], step: float, units: str = "SI"
) -> RuleResult:
    """The readings (times from the end of the first pumping up) beside the plan's stages.

    ``step`` is the smallest that the gauge shows, Pa.  A stage without a reading at its begin
    and its end, or under less than its pressure, can't be told.
    """
    results = []
    begin, before = 0.0, None
    for stage in plan.stages:
        end = begin + stage.duration
        results.append(_stage(plan, before, stage, (begin, end), readings, step, units))
        begin, before = end, stage
    return RuleResult(plan.rule.name, tuple(results))


def coarsest_step(pressure: float) -> float:
    """The coarsest step of a gauge for a test at a pressure, Pa, where its rule says none.

    1 psi to 100 psi, and 2 % of the pressure above (Uniform Plumbing Code, test gauges; from
    memory): with a coarser one a leak of the whole test stays between two marks.
    """
    return PSI if pressure <= 100 * PSI else 0.02 * pressure


def _stage(
    plan: TestPlan,
    before: Hold | None,
    stage: Hold,
    when: tuple[float, float],
    readings: Sequence[Reading],
    step: float,
    units: str,
) -> StageResult:
    if stage.kind == "pump":
        return StageResult(stage, "passed", "pumped up, nothing to read")
    said = plan.rule["gauge_step"]
    coarsest = coarsest_step(plan.pressure) if said is None else said
    if step > coarsest * 1.001:
        most = show(coarsest, "pressure_loss", units)
        who = "such a test" if said is None else "the rule"
        return StageResult(
            stage, "can't tell", f"the gauge is too coarse: {who} asks for steps of {most}"
        )
    first, last = _ends(before, stage, when, readings)
    if first is None or last is None or last.time <= first.time:
        lacking, at = ("begins", when[0]) if first is None else ("ends", when[1])
        return StageResult(
            stage,
            "can't tell",
            f"no reading where the stage {lacking}, {show(at, 'duration', units)} after the start",
        )
    goes_on = before is not None and before.kind == "watch"  # from what the last one left
    if not goes_on and first.pressure < stage.pressure - max(step, 0.01 * stage.pressure):
        has, asks = (show(p, "pressure", units) for p in (first.pressure, stage.pressure))
        return StageResult(
            stage, "can't tell", f"it began at {has}, below the {asks} that the rule asks for"
        )
    pair = corrected([first, last], plan.medium, plan.stiffness)
    fall = pair[0].pressure - pair[1].pressure
    doubt = correction_doubt([first, last], plan.medium, plan.stiffness)
    if doubt > DOUBT_STEPS * step:
        told = show(doubt, "pressure_loss", units)
        return StageResult(
            stage,
            "can't tell",
            f"the warmth changed, and what that does is in doubt by {told}, more than the gauge's "
            "steps: wait until it is steady and test again",
            fall,
        )
    return _fall(stage, fall, first.pressure - last.pressure, step, units)


def _ends(
    before: Hold | None, stage: Hold, when: tuple[float, float], readings: Sequence[Reading]
) -> tuple[Reading | None, Reading | None]:
    """The readings nearest to a stage's begin and end, if any are near.

    A stage that begins with letting water out begins with a reading of the lower pressure.
    """
    begin, end = when
    near = max(NEAR * stage.duration, LEAST)
    most = float("inf")
    if before is not None and stage.pressure < before.pressure - 1.0:
        most = (before.pressure + stage.pressure) / 2
    firsts = [r for r in readings if abs(r.time - begin) <= near and r.pressure <= most]
    lasts = [r for r in readings if end - 1.0 <= r.time <= end + near]
    return (
        min(firsts, key=lambda r: abs(r.time - begin), default=None),
        min(lasts, key=lambda r: abs(r.time - end), default=None),
    )


def _fall(stage: Hold, fall: float, shown: float, step: float, units: str) -> StageResult:
    """``fall`` is at one temperature, ``shown`` is what the gauge shows."""
    lost = show(max(fall, 0.0), "pressure_loss", units)
    allowed = show(stage.fall, "pressure_loss", units)
    doubt = step  # two readings, each rounded by half a step
    if fall <= stage.fall - doubt or (not stage.fall and abs(fall) < 0.5 * step):
        said = f"{lost} lost, {allowed} allowed" if stage.fall else "no fall that the gauge shows"
        return StageResult(stage, "passed", said, fall)
    if fall > stage.fall + doubt:
        return StageResult(stage, "failed", f"{lost} lost, {allowed} allowed", fall)
    warmth = ", and the warmth changed" if abs(fall - shown) > 0.5 * step else ""
    return StageResult(
        stage,
        "can't tell",
        f"{lost} lost is within one step of the gauge of the {allowed} allowed{warmth}: read finer "
        "or test again",
        fall,
    )
