"""Rules on making, testing and handing over: compounds, waiting, tests, chlorine, winter."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..lists.joints import Joint
from ..lists.threads import fit_for, refusal
from ..van.region import source_here
from ..words.glossary import ICE_POINT
from ..words.show import first_of, show
from ..words.sources import MELINDER, NSF61, PRACTICE
from ..words.tables import OWN, table
from ..words.unit_table import DAY
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

COLD_SHOP = 277.594
"""40 °F: below it expansion joints shrink so slowly that they wait for hours."""
SLOW = 2 * DAY


def _named(joints: list[Joint]) -> str:
    return first_of([j.name for j in joints], 4)


@rule
def compound_not_fit(answers: Answers) -> Iterator[Finding]:
    """A thread compound that is not for drinking water, too cool for its joint, or eats plastic."""
    build = answers.build
    compounds = table("compounds", build.rows)
    by_reason: dict[tuple[str, str], list[Joint]] = {}
    for joint in answers.shop.joints:
        if joint.thread and joint.compound:
            row = compounds[joint.compound]
            why = refusal(row, joint.temperature, joint.material, build.van.units)
            if why:
                by_reason.setdefault((joint.compound, why), []).append(joint)
    for (name, why), joints in by_reason.items():
        fit = fit_for(max(j.temperature for j in joints), joints[0].material, build.rows)
        yield Finding(
            "NOTICE" if compounds[name]["drinking"] else "WARNING",
            f"The compound does not fit these threads: {why.split(': ', 1)[1]}.",
            _named(joints),
            name,
            ", ".join(fit[:3]) or "none in the table",
            source_here(build, NSF61) if not compounds[name]["drinking"] else PRACTICE,
            "Use one that does; the container rules.",
        )


@rule
def joint_can_not_be_made_so_cold(answers: Answers) -> Iterator[Finding]:
    """Joints whose wait in a shop so cold is not known, or that must not be made."""
    refused = answers.shop.clock.refused
    if refused:
        heat = answers.build.shop.temperature
        yield Finding(
            "NOTICE",
            "The shop is too cold for these joints.",
            ", ".join(list(refused)[:4]),
            heat,
            next(iter(refused.values())),
            PRACTICE,
            "Warm the shop, or the joint, until it has waited long enough.",
            "temperature",
        )


@rule
def cold_shop_makes_joints_wait(answers: Answers) -> Iterator[Finding]:
    """Expansion joints made below 40 °F wait for hours."""
    heat = answers.build.shop.temperature
    expansion = [j for j in answers.shop.joints if j.kind == "expansion"]
    if expansion and heat < COLD_SHOP:
        yield Finding(
            "NOTICE",
            "Expansion joints shrink slowly in a shop so cold: they wait hours, not minutes.",
            "shop",
            heat,
            COLD_SHOP,
            PRACTICE,
            "Keep tube and tool warm, make fewer expansions as the tool's sheet says, and wait.",
            "temperature",
        )


@rule
def compound_holds_up_the_test(answers: Answers) -> Iterator[Finding]:
    """One compound that keeps the test waiting for days."""
    plan = answers.shop.clock
    if plan.refused or not plan.joints:
        return
    last = plan.last
    if last.joint is not None and last.joint.thread and last.waits.total_seconds() >= SLOW:
        yield Finding(
            "NOTICE",
            "The test waits for one compound to set; all other joints are ready long before.",
            f"{last.name}, {last.joint.compound}",
            last.waits.total_seconds(),
            f"{SLOW / DAY:.0f} days",
            PRACTICE,
            "Make these threads first of all, or choose a compound that needs no setting.",
            "duration",
        )


@rule
def test_pressure_too_high(answers: Answers) -> Iterator[Finding]:
    """A stated test pressure above what a part under test may see."""
    test = answers.shop.test
    weakest = test.weakest
    if weakest is not None and test.pressure > weakest.pressure + 1:
        yield Finding(
            "WARNING",
            f"The test would go above what {weakest.part} may see ({weakest.why}).",
            weakest.part,
            test.pressure,
            weakest.pressure,
            OWN,
            "Lower it, or take the part out of the test.",
            "pressure",
        )


@rule
def test_pressure_too_low(answers: Answers) -> Iterator[Finding]:
    """A test below the highest pressure in service shows nothing, below its rule too little."""
    test = answers.shop.test
    if test.pressure < test.working - 1:
        yield Finding(
            "CAUTION",
            "The test is below the highest pressure in service.",
            "test",
            test.pressure,
            test.working,
            test.rule.source("about"),
            "Test at working pressure at least; the local code may ask for more.",
            "pressure",
        )
    if test.pressure < test.asked - 1 and test.asked > test.working + 1:
        yield Finding(
            "CAUTION",
            f"The test is below what its rule asks for ({test.rule.name}): it proves less than "
            "the rule does.",
            "test",
            test.pressure,
            test.asked,
            test.rule.source("about"),
            "Test as the rule says, with what can't see so much shut off or taken out; who "
            "inspects the van says what may stand for it.",
            "pressure",
        )


@rule
def winter_colder_than_antifreeze(answers: Answers) -> Iterator[Finding]:
    """A night colder than the thinned antifreeze bears."""
    winter = answers.shop.winter
    if winter.coldest < ICE_POINT and winter.freezes > winter.coldest + 0.05:
        units = answers.build.van.units
        yield Finding(
            "NOTICE",
            "Antifreeze thinned by what stays in the runs forms ice at "
            f"{show(winter.freezes, 'temperature', units)}.",
            "runs",
            winter.coldest,
            winter.freezes,
            MELINDER,
            "Blow the runs out well, draw until it comes undiluted, or buy it stronger.",
            "temperature",
        )
