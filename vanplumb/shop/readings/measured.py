"""Measured against computed: what is read at the finished van, and what does not fit.

The flow engine says what each outlet should give by itself; readings are put beside that,
what differs between sound vans is fitted, and faults are tried one by one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...board.as_laid import on_its_board
from ...flow.solving import BuildFlow
from ...flow.van_network import BuildNetwork
from ...van.kinds import heaters, line_parts, pumps
from ...van.water_held import along
from ...words.quantity import read
from ...words.show import counted
from ...words.tables import table
from .fit import Fitted, Measured, Unknown, fit
from .suspects import Cause, Diagnosis, Suspects, causes_of, hot_runs, upstream
from .van_model import (
    CURRENT,
    FLOW,
    FLOWS,
    HEAT,
    PRESSURE,
    WAIT,
    Lever,
    Outlet,
    PumpFacts,
    VanModel,
    reading_parts,
)

if TYPE_CHECKING:
    from ...van.model import Build

WORDS = {FLOW: "flow", PRESSURE: "pressure", CURRENT: "current", WAIT: "duration",
         HEAT: "temperature"}  # fmt: skip
"""Glossary word of each kind of reading."""


def word_of(reading: str) -> str:
    """Glossary word of a reading by its name."""
    return WORDS[reading_parts(reading)[1]]


SHUT = 1e-3
"""How far open a tap's other side still counts while it stands all the way hot or cold."""


@dataclass(frozen=True)
class Compared:
    """One reading beside what was computed; ``apart`` in its own uncertainties."""

    name: str
    word: str
    computed: float
    measured: float | None
    sigma: float
    apart: float | None


class MeasuredVan:
    """A build as built: what each outlet should read, and what readings say about it.

    ``flow`` is the flow of the same build, if somebody has it: its network is solved and its taps
    are set then.  ValueError if the build has no pump or shore water that a network can be made of.
    """

    def __init__(self, build: Build, flow: BuildFlow | None = None) -> None:
        self.build = on_its_board(build)
        known = flow is not None and flow.build is self.build
        self.flow = flow if flow and known else BuildFlow(self.build)
        self.made: BuildNetwork = self.flow.made
        self.model = self._model()
        self.reach = self._reach()

    def __repr__(self) -> str:
        return f"Measured {self.build.van.name}: {counted(len(self.computed), 'reading')}"

    @cached_property
    def computed(self) -> dict[str, float]:
        """What a sound van of this build reads, by name, SI."""
        return {n: float(v[0]) for n, v in self.model({}).items()}

    def uncertainty(self, name: str, value: float) -> float:
        """Standard uncertainty of a reading by the usual instrument.  KeyError if unknown."""
        what = reading_parts(name)[1]
        row = table("instruments", self.build.rows)[what]
        least = read(row["least"], "rise" if what == HEAT else WORDS[what])
        return float(np.hypot(row.number("share") * value, least))

    @cached_property
    def spread(self) -> dict[str, float]:
        """How far sound vans of this build differ, as a standard deviation of each reading, SI.

        Each of ``unknowns`` is moved by its own spread, and what that does is added as squares.
        """
        return spread_of(self.model, self.unknowns)

    def reading(self, name: str, value: float) -> Measured:
        """A reading with its usual uncertainty.  KeyError for a name that is not computed."""
        if name not in self.computed:
            raise KeyError(f"no reading {name!r}; there are {', '.join(self.computed)}")
        return Measured(value, self.uncertainty(name, value))

    def compare(self, measured: Mapping[str, Measured]) -> tuple[Compared, ...]:
        """Every reading that the model gives, beside what was measured."""
        out = []
        for name, value in self.computed.items():
            seen = measured.get(name)
            sigma = seen.sigma if seen else self.uncertainty(name, value)
            apart = (seen.value - value) / sigma if seen else None
            word = word_of(name)
            out.append(Compared(name, word, value, seen.value if seen else None, sigma, apart))
        return tuple(out)

    @cached_property
    def unknowns(self) -> tuple[Unknown, ...]:
        """What differs between sound vans, and how much (assumed)."""
        found = [Unknown("fittings", 1.0, 0.5, 2.0, 0.15)]
        if "speed" in self.model.levers:
            found.append(Unknown("speed", 1.0, 0.85, 1.15, 0.03))
        for heater in self.build.heater:
            if heaters.has_store(heater):
                name = f"store {heater.name}"
                usual = self.model.usual(name)
                found.append(Unknown(name, usual, usual - 30, usual + 10, 2.0))
        for fixture in self.build.fixture:
            if f"tap {fixture.name}" in self.model.levers:
                found.append(Unknown(f"tap {fixture.name}", 1.0, 0.7, 1.3, 0.04))
        for i, name in enumerate(self.made.mixers):
            lever = f"turned {name}"
            if lever in self.model.levers and not self.made.self_acting[i]:
                found.append(Unknown(lever, self.model.usual(lever), 0.02, 0.98, 0.015))
        return tuple(found)

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """What may be wrong in this van, the usual things first."""
        return causes_of(self.build, self.model, self.made.mixers, self.reach)

    @cached_property
    def suspects(self) -> Suspects:
        """All causes worked out, which takes a moment."""
        return Suspects(self.model, self.causes, self.unknowns)

    def fit(self, measured: Mapping[str, Measured]) -> Fitted:
        """The unknowns that the readings speak for, with their uncertainty."""
        return fit(self.model, self.unknowns, measured)

    def diagnose(self, measured: Mapping[str, Measured]) -> Diagnosis:
        """Which single cause would explain the readings."""
        return self.suspects.judge(measured)

    def _reach(self) -> dict[str, frozenset[int]]:
        """Runs that carry water when an outlet is open alone, by its name."""
        flows = self.model.flows([f"run {i + 1}" for i in range(len(self.build.run))])
        return {
            outlet: frozenset(int(i) for i in np.flatnonzero(np.abs(row) > FLOWS))
            for outlet, row in flows.items()
        }

    def _model(self) -> VanModel:
        build, made = self.build, self.made
        net = made.net
        thermostatic = np.array([made.self_acting], bool) if made.mixers else None
        positions = tuple(self.flow.positions[0].tolist())
        outlets = _outlets(build, made)
        levers: dict[str, Lever] = {"fittings": Lever("", "fittings")}
        pump: PumpFacts | None = None
        if len(build.pump) == 1 and pumps.is_electric(build.pump[0]):
            name = build.pump[0].name
            levers["speed"] = Lever(name, "speed")
            points = pumps.points(build, build.pump[0])
            if points is not None and not np.isnan(points[2]).any():
                pump = PumpFacts(
                    name, tuple(points[1]), tuple(points[2]), f"{name}.inlet", f"{name}.outlet"
                )
        for strainer in build.strainer:
            levers[f"strainer {strainer.name}"] = Lever(strainer.name, "clogged")
        for part in build.line_part:
            if line_parts.clogs(build, part):
                levers[f"filter {part.name}"] = Lever(part.name, "clogged")
        for valve in build.shut_off:
            levers[f"valve {valve.name}"] = Lever(valve.name, "opening", valve.valve)
        for zone in build.zone:
            link = f"{zone.manifold}.{zone.name}"
            levers[f"valve {link}"] = Lever(link, "opening", zone.valve)
        for heater in build.heater:
            if heaters.has_store(heater):
                levers[f"store {heater.name}"] = Lever(heater.name, "setpoint")
        for fixture in build.fixture:
            levers[f"tap {fixture.name}"] = Lever(fixture.name, "kv")
            levers[f"screen {fixture.name}"] = Lever(fixture.name, "clogged")
        for i, name in enumerate(made.mixers):
            if name in {v.name for v in build.mixing_valve} and not made.self_acting[i]:
                levers[f"turned {name}"] = Lever("", "turned", str(i))
        for i in range(len(build.run)):
            levers[f"kink {i + 1}"] = Lever(f"run {i + 1}", "loss")
            levers[f"bore {i + 1}"] = Lever(f"run {i + 1}", "bore")
        fixtures = sorted({link for links in made.taps.values() for link in links})
        acting = tuple(bool(a) for a in thermostatic[0]) if thermostatic is not None else ()
        return VanModel(net, fixtures, outlets, levers, build, pump, positions, acting)


def spread_of(model: VanModel, unknowns: Sequence[Unknown]) -> dict[str, float]:
    """Standard deviation of each reading where the unknowns differ by their spread."""
    moves = np.diag([u.spread if u.usual + u.spread <= u.high else -u.spread for u in unknowns])
    usual = np.array([u.usual for u in unknowns])
    rows = np.vstack([usual, usual + moves])
    readings = model({u.name: rows[:, i] for i, u in enumerate(unknowns)})
    return {n: float(np.sqrt(np.sum((v[1:] - v[0]) ** 2))) for n, v in readings.items()}


def _outlets(build: Build, made: BuildNetwork) -> tuple[Outlet, ...]:
    """Each fixture alone; a tap with two supplies all the way cold, then all the way hot."""
    found = []
    for fixture in build.fixture:
        links = made.taps.get(fixture.name, ())
        if len(links) == 3:
            mixer = made.mixers.index(fixture.name)
            for port, share in (("cold", SHUT), ("hot", 1.0 - SHUT)):
                runs, beside = _hot_way(build, hot_runs(build, fixture.name, port))
                side = f"{fixture.name} {port}"
                found.append(Outlet(side, (fixture.name, side), runs, ((mixer, share),), beside))
        elif links and upstream(build, fixture.name):
            runs, beside = _hot_way(build, hot_runs(build, fixture.name))
            found.append(Outlet(fixture.name, links, runs, beside=beside))
    return tuple(found)


def _hot_way(
    build: Build, runs: Sequence[int]
) -> tuple[tuple[str, ...], tuple[tuple[str, float], ...]]:
    """The links of the runs of a way, and what stands between them with the link behind it."""
    beside = tuple(
        (f"run {leg.number + 1}", leg.stretch.volume)
        for leg in along(build, runs)
        if leg.stretch is not None
    )
    return tuple(f"run {n + 1}" for n in runs), beside


@dataclass(frozen=True)
class Judged:
    """Readings put beside the model: what fits, what was fitted, what may be wrong."""

    van: MeasuredVan
    compared: tuple[Compared, ...]
    fitted: Fitted | None
    diagnosis: Diagnosis | None


def judge_readings(
    van: MeasuredVan, values: Mapping[str, float], *, fitting: bool = True
) -> Judged:
    """Judge what was typed in, SI.  Without readings there is only what was computed.

    ``fitting`` False leaves out the fit, which takes a hundred times longer than the causes.
    """
    measured: dict[str, Measured] = {n: van.reading(n, v) for n, v in values.items()}
    if not measured:
        return Judged(van, van.compare({}), None, None)
    return Judged(
        van, van.compare(measured), van.fit(measured) if fitting else None, van.diagnose(measured)
    )
