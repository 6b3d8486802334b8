"""How fixtures are turned at a moment, and what that opens: links as flags, taps as positions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np

from ..network.links import Flags, Floats
from ..network.losses import OPENING_LEAST
from .van_network import BuildNetwork

SOURCES = ("pump", "shore", "gravity")
SHUT, MIXED, HOT, COLD = "shut", "mixed", "hot", "cold"
"""How a fixture is turned: "mixed" as it was set, "hot" or "cold" wholly to one supply."""
Opened: TypeAlias = Iterable[str] | Mapping[str, str]
"""The fixtures that are open, or how each is turned, by name; those not named are shut."""


def open_flags(
    made: BuildNetwork,
    opens: Sequence[Opened],
    sources: Sequence[str],
    accumulator: Any = None,
) -> dict[str, Flags]:
    """Which links are open in each situation, by name.  ValueError for an unknown name."""
    known = set(made.taps)
    unknown = sorted({n for names in opens for n in names} - known)
    if unknown:
        raise ValueError(f"no fixture {unknown[0]!r}; there are {', '.join(sorted(known))}")
    strange = sorted(set(sources) - set(SOURCES))
    if strange:
        raise ValueError(f"source must be one of {', '.join(SOURCES)}, got {strange[0]!r}")
    for names in opens:
        if isinstance(names, Mapping):
            for fixture, how in names.items():
                if how not in ways_to_turn(made, fixture):
                    raise ValueError(
                        f"{fixture!r} is turned {' or '.join(ways_to_turn(made, fixture))}, "
                        f"got {how!r}"
                    )
    flags: dict[str, Flags] = {}
    for fixture, links in made.taps.items():
        how_each = [how_turned(names, fixture) for names in opens]
        flags[links[0]] = np.array([how != SHUT for how in how_each])
        for link, other in zip(links[1:], (COLD, HOT), strict=False):
            flags[link] = np.array([how not in (SHUT, other) for how in how_each])
    pumped = np.array([s == "pump" for s in sources])
    shore = np.array([s == "shore" for s in sources])
    for pump in made.pumps:
        flags[pump], flags[f"{pump} at rest"] = pumped, ~pumped
    for inlet in made.shores:
        flags[inlet] = shore
    if accumulator is not None:
        for vessel in made.build.accumulator:
            flags[vessel.name] = np.ones(len(opens), bool)
    return flags


def ways_to_turn(made: BuildNetwork, fixture: str) -> tuple[str, ...]:
    """How a fixture that runs may be turned: a tap with two supplies wholly to one, too."""
    return (MIXED, HOT, COLD) if len(made.taps[fixture]) > 1 else (MIXED,)


def how_turned(open: Opened, fixture: str) -> str:
    """How a fixture is turned in a situation."""
    if isinstance(open, Mapping):
        return open.get(fixture, SHUT)
    return MIXED if fixture in open else SHUT


def turned(made: BuildNetwork, opens: Sequence[Opened], positions: Floats) -> Floats:
    """Positions of mixing valves and taps, (V, mixers), with some taps turned wholly to a side."""
    wholly = {HOT: 1.0 - OPENING_LEAST, COLD: OPENING_LEAST}
    if not any(isinstance(o, Mapping) and set(o.values()) & set(wholly) for o in opens):
        return positions
    found = np.array(
        np.broadcast_to(positions, (max(len(opens), len(positions)), len(made.mixers)))
    )
    for k, mixer in enumerate(made.mixers):
        if mixer in made.taps:
            for i, open in enumerate(opens):
                how = how_turned(open, mixer)
                if how in wholly:
                    found[i if len(opens) > 1 else slice(None), k] = wholly[how]
    return found
