"""A moment on a schematic whose layout is known: its lines, arrows, symbols and words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..build.model import Build
from ..flow.moment import Moment
from . import symbols
from .lettering import for_svg
from .schematic_layers import Spot
from .schematic_words import summary, told_of_part, told_of_run
from .theme import COLD, HOT, MIXED

if TYPE_CHECKING:
    from .schematic import Schematic

MARK = "#d99a2b"
LETTER, LINE = 12.0, 13.5
"""Size of letters and distance of lines of writing."""
WIDEST, THIN = 9.0, 1.4
"""Widest and thinnest stroke."""
INK, GROUND, FAINT = "{ink}", "{ground}", "{faint}"
"""Stand for the colours until it is known where the drawing goes."""


def heat_colour(share: float) -> str:
    """From cold through mixed to hot, for a share of the way between."""
    share = min(max(share, 0.0), 1.0)
    low, high = (COLD, MIXED) if share < 0.5 else (MIXED, HOT)
    part = share * 2 if share < 0.5 else share * 2 - 1
    pairs = zip(bytes.fromhex(low[1:]), bytes.fromhex(high[1:]), strict=True)
    return "#" + bytes(round(a + (b - a) * part) for a, b in pairs).hex()


def drawn(s: Schematic, moment: Moment | None, units: str, values: str, mark: int) -> str:
    """The whole drawing, with ``INK``, ``GROUND`` and ``FAINT`` for its colours."""
    links = moment.links if moment else {}
    runs = {i: links.get(f"run {i + 1}") for i in range(len(s.build.run))}
    most = max((abs(k.flow) for k in runs.values() if k), default=0.0) or 1.0
    cold, hot = _scale(s.build, moment)
    lines, cores, arrows, marked = [], [], [], ""
    for i, link in sorted(runs.items(), key=lambda r: abs(r[1].flow) if r[1] else 0.0):
        points = s.outline(i)
        if not points:
            continue
        path = _path(points)
        told = for_svg(told_of_run(s.build, i, link, units))
        flows = link is not None and abs(link.flow) > 1e-9
        wide, colour = THIN, FAINT
        if flows and link is not None:
            wide = 2.4 + (WIDEST - 2.4) * abs(link.flow) / most
            share = (link.temperature - cold) / (hot - cold) if hot - cold > 0.5 else 0.0
            colour = heat_colour(share)
            if share > 0.12 and wide > 2:
                dash = "" if share > 0.85 else ' stroke-dasharray="7 5"'
                cores.append(
                    f'<path d="{path}" stroke="#fff" stroke-width="{wide * 0.28:.1f}"{dash}/>'
                )
            goal = s.pieces_of(i)[-1].end if link.flow > 0 else s.pieces_of(i)[0].start
            if goal.kind != "tee":
                arrows.append(_arrow(points, link.flow > 0, colour))
        if i == mark:
            marked = f'<path d="{path}" stroke="{MARK}" stroke-width="{wide + 9:.1f}"/>'
        lines.append(
            f'<path d="{path}" stroke="{colour}" stroke-width="{wide:.1f}" '
            f'class="vp-run"><title>{told}</title></path>'
        )
    body = [
        f'<g fill="none" stroke-linejoin="round" stroke-opacity="0.45">{marked}</g>',
        f'<g fill="none" stroke-linejoin="round">{"".join(lines)}</g>',
        f'<g fill="none" stroke-linejoin="round" pointer-events="none">{"".join(cores)}</g>',
        f"<g>{''.join(arrows)}</g>",
    ]
    body += [_symbol(s, spot, moment, units, values) for spot in s.spots.values()]
    label = for_svg(summary(s.build, moment, units))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {s.width:.0f} {s.height:.0f}" '
        f'font-family="sans-serif" font-size="{LETTER}" fill="{INK}" role="img" '
        f'aria-label="{label}" class="vp-schematic">{"".join(body)}</svg>'
    )


def _scale(build: Build, moment: Moment | None) -> tuple[float, float]:
    """Temperatures that count as cold and as hot."""
    cold = build.van.cold_water
    hot = max((h.setpoint for h in build.heater), default=cold)
    if moment:
        running = [k.temperature for k in moment.links.values() if abs(k.flow) > 1e-9]
        hot = max([hot if build.heater else cold, *running])
        cold = min([cold, *running])
    return float(cold), float(hot)


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _arrow(points: list[tuple[float, float]], ahead: bool, colour: str) -> str:
    """A small head where the water arrives."""
    (ax, ay), (bx, by) = points[-2:] if ahead else (points[1], points[0])
    if abs(bx - ax) < 9 and abs(by - ay) < 9:
        return ""
    way = 1 if bx >= ax else -1
    x = bx - 2 * way
    return (
        f'<path fill="{colour}" d="M{x:.1f} {by:.1f}l{-9 * way} -6.5v13Z" pointer-events="none"/>'
    )


def _symbol(s: Schematic, spot: Spot, moment: Moment | None, units: str, values: str) -> str:
    below, told = told_of_part(s.rows, spot, moment, units, values)
    running = bool(
        moment
        and spot.kind == "fixture"
        and spot.name in moment.fixtures
        and moment.fixtures[spot.name].flow > 1e-9
    )
    head = f'<g transform="translate({spot.x:.1f} {spot.y:.1f})">'
    told_all = for_svg("; ".join([f"{spot.name}, {spot.kind}", *told]))
    mark = f"<title>{told_all}</title>"
    shape = _shape(s, spot, running)
    lines = [*s.label(spot.name), *below]
    foot = 17.0 + LETTER
    if spot.kind == "manifold":
        foot = spot.below - 6 - LINE * (len(s.label(spot.name)) + s.rows) + LETTER - 4
    if spot.kind == "tank":
        foot = 16.0 + LETTER
    count = len(s.label(spot.name))
    text = "".join(
        f'<text y="{foot + LINE * i:.1f}" text-anchor="middle"'
        f"{_weight(i >= count)}>{for_svg(line)}</text>"
        for i, line in enumerate(lines)
    )
    return (
        f'{head}<g fill="{GROUND}" stroke="{INK}" stroke-width="1.5" '
        f'stroke-linejoin="round">{mark}{shape}</g>{text}</g>'
    )


def _weight(is_value: bool) -> str:
    return ' font-weight="600"' if is_value else ""


def _shape(s: Schematic, spot: Spot, running: bool) -> str:
    if spot.kind == "tank":
        tank = next(t for t in s.build.tank if t.name == spot.name)
        water = symbols.tank(float(tank.fill_share))
        return water.replace(
            'class="vp-water"', f'fill="{heat_colour(0)}" stroke="none" fill-opacity="0.55"'
        ).replace('<path d="M-14 -13V13H14V-13"/>', '<path fill="none" d="M-14 -13V13H14V-13"/>')
    if spot.kind == "manifold":
        zones = [y for z, y in spot.ports.items() if z != "inlet"]
        top, foot = min(zones, default=0.0) - 12, max(zones, default=0.0) + 12
        return f'<path d="M-5 {top:.1f}H5V{foot:.1f}H-5Z"/>'
    found = symbols.SYMBOLS[spot.kind]()
    drop = f'fill="{heat_colour(0.25)}" stroke="none"' if running else 'visibility="hidden"'
    found = found.replace('class="vp-drop"', drop)
    return found.replace('class="vp-solid"', f'fill="{INK}"')
