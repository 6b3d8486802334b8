"""The results that variants are compared by, and which way each is better."""

from __future__ import annotations

from dataclasses import dataclass

from ..build.model import Build
from ..trip.budget import heater_of
from ..trip.paths import ways

LESS, MORE, NEITHER = "less", "more", ""


@dataclass(frozen=True)
class Measure:
    """One result.  ``better`` is "less", "more" or "" where nobody can say.

    ``group`` says which sums give it, see ``vanplumb.explore.batch``; ``about`` where it
    comes from.
    """

    key: str
    label: str
    word: str
    better: str
    group: str
    about: str


def measures(build: Build) -> dict[str, Measure]:
    """All results that a build has, by key, in the order in which they are shown."""
    found = [
        Measure("weight", "weight when leaving", "mass", LESS, "weight",
                "with full fresh tanks and empty grey ones"),
        Measure("nights", "nights of water", "count", MORE, "water",
                "until only the reserve is left"),
    ]  # fmt: skip
    if build.van.payload:
        about = "of what the van may still carry"
        found.insert(1, Measure("share", "share of payload", "share", LESS, "weight", about))
    heater = heater_of(build)
    reached = ways(build, heater) if heater is not None else {}
    if heater is not None:
        found += [
            Measure("heating", "time to heat", "duration", LESS, "heater",
                    "one filling, by its first source of heat"),
            Measure("mixed", "warm water at a time", "volume", MORE, "heater",
                    "from one filling, mixed to what is wanted"),
        ]  # fmt: skip
        found += [
            Measure(f"wait {name}", f"wait at {name}", "duration", LESS, "wait",
                    "for hot water after the runs have gone cold")
            for name in (f.name for f in build.fixture) if name in reached
        ]  # fmt: skip
    for one in (f.name for f in build.fixture):
        group = f"flow {one}"
        alone = "open alone"
        found += [
            Measure(f"flow {one}", f"flow at {one}", "flow", MORE, group, alone),
            Measure(f"pressure {one}", f"pressure at {one}", "pressure", MORE, group, alone),
            Measure(f"temperature {one}", f"temperature at {one}", "temperature", NEITHER, group,
                    alone),
        ]  # fmt: skip
    found.append(
        Measure("energy", "electric energy a day", "energy", LESS, "energy",
                "pump, heater and all that is not water")
    )  # fmt: skip
    if heater is not None and heater.burner_power > 0:
        found.append(Measure("fuel", "fuel a day", "mass", LESS, "energy", "for the heater"))
    if priced(build):
        about = "pump and tube by length, of what the build file prices"
        found.append(Measure("cost", "cost of pump and tube", "price", LESS, "cost", about))
    return {one.key: one for one in found}


def priced(build: Build) -> dict[str, float]:
    """Prices that the build file states, by the name of pump row or tube."""
    rows = build.rows.get("board_parts", {})
    return {name: float(row["price"]) for name, row in rows.items() if row.get("price")}
