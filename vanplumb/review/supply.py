"""Rules on the supply: shore water, strainer, check valve, pump, accumulator, fixtures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..van.kinds import pumps
from ..van.region import source_here
from ..van.trace import reached, unfed, ways
from ..van.wiring import loose_ports
from ..words.sources import IPC, NFPA1192, PRACTICE
from ..words.tables import table
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..van.model import Build


@rule
def shore_without_regulator(answers: Answers) -> Iterator[Finding]:
    """Site water straight into the van's tube."""
    for shore in answers.build.shore_inlet:
        if not _regulated(answers.build, shore.name):
            yield Finding(
                "WARNING",
                "Shore water enters without a pressure regulator. Sites differ widely.",
                shore.name,
                "none",
                "a regulator at the inlet",
                source_here(answers.build, IPC.at("604.8, 80 psi", "memory")),
                "Fit a regulator between the inlet and everything else.",
            )


def _regulated(build: Build, start: str) -> bool:
    """Whether all that leaves a component meets a regulator before anything it could strain."""
    passed = {c.name for k in ("check_valve", "shut_off", "strainer") for c in getattr(build, k)}
    ends = {r.name for r in build.regulator}
    todo, seen = [start], {start}
    while todo:
        here = todo.pop()
        for first, last in build.run_ends:
            if first.component != here or last.component in ends | seen:
                continue
            if last.component not in passed:
                return False
            seen.add(last.component)
            todo.append(last.component)
    return True


@rule
def shore_could_fill_the_tank(answers: Answers) -> Iterator[Finding]:
    """Shore pressure behind a pump that has no check valve runs back into the tank."""
    build = answers.build
    if (
        build.shore_inlet
        and not build.check_valve
        and not any(pumps.has_check(build, p) for p in build.pump)
    ):
        yield Finding(
            "NOTICE",
            "Shore water can run backwards through the pump into the tank and over its vent.",
            build.shore_inlet[0].name,
            "none",
            "a check valve after the pump",
            PRACTICE,
            "Fit a check valve after the pump.",
        )


@rule
def strainer_missing(answers: Answers) -> Iterator[Finding]:
    """A diaphragm pump that sucks without a strainer."""
    build = answers.build
    electric = [pump for pump in pumps.electric(build) if not pump.in_tank]
    if electric and not build.strainer:
        yield Finding(
            "NOTICE",
            "No strainer stands before the pump. Grit holds its valves open.",
            electric[0].name,
            "none",
            "a strainer on the suction side",
            PRACTICE,
            "Fit a strainer that can be opened without tools before the pump.",
        )


@rule
def precharge_off(answers: Answers) -> Iterator[Finding]:
    """An accumulator that does nothing, as its cushion does not suit the switch of a pump that
    fills it."""
    build = answers.build
    for pump in build.pump:
        if not pumps.has_switch(build, pump):
            continue
        cut_in, _ = pumps.switch(build, pump)
        filled = reached(build, pump.name)
        for vessel in (one for one in build.accumulator if one.name in filled):
            if vessel.precharge > cut_in * 1.001 or vessel.precharge < cut_in * 0.6:
                yield Finding(
                    "NOTICE",
                    "The precharge does not suit the pump's cut-in: the vessel gives little water "
                    "and the pump starts often.",
                    vessel.name,
                    vessel.precharge,
                    cut_in,
                    PRACTICE,
                    "Empty the system and pump the cushion to the cut-in or slightly under.",
                    "pressure",
                )


@rule
def accumulator_not_for_drinking_water(answers: Answers) -> Iterator[Finding]:
    """A heating vessel in the drinking water."""
    for vessel in answers.build.accumulator:
        if not vessel.potable:
            yield Finding(
                "WARNING",
                "The accumulator is not made for drinking water.",
                vessel.name,
                "not for drinking water",
                "a vessel for drinking water",
                source_here(answers.build, NFPA1192.at("chapter 7")),
                "Use a vessel that is listed for drinking water.",
            )


@rule
def fixture_without_water(answers: Answers) -> Iterator[Finding]:
    """A fixture that no run reaches."""
    for name in unfed(answers.build):
        yield Finding(
            "NOTICE",
            "No water reaches this fixture: a run is missing.",
            name,
            "no way from a source",
            "a way from a tank or the shore inlet",
            PRACTICE,
            "Add the runs that feed it.",
        )


@rule
def open_end(answers: Answers) -> Iterator[Finding]:
    """A port that carries water and that nothing is joined to."""
    for port in loose_ports(answers.build):
        yield Finding(
            "NOTICE",
            "Nothing is joined to this port.",
            f"{port.component}, {port.port}",
            "open",
            "a run or a plug",
            PRACTICE,
            "Add the run, or take the part out of the build.",
        )


@rule
def quick_valve_hammers(answers: Answers) -> Iterator[Finding]:
    """A valve that shuts at once, on a long run, without anything soft beside it."""
    kinds = table("fixtures", answers.build.rows)
    build = answers.build
    quick = [f for f in build.fixture if f.kind in kinds and kinds[f.kind]["quick"]]
    fed = {w.fixture for w in ways(build)}
    for fixture in quick:
        if fixture.name in fed and not build.accumulator:
            yield Finding(
                "NOTICE",
                "The valve shuts at once and nothing near takes up the blow.",
                fixture.name,
                "no accumulator or arrester",
                "a water hammer arrester",
                source_here(build, IPC.at("604.9; arresters to ASSE 1010", "memory")),
                "Fit an arrester close to it.",
            )
