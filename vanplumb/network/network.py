"""A network of water lines: named nodes, links between them, and where the pressure is known.

This is the one door to the solver.  A textbook problem and a van go through it alike::

    net = Network(density=998.0, viscosity=1.002e-3)
    net.hold("lower", pressure=0.0)                       # a reservoir: pressure is known
    net.hold("upper", pressure=0.0)
    net.add(Link("pipe", "lower", "upper", length=36.0, diameter=0.04, roughness=45e-6, rise=8.0))
    answer = net.solve()
    answer.flow["pipe"], answer.pressure["lower"]

Every figure is SI.  Any figure of a link, a held pressure or a drawn flow may be an array of
shape (variants,): all variants are then solved in one batch, and answers have that shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from .layout import Layout
    from .solution import Solution

Figure = Any
"""A float, or an array of shape (variants,)."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A pump's curve: pressure over flow, straight between its points, falling.

    ``flow`` and ``pressure`` have shape (points,) or (variants, points), flow rising.
    ``cut_out`` is where its pressure switch stops it and ``cut_in`` where it starts again;
    a pump whose duty point lies above the cut-out is solved at the mean of the two.
    """

    flow: Figure
    pressure: Figure
    cut_in: Figure = np.inf
    cut_out: Figure = np.inf


@dataclass(frozen=True, kw_only=True)
class Heat:
    """What a heater does to the water that passes.

    ``power`` infinite: water leaves at ``setpoint`` (a store that is hot).  Else the water
    warms by what the power gives, at most up to ``setpoint``, and only from ``flow_least`` on.
    """

    setpoint: Figure
    power: Figure = np.inf
    flow_least: Figure = 0.0


@dataclass(frozen=True, kw_only=True)
class Link:
    """Anything that water passes on its way from ``start`` to ``end``.

    Its pressure loss is the sum of its parts: friction of a tube of ``length``, ``diameter``
    and ``roughness``; ``loss`` velocity heads in that diameter; a valve of coefficient ``kv``
    (m³/s at 1 bar); ``quadratic`` (Pa per (m³/s)²·(1000/ρ)); ``linear`` (Pa s/kg); the column
    of water over ``rise``; ``cracking`` (Pa) where ``one_way`` is set.

    ``one_way`` is 1 for a check valve, −1 for one fitted the wrong way round, 0 for none.
    ``open`` is a flag.  ``flow_limit`` (m³/s) holds the flow from there on.
    ``setting`` makes it a regulator: the pressure at ``end`` stays at or below it.
    """

    name: str
    start: str
    end: str
    kind: str = "link"
    length: Figure = 0.0
    diameter: Figure = 1.0
    roughness: Figure = 0.0
    loss: Figure = 0.0
    kv: Figure = np.inf
    linear: Figure = 0.0
    rise: Figure = 0.0
    one_way: Figure = 0
    cracking: Figure = 0.0
    open: Figure = True
    flow_limit: Figure = np.inf
    curve: Curve | None = None
    heat: Heat | None = None
    setting: Figure = None

    def check(self) -> None:
        """ValueError for a size that nothing has: a bore or Kv of nought, a pump that rises."""
        wrong = [
            name
            for name, least in (("diameter", 0.0), ("kv", 0.0))
            if not np.all(np.asarray(getattr(self, name)) > least)
        ]
        wrong += [
            name
            for name in ("length", "roughness", "linear", "cracking")
            if not np.all(np.asarray(getattr(self, name)) >= 0)
        ]
        if wrong:
            raise ValueError(f"link {self.name!r}: impossible {' and '.join(wrong)}")
        if self.curve is not None:
            flow, pressure = (np.asarray(x) for x in (self.curve.flow, self.curve.pressure))
            if np.any(np.diff(flow) <= 0) or np.any(np.diff(pressure) > 0):
                raise ValueError(
                    f"link {self.name!r}: a pump's pressure must fall as its flow rises"
                )


@dataclass(frozen=True, kw_only=True)
class Mixer:
    """Two links that meet: the hot way and the cold way of a mixing valve.

    ``position`` is the hot way's share of the opening.  With ``thermostatic`` (a flag) the
    position is found so that the mixed water has the temperature ``setting``.
    """

    hot: str
    cold: str
    position: Figure = 0.5
    setting: Figure = 311.15
    thermostatic: Figure = False


@dataclass
class Network:
    """Nodes are made by being named.  ``density`` and ``viscosity`` hold everywhere if given;
    else they are those of water at each leg's own temperature.

    ``temperature`` is that of standing water; ``specific_heat`` is one for all water, so that
    heat is conserved exactly in mixing.
    """

    density: float | None = None
    viscosity: float | None = None
    temperature: Figure = 288.15
    specific_heat: float = 4186.0
    links: list[Link] = field(default_factory=list)
    mixers: list[Mixer] = field(default_factory=list)
    held: dict[str, tuple[Figure, Figure]] = field(default_factory=dict)
    drawn: dict[str, Figure] = field(default_factory=dict)
    _layout: Layout | None = field(default=None, repr=False)

    def add(self, *links: Link) -> None:
        """Adds links.  ValueError if a name is taken or a size is impossible."""
        for link in links:
            if any(link.name == other.name for other in self.links):
                raise ValueError(f"two links are named {link.name!r}")
            link.check()
            self.links.append(link)
        self._layout = None

    def mix(self, mixer: Mixer) -> None:
        """Joins two links to a mixing valve.  ValueError if they don't end at one node."""
        hot, cold = self.link(mixer.hot), self.link(mixer.cold)
        if hot.end != cold.end:
            raise ValueError(f"{mixer.hot!r} and {mixer.cold!r} must end at one node")
        self.mixers.append(mixer)
        self._layout = None

    def hold(self, node: str, *, pressure: Figure = 0.0, temperature: Figure = None) -> None:
        """The pressure at a node is known: a water surface, the open air, a hose.

        Water that comes from there has ``temperature``.
        """
        warm = self.temperature if temperature is None else temperature
        self.held[node] = (pressure, warm)
        self._layout = None

    def draw(self, node: str, flow: Figure) -> None:
        """Water is taken out at a node, in m³/s whatever its pressure; negative puts it in."""
        self.drawn[node] = flow
        self._layout = None

    def link(self, name: str) -> Link:
        """The link of that name.  KeyError if there is none."""
        for link in self.links:
            if link.name == name:
                return link
        raise KeyError(name)

    def change(self, name: str, **values: Any) -> None:
        """Gives a link other figures."""
        for i, link in enumerate(self.links):
            if link.name == name:
                self.links[i] = replace(link, **values)
                self._layout = None
                return
        raise KeyError(name)

    def layout(self) -> Layout:
        """The network in arrays, made once."""
        if self._layout is None:
            from .layout import Layout

            self._layout = Layout(self)
        return self._layout

    def solve(
        self,
        open: Mapping[str, Figure] | Iterable[str] | None = None,
        *,
        thermostatic: Figure = None,
        positions: Figure = None,
        method: str = "",
    ) -> Solution:
        """Pressures, flows and temperatures.

        ``open`` says anew which links are open: flags by name, each a bool or an array of
        shape (variants,).  ``positions`` and ``thermostatic`` (shape (variants, mixers)) say
        anew how the mixing valves stand.  ``method`` is "dense" or "sparse", chosen by the
        number of variants if empty.  ValueError if no pressure is held anywhere.
        """
        from .solve import solve

        flags = open if isinstance(open, Mapping) or open is None else dict.fromkeys(open, True)
        return solve(
            self.layout(),
            flags or {},
            thermostatic=thermostatic,
            positions=positions,
            method=method,
        )
