"""Each rule of the shop speaks on a build that it must speak on, and leaves a sound one alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from vanplumb.pack import Pack, example
from vanplumb.review import RULES, Finding
from vanplumb.van import Build
from vanplumb.van.whole_van import Shop

MINE = {n for n, r in RULES.items() if r.__module__ == "vanplumb.review.shop"}


def sound() -> Build:
    """Dipper with paste on its hot threads and a vessel that takes the heater's growth up."""
    build = in_shop(hot_compound="PTFE paste")
    return replace(build, accumulator=(replace(build.accumulator[0], volume=2e-3),))


def in_shop(**changes: object) -> Build:
    build = example("dipper")
    shop: Shop = replace(build.shop, **{"hot_compound": "PTFE paste", **changes})
    return replace(build, shop=shop)


def by_expansion(build: Build) -> Build:
    """The same runs in tube that is joined by expansion."""
    runs = tuple(replace(r, tube=r.tube.replace("PEX-B", "PEX")) for r in build.run)
    return replace(build, run=runs)


def freezing() -> Build:
    build = sound()
    return replace(build, van=replace(build.van, outside=235.0))


def found(build: Build) -> list[Finding]:
    pack = Pack(build)
    return [
        f
        for name in sorted(MINE)
        for f in map(lambda x, n=name: replace(x, rule=n), RULES[name](pack))
    ]


SPEAKS: dict[str, tuple[Callable[[], Build], str, str]] = {
    "compound_not_fit": (
        lambda: in_shop(hot_compound="general pipe dope"), "WARNING", "not rated for drinking"),
    "joint_can_not_be_made_so_cold": (
        lambda: in_shop(temperature=270.0, hot_compound="high-temperature sealant"),
        "NOTICE", "too cold"),
    "cold_shop_makes_joints_wait": (
        lambda: by_expansion(in_shop(temperature=275.0)), "NOTICE", "wait hours"),
    "compound_holds_up_the_test": (
        lambda: in_shop(hot_compound="high-temperature sealant"), "NOTICE", "waits for one"),
    "test_pressure_too_high": (
        lambda: in_shop(test_pressure=1.2e6), "WARNING", "may see"),
    "test_pressure_too_low": (
        lambda: in_shop(test_pressure=2e5), "CAUTION", "below the highest pressure"),
    "winter_colder_than_antifreeze": (freezing, "NOTICE", "forms ice"),
}  # fmt: skip


def test_every_rule_is_tried() -> None:
    assert set(SPEAKS) == MINE


def test_a_sound_build_is_left_alone() -> None:
    assert found(sound()) == []


@pytest.mark.parametrize("name", sorted(SPEAKS))
def test_it_speaks_where_it_must(name: str) -> None:
    make, severity, words = SPEAKS[name]
    mine = [f for f in found(make()) if f.rule == name]
    assert mine
    assert mine[0].severity == severity
    assert words in mine[0].what
    assert mine[0].advice and str(mine[0].source)
    assert all(mine[0].shown("US"))


def test_a_compound_too_cool_names_those_that_fit() -> None:
    build = in_shop(hot_compound="PTFE paste")
    hot = replace(build.heater[0], setpoint=423.0)
    one = [f for f in found(replace(build, heater=(hot,))) if f.rule == "compound_not_fit"]
    assert one and "at most and the joint reaches" in one[0].what
    assert "PTFE tape" in str(one[0].limit)
