"""Pressures, flows and temperatures on the sheet: situations, one network in full, limits."""

from __future__ import annotations

from math import isfinite, nan
from typing import TYPE_CHECKING

from ..flow import components as parts
from ..flow.combinations import first_greatest
from ..flow.cross_effects import Change, Jump
from ..flow.engine import SITUATIONS, Flow
from ..flow.mixing.valve import CONTROL_BAND
from ..flow.moment import LinkState, Moment
from ..flow.neighbours import ALL_FIXTURES, looked_at
from ..flow.pumps import pump_curve
from ..flow.run_losses import along
from ..formulas import tube as t
from ..formulas.pressure import air_pressure
from ..formulas.valves import cv_from_kv
from ..formulas.water import vapour_pressure
from ..network.losses import friction_work
from ..van.kinds import mixing_valves, pumps
from ..van.trace import served
from ..van.wiring import place
from ..words.hazards import SCALD
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import figures, show
from ..words.work import Work, total

if TYPE_CHECKING:
    from ..van.model import Build

STILL = 1e-9
"""Less than this flows nowhere, kg/s or m³/s."""
UNSEEN = 1e-9
"""Part of the greatest below which what an answer leaves over is not told apart from nothing."""


def grids(flow: Flow, moment: Moment) -> list[Grid]:
    """All tables of the flow's pages."""
    found = [_situations(flow)]
    if flow.made.pumps:
        found += [_curves(flow), _pumps(flow)]
    if flow.jumps:
        found.append(_jumps(flow))
        found.append(_changes(flow))
    found += [_links(moment, flow.build), _nodes(moment, flow.build)]
    for name in flow.fixtures:
        if flow.situation_of((name,)).fixtures[name].flow > STILL:
            found.append(_limits(flow, name))
    if flow.surges:
        found.append(_surges(flow))
    return found


def _situations(flow: Flow) -> Grid:
    title = "Situations: what each open fixture gives"
    return grid(title, flow.rows, SITUATIONS, key="situations")


def _curves(flow: Flow) -> Grid:
    """The pumps' curves as the network takes them: at the voltage that each gets."""
    rows: list[tuple[object, ...]] = []
    for pump in flow.build.pump:
        curve = pump_curve(flow.build, pump)
        printed = pumps.points(flow.build, pump)
        amps = printed[2] if printed is not None else [nan] * curve.flow.shape[-1]
        points = sorted(zip(curve.pressure, curve.flow, amps, strict=True))
        rows += [(pump.name, *map(float, point)) for point in points]
    return grid(
        "Curve of the pump",
        rows,
        {
            "pump": 0,
            "pressure that it adds": (1, "pressure"),
            "flow": (2, "flow"),
            "current": (3, "current"),
        },
        key="pump curve",
        note="Straight between its points. Where the pump gets another voltage than its curve is "
        "for, every flow is moved by as much as that of the open pump.",
    )


def _pumps(flow: Flow) -> Grid:
    rows = [
        (moment.name, pump)
        for moment in flow.situations
        if moment.source == "pump"
        for pump in moment.pumps.values()
    ]
    return grid(
        "Duty points of the pump",
        rows,
        {
            "situation": 0,
            "pump": lambda row: row[1].name,
            "flow": (lambda row: row[1].flow, "flow"),
            "outlet": (lambda row: row[1].outlet, "pressure"),
            "current": (lambda row: row[1].current, "current"),
            "state": lambda row: (
                "cycles" if row[1].cycling else "runs" if row[1].running else "rests"
            ),
            "starts": (lambda row: row[1].starts if row[1].cycling else None, "frequency"),
            "suction": (lambda row: row[1].lift, "height"),
            "NPSH": (lambda row: row[1].npsh, "height"),
        },
        key="duty",
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
    return grid(
        "What one fixture does to another",
        flow.jumps,
        {
            "fixture": "fixture",
            "when this opens too": "other",
            "flow alone": ("flow_alone", "flow"),
            "flow then": ("flow", "flow"),
            "alone": ("warm_alone", "temperature"),
            "then": ("warm", "temperature"),
            "change": (lambda jump: _told_change(flow, jump), "rise"),
        },
        key="jumps",
        note="Each tap and valve as it is set. What it comes to when others are turned wholly to "
        "one side, and more than one at a time, is in the next table."
        + (
            f" With more than {ALL_FIXTURES} fixtures each stands beside those that matter most to "
            "it: those that share most of its way, by the pressure lost there."
            if len(flow.fixtures) > ALL_FIXTURES
            else ""
        )
        + _held(flow),
    )


def _changes(flow: Flow) -> Grid:
    rows = [
        (what, change)
        for changes in flow.changes.values()
        for what, change in zip(("hottest", "coldest", "weakest"), changes, strict=False)
        if change.others
    ]
    every = all(change.all_tried for _, change in rows)
    return grid(
        "The greatest that the others do to a fixture",
        rows,
        {
            "fixture": lambda row: row[1].fixture,
            "": lambda row: row[0],
            "when these are open": lambda row: row[1].told,
            "flow alone": (lambda row: row[1].flow_alone, "flow"),
            "flow then": (lambda row: row[1].flow, "flow"),
            "alone": (lambda row: row[1].warm_alone, "temperature"),
            "then": (lambda row: row[1].warm, "temperature"),
            "change": (lambda row: _told_change(flow, row[1]), "rise"),
        },
        key="changes",
        note="The fixture stays as it was set; the others are shut, mixed as they were set, or "
        "turned wholly to hot or to cold. "
        + (
            "All combinations were tried."
            if every
            else looked_at(len(flow.fixtures))
            if len(flow.fixtures) > ALL_FIXTURES
            else "The likeliest of the many combinations were tried, and from the worst of them "
            "on, one fixture at a time."
        )
        + _held(flow),
    )


def _self_acting(flow: Flow) -> set[str]:
    """Fixtures behind a thermostatic valve."""
    return {
        name
        for valve in flow.build.mixing_valve
        if mixing_valves.holds_outlet(valve)
        for name in served(flow.build, valve.name)
    }


def _told_change(flow: Flow, change: Jump | Change) -> float | None:
    """The change of temperature; None within the band of a thermostatic valve."""
    held = change.fixture in _self_acting(flow) and abs(change.rise) < CONTROL_BAND
    return None if held else change.rise


def _held(flow: Flow) -> str:
    if not _self_acting(flow):
        return ""
    near = show(CONTROL_BAND, "rise", flow.build.van.units)
    return (
        " Where no change stands, a thermostatic valve holds the temperature, within "
        f"{near} either way (typical)."
    )


def within(share: float) -> str:
    """How near two sides come to each other, as a share of the greatest."""
    return "0.0000001 %" if share < UNSEEN else f"{figures(1)(100 * share)} %"


def left_over(moment: Moment) -> float:
    """What is left of a link's loss when its parts are taken from it, at the worst link, as a
    share of the greatest loss."""
    links = moment.links.values()
    greatest = max((abs(k.loss) for k in links if isfinite(k.loss)), default=0.0)
    return max((abs(k.left) for k in links), default=0.0) / greatest if greatest else 0.0


def _links(moment: Moment, build: Build) -> Grid:
    american = build.van.units == "US"
    checks = ""
    if any(k.kind == "mixing valve" for k in moment.links.values()):
        push = show(parts.OWN_CHECK, "pressure_loss", build.van.units)
        checks = f"Checks in mixing valves open at {push} (assumed). "
    valve = "Cv" if american else "Kv"
    passage: dict[str, tuple[Getter, str]] = (
        {"Cv, gpm at 1 psi": (lambda k: float(cv_from_kv.si(k.kv)), "flow_coefficient_us")}
        if american
        else {"Kv": ("kv", "flow_coefficient")}
    )
    return grid(
        f"The network in full: {moment.name}",
        [k for k in moment.links.values() if abs(k.mass_flow) > STILL],
        {
            "link": lambda k: place(build, k.name),
            "what": lambda k: k.kind if k.title == k.name else k.title,
            "flow": ("flow", "flow"),
            "speed": ("velocity", "velocity"),
            "Reynolds": (lambda k: f"{k.reynolds:.0f}" if isfinite(k.reynolds) else "", RIGHT),
            "factor f": ("factor", "friction_factor"),
            "K": (lambda k: k.coefficient or None, "loss_coefficient"),
            **passage,
            "loss in all": ("loss", "pressure_loss"),
            "of it, rise": (lambda k: k.parts.get("rise") or None, "pressure_loss"),
        },
        key="network",
        note=f"The loss is made of friction, fittings (K), valve ({valve} as it stands), the push "
        "that opens a check valve, and rise, each worked from the flow in the row: add them up to "
        f"check. They make up each loss to within {within(left_over(moment))} of the greatest. "
        f"{checks}Bores are with the tube runs. A pump and a holding regulator set their own.",
    )


def _nodes(moment: Moment, build: Build) -> Grid:
    return grid(
        f"Nodes: {moment.name}",
        [n for n in moment.nodes.values() if n.inflow > STILL and isfinite(n.pressure)],
        {
            "node": lambda n: place(build, n.name),
            "pressure": ("pressure", "pressure_loss"),
            "temperature": ("temperature", "temperature"),
            "flows in": ("inflow", "mass_flow"),
        },
        key="nodes",
        note=f"What flows in flows out again to within {within(moment.imbalance)} of the greatest "
        "flow, at every node.",
    )


def _limits(flow: Flow, fixture: str) -> Grid:
    found = flow.limits(fixture).ways.items()
    rows = [(side or "its supply", share) for side, way in found for share in way]
    return grid(
        f"What limits {fixture}: where the pressure goes, open alone",
        # what takes the same stays in its order on the way, whatever the last digits are
        sorted(rows, key=lambda row: -float(f"{row[1].loss:.6g}")),
        {
            "way": 0,
            "component": lambda row: place(flow.build, row[1].title),
            "kind": lambda row: row[1].kind,
            "takes": (lambda row: row[1].loss, "pressure_loss"),
            "share": (lambda row: row[1].share if row[1].loss >= 0 else None, "share"),
            "of it, rise": (lambda row: row[1].rise or None, "pressure_loss"),
        },
        key=f"limits {fixture}",
        note="Largest first; a minus gives pressure. What the fixture itself takes is its own use.",
        printed=10,
    )


def _surges(flow: Flow) -> Grid:
    return grid(
        "Water hammer: each fixture shut while it runs alone",
        flow.surges,
        {
            "fixture": "fixture",
            "worst run": "run",
            "speed": ("speed", "velocity"),
            "wave": ("wave", "velocity"),
            "wave there and back, ms": (lambda s: f"{1000 * s.back:.0f}", RIGHT),
            "shut in": ("shutting", "duration"),
            "rise": ("rise", "pressure"),
            "rise if at once": ("instant", "pressure"),
            "before": ("before", "pressure_loss"),
            "peak": ("peak", "pressure_loss"),
            "tube's rating": ("rating", "pressure"),
        },
        key="surge",
    )


SURGE_CAUTION = Caution(
    "CAUTION",
    "Water hammer is worked out for one straight line without branches. Measure on the finished "
    "van where a valve shuts fast, and follow the local plumbing code.",
)
STEADY_ONLY = SCALD.caution(
    "The temperatures here are means of a steady flow; a tap that is opened or shut brings "
    "swings above them.",
)


def flow_chapter(flow: Flow) -> Chapter:
    """The flow engine's pages of the sheet."""
    if flow.problem:
        return Chapter(
            key="flow",
            title="Pressures, flows and temperatures",
            not_computed=(f"Pressures and flows: {flow.problem}.",),
        )
    moment = main_moment(flow)
    return Chapter(
        key="flow",
        title="Pressures, flows and temperatures",
        basis=_basis(flow),
        inputs=_inputs(flow),
        answers=tuple(_answers(flow, moment)),
        grids=tuple(grids(flow, moment)),
        cautions=(*((STEADY_ONLY,) if flow.build.heater else ()), SURGE_CAUTION),
        not_computed=(
            "Swings while a tap is being turned; pulses of the pump's stroke.",
            "Heat that a run loses on its way: see the waits for hot water.",
            "Tees by their flow ratio: each run has the coefficient that the build gives it.",
        ),
    )


def main_moment(flow: Flow) -> Moment:
    """The situation whose network is shown in full: everything open."""
    return flow.situation_of(flow.fixtures)


def _basis(flow: Flow) -> tuple[str, ...]:
    system = flow.build.van.units
    found = [
        "Every run, fitting and valve as one network: mass balances at each node, losses close "
        "along each link. Darcy-Weisbach with Colebrook's factor; fittings by K, valves by Kv.",
        "Water at the temperature of each leg; mixed water has the mean of what flows in, by mass.",
        "Taps and valves that are set by hand stand as they were set, each alone: turned from cold "
        "until the water was as warm as wished, or wholly to hot.",
        "A fixture follows the square-root law from its rated flow, or holds its flow if limited. "
        "A tap with two supplies takes half of its rated pressure in its cartridge (assumed).",
    ]
    for name, pump in main_moment(flow).pumps.items():
        if isfinite(pump.cut_out):
            found.append(
                f"{name}: its switch stops it at {show(pump.cut_out, 'pressure', system)} and "
                f"starts it at {show(pump.cut_in, 'pressure', system)}. Where the duty point lies "
                "above, it cycles, and the mean of the two is taken."
            )
    return tuple(found)


def _inputs(flow: Flow) -> tuple[Answer, ...]:
    build = flow.build
    found = [
        Answer("Cold water", build.van.cold_water, "temperature", basis="given or assumed"),
        Answer("Altitude", build.van.altitude, "height", basis="given or sea level"),
    ]
    found += [Answer(f"Setpoint of {h.name}", h.setpoint, "temperature") for h in build.heater]
    return tuple(found)


def _answers(flow: Flow, moment: Moment) -> list[Answer]:
    answers = []
    for name in flow.fixtures:
        alone = flow.situation_of((name,))
        outlet = alone.fixtures[name]
        note = "; ".join(alone.reasons)
        if isfinite(outlet.temperature):
            warm = show(outlet.temperature, "temperature", flow.build.van.units)
            note = f"at {warm}" + (f"; {note}" if note else "")
        answers.append(Answer(f"{name}, alone", outlet.flow, "flow", note=note, key=True))
    every = [c for changes in flow.changes.values() for c in changes]
    worst = first_greatest(every, lambda c: abs(c.rise), lambda c: c.fixture)
    if worst is not None and abs(worst.rise) > 0.05:
        answers.append(
            Answer(
                f"Largest change of temperature, at {worst.fixture}",
                worst.rise,
                "rise",
                note=f"when {worst.told} open; flow goes to {worst.share * 100:.0f} %",
                key=True,
            )
        )
    run = _hardest(moment)
    if run is not None:
        answers.append(
            Answer(
                f"Loss of {run.title}, everything open",
                along(run, "friction") + along(run, "fittings"),
                "pressure_loss",
                work=link_work(run, flow),
            )
        )
    hardest = first_greatest(flow.surges, lambda s: s.rise, lambda s: s.fixture)
    answers += [
        Answer(
            f"Surge when {s.fixture} is shut",
            s.rise,
            "pressure",
            work=s.works if s is hardest else (),
            note=f"in {s.run}, on top of {show(s.before, 'pressure_loss', flow.build.van.units)}",
        )
        for s in flow.surges
    ]
    answers.append(
        Answer(
            "Flows in and out of every junction",
            f"agree to within {within(moment.imbalance)}",
            note="of the greatest flow, everything open",
        )
    )
    return answers


def _hardest(moment: Moment) -> LinkState | None:
    runs = [k for k in moment.links.values() if k.kind == "run" and k.reynolds > 1]
    return first_greatest(
        runs,
        lambda k: along(k, "friction") + along(k, "fittings"),
        lambda k: k.title,
    )


def link_work(link: LinkState, flow: Flow) -> tuple[Work, ...]:
    """Each step of a run's loss, as a reader would redo it."""
    run = flow.build.run[link.place]
    net = flow.made.net.link(link.name)
    speed = t.velocity.work(flow=abs(link.flow), diameter=link.diameter)
    reynolds = t.reynolds.work(
        density=link.density,
        velocity=speed.value,
        diameter=link.diameter,
        viscosity=link.viscosity,
    )
    relative = t.relative_roughness.work(roughness=float(net.roughness), diameter=link.diameter)
    factor = friction_work(reynolds.value, relative.value)
    friction = t.friction_loss.work(
        friction_factor=factor[-1].value,
        length=run.length,
        diameter=link.diameter,
        density=link.density,
        velocity=speed.value,
    )
    steps = [speed, reynolds, relative, *factor, friction]
    if float(net.loss):
        fittings = t.fitting_loss.work(
            loss_coefficient=float(net.loss), density=link.density, velocity=speed.value
        )
        both = [("friction", friction.value), ("fittings", fittings.value)]
        steps += [fittings, total("pressure_loss", both)]
    return tuple(steps)
