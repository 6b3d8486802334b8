"""Pressures, flows and temperatures on the sheet: the situations, one network in full, limits."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from ..formulas import tube as t
from ..words.report import Answer, Caution, Chapter
from ..words.show import show
from ..words.work import Work, total
from .friction import friction_work
from .grids import grids, within
from .moment import LinkState, Moment

if TYPE_CHECKING:
    from .engine import Flow

SURGE_CAUTION = Caution(
    "CAUTION",
    "Water hammer is reckoned for one straight line without branches. Measure on the finished "
    "van where a valve shuts fast, and follow the local plumbing code.",
)
SCALD_CAUTION = Caution(
    "WARNING",
    "Hot water scalds in seconds. The temperatures here are means of a steady flow; a tap that "
    "is opened or shut brings swings above them. Measure at the outlet, and follow the local "
    "plumbing code.",
)


def chapter(flow: Flow) -> Chapter:
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
        cautions=(SCALD_CAUTION, SURGE_CAUTION),
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
        "Taps and valves that are set by hand stand as they were set, each alone.",
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
    worst = max(flow.jumps, key=lambda j: abs(j.rise), default=None)
    if worst is not None and abs(worst.rise) > 0.05:
        answers.append(
            Answer(
                f"Largest change of temperature: {worst.fixture} when {worst.other} opens",
                worst.rise,
                "rise",
                note=f"flow falls to {worst.share * 100:.0f} %",
                key=True,
            )
        )
    run = _hardest(moment)
    if run is not None:
        answers.append(
            Answer(
                f"Loss of {run.title}, everything open",
                abs(run.parts.get("friction", 0.0) + run.parts.get("fittings", 0.0)),
                "pressure_loss",
                work=link_work(run, flow),
            )
        )
    hardest = max(flow.surges, key=lambda s: s.rise, default=None)
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
    return max(
        runs,
        key=lambda k: abs(k.parts.get("friction", 0.0) + k.parts.get("fittings", 0.0)),
        default=None,
    )


def link_work(link: LinkState, flow: Flow) -> tuple[Work, ...]:
    """Each step of a run's loss, as a reader would redo it."""
    run = flow.build.run[int(link.name[4:]) - 1]
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
