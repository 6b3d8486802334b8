"""Commissioning: what is read and tried at the finished van, and the band each figure belongs in.

Bands of flows and temperatures are those of sound vans: the model's figure, with what differs
between sound vans and what the instrument may be off.  Bands of set pressures are the set figure
with its usual tolerance, those of chlorine are the limits of the region's way to disinfect.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from ..flow.neighbours import ALL_FIXTURES
from ..van.kinds import heaters, pumps
from ..van.region import limit_at
from ..van.trace import served
from ..words.brief import brief
from ..words.show import show
from ..words.tables import table
from .readings.measured import WORDS, MeasuredVan, spread_of
from .readings.setting import NEAR, limit_of
from .readings.suspects import hot_runs
from .readings.van_model import (
    CURRENT,
    FLOW,
    FLOWS,
    HEAT,
    PRESSURE,
    WAIT,
    Outlet,
    VanModel,
    reading_parts,
)

if TYPE_CHECKING:
    from ..flow.engine import Flow
    from ..van.model import Build
    from ..van.parts import Fixture
    from .disinfect import Dose
    from .winter import Winter

COVERS = 2.576
"""Standard deviations either way that hold 99 of 100 readings of sound vans (normal law)."""

HOW = {
    FLOW: "a bucket and a watch",
    HEAT: "a thermometer in the stream, steady; the heater hot",
}
"""What a reading at an outlet is taken with."""

Verdict = Literal["within", "below", "above", "done"]
ALONE, PAIR = "each outlet alone, open all the way", "the worst pair, taps as they are used"
PUMP, CUSHION, SHORE = "pump", "accumulator", "shore water"
VALVES, CHLORINE, TRIED = "mixing valves", "disinfection", "tried"
GROUPS = (PUMP, CUSHION, SHORE, VALVES, ALONE, PAIR, CHLORINE, TRIED)
"""The parts of the form, in the order in which they are done."""
MORE = "other readings"
"""What may be read too, and is not on the form."""


@brief
@dataclass(frozen=True)
class Check:
    """One line of the form: a figure with its band (SI, either end may be open), or a thing done.

    ``word`` is the glossary's word of the figure, empty for what is only done.  ``limit`` is the
    end of the band that a limit gives, not what sound vans do.  ``below`` and ``above`` say what
    to look at when the figure is outside.
    """

    name: str
    group: str
    how: str
    word: str = ""
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    basis: str = ""
    below: tuple[str, ...] = ()
    above: tuple[str, ...] = ()
    limit: str = ""

    def verdict(self, value: float) -> Verdict:
        """Whether a figure lies in the band, its ends included."""
        if self.low is not None and value < self.low - 1e-9 * abs(self.low):
            return "below"
        if self.high is not None and value > self.high + 1e-9 * abs(self.high):
            return "above"
        return "within"

    def causes(self, verdict: str) -> tuple[str, ...]:
        """What to look at, the cheapest first."""
        return {"below": self.below, "above": self.above}.get(verdict, ())

    def band(self, units: str) -> str:
        """The band as it is printed; "done" for what is only done."""
        if not self.word:
            return "done"
        low, high = (show(v, self.word, units) for v in (self.low, self.high))
        if self.low is None:
            return f"up to {high}"
        if self.high is None:
            return f"{low} or more"
        return f"{show(self.low, self.word, units, with_unit=False)} to {high}"


class Commissioning:
    """The form of one van: only what it has.

    ``unknown`` says what could not be worked out, and why.
    """

    def __init__(self, build: Build, measured: MeasuredVan | str, dose: Dose | None,
                 winter: Winter, flow: Flow) -> None:  # fmt: skip
        self.flow = flow
        self.build, self.dose, self.winter = build, dose, winter
        self.measured = None if isinstance(measured, str) else measured
        self.unknown = measured if isinstance(measured, str) else ""

    def __repr__(self) -> str:
        return f"Commissioning of {self.build.van.name}: {len(self.checks)} lines"

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every line of the form, in its order."""
        found = [
            *self._pumps(), *self._accumulators(), *self._shore(), *self._valves(),
            *self._outlets(), *self._pairs(), *self._chlorine(), *self._tried(),
        ]  # fmt: skip
        return tuple(sorted(found, key=lambda c: GROUPS.index(c.group)))

    @cached_property
    def others(self) -> tuple[Check, ...]:
        """What the model gives beyond the form: pressures, currents, waits."""
        if self.measured is None:
            return ()
        known = {c.name for c in self.checks}
        return tuple(
            self._read(n, v, self.measured.spread[n], MORE, "with that outlet open alone")
            for n, v in self.measured.computed.items()
            if n not in known
        )

    def check(self, said: str) -> Check:
        """A line by its name, or by its number on the form.  KeyError that lists the names."""
        if said.isdigit() and 1 <= int(said) <= len(self.checks):
            return self.checks[int(said) - 1]
        for one in (*self.checks, *self.others):
            if one.name == said:
                return one
        names = "; ".join(c.name for c in (*self.checks, *self.others))  # they have commas
        raise KeyError(f"no reading {said!r}; there are {names}")

    # ---- pressures that are set ----------------------------------------------------------------

    def _set(self, name: str, group: str, how: str, row: str, value: float,
             below: tuple[str, ...], above: tuple[str, ...]) -> Check:  # fmt: skip
        allowed = table("commissioning", self.build.rows)[row]
        half = max(allowed.number("share") * value, allowed.number("least"))
        return Check(name, group, how, "pressure", value, max(0.0, value - half), value + half,
                     allowed.basis, below, above)  # fmt: skip

    def _pumps(self) -> Iterator[Check]:
        shore = ("shore water is on",) if self.build.shore_inlet else ()
        for pump in self.build.pump:
            if not pumps.has_switch(self.build, pump):
                continue
            low, high = (float(v) for v in pumps.switch(self.build, pump))
            turn = "the switch's screw: turn it as the pump's sheet says"
            yield self._set(
                f"{pump.name}, cut-in", PUMP,
                "all shut, then one tap just open: the gauge when the pump starts", "cut-in", low,
                (turn, "air cushion set too low, or empty"), (turn, "the gauge's own error"),
            )  # fmt: skip
            yield self._set(
                f"{pump.name}, cut-out", PUMP,
                "all shut: the gauge when the pump stops", "cut-out", high,
                (turn, "low voltage at the pump", "it never stops: a leak, or air drawn in"),
                (turn, "the switch sticks: change it", *shore),
            )  # fmt: skip

    def _accumulators(self) -> Iterator[Check]:
        pump = "pump off, " if self.build.pump else ""
        for one in self.build.accumulator:
            yield self._set(
                f"{one.name}, precharge", CUSHION,
                f"{pump}a tap open, no water under pressure: a tyre gauge on its valve",
                "precharge", float(one.precharge),
                ("pump it up with the water side empty", "the diaphragm leaks: water at the valve"),
                ("let air out with the water side empty", "the water side was under pressure"),
            )  # fmt: skip

    def _shore(self) -> Iterator[Check]:
        if not self.build.shore_inlet:
            return
        pump = "pump off, " if self.build.pump else ""
        grows = ("heated water that can't grow",) if self.build.heater else ()
        for one in self.build.regulator:
            yield self._set(
                f"{one.name}, pressure behind it", SHORE,
                f"hose on at the shore inlet, {pump}all taps shut: the gauge after two minutes",
                "regulator",
                float(one.setting),
                ("the site gives less", "its screen is clogged", "its screw: set it"),
                ("its seat leaks: change it", "its screw: set it", *grows),
            )  # fmt: skip

    def _valves(self) -> Iterator[Check]:
        for valve in self.build.mixing_valve:
            limit, source = limit_of(self.build, valve.name)
            high = min(valve.setting + NEAR, limit)
            yield Check(
                f"{valve.name}, as set", VALVES,
                "as under setting the mixing valve: a thermometer in the stream, steady",
                "temperature", valve.setting, min(valve.setting - NEAR, high), high,
                f"± {show(NEAR, 'rise', self.build.van.units)} of what the build says, and never "
                f"above the limit ({source})",
                ("turn it to warmer", "the hot inlet's screen or check valve is clogged"),
                ("turn it to cooler before anybody uses it", "the cold inlet is clogged or shut"),
                f"{source}" if high == limit else "",
            )  # fmt: skip

    # ---- flows and temperatures ----------------------------------------------------------------

    def _outlets(self) -> Iterator[Check]:
        if self.measured is None:
            return
        for name, value in self.measured.computed.items():
            what = reading_parts(name)[1]
            if what in (FLOW, HEAT):
                yield self._read(name, value, self.measured.spread[name], ALONE, HOW[what])

    def _read(
        self, name: str, value: float, spread: float, group: str, how: str, fixture: str = ""
    ) -> Check:
        """A line with the band of sound vans; ``fixture`` if the name does not begin with it."""
        assert self.measured is not None
        outlet, what = reading_parts(name)
        half = COVERS * float(np.hypot(spread, self.measured.uncertainty(name, value)))
        low, high = value - half, value + half
        if what != HEAT:
            low = max(0.0, low)
        at = fixture or next(f.name for f in self.build.fixture if outlet in _sides(f))
        below, above = self._why(at, what)
        limit = ""
        if what == HEAT:
            found = self._limit(at)
            if found is not None and high > found[0]:
                high, limit = found
        return Check(
            name, group, how, WORDS[what], value, min(low, high), high,
            "99 of 100 sound vans, the instrument's error included", below, above, limit,
        )  # fmt: skip

    def _limit(self, fixture: str) -> tuple[float, str] | None:
        """The limit at a fixture that a mixing valve feeds."""
        fed = {f for v in self.build.mixing_valve for f in served(self.build, v.name)}
        found = limit_at(self.build, fixture) if fixture in fed else None
        return (found.value, str(found.source)) if found else None

    def _why(self, fixture: str, what: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What to look at first for a fixture, of the parts that the van has."""
        build = self.build
        electric = bool(pumps.electric(build))
        strainer = ("a clogged strainer",) if build.strainer else ()
        voltage = ("low voltage at the pump: measure while it runs",) if electric else ()
        handle = ("its handle on the board is not fully open",) if build.zone else ()
        if build.shut_off and not build.zone:
            handle = ("a shut-off valve is not fully open",)
        valve = next((v for v in build.mixing_valve if fixture in served(build, v.name)), None)
        less = (*handle, "its aerator or head is clogged", *strainer,
                *voltage, "a kink: follow the tube by hand")  # fmt: skip
        shore = ("shore water is on, not the pump",) if build.shore_inlet and build.pump else ()
        more = ("another sort of outlet than the build names", "a flow limiter is missing", *shore)
        if what == FLOW:
            return less, more
        if what in (PRESSURE, CURRENT):
            return ((*strainer, *voltage, "air drawn in before the pump"),
                    (*handle, "a kink after the pump"))  # fmt: skip
        if what == WAIT:
            return ("the line was still warm: wait an hour",), ("a longer or wider line than said",
                    *less[:2])  # fmt: skip
        store = any(heaters.has_store(h) for h in build.heater)
        cool = (
            "the heater is not hot yet: wait until it switches off" if store
            else "too little flow for the heater to light, or too much for it to warm",
        )  # fmt: skip
        if valve is not None:
            return ((*cool, f"set {valve.name} again"),
                    (f"set {valve.name} again before anybody uses it",
                     f"the cold inlet of {valve.name} is clogged or shut"))  # fmt: skip
        return ((*cool, "cold water joins: a check valve leaks, a mixer between hot and cold"),
                ("the heater's thermostat: set it lower",))  # fmt: skip

    def _pairs(self) -> Iterator[Check]:
        """The two outlets of the worst pair, both open."""
        if self.worst_pair is None or self.measured is None:
            return
        model, found = self._pair_model, self._pair_readings
        assert model is not None
        pairs = [self.worst_pair, self.worst_pair[::-1]]
        wanted = [_both(*pair) for pair in pairs]
        spread = spread_of(
            replace(model, outlets=[o for o in model.outlets if o.name in wanted]),
            self.measured.unknowns,
        )
        for (one, _), pair in zip(pairs, wanted, strict=True):
            for what in (FLOW, HEAT):
                name = f"{pair}, {what}"
                if name in found and found[f"{pair}, {FLOW}"] > FLOWS:
                    how = HOW[what]
                    if len(self.build.fixture) > ALL_FIXTURES:
                        how += (
                            f"; of the {len(self.build.fixture)} fixtures each was tried "
                            "with those that share most of its way"
                        )
                    yield self._read(name, found[name], spread[name], PAIR, how, one)

    @cached_property
    def worst_pair(self) -> tuple[str, str] | None:
        """The fixture that loses the largest part of its flow, and the one that takes it."""
        found = self._pair_readings
        alone = {f.name: found.get(f"{f.name}, {FLOW}", 0.0) for f in self.build.fixture}
        names = [n for n, flow in alone.items() if flow > FLOWS]
        shares = {
            (a, b): found[f"{_both(a, b)}, {FLOW}"] / alone[a]
            for a in names
            for b in names
            if a != b and self._is_tried(a, b)
        }
        return min(shares, key=lambda pair: (round(shares[pair], 9), pair), default=None)

    @cached_property
    def _pair_readings(self) -> dict[str, float]:
        model = self._pair_model
        return {n: float(v[0]) for n, v in model({}).items()} if model is not None else {}

    @cached_property
    def _pair_model(self) -> VanModel | None:
        """The van with its outlets alone and two by two, taps as they are used."""
        if self.measured is None:
            return None
        taps = self.measured.made.taps
        fixtures = [f.name for f in self.build.fixture if taps.get(f.name)]
        if len(fixtures) < 2:
            return None
        hot = {f: tuple(f"run {n + 1}" for n in hot_runs(self.build, f)) for f in fixtures}
        alone = [Outlet(f, tuple(taps[f]), hot[f]) for f in fixtures]
        pairs = [
            Outlet(_both(a, b), (*taps[a], *taps[b]), hot[a])
            for a in fixtures
            for b in fixtures
            if a != b and self._is_tried(a, b)
        ]
        return replace(self.measured.model, outlets=[*alone, *pairs])

    def _is_tried(self, one: str, other: str) -> bool:
        """Whether the second fixture is opened beside the first: of very many those near it."""
        if len(self.build.fixture) <= ALL_FIXTURES:
            return True
        around = self.flow.arounds
        return any(a in around and b in around[a].ways for a, b in ((one, other), (other, one)))

    # ---- disinfection, and what is tried -------------------------------------------------------

    def _chlorine(self) -> Iterator[Check]:
        dose = self.dose
        if dose is None:
            return
        strip = "a test strip at the weakest outlet, hot and cold" if self.build.heater else (
            "a test strip at the weakest outlet"
        )  # fmt: skip
        agent, basis = dose.agent, dose.way.basis
        yield Check(
            f"{agent} at the start", CHLORINE, f"{strip}, when the time begins", "concentration",
            dose.way.number("concentration"), dose.way.number("concentration"), None, basis,
            ("that outlet was not drawn until it came through", "old or weak agent: dose again"),
        )  # fmt: skip
        least = dose.way["residual_least"]
        if least is not None:
            yield Check(
                f"{agent} at the end", CHLORINE, f"{strip}, when the time is over",
                "concentration", float(least), float(least), None, basis,
                ("dirt or slime took it: flush and do it again",),
            )  # fmt: skip
        yield Check(
            f"{agent} left", CHLORINE, f"{strip}, after the last rinse", "concentration",
            0.0, None, dose.drinking, basis, (),
            ("rinse again, tank, lines and heater" if self.build.heater
             else "rinse again, tank and lines",),
        )  # fmt: skip

    def _tried(self) -> Iterator[Check]:
        for heater in self.build.heater:
            if heater.relief is not None:
                yield Check(
                    f"relief valve of {heater.name} lifted", TRIED,
                    "by its lever, heater cold: water runs, and stops when it is let go",
                )  # fmt: skip
        for place in self.winter.drains:
            yield Check(f"drained: {place}", TRIED, "opened until no more water came")
        yield Check("steps before frost tried", TRIED, "each step of laying up, as it is printed")


def _both(one: str, other: str) -> str:
    """What a reading at one fixture is called while the other is open too."""
    return f"{one} with {other}"


def _sides(fixture: Fixture) -> tuple[str, str, str]:
    return fixture.name, f"{fixture.name} cold", f"{fixture.name} hot"


__all__ = ["GROUPS", "Check", "Commissioning", "Verdict"]
