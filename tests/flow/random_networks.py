"""Random networks with everything in them, and an independent way to solve them.

The independent way knows nothing of paths, junctions or states: its unknowns are every
link's flow and every node's pressure, check valves and regulators stand in it as
complementarity functions, and ``scipy.optimize.root`` does the work.  Friction comes from
``fluids``.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from vanplumb.network.network import Curve, Heat, Link, Mixer, Network

BORES = (0.008, 0.0121, 0.0146, 0.017)


def random_network(seed: int, *, warm: bool = False, plain: bool = False) -> Network:
    """A network like a van's or stranger: rings, several sources, valves of all kinds.

    ``plain`` leaves out what a smooth oracle can't follow: shut links and dead parts.
    ``warm`` adds a heater and a mixing valve, and lets water's properties vary.
    """
    rng = np.random.default_rng(seed)
    fixed: dict[str, Any] = {} if warm else {"density": 998.2, "viscosity": 1.0e-3}
    net = Network(temperature=288.15, **fixed)
    nodes = [f"n{i}" for i in range(int(rng.integers(3, 10)))]

    def tube(name: str, start: str, end: str, **more: Any) -> None:
        net.add(
            Link(
                name=name,
                start=start,
                end=end,
                length=float(rng.uniform(0.2, 6.0)),
                diameter=float(rng.choice(BORES)),
                roughness=float(rng.choice([0.0, 1.5e-6, 1e-4])),
                loss=float(rng.uniform(0, 6)),
                rise=0.0 if end not in heights else heights[end] - heights[start],
                **more,
            )
        )

    zero = rng.random() < 0.2
    heights = {n: 0.0 if zero else float(rng.uniform(-1.0, 1.0)) for n in [*nodes, "air", "tank"]}
    net.hold("air")
    net.hold("tank", pressure=0.0, temperature=285.0)
    points = np.array([0.0, 3e-5, 8e-5, 1.3e-4, 1.9e-4]) * rng.uniform(0.7, 1.4)
    gives = np.array([5.0e5, 4.2e5, 2.9e5, 1.4e5, 0.0]) * rng.uniform(0.5, 1.2)
    if not plain and rng.random() < 0.15:
        gives = gives * 0.0  # a dead pump
    net.add(
        Link(
            name="pump",
            start="tank",
            end=nodes[0],
            curve=Curve(flow=points, pressure=gives),
            one_way=1,
            kv=5e-4,
        )
    )
    for i, node in enumerate(nodes[1:], 1):
        before = nodes[int(rng.integers(0, i))]
        if rng.random() < 0.5:
            before, node = node, before
        tube(f"t{i}", before, node)
    for k in range(int(rng.integers(0, 4))):
        a, b = rng.choice(len(nodes), 2, replace=False)
        more: dict[str, Any] = {}
        if rng.random() < 0.4:
            more = {"one_way": int(rng.choice([1, -1])), "cracking": float(rng.uniform(0, 5e3))}
        tube(f"loop{k}", nodes[int(a)], nodes[int(b)], **more)
    if rng.random() < 0.4:
        net.hold("shore", pressure=float(rng.uniform(1e5, 5e5)), temperature=283.0)
        setting = float(rng.uniform(0.8e5, 3e5))
        net.add(
            Link(
                name="regulator",
                start="shore",
                end=nodes[int(rng.integers(1, len(nodes)))],
                kv=4e-4,
                one_way=1,
                setting=setting,
            )
        )
    if warm:
        least = 0.0 if plain else 2e-5
        ahead = nodes[int(rng.integers(0, len(nodes)))]
        heights["hot"] = heights[ahead]
        net.add(
            Link(
                name="heater",
                start=ahead,
                end="hot",
                kv=4e-4,
                heat=Heat(setpoint=333.15)
                if rng.random() < 0.6
                else Heat(setpoint=323.15, power=float(rng.uniform(2e3, 3e4)), flow_least=least),
            )
        )
        heights["mixed"] = heights[ahead]
        net.add(Link(name="hot way", start="hot", end="mixed", kv=4e-4, one_way=1))
        net.add(Link(name="cold way", start=ahead, end="mixed", kv=4e-4, one_way=1))
        net.mix(
            Mixer(
                hot="hot way",
                cold="cold way",
                position=float(rng.uniform(0.2, 0.8)),
                setting=311.15,
                thermostatic=bool(rng.random() < 0.5),
            )
        )
        nodes.append("mixed")
    taps = rng.choice(nodes, min(len(nodes), int(rng.integers(1, 6))), replace=False)
    if warm and "mixed" not in taps:
        taps = np.append(taps, "mixed")
    for node in taps:
        tube(f"to {node}", str(node), f"at {node}")
        rated = float(rng.uniform(4e-5, 1.2e-4)) * (1e-2 if rng.random() < 0.1 else 1.0)
        kv = rated / math.sqrt(float(rng.choice([0.5, 1.38, 3.0])))
        limit = rated if rng.random() < 0.25 else np.inf
        shut = not plain and rng.random() < 0.35
        net.add(
            Link(
                name=f"tap {node}",
                start=f"at {node}",
                end="air",
                kv=kv,
                flow_limit=limit,
                open=not shut,
            )
        )
    return net


def friction(reynolds: float, wall: float) -> float:
    """Darcy's factor, bridged between Re 2000 and 4000 as the project says it does."""
    from fluids.friction import Colebrook

    if reynolds <= 2000:
        return 64 / reynolds
    rough = float(Colebrook(reynolds, wall))
    if reynolds >= 4000:
        return rough
    way = math.log(reynolds / 2000) / math.log(2)
    share = way**2 * (3 - 2 * way)
    return (1 - share) * 64 / reynolds + share * rough


def link_loss(link: Link, flow: float, density: float, viscosity: float) -> float:
    """Loss of one link at a mass flow, written anew; without its state."""
    volume = flow / density
    area = math.pi / 4 * float(link.diameter) ** 2
    speed = volume / area
    lost = density * 9.80665 * float(link.rise) + float(link.linear) * flow
    if float(link.length) > 0 and abs(flow) > 1e-14:
        reynolds = density * abs(speed) * float(link.diameter) / viscosity
        factor = friction(reynolds, float(link.roughness) / float(link.diameter))
        lost += factor * link.length / link.diameter * density * speed * abs(speed) / 2
    lost += float(link.loss) * density * speed * abs(speed) / 2
    if math.isfinite(float(link.kv)):
        lost += 1e5 * density / 1000 * volume * abs(volume) / float(link.kv) ** 2
    if math.isfinite(float(link.flow_limit)) and abs(volume) > link.flow_limit:
        lost += math.copysign(1e8 * (abs(volume) / link.flow_limit - 1), volume)
    if link.curve is not None:
        q, p = np.asarray(link.curve.flow), np.asarray(link.curve.pressure)
        if volume > q[-1]:
            gives = p[-1] + (p[-1] - p[-2]) / (q[-1] - q[-2]) * (volume - q[-1])
        else:
            gives = float(np.interp(volume, q, p))
        lost -= gives
    return lost + float(link.cracking) * (1 if link.one_way == 1 else -1 if link.one_way else 0)


class Oracle:
    """All flows and all pressures by ``scipy.optimize.root``, for given water properties."""

    def __init__(
        self, net: Network, density: Any, viscosity: Any, positions: Any = (), ratios: Any = ()
    ) -> None:
        self.links = [k for k in net.links if bool(k.open)]
        self.held = {n: float(p) for n, (p, _) in net.held.items()}
        self.nodes = [
            n
            for n in dict.fromkeys(x for k in self.links for x in (k.start, k.end))
            if n not in self.held
        ]
        self.place = {n: i for i, n in enumerate(self.nodes)}
        self.density, self.viscosity = density, viscosity
        self.shares: dict[str, float] = {}
        for mixer, position in zip(net.mixers, positions, strict=True):
            self.shares[mixer.hot] = float(position)
            self.shares[mixer.cold] = 1 - float(position)
        self.ratios = dict(ratios)

    def residual(self, x: Any) -> Any:
        count = len(self.links)
        flows, pressures = x[:count] * 0.05, x[count:] * 1e5
        out = np.zeros(len(x))

        def at(node: str) -> float:
            return self.held[node] if node in self.held else float(pressures[self.place[node]])

        for i, link in enumerate(self.links):
            flow = float(flows[i])
            lost = link_loss(link, flow, self.density[link.name], self.viscosity[link.name])
            share = self.shares.get(link.name)
            if share is not None:
                plain = link_loss(link, 0.0, self.density[link.name], self.viscosity[link.name])
                lost = plain + (lost - plain) / share**2
            gap = (at(link.start) - at(link.end) - lost) / 1e5
            if link.setting is not None:
                # flow at least 0, outlet at most the setting, valve at least wide open
                outlet = (float(link.setting) - 1e3 * flow - at(link.end)) / 1e5
                gap = min(gap, outlet)
            if link.one_way:
                along = float(x[i]) * link.one_way
                slack = -gap * link.one_way
                gap = min(along, slack)
            out[i] = gap
            for node, sign in ((link.start, 1.0), (link.end, -1.0)):
                if node not in self.held:
                    out[count + self.place[node]] += sign * flow / 0.05
        return out

    def solve(self, guess_flow: Any, guess_pressure: Any, rng: Any) -> dict[str, float] | None:
        """Mass flows by link, or None if the root finder gives up on every start."""
        from scipy.optimize import root

        base = np.array(
            [guess_flow[k.name] / 0.05 for k in self.links]
            + [guess_pressure[n] / 1e5 for n in self.nodes]
        )
        for spread in (0.3, 0.1, 0.03, 0.01):
            for method in ("hybr", "lm"):
                start = base * (1 + spread * rng.standard_normal(len(base)))
                found = root(self.residual, start, method=method, options={"xtol": 1e-13})
                if np.max(np.abs(found.fun)) < 1e-8:
                    return {
                        k.name: float(v) * 0.05 for k, v in zip(self.links, found.x, strict=False)
                    }
        return None

    def temperatures(self, net: Network, flow: dict[str, float]) -> dict[str, float]:
        """Node temperatures by passing water on until nothing changes; NaN where none flows."""
        warm = {n: float(t) for n, (_, t) in net.held.items()}
        for _ in range(400):
            news = dict(warm)
            for node in self.nodes:
                heat = mass = 0.0
                for link in self.links:
                    w = flow[link.name]
                    if abs(w) < 1e-8 or node not in (link.end if w > 0 else link.start,):
                        continue
                    source = warm.get(link.start if w > 0 else link.end)
                    if source is None:
                        continue
                    if link.heat is not None:
                        source = self.heated(link, abs(w), source)
                    heat += abs(w) * source
                    mass += abs(w)
                if mass:
                    news[node] = heat / mass
            if all(abs(news[n] - warm.get(n, 0.0)) < 1e-12 for n in news):
                return news
            warm = news
        raise AssertionError("temperatures go round in a ring")

    @staticmethod
    def heated(link: Link, flow: float, enters: float) -> float:
        heat = link.heat
        assert heat is not None
        if math.isinf(heat.power):
            return float(heat.setpoint)
        from vanplumb.formulas.water import water_density

        if flow < heat.flow_least * float(water_density.si(enters)):
            return enters
        return min(float(heat.setpoint), enters + heat.power / 4186.0 / flow)
