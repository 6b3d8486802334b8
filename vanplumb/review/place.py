"""Rules on where the van is built and stands: threads of two standards, warm water, sun."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..van.region import PLASTICS, Rows, region_of, water_temperature
from ..van.trace import title
from ..words.show import show
from ..words.sources import B1_20_1, PRACTICE
from ..words.tables import table
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

FAMILIES = {"NPT": ("NPT", "NPSM", "NH"), "R": ("R", "Rp", "Rc", "G")}
"""Threads that are sold side by side, by the region's taper thread."""


@rule
def threads_of_two_standards(answers: Answers) -> Iterator[Finding]:
    """A part whose thread is not of the standard that is sold where the van is built."""
    build = answers.build
    usual = str(region_of(build).row["taper"])
    other = next(name for name in FAMILIES if name != usual)
    told = set()
    for way in answers.lists.ways.runs:
        for at in way.ends:
            standard, _, size = at.end.thread.partition(" ")
            if standard not in FAMILIES[other] or at.words in told:
                continue
            told.add(at.words)
            yield Finding(
                "NOTICE",
                f"A thread {standard} does not fit the threads sold in this region: "
                f"{_differ(build.rows, size, other, usual)}. It may start by hand, and leaks.",
                at.words,
                str(at.end),
                f"{usual}, or G with a washer" if usual == "R" else usual,
                B1_20_1,
                "Take the part with the region's thread, or an adapter that is made from one "
                "standard to the other.",
            )


def _differ(own: Rows, size: str, one: str, other: str) -> str:
    """In what two taper threads of one size differ, by the table."""
    rows = table("threads", own)
    first, second = rows.get(f"{one} {size}"), rows.get(f"{other} {size}")
    if first is None or second is None:
        return "not the same form"
    said = []
    pitches = [r.number("threads_per_inch") for r in (first, second)]
    if pitches[0] != pitches[1]:
        said.append(f"not the same pitch ({pitches[0]:g} and {pitches[1]:g} threads an inch)")
    flanks = [show(r.number("flank_angle"), "angle", "SI") for r in (first, second)]
    if flanks[0] != flanks[1]:
        said.append(f"not the same flanks ({flanks[0]} and {flanks[1]})")
    wide = [r.number("pitch_diameter") for r in (first, second)]
    if abs(wide[0] - wide[1]) > 0.05e-3:
        said.append("not the same taper at the same place, so one is loose or tight in the other")
    return ", ".join(said)


@rule
def cold_water_stands_warm(answers: Answers) -> Iterator[Finding]:
    """Cold water that takes on a warmth in which germs grow, in the tank or in a run."""
    build = answers.build
    asked = water_temperature(build, "cold")
    if asked is None:
        return
    most = asked.number("greatest")
    day = build.van.outside_day
    for tank in build.tank:
        if tank.holds != "fresh":
            continue
        around = build.van.cabin if tank.place == "cabin" else day
        warm = max(build.van.cold_water, around if around is not None else 0.0)
        if warm > most + 0.05:
            yield Finding(
                "CAUTION",
                "The water in the tank stands as warm as what is around it, and germs grow in it.",
                tank.name,
                warm,
                most,
                asked.source("greatest"),
                "Draw it off and fill fresh after days of standing; shade the tank; disinfect "
                "before the first use of a season.",
                "temperature",
            )


EATEN = {("copper", "steel"), ("copper", "aluminium"), ("brass", "aluminium")}
"""Which metal of two that touch under water is eaten: the second (galvanic series)."""


@rule
def two_metals_touch(answers: Answers) -> Iterator[Finding]:
    """Copper on steel, or copper or brass on aluminium, with water in it."""
    build = answers.build
    tubes = table("tubes", build.rows)
    practice = table("part_practices", build.rows)["two metals"]
    for way in answers.lists.ways.runs:
        for at, chain in zip(way.ends, way.chains, strict=False):
            if chain.trouble:
                continue
            before = at.end.material
            touching = []
            for step in chain.steps:
                touching.append((before, step.part.ends[step.into].material))
                before = step.part.ends[step.out].material
            if tubes[way.run.tube]["material"] == "copper":
                touching.append((before, "copper"))
            for one in touching:
                pair = one if one in EATEN else one[::-1]
                if pair in EATEN:
                    yield Finding(
                        "NOTICE",
                        f"{pair[0].capitalize()} touches {pair[1]} under water, and eats it.",
                        at.words,
                        f"{pair[0]} on {pair[1]}",
                        "brass or plastic between" if pair[1] == "steel" else "plastic between",
                        practice.source("demand"),
                        "Part them by a dielectric union or a length of plastic tube.",
                    )


@rule
def plastic_tube_in_the_sun(answers: Answers) -> Iterator[Finding]:
    """Plastic tube that passes outside is used up by light."""
    build = answers.build
    tubes = table("tubes", build.rows)
    practice = table("part_practices", build.rows)["sun"]
    for number, run in enumerate(build.run):
        if run.place == "outside" and tubes[run.tube]["material"] in PLASTICS:
            yield Finding(
                "NOTICE",
                "Plastic tube passes outside: light uses it up.",
                f"run {number + 1}, {title(build, number)}",
                "outside",
                practice.number("duration"),
                practice.source("demand") if practice["duration"] else PRACTICE,
                "Lead it in a cover that lets no light through.",
                "duration",
            )
