"""How one zone may be set: its handle, its bend, its stub, its side, its part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from .needs import Needs, ZoneNeed
from .shapes import BENDS
from .state import Spot, ticks, up_to


@dataclass(frozen=True)
class Freedom:
    """What a search may change beside the order: handles, bends, stubs, trimmed ends."""

    turn: bool = True
    bend: bool = False
    lower: bool = False
    trim: bool = False
    order: bool = True


PLAIN = Freedom(turn=False, order=False)
HANDLES = Freedom()
BENT = Freedom(bend=True, trim=True)
LOWERED = Freedom(lower=True, trim=True)
EVERYTHING = Freedom(bend=True, lower=True, trim=True)


def settings(
    needs: Needs, spot: Spot, zone: ZoneNeed, sides: Sequence[int], freedom: Freedom
) -> list[Spot]:
    """The ways in which one zone may be set, the plainest first; pins are kept."""
    pins, catalogue = needs.pins, needs.catalogue
    handle = catalogue[spot.valve].handle
    round_or_wing = handle is None or handle.kind in ("knob", "wing")
    turns = [spot.turned]
    if freedom.turn and zone.key not in pins.turned and not round_or_wing:
        turns = [False, True]
    bends = [spot.bend]
    if freedom.bend and zone.key not in pins.bend and handle and handle.bend:
        bends = list(BENDS)
    stubs = [spot.stub]
    if freedom.lower and zone.key not in pins.stub and handle:
        stubs.append(spot.stub + up_to(ticks(0.55 * handle.length), needs.grid))
    valves = [spot.valve]
    if freedom.trim and catalogue[spot.valve].trim and zone.key not in pins.valve:
        valves.append(f"{spot.valve}, trimmed")
    side_of = [pins.side[zone.key]] if zone.key in pins.side else list(sides)
    found = [
        replace(spot, side=s, turned=t, bend=b, stub=c, valve=v)
        for v, c, b, s, t in product(valves, stubs, bends, side_of, turns)
    ]
    return sorted(found, key=lambda s: changes(s, spot))


def changes(spot: Spot, plain: Spot) -> int:
    """In how many ways a zone differs from its plain setting."""
    return (
        (spot.turned != plain.turned)
        + 2 * (spot.bend != plain.bend)
        + (spot.stub != plain.stub)
        + 3 * (spot.valve != plain.valve)
    )


def rank(zone: ZoneNeed, upright: bool) -> int:
    """Where along the row a zone belongs for its fixture's sake: -1 first, 1 last, 0 anywhere."""
    ends = {"down": -1, "up": 1} if upright else {"left": -1, "right": 1}
    return ends.get(zone.leaves, 0)


def sides_of(zone: ZoneNeed, upright: bool, allowed: tuple[int, ...]) -> tuple[int, ...]:
    """The sides on which a zone may leave; its fixture's side rules over ``allowed``."""
    ways = {"left": 1, "right": -1} if upright else {"up": 1, "down": -1}
    want = ways.get(zone.leaves)
    return allowed if want is None else (want,)
