"""What a schematic says: of a run, of a part, and of the whole."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import TYPE_CHECKING, Any

from ..build.trace import title
from ..words.show import show

if TYPE_CHECKING:
    from ..build.model import Build
    from ..flow.moment import LinkState, Moment
    from .schematic_layers import Spot


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


def told_of_part(
    rows: int, spot: Spot, moment: Moment | None, units: str, values: str
) -> tuple[list[str], list[str]]:
    """What is printed below a symbol, in at most so many rows, and what its title tells."""
    if moment is None:
        return [], []
    if spot.kind == "fixture" and spot.name in moment.fixtures:
        f = moment.fixtures[spot.name]
        if not f.open:
            pressure = show(f.pressure, "pressure", units) if isfinite(f.pressure) else ""
            return ["shut"], [f"shut, {pressure} before it" if pressure else "shut"]
        warm = show(f.temperature, "temperature", units) if isfinite(f.temperature) else ""
        flow = show(f.flow, "flow", units)
        return [flow, warm] if warm else [flow], ["open", flow, warm]
    told: list[str] = []
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


def _node(spot: Spot, moment: Moment) -> Any:
    for port in ("outlet", "hot", "mixed", "any", "inlet"):
        node = moment.nodes.get(f"{spot.name}.{port}")
        if node is not None and (port != "hot" or spot.kind == "heater"):
            return node
    return None
