"""Rules on pressure: what each part may see in service beside what it is made for."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import TYPE_CHECKING

from ..flow.closed_heating import RELIEF_SHARE
from ..van.kinds import heaters
from ..van.ratings import highest_of_runs, rating_at
from ..van.region import region_of, source_here
from ..van.trace import COLD, contents, title
from ..words.show import counted, show
from ..words.sources import F876, IPC, PRACTICE, Z21_22
from ..words.tables import OWN, table
from ..words.unit_table import PSI
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers

RELIEF_TEST = 150 * PSI
"""PEX is tested to stand what a common relief valve lets happen, Pa."""
TOLERANCE = 1.001


@rule
def tube_over_rating(answers: Answers) -> Iterator[Finding]:
    """A tube that may see more pressure than it is rated for at the water's temperature."""
    build = answers.build
    tubes = table("tubes", build.rows)
    over: dict[tuple[str, str, str], list[tuple[int, float, str | float, float]]] = {}
    for number, (run, heat) in enumerate(zip(build.run, highest_of_runs(build), strict=True)):
        press = answers.pressures.of_run(number)
        row = tubes[run.tube]
        rating = rating_at(row, heat.value)
        at = show(heat.value, "temperature", build.van.units)
        where = f"run {number + 1}, {title(build, number)}"
        source = row.source("rating_pressures")
        if rating is None:
            yield Finding(
                "WARNING",
                f"The tube {run.tube} has no pressure rating at {at} ({heat.why}).",
                where,
                "no rating",
                f"a rating at {at}",
                source,
                "Use tube that is rated for that temperature, or lower it.",
            )
            continue
        value = press.beyond(rating, build.van.units)
        if value is not None:
            at_run = (number, press.value / rating, value, rating)
            over.setdefault((run.tube, at, press.why), []).append(at_run)
    for (tube, at, why), runs in over.items():
        number, _, value, rating = max(runs, key=lambda row: row[1])
        more = f", and {counted(len(runs) - 1, 'more run')}" if len(runs) > 1 else ""
        yield Finding(
            "WARNING",
            f"The tube {tube} may see more pressure than it is rated for at {at}: {why}.",
            f"run {number + 1}, {title(build, number)}{more}",
            value,
            rating,
            tubes[tube].source("rating_pressures"),
            "Lower the pressure (regulator, cut-out, relief valve, a vessel) or use tube of a "
            "higher rating.",
            "pressure",
        )


@rule
def relief_stands_open(answers: Answers) -> Iterator[Finding]:
    """A supply that holds as much as a relief valve opens at: it runs all the time."""
    for heater in answers.build.heater:
        if heater.relief is None:
            continue
        held = answers.pressures.of_part(heater.name)
        if held.supply >= heater.relief / TOLERANCE:
            yield Finding(
                "DANGER",
                f"The relief valve stands open all the time: {held.supply_why} holds more than "
                "it opens at. Hot water runs out, and a valve that always runs scales up and "
                "fails.",
                heater.name,
                held.supply,
                heater.relief,
                source_here(answers.build, Z21_22.at("relief valves")),
                "Lower the cut-out or fit a regulator; never set the relief valve above the "
                "heater's rating.",
                "pressure",
            )
        elif held.supply > heater.relief * RELIEF_SHARE * TOLERANCE:
            yield Finding(
                "CAUTION",
                f"{held.supply_why} holds so near the relief valve's opening that it may weep all "
                "the time.",
                heater.name,
                held.supply,
                heater.relief * RELIEF_SHARE,
                PRACTICE,
                "Lower the cut-out or the regulator.",
                "pressure",
            )


@rule
def heater_over_rating(answers: Answers) -> Iterator[Finding]:
    """A heater that may see more pressure than its plate says."""
    for heater in answers.build.heater:
        rating = heater.pressure_rating
        held = answers.pressures.of_part(heater.name)
        value = None if rating is None else held.beyond(rating, answers.build.van.units)
        if rating is not None and value is not None:
            yield Finding(
                "DANGER" if held.supply > rating * TOLERANCE else "WARNING",
                f"The heater may see more pressure than it is made for: {held.why}.",
                heater.name,
                value,
                rating,
                OWN if heater.pressure_rating is not None else PRACTICE,
                "Lower the supply or fit a regulator; fit a relief valve that opens at or below "
                "the rating, and a vessel that takes the growth up.",
                "pressure",
            )


@rule
def vessel_over_rating(answers: Answers) -> Iterator[Finding]:
    """An accumulator that may see more pressure than its plate says."""
    for vessel in answers.build.accumulator:
        held = answers.pressures.of_part(vessel.name)
        rating = vessel.pressure_rating
        value = None if rating is None else held.beyond(rating, answers.build.van.units)
        if rating is not None and value is not None:
            yield Finding(
                "WARNING",
                f"The accumulator may see more pressure than it is made for: {held.why}.",
                vessel.name,
                value,
                rating,
                OWN,
                "Lower the pressure, or take a vessel of a higher rating.",
                "pressure",
            )


@rule
def stated_working_pressure_exceeded(answers: Answers) -> Iterator[Finding]:
    """A highest pressure in service that the build states, and its own parts go beyond."""
    stated = answers.build.limits.working_pressure
    found = answers.pressures.highest
    value = None if stated is None else found.beyond(stated, answers.build.van.units)
    if stated is not None and value is not None:
        yield Finding(
            "WARNING",
            "The parts can make more pressure than the build states as the highest in service: "
            f"{found.why}.",
            found.place,
            value,
            stated,
            OWN,
            "Lower the cut-out or the regulator, fit a vessel, or state the pressure that there "
            "is.",
            "pressure",
        )


@rule
def relief_above_rating(answers: Answers) -> Iterator[Finding]:
    """A relief valve that opens only above what the heater is made for."""
    for heater in answers.build.heater:
        rating, relief = heater.pressure_rating, heater.relief
        if rating is not None and relief is not None and relief > rating * TOLERANCE:
            yield Finding(
                "DANGER",
                "The relief valve opens above the pressure that the heater is made for.",
                heater.name,
                relief,
                rating,
                source_here(answers.build, Z21_22.at("relief valves")),
                "Fit a relief valve that opens at or below the rating on the heater's plate.",
                "pressure",
            )


@rule
def relief_above_tube(answers: Answers) -> Iterator[Finding]:
    """A relief valve that opens only above what the hot tube was tested to stand for a while."""
    build = answers.build
    over: dict[str, tuple[float, float, bool]] = {}
    tubes = table("tubes", build.rows)
    heats = highest_of_runs(build)
    for number, (run, carries) in enumerate(zip(build.run, contents(build), strict=True)):
        row = tubes[run.tube]
        relief = None if carries == COLD else answers.pressures.relief_of_run(number)
        if relief is None:
            continue
        tested = RELIEF_TEST if row["material"] == "PEX" else None
        limit = tested or rating_at(row, heats[number].value)
        if limit is not None and relief > max(limit, over.get(run.tube, (0.0,))[0]) * TOLERANCE:
            over[run.tube] = (relief, limit, tested is not None)
    for tube, (relief, limit, is_tested) in over.items():
        yield Finding(
            "WARNING",
            f"The relief valve opens above what the hot tube {tube} bears.",
            tube,
            relief,
            limit,
            F876.at("excess test, 150 psi at 210 °F")
            if is_tested
            else tubes[tube].source("rating_pressures"),
            "Fit a relief valve that opens lower, or stronger tube.",
            "pressure",
        )


@rule
def static_pressure_high(answers: Answers) -> Iterator[Finding]:
    """More static pressure than the code lets into fixtures."""
    build = answers.build
    here = region_of(build).row
    limit = here["static_greatest"] or inf
    every = [answers.pressures.of_part(f.name) for f in build.fixture]
    worst = max(every, key=lambda p: p.supply, default=None)
    if worst is not None and worst.supply > limit * TOLERANCE:
        yield Finding(
            "WARNING",
            f"The fixtures may see more pressure than the code allows: {worst.supply_why}.",
            "whole system",
            worst.supply,
            limit,
            here.source("static_greatest"),
            "Fit a pressure regulator.",
            "pressure",
        )
        return
    grown = max(every, key=lambda p: (p.unheld, p.value), default=None)
    value = None if grown is None else grown.beyond(limit, build.van.units)
    if grown is not None and value is not None:
        yield Finding(
            "CAUTION",
            "While the heater warms up with every tap shut, the fixtures see more pressure than "
            f"the code lets a supply hold: {grown.why}.",
            grown.place.split(".")[0],
            value,
            limit,
            here.source("static_greatest"),
            "Fit a vessel that takes the growth up below that.",
            "pressure",
        )


@rule
def no_room_to_grow(answers: Answers) -> Iterator[Finding]:
    """Water that warms behind a check valve, with nowhere to go but the relief valve."""
    for one in answers.pressures.heatings:
        stores = {h.name for h in answers.build.heater if heaters.has_store(h)}
        if one.closed and not answers.build.accumulator and one.heater in stores:
            yield Finding(
                "CAUTION",
                "Warming water grows behind a check valve and no vessel takes it up: the relief "
                "valve will drip at every heating.",
                one.heater,
                one.growth,
                "an accumulator or expansion vessel",
                source_here(answers.build, IPC.at("607.3, thermal expansion", "memory")),
                "Fit a vessel between the check valve and the heater.",
                "volume",
            )


@rule
def vessel_cut_off_from_heater(answers: Answers) -> Iterator[Finding]:
    """An accumulator on the far side of a check valve takes up nothing of what grows."""
    for one in answers.pressures.heatings:
        if one.closed and answers.build.accumulator and not one.cushions:
            yield Finding(
                "CAUTION",
                "A check valve or regulator stands between the heater and every accumulator: "
                "warming water can't get there, and the pressure climbs at each heating.",
                one.heater,
                one.growth,
                "a vessel that the heater's water can reach",
                source_here(answers.build, IPC.at("607.3, thermal expansion", "memory")),
                "Fit a vessel between the last check valve and the heater.",
                "volume",
            )


@rule
def relief_opens_at_each_heating(answers: Answers) -> Iterator[Finding]:
    """Growth that tubes and vessels can't take up below the relief valve's opening."""
    for one in answers.pressures.heatings:
        # Without any vessel, or with one out of reach, another rule speaks already.
        if one.opens and one.cushions and one.relief is not None:
            yield Finding(
                "CAUTION",
                "The accumulator is too small for the water that grows in the heater: the relief "
                "valve lets out hot water at each heating.",
                one.heater,
                f"past {show(one.relief, 'pressure', answers.build.van.units)}",
                one.relief,
                source_here(answers.build, Z21_22.at("relief valves")),
                "Fit a larger vessel, and lead the relief valve's outlet where it hurts nobody.",
                "pressure",
            )


@rule
def heated_past_a_rating(answers: Answers) -> Iterator[Finding]:
    """Growth that no relief valve holds below what the weakest part is made for."""
    for one in answers.pressures.heatings:
        if one.unheld:
            yield Finding(
                "DANGER",
                "Shut in and heated, the water passes what the weakest part on the way is made "
                "for, and no relief valve stands there.",
                one.limit.part,
                f"past {show(one.limit.pressure, 'pressure', answers.build.van.units)}",
                one.limit.pressure,
                source_here(answers.build, Z21_22.at("relief valves")),
                "Fit a listed relief valve at the heater, and a vessel that takes the growth up.",
                "pressure",
            )
