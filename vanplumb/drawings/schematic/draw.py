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

from ...flow.moment import NOTHING, Moment
from ...van.model import Build
from ...words.glossary import ICE_POINT
from ...words.report import Picture
from ..dashes import path
from ..style import AMBER, ARROW, for_svg, visible
from ..warmth import HIGH, HOT_FROM, MIXED_FROM, WIDE, colour, legend
from . import marks as symbols
from .layers import LEVEL, Piece, Spot, arrange, graph, kinds, layers, tracks
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


def drawn(
    s: Schematic,
    moment: Moment | None,
    units: str,
    values: str,
    mark: int,
    *,
    before: Moment | None = None,
    paper: bool = False,
) -> str:
    """The whole drawing, with ``INK``, ``GROUND`` and ``FAINT`` for its colours.

    For the screen its taps are buttons, and the white cores that tell hot from cold in grey
    print are left out, since water is seen to move there.
    """
    links = moment.links if moment else {}
    runs = {i: links.get(f"run {i + 1}") for i in range(len(s.build.run))}
    most = max((abs(k.flow) for k in runs.values() if k), default=0.0)
    lines, cores, arrows, marked = [], [], [], ""
    for i, link in sorted(runs.items(), key=lambda r: abs(r[1].flow) if r[1] else 0.0):
        points = s.outline(i)
        if not points:
            continue
        drawn = path(points)
        told = for_svg(told_of_run(s.build, i, link, units))
        wide, shade = THIN, FAINT
        if link is not None and abs(link.flow) > NOTHING:
            wide, shade = thickness(link.flow, most), colour(link.temperature)
            warm = link.temperature - ICE_POINT
            if paper and warm >= MIXED_FROM:
                dash = "" if warm >= HOT_FROM else ' stroke-dasharray="7 5"'
                cores.append(
                    f'<path d="{drawn}" stroke="#fff" stroke-width="{wide * 0.28:.1f}"{dash}/>'
                )
            goal = s.pieces_of(i)[-1].end if link.flow > 0 else s.pieces_of(i)[0].start
            if goal.kind != "tee":
                arrows.append(_arrow(points, link.flow > 0, shade))
        if i == mark:
            marked = f'<path d="{drawn}" stroke="{MARK}" stroke-width="{wide + 9:.1f}"/>'
        lines.append(
            f'<path d="{drawn}" stroke="{shade}" stroke-width="{wide:.1f}" '
            f'class="vp-run" data-run="{i}"><title>{told}</title></path>'
        )
    body = [
        f'<g fill="none" stroke-linejoin="round" stroke-opacity="0.45">{marked}</g>',
        f'<g fill="none" stroke-linejoin="round">{"".join(lines)}</g>',
        f'<g fill="none" stroke-linejoin="round" pointer-events="none">{"".join(cores)}</g>',
        f"<g>{''.join(arrows)}</g>",
    ]
    body += [_symbol(s, p, moment, units, values, before, paper) for p in s.spots.values()]
    left, top = max(s.width / 2 - WIDE / 2, 20.0), s.height + 6
    if moment is not None or not paper:
        scale = legend(units, "vp-warmth")
        body.append(f'<g class="vp-legend" transform="translate({left:.1f} {top:.1f})">{scale}</g>')
    high = s.high(moment, paper)
    label = for_svg(summary(s.build, moment, units))
    role = 'role="img"' if paper else 'role="group"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {s.width:.0f} {high:.0f}" '
        f'font-family="sans-serif" font-size="{LETTER}" fill="{INK}" {role} '
        f'aria-label="{label}" class="vp-schematic">{"".join(body)}</svg>'
    )


def thickness(flow: float, most: float) -> float:
    """Of a line with that flow, where the greatest is ``most``."""
    return 2.4 + (WIDEST - 2.4) * abs(flow) / most if most > 0 else THIN


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


def _symbol(
    s: Schematic,
    spot: Spot,
    moment: Moment | None,
    units: str,
    values: str,
    before: Moment | None,
    paper: bool,
) -> str:
    below, told = told_of_part(s.rows, spot, moment, units, values, before)
    running = bool(
        moment
        and spot.kind == "fixture"
        and spot.name in moment.fixtures
        and moment.fixtures[spot.name].flow > NOTHING
    )
    tap = spot.kind == "fixture" and not paper and moment is not None
    head = f'<g transform="translate({spot.x:.1f} {spot.y:.1f})" class="vp-part"{_box(spot)}>'
    told_all = for_svg("; ".join([f"{spot.name}, {spot.kind}", *told]))
    mark = f"<title>{told_all}</title>"
    shape = _shape(s, spot, moment, running)
    lines = [*s.label(spot.name), *below]
    foot = 17.0 + LETTER
    if spot.kind == "manifold":
        foot = spot.below - 6 - LINE * (len(s.label(spot.name)) + s.rows) + LETTER - 4
    if spot.kind == "tank":
        foot = 16.0 + LETTER
    count = len(s.label(spot.name))
    text = "".join(
        f'<text y="{foot + LINE * i:.1f}" text-anchor="middle"'
        f"{_weight(i >= count, ARROW in line)}>{for_svg(line)}</text>"
        for i, line in enumerate(lines)
    )
    body = (
        f'<g fill="{GROUND}" stroke="{INK}" stroke-width="1.5" '
        f'stroke-linejoin="round">{mark}{shape}</g>{text}'
    )
    return f"{head}{_button(spot, moment, body) if tap and moment else body}</g>"


def _box(spot: Spot) -> str:
    """The box that a part takes, for whoever folds the drawing."""
    box = (spot.x - spot.wide, spot.y - spot.above, spot.x + spot.wide, spot.y + spot.below)
    return ' data-box="' + " ".join(f"{c:.1f}" for c in box) + '"'


def _button(spot: Spot, moment: Moment, body: str) -> str:
    """A tap that is pressed on the drawing itself."""
    open = spot.name in moment.open
    told = f"{spot.name}, {'open: press to shut' if open else 'shut: press to open'}"
    return (
        f'<g class="vp-tap{" vp-open" if open else ""}" data-tap="{for_svg(spot.name)}" '
        f'role="button" tabindex="0" aria-pressed="{str(open).lower()}" '
        f'aria-label="{for_svg(told)}"><rect class="vp-press" x="{3 - spot.wide:.1f}" '
        f'y="{4 - spot.above:.1f}" width="{2 * spot.wide - 6:.1f}" '
        f'height="{spot.above + spot.below - 8:.1f}" rx="7" fill="transparent"/>{body}</g>'
    )


def _weight(is_value: bool, changed: bool) -> str:
    mark = f' class="vp-changed" fill="{AMBER}"' if changed else ""
    return f' font-weight="600"{mark}' if is_value else ""


def _shape(s: Schematic, spot: Spot, moment: Moment | None, running: bool) -> str:
    if spot.kind == "tank":
        tank = next(t for t in s.build.tank if t.name == spot.name)
        water = symbols.tank(float(tank.fill_share))
        return water.replace(
            'class="vp-water"',
            f'fill="{colour(float(s.build.van.cold_water))}" stroke="none" fill-opacity="0.55"',
        ).replace('<path d="M-14 -13V13H14V-13"/>', '<path fill="none" d="M-14 -13V13H14V-13"/>')
    if spot.kind == "manifold":
        zones = [y for z, y in spot.ports.items() if z != "inlet"]
        top, foot = min(zones, default=0.0) - 12, max(zones, default=0.0) + 12
        return f'<path d="M-5 {top:.1f}H5V{foot:.1f}H-5Z"/>'
    found = symbols.SYMBOLS[spot.kind]()
    drop = 'visibility="hidden"'
    if running and moment is not None:
        drop = f'fill="{colour(moment.fixtures[spot.name].temperature)}" stroke="none"'
    found = found.replace('class="vp-drop"', drop)
    return found.replace('class="vp-solid"', f'fill="{INK}"')


SCREEN = ("currentColor", "var(--vp-paper, #fff)", "var(--vp-soft, #66707a)")
PRINT = ("#1d2328", "#ffffff", "#66707a")
"""Ink, paper and faint ink: on screen those of the reader's theme."""
PITCH, GAP = 34.0, 12.0
"""Distance of zones and of lines side by side."""
PER_LETTER, VALUE_WIDE = 6.3, 50.0
"""Width of a letter, and half of what "1.43 → 1.12 gpm" takes."""
PAPER_WIDTH = 170.0
"""mm that a sheet leaves for a drawing."""
VALUES = ("", "pressure", "flow", "temperature")
LEGEND = HIGH + 12.0
"""Height below the schematic for the scale of temperatures."""


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

    Work it out once and draw many moments: only colours, widths and values change.  With
    ``loose``, parts that no run touches stand in it as well.
    """

    def __init__(self, build: Build, *, rows: int = 2, loose: bool = False) -> None:
        self.build = build
        self.rows = rows
        names, edges = graph(build, every=loose)
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
        self.width = max(self.width, WIDE + 40)

    @property
    def whole(self) -> float:
        """Height with the scale of temperatures."""
        return self.height + LEGEND

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

    @property
    def folds(self) -> list[float]:
        """Where the drawing may be folded: in the channels, between the parts."""
        found = []
        for layer in sorted(self.channel):
            left = max((p.x + p.wide for p in self.spots.values() if p.layer == layer), default=0)
            right = min((p.x - p.wide for p in self.spots.values() if p.layer > layer), default=0.0)
            if left and right > left:
                found.append(round((left + right) / 2, 1))
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
                points.append((self._edge(p.start, 1), y_a))
            if abs(y_a - y_b) > LEVEL:
                bend = self.channel[min(p.start.layer, p.end.layer)] + p.track
                points += [(bend, y_a), (bend, y_b)]
            points.append((self._edge(p.end, -1), y_b))
        return points

    def _edge(self, spot: Spot, side: int) -> float:
        """Where a line meets a symbol."""
        half = {"tee": 0.0, "manifold": 5.0, "": 0.0, "pump": 14.0}.get(spot.kind, 13.0)
        return spot.x + side * half

    def high(self, moment: Moment | None, paper: bool) -> float:
        """The height of a drawing: on paper one in which nothing flows has no scale below it."""
        return float(self.whole if moment is not None or not paper else self.height)

    def draw(
        self,
        moment: Moment | None = None,
        *,
        units: str = "SI",
        values: str = "",
        paper: bool = False,
        mark: int = -1,
        before: Moment | None = None,
    ) -> str:
        """The whole drawing as one <svg>, for the screen or, with its size, for ``paper``.

        A tap whose flow or temperature differs from the moment ``before`` shows both.
        ``mark`` is the number of a run, from 0, to be made out among the others.
        ``values`` is "pressure", "flow" or "temperature" to print it below each symbol.
        ValueError for another word.
        """
        if values not in VALUES:
            raise ValueError(f"values must be one of {', '.join(VALUES[1:])}, got {values!r}")
        ink, ground, faint = PRINT if paper else SCREEN
        svg = drawn(self, moment, units, values, mark, before=before, paper=paper)
        if paper:
            scale = min(PAPER_WIDTH / self.width, 0.26)
            high = self.high(moment, paper) * scale
            size = f'width="{self.width * scale:.1f}mm" height="{high:.1f}mm" '
            svg = svg.replace("<svg ", f"<svg {size}", 1)
        svg = svg.replace(INK, ink).replace(GROUND, ground).replace(FAINT, faint)
        return svg if paper else svg.replace(f'fill="{AMBER}"', 'fill="var(--vp-warn)"')


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


def plain_schematic(build: Build) -> Picture:
    """What is joined to what, with nothing flowing."""
    drawing = Schematic(build, rows=0)
    return Picture(
        "schematic", "How it is joined: water goes from left to right",
        drawing.draw(None, units=build.van.units, paper=True),
    )  # fmt: skip
