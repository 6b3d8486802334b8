"""A build with a few things changed, to see what it does to the trip."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..van import tank_shapes
from ..van.model import Build
from ..van.parts import Tank
from .play.chance import Chance, Ranking, ranking
from .play.plant import Options
from .trip import Trip

RANKS = 32
"""Base of the ranking's sample while a worksheet waits; see ``chance.ranking``."""
GUESS = 200
"""Random trips played while a worksheet waits."""


@dataclass(frozen=True)
class WhatIf:
    """The changed trip, and its chances if they were asked for."""

    trip: Trip
    chance: Chance | None
    ranking: tuple[Ranking, ...] = ()


def fresh_volume(build: Build) -> float:
    """What all fresh tanks hold."""
    return sum(tank_shapes.volume(t) for t in build.tank if t.holds == "fresh")


def grey_volume(build: Build) -> float:
    """What all grey tanks hold."""
    return sum(tank_shapes.volume(t) for t in build.tank if t.holds == "grey")


def what_if(
    build: Build,
    *,
    people: int,
    nights: int,
    drinking: float,
    fresh: float,
    grey: float,
    thrift: float,
    return_line: bool,
    chances: bool,
    ranks: bool = False,
    seed: int = 1,
) -> WhatIf:
    """The trip with another crew and other tanks.

    ``fresh`` and ``grey`` are what all tanks of a kind hold; each tank grows in length, or a
    stated one in volume.  ``thrift`` multiplies how long every tap runs: below 1 is careful.
    ``ranks`` adds what matters most to the chances, which takes a second or two.
    ValueError where there are no people or no nights.
    """
    if people < 1 or nights < 1:
        raise ValueError("a trip needs one person and one night at least")
    tanks = tuple(
        _grown(tank, fresh / fresh_volume(build) if tank.holds == "fresh" else _share(build, grey))
        for tank in build.tank
    )
    uses = tuple(
        replace(
            use,
            duration=use.duration * thrift if use.duration is not None else None,
            volume=use.volume * thrift if use.volume is not None else None,
        )
        for use in build.use
    )
    crew = replace(build.crew, people=people, nights=nights, drinking=drinking)
    changed = replace(build, crew=crew, tank=tanks, use=uses)
    trip = Trip(changed, Options(return_line=return_line))
    if not chances:
        return WhatIf(trip, None)
    order = ranking(trip.plant, seed, base=RANKS) if ranks else ()
    return WhatIf(trip, trip.chance(GUESS, seed), order)


def _share(build: Build, grey: float) -> float:
    whole = grey_volume(build)
    return grey / whole if whole else 1.0


def _grown(tank: Tank, factor: float) -> Tank:
    """The same tank with so many times its content: longer, or wider if it stands upright."""
    if tank.shape == "stated":
        return replace(tank, volume=(tank.volume or 0.0) * factor)
    if tank.shape == "standing cylinder":
        return replace(tank, diameter=(tank.diameter or 0.0) * factor**0.5)
    step = tank.step_length * factor if tank.step_length is not None else None
    return replace(tank, length=(tank.length or 0.0) * factor, step_length=step)
