"""Each rule on axles speaks on a build that it must speak on, and on no other."""

from __future__ import annotations

from dataclasses import replace

from vanplumb.answers import Answers
from vanplumb.lists.axles import ALL_FULL
from vanplumb.pack import example
from vanplumb.review.axles import axle_carries_too_much, front_axle_gets_lighter
from vanplumb.van import Build


def van(**keys: object) -> Build:
    build = example("heron")
    return replace(build, van=replace(build.van, **keys))  # type: ignore[arg-type]


def findings(build: Build) -> list[tuple[str, str]]:
    answers = Answers(build)
    found = [*axle_carries_too_much(answers), *front_axle_gets_lighter(answers)]
    return [(f.severity, f.where) for f in found]


def test_an_axle_over_its_limit_is_found() -> None:
    assert findings(van()) == []
    assert findings(van(wheelbase=None)) == []
    assert findings(van(rear_axle_limit=1500.0)) == [("WARNING", f"rear axle, {ALL_FULL}")]
    # less is left than what has no place weighs: it may be too much
    tight = van(rear_axle_limit=1240.0 + 280.0, pipework_behind_front_axle=None)
    assert ("WARNING", f"rear axle, {ALL_FULL}") in findings(tight)


def test_water_behind_the_rear_axle_that_lifts_the_front_is_found() -> None:
    build = example("heron")
    tanks = tuple(replace(t, behind_front_axle=5.2) for t in build.tank)
    assert ("CAUTION", f"front axle, {ALL_FULL}") in findings(replace(build, tank=tanks))
