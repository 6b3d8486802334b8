"""A van as a function from what may be wrong to what is measured, one outlet open at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ...flow.components import valve_loss
from ...formulas.tube import tube_content
from ...network.network import Link, Network
from ...words.brief import brief

if TYPE_CHECKING:
    from ...van.model import Build

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Numbers = NDArray[np.intp]

WALL = 1.2
"""How much longer hot water takes than a plug would: the wall takes heat (1.1 to 1.5, typical)."""
FLOWS = 1e-6
"""m³/s: less than this is no flow."""
FLOW, PRESSURE, CURRENT = "flow", "pump pressure", "pump current"
WAIT, HEAT = "time to hot", "temperature"


@dataclass(frozen=True)
class Outlet:
    """One way to open the van.

    ``links`` are opened, the first is what runs into the bucket; ``hot`` are the tubes that
    hot water has to fill first; ``turned`` says how mixers (by number) stand: hot's share.
    ``beside`` is what stands in headers and valves on that way, m³, each with the run behind it.
    """

    name: str
    links: tuple[str, ...]
    hot: tuple[str, ...] = ()
    turned: tuple[tuple[int, float], ...] = ()
    beside: tuple[tuple[str, float], ...] = ()

    def reading(self, what: str) -> str:
        """The name of one reading here: ``galley hot, flow``."""
        return f"{self.name}, {what}"


def reading_parts(name: str) -> tuple[str, str]:
    """Outlet and kind of a reading by its name, as ``Outlet.reading`` makes it."""
    outlet, _, what = name.rpartition(", ")
    return outlet, what


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


@brief
@dataclass(frozen=True)
class PumpFacts:
    """The pump's curve: what it draws at each pressure; its link and two nodes."""

    link: str
    pressure: tuple[float, ...]
    current: tuple[float, ...]
    suction: str
    outlet: str


@brief
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

    def __call__(self, parameters: Mapping[str, Array]) -> dict[str, Array]:
        given = {n: np.atleast_1d(np.asarray(v, float)) for n, v in parameters.items()}
        rows = max((len(v) for v in given.values()), default=1)
        given = {
            n: np.where(np.isnan(v), self.usual(n), v)
            for n, v in ((n, np.broadcast_to(v, (rows,))) for n, v in given.items())
        }
        row, outlet = np.nonzero(self._touched(given, rows) & self._settled)
        out = {n: np.full(rows, v) for n, v in self._sound.items()}
        if len(row):
            found = self._solve({n: v[row] for n, v in given.items()}, outlet)
            for i, one in enumerate(self.outlets):
                for name, values in found[i].items():
                    out[one.reading(name)][row[outlet == i]] = values
        return out

    @cached_property
    def _sound(self) -> dict[str, float]:
        """Every reading of a sound van."""
        count, solution = len(self.outlets), self._sound_solution
        return {
            one.reading(name): float(values[0])
            for i, one in enumerate(self.outlets)
            for name, values in self._readings(
                self.network, solution, one, np.array([i]), count
            ).items()
        }

    @cached_property
    def _wet(self) -> dict[str, Flags]:
        """For each link, in which situations of a sound van water moves in it."""
        names = [link.name for link in self.network.links]
        flows = np.array(list(self.flows(names).values()))
        return {n: np.abs(flows[:, j]) > FLOWS for j, n in enumerate(names)}

    @cached_property
    def _settled(self) -> Flags:
        """Outlets that have a steady flow in a sound van.  Of another nothing can be expected, and
        to look for it in every faulty van takes seconds each."""
        found, count = self._sound_solution, len(self.outlets)
        flows = [np.broadcast_to(found.flow[o.links[0]], (count,))[i]
                 for i, o in enumerate(self.outlets)]  # fmt: skip
        return np.isfinite(np.array(flows, float))

    def _touched(self, given: Mapping[str, Array], rows: int) -> Flags:
        """Which situations each row of parameters can change at all: (rows, outlets)."""
        found = np.zeros((rows, len(self.outlets)), dtype=bool)
        for name, values in given.items():
            lever = self.levers[name]
            moved = np.abs(values - self.usual(name)) > 1e-12
            here = self._wet.get(lever.link, np.ones(len(self.outlets), dtype=bool))
            found |= moved[:, None] & here[None]
        return found

    def _solve(self, given: Mapping[str, Array], outlet: Numbers) -> list[dict[str, Array]]:
        """Readings by outlet, of variants each of which has one outlet open (its number)."""
        network = self._changed(given)
        found = self._open(given, network, outlet)
        return [
            self._readings(network, found, one, np.flatnonzero(outlet == i), len(outlet))
            for i, one in enumerate(self.outlets)
        ]

    def _readings(
        self, network: Network, found: Any, outlet: Outlet, here: Numbers, count: int
    ) -> dict[str, Array]:
        """What is read at one outlet, in the variants where it is open."""

        def at(values: Any) -> Array:
            return np.asarray(np.broadcast_to(values, (count,))[here], float)

        bucket = outlet.links[0]
        out = {FLOW: at(found.flow[bucket])}
        if self.pump and outlet.name not in self.cycling:
            high, low = at(found.pressure[self.pump.outlet]), at(found.pressure[self.pump.suction])
            out[PRESSURE] = high
            out[CURRENT] = self._current(high - low)
        if outlet.hot:
            total: Any = 0.0
            for name in outlet.hot:
                link = network.link(name)
                content = tube_content.si(at(link.diameter), link.length)
                total = total + content / np.maximum(at(found.flow[name]), 1e-7)
            for name, held in outlet.beside:
                total = total + held / np.maximum(at(found.flow[name]), 1e-7)
            out[WAIT] = np.asarray(WALL * total)
            out[HEAT] = at(found.temperature[network.link(bucket).start])
        return out

    @cached_property
    def cycling(self) -> frozenset[str]:
        """Outlets so small that the pump's switch goes on and off: no steady pressure to read."""
        if self.pump is None:
            return frozenset()
        cycles = np.broadcast_to(self._sound_solution.cycling[self.pump.link], len(self.outlets))
        return frozenset(o.name for o, c in zip(self.outlets, cycles, strict=True) if c)

    @cached_property
    def _sound_solution(self) -> Any:
        return self._open({}, self.network, np.arange(len(self.outlets)))

    def _open(self, given: Mapping[str, Array], network: Network, outlet: Numbers) -> Any:
        """The network solved, in each variant with the outlet of that number open.

        A sound van is worth a long look; of a van with faults what is not found soon is not known.
        """
        opened = np.array([[f in o.links for o in self.outlets] for f in self.fixtures])
        flags = {f: opened[j][outlet] for j, f in enumerate(self.fixtures)}
        turned = self._turned(given, outlet) if self.positions else None
        acting = np.tile(self.self_acting, (len(outlet), 1)) if self.positions else None
        return network.solve(open=flags, positions=turned, thermostatic=acting, patient=not given)

    def flows(self, links: Sequence[str]) -> dict[str, Array]:
        """Flow in some links of a sound van, for each outlet by its name."""
        found = self._sound_solution
        count = len(self.outlets)
        whole = np.column_stack([np.broadcast_to(found.flow[n], (count,)) for n in links])
        return {o.name: whole[i] for i, o in enumerate(self.outlets)}

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

    def _turned(self, given: Mapping[str, Array], outlet: Numbers) -> Array:
        """How each mixer stands in each variant: shape (variants, mixers)."""
        out = np.tile(np.array(self.positions, float), (len(outlet), 1))
        for name, values in given.items():
            lever = self.levers[name]
            if lever.what == "turned":
                out[:, int(lever.row)] = values
        for i, one in enumerate(self.outlets):
            for mixer, share in one.turned:
                out[outlet == i, mixer] = share
        return out

    def _changed(self, given: Mapping[str, Array]) -> Network:
        """A network with the parameters in it."""
        network = self.network
        for name, values in given.items():
            lever = self.levers[name]
            if lever.what == "turned":
                continue
            if lever.what == "fittings":
                for link in network.links:
                    if np.any(link.loss):
                        network = network.with_link(link.name, loss=link.loss * values)
                continue
            network = network.with_link(
                lever.link, **self._moved(network.link(lever.link), lever, values)
            )
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
