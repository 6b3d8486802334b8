"""How fixtures are turned at a moment, and what that opens: links as flags, taps as positions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np

from ..network.links import Flags, Floats, Whole
from ..network.losses import OPENING_LEAST
from .van_network import BuildNetwork

SOURCES = ("pump", "shore", "gravity")
WAYS = SHUT, MIXED, HOT, COLD = ("shut", "mixed", "hot", "cold")
"""How a fixture is turned: "mixed" as it was set, "hot" or "cold" wholly to one supply."""
Opened: TypeAlias = Iterable[str] | Mapping[str, str]
"""The fixtures that are open, or how each is turned, by name; those not named are shut."""
COLDEST, HOTTEST = OPENING_LEAST, 1.0 - OPENING_LEAST
"""Places of a tap that is turned wholly to a side."""


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
    how = ways_turned(made, opens)
    flags: dict[str, Flags] = {}
    for k, links in enumerate(made.taps.values()):
        flags[links[0]] = how[:, k] > 0
        for link, other in zip(links[1:], (COLD, HOT), strict=False):
            flags[link] = flags[links[0]] & (how[:, k] != WAYS.index(other))
    pumped, shore = (np.array(sources) == one for one in ("pump", "shore"))
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


def ways_turned(made: BuildNetwork, opens: Sequence[Opened]) -> Whole:
    """How each fixture is turned in each situation, as its place in ``WAYS``: shape (V, fixtures).

    ValueError for a way in which a fixture can't be turned.
    """
    place = {name: k for k, name in enumerate(made.taps)}
    found = np.zeros((len(opens), len(place)), int)
    mixed: list[int] = []
    counts = np.zeros(len(opens), int)
    for i, open in enumerate(opens):
        if isinstance(open, tuple) or not isinstance(open, Mapping):
            before = len(mixed)
            mixed += [place[name] for name in open]
            counts[i] = len(mixed) - before
            continue
        for name, how in open.items():
            if how not in (ways := ways_to_turn(made, name)):
                raise ValueError(f"{name!r} is turned {' or '.join(ways)}, got {how!r}")
            found[i, place[name]] = WAYS.index(how)
    found[np.repeat(np.arange(len(opens)), counts), mixed] = WAYS.index(MIXED)
    return found


def turned(made: BuildNetwork, opens: Sequence[Opened], positions: Floats) -> Floats:
    """Positions of mixing valves and taps, (V, mixers), with some taps turned wholly to a side."""
    if not any(isinstance(o, Mapping) and {HOT, COLD} & set(o.values()) for o in opens):
        return positions
    how = ways_turned(made, opens)
    shape = (max(len(opens), len(positions)), len(made.mixers))
    found = np.array(np.broadcast_to(positions, shape))
    for k, name in enumerate(made.taps):
        if name in made.mixers:
            at = made.mixers.index(name)
            for side, place in ((HOT, HOTTEST), (COLD, COLDEST)):
                found[:, at] = np.where(how[:, k] == WAYS.index(side), place, found[:, at])
    return found
