"""Rules on tube: rating at its temperature, fitness, joints, speed, stubs, support, surge."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import TYPE_CHECKING

from ..van.ratings import highest_of_runs
from ..van.region import clips_of_run, speed_limit
from ..van.trace import COLD, contents, fixtures_fed, title
from ..words.glossary import ICE_POINT
from ..words.show import together
from ..words.sources import F876, F1960, PRACTICE, Source
from ..words.tables import OWN, Row, table
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

HOT_WATER = ICE_POINT + 60
"""140 °F: above it the lower speed is advised."""
TOLERANCE = 1.001


def _where(answers: Answers, number: int) -> str:
    return f"run {number + 1}, {title(answers.build, number)}"


def _tube(answers: Answers, name: str) -> Row:
    return table("tubes", answers.build.rows)[name]


@rule
def tube_not_for_hot_water(answers: Answers) -> Iterator[Finding]:
    """Hot or mixed water in tube that is not made for it."""
    build = answers.build
    for number, (run, carries) in enumerate(zip(build.run, contents(build), strict=True)):
        if carries != COLD and _tube(answers, run.tube)["hot"] is False:
            yield Finding(
                "WARNING",
                f"The tube {run.tube} is not made for hot water.",
                _where(answers, number),
                run.tube,
                "tube for hot water",
                _tube(answers, run.tube).source("hot"),
                "Use tube that is rated for hot water there.",
            )


@rule
def tube_not_for_drinking_water(answers: Answers) -> Iterator[Finding]:
    """Tube that is not sold for drinking water."""
    for number, run in enumerate(answers.build.run):
        if _tube(answers, run.tube)["drinking"] is False:
            yield Finding(
                "WARNING",
                f"The tube {run.tube} is not sold for drinking water.",
                _where(answers, number),
                run.tube,
                "tube for drinking water",
                _tube(answers, run.tube).source("drinking"),
                "Use tube that is marked for drinking water by the local standard.",
            )


@rule
def joint_not_for_tube(answers: Answers) -> Iterator[Finding]:
    """A way of joining that the tube is not made for."""
    joints = table("joints", answers.build.rows)
    for number, run in enumerate(answers.build.run):
        row = _tube(answers, run.tube)
        method = run.joint or row["joint"]
        material = str(row["material"])
        if method and method in joints and material not in (joints[method]["materials"] or ()):
            fits = [
                name for name, joint in joints.items() if material in (joint["materials"] or ())
            ]
            yield Finding(
                "WARNING",
                f"A joint by {method} does not belong on {run.tube}: it may hold today and let go "
                "later.",
                _where(answers, number),
                f"{method} on {material}",
                f"{material}: {', '.join(fits) or 'none known'}",
                F1960.at("scope") if method == "expansion" else PRACTICE,
                "Use the joint that the tube and its fittings are made for.",
            )


@rule
def water_too_fast(answers: Answers) -> Iterator[Finding]:
    """Speed that wears, hums and hammers, in the situation in which a run carries most."""
    if answers.flow.problem:
        return
    limits = answers.build.limits
    fed = fixtures_fed(answers.build)
    fast: dict[tuple[str, float, Source], list[tuple[int, float]]] = {}
    for one in answers.flow.runs:
        hot = one.link.temperature > HOT_WATER
        own = limits.velocity_hot if hot else limits.velocity_cold
        known = speed_limit(
            answers.build, one.tube, hot=hot, single=len(fed.get(one.number, ())) <= 1
        )
        limit = own if own is not None else known.value if known else inf
        if one.velocity > limit * TOLERANCE:
            source = known.source if known and own is None else OWN
            fast.setdefault((one.situation, limit, source), []).append((one.number, one.velocity))
    for (situation, limit, source), runs in fast.items():
        most = max(velocity for _, velocity in runs)
        worst = next(number for number, velocity in runs if velocity > most * (1 - 1e-8))
        others = [str(number + 1) for number, _ in runs if number != worst]
        more = (
            f" So it does in run{'s' if others[1:] else ''} {together(others)}." if others else ""
        )
        yield Finding(
            "NOTICE",
            f"Water runs fast ({situation}): noise, loss and hammer.{more}",
            _where(answers, worst),
            most,
            limit,
            source,
            "Use the next size of tube, or fixtures of less flow.",
            "velocity",
        )


@rule
def stub_too_short(answers: Answers) -> Iterator[Finding]:
    """Tube between two fittings that leaves no room for both joints."""
    build = answers.build
    for manifold in build.manifold:
        row = _tube(answers, manifold.tube)
        least = row["stub_least"]
        if manifold.stub is not None and least and manifold.stub < least / TOLERANCE:
            yield Finding(
                "NOTICE",
                f"The stubs of {manifold.tube} are too short for a joint at both ends.",
                manifold.name,
                manifold.stub,
                least,
                row.source("stub_least"),
                "Cut them longer; the sheet of the fittings rules.",
                "length",
            )
    for number, run in enumerate(build.run):
        row = _tube(answers, run.tube)
        least = row["stub_least"]
        if least and run.length < least / TOLERANCE:
            yield Finding(
                "NOTICE",
                f"The run of {run.tube} is too short for a joint at both ends.",
                _where(answers, number),
                run.length,
                least,
                row.source("stub_least"),
                "Move the parts apart; the sheet of the fittings rules.",
                "length",
            )


@rule
def clips_too_far_apart(answers: Answers) -> Iterator[Finding]:
    """Clips that stand farther apart than the region, or the tube itself, lets them."""
    build = answers.build
    for number, run in enumerate(build.run):
        clips = clips_of_run(build, number)
        if clips.too_far and run.clip_spacing is not None and clips.allowed is not None:
            yield Finding(
                "NOTICE",
                f"The clips of this {'upright' if clips.upright else 'level'} run stand too far "
                "apart: it sags, shakes on the road, and works at its joints.",
                _where(answers, number),
                run.clip_spacing,
                clips.allowed,
                clips.source,
                "Set more of them; the manufacturer's instructions go first.",
                "length",
            )


@rule
def heated_run_has_no_give(answers: Answers) -> Iterator[Finding]:
    """A long straight hot run of plastic that grows and has no bend to take it up."""
    build = answers.build
    fittings = table("fittings", build.rows)
    heats = highest_of_runs(build)
    for number, (run, carries) in enumerate(zip(build.run, contents(build), strict=True)):
        row = _tube(answers, run.tube)
        alpha = row["expansion_coefficient"]
        bends = any(n and fittings[name]["kind"] == "elbow" for name, n in run.fittings)
        if carries == COLD or not alpha or bends:
            continue
        rise = heats[number].value - build.shop.temperature
        growth = alpha * run.length * max(rise, 0.0)
        if growth > 0.010:
            yield Finding(
                "NOTICE",
                "The run grows when it is hot and the build names no bend that takes it up.",
                _where(answers, number),
                growth,
                0.010,
                F876.at("expansion, 1.1 in per 100 ft and 10 °F in the trade; limit by practice"),
                "Leave as much slack as it grows, or lead it round a corner.",
                "length",
            )
