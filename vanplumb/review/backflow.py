"""Rules on water that runs the wrong way, by the devices that the region asks for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..van.region import NOT_KNOWN, backflow_devices, device_told, region_of
from ..words.sources import A112_1_2, PRACTICE, Source
from ..words.tables import table
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers
    from ..van.model import Build

VACUUM, DOUBLE = "vacuum breaker", "double check"


def _asked(build: Build, place: str, *, continuous: bool) -> tuple[str, Source]:
    devices = backflow_devices(build, place, continuous=continuous)
    if not devices:
        return f"a device: {NOT_KNOWN}, ask the water supplier", PRACTICE
    return "; ".join(map(device_told, devices)), devices[0].source("standard")


def air_gap(build: Build) -> str:
    """How an air gap is told in the region."""
    if region_of(build).key == "US":
        return f"an air gap of twice the hose's bore and at least 1 in ({A112_1_2})"
    return "an air gap of twice the hose's bore and at least 20 mm"


@rule
def shore_without_backflow_protection(answers: Answers) -> Iterator[Finding]:
    """A van's stale water could be drawn back into a site's drinking water."""
    build = answers.build
    for shore in build.shore_inlet:
        asked, source = _asked(build, "shore inlet", continuous=True)
        if shore.backflow == "none":
            yield Finding(
                "WARNING",
                "Nothing keeps the van's water from being drawn back into the drinking water of "
                "the site.",
                shore.name,
                "none",
                asked,
                source,
                f"Fit the device at the inlet, or fill the tank through {air_gap(build)}.",
            )
        elif shore.backflow == VACUUM:
            yield Finding(
                "CAUTION",
                "A vacuum breaker may not stand under pressure for days, and a hose at a site is "
                "left on.",
                shore.name,
                VACUUM,
                asked,
                source,
                "Fit a device that stands pressure all the time, or shut the hose off at the post "
                "after each filling.",
            )
        elif shore.backflow == DOUBLE and region_of(build).key == "EU":
            yield Finding(
                "CAUTION",
                "Two checks in series protect against water that is only stale; a van with a tank "
                "may be counted as somewhat harmful, category 3.",
                shore.name,
                DOUBLE,
                asked,
                source,
                "Ask the site or its water supplier which category it counts a van in.",
            )


@rule
def hose_outlet_unprotected(answers: Answers) -> Iterator[Finding]:
    """An outlet outside, to which someone will fit a hose that lies in a bucket."""
    build = answers.build
    kinds = table("fixtures", build.rows)
    asked, source = _asked(build, "hose outlet", continuous=False)
    for fixture in build.fixture:
        kind = kinds.get(fixture.kind)
        if kind is None or kind["sort"] != "hose" or fixture.place != "outside":
            continue
        if not fixture.backflow:
            yield Finding(
                "CAUTION",
                "A hose on this outlet can lie in dirty water and be sucked empty.",
                fixture.name,
                "hose outlet",
                asked,
                source,
                "Fit the device at the outlet.",
            )


@rule
def hand_shower_unprotected(answers: Answers) -> Iterator[Finding]:
    """A shower on a hose can hang in dirty water."""
    build = answers.build
    kinds = table("fixtures", build.rows)
    for sort, place in (("shower", "hand shower"), ("outside shower", "outside shower")):
        names = [
            f.name
            for f in build.fixture
            if not f.backflow and (k := kinds.get(f.kind)) is not None and k["sort"] == sort
        ]
        if names:
            asked, source = _asked(build, place, continuous=False)
            yield Finding(
                "CAUTION",
                "A shower on a hose can hang in dirty water and be sucked empty. A fixed head that "
                "ends above the rim needs nothing.",
                ", ".join(names),
                "the build names no device",
                asked,
                source,
                "Fit the device, or hang the hose so short that its head ends above any water; "
                "then say backflow = true for the fixture.",
            )
