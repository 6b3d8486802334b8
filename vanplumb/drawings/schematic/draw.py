"""The schematic of a build: drawn by itself, wide lines where much flows, warm ones in red.

In grey print hot lines are told by a white core and mixed ones by a broken one; a line in
which nothing flows is thin.  Values stand in the titles of lines and symbols, and beside the
symbols if asked for.

A moment on a schematic whose layout is known: its lines, arrows, symbols and words.
"""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from ...flow.moment import Moment
from ...van.model import Build
from ...words.report import Picture
from ..style import COLD, HOT, MIXED, for_svg, visible
from . import marks as symbols
from .layers import Piece, Spot, arrange, graph, kinds, layers, tracks
from .marks import summary, told_of_part, told_of_run

if TYPE_CHECKING:
    from ...flow.engine import Flow

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


SCREEN = ("currentColor", "var(--vp-paper, #fff)", "var(--vp-soft, #66707a)")
PRINT = ("#1d2328", "#ffffff", "#66707a")
"""Ink, paper and faint ink: on screen those of the reader's theme."""
PITCH, GAP = 34.0, 12.0
"""Distance of zones and of lines side by side."""
PER_LETTER, VALUE_WIDE = 6.3, 33.0
"""Width of a letter, and half of what a value takes."""
PAPER_WIDTH = 170.0
"""mm that a sheet leaves for a drawing."""
VALUES = ("", "pressure", "flow", "temperature")


@dataclass(frozen=True)
class Tap:
    """Where a fixture stands, as shares of the drawing: for a button laid over it."""

    name: str
    left: float
    top: float
    width: float
    height: float


class Schematic:
    """The layout of one build's schematic; ``draw`` shows a moment on it.

    Work it out once and draw many moments: only colours, widths and values change.
    """

    def __init__(self, build: Build, *, rows: int = 2) -> None:
        self.build = build
        self.rows = rows
        names, edges = graph(build)
        self.kinds = kinds(build)
        fixtures = {f.name for f in build.fixture}
        layer = layers(names, edges, fixtures)
        self.spots = {n: self._spot(n, layer[n]) for n in names}
        self.pieces = self._pieces(edges)
        every = [*self.spots.values(), *self.bends]
        arrange(every, self.pieces)
        used = tracks(self.pieces, GAP)
        self._columns(every, used)

    def _spot(self, name: str, layer: int) -> Spot:
        kind = self.kinds[name]
        spot = Spot(name, name, kind, layer)
        lines = self.label(name)
        wide = max((len(x) for x in lines), default=0) * PER_LETTER / 2
        spot.wide = max(wide, symbols.HALF) + 4
        spot.above = 24.0
        spot.below = 20.0 + LINE * (len(lines) + (self.rows if lines else 0)) + 6
        if kind == "tee":
            spot.wide, spot.above, spot.below = 6.0, 14.0, 14.0
        elif kind == "manifold":
            zones = [z.name for z in self.build.zones(name)]
            half = PITCH * max(len(zones) - 1, 0) / 2
            spot.ports = {z: PITCH * i - half for i, z in enumerate(zones)}
            spot.ports["inlet"] = 0.0
            spot.above += half
            spot.below += half
        elif kind == "mixing valve":
            spot.ports = {"hot": -9.0, "cold": 9.0, "mixed": 0.0}
        elif kind == "fixture":
            spot.ports = {"hot": -11.0, "cold": 8.0, "inlet": -2.0}
            spot.above, spot.wide = 26.0, max(spot.wide, VALUE_WIDE)
        elif kind == "accumulator":
            spot.ports = {"inlet": 0.0}
        return spot

    def label(self, name: str) -> list[str]:
        """The name in one or two lines; a tee has none."""
        if self.kinds[name] == "tee":
            return []
        shown = visible(name)
        if len(shown) <= 11 or (" " not in shown and len(shown) <= 16):
            return [shown]
        found = wrap(shown, max(len(shown) // 2 + 2, 9), break_long_words=True)
        return found[:2] if len(found) < 3 else [found[0], " ".join(found[1:])[:18]]

    def _pieces(self, edges: list[tuple[int, str, str, str, str]]) -> list[Piece]:
        """Lines from layer to layer, with bends in the layers between."""
        self.bends: list[Spot] = []
        pieces = []
        for run, a, out, b, into in edges:
            here, port = self.spots[a], out
            step = 1 if self.spots[b].layer >= here.layer else -1
            for layer in range(here.layer + step, self.spots[b].layer, step):
                bend = Spot(f"{run} at {layer}", layer=layer)
                self.bends.append(bend)
                pieces.append(Piece(run, here, bend, port, ""))
                here, port = bend, ""
            pieces.append(Piece(run, here, self.spots[b], port, into))
        return pieces

    def _columns(self, every: list[Spot], used: dict[int, int]) -> None:
        last = max((s.layer for s in every), default=0)
        x = 6.0
        self.channel: dict[int, float] = {}
        for layer in range(last + 1):
            row = [s for s in every if s.layer == layer]
            wide = max((s.wide for s in row), default=10.0)
            for spot in row:
                spot.x = x + wide
            x += 2 * wide
            self.channel[layer] = x + 8
            x += 16 + GAP * max(used.get(layer, 0) - 1, 0)
        self.width = x - 8
        top = min((s.y - s.above for s in every), default=0.0)
        for spot in every:
            spot.y -= top - 4
        self.height = max((s.y + s.below for s in every), default=0.0) + 4

    def taps(self) -> list[Tap]:
        """Where the fixtures stand."""
        found = []
        for spot in self.spots.values():
            if spot.kind == "fixture":
                found.append(
                    Tap(
                        spot.name,
                        (spot.x - spot.wide) / self.width,
                        (spot.y - spot.above + 4) / self.height,
                        2 * spot.wide / self.width,
                        (spot.above + spot.below - 8) / self.height,
                    )
                )
        return found

    def pieces_of(self, run: int) -> list[Piece]:
        """The lines of one run, from its start on."""
        return [p for p in self.pieces if p.run == run]

    def outline(self, run: int) -> list[tuple[float, float]]:
        """The corners of a run's line, from its start to its end."""
        points: list[tuple[float, float]] = []
        for p in self.pieces_of(run):
            y_a, y_b = p.y_start, p.y_end
            if not points:
                points.append((self._edge(p.start, p.out_port, 1), y_a))
            if abs(y_a - y_b) > 0.5:
                bend = self.channel[min(p.start.layer, p.end.layer)] + p.track
                points += [(bend, y_a), (bend, y_b)]
            points.append((self._edge(p.end, p.in_port, -1), y_b))
        return points

    def _edge(self, spot: Spot, port: str, side: int) -> float:
        """Where a line meets a symbol."""
        half = {"tee": 0.0, "manifold": 5.0, "": 0.0, "pump": 14.0}.get(spot.kind, 13.0)
        return spot.x + side * half

    def draw(
        self,
        moment: Moment | None = None,
        *,
        units: str = "SI",
        values: str = "",
        paper: bool = False,
        mark: int = -1,
    ) -> str:
        """The whole drawing as one <svg>, for the screen or, with its size, for ``paper``.

        ``mark`` is the number of a run, from 0, to be made out among the others.
        ``values`` is "pressure", "flow" or "temperature" to print it below each symbol.
        ValueError for another word.
        """
        if values not in VALUES:
            raise ValueError(f"values must be one of {', '.join(VALUES[1:])}, got {values!r}")
        ink, ground, faint = PRINT if paper else SCREEN
        svg = drawn(self, moment, units, values, mark)
        if paper:
            scale = min(PAPER_WIDTH / self.width, 0.26)
            size = f'width="{self.width * scale:.1f}mm" height="{self.height * scale:.1f}mm" '
            svg = svg.replace("<svg ", f"<svg {size}", 1)
        return svg.replace(INK, ink).replace(GROUND, ground).replace(FAINT, faint)


def schematic(flow: Flow) -> Picture:
    """The schematic with everything open, for the sheet."""
    moment = flow.situation_of(flow.fixtures)
    return schematic_picture(Schematic(flow.build), moment, flow.build.van.units, "pressure")


def schematic_picture(drawing: Schematic, moment: Moment, units: str, values: str) -> Picture:
    """A moment on paper, with its caption."""
    return Picture(
        "schematic",
        f"Schematic, {moment.name}: width by flow, colour by temperature. Hot lines have a white "
        "core, mixed ones a broken one; in thin lines nothing flows.",
        drawing.draw(moment, units=units, values=values, paper=True),
    )
