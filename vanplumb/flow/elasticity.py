"""How much water closed runs take up per pressure: their walls swell, and water is squeezed.

The heater's own wall is left out: it is stiff beside the rest.  Where a part of a sum is not
known, the moduli of the table stand for all tubes of a material.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..formulas.pressure import tube_compliance, water_compliance
from ..formulas.tube import tube_content
from ..formulas.water import water_compressibility
from ..van.model import Build
from ..words.glossary import ICE_POINT
from ..words.tables import Row, table
from ..words.work import Work, total


@dataclass(frozen=True)
class Give:
    """What some runs and vessels hold, m³, and take up per pressure, m³/Pa, with its steps."""

    volume: float
    compliance: float
    works: tuple[Work, ...]


@dataclass(frozen=True)
class Content:
    """What some runs hold, m³: by tube, and in all with its steps."""

    by_tube: dict[str, float]
    volume: float
    works: tuple[Work, ...]


def content_of(build: Build, runs: Iterable[int]) -> Content:
    """What runs hold, by their numbers; the runs of one tube as one length."""
    lengths: dict[str, float] = {}
    for index in runs:
        run = build.run[index]
        lengths[run.tube] = lengths.get(run.tube, 0.0) + run.length
    rows = table("tubes", build.rows)
    works = [
        tube_content.work(diameter=rows[name].number("bore"), length=length)
        for name, length in lengths.items()
    ]
    by_tube = dict(zip(lengths, (work.value for work in works), strict=True))
    if len(works) > 1:
        works.append(total("volume", by_tube.items()))
    return Content(by_tube, sum(by_tube.values()), tuple(works))


def wall_of(row: Row) -> float:
    """Thickness of a tube's wall, m."""
    return row["wall"] or (row.number("od") - row.number("bore")) / 2


def modulus_of(build: Build, row: Row) -> float:
    """Elastic modulus of a tube's wall, Pa."""
    return table("give", build.rows)[row["material"]].number("modulus")


def squeeze_of_water(temperature: float) -> Work:
    """Compressibility of water at a temperature, that of ice water in a shop below freezing."""
    return water_compressibility.work(temperature=min(max(temperature, ICE_POINT), 373.15))


def tube_give(build: Build, row: Row, volume: float) -> Work:
    """What the wall of a tube that holds so much takes up.

    The bore's pressure strains a wall that is not thin, so the mean diameter is taken: with it
    the thin-wall rule is a tenth under that for thick walls, with the bore a fifth.
    """
    wall = wall_of(row)
    return tube_compliance.work(
        volume=volume,
        diameter=row.number("bore") + wall,
        thickness=wall,
        modulus=modulus_of(build, row),
    )


def give_of(
    build: Build, runs: Iterable[int], vessels: Iterable[tuple[str, float]], temperature: float
) -> Give:
    """Runs by their numbers, tube by tube, and vessels that hold water but do not give."""
    rows = table("tubes", build.rows)
    content = content_of(build, runs)
    swells = {name: tube_give(build, rows[name], v) for name, v in content.by_tube.items()}
    works = [*content.works[: len(swells)], *swells.values()]
    gives = [(name, work.value) for name, work in swells.items()]
    held = list(content.by_tube.items())
    held += vessels
    if not held:
        return Give(0.0, 0.0, ())
    whole = total("volume", held)
    squeeze = squeeze_of_water(temperature)
    water = water_compliance.work(volume=whole.value, compressibility=squeeze.value)
    every = total("compliance", [*gives, ("water", water.value)])
    return Give(whole.value, every.value, (*works, whole, squeeze, water, every))
