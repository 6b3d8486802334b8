"""Rules on what the van is put together from: ends that don't meet, runs too short, adapters."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..words.show import show
from ..words.sources import PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

LOOSE = 0.005
"""m by which a run's fittings may be too long before it is worth a word: tube gives."""


@rule
def ends_that_do_not_meet(answers: Answers) -> Iterator[Finding]:
    """Two ends that no fittings of the tables join, or that the named ones do not."""
    for way in answers.lists.ways.runs:
        for end, chain in zip(way.ends, way.chains, strict=False):
            if chain.trouble:
                said = "the fittings named in the build file" if chain.stated else "the tables"
                yield Finding(
                    "NOTICE",
                    f"Nothing joins {end.words} to the end of {way.run.tube}: {chain.trouble}.",
                    f"run {way.index + 1}",
                    str(end.end),
                    way.run.tube,
                    PRACTICE,
                    f"Look at {said}: say the end of your part under ends, name other fittings, or "
                    "add a row under [[rows.fitting_parts]].",
                )


@rule
def run_shorter_than_its_fittings(answers: Answers) -> Iterator[Finding]:
    """A run whose fittings, with the tube that goes into them, are longer than itself."""
    for way in answers.lists.ways.runs:
        if way.short > LOOSE:
            told = show(way.short, "length", answers.build.van.units)
            yield Finding(
                "NOTICE",
                f"The fittings of this run take {told} more than it has: it can't be made.",
                f"run {way.index + 1}",
                way.length,
                way.length + way.short,
                PRACTICE,
                "Measure it again, between the ends of the parts; or join the parts by a nipple or "
                "a bush, or use fewer elbows.",
                "length",
            )


@rule
def corners_not_bent(answers: Answers) -> Iterator[Finding]:
    """Runs that keep their elbows though the build asks for bent tube, and why."""
    units = answers.build.van.units
    for run in (b for b in answers.build.bent if b.refused):
        short = run.room < run.need
        yield Finding(
            "NOTICE",
            f"The corners of this run stay elbows: {run.refused}"
            + (f", a bend of {show(run.radius, 'length', units)}." if short else "."),
            f"run {run.index + 1}",
            run.room if short else "elbows",
            run.need if short else "bends",
            PRACTICE,
            "Say its legs, from corner to corner, if they are not even; or leave the elbows.",
            "length" if short else "",
        )


@rule
def adapters_not_as_picked(answers: Answers) -> Iterator[Finding]:
    """More adapters counted for the loss of a run than its ends ask for."""
    off = [
        way for way in answers.lists.ways.runs
        if way.chains and way.adapters_written > sum(len(c.steps) for c in way.chains)
    ]  # fmt: skip
    if off:
        first = off[0]
        picked = sum(len(chain.steps) for chain in first.chains)
        more = f" and {len(off) - 1} more" if len(off) > 1 else ""
        yield Finding(
            "NOTICE",
            "The build file counts more adapters than the ends of the parts ask for: lists and "
            "joints follow the ends, the loss of the run counts all that the file does.",
            f"run {first.index + 1}{more}",
            f"{first.adapters_written} written",
            f"{picked} picked",
            PRACTICE,
            "Say the ends of your parts under ends, or set the count of adapters in fittings.",
        )


@rule
def tube_not_on_the_shelf(answers: Answers) -> Iterator[Finding]:
    """More tube than the build file has in stock, or a run longer than any length of it."""
    plans = answers.lists.cut_plan
    stocked = {s.tube for s in answers.build.stock}
    for tube, cuts in plans.items():
        if cuts.missing:
            yield Finding(
                "NOTICE",
                f"A piece of {tube}, with what is kept spare for it, is longer than any length "
                "that there is.",
                f"stock, {tube}",
                (max(cuts.missing) + cuts.allowance) / 1e7,
                max((b.length for b in cuts.bars), default=0) / 1e7,
                PRACTICE,
                "Buy a coil, or put a joint where it can be reached.",
                "length",
            )
        if tube in stocked and cuts.bought:
            shelf = sum(s.pieces for s in answers.build.stock if s.tube == tube)
            yield Finding(
                "NOTICE",
                f"The tube on the shelf is not enough: {cuts.bought} more of {tube}.",
                f"stock, {tube}",
                f"{len(cuts.bars)} lengths needed",
                f"{shelf} on the shelf",
                PRACTICE,
                "Buy what the cut plan says before the work starts.",
            )
