"""Where the water at a fixture comes from, as the network has it: which tank, heater and pump.

Water keeps its origin along a line and mixes where lines meet, by what flows in each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..network.links import Floats
from ..network.solution import Solution
from .moment import NOTHING, LinkState, Moment
from .van_network import BuildNetwork

SWEEPS = 200
"""Rounds after which water that runs in a ring has the mean of what comes into the ring."""
CLOSE = 1e-9


@dataclass(frozen=True)
class Origin:
    """One way that water came: its tank or shore inlet, the last heater that it passed, if any,
    and the pumps that lifted it."""

    source: str
    heater: str = ""
    pumps: frozenset[str] = frozenset()


Shares = dict[Origin, float]


def origins(made: BuildNetwork, moment: Moment, fixture: str) -> Shares:
    """The part of a fixture's water that came each way; nothing where none flows."""
    outlet = moment.links[fixture]
    if outlet.flow <= NOTHING:
        return {}
    into: dict[str, list[tuple[str, LinkState]]] = {}
    for link in moment.links.values():
        if abs(link.flow) > NOTHING:
            start, end = (link.start, link.end) if link.flow > 0 else (link.end, link.start)
            into.setdefault(end, []).append((start, link))
    known = {f"{tank.name}.outlet": {Origin(tank.name): 1.0} for tank in made.tanks}
    known |= {f"{shore}.hose": {Origin(shore): 1.0} for shore in made.shores}
    order, seen = [], set(known)
    todo = [(outlet.start, False)]
    while todo:  # whatever feeds a node stands before it, but for rings
        node, left = todo.pop()
        if left:
            order.append(node)
        elif node not in seen:
            seen.add(node)
            todo.append((node, True))
            todo += [(start, False) for start, _ in into.get(node, ()) if start not in seen]
    for _ in range(SWEEPS):
        moved = 0.0
        for node in order:
            found = _mixed([(known.get(start, {}), link) for start, link in into.get(node, ())])
            old = known.get(node, {})
            moved = max([moved, *(abs(found[k] - old.get(k, 0.0)) for k in found)])
            known[node] = found
        if moved < CLOSE:
            break
    return known.get(outlet.start, {})


def _mixed(parts: list[tuple[Shares, LinkState]]) -> Shares:
    found: Shares = {}
    whole = 0.0
    for shares, link in parts:
        for origin, share in shares.items():
            now = origin
            if link.kind == "heater":
                now = replace(origin, heater=link.name)
            elif link.kind == "pump":
                now = replace(origin, pumps=origin.pumps | {link.name})
            found[now] = found.get(now, 0.0) + share * abs(link.mass_flow)
            whole += share * abs(link.mass_flow)
    return {origin: share / whole for origin, share in found.items()} if whole > 0 else {}


def heater_parts(made: BuildNetwork, solution: Solution, fixture: str) -> dict[str, Floats]:
    """The part of a fixture's heated water that came last through each heater, in every variant.

    Each of shape (variants,), NaN where no heated water comes; what ``by_heater`` says of one.
    """
    _, heaters, parts = _parts_of(made, solution, fixture)
    given = _of_whole(parts.sum(axis=1)[:, 1:])
    return {name: given[:, n] for n, name in enumerate(heaters)}


def source_parts(
    made: BuildNetwork, solution: Solution, fixture: str, *, hot: bool
) -> dict[str, Floats]:
    """The part of each tank and shore inlet in a fixture's heated water, or in that which no
    heater warmed, in every variant: shape (variants,), NaN where none comes."""
    sources, _, parts = _parts_of(made, solution, fixture)
    given = _of_whole(parts[:, :, 1:].sum(axis=2) if hot else parts[:, :, 0])
    return {name: given[:, n] for n, name in enumerate(sources)}


def _of_whole(parts: Floats) -> Floats:
    whole = parts.sum(axis=1, keepdims=True)
    return np.where(whole > 0, parts / np.where(whole > 0, whole, 1.0), np.nan)


def _parts_of(
    made: BuildNetwork, solution: Solution, fixture: str
) -> tuple[list[str], list[str], Floats]:
    """Sources, heaters, and the part of a fixture's water by both, shape (variants, sources,
    1 + heaters): the first for water that no heater warmed.  ``origins`` says it of one moment."""
    links = solution.layout.links
    heaters = [link.name for link in links if link.kind == "heater"]
    sources = {f"{tank.name}.outlet": tank.name for tank in made.tanks}
    sources |= {f"{shore}.hose": shore for shore in made.shores}
    flows = {k.name: np.atleast_1d(solution.mass_flow[k.name]) for k in links}
    count = max(len(flow) for flow in flows.values())
    none = np.zeros((count, len(sources), 1 + len(heaters)))
    known = {node: none for link in links for node in (link.start, link.end)}
    for n, node in enumerate(sources):
        if node in known:
            known[node] = none.copy()
            known[node][:, n, 0] = 1.0
    into: dict[str, list[tuple[str, Floats, int]]] = {}
    for link in links:
        at = 1 + heaters.index(link.name) if link.kind == "heater" else 0
        for start, end, way in ((link.start, link.end, 1.0), (link.end, link.start, -1.0)):
            mass = way * np.broadcast_to(flows[link.name], (count,))
            runs = way * np.atleast_1d(solution.flow[link.name]) > NOTHING
            passed = np.where(runs, mass, 0.0)
            if end not in made.net.held and passed.any():
                into.setdefault(end, []).append((start, passed, at))
    for _ in range(SWEEPS):
        moved = 0.0
        for node, coming in into.items():
            whole = sum((flow for _, flow, _ in coming), np.zeros(count))
            found = none.copy()
            for start, flow, at in coming:
                share = (flow / np.where(whole > 0, whole, 1.0))[:, None]
                if at:
                    found[:, :, at] += share * known[start].sum(axis=2)
                else:
                    found += share[:, :, None] * known[start]
            moved = max(moved, float(np.abs(found - known[node]).max(initial=0.0)))
            known[node] = found
        if moved < CLOSE:
            break
    runs = np.atleast_1d(solution.flow[fixture]) > NOTHING
    return (
        list(sources.values()),
        heaters,
        known[made.net.link(fixture).start] * runs[:, None, None],
    )


def by_heater(shares: Shares) -> dict[str, float]:
    """Of the water that a heater warmed, the part that came last through each."""
    return _parts([(one.heater, share) for one, share in shares.items() if one.heater])


def by_source(shares: Shares, *, hot: bool) -> dict[str, float]:
    """Of the water that a heater warmed, or of that which none did, the part of each source."""
    return _parts([(one.source, share) for one, share in shares.items() if bool(one.heater) == hot])


def _parts(shares: list[tuple[str, float]]) -> dict[str, float]:
    whole = sum(share for _, share in shares)
    found: dict[str, float] = {}
    for name, share in shares:
        found[name] = found.get(name, 0.0) + share / whole
    return found
