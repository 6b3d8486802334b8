"""A van as a function from what may be wrong to what is measured, one outlet open at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..flow.components import valve_loss
from ..flow.network import Link, Network
from ..formulas.tube import tube_content

if TYPE_CHECKING:
    from ..build.model import Build

Array = np.ndarray

WALL = 1.2
"""How much longer hot water takes than a plug would: the wall takes heat (1.1 to 1.5, typical)."""
FLOW, PRESSURE, CURRENT = "flow", "pump pressure", "pump current"
WAIT, HEAT = "time to hot", "temperature"
READINGS = (FLOW, PRESSURE, CURRENT, WAIT, HEAT)


@dataclass(frozen=True)
class Outlet:
    """One way to open the van.

    ``links`` are opened, the first is what runs into the bucket; ``hot`` are the tubes that
    hot water has to fill first; ``turned`` says how mixers (by number) stand: hot's share.
    """

    name: str
    links: tuple[str, ...]
    hot: tuple[str, ...] = ()
    turned: tuple[tuple[int, float], ...] = ()

    def reading(self, what: str) -> str:
        """The name of one reading here: ``galley hot, flow``."""
        return f"{self.name}, {what}"


@dataclass(frozen=True)
class Lever:
    """What a parameter does to a link.

    ``what``: "opening" of a shut-off (``row`` in the table of valves), "loss" added, "kv"
    times, "bore" in m, "clogged" share, "speed" of the pump, "setpoint" in K, "fittings"
    times all losses, "turned" of the mixer whose number is ``row``.
    """

    link: str
    what: str
    row: str = "ball"


@dataclass(frozen=True)
class PumpFacts:
    """The pump's curve: what it draws at each pressure; its two nodes."""

    pressure: tuple[float, ...]
    current: tuple[float, ...]
    suction: str
    outlet: str


@dataclass
class VanModel:
    """Call it with parameters (arrays of shape (variants,)); it gives readings of that shape.

    ``fixtures`` are all links that can be shut at an outlet; in each situation only those of
    one outlet are open.  A parameter that is not given, or NaN, stays at what the network has.
    ``positions`` are how the mixers stand unless an outlet says otherwise.
    """

    network: Network
    fixtures: Sequence[str]
    outlets: Sequence[Outlet]
    levers: Mapping[str, Lever]
    build: Build
    pump: PumpFacts | None = None
    positions: Sequence[float] = ()
    self_acting: Sequence[bool] = ()
    shown: Sequence[str] = field(default=READINGS)

    def __call__(self, parameters: Mapping[str, Array]) -> dict[str, Array]:
        given = {n: np.atleast_1d(np.asarray(v, float)) for n, v in parameters.items()}
        rows = max((len(v) for v in given.values()), default=1)
        many = len(self.outlets)
        wide = {n: np.repeat(np.broadcast_to(v, (rows,)), many) for n, v in given.items()}
        network = self._changed(wide)
        flags = {f: np.tile([f in o.links for o in self.outlets], rows) for f in self.fixtures}
        turned = self._turned(wide, rows) if self.positions else None
        acting = np.tile(self.self_acting, (rows * many, 1)) if self.positions else None
        found = network.solve(open=flags, positions=turned, thermostatic=acting)
        out: dict[str, Array] = {}
        for i, outlet in enumerate(self.outlets):
            here = slice(i, None, many)
            bucket = outlet.links[0]
            flow = np.atleast_1d(found.flow[bucket])[here]
            out[outlet.reading(FLOW)] = flow
            if self.pump:
                high = np.atleast_1d(found.pressure[self.pump.outlet])[here]
                low = np.atleast_1d(found.pressure[self.pump.suction])[here]
                out[outlet.reading(PRESSURE)] = high
                out[outlet.reading(CURRENT)] = self._current(high - low)
            if outlet.hot:
                start = network.link(bucket).start
                out[outlet.reading(WAIT)] = self._wait(network, outlet, found, here)
                out[outlet.reading(HEAT)] = np.atleast_1d(found.temperature[start])[here]
        return out

    def usual(self, parameter: str) -> float:
        """What a parameter stands at in a sound van."""
        lever = self.levers[parameter]
        if lever.what == "bore":
            return float(self.network.link(lever.link).diameter)
        if lever.what == "setpoint":
            heat = self.network.link(lever.link).heat
            assert heat is not None
            return float(heat.setpoint)
        if lever.what == "turned":
            return float(self.positions[int(lever.row)])
        return {"loss": 0.0, "clogged": 0.0}.get(lever.what, 1.0)

    def _current(self, raised: Array) -> Array:
        """A pump's motor draws by what it pushes against, whatever its speed."""
        assert self.pump is not None
        order = np.argsort(self.pump.pressure)
        return np.interp(
            raised, np.array(self.pump.pressure)[order], np.array(self.pump.current)[order]
        )

    def _wait(self, network: Network, outlet: Outlet, found: Any, here: slice) -> Array:
        """Time for the water in each hot tube to be pushed out, one after another."""
        total: Any = 0.0
        for name in outlet.hot:
            link = network.link(name)
            bore = np.asarray(link.diameter, float)
            content = tube_content.si(bore[here] if bore.ndim else bore, link.length)
            through = np.atleast_1d(found.flow[name])[here]
            total = total + content / np.maximum(through, 1e-7)
        return np.asarray(WALL * total)

    def _turned(self, given: Mapping[str, Array], rows: int) -> Array:
        """How each mixer stands in each situation: shape (rows · outlets, mixers)."""
        one = np.tile(np.array(self.positions, float), (len(self.outlets), 1))
        fixed = np.zeros_like(one, dtype=bool)
        for i, outlet in enumerate(self.outlets):
            for mixer, share in outlet.turned:
                one[i, mixer], fixed[i, mixer] = share, True
        out, held = np.tile(one, (rows, 1)), np.tile(fixed, (rows, 1))
        for name, values in given.items():
            lever = self.levers[name]
            if lever.what == "turned":
                at = int(lever.row)
                use = ~np.isnan(values) & ~held[:, at]
                out[use, at] = values[use]
        return out

    def _changed(self, given: Mapping[str, Array]) -> Network:
        """A network with the parameters in it."""
        network = replace(self.network, links=list(self.network.links), _layout=None)
        for name, values in given.items():
            lever = self.levers[name]
            if lever.what == "turned":
                continue
            values = np.where(np.isnan(values), self.usual(name), values)
            if lever.what == "fittings":
                for link in network.links:
                    if np.any(link.loss):
                        network.change(link.name, loss=link.loss * values)
                continue
            network.change(lever.link, **self._moved(network.link(lever.link), lever, values))
        return network

    def _moved(self, link: Link, lever: Lever, values: Array) -> dict[str, Any]:
        """The figures of a link after its lever was moved."""
        if lever.what == "loss":
            return {"loss": link.loss + values}
        if lever.what == "opening":
            shut, _ = valve_loss(self.build, lever.row, values)
            free, _ = valve_loss(self.build, lever.row, 1.0)
            return {"loss": link.loss + shut - free}
        if lever.what == "kv":
            return {"kv": link.kv * values}
        if lever.what == "clogged":
            return {"kv": link.kv * (1 - values)}
        if lever.what == "bore":  # the losses stay with the fittings, of the tube's size
            return {"diameter": values}
        if lever.what == "setpoint":
            assert link.heat is not None
            return {"heat": replace(link.heat, setpoint=values)}
        assert lever.what == "speed" and link.curve is not None
        flow = np.asarray(link.curve.flow, float)  # the whole curve moves with the open flow
        return {"curve": replace(link.curve, flow=flow + flow[-1] * (values[:, None] - 1.0))}
