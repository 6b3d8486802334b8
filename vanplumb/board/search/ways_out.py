"""When the parts do not fit: what could be done, each way checked, and what it would change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...words.brief import brief
from ..lists.cuts import CutList
from ..parts.needs import Needs
from ..parts.parts import PartError
from ..place.layout import Layout, Problem
from ..place.state import Spot, mm
from .search import Found, Search, Stage
from .zone_order import BENT, HANDLES, LOWERED, PLAIN


@brief
@dataclass(frozen=True)
class WayOut:
    """One way, checked.  ``changes`` says what is done to what, ``layout`` how it looks.

    ``fits`` is True if nothing is in the way any more; else ``left`` is the worst that is.
    """

    name: str
    layout: Layout | None
    changes: tuple[str, ...]
    fits: bool
    left: str
    refused: str = ""


@dataclass(frozen=True)
class Change:
    """What another part, or another setting, changes: parts, sizes, cuts and what is wrong."""

    parts: tuple[tuple[str, int], ...]
    width: tuple[float, float]
    height: tuple[float, float]
    cuts: tuple[tuple[str, float | None, float | None], ...]
    problems: tuple[tuple[Problem, ...], tuple[Problem, ...]]


class _Turned(Search):
    """A search whose rows lie, or stand, whatever the fixtures' sides say."""

    upright = False

    def _ways_to_lie(self, name: str) -> tuple[bool, ...]:
        return (self.upright,)


class _Standing(_Turned):
    upright = True


ONE_SIDE = ((1,), (-1,))
SIMPLE = (
    Stage("handles turned", replace(HANDLES, order=False), sides=ONE_SIDE),
    Stage("levers cranked outwards or inwards", BENT, sides=ONE_SIDE),
    Stage("every second valve farther from its header", LOWERED, sides=ONE_SIDE),
    Stage("every second valve on the other side", HANDLES, sides=((1, -1),)),
    Stage("zones in another order", replace(PLAIN, order=True), sides=ONE_SIDE),
    Stage("two rows", HANDLES, two_rows=True, sides=()),
)


def ways_out(needs: Needs, found: Found | None = None) -> Iterator[WayOut]:
    """Every way in turn, each laid out and checked by itself against the plain rows.

    ``found`` is what a search for the same needs gave.
    """
    search = Search(needs, found.looked if found else None)
    plain = found.plain if found and found.plain else search.plain()
    for stage in SIMPLE:
        yield _try(stage.name, search, plain, stage)
    yield _try("header upright", _Standing(needs, search.looked), plain, Stage("", HANDLES))
    yield _try("header lying", _Turned(needs, search.looked), plain, Stage("", HANDLES))
    yield _trimmed(search, plain)
    yield from _other_parts(needs, plain)


def _try(name: str, search: Search, plain: Layout, stage: Stage) -> WayOut:
    layouts = search.at_stage(stage)
    if not layouts:
        return WayOut(name, None, (), False, "", "nothing to try")
    best = search.least_bad(layouts)
    return _judged(name, plain, best)


def _judged(name: str, plain: Layout, best: Layout) -> WayOut:
    worst = max(best.problems, key=lambda p: p.by, default=None)
    changes = tuple(setting_changes(plain, best))
    return WayOut(name, best, changes, best.good, worst.what if worst else "")


def _trimmed(search: Search, plain: Layout) -> WayOut:
    """Ends cut back, where the build file says of a part how much may be cut off."""
    name = "ends trimmed"
    used = {p.part.name for p in plain.placed if p.part.trim}
    if not used:
        return WayOut(name, None, (), False, "", "no part here may be trimmed: see trim in its row")
    return _try(name, search, plain, Stage(name, replace(HANDLES, trim=True)))


def _other_parts(needs: Needs, plain: Layout) -> Iterator[WayOut]:
    """Each other shut-off of the same function on all zones that have it now."""
    done: set[str] = set()
    for manifold in needs.manifolds:
        for zone in manifold.zones:
            now = needs.valve(zone)
            for part in needs.catalogue.find("valve", zone.tube):
                same = part.valve == now.valve
                if part.name == now.name or part.name in done or not same:
                    continue
                done.add(part.name)
                swapped = with_valves(needs, now.name, part.name)
                try:
                    search = Search(swapped)
                    layouts = search.at_stage(Stage("", HANDLES))
                except PartError as error:
                    yield WayOut(part.name, None, (), False, "", str(error))
                    continue
                yield _judged(f"{part.name} instead of {now.name}", plain,
                              search.least_bad(layouts))  # fmt: skip


def with_valves(needs: Needs, old: str, new: str) -> Needs:
    """The needs with one valve part replaced by another wherever it is used."""
    pins = replace(needs.pins, valve=dict(needs.pins.valve))
    for manifold in needs.manifolds:
        for zone in manifold.zones:
            if needs.valve(zone).name == old:
                pins.valve[zone.key] = new
    return replace(needs, pins=pins)


def setting_changes(before: Layout, after: Layout) -> Iterator[str]:
    """What is set otherwise, in words."""
    old = {s.zone: s for row in before.state.rows for s in row.spots}
    for row in after.state.rows:
        was = before.state.row(row.manifold)
        order = [s.zone for s in row.spots]
        if order != [s.zone for s in was.spots]:
            names = ", ".join(after.needs.zone(z).code for z in order)
            yield f"{row.manifold}: order {names}"
        if row.upright != was.upright:
            yield f"{row.manifold}: header {'upright' if row.upright else 'lying'}"
        if row.corner and not was.corner:
            yield f"{row.manifold}: two rows"
        for spot in row.spots:
            label = after.needs.zone(spot.zone).label
            yield from (f"{label}: {words}" for words in _spot_changes(old[spot.zone], spot))


def _spot_changes(was: Spot, now: Spot) -> Iterator[str]:
    if now.turned != was.turned:
        yield "handle turned"
    if now.bend != was.bend:
        yield f"tip bent {now.bend}" if now.bend != "flat" else "tip straight"
    if now.stub != was.stub:
        yield f"stub {mm(now.stub - was.stub):+.0f} mm"
    if now.side != was.side:
        yield "leaves on the other side"
    if now.valve != was.valve:
        yield now.valve


def compare(before: Layout, after: Layout) -> Change:
    """What changes from one layout to another, tube by tube and part by part."""
    parts = Counter(p.part.name for p in after.placed)
    parts.subtract(Counter(p.part.name for p in before.placed))
    old = {c.label: mm(c.length) for c in CutList(before).cuts}
    new = {c.label: mm(c.length) for c in CutList(after).cuts}
    cuts = tuple(
        (label, old.get(label), new.get(label))
        for label in dict.fromkeys([*old, *new])
        if old.get(label) != new.get(label)
    )
    return Change(
        tuple((name, many) for name, many in sorted(parts.items()) if many),
        (before.width, after.width),
        (before.height, after.height),
        cuts,
        (tuple(before.problems), tuple(after.problems)),
    )
