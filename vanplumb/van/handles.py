"""What is written on each handle that a person turns: one name for labels, drawings and papers.

A zone's shut-off has its side and its number along the manifold ("C2" on the cold one), any other
shut-off valve a letter of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import count
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .model import Build

SIDES = {"cold": "C", "hot": "H", "mixed": "M"}
"""The letter of a manifold's side; a second manifold of a side is Ca, a third Cb."""
_FREE = "".join(c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if c not in "CHMIO")
"""Letters of other shut-offs: none of a side, and none that is read as a figure."""


def manifold_letters(build: Build) -> Mapping[str, str]:
    """The letter of each manifold, by its name."""
    taken: dict[str, int] = {}
    found = {}
    for manifold in build.manifold:
        letter = SIDES[manifold.side]
        taken[letter] = taken.get(letter, 0) + 1
        more = taken[letter] - 2
        found[manifold.name] = letter + (chr(ord("a") + more) if more >= 0 else "")
    return found


def zone_codes(build: Build) -> Mapping[str, str]:
    """The code of each zone's shut-off, by "manifold.zone"."""
    letters = manifold_letters(build)
    return {
        f"{manifold.name}.{zone.name}": f"{letters[manifold.name]}{number}"
        for manifold in build.manifold
        for number, zone in enumerate(build.zones(manifold.name), 1)
    }


def handle_letters(build: Build) -> Mapping[str, str]:
    """What is on every handle: zones by "manifold.zone", other shut-off valves by their name."""
    free = _letters()
    return {**zone_codes(build), **{valve.name: next(free) for valve in build.shut_off}}


def _letters() -> Iterator[str]:
    """A, B, D and so on, then A1, B1, D1."""
    for more in count():
        yield from (f"{letter}{more or ''}" for letter in _FREE)
