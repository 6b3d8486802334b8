"""The moments that are worth a look: all shut, each alone, each pair, all, and the build's own."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from .moment import Moment

if TYPE_CHECKING:
    from .engine import Flow

PAIRS_MOST = 45
"""With more pairs than this (ten fixtures) only the build's own situations look at several."""


def wanted(flow: Flow) -> list[tuple[str, tuple[str, ...], str]]:
    """Name, open fixtures and source of each situation, each set of fixtures once for a source."""
    fixtures, usual = flow.fixtures, flow.source
    listed: list[tuple[str, tuple[str, ...], str]] = [
        (s.name, tuple(s.open), usual) for s in flow.build.situation
    ]
    listed.append(("all shut", (), usual))
    listed += [(f"{f} alone", (f,), usual) for f in fixtures]
    pairs = list(combinations(fixtures, 2))
    if len(pairs) <= PAIRS_MOST:
        listed += [(f"{a} and {b}", (a, b), usual) for a, b in pairs]
    listed.append(("everything open", fixtures, usual))
    if flow.made.shores and usual != "shore":
        listed.append(("all shut, on shore", (), "shore"))
        listed += [(f"{f} alone, on shore", (f,), "shore") for f in fixtures]
        listed.append(("everything open, on shore", fixtures, "shore"))
    seen: dict[tuple[frozenset[str], str], tuple[str, tuple[str, ...], str]] = {}
    for one in listed:
        seen.setdefault((frozenset(one[1]), one[2]), one)
    return list(seen.values())


def situations(flow: Flow) -> tuple[Moment, ...]:
    """All of them, solved in one batch."""
    listed = wanted(flow)
    batch = flow.batch([open for _, open, _ in listed], [source for *_, source in listed])
    return tuple(batch.moment(i, name) for i, (name, _, _) in enumerate(listed))
