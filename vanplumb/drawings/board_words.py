"""Names and sizes on the front view of a board."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from vanplumb.board.rows import DIRECTIONS
from vanplumb.board.state import mm
from vanplumb.words.show import show

from .lines import Sheet

if TYPE_CHECKING:
    from vanplumb.board.layout import Layout
    from vanplumb.board.rows import Open

INK = "#22211e"
HALO = {"paint_order": "stroke", "stroke": "#fffdf8", "stroke_width": "2.2"}
Size = tuple[float, float]


def names(sheet: Sheet, layout: Layout, board: Size, letter: float) -> None:
    """What each tube leads to, where it leaves the board; names of devices and zones on it."""
    for lead in layout.leads:
        above, below = _two_lines(layout, lead.open)
        _at_edge(sheet, lead.open.heading, lead.start, board, letter, above, below)
    for device in layout.devices:
        low = min(p.shape.bounds[1] for p in layout.pieces if p.owner == device.owner)
        down = any(o.heading == 270 for o in layout.opens if o.owner == device.owner)
        top = max(p.shape.bounds[3] for p in layout.pieces if p.owner == device.owner)
        y = top + 0.4 * letter if down else low - 1.1 * letter
        sheet.text(mm(device.x), y, short(device.owner, 22), letter, font_weight="bold", **HALO)
    for key, *_ in layout.needs.links:
        zone = layout.needs.zone(key)
        valve = next((p for p in layout.placed if p.zone == key), None)
        if valve and not any(o.zone == key for o in layout.opens):
            away = 0.9 * letter + max(abs(x) for s in valve.part.body for _, x in s.points)
            sideways = valve.turn % 180 == 90
            x = mm(valve.x) - (away if sideways else 0.0)
            y = mm(valve.y) - (0.35 * letter if sideways else away + 0.5 * letter)
            sheet.text(x, y, zone.code, letter, font_weight="bold", **HALO)


def _two_lines(layout: Layout, one: Open) -> tuple[str, str]:
    if one.zone:
        zone = layout.needs.zone(one.zone)
        return zone.code, zone.name
    if one.what.startswith("feed of "):
        return "feed", one.what.removeprefix("feed of ")
    return one.port, one.owner


def _at_edge(
    sheet: Sheet, heading: int, start: Size, board: Size, letter: float, above: str, below: str
) -> None:
    """Two lines outside the edge, read along it."""
    width, height = board
    dx, dy = DIRECTIONS[heading]
    first, second = 1.5 * letter, 0.4 * letter
    bold = {"font_weight": "bold"}
    if dy:
        edge = height if dy > 0 else 0.0
        up = (first, second) if dy > 0 else (-1.1 * letter, -2.2 * letter)
        sheet.text(start[0], edge + up[0], above, letter, **bold)
        sheet.text(start[0], edge + up[1], short(below, 13), 0.9 * letter)
    else:
        edge = width if dx > 0 else 0.0
        turn = "90" if dx > 0 else "-90"
        for away, words, size in ((first, above, letter), (second, short(below, 13), 0.9 * letter)):
            x = edge + away if dx > 0 else edge - away
            sheet.text(x, start[1], words, size, turn=turn, **(bold if words == above else {}))


def short(words: str, most: int) -> str:
    """A name cut to a length that fits its place."""
    return words if len(words) <= most else words[: most - 1] + "…"


def sizes_of(sheet: Sheet, layout: Layout, board: Size, letter: float, system: str) -> None:
    """The board's size, and where the valves and the headers are, from its left and lower edge."""
    width, height = board
    pen = _Pen(sheet, letter, system)
    pen.chain([0.0, width], -6.0 * letter, True)
    pen.chain([0.0, height], -6.0 * letter, False)
    for number, row in enumerate(layout.state.rows[:2]):
        valves = [p for p in layout.rows[row.manifold].placed if p.zone]
        across = [mm(p.x) for p in valves]
        up = [mm(p.y) for p in valves]
        (up if not row.upright else across).append(mm(row.x if row.upright else row.y))
        low = -4.2 * letter if number == 0 else width + 4.4 * letter
        below = -4.2 * letter if number == 0 else height + 4.2 * letter
        pen.chain([0.0, *_distinct(across)], below, True)
        pen.chain([0.0, *_distinct(up)], low, False)


def _distinct(places: list[float]) -> list[float]:
    """Places in order, those nearer than 1 mm to the one before left out."""
    found: list[float] = []
    for place in sorted(places):
        if not found or place - found[-1] > 1.0:
            found.append(place)
    return found


class _Pen:
    """Draws chains of dimensions."""

    def __init__(self, sheet: Sheet, letter: float, system: str) -> None:
        self.sheet, self.letter, self.system = sheet, letter, system

    def chain(self, stops: list[float], level: float, along: bool) -> None:
        """Dimensions between stops, on a line along the board or up it."""
        thin = {"stroke": INK, "stroke_width": "0.5"}
        tick, size = 0.35 * self.letter, self.letter
        for a, b in pairwise(stops):
            words = show((b - a) / 1000, "length", self.system, with_unit=False)
            middle = (a + b) / 2
            fits = b - a > 0.55 * size * len(words)  # or else it stands on the line's other side
            if along:
                self.sheet.line(a, level, b, level, **thin)
                beside = level + (0.25 if fits else -1.0) * self.letter
                self.sheet.text(middle, beside, words, size)
            else:
                self.sheet.line(level, a, level, b, **thin)
                beside = level + (-0.25 if fits else 1.0) * self.letter
                self.sheet.text(beside, middle, words, size, turn="-90")
        for stop in stops:
            if along:
                self.sheet.line(stop, level - tick, stop, level + tick, **thin)
            else:
                self.sheet.line(level - tick, stop, level + tick, stop, **thin)
