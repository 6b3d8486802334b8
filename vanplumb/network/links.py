"""What a network is made of: links, pump curves, heaters, mixing valves, held pressures.

Every figure is SI.  Any of them may be an array of shape (variants,): one for each variant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..words.brief import brief

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]
Whole: TypeAlias = NDArray[np.int_]
"""Whole numbers: places in other arrays."""
Rows: TypeAlias = Whole | slice
"""Which variants: their places."""
Figure: TypeAlias = float | NDArray[Any]
"""A float, or an array of shape (variants,)."""

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

    Held = TypeVar("Held", bound=DataclassInstance)


def within(values: Floats, low: float, high: float) -> Floats:
    """``numpy.clip``, in a third of its time where the array is small."""
    return np.minimum(np.maximum(values, low), high)


def take_rows(held: Held, rows: Rows) -> Held:
    """A dataclass with some rows of each of its arrays; one of a single row holds for all."""
    taken = {
        f.name: a[rows]
        for f in fields(held)
        if isinstance(a := getattr(held, f.name), np.ndarray) and len(a) > 1
    }
    return replace(held, **taken)


@brief
@dataclass(frozen=True, kw_only=True)
class Curve:
    """A pump's curve: pressure over flow, straight between its points, falling.

    ``flow`` and ``pressure`` have shape (points,) or (variants, points), flow rising.
    ``cut_out`` is where its pressure switch stops it and ``cut_in`` where it starts again; a
    pump whose duty point lies above the cut-out is solved at the mean over a cycle.
    ``stored``, shape (steps,) or (variants, steps), is the water, m³, that what gives behind it
    holds in equal steps of pressure from cut-in to cut-out; alike in all if not given.
    ``inlet_least`` is the pressure that its inlet can't go below.
    """

    flow: NDArray[Any]
    pressure: NDArray[Any]
    cut_in: Figure = np.inf
    cut_out: Figure = np.inf
    stored: NDArray[Any] | None = None
    inlet_least: Figure = -np.inf


@dataclass(frozen=True, kw_only=True)
class Heat:
    """What a heater does to the water that passes.

    ``power`` infinite: water leaves at ``setpoint`` (a store that is hot).  Else the water
    warms by what the power gives, at most up to ``setpoint``, and only from ``flow_least`` on.
    """

    setpoint: Figure
    power: Figure = np.inf
    flow_least: Figure = 0.0


@brief
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
    ``place`` is where the run that it stands for has its place in a list, −1 for none.
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
    setting: Figure | None = None
    place: int = -1

    def check(self) -> None:
        """ValueError for a size that nothing has: a bore or Kv of zero, a pump that rises."""
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


@dataclass(kw_only=True)
class Lines:
    """All that is known of some water lines; nodes are made by being named.

    ``density`` and ``viscosity`` hold everywhere if given; else they are those of water at each
    leg's own temperature.  ``temperature`` is that of standing water; ``specific_heat`` is one
    for all water, so that heat is conserved exactly in mixing.  ``held`` has pressure and
    temperature of the nodes whose pressure is known, ``drawn`` what is taken out at a node.
    """

    density: float | None = None
    viscosity: float | None = None
    temperature: Figure = 288.15
    specific_heat: float = 4186.0
    links: tuple[Link, ...] = ()
    mixers: tuple[Mixer, ...] = ()
    held: Mapping[str, tuple[Figure, Figure]] = field(default_factory=dict)
    drawn: Mapping[str, Figure] = field(default_factory=dict)
