"""Heights of the nodes of a van, from the rises of its runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..build.wiring import ends

if TYPE_CHECKING:
    from ..build.model import Build
    from .network import Network

AIR = "open air"
"""The node that every fixture runs out to."""


def node_heights(build: Build, net: Network) -> dict[str, Any]:
    """Height of every node above where the search began, along the rises of the runs.

    Where runs form a ring their rises should add up to nothing; if they do not, the run
    that closes the ring gets what the others leave for it, or water would run round and
    round for ever.
    """
    level: dict[str, str] = {}

    def same(node: str) -> str:
        while level.setdefault(node, node) != node:
            node = level[node]
        return node

    for link in net.links:  # the ports of one component stand at one height
        if link.end != AIR:
            level[same(link.start)] = same(link.end)
    near: dict[str, list[tuple[str, Any]]] = {}
    nodes = [str(p) for pair in ends(build) for p in pair]
    for run, (a, b) in zip(build.run, ends(build), strict=True):
        one, other, rise = same(str(a)), same(str(b)), np.asarray(run.rise, float)
        near.setdefault(one, []).append((other, rise))
        near.setdefault(other, []).append((one, -rise))
    found: dict[str, Any] = {}
    held = [same(n) for n in net.held if n != AIR]
    for first in [*(n for n in held if n in near), *near]:
        if first in found:
            continue
        found[first] = np.asarray(0.0)
        queue = [first]
        for node in queue:
            for goal, rise in near[node]:
                if goal not in found:
                    found[goal] = found[node] + rise
                    queue.append(goal)
    return {n: found[same(n)] for n in nodes}
