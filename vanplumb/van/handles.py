"""What is written on each handle that a person turns: one name for labels, drawings and papers.

A zone's shut-off has its side and its number along the manifold ("C2" on the cold one), any other
shut-off valve a letter of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from typing import TYPE_CHECKING

from ..words.show import together
from .trace import served, tanks_upstream
from .wiring import sides, tank_words

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
    """What is on every handle: zones by "manifold.zone", other valves by their name.

    Other valves are the shut-offs, the selectors of a tank and the drain valves that somebody
    opens.
    """
    free = _letters()
    by_hand = [d.name for d in build.drain_valve if d.kind == "by hand"]
    others = [valve.name for valve in (*build.shut_off, *build.tank_selector)] + by_hand
    return {**zone_codes(build), **{name: next(free) for name in others}}


def what_it_does(build: Build, handle: str) -> str:
    """What a handle shuts, or lets out, in words: "shuts hot water to shower".

    ``handle`` is a key of ``handle_letters``.  KeyError for an unknown one.
    """
    if handle not in handle_letters(build):
        raise KeyError(handle)
    if handle in {d.name for d in build.drain_valve}:
        return "lets the water out: shut in use"
    if handle in {s.name for s in build.tank_selector}:
        return f"chooses the tank: {' or '.join(selected_tanks(build, handle).values())}"
    manifold, _, zone = handle.partition(".")
    leaving = [
        end.component
        for start, end in build.run_ends
        if start.component == manifold and zone in ("", start.port)
    ]
    side = sides(build).get(handle if zone else f"{handle}.outlet", "cold")
    near = _behind_tees(build, leaving)
    outlets = {f.name for f in build.fixture}
    if near and all(name in outlets or _is_device(build, name) for name in near):
        return f"shuts {side} water to {together(near)}"
    if (tank := own_tank(build, handle)) is not None:
        return f"shuts the water from the {tank_words(tank)}"
    fed = [f for n in near for f in ((n,) if n in outlets else served(build, n))]
    if not fed:
        return f"shuts {side} water" if near else "spare: leads nowhere yet"
    whom = "every outlet" if set(fed) == outlets and len(outlets) > 1 else ""
    return f"shuts {side} water to {whom or together(list(dict.fromkeys(fed)))}"


def selected_tanks(build: Build, selector: str) -> Mapping[str, str]:
    """What a tank selector draws from, by its inlets: the tanks behind each, in words."""
    names = {t.name for t in build.tank if t.holds == "fresh"}
    found = {}
    for start, end in build.run_ends:
        if end.component == selector:
            behind = ({start.component} | tanks_upstream(build, start.component)) & names
            found[end.port] = together(sorted(map(tank_words, behind))) or start.component
    return dict(sorted(found.items()))


def own_tank(build: Build, valve: str) -> str | None:
    """The one of several fresh tanks that a shut-off valve parts from the rest."""
    fresh = {t.name for t in build.tank if t.holds == "fresh"}
    if len(fresh) < 2 or valve not in {v.name for v in build.shut_off}:
        return None
    behind = tanks_upstream(build, valve) & fresh
    return behind.pop() if len(behind) == 1 else None


def _behind_tees(build: Build, leaving: Iterable[str]) -> list[str]:
    """What water comes to first, past tees and by no drain, each once."""
    tees, drains = {t.name for t in build.tee}, {d.name for d in build.drain_valve}
    found, seen, todo = [], set(), list(leaving)
    while todo:
        here = todo.pop(0)
        if here in seen or here in drains:
            continue
        seen.add(here)
        if here in tees:
            todo += [end.component for start, end in build.run_ends if start.component == here]
        else:
            found.append(here)
    return found


def _is_device(build: Build, name: str) -> bool:
    return name in {d.name for d in (*build.heater, *build.mixing_valve)}


def _letters() -> Iterator[str]:
    """A, B, D and so on, then A1, B1, D1."""
    for more in count():
        yield from (f"{letter}{more or ''}" for letter in _FREE)
