"""What a schematic says: of a run, of a part, and of the whole.

Symbols of the schematic: simple outlines round a middle, the water coming from the left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import TYPE_CHECKING, Any

from ...flow.moment import NOTHING
from ...van.trace import title
from ...words.show import show
from ..style import changed

if TYPE_CHECKING:
    from ...flow.moment import LinkState, Moment
    from ...van.model import Build
    from .layers import Spot

HALF = 15.0
"""Half the width of a symbol."""


def tank(level: float = 0.6) -> str:
    """An open box with its water."""
    y = 12 - 24 * max(min(level, 1.0), 0.0)
    return f'<path class="vp-water" d="M-14 {y:.1f}H14V13H-14Z"/><path d="M-14 -13V13H14V-13"/>'


def pump() -> str:
    return '<circle r="14"/><path class="vp-solid" d="M-6 -9L11 0L-6 9Z"/>'


def strainer() -> str:
    return '<path d="M-14 -10H14V10H-14Z"/><path d="M-7 10L7 -10M-14 4L-4 -10M4 10L14 -4"/>'


def check_valve() -> str:
    return (
        '<path d="M-12 -10H12V10H-12Z"/><path class="vp-solid" d="M-8 -7L6 0L-8 7Z"/>'
        '<path d="M7 -7V7"/>'
    )


def shut_off() -> str:
    return '<path d="M-12 -8L12 8V-8L-12 8Z"/><path d="M0 0V-11M-6 -11H6"/>'


def drain_valve() -> str:
    """A shut-off that looks down, over a drop."""
    return (
        '<path d="M-12 -12L12 0V-12L-12 0Z"/><path d="M0 -6V5M-4 2L0 7L4 2"/><path d="M-8 12H8"/>'
    )


def line_part() -> str:
    """A box across the line, with a bowl below."""
    return '<path d="M-13 -7H13V3H-13Z"/><path d="M-9 3V10Q0 16 9 10V3"/>'


def air_vent() -> str:
    return '<path d="M-9 -4H9V12H-9Z"/><path d="M0 -4V-12M-4 -9L0 -13L4 -9"/>'


def tank_selector() -> str:
    return '<path d="M-12 -8L12 8V-8L-12 8Z"/><path d="M0 0V12M-6 12H6"/>'


def recirculation_pump() -> str:
    return (
        '<circle r="12"/><path class="vp-solid" d="M-5 -7L8 0L-5 7Z"/>'
        '<path d="M-9 -15Q0 -20 9 -15"/>'
    )


def regulator() -> str:
    return (
        '<path d="M-12 -6L12 10V-6L-12 10Z"/><path d="M0 2V-7"/><path d="M-9 -7A9 7 0 0 1 9 -7Z"/>'
    )


def shore_inlet() -> str:
    return '<path d="M-14 -9H4L13 0L4 9H-14Z"/><path d="M-9 -4V4M-3 -4V4"/>'


def accumulator() -> str:
    return '<path d="M-9 -12A9 5 0 0 1 9 -12V12A9 5 0 0 1 -9 12Z"/><path d="M-9 1Q-4 -5 0 1T9 1"/>'


def heater() -> str:
    return '<path d="M-15 -14H15V14H-15Z"/><path d="M-9 8L-5 -8L0 8L5 -8L9 8"/>'


def mixing_valve() -> str:
    return '<path d="M-12 -16H0L12 0L0 16H-12L0 0Z"/><circle class="vp-solid" r="2.5"/>'


def tee() -> str:
    return '<circle class="vp-solid" r="4"/>'


def fixture() -> str:
    """A spout over a drop; the drop is shown while it runs."""
    return (
        '<path d="M-15 -6H4Q12 -6 12 3V5H5V2H-15Z"/><path d="M-5 -6V-12M-10 -12H0"/>'
        '<path class="vp-drop" d="M8.5 8Q4 14 8.5 16Q13 14 8.5 8Z"/>'
    )


SYMBOLS: dict[str, Callable[[], str]] = {
    "pump": pump,
    "strainer": strainer,
    "check valve": check_valve,
    "shut off": shut_off,
    "drain valve": drain_valve,
    "line part": line_part,
    "air vent": air_vent,
    "tank selector": tank_selector,
    "recirculation pump": recirculation_pump,
    "regulator": regulator,
    "shore inlet": shore_inlet,
    "accumulator": accumulator,
    "heater": heater,
    "mixing valve": mixing_valve,
    "tee": tee,
    "fixture": fixture,
}


def told_of_run(build: Build, run: int, link: LinkState | None, units: str) -> str:
    text = f"run {run + 1}, {title(build, run)}: {build.run[run].tube}"
    if link is None:
        return text
    if abs(link.flow) <= 1e-9:
        return f"{text}; nothing flows"
    told = [
        show(abs(link.flow), "flow", units),
        show(link.velocity, "velocity", units),
        show(link.temperature, "temperature", units),
        f"takes {show(abs(link.loss), 'pressure_loss', units)}",
    ]
    back = ", backwards" if link.flow < 0 else ""
    return f"{text}; {', '.join(told)}{back}"


def summary(build: Build, moment: Moment | None, units: str) -> str:
    if moment is None:
        return f"Schematic of {build.van.name}"
    told = [
        f"{f.name} {show(f.flow, 'flow', units)}"
        + (f" at {show(f.temperature, 'temperature', units)}" if isfinite(f.temperature) else "")
        for f in moment.opened
    ]
    return f"{build.van.name}: " + ("; ".join(told) or "every fixture shut")


FIRST = {"pump": "pressure", "heater": "temperature", "mixing valve": "temperature"}
"""What stands below a symbol if nothing was asked for."""


def told_of_part(
    rows: int,
    spot: Spot,
    moment: Moment | None,
    units: str,
    values: str,
    before: Moment | None = None,
) -> tuple[list[str], list[str]]:
    """What is printed below a symbol, in at most so many rows, and what its title tells.

    A tap that ran in the moment ``before`` as well tells what has become of it.
    """
    if moment is None:
        return [], []
    if spot.kind == "fixture" and spot.name in moment.fixtures:
        f = moment.fixtures[spot.name]
        if not f.open:
            pressure = show(f.pressure, "pressure", units) if isfinite(f.pressure) else ""
            return ["shut"], [f"shut, {pressure} before it" if pressure else "shut"]
        warm = show(f.temperature, "temperature", units) if isfinite(f.temperature) else ""
        flow = show(f.flow, "flow", units)
        told = ["open", flow, warm]
        old = before.fixtures.get(spot.name) if before is not None else None
        if old is not None and old.flow > NOTHING and f.flow > NOTHING:
            flow = changed(show(old.flow, "flow", units), flow)
            if warm and isfinite(old.temperature):
                warm = changed(show(old.temperature, "temperature", units), warm)
        return [flow, warm] if warm else [flow], told
    told = []
    below: list[str] = []
    if spot.name in moment.pumps:
        p = moment.pumps[spot.name]
        what = "cycles" if p.cycling else "runs" if p.running else "rests"
        below.append(what)
        told += [what, show(p.flow, "flow", units)]
        if isfinite(p.outlet):
            told.append(f"{show(p.outlet, 'pressure', units)} at its outlet")
        if isfinite(p.current):
            told.append(show(p.current, "current", units))
    node = _node(spot, moment)
    if node is not None:
        if isfinite(node.pressure):
            told.append(show(node.pressure, "pressure", units))
        told.append(show(node.temperature, "temperature", units))
    values = values or FIRST.get(spot.kind, "")
    if spot.kind in ("mixing valve", "heater") and not _runs(spot.name, moment):
        values = ""  # what stands in it is not known to the moment
    if values and spot.kind != "tee":
        link = moment.links.get(spot.name)
        figures: Mapping[str, Any] = {
            "pressure": node.pressure if node else None,
            "temperature": node.temperature if node else None,
            "flow": abs(link.flow) if link else None,
        }
        figure = figures[values]
        if figure is not None and isfinite(figure):
            below.append(show(figure, values, units))
    return below[:rows], told


def _runs(name: str, moment: Moment) -> bool:
    """Whether water flows into or out of a part."""
    ends = f"{name}."
    return any(
        k.start.startswith(ends) or k.end.startswith(ends)
        for k in moment.links.values()
        if abs(k.flow) > NOTHING
    )


def _node(spot: Spot, moment: Moment) -> Any:
    for port in ("outlet", "hot", "mixed", "any", "inlet"):
        node = moment.nodes.get(f"{spot.name}.{port}")
        if node is not None and (port != "hot" or spot.kind == "heater"):
            return node
    return None
