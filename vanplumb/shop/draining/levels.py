"""How high water stays in pipes that are let run out: pockets, and the fewest drains.

Pipes are spots at a height and straight passages between them, full of water.  Mouths are spots
that are open to the air.  Water moves as it does by its weight alone, slowly and with no pull of
a siphon: it leaves a spot if some way to a mouth never rises above its own height.  Air is taken
to get in everywhere.  So the level that stays at a spot is the least, over all ways to a mouth,
of the highest point of the way; a check valve lets water pass one way, and its spring keeps a
column before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf

from ...words.brief import brief

LEVEL = 1e-6
"""m: spots that differ by less stand level."""


@dataclass(frozen=True)
class Passage:
    """A straight way for water between two spots.

    ``volume`` is what it holds, m³, evenly along its height.  ``one_way``: water and air pass
    from start to end only, once the water before it stands ``column`` m above it.  ``why`` is
    what stands in the way there; ``label`` names it; ``on_board`` tells where it lies.
    """

    start: str
    end: str
    volume: float = 0.0
    label: str = ""
    one_way: bool = False
    column: float = 0.0
    why: str = ""
    on_board: bool = False


@brief
@dataclass(frozen=True)
class Pocket:
    """Water that stays.  ``lowest`` is the spot at its bottom, ``level`` m how high it stands.

    ``level`` is infinite where no way leads out at all.  ``parts`` are what holds it, as
    (label, m³); ``bottoms`` the spots that need a drain each for all of it to run out, lowest
    first.  ``blocked`` names the check valves and the like that keep it.
    """

    lowest: str
    height: float
    level: float
    volume: float
    parts: tuple[tuple[str, float], ...]
    bottoms: tuple[str, ...]
    blocked: tuple[str, ...]
    on_board: float
    spots: frozenset[str]


def levels(
    heights: Mapping[str, float], passages: Sequence[Passage], mouths: Iterable[str]
) -> dict[str, float]:
    """Height up to which water stays at each spot, m; infinite where none can leave."""
    found = dict.fromkeys(heights, inf)
    into: dict[str, list[tuple[str, float]]] = {spot: [] for spot in heights}
    for one in passages:
        into[one.end].append((one.start, one.column if one.one_way else 0.0))
        if not one.one_way:
            into[one.start].append((one.end, 0.0))
    queue: list[tuple[float, str]] = []
    for mouth in mouths:
        found[mouth] = heights[mouth]
        heappush(queue, (heights[mouth], mouth))
    while queue:
        level, spot = heappop(queue)
        if level > found[spot]:
            continue
        for before, column in into[spot]:
            stays = max(level, heights[before]) + column
            if stays < found[before]:
                found[before] = stays
                heappush(queue, (stays, before))
    return found


def held(one: Passage, heights: Mapping[str, float], level: Mapping[str, float]) -> float:
    """Share of a passage that stays full."""
    low, high = sorted((heights[one.start], heights[one.end]))
    up_to = min(level[one.start], level[one.end])
    if high - low <= LEVEL:
        return float(up_to > high + LEVEL)
    return min(max((up_to - low) / (high - low), 0.0), 1.0)


def bottoms(
    heights: Mapping[str, float], passages: Sequence[Passage], mouths: Iterable[str]
) -> tuple[tuple[str, ...], ...]:
    """The fewest places of drains that would leave no water anywhere.

    Each is a set of spots that stand level: a drain at any one of them will do.  From each of
    them no way leads down to a mouth, so each needs one of its own; and with one in each, every
    drop has a way that falls.
    """
    down: dict[str, list[str]] = {spot: [] for spot in heights}
    for one in passages:
        if one.one_way:
            if one.column <= 0 and heights[one.end] <= heights[one.start] + LEVEL:
                down[one.start].append(one.end)
            continue
        for a, b in ((one.start, one.end), (one.end, one.start)):
            if heights[b] <= heights[a] + LEVEL:
                down[a].append(b)
    open_ = set(mouths)
    groups = _groups(down)
    of = {spot: number for number, group in enumerate(groups) for spot in group}
    found = []
    for number, group in enumerate(groups):
        leads_on = any(of[b] != number for a in group for b in down[a])
        if not leads_on and not open_ & set(group):
            found.append(tuple(sorted(group, key=lambda s: (heights[s], s))))
    return tuple(sorted(found, key=lambda group: (heights[group[0]], group[0])))


def _groups(down: Mapping[str, list[str]]) -> list[list[str]]:
    """Spots that lead round to each other, by Tarjan's way without recursion."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    groups: list[list[str]] = []
    for root in down:
        if root in number:
            continue
        number[root] = low[root] = len(number)
        stack.append(root)
        on_stack.add(root)
        todo = [(root, iter(down[root]))]
        while todo:
            spot, ahead = todo[-1]
            other = next(ahead, None)
            if other is None:
                todo.pop()
                if todo:
                    low[todo[-1][0]] = min(low[todo[-1][0]], low[spot])
                if low[spot] == number[spot]:
                    at = stack.index(spot)
                    groups.append(stack[at:])
                    on_stack.difference_update(stack[at:])
                    del stack[at:]
            elif other not in number:
                number[other] = low[other] = len(number)
                stack.append(other)
                on_stack.add(other)
                todo.append((other, iter(down[other])))
            elif other in on_stack:
                low[spot] = min(low[spot], number[other])
    return groups


def pockets(
    heights: Mapping[str, float], passages: Sequence[Passage], mouths: Iterable[str]
) -> tuple[Pocket, ...]:
    """Every pocket of water that stays, the largest first; spots that hold nothing left out."""
    open_ = tuple(mouths)
    level = levels(heights, passages, open_)
    wet = {spot for spot in heights if level[spot] > heights[spot] + LEVEL}
    root = {spot: spot for spot in wet}

    def find(spot: str) -> str:
        while root[spot] != spot:
            root[spot] = root[root[spot]]
            spot = root[spot]
        return spot

    kept: list[tuple[Passage, float]] = []
    for one in passages:
        share = held(one, heights, level)
        if not one.one_way and one.start in wet and one.end in wet:
            root[find(one.start)] = find(one.end)
        # Water no deeper than a level can be told stands in no spot, and counts as a film.
        if share > 0 and one.volume > 0 and (one.start in wet or one.end in wet):
            kept.append((one, one.volume * share))
    members: dict[str, set[str]] = {}
    for spot in wet:
        members.setdefault(find(spot), set()).add(spot)
    parts: dict[str, dict[str, float]] = {name: {} for name in members}
    on_board = dict.fromkeys(members, 0.0)
    for one, volume in kept:
        lower = min((s for s in (one.start, one.end) if s in wet), key=lambda s: heights[s])
        name = find(lower)
        parts[name][one.label] = parts[name].get(one.label, 0.0) + volume
        on_board[name] += volume if one.on_board else 0.0
    sinks = bottoms(heights, passages, open_)
    found = []
    for name, spots in members.items():
        volume = sum(parts[name].values())
        if volume <= 0:
            continue
        own = tuple(group[0] for group in sinks if group[0] in spots)
        blocked = {
            one.why
            for one in passages
            if one.one_way and one.why and (one.end in spots or one.start in spots)
        }
        lowest = min(spots, key=lambda s: (heights[s], s))
        found.append(
            Pocket(
                lowest, heights[lowest], max(level[s] for s in spots), volume,
                tuple(sorted(parts[name].items(), key=lambda p: -p[1])), own or (lowest,),
                tuple(sorted(blocked)), on_board[name], frozenset(spots),
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda pocket: (-pocket.volume, pocket.lowest)))
