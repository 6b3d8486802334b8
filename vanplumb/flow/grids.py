"""Pressures, flows and temperatures on the sheet: the tables of situations, links and limits."""

from __future__ import annotations

from math import isfinite, nan
from typing import TYPE_CHECKING

from ..build.places import place
from ..formulas.air import air_pressure
from ..formulas.valves import cv_from_kv
from ..formulas.water import vapour_pressure
from ..words.report import Column, Grid
from ..words.show import figures, show
from . import components as parts
from .moment import Moment

if TYPE_CHECKING:
    from ..build.model import Build
    from .engine import Flow

NOUGHT = 1e-9
"""Part of the greatest below which what an answer leaves over is not told apart from nothing."""


def grids(flow: Flow, moment: Moment) -> list[Grid]:
    """All tables of the flow's pages."""
    found = [_situations(flow)]
    if flow.made.pumps:
        found += [_curves(flow), _pumps(flow)]
    if flow.jumps:
        found.append(_jumps(flow))
    found += [_links(moment, flow.build), _nodes(moment, flow.build)]
    for name in flow.fixtures:
        if flow.situation_of((name,)).fixtures[name].flow > 1e-9:
            found.append(_limits(flow, name))
    if flow.surges:
        found.append(_surges(flow))
    return found


def _situations(flow: Flow) -> Grid:
    rows = []
    for moment in flow.situations:
        for outlet in moment.opened:
            rows.append(
                (
                    moment.name,
                    outlet.name,
                    outlet.flow,
                    outlet.temperature if isfinite(outlet.temperature) else None,
                    outlet.pressure if isfinite(outlet.pressure) else None,
                    "; ".join(moment.reasons),
                )
            )
        if not moment.open:
            top = [f.pressure for f in moment.fixtures.values() if isfinite(f.pressure)]
            rows.append((moment.name, "highest at one", 0.0, None, max(top, default=None), ""))
    return Grid(
        title="Situations: what each open fixture gives",
        key="situations",
        columns=(
            Column("situation"),
            Column("fixture"),
            Column("flow", "flow", "right"),
            Column("temperature", "temperature", "right"),
            Column("pressure before it", "pressure", "right"),
            Column("remark"),
        ),
        rows=tuple(rows),
    )


def _curves(flow: Flow) -> Grid:
    """The pumps' curves as the network takes them: at the voltage that each gets."""
    rows = []
    for pump in flow.build.pump:
        curve = parts.pump_curve(flow.build, pump)
        printed = parts.pump_points(flow.build, pump) if pump.kind == "electric" else None
        amps = printed[2] if printed is not None else [nan] * curve.flow.shape[-1]
        rows += [
            (pump.name, float(p), float(q), float(a) if isfinite(a) else None)
            for p, q, a in sorted(zip(curve.pressure, curve.flow, amps, strict=True))
        ]
    return Grid(
        title="Curve of the pump",
        key="pump curve",
        columns=(
            Column("pump"),
            Column("pressure that it adds", "pressure", "right"),
            Column("flow", "flow", "right"),
            Column("current", "current", "right"),
        ),
        rows=tuple(rows),
        note="Straight between its points. Where the pump gets another voltage than its curve is "
        "for, every flow is moved by as much as that of the open pump.",
    )


def _pumps(flow: Flow) -> Grid:
    rows = [
        (
            moment.name,
            pump.name,
            pump.flow,
            pump.outlet if isfinite(pump.outlet) else None,
            pump.current if isfinite(pump.current) else None,
            "cycles" if pump.cycling else "runs" if pump.running else "rests",
            pump.starts if pump.cycling and isfinite(pump.starts) else None,
            pump.lift,
            pump.npsh if isfinite(pump.npsh) else None,
        )
        for moment in flow.situations
        if moment.source == "pump"
        for pump in moment.pumps.values()
    ]
    return Grid(
        title="Duty points of the pump",
        key="duty",
        columns=(
            Column("situation"),
            Column("pump"),
            Column("flow", "flow", "right"),
            Column("outlet", "pressure", "right"),
            Column("current", "current", "right"),
            Column("state"),
            Column("starts", "frequency", "right"),
            Column("suction", "height", "right"),
            Column("NPSH", "height", "right"),
        ),
        rows=tuple(rows),
        note="Suction: the column of water that its inlet pulls, losses included. NPSH: what is "
        f"left of the air's pressure ({_air(flow)}) above that of vapour ({_vapour(flow)}). A pump "
        "that cycles draws the mean current; its accumulator gives the water between two starts.",
    )


def _air(flow: Flow) -> str:
    van = flow.build.van
    return show(float(air_pressure.si(van.altitude)), "pressure_loss", van.units)


def _vapour(flow: Flow) -> str:
    van = flow.build.van
    return show(float(vapour_pressure.si(van.cold_water)), "pressure_loss", van.units)


def _jumps(flow: Flow) -> Grid:
    return Grid(
        title="What one fixture does to another",
        key="jumps",
        columns=(
            Column("fixture"),
            Column("when this opens too"),
            Column("flow alone", "flow", "right"),
            Column("flow then", "flow", "right"),
            Column("alone", "temperature", "right"),
            Column("then", "temperature", "right"),
            Column("change", "rise", "right"),
        ),
        rows=tuple(
            (
                j.fixture,
                j.other,
                j.flow_alone,
                j.flow,
                j.warm_alone if isfinite(j.warm_alone) else None,
                j.warm if isfinite(j.warm) else None,
                j.rise,
            )
            for j in flow.jumps
        ),
        note="Each tap and valve as it is set, the pump giving way on both sides at once. What a "
        "mixing valve gives if one side alone gives way is under the mixing valves.",
    )


def within(share: float) -> str:
    """How near two sides come to each other, as a share of the greatest."""
    return "0.0000001 %" if share < NOUGHT else f"{figures(1)(100 * share)} %"


def left_over(moment: Moment) -> float:
    """What is left of a link's loss when its parts are taken from it, at the worst link, as a
    share of the greatest loss."""
    links = moment.links.values()
    greatest = max((abs(k.loss) for k in links if isfinite(k.loss)), default=0.0)
    return max((abs(k.left) for k in links), default=0.0) / greatest if greatest else 0.0


def _links(moment: Moment, build: Build) -> Grid:
    american = build.van.units == "US"
    valve = "Cv" if american else "Kv"
    rows = [
        (
            place(build, k.name),
            k.title if k.title != k.name else k.kind,
            k.flow,
            k.velocity if isfinite(k.velocity) else None,
            f"{k.reynolds:.0f}" if isfinite(k.reynolds) else "",
            k.factor if isfinite(k.factor) else None,
            k.coefficient or None,
            None if not isfinite(k.kv) else float(cv_from_kv.si(k.kv)) if american else k.kv,
            k.loss if isfinite(k.loss) else None,
            k.parts.get("rise") or None,
        )
        for k in moment.links.values()
        if abs(k.mass_flow) > 1e-9
    ]
    checks = ""
    if any(k.kind == "mixing valve" for k in moment.links.values()):
        push = show(parts.OWN_CHECK, "pressure_loss", build.van.units)
        checks = f"Checks in mixing valves open at {push} (assumed). "
    return Grid(
        title=f"The network in full: {moment.name}",
        key="network",
        columns=(
            Column("link"),
            Column("what"),
            Column("flow", "flow", "right"),
            Column("speed", "velocity", "right"),
            Column("Reynolds", align="right"),
            Column("factor f", "friction_factor", "right"),
            Column("K", "loss_coefficient", "right"),
            Column("Cv, gpm at 1 psi", "flow_coefficient_us", "right")
            if american
            else Column("Kv", "flow_coefficient", "right"),
            Column("loss in all", "pressure_loss", "right"),
            Column("of it rise", "pressure_loss", "right"),
        ),
        rows=tuple(rows),
        note=f"The loss is made of friction, fittings (K), valve ({valve} as it stands), the push "
        "that opens a check valve, and rise, each worked from the flow in the row: add them up to "
        f"check. They make up each loss to within {within(left_over(moment))} of the greatest. "
        f"{checks}Bores are with the tube runs. A pump and a holding regulator set their own.",
    )


def _nodes(moment: Moment, build: Build) -> Grid:
    rows = [
        (place(build, n.name), n.pressure, n.temperature, n.inflow)
        for n in moment.nodes.values()
        if n.inflow > 1e-9 and isfinite(n.pressure)
    ]
    return Grid(
        title=f"Nodes: {moment.name}",
        key="nodes",
        columns=(
            Column("node"),
            Column("pressure", "pressure_loss", "right"),
            Column("temperature", "temperature", "right"),
            Column("flows in", "mass_flow", "right"),
        ),
        rows=tuple(rows),
        note=f"What flows in flows out again to within {within(moment.imbalance)} of the greatest "
        "flow, at every node.",
    )


def _limits(flow: Flow, fixture: str) -> Grid:
    found = flow.limits(fixture)
    rows = [
        (
            side or "its supply",
            place(flow.build, s.title),
            s.kind,
            s.loss,
            s.share if s.loss >= 0 else None,
            s.rise or None,
        )
        for side, way in found.ways.items()
        for s in way
    ]
    rows.sort(key=lambda row: -row[3])
    return Grid(
        title=f"What limits {fixture}: where the pressure goes, open alone",
        key=f"limits {fixture}",
        columns=(
            Column("way"),
            Column("component"),
            Column("kind"),
            Column("takes", "pressure_loss", "right"),
            Column("share", "share", "right"),
            Column("of it rise", "pressure_loss", "right"),
        ),
        rows=tuple(rows),
        note="Largest first; a minus gives pressure. What the fixture itself takes is its own use.",
        printed=10,
    )


def _surges(flow: Flow) -> Grid:
    return Grid(
        title="Water hammer: each fixture shut while it runs alone",
        key="surge",
        columns=(
            Column("fixture"),
            Column("worst run"),
            Column("speed", "velocity", "right"),
            Column("wave", "velocity", "right"),
            Column("there and back, ms", align="right"),
            Column("shut in", "duration", "right"),
            Column("rise", "pressure", "right"),
            Column("rise if at once", "pressure", "right"),
            Column("before", "pressure_loss", "right"),
            Column("peak", "pressure_loss", "right"),
            Column("tube's rating", "pressure", "right"),
        ),
        rows=tuple(
            (
                s.fixture,
                s.run,
                s.speed,
                s.wave,
                f"{1000 * s.back:.0f}",
                s.shutting,
                s.rise,
                s.instant,
                s.before,
                s.peak,
                s.rating,
            )
            for s in flow.surges
        ),
    )
