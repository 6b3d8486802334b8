"""Changes by hand: drag a valve, turn or bend its handle, swap its part; each gives a new state.

What is dragged is "zone:<manifold.zone>", "row:<manifold>" or "device:<name>".  Lengths move in
steps of the rule that is cut by, and never below nothing; whether they are long enough is told
by the layout.
"""

from __future__ import annotations

from dataclasses import replace

from ..parts.needs import Needs
from ..parts.parts import Part, PartError
from ..parts.shapes import BENDS
from ..place.layout import Layout
from ..place.rows import DIRECTIONS
from ..place.spacing import Spacer
from ..place.state import Device, Row, Spot, State, ticks

SNAP = 5.0
"""mm within which a dragged device jumps into line with the zone that feeds it."""


def stepped(length: int, grid: int) -> int:
    """The nearest whole number of grid steps."""
    return round(length / grid) * grid


def dragged(needs: Needs, state: State, what: str, dx: int, dy: int) -> State:
    """The state after something was dragged by so many ticks.  KeyError for an unknown thing."""
    kind, _, name = what.partition(":")
    if kind == "zone":
        return _drag_zone(needs, state, name, dx, dy)
    if kind == "row":
        row = state.row(name)
        x, y = stepped(dx, needs.grid), stepped(dy, needs.grid)
        return state.with_row(replace(row, x=row.x + x, y=row.y + y))
    if kind == "device":
        return _drag_device(needs, state, name, dx, dy)
    raise KeyError(what)


def _drag_zone(needs: Needs, state: State, zone: str, dx: int, dy: int) -> State:
    """Along the header the tubes on both sides give and take; across it the stub does."""
    row, index = state.find(zone)
    spot = row.spots[index]
    along, across = (dy, -dx) if row.upright else (dx, dy)
    way = -1 if bool(spot.fold) != row.backward else 1
    row = _slide(needs, row, index, stepped(along, needs.grid), way)
    stub = max(0, spot.stub + spot.side * stepped(across, needs.grid))
    return state.with_row(row.with_spot(index, stub=stub))


def _slide(needs: Needs, row: Row, index: int, along: int, way: int) -> Row:
    spot = row.spots[index]
    if not spot.node or needs.catalogue[spot.node].kind == "header":
        return row  # an outlet of a ready header stays where it is
    nexts = [
        k for k in range(index + 1, len(row.spots))
        if row.spots[k].fold == spot.fold and row.spots[k].node
    ]  # fmt: skip
    step = along * way
    if index:
        step = max(step, -spot.gap)
    if nexts:
        step = min(step, row.spots[nexts[0]].gap)
    elif row.corner and not spot.fold:
        step = min(step, row.fold_gap)
    if nexts:
        row = row.with_spot(nexts[0], gap=row.spots[nexts[0]].gap - step)
    elif row.corner and not spot.fold:
        row = replace(row, fold_gap=row.fold_gap - step)
    if index:
        return row.with_spot(index, gap=spot.gap + step)
    move = step * way
    return replace(row, y=row.y + move) if row.upright else replace(row, x=row.x + move)


def _drag_device(needs: Needs, state: State, name: str, dx: int, dy: int) -> State:
    device = _device(state, name)
    moved = replace(
        device, x=device.x + stepped(dx, needs.grid), y=device.y + stepped(dy, needs.grid)
    )
    return state.with_device(_into_line(needs, state, moved))


def _into_line(needs: Needs, state: State, device: Device) -> Device:
    """The device shifted a little, so that a port of it faces the zone that feeds it."""
    rows = Layout(needs, replace(state, devices=()))
    alone = Layout(needs, State((), (device,)))
    for key, name, port in needs.links:
        if name != device.name:
            continue
        zone = next((o for o in rows.opens if o.zone == key), None)
        end = next((o for o in alone.opens if o.port == port), None)
        if zone is None or end is None or (zone.heading - end.heading) % 360 != 180:
            continue
        level = bool(DIRECTIONS[zone.heading][0])
        x, y = (0, zone.y - end.y) if level else (zone.x - end.x, 0)
        if max(abs(x), abs(y)) <= ticks(SNAP):
            return replace(device, x=device.x + x, y=device.y + y)
    return device


def _device(state: State, name: str) -> Device:
    for device in state.devices:
        if device.name == name:
            return device
    raise KeyError(name)


def turned(state: State, zone: str) -> State:
    """The handle of a zone's valve turned end for end on its stem."""
    row, index = state.find(zone)
    return state.with_row(row.with_spot(index, turned=not row.spots[index].turned))


def bent(needs: Needs, state: State, zone: str, bend: str) -> State:
    """The tip of a handle bent "forward", "back", or "flat" again.

    PartError if the table does not say that it may be bent; ValueError for another word.
    """
    row, index = state.find(zone)
    handle = needs.catalogue[row.spots[index].valve].handle
    if bend not in BENDS:
        raise ValueError(f"a handle is {', '.join(BENDS)}, not {bend!r}")
    if bend != "flat" and (handle is None or not handle.bend):
        raise PartError(f"{row.spots[index].valve}: its handle must not be bent (handle_bend)")
    return state.with_row(row.with_spot(index, bend=bend))


def other_side(state: State, zone: str) -> State:
    """The zone on the other side of its header; on a ready header all of its zones."""
    row, index = state.find(zone)
    side = -row.spots[index].side
    if all(s.node for s in row.spots):
        return state.with_row(row.with_spot(index, side=side))
    return state.with_row(replace(row, spots=tuple(replace(s, side=side) for s in row.spots)))


def swapped(needs: Needs, state: State, zone: str, part: str) -> State:
    """Another shut-off for a zone.  PartError if it is none for that tube."""
    row, index = state.find(zone)
    fitting = [p.name for p in valves_for(needs, zone)]
    if part.removesuffix(", trimmed") not in fitting:
        tube = needs.zone(zone).tube
        raise PartError(f"{part!r} is no shut-off for {tube}; there are {', '.join(fitting)}")
    return state.with_row(row.with_spot(index, valve=part))


def valves_for(needs: Needs, zone: str) -> tuple[Part, ...]:
    """The shut-offs that a zone can have."""
    return needs.catalogue.find("valve", needs.zone(zone).tube)


def moved_in_order(needs: Needs, state: State, zone: str, places: int) -> State:
    """The zone some places further along its row, or back; others close up behind it."""
    row, index = state.find(zone)
    to = min(max(index + places, 0), len(row.spots) - 1)
    own = list(row.spots)
    own.insert(to, own.pop(index))
    spots = []
    for place, taken in zip(row.spots, own, strict=True):
        node = _node_like(needs, row, place, taken)
        side = taken.side if not row.corner else place.side
        spots.append(replace(taken, node=node, gap=place.gap, fold=place.fold, side=side))
    return state.with_row(replace(row, spots=tuple(spots)))


def _node_like(needs: Needs, row: Row, place: Spot, taken: Spot) -> str:
    """The fitting of a place, with a branch for the tube of the zone that comes there."""
    if not place.node:
        return ""
    kind = needs.catalogue[place.node].kind
    if kind == "header":
        return place.node
    manifold = needs.manifold(row.manifold)
    return needs.catalogue.first(kind, manifold.tube, needs.zone(taken.zone).tube).name


def device_turned(state: State, name: str) -> State:
    """A device turned by a quarter to the left."""
    device = _device(state, name)
    return state.with_device(replace(device, turn=(device.turn + 90) % 360))


def closed_up(needs: Needs, state: State) -> State:
    """Every row with its tubes as short as its parts, set as they are, allow."""
    spacer = Spacer(needs)
    return replace(state, rows=tuple(spacer.settle(row) for row in state.rows))
