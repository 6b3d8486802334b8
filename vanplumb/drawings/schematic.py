"""The schematic of a build: drawn by itself, wide lines where much flows, warm ones in red.

In grey print hot lines are told by a white core and mixed ones by a broken one; a line in
which nothing flows is thin.  Values stand in the titles of lines and symbols, and beside the
symbols if asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from ..build.model import Build
from ..flow.moment import Moment
from ..words.report import Picture
from . import symbols
from .lettering import visible
from .schematic_layers import Piece, Spot, arrange, graph, kinds, layers, tracks
from .schematic_lines import FAINT, GROUND, INK, LINE, drawn

if TYPE_CHECKING:
    from ..flow.engine import Flow

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
