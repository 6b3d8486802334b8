"""Thousands of random systems: each has an answer that closes, or says why there is none.

Among them are shut taps, dead pumps, reversed check valves, level lines, equal temperatures,
drips, rings, several sources, regulators, and mixing valves that find their own position.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.cases import cases
from tests.flow.random_networks import random_network
from vanplumb.network.network import Network
from vanplumb.network.solution import Solution

NETWORKS, VARIANTS = cases(80, 400), 25


def varied(net: Network, seed: int) -> tuple[Network, dict[str, np.ndarray]]:
    """The network with other lengths, bores, pressures and temperatures, and taps at random."""
    rng = np.random.default_rng(seed)
    for link in list(net.links):
        if link.length:
            net = net.with_link(link.name, length=link.length * rng.uniform(0.3, 3.0, VARIANTS))
        if link.cracking:
            net = net.with_link(link.name, cracking=link.cracking * rng.uniform(0, 2, VARIANTS))
        if link.setting is not None:
            net = net.with_link(link.name, setting=link.setting * rng.uniform(0.5, 1.5, VARIANTS))
        if link.name == "pump":
            strength = rng.uniform(0.2, 1.2, VARIANTS)
            strength[rng.random(VARIANTS) < 0.1] = 0.0  # dead
            curve = link.curve
            net = net.with_link(
                "pump",
                curve=type(curve)(
                    flow=curve.flow, pressure=strength[:, None] * np.asarray(curve.pressure)
                ),
            )
    for node, (pressure, warm) in list(net.held.items()):
        if node == "shore":
            net.hold(node, pressure=pressure * rng.uniform(0, 1.3, VARIANTS), temperature=warm)
        elif node == "tank":
            same = rng.random() < 0.2
            net.hold(node, temperature=288.15 if same else rng.uniform(275, 300, VARIANTS))
    taps = [k.name for k in net.links if k.name.startswith("tap")]
    return net, {name: rng.random(VARIANTS) < 0.6 for name in taps}


@pytest.mark.parametrize("block", range(10))
def test_every_one_closes_or_says_why(block):
    seen = 0
    for seed in range(block * NETWORKS // 10, (block + 1) * NETWORKS // 10):
        net, open = varied(random_network(seed, warm=seed % 2 == 1), seed)
        with np.errstate(all="raise"):
            answer = net.solve(open=open)
        seen += len(answer.found)
        missing = ~answer.found
        if missing.any():
            # a heater that starts at a flow and a valve that changes it have no steady state
            assert any(k.heat is not None and k.heat.flow_least > 0 for k in net.links), seed
            assert missing.mean() < 0.5, seed
        assert np.all(answer.imbalance[answer.found] < 1e-9), seed
        losses_close(answer, seed)
        heat_closes(answer, seed)
        if seed % 40 == 0:
            check_valves_hold(answer, seed)
    assert seen == NETWORKS // 10 * VARIANTS


def losses_close(answer: Solution, seed: int) -> None:
    """Along every open link, what is lost is friction, fittings, valve and height."""
    layout = answer.layout
    mixing = {n for m in layout.net.mixers for n in (m.hot, m.cold)}
    for i, link in enumerate(layout.links):
        if link.curve is not None or link.setting is not None or link.name in mixing:
            continue
        live = answer.answers.live[:, layout.path_of[i]] & answer.found
        if not live.any():
            continue
        flow = np.atleast_1d(answer.mass_flow[link.name])
        parts = answer.link_parts(
            link,
            flow,
            np.atleast_1d(answer.density[link.name]),
            np.atleast_1d(answer.viscosity[link.name]),
        )
        across = np.atleast_1d(answer.pressure[link.start]) - np.atleast_1d(
            answer.pressure[link.end]
        )
        left = np.abs(across - sum(parts.values()))[live]
        assert np.all(left < 1e-9 * 6e5), (seed, link.name)


def heat_closes(answer: Solution, seed: int) -> None:
    """What flows into a junction has, in the mean, the temperature of the junction.

    Where water only drives itself, every line exchanges some with its neighbours, as is said.
    """
    layout = answer.layout
    heaters = set(layout.heaters.tolist())
    flow, warm = answer.answers.flow, answer.answers.warm
    most = np.maximum(np.abs(flow).max(axis=1), 1e-3)
    for n, name in enumerate(layout.free):
        heat, mass = np.zeros(len(flow)), np.zeros(len(flow))
        plain = True
        for k, path in enumerate(layout.paths):
            for node, other, sign in ((path.end, path.start, 1.0), (path.start, path.end, -1.0)):
                into = np.maximum(sign * flow[:, k], 0.0)
                into += np.where(answer.answers.live[:, k], answer.exchanged, 0.0)
                if node == name and into.any():
                    plain &= k not in heaters
                    heat += into * warm[:, layout.place[other]]
                    mass += into
        if not plain:
            continue
        runs = answer.found & (mass > 1e-4 * most)
        off = np.abs(heat - mass * warm[:, n])[runs]
        assert np.all(off < 1e-9 * (300.0 * most)[runs]), (seed, name)


def check_valves_hold(answer: Solution, seed: int) -> None:
    for link in answer.layout.links:
        if link.one_way:
            along = np.atleast_1d(answer.mass_flow[link.name]) * link.one_way
            assert np.all(along[answer.found] > -1e-9), (seed, link.name)
