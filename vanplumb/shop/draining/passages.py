"""A build as spots and passages that water stands in, with everything open that opens by hand.

Runs fall or rise evenly from end to end.  Where a board is laid out its parts stand as they do
there, hung upright, its first manifold as high as the runs say.  Taps, drains, shut-offs and
zones are open, strainers have their bowls off, and what has a drain of its own has it open.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import hypot, pi
from typing import TYPE_CHECKING

from ...board.as_laid import runs_on_board
from ...board.place.state import mm
from ...flow.components import OWN_CHECK, SHUT_REST
from ...formulas.tube import tube_content
from ...formulas.water import DENSITY_ROOM
from ...van.heights import heights
from ...van.kinds import heaters, line_parts, pumps
from ...van.pointers import ports
from ...van.water_held import VALVED, header_stretches, part_content
from ...van.wiring import place, run_words, tank_words
from ...words.brief import brief
from ...words.glossary import GRAVITY
from ...words.tables import table
from .levels import Passage

if TYPE_CHECKING:
    from ...board.place.rows import Placed
    from ...board.plan import BoardPlan
    from ...van.model import Build
    from ...van.parts import Manifold


@brief
@dataclass
class Standing:
    """Spots with their heights in m, passages, and mouths with what is opened there, in words.

    ``off`` tells by how much, in m, parts stand higher on the board than their runs say;
    ``in_headers`` what headers, stubs and zones' valves of the board hold, m³.
    """

    build: Build
    heights: dict[str, float] = field(default_factory=dict)
    passages: list[Passage] = field(default_factory=list)
    mouths: dict[str, str] = field(default_factory=dict)
    on_board: set[str] = field(default_factory=set)
    off: dict[str, float] = field(default_factory=dict)
    in_headers: float = 0.0

    def words(self, spot: str) -> str:
        """A spot as a reader is told it."""
        name = spot.partition("|")[0]
        told = place(self.build, name) if name.partition(".")[0] in self._names else name
        return f"{told}, on the board" if spot in self.on_board else told

    @property
    def _names(self) -> set[str]:
        return {one.name for one in self.build.components}


def standing(build: Build, board: BoardPlan | None = None) -> Standing:
    """What water stands in and where it can get out."""
    made = Standing(build)
    linked: set[int] = set()
    if board is not None and not board.trouble:
        linked = _laid_out(made, board)
    _components(made)
    tubes = table("tubes", build.rows)
    for number, (run, (start, end)) in enumerate(zip(build.run, build.run_ends, strict=True)):
        if number in linked:
            continue
        volume = float(tube_content.si(tubes[run.tube].number("bore"), run.length))
        made.passages.append(Passage(str(start), str(end), volume, run_words(build, number)))
    return made


def _column(pressure: float) -> float:
    """Height of the water that a spring holds back, m."""
    return float(pressure) / (DENSITY_ROOM * GRAVITY)


def _components(made: Standing) -> None:
    """Every part that no board lays out: its ports, what it lets through, where it opens."""
    build, add = made.build, made.passages.append
    high = heights(build)
    for one in build.components:
        inlets, outlets = ports(build, one)
        for port in (*inlets, *outlets):
            made.heights.setdefault(f"{one.name}.{port}", float(high[one.name]))
    for one in (*build.strainer, *build.shut_off):
        held = part_content(build, one)
        add(Passage(f"{one.name}.inlet", f"{one.name}.outlet", held, one.name))
    for part in build.line_part:
        start, end = f"{part.name}.inlet", f"{part.name}.outlet"
        add(Passage(start, end, line_parts.content(build, part), part.name))
        if line_parts.row_of(build, part)["opened"]:
            made.mouths[start] = f"{part.name}, bowl off"
    for selector in build.tank_selector:
        for port in selector.inlets:
            add(Passage(f"{selector.name}.{port}", f"{selector.name}.outlet"))
    for circulator in build.recirculation_pump:
        add(_valve(circulator.name, True, 0.0, "check of"))
    for strainer in build.strainer:
        made.mouths[f"{strainer.name}.inlet"] = f"{strainer.name}, bowl off"
    for pump in build.pump:
        add(_valve(pump.name, pumps.has_check(build, pump), SHUT_REST, "valves of"))
    for hung, tank in build.hung_pumps.items():
        add(Passage(f"{tank}.outlet", f"{hung}.inlet"))
    for check in build.check_valve:
        barred = _valve(check.name, True, check.cracking, "")
        if check.reversed:
            barred = replace(barred, start=barred.end, end=barred.start)
        add(barred)
    for regulator in build.regulator:
        add(_valve(regulator.name, True, 0.0, ""))
    for heater in build.heater:
        cold, hot = f"{heater.name}.cold", f"{heater.name}.hot"
        add(Passage(cold, hot, float(heaters.content(heater)), heater.name))
        if heater.bypass != "none":
            add(Passage(cold, hot))
        if heaters.has_drain(heater):
            made.mouths[cold] = f"{heater.name}, by its drain, once it is cold"
    for valve in build.mixing_valve:
        for side, checked in (("hot", valve.hot_check), ("cold", valve.cold_check)):
            start, end = f"{valve.name}.{side}", f"{valve.name}.mixed"
            why = f"check valve at the {side} inlet of {valve.name}" if checked else ""
            column = _column(OWN_CHECK) if checked else 0.0
            add(Passage(start, end, 0.0, "", checked, column, why))
    for manifold in build.manifold:
        if f"{manifold.name}.inlet" not in made.on_board:
            _header(made, manifold)
    _mouths(made)


def _header(made: Standing, manifold: Manifold) -> None:
    """A header that no board lays out: it lies level, from its feed past each zone's fitting."""
    here = f"{manifold.name}.inlet"
    last = made.heights[here]
    for number, one in enumerate(header_stretches(made.build, manifold)):
        out = f"{manifold.name}.{one.zones[0]}" if one.zones else f"{manifold.name}|plug"
        if one.zones and one.name.endswith(VALVED):
            made.passages.append(Passage(here, out, one.volume, one.name))
            continue
        there = f"{manifold.name}|{number}" if one.zones else out
        made.heights[there] = last
        made.passages.append(Passage(here, there, one.volume, one.name))
        here = there


def _valve(name: str, one_way: bool, pressure: float, what: str) -> Passage:
    column = _column(pressure) if one_way else 0.0
    why = f"{what} {name}".strip() if one_way else ""
    return Passage(f"{name}.inlet", f"{name}.outlet", 0.0, "", one_way, column, why)


def _mouths(made: Standing) -> None:
    """Where the system is open to the air once all that opens by hand is open."""
    build, joined = made.build, {str(port) for pair in made.build.run_ends for port in pair}
    for tank in build.tank:
        for port in (*tank.inlets, *tank.outlets):
            made.mouths[f"{tank.name}.{port}"] = tank_words(tank.name)
    for drain in build.drain_valve:
        made.mouths[f"{drain.name}.inlet"] = drain.name
    for vent in build.air_vent:
        made.mouths[f"{vent.name}.inlet"] = vent.name
    for shore in build.shore_inlet:
        if shore.backflow != "double check":
            made.mouths[f"{shore.name}.outlet"] = f"{shore.name}, cap off"
    for fixture in build.fixture:
        used = [f"{fixture.name}.{p}" for p in fixture.inlets if f"{fixture.name}.{p}" in joined]
        for spot in used:
            made.mouths[spot] = fixture.name


def _laid_out(made: Standing, board: BoardPlan) -> set[int]:
    """The parts of a board in their places.  Gives the numbers of the runs that lie on it."""
    build, layout = made.build, board.layout
    high = heights(build)
    feeds = {one.feeds: one for one in layout.opens if one.feeds}
    first = next((m.name for m in build.manifold if m.name in feeds), None)
    if first is None:
        return set()
    base = float(high[first]) - mm(feeds[first].y) / 1000
    devices = board.needs.hung
    fed = {m.isolator.name: m.name for m in board.needs.manifolds if m.isolator}
    valves = {name: valve for valve, name in fed.items()}
    bores = {t: float(row.number("bore")) for t, row in table("tubes", build.rows).items()}
    places = {p.owner: p for p in layout.placed}
    corners = {elbow.owner for link in layout.links for elbow in link.elbows}
    lengths = {cut.label: cut.length for cut in board.cut_list.cuts}
    axes: dict[str, set[tuple[int, int]]] = {}

    def spot(name: str, y: int) -> str:
        made.heights[name] = base + mm(y) / 1000
        made.on_board.add(name)
        return name

    def at_part(owner: str, port: str, x: int, y: int, tube: str, name: str = "") -> str:
        """Where a tube stops at a part; water stands in the part up to its centre."""
        if owner in devices:
            return spot(f"{owner}.{port}", y)
        end = spot(name or f"{owner}|{port}", y)
        part = places[owner]
        its = next((one for one in part.part.ports if one.name == port), None)
        at = part.centre(its) if its is not None else (part.x, part.y)
        middle = spot(axis_spot(part, at), at[1])
        axes.setdefault(owner, {at})
        axes[owner].add(at)
        far = hypot(mm(at[0] - x), mm(at[1] - y)) / 1000
        held = pi / 4 * bores[tube] ** 2 * far
        made.passages.append(Passage(end, middle, held, owner, on_board=True))
        made.in_headers += held if owner not in corners else 0.0
        return end

    def axis_spot(part: Placed, at: tuple[int, int]) -> str:
        """Where a port branches off inside a part: its middle, but along a ready header."""
        return part.owner if at == (part.x, part.y) else f"{part.owner}|{at[0]},{at[1]}"

    for tube in layout.tubes:
        (ax, ay), (bx, by) = tube.points[0], tube.points[-1]
        way = [at_part(*tube.one, ax, ay, tube.tube)]
        way += [spot(f"{tube.owner}|{n}", y) for n, (_, y) in enumerate(tube.points[1:-1], 1)]
        inlet = f"{fed[tube.one[0]]}.inlet" if tube.kind == "feed" else ""
        way.append(at_part(*tube.other, bx, by, tube.tube, inlet))
        steps = [
            hypot(x - u, y - v)
            for (x, y), (u, v) in zip(tube.points, tube.points[1:], strict=False)
        ]
        whole = pi / 4 * bores[tube.tube] ** 2 * mm(lengths[tube.owner]) / 1000
        made.in_headers += whole if tube.kind not in ("link", "feed") else 0.0
        for a, b, step in zip(way, way[1:], steps, strict=False):
            share = step / sum(steps) if sum(steps) else 0.0
            made.passages.append(Passage(a, b, whole * share, tube.owner, on_board=True))
    for one in layout.opens:
        name = f"{valves.get(one.feeds, one.feeds)}.inlet" if one.feeds else one.zone
        at_part(one.owner, one.port, one.x, one.y, one.tube, name)
    for manifold in build.manifold:
        row = layout.rows.get(manifold.name)
        for part in row.placed if row is not None else ():
            inside = sorted(axes.get(part.owner, ()))
            for this_at, next_at in pairwise(inside):
                far = mm(next_at[0] - this_at[0] + next_at[1] - this_at[1]) / 1000
                held = pi / 4 * bores[manifold.tube] ** 2 * far
                spots = axis_spot(part, this_at), axis_spot(part, next_at)
                made.passages.append(Passage(*spots, held, part.owner, on_board=True))
                made.in_headers += held
    for name in (*feeds, *devices):
        here = [made.heights[s] for s in made.on_board if s.partition(".")[0] == name and "." in s]
        if name in feeds:
            here = [made.heights[f"{name}.inlet"]]
        if here and name != first:
            made.off[name] = sum(here) / len(here) - float(high[name])
    return set(runs_on_board(build, board))
