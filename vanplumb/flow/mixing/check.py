"""The build's mixing valves on their worst day: the hottest and the coldest that they give.

Both come from the whole network, over all combinations of: the other fixtures, each shut, mixed
as it was set, or wholly turned to hot or to cold; the heater as set, at its hottest, at the
bottom of its swing; the cold water as assumed, of summer, of winter; the pump at its cut-in and
its cut-out, or the shore; a check valve of any mixing valve that leaks.  Of more than ten
fixtures the others are those that matter most to the valve, and all of them at once.  Apart
from these stands what comes out with one of the valve's supplies shut: the handle of a zone is
enough for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite, nan
from typing import Any

import numpy as np

from ...formulas.mixing import mixed_temperature, temperature_from_share
from ...network.links import Flags, Floats, Link
from ...network.network import Network
from ...network.solution import Solution
from ...van.kinds import heaters, mixing_valves, pumps
from ...van.kinds.fixtures import rated_flow
from ...van.model import Build
from ...van.parts import MixingValve
from ...van.trace import served
from ...words.brief import brief
from ...words.show import show
from ...words.tables import table
from ...words.work import Work
from ..combinations import Combination, all_combinations, greatest
from ..moment import TRICKLE
from ..neighbours import ALL_FIXTURES, Neighbours, part_of
from ..solving import BuildFlow
from ..turned import COLD, HOT, SHUT, open_flags, turned, ways_to_turn
from .valve import CONTROL_BAND, LEAST_LEAD, Supplies, Valve

SUMMER = 10.0
"""How much warmer or colder than assumed the fresh water gets with the season, K: the same."""
FROST = 274.15
"""No fresh water is taken colder than this, K."""
NEAR = 0.05
"""K within which a simpler combination is told in place of the worst."""
AS_SET, HOTTEST = "heater as set", "heater at its hottest"
SWING = "heater at the bottom of its swing"
ASSUMED, WARM, WINTER = "cold water as assumed", "cold water of summer", "cold water of winter"
CUT_IN, CUT_OUT = "pump at its cut-in", "pump at its cut-out"


@brief
@dataclass(frozen=True)
class Extreme:
    """What comes out of a valve in one combination; K, m³/s, kg/s and Pa gauge at its inlets.

    ``others`` are the open fixtures and how each is turned; ``shut`` is the valve's supply that
    is shut, if one is; ``leak`` the check valve that leaks, if one does; ``crowd`` says in words
    which others are open, where these are all of very many.
    """

    temperature: float
    flow: float
    others: tuple[tuple[str, str], ...]
    heater: str
    cold: str
    supply: str
    leak: str = ""
    shut: str = ""
    crowd: str = ""
    temperature_hot: float = nan
    temperature_cold: float = nan
    pressure_hot: float = nan
    pressure_cold: float = nan
    mass_flow_hot: float = nan
    mass_flow_cold: float = nan

    @property
    def warmest(self) -> float:
        """The warmer of its supplies and its outlet, K: no band makes it give more."""
        return float(np.nanmax([self.temperature, self.temperature_hot, self.temperature_cold]))

    @property
    def coolest(self) -> float:
        """The cooler of its supplies and its outlet, K: no band makes it give less."""
        return float(np.nanmin([self.temperature, self.temperature_hot, self.temperature_cold]))

    @property
    def told(self) -> str:
        """The combination in words."""
        parts = [f"{name} {_turned(how)}" for name, how in self.others]
        parts = [f"{self.crowd} open"] if self.crowd else parts
        parts += [self.heater, self.cold, self.supply]
        parts += [f"{self.leak} leaks"] if self.leak else []
        parts += [f"{self.shut} supply shut"] if self.shut else []
        return ", ".join(parts)

    @property
    def works(self) -> tuple[Work, ...]:
        """The balance of heat where hot and cold meet; none where one of them runs backwards."""
        if not (self.mass_flow_hot > 0 and self.mass_flow_cold > 0):
            return ()
        work = mixed_temperature.work(
            mass_flow_hot=self.mass_flow_hot,
            mass_flow_cold=self.mass_flow_cold,
            temperature_hot=self.temperature_hot,
            temperature_cold=self.temperature_cold,
        )
        return (work,) if abs(work.value - self.temperature) < 0.02 else ()


def _turned(how: str) -> str:
    return {HOT: "turned to hot", COLD: "turned to cold"}.get(how, "open")


@brief
@dataclass(frozen=True)
class ValveCheck:
    """One mixing valve of a build; temperatures in K.  ``problem`` says why nothing was found.

    ``usual`` is with its first fixture alone as set; ``hottest`` and ``coldest`` are those of
    all ``tried`` combinations (``all_tried``: of all that there are) with both supplies open,
    ``cold_shut`` and ``hot_shut`` those with one of them shut, where water comes then.  For a
    thermostatic valve ``band`` is how closely it holds its setting, either way, which ``most`` and
    ``least`` count and the extremes don't; ``lead`` is the least of all that its hot supply is
    above the setting, ``lead_needed`` what it needs.
    """

    name: str
    kind: str
    setting: float
    fixtures: tuple[str, ...]
    share: float | None
    works: tuple[Work, ...]
    usual: Extreme | None = None
    hottest: Extreme | None = None
    coldest: Extreme | None = None
    cold_shut: Extreme | None = None
    hot_shut: Extreme | None = None
    tried: int = 0
    all_tried: bool = True
    band: float = 0.0
    lead: float = nan
    lead_needed: float = nan
    problem: str = ""

    @property
    def thermostatic(self) -> bool:
        return self.kind == mixing_valves.THERMOSTATIC

    @property
    def most(self) -> float:
        """The hottest at its outlet, its band included, K; the setting if nothing was found."""
        one = self.hottest
        if one is None or not self.band:
            return self.setting if one is None else one.temperature
        return max(one.temperature, min(self.setting + self.band, one.warmest))

    @property
    def least(self) -> float:
        """The coldest at its outlet, its band included, K; the setting if nothing was found."""
        one = self.coldest
        if one is None or not self.band:
            return self.setting if one is None else one.temperature
        return min(one.temperature, max(self.setting - self.band, one.coolest))

    @property
    def lead_fails(self) -> bool:
        """Whether its hot supply may be too little above the setting for it to hold it."""
        return self.thermostatic and self.lead < self.lead_needed


def valve_checks(flow: BuildFlow) -> dict[str, ValveCheck]:
    """Every mixing valve of the build by its name."""
    many = not flow.problem and len(flow.fixtures) > ALL_FIXTURES
    neighbours = Neighbours(flow) if many and flow.build.mixing_valve else None
    crowded: dict[str, _Search] = {}
    if neighbours is not None:
        for valve in flow.build.mixing_valve:
            names = served(flow.build, valve.name)
            if names and cannot_be_set(flow.build, valve) is None:
                crowds = neighbours.crowds(names[0])
                crowded[valve.name] = _Search(flow, valve, names, (), crowds)
        _look_together(list(crowded.values()))
    return {
        valve.name: _check(flow, valve, neighbours, crowded.get(valve.name))
        for valve in flow.build.mixing_valve
    }


def valve_of(flow: BuildFlow, part: MixingValve) -> tuple[Valve, Supplies]:
    """A build's mixing valve by itself, as it was on the day it was set, and its supplies with
    its first fixture running alone.  ValueError if nothing runs then."""
    build = flow.build
    names = served(build, part.name)
    if flow.problem or not names:
        raise ValueError(f"{part.name}: {flow.problem or 'it feeds no fixture'}")
    moment = flow.solve([names[0]])
    hot, cold = moment.nodes[f"{part.name}.hot"], moment.nodes[f"{part.name}.cold"]
    now = Supplies(
        hot.temperature, cold.temperature, max(hot.pressure, 0.0), max(cold.pressure, 0.0)
    )
    then = mixing_valves.supplies_when_set(part, _hot(build), build.van.cold_water)
    one = next(f for f in build.fixture if f.name == names[0])
    row = table("fixtures", build.rows)[one.kind]
    at = one.flow_pressure if one.flow_pressure is not None else row.number("flow_pressure")
    valve = Valve(
        kind=part.kind,
        setting=part.setting,
        when_set=replace(now, temperature_hot=float(then[0]), temperature_cold=float(then[1])),
        flow_coefficient=part.kv,
        outlet_flow=rated_flow(build, one),
        outlet_pressure=at,
        checks=part.hot_check and part.cold_check,
    )
    return valve, now


def _hot(build: Build) -> float:
    every = [h.setpoint for h in build.heater if h.name in build.joined]
    return max(every, default=build.van.cold_water)


def cannot_be_set(build: Build, part: MixingValve) -> float | None:
    """The supply on the day it is set that its setting does not stay below, hot, or above, cold, K;
    None if it lies between the two."""
    then_hot, then_cold = mixing_valves.supplies_when_set(part, _hot(build), build.van.cold_water)
    if part.setting >= then_hot:
        return float(then_hot)
    return float(then_cold) if part.setting <= then_cold else None


def _check(
    flow: BuildFlow, part: MixingValve, neighbours: Neighbours | None, crowded: _Search | None
) -> ValveCheck:
    build = flow.build
    names = served(build, part.name)
    then_hot, then_cold = mixing_valves.supplies_when_set(part, _hot(build), build.van.cold_water)
    plain = ValveCheck(part.name, part.kind, part.setting, names, None, ())
    if cannot_be_set(build, part) is not None:
        told = show(part.setting, "temperature", build.van.units)
        return replace(
            plain,
            problem=f"{told} does not lie between the cold and the hot supply: the valve can't be "
            "set so",
        )
    share = mixing_valves.share_work(part, _hot(build), build.van.cold_water)
    works = (
        share,
        temperature_from_share.work(
            share_hot=share.value, temperature_hot=then_hot, temperature_cold=then_cold
        ),
    )
    plain = replace(plain, share=share.value, works=works)
    if flow.problem or not names:
        return replace(plain, problem=flow.problem or "it feeds no fixture")
    if neighbours is None or crowded is None:
        return _Search(flow, part, names, flow.fixtures).run(plain)
    near = neighbours.nearest(names, MANY_WAYS)
    known = _Search(part_of(flow, {*names, *near}), part, names, near).run(plain)
    return _worse(known, crowded.run(plain))


MANY_WAYS = 16
"""Combinations of the fixtures that matter most to a valve, where there are more than ten."""


def _worse(known: ValveCheck, crowded: ValveCheck) -> ValveCheck:
    """Of two searches around a valve the worst that either found."""
    news: dict[str, Any] = {"tried": known.tried + crowded.tried, "all_tried": False}
    if known.hottest is None or crowded.hottest is None:
        known, crowded = (known, crowded) if crowded.hottest is None else (crowded, known)
        return replace(known, **news)
    for key, sign in (("hottest", 1.0), ("coldest", -1.0), ("cold_shut", 1.0), ("hot_shut", -1.0)):
        one, other = getattr(known, key), getattr(crowded, key)
        if one is None or (other and sign * (other.temperature - one.temperature) > NEAR):
            news[key] = other
    leads = [lead for lead in (known.lead, crowded.lead) if isfinite(lead)]
    return replace(known, lead=min(leads, default=nan), **news)


class _Search:
    """The choices around one valve, and what comes out of it in combinations of them.

    ``near`` are the other fixtures that are opened and turned in every way; ``crowds`` ways in
    which all of very many may stand at once, by what is said of them.
    """

    def __init__(
        self,
        flow: BuildFlow,
        part: MixingValve,
        own: tuple[str, ...],
        near: Iterable[str],
        crowds: Mapping[str, Mapping[str, str]] | None = None,
    ) -> None:
        self.flow, self.part, self.own = flow, part, own
        build, made = flow.build, flow.made
        self.leaks = [
            Link(
                name=f"{side} check valve of {valve.name}",
                start=f"{valve.name}.mixed",
                end=f"{valve.name}.{side}",
                kv=valve.kv,
                one_way=1,
                open=False,
            )
            for valve in build.mixing_valve
            for side in ("hot", "cold")
            if getattr(valve, f"{side}_check") and (len(flow.fixtures) <= ALL_FIXTURES
                                                    or (valve.name == part.name and not crowds))
        ]  # fmt: skip
        self.supplies = _supplies(flow)[: 1 if crowds else None]
        self.least_hot = inf
        self._solved: dict[tuple[Combination, str], tuple[float, float, Solution, int]] = {}
        days = [(AS_SET, ASSUMED), (HOTTEST, WARM), (SWING, WINTER)]
        if not build.heater:
            days = [(AS_SET, ASSUMED), (AS_SET, WARM), (AS_SET, WINTER)]
        self.days = days
        self.ways = {
            name: (
                ways_to_turn(made, name) if name == own[0] else (SHUT, *ways_to_turn(made, name))
            )
            for name in (own[0], *(f for f in near if f != own[0]))
        }
        self.crowds: list[tuple[str, Mapping[str, str]]] = [("", {}), *(crowds or {}).items()]
        self.sizes = [
            len(self.days),
            len(self.supplies),
            1 + len(self.leaks),
            *(len(ways) for ways in self.ways.values()),
            len(self.crowds),
        ]

    def run(self, plain: ValveCheck) -> ValveCheck:
        found = greatest(self.sizes, self.solve, near=NEAR)
        if found is None:
            return replace(plain, problem="no water comes out of it in any combination")
        most, least, tried, every = found
        usual = (0,) * len(self.sizes)
        hottest, coldest, alone = self.extremes([most, least, usual])
        news: dict[str, Any] = {
            "hottest": hottest,
            "coldest": coldest,
            "usual": alone if isfinite(alone.temperature) else None,
            "tried": tried,
            "all_tried": every,
        }
        if mixing_valves.holds_outlet(self.part):
            news |= {
                "band": CONTROL_BAND,
                "lead": self.least_hot - self.part.setting,
                "lead_needed": LEAST_LEAD,
            }
        else:
            for shut, day, sign in ONE_SHUT:
                news[f"{shut}_shut"] = self.with_one_shut(shut, day, sign)
        return replace(plain, **news)

    def with_one_shut(self, shut: str, day: int, sign: float) -> Extreme | None:
        """The hottest (sign 1) or coldest (-1) with one of its supplies shut."""
        cases = self.cases_on(day)
        found = self.solve(cases, shut)
        if not np.isfinite(found).any():
            return None
        best = cases[int(np.nanargmax(sign * found))]
        return self.extremes([best], shut)[0]

    def cases_on(self, day: int) -> list[Combination]:
        """What is looked at with one supply shut."""
        some = all_combinations([1, len(self.supplies), 1, *self.sizes[3:]])
        if some is None:
            some = [(0, s, 0, *(0 for _ in self.sizes[3:])) for s in range(len(self.supplies))]
        return [(day, *c[1:]) for c in some]

    def setpoint(self, heater: Any, day: str) -> float:
        """What leaves a heater on a day, at most."""
        if day == HOTTEST:
            return max(heaters.hottest(heater), heater.setpoint)
        if day == SWING and heaters.has_store(heater):
            return float(heater.setpoint - heater.differential)
        return float(heater.setpoint)

    def network(self, cases: Sequence[Combination]) -> Network:
        """The network with the heaters, the cold water, the pump and the checks of each case."""
        build, made = self.flow.build, self.flow.made
        net = made.net
        days = [self.days[c[0]] for c in cases]
        for heater in (one for one in build.heater if one.name in build.joined):
            heat = net.link(heater.name).heat
            assert heat is not None
            setpoint = np.array([self.setpoint(heater, day) for day, _ in days])
            net = net.with_link(heater.name, heat=replace(heat, setpoint=setpoint))
        moved = np.array([{WARM: SUMMER, WINTER: -SUMMER}.get(cold, 0.0) for _, cold in days])
        cold = np.maximum(build.van.cold_water + moved, min(FROST, build.van.cold_water))
        net = replace(
            net,
            temperature=cold,
            held={n: (p, cold if t is not None else t) for n, (p, t) in net.held.items()},
        )
        at = [self.supplies[c[1]] for c in cases]
        for pump in (one for one in build.pump if one.name in build.joined):
            curve = net.link(pump.name).curve
            if curve is None or not pumps.has_switch(build, pump):
                continue
            held = {CUT_IN: curve.cut_in, CUT_OUT: curve.cut_out}
            pressure = np.array([held.get(s, curve.cut_out) for s in at], float)
            net = net.with_link(pump.name, curve=replace(curve, cut_in=pressure, cut_out=pressure))
        if any(c[2] for c in cases):
            net = replace(net, links=(*net.links, *self.leaks))
        return net

    def solve(self, cases: Sequence[Combination], shut: str = "") -> Floats:
        """Temperature at the outlet of the valve in each case, NaN where no water comes."""
        new = [c for c in dict.fromkeys(cases) if (c, shut) not in self._solved]
        if new:
            _solve([(self, case) for case in new], shut)
        return np.array([self._solved[case, shut][0] for case in cases])

    def keep(self, cases: Sequence[Combination], shut: str, solution: Solution, first: int) -> None:
        """Keeps what a solution says of cases that stand in it one after the other."""
        rows, name = slice(first, first + len(cases)), self.part.name
        out: Floats = sum(
            (np.maximum(np.atleast_1d(solution.flow[f])[rows], 0.0) for f in self.own),
            np.zeros(len(cases)),
        )
        warm = np.atleast_1d(solution.temperature[f"{name}.mixed"])[rows]
        good = np.atleast_1d(solution.found)[rows] & (out > TRICKLE)
        hot = np.atleast_1d(solution.temperature[f"{name}.hot"])[rows]
        self.least_hot = min(self.least_hot, float(np.min(hot[good], initial=inf)))
        warm = np.where(good, warm, np.nan)
        for i, case in enumerate(cases):
            self._solved[case, shut] = (float(warm[i]), float(out[i]), solution, first + i)

    def turned(self, case: Combination) -> Mapping[str, str]:
        listed = zip(self.ways.items(), case[3:-1], strict=True)
        found = {**self.crowds[case[-1]][1], **{name: ways[k] for (name, ways), k in listed}}
        return {name: how for name, how in found.items() if how != SHUT}

    def extremes(self, cases: Sequence[Combination], shut: str = "") -> list[Extreme]:
        """What comes out in some combinations, with all that is told of it."""
        name = self.part.name
        self.solve(cases, shut)

        def at(values: Any, i: int) -> float:
            return float(np.atleast_1d(values)[i])

        found = []
        for case in cases:
            warm, out, solution, i = self._solved[case, shut]
            heater, cold = self.days[case[0]]
            others = [(f, how) for f, how in self.turned(case).items() if f != self.own[0]]
            found.append(
                Extreme(
                    temperature=warm,
                    flow=out,
                    others=tuple(others),
                    heater=heater,
                    cold=cold,
                    supply=self.supplies[case[1]],
                    leak=self.leaks[case[2] - 1].name if case[2] else "",
                    shut=shut,
                    crowd=self.crowds[case[-1]][0],
                    temperature_hot=at(solution.temperature[f"{name}.hot"], i),
                    temperature_cold=at(solution.temperature[f"{name}.cold"], i),
                    pressure_hot=at(solution.pressure[f"{name}.hot"], i),
                    pressure_cold=at(solution.pressure[f"{name}.cold"], i),
                    mass_flow_hot=at(solution.mass_flow[f"{name} hot"], i),
                    mass_flow_cold=at(solution.mass_flow[f"{name} cold"], i),
                )
            )
        return found


ONE_SHUT = (("cold", 1, 1.0), ("hot", 2, -1.0))
"""Which supply is shut on which of the days, and whether the hottest or the coldest is sought."""


def _look_together(searches: Sequence[_Search]) -> None:
    """Solves all that searches in one network will ask for, in a few batches for all of them:
    one takes as many rounds as the slowest of its cases, however many there are."""
    asked = [(s, case) for s in searches for case in all_combinations(s.sizes) or ()]
    if asked:
        _solve(asked)
    by_hand = [s for s in searches if not mixing_valves.holds_outlet(s.part)]
    for shut, day, _ in ONE_SHUT:
        asked = [(s, case) for s in by_hand for case in s.cases_on(day)]
        if asked:
            _solve(asked, shut)


def _solve(asked: Sequence[tuple[_Search, Combination]], shut: str = "") -> None:
    """Cases of searches in one network, each search's one after the other, in one batch."""
    first = asked[0][0]
    made, cases = first.flow.made, [case for _, case in asked]
    opens = [search.turned(case) for search, case in asked]
    pushed = [search.supplies[case[1]] for search, case in asked]
    sources = [s if s in ("shore", "gravity") else "pump" for s in pushed]
    flags: dict[str, Flags] = open_flags(made, opens, sources)
    if any(c[2] for c in cases):
        for k, leak in enumerate(first.leaks, 1):
            flags[leak.name] = np.array([c[2] == k for c in cases])
    if shut:
        for name in dict.fromkeys(search.part.name for search, _ in asked):
            flags[f"{name} {shut}"] = np.array([s.part.name != name for s, _ in asked])
    solution = first.network(cases).solve(
        flags,
        positions=turned(made, opens, first.flow.positions),
        thermostatic=[made.self_acting],
        patient=False,
    )
    done = 0
    for search in dict.fromkeys(search for search, _ in asked):
        own = [case for one, case in asked if one is search]
        search.keep(own, shut, solution, done)
        done += len(own)


def _supplies(flow: BuildFlow) -> list[str]:
    """What may push the water, the usual first."""
    build, usual = flow.build, flow.source
    found = [usual]
    if usual == "pump" and any(pumps.has_switch(build, p) for p in build.pump):
        found = [CUT_OUT, CUT_IN]
    if flow.made.shores and "shore" not in found:
        found.append("shore")
    return found
