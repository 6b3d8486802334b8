"""Random networks: agreement with an independent solver, and an answer for every one of them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flow.random_networks import Oracle, random_network
from vanplumb.formulas.water import water_density, water_viscosity

WARM = 60


@pytest.mark.parametrize("block", range(10))
def test_agrees_with_an_independent_formulation(block):
    """200 networks against ``scipy.optimize.root`` on flows, pressures and complementarity."""
    compared = 0
    for seed in range(block * 20, block * 20 + 20):
        net = random_network(10_000 + seed, plain=True, warm=seed % 10 < 3)
        with np.errstate(all="raise"):
            answer = net.solve()
        assert answer.found.all()
        if seed % 10 < 3:
            compared += agrees_warm(net, answer, seed)
        else:
            names = [k.name for k in net.links]
            oracle = Oracle(
                net, dict.fromkeys(names, net.density), dict.fromkeys(names, net.viscosity)
            )
            flows = oracle.solve(answer.mass_flow, answer.pressure, np.random.default_rng(seed))
            assert flows is not None, f"the oracle finds nothing for seed {seed}"
            compare(flows, answer.mass_flow)
            compared += 1
    assert compared == 20


def compare(flows, found, near=2e-7):
    """Within 2e-7 kg/s: the oracle's own residual over the flattest slope at work."""
    for name, flow in flows.items():
        assert found[name] == pytest.approx(flow, rel=2e-6, abs=near), name


def agrees_warm(net, answer, seed) -> int:
    """The oracle's own fixed point of flows and temperatures, from its own mixing of water."""
    names = [k.name for k in net.links]
    positions = [answer.position[m.hot] for m in net.mixers]
    density = {n: answer.density[n] for n in names}
    viscosity = {n: answer.viscosity[n] for n in names}
    oracle = Oracle(net, density, viscosity, positions)
    flows = oracle.solve(answer.mass_flow, answer.pressure, np.random.default_rng(seed))
    assert flows is not None, f"the oracle finds nothing for seed {seed}"
    compare(flows, answer.mass_flow)
    warm = oracle.temperatures(net, flows)
    for link in net.links:
        flow = flows[link.name]
        if abs(flow) < 1e-5:
            continue
        source = warm[link.start if flow > 0 else link.end]
        assert density[link.name] == pytest.approx(float(water_density.si(source)), rel=1e-6)
        assert viscosity[link.name] == pytest.approx(float(water_viscosity.si(source)), rel=1e-5)
        node = link.end if flow > 0 else link.start
        if node not in net.held:
            assert answer.temperature[node] == pytest.approx(warm[node], abs=2e-3)
    for mixer in net.mixers:
        hot, cold = flows[mixer.hot], flows[mixer.cold]
        position = answer.position[mixer.hot]
        if mixer.thermostatic and 0.001 < position < 0.999 and hot > 1e-5 and cold > 1e-5:
            assert warm["mixed"] == pytest.approx(mixer.setting, abs=2e-3)
    return 1
