"""The smallest good board, and if there is none, what is in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import inf

from ..parts.needs import Needs
from ..place.arrange import (
    Placement,
    around_device,
    arranged,
    on_board,
    two_fed,
    with_devices,
    with_mounted,
)
from ..place.layout import ROUNDING, Layout, Problem
from ..place.mounting import asks, in_step, missed
from ..place.spacing import Spacer
from ..place.state import Row, State
from .zone_order import BENT, EVERYTHING, HANDLES, LOWERED, PLAIN, Chooser, Freedom

OFFERED = 16
"""How many rows of each manifold are tried with those of the others."""
LOOKED_AT = 10
"""How many whole boards are checked in full at each stage."""
AFTER_GOOD = 3
"""How many more are checked after the first good one."""


@dataclass(frozen=True)
class Stage:
    """One step of the search: what it may change beside the order of zones.

    ``sides`` are the sets of sides on which zones may leave (1 up or left, -1 down or right);
    with none only the two rows of a folded header are tried.
    """

    name: str
    freedom: Freedom
    two_rows: bool = False
    sides: tuple[tuple[int, ...], ...] = ((1,), (-1,), (1, -1))


STAGES = (
    Stage("order, sides and handles", HANDLES),
    Stage("two rows", HANDLES, two_rows=True),
    Stage("levers cranked", BENT),
    Stage("every second valve farther out", LOWERED),
    Stage("bent and farther out, two rows", EVERYTHING, two_rows=True),
)
STAGE_RANK = {"plain rows": 0, **{stage.name: n for n, stage in enumerate(STAGES, 1)}}


@dataclass
class Look:
    """What is known of a board: loose ends, and its area (mm²) and trouble where that is known.

    ``over`` is what its trouble is known to be more than.
    """

    loose: int
    over: float = -inf
    trouble: float | None = None
    area: float = 0.0


Looked = dict[State, Look]
"""What is known of the boards that a search has looked at: they come again at other stages."""


@dataclass(frozen=True)
class Found:
    """What a search gave: the layout, whether it is good, and at which stage it was found.

    ``plain_area`` is what a plain row of the same parts takes, ``least_area`` the smallest good
    board that was found, mm²; the layout may be a little larger for a plumber's habits.  ``plain``
    is that plain row, ``looked`` what was seen on the way: whoever looks on begins with them.
    """

    layout: Layout
    stage: str
    plain_area: float
    tried: int
    least_area: float = 0.0
    plain: Layout | None = field(default=None, repr=False, compare=False)
    looked: Looked = field(default_factory=dict, repr=False, compare=False)

    @property
    def good(self) -> bool:
        return self.layout.good

    @property
    def problems(self) -> list[Problem]:
        return self.layout.problems


class Search:
    """The search for one build; rows and spacings are kept between its steps."""

    def __init__(self, needs: Needs, looked: Looked | None = None) -> None:
        """``looked`` is what another search for the same needs has seen."""
        self.needs = needs
        self.looked: Looked = {} if looked is None else looked
        self.spacer = Spacer(needs)
        self.choosers = {m.name: Chooser(needs, self.spacer, m) for m in needs.manifolds}
        self.tried = 0

    def rows(self, name: str, stage: Stage) -> list[Row]:
        """The rows that one manifold offers at a stage, smallest first; the plain one too."""
        chooser = self.choosers[name]
        found: list[Row] = []
        for upright in self._ways_to_lie(name):
            fold = self.needs.pins.fold.get(name)
            if stage.two_rows or fold:
                two = chooser.two_rows(upright, stage.freedom)
                found += [two] if two else []
                if fold:
                    continue
            for allowed in stage.sides:
                if len(allowed) > 1 and chooser.manifold.form == "block":
                    continue
                for linked in self._ends_for_links(name):
                    for first in self._heater_at(name):
                        found.append(chooser.best(upright, allowed, stage.freedom, linked, first))
        if not self.needs.pins.fold.get(name) and stage.sides:
            found.append(self.spacer.plain[name])
        if len(self.needs.manifolds) > 1:
            found += [self.turned_round(row) for row in found if not row.corner]
        unique = list(dict.fromkeys(found))
        sizes = {row: self._size(row) for row in unique}
        return sorted(unique, key=lambda row: sizes[row])

    def _ways_to_lie(self, name: str) -> tuple[bool, ...]:
        """Lying (False), upright, or both: as pinned, else as most zones find their side."""
        pinned = self.needs.pins.upright.get(name)
        if pinned is not None:
            return (pinned,)
        zones = self.needs.manifold(name).zones
        level = sum(z.leaves in ("left", "right") for z in zones)
        plumb = sum(z.leaves in ("up", "down") for z in zones)
        if level == plumb:
            return (False, True)
        return (level > plumb,)

    def _ends_for_links(self, name: str) -> tuple[int, ...]:
        """Where zones that feed a device of the board are tried: anywhere, or at either end."""
        links = [key for key, *_ in self.needs.links if self.needs.zone(key).manifold == name]
        return (-1, 1) if links else (0,)

    def _heater_at(self, name: str) -> tuple[int, ...]:
        """Where the heater's zone is tried: anywhere, first, last for a row fed from there."""
        own = {z.key for z in self.needs.manifold(name).zones}
        if not own & self.needs.heater_zones or name in self.needs.pins.order:
            return (0,)
        return (0, -1, 1) if len(self.needs.manifolds) > 1 else (0, -1)

    def turned_round(self, row: Row) -> Row:
        """The same zones with the feed at the other end, so that left and right stay."""
        chooser = self.choosers[row.manifold]
        names = [s.zone for s in reversed(row.spots)]
        fresh = chooser.again(names, list(reversed(row.spots)))
        return self.spacer.settle(replace(fresh, upright=row.upright, backward=not row.backward))

    def _size(self, row: Row) -> tuple[bool, float]:
        layout = Layout(self.needs, State((row,)))
        return layout.collides, round(layout.area, 3)

    def offered(self, name: str, stage: Stage) -> list[Row]:
        """The few smallest rows, with the best upright and the best lying one among them."""
        rows = self.rows(name, stage)
        if len(self.needs.manifolds) == 1 and not self.needs.heater_zones:
            return rows
        chosen: dict[tuple[object, ...], Row] = {}
        for row in rows:
            sides = {s.side for s in row.spots}
            side = 0 if len(sides) > 1 else sides.pop()
            ends = tuple(self._is_linked(row.spots[i].zone) for i in (0, -1))
            first = row.spots[0].zone in self.needs.heater_zones
            kind = (row.upright, row.backward, side, bool(row.corner), ends, first)
            chosen.setdefault(kind, row)
        if self.needs.heater_zones:  # so that both sorts are among the few
            ranked = sorted(chosen.items(), key=lambda item: not item[0][-1])
            half = OFFERED // 2
            few = [row for kind, row in ranked if kind[-1]][:half]
            return few + [row for row in chosen.values() if row not in few][: OFFERED - len(few)]
        return list(chosen.values())[:OFFERED]

    def _is_linked(self, zone: str) -> bool:
        return any(key == zone for key, *_ in self.needs.links)

    def boards(self, rows: Sequence[Sequence[Row]]) -> list[Layout]:
        """Whole boards made of these rows, the likely best first; none if a row has no form."""
        if not all(rows):
            return []
        start: list[Placement] = []
        device = two_fed(self.needs)
        if device and not self.needs.pins.at:
            offered = {own[0].manifold: own for own in rows}
            found = around_device(self.needs, device, offered)
            start = with_mounted(self.needs, found, LOOKED_AT)
            done = {b.item.manifold for p in start for b in p.blocks if isinstance(b.item, Row)}
            if start:
                rows = [own for own in rows if own[0].manifold not in done]
        placements = with_devices(self.needs, arranged(self.needs, rows, start))
        placements = with_mounted(self.needs, placements, LOOKED_AT)
        return [Layout(self.needs, on_board(self.needs, p)) for p in placements]

    def plain(self) -> Layout:
        """Plain rows put together: file order, valves as bought, one way."""
        rows: list[list[Row]] = []
        for manifold in self.needs.manifolds:
            row = self.spacer.plain[manifold.name]
            rows.append([row, self.turned_round(row)] if rows else [row])
        return self.least_bad(self.boards(rows))

    def at_stage(self, stage: Stage) -> list[Layout]:
        """The boards of one stage."""
        return self.boards([self.offered(m.name, stage) for m in self.needs.manifolds])

    def least_bad(self, layouts: Sequence[Layout]) -> Layout:
        """A good one with all links if there is one, the smallest; else the least bad.

        They come smallest first by their outlines, so a few after the first good one are enough.
        One that is worse than the best so far is looked at no further than to know that.
        """
        best: tuple[tuple[bool, int, float, float], int] | None = None
        more = LOOKED_AT
        for number, layout in enumerate(layouts):
            if not more:
                break
            self.tried += 1
            look = self._look(layout)
            most = _most(best and best[0], look.loose)
            trouble = self._trouble(layout, look, most)
            if trouble is not None:
                one = ((trouble > 0, look.loose, trouble, look.area), number)
                best = one if best is None else min(best, one)
            good = trouble == 0 and not look.loose
            more = min(more - 1, AFTER_GOOD) if good or more <= AFTER_GOOD else more - 1
        assert best is not None
        return layouts[best[1]]

    def _look(self, layout: Layout) -> Look:
        if layout.state not in self.looked:
            self.looked[layout.state] = Look(len(layout.unlinked))
        return self.looked[layout.state]

    def _trouble(self, layout: Layout, look: Look, most: float) -> float | None:
        """As ``Layout.trouble``, worked out once."""
        if look.trouble is None and most > look.over:
            look.trouble = layout.trouble(most)
            if look.trouble is None:
                look.over = most
            else:
                look.area = layout.area
        known = look.trouble
        return known if known is not None and known <= most + ROUNDING else None

    def best(self, smallest: bool = False) -> Found:
        """The smallest good board that the plainest means give, never larger than plain rows.

        But for habits of mounting, which may cost the share of room that the rules allow.

        Each stage allows more than the one before.  The search ends with the first stage that
        has a good board no larger than the plain rows, or, for ``smallest``, after the last.
        """
        plain = self.plain()
        found = [] if any(self.needs.pins.fold.values()) else [("plain rows", plain)]
        for stage in STAGES:
            layouts = self.at_stage(stage)
            found.append((stage.name, self.least_bad(layouts)))
            found += [(stage.name, kept) for kept in self._mounted(layouts, found[-1][1])]
            good = [f for f in found if f[1].good]
            if good and not smallest and min(f[1].area for f in good) <= plain.area + 1.0:
                break
        pool = [f for f in found if f[1].good]
        if pool:
            unlinked = min(len(f[1].unlinked) for f in pool)
            pool = [f for f in pool if len(f[1].unlinked) == unlinked]
            name, best = self._chosen(pool)
            least = min(f[1].area for f in pool)
        else:
            name, best = "nothing fits", self.least_bad([f[1] for f in found])
            least = best.area
        return Found(self._in_step(best), name, plain.area, self.tried, least, plain, self.looked)

    def _in_step(self, layout: Layout) -> Layout:
        """The layout with its hot zones in the order of the cold ones, if nothing is the worse."""
        state = in_step(self.needs, self.spacer, layout.state)
        if state == layout.state:
            return layout
        other = Layout(self.needs, state)
        worse = len(other.problems) > len(layout.problems) or other.area > layout.area + 1e-6
        return layout if worse else other

    def _mounted(self, layouts: Sequence[Layout], best: Layout) -> list[Layout]:
        """The best of those that keep more of a plumber's habits than the best does."""
        if not asks(self.needs):
            return []
        had = missed(self.needs, best.state)
        better: dict[int, list[Layout]] = {}
        for layout in layouts:
            count = missed(self.needs, layout.state)
            if count < had:
                better.setdefault(count, []).append(layout)
        return [self.least_bad(some) for some in better.values()]

    def _chosen(self, pool: Sequence[tuple[str, Layout]]) -> tuple[str, Layout]:
        """The one that keeps most habits for a little more room; of equals the smallest."""
        least = min(layout.area for _, layout in pool)
        room = least * (1 + self.needs.more_room) + 1.0
        near = [f for f in pool if f[1].area <= room] if asks(self.needs) else pool

        def order(found: tuple[str, Layout]) -> tuple[int, int, int]:
            name, layout = found
            return missed(self.needs, layout.state), round(layout.area), STAGE_RANK[name]

        return min(near, key=order)


def _most(best: tuple[bool, int, float, float] | None, loose: int) -> float:
    """The trouble that a board with so many loose ends may have and yet be better than the best."""
    if best is None:
        return inf
    bad, least_loose, trouble, _ = best
    if not bad:
        return 0.0
    return inf if loose < least_loose else trouble if loose == least_loose else 0.0


__all__ = ["PLAIN", "STAGES", "Found", "Looked", "Search", "Stage"]
