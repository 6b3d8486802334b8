"""A build as a network: its components and runs as nodes and links, by names that a reader knows.

Nodes are ports (``"heater.hot"``).  Links are components by name, runs as "run 3", the ways
of a mixing valve or tap as "bath valve hot".  Fixtures end in the open air.

A manifold as links: its header from zone to zone, and each zone's shut-off.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from ..formulas.water import water_density
from ..network.links import Curve, Link, Mixer
from ..network.network import Network
from ..van.header_form import BLOCK, form_of, laid_header
from ..van.heights import heights
from ..van.kinds import line_parts, mixing_valves
from ..van.kinds.pumps import has_check
from ..van.model import Build
from ..van.parts import Fixture, Manifold, Tank
from ..van.rows import pick
from ..van.tee_losses import INSIDE
from ..van.tees import STUB_LEAST
from ..van.trace import served, title
from ..van.wiring import ends
from ..van.zone_order import zones_along
from ..words.brief import brief
from ..words.tables import table
from . import components as parts
from . import pumps

AIR = "open air"
"""The node that every fixture runs out to."""


def header_links(build: Build, manifold: Manifold) -> list[Link]:
    """A header: stub and tee to each zone in turn, an elbow to the last, or a block.

    Each zone has its shut-off.
    """
    links: list[Link] = []
    first = str(np.ravel(manifold.tube)[0])
    row = table("tubes", build.rows)[first]
    bore = pick(build, "tubes", manifold.tube, "bore")
    inside = "insert " if row["joint"] in INSIDE else ""
    fitting = table("fittings", build.rows)
    straight = fitting[f"{inside}tee run"].number("loss_coefficient")
    branch = fitting[f"{inside}tee branch"].number("loss_coefficient")
    corner = fitting[f"{inside}elbow 90"].number("loss_coefficient")
    least = pick(build, "tubes", manifold.tube, "stub_least", STUB_LEAST)
    stub = np.maximum(0.0 if manifold.stub is None else manifold.stub, least)  # as it is cut
    here = f"{manifold.name}.inlet"
    zones = zones_along(build, manifold.name)
    ready = form_of(build, manifold) == BLOCK
    laid = laid_header(build, manifold.name)
    last = corner if laid is None or laid.ends_in_elbow else branch
    for i, zone in enumerate(zones):
        into = branch
        if ready:
            into = parts.BLOCK_LOSS
        elif i:
            there = f"{manifold.name}, tee {i + 1}"
            links.append(
                Link(
                    name=f"{manifold.name} stub {i}",
                    kind="stub",
                    start=here,
                    end=there,
                    length=stub if laid is None else laid.cuts[i],
                    diameter=bore,
                    roughness=pick(build, "tubes", manifold.tube, "roughness"),
                    loss=straight + (laid.corners[i] * corner if laid is not None else 0.0),
                )
            )
            here = there
            into = last if i == len(zones) - 1 else branch
        loss, open = parts.valve_loss(build, zone.valve, zone.opening)
        links.append(
            Link(
                name=f"{manifold.name}.{zone.name}",
                kind="zone",
                start=here,
                end=f"{manifold.name}.{zone.name}",
                loss=into + loss,
                diameter=bore,
                open=open,
            )
        )
    return links


HOSE_KV = 3.0 / 3600
"""Kv of the coupling at a shore inlet (assumed, measure yours)."""
VESSEL_KV = 2.0 / 3600
"""Kv of an accumulator's neck (assumed, measure yours)."""
HUNG_KV = 20.0 / 3600
"""Kv of the way into a pump that hangs in the water: next to no loss (assumed)."""
BYPASS_KV = 4.0 / 3600
"""Kv of a heater's bypass with its valve open (assumed, measure yours)."""
DRAIN_KV = 2.0 / 3600
"""Kv of an open drain valve (assumed); in service it is shut."""
MIXED_DEFAULT = 311.15
"""What a user sets a mixing tap to where nothing is said: 38 °C (assumed)."""


@brief
@dataclass
class BuildNetwork:
    """The network of a build and how its parts are found in it.

    ``mixers`` names the component of each mixing valve, in the network's order, and
    ``set_by`` the fixture that it is set with, open alone; ``taps`` the links that open with
    each fixture.  ``gaps`` tells by how much, in m, the rises round a ring don't add up to
    nothing, by the number of the run that was made to close it.
    """

    net: Network
    build: Build
    mixers: list[str] = field(default_factory=list)
    set_by: list[str] = field(default_factory=list)
    taps: dict[str, tuple[str, ...]] = field(default_factory=dict)
    pumps: list[str] = field(default_factory=list)
    shores: list[str] = field(default_factory=list)
    self_acting: list[bool] = field(default_factory=list)
    gaps: dict[int, float] = field(default_factory=dict)

    @cached_property
    def titles(self) -> list[str]:
        """Each run as a reader is told of it."""
        return [title(self.build, number) for number in range(len(self.build.run))]

    @cached_property
    def lifts(self) -> dict[str, Any]:
        """Height of each pump's inlet above the water it draws, m; 0 if nobody can say."""
        return pumps.suction_lifts(self.build)

    @property
    def tanks(self) -> tuple[Tank, ...]:
        """The fresh tanks that something draws from."""
        return tuple(t for t in self.build.tank if f"{t.name}.outlet" in self.net.held)

    @cached_property
    def dry(self) -> Any:
        """Whether all fresh tanks that water is drawn from stand below their pickups."""
        found = [parts.is_dry(t) for t in self.tanks]
        return np.all(np.broadcast_arrays(*found), axis=0) if found else False


def network(build: Build, *, recirculating: bool = False) -> BuildNetwork:
    """The network of a build, with its recirculation pumps at rest or running.

    ValueError where a pump has no curve or nothing gives water.
    """
    maker = _Maker(build, recirculating)
    return maker.make()


class _Maker:
    def __init__(self, build: Build, recirculating: bool) -> None:
        self.build, self.recirculating = build, recirculating
        self.net = Network(temperature=build.van.cold_water)
        self.made = BuildNetwork(self.net, build)
        self.joined = {str(p) for pair in ends(build) for p in pair}
        self.bores = self._bores()

    def _bores(self) -> dict[str, Any]:
        """Bore of the tube at each component: the narrowest of the runs that touch it."""
        found: dict[str, Any] = {}
        for run, pair in zip(self.build.run, ends(self.build), strict=True):
            bore = pick(self.build, "tubes", run.tube, "bore")
            for port in pair:
                found[port.component] = np.minimum(found.get(port.component, np.inf), bore)
        return found

    def make(self) -> BuildNetwork:
        build, add = self.build, self.net.add
        self.net.hold(AIR, pressure=0.0)
        self._sources()
        for strainer in build.strainer:
            kv = np.asarray(strainer.kv) * (1.0 - np.asarray(strainer.clogged_share))
            add(self._through(strainer.name, "strainer", kv=kv))
        for check in build.check_valve:
            way = np.where(np.asarray(check.reversed, bool), -1, 1)
            add(
                self._through(
                    check.name,
                    "check valve",
                    kv=check.kv,
                    cracking=check.cracking,
                    one_way=int(way) if way.ndim == 0 else way,
                )
            )
        for valve in build.shut_off:
            loss, open = parts.valve_loss(build, valve.valve, valve.opening)
            bore = self.bores.get(valve.name, 0.0127)
            add(self._through(valve.name, "shut-off", loss=loss, diameter=bore, open=open))
        for part in build.line_part:
            add(self._through(part.name, "line part", kv=line_parts.open_kv(build, part)))
        for selector in build.tank_selector:
            for port in selector.inlets:
                add(
                    Link(
                        name=f"{selector.name} {port}",
                        kind="tank selector",
                        start=f"{selector.name}.{port}",
                        end=f"{selector.name}.outlet",
                        kv=selector.kv,
                        open=selector.set_to in (port, "both"),
                    )
                )
        for circulator in build.recirculation_pump:
            if self.recirculating:
                # straight from the head that it holds to the flow that nothing hinders
                curve = Curve(
                    flow=np.array([0.0, float(circulator.flow_most)]),
                    pressure=np.array([float(circulator.head), 0.0]),
                )
                add(self._through(circulator.name, "recirculation pump", curve=curve, one_way=1))
            else:  # its own check lets nothing back
                add(
                    self._through(
                        circulator.name, "recirculation pump", kv=parts.REST_KV, open=False
                    )
                )
        # what is shut in service, and opens to the air
        loose: list[tuple[str, str]] = [("air vent", vent.name) for vent in build.air_vent]
        loose += [("drain valve", drain.name) for drain in build.drain_valve]
        for kind, shut in loose:
            inlet = f"{shut}.inlet"
            add(
                Link(name=shut, kind=kind, start=inlet, end=AIR, kv=DRAIN_KV, one_way=1, open=False)
            )
        for regulator in build.regulator:
            add(
                self._through(
                    regulator.name,
                    "regulator",
                    kv=regulator.kv,
                    setting=regulator.setting,
                    one_way=1,
                )
            )
        for heater in build.heater:
            bypassed = heater.bypass != "none" and heater.bypass_open
            add(
                Link(
                    name=heater.name,
                    kind="heater",
                    start=f"{heater.name}.cold",
                    end=f"{heater.name}.hot",
                    kv=heater.kv,
                    heat=parts.heat(build, heater),
                    # three valves shut the heater off, one leaves it beside the bypass
                    open=not (bypassed and heater.bypass == "three valves"),
                )
            )
            if heater.bypass != "none":
                add(
                    Link(
                        name=f"{heater.name} bypass",
                        kind="bypass",
                        start=f"{heater.name}.cold",
                        end=f"{heater.name}.hot",
                        kv=BYPASS_KV,
                        open=bypassed,
                    )
                )
        for manifold in build.manifold:
            add(*header_links(build, manifold))
        for vessel in build.accumulator:
            self.net.hold(f"{vessel.name}.air", pressure=vessel.precharge)
            add(
                Link(
                    name=vessel.name,
                    kind="accumulator",
                    start=f"{vessel.name}.inlet",
                    end=f"{vessel.name}.air",
                    kv=VESSEL_KV,
                    open=False,
                )
            )
        self._mixing_valves()
        for fixture in build.fixture:
            self._fixture(fixture)
        height = heights(build)
        losses = parts.runs_losses(build)
        for place, (run, (start, end)) in enumerate(zip(build.run, ends(build), strict=True)):
            rise = height[end.component] - height[start.component]
            gap = np.max(np.abs(np.asarray(run.rise) - rise))
            if gap > 1e-9:
                self.made.gaps[place] = float(gap)
            add(
                Link(
                    name=f"run {place + 1}",
                    kind="run",
                    place=place,
                    start=str(start),
                    end=str(end),
                    length=run.length,
                    diameter=pick(build, "tubes", run.tube, "bore"),
                    roughness=pick(build, "tubes", run.tube, "roughness"),
                    loss=losses[place],
                    rise=float(rise) if np.ndim(rise) == 0 else rise,
                )
            )
        return self.made

    def _through(self, name: str, kind: str, **figures: Any) -> Link:
        return Link(name=name, kind=kind, start=f"{name}.inlet", end=f"{name}.outlet", **figures)

    def _sources(self) -> None:
        build = self.build
        cold = build.van.cold_water
        dense = water_density.si(np.asarray(cold))
        for tank in build.tank:
            hung = tank.name in build.hung_pumps.values()
            if tank.holds == "fresh" and (hung or f"{tank.name}.outlet" in self.joined):
                self.net.hold(
                    f"{tank.name}.outlet",
                    pressure=parts.suction_pressure(tank, dense),
                    temperature=cold,
                )
        for name, tank_name in build.hung_pumps.items():
            self.net.add(
                Link(
                    name=f"{name} in {tank_name}",
                    kind="in the tank",
                    start=f"{tank_name}.outlet",
                    end=f"{name}.inlet",
                    kv=HUNG_KV,
                )
            )
        for pump in build.pump:
            if pump.name not in build.joined:
                continue
            check = has_check(build, pump)
            self.net.add(
                self._through(
                    pump.name,
                    "pump",
                    curve=pumps.pump_curve(build, pump),
                    one_way=1 if check else 0,
                ),
                Link(
                    name=f"{pump.name} at rest",
                    kind="pump at rest",
                    start=f"{pump.name}.inlet",
                    end=f"{pump.name}.outlet",
                    kv=parts.REST_KV,
                    one_way=1 if check else 0,
                    cracking=parts.SHUT_REST if check else 0.0,
                    open=False,
                ),
            )
            self.made.pumps.append(pump.name)
        for shore in build.shore_inlet:
            if shore.name not in build.joined:
                continue
            self.net.hold(f"{shore.name}.hose", pressure=shore.pressure, temperature=cold)
            self.net.add(
                Link(
                    name=shore.name,
                    kind="shore inlet",
                    start=f"{shore.name}.hose",
                    end=f"{shore.name}.outlet",
                    kv=HOSE_KV,
                    open=False,
                )
            )
            self.made.shores.append(shore.name)

    def _mixing_valves(self) -> None:
        build = self.build
        hottest = max((h.setpoint for h in build.heater if h.name in build.joined), default=None)
        for valve in build.mixing_valve:
            ways = {}
            for side, check in (("hot", valve.hot_check), ("cold", valve.cold_check)):
                ways[side] = f"{valve.name} {side}"
                self.net.add(
                    Link(
                        name=ways[side],
                        kind="mixing valve",
                        start=f"{valve.name}.{side}",
                        end=f"{valve.name}.mixed",
                        kv=valve.kv,
                        one_way=1 if check else 0,
                        cracking=parts.OWN_CHECK if check else 0.0,
                    )
                )
            aim = np.asarray(valve.setting)
            if mixing_valves.is_set_once(valve) and hottest is not None:
                # set on a day with other supplies: the share of hot water stays, not the warmth
                now = build.van.cold_water
                share = np.asarray(mixing_valves.share_when_set(valve, hottest, now))
                aim = now + share * (np.asarray(hottest) - now)
            self._mixer(
                ways["hot"],
                ways["cold"],
                valve.name,
                setting=aim,
                set_by=next(iter(served(build, valve.name)), ""),
                self_acting=mixing_valves.holds_outlet(valve),
            )

    def _mixer(
        self,
        hot: str,
        cold: str,
        name: str,
        *,
        setting: Any,
        set_by: str,
        self_acting: bool,
    ) -> None:
        self.net.mix(Mixer(hot=hot, cold=cold, setting=setting, thermostatic=self_acting))
        self.made.mixers.append(name)
        self.made.set_by.append(set_by)
        self.made.self_acting.append(self_acting)

    def _fixture(self, fixture: Fixture) -> None:
        build, name = self.build, fixture.name
        kv, limit = parts.fixture_kv(build, fixture)
        used = [p for p in fixture.inlets if f"{name}.{p}" in self.joined]
        if {"hot", "cold"} <= set(used):
            mixed = f"{name}.mixed"
            inside = kv / np.sqrt(parts.CARTRIDGE_SHARE)
            ways = {}
            for side in ("hot", "cold"):
                ways[side] = f"{name} {side}"
                self.net.add(
                    Link(
                        name=ways[side],
                        kind="tap",
                        start=f"{name}.{side}",
                        end=mixed,
                        kv=inside,
                        open=False,
                    )
                )
            spout = kv / np.sqrt(1.0 - parts.CARTRIDGE_SHARE)
            self.net.add(
                Link(
                    name=name,
                    kind="fixture",
                    start=mixed,
                    end=AIR,
                    kv=spout,
                    flow_limit=limit,
                    one_way=1,  # an open tap lets in air, not water
                    open=False,
                )
            )
            self.made.taps[name] = (name, ways["hot"], ways["cold"])
            aim = parts.wanted(build, fixture)
            self._mixer(
                ways["hot"],
                ways["cold"],
                name,
                setting=MIXED_DEFAULT if aim is None else aim,
                set_by=name,
                self_acting=False,
            )
            return
        start = f"{name}.{used[0]}" if used else f"{name}.inlet"
        self.net.add(
            Link(
                name=name,
                kind="fixture",
                start=start,
                end=AIR,
                kv=kv,
                flow_limit=limit,
                one_way=1,
                open=False,
            )
        )
        self.made.taps[name] = (name,)
