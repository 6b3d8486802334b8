"""A device between two rows that feed it, such as a mixing valve: placed so that tubes reach it.

Each of its two tubes is straight or has one elbow, and its lengths are chosen, so the second
row's place follows from the device's, and the device's from the first row's.

Rows and devices put together on one board, as close as they may stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from math import ceil, inf

import numpy as np
from numpy.typing import NDArray

from ..parts.needs import DeviceNeed, Needs
from ..parts.parts import PartError
from ..parts.shapes import BODY, KEPT, LEAD, SWEEP, TOOL
from .collide import ABOVE
from .layout import Layout, strip
from .making import tool_piece
from .mounting import asks, missed
from .rows import DIRECTIONS, Open
from .state import TICK, Device, Row, State, mm, ticks, up_to

Array = NDArray[np.float64]

LONG = 3000.0
"""mm: a leaving tube, for as long as the board's edge is not known."""
WAYS = ((0, -1), (0, 1), (1, 0), (-1, 0))
KEEP = 16
"""How many half-done boards are followed further."""
TRIED = 14
"""How many boards with a device are looked at whole."""

_NUMBERS = count()
_PAIRS: dict[tuple[int, int], _Pairs] = {}


@dataclass(frozen=True)
class Block:
    """A row or a device as one thing to be placed, as rectangles around its pieces.

    ``boxes`` has left, bottom, right, top, low, high of each (mm); ``roles`` what each is;
    ``number`` stays when it is moved.
    """

    number: int
    item: Row | Device
    boxes: Array
    roles: NDArray[np.intp]
    bounds: tuple[float, float, float, float]

    def moved(self, x: int, y: int) -> Block:
        """The block moved by whole ticks."""
        dx, dy = mm(x), mm(y)
        x0, y0, x1, y1 = self.bounds
        return Block(
            self.number,
            replace(self.item, x=self.item.x + x, y=self.item.y + y),
            self.boxes + np.array([dx, dy, dx, dy, 0.0, 0.0]),
            self.roles,
            (x0 + dx, y0 + dy, x1 + dx, y1 + dy),
        )


def block_of(needs: Needs, item: Row | Device) -> Block:
    """A row or a device with its leaving tubes drawn long, and room where a link will start."""
    state = State((item,)) if isinstance(item, Row) else State((), (item,))
    layout = Layout(needs, state)
    linked = [o for o in layout.opens if is_linked(needs, o)]
    clips = {f"{o.what} clip" for o in linked}
    found: list[tuple[float, ...]] = []
    roles: list[int] = []
    for piece in layout.pieces:
        if piece.role != LEAD and piece.owner not in clips:
            found.append((*piece.shape.bounds, piece.low, piece.high))
            roles.append(piece.role)
    height = needs.tube_height
    for one in layout.opens:
        half, far, role = one.outside / 2, LONG, LEAD
        if one in linked:
            half, role = one.outside * 0.7, KEPT
            far = mm(needs.least(one.tube, one.insertion, one.insertion)) + 2 * one.outside
        dx, dy = DIRECTIONS[one.heading]
        x, y = mm(one.x), mm(one.y)
        bounds = strip(x, y, x + dx * far, y + dy * far, half).bounds
        found.append((*bounds, height - half, height + half))
        roles.append(role)
        if role == LEAD:
            tool = tool_piece(layout, one)
            found.append((*tool.shape.bounds, tool.low, tool.high))
            roles.append(TOOL)
    boxes, kinds = np.array(found), np.array(roles)
    solid = boxes[(kinds == BODY) | (kinds == SWEEP)]
    low, high = solid[:, :2].min(axis=0), solid[:, 2:4].max(axis=0)
    bounds = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    return Block(next(_NUMBERS), item, boxes, kinds, bounds)


def is_linked(needs: Needs, one: Open) -> bool:
    """Whether a tube on the board will go from this port to another of the same board."""
    return any(
        one.zone == key or (one.owner, one.port) == (device, port)
        for key, device, port in needs.links
    )


@dataclass(frozen=True)
class _Pairs:
    """Rectangles of two blocks that must keep apart: which of one, which of the other, how far."""

    one: NDArray[np.intp]
    other: NDArray[np.intp]
    need: Array
    leads: NDArray[np.bool_]
    kept: NDArray[np.bool_]


def _pairs(needs: Needs, one: Block, other: Block) -> _Pairs:
    key = (one.number, other.number)
    if key in _PAIRS:
        return _PAIRS[key]
    if len(_PAIRS) > 4000:
        _PAIRS.clear()
    need = needs.room.table[one.roles[:, None], other.roles[None, :]]
    above = np.where(need > 0, ABOVE, 0.0)
    a, b = one.boxes[:, None, :], other.boxes[None, :, :]
    passes = (a[..., 4] >= b[..., 5] + above) | (b[..., 4] >= a[..., 5] + above)
    i, j = np.nonzero(~passes & (need >= 0))
    roles = np.stack([one.roles[i], other.roles[j]])
    _PAIRS[key] = _Pairs(i, j, need[i, j], (roles == LEAD).any(axis=0), (roles == KEPT).any(axis=0))
    return _PAIRS[key]


def clear_of(
    needs: Needs, placed: Iterable[Block], block: Block, x: int, y: int, leads: bool = True
) -> float:
    """How far ``block`` must go in a direction to be and stay clear of all placed ones, mm."""
    best = -inf
    near, far = (1, 3) if x else (0, 2)
    for other in placed:
        pairs = _pairs(needs, other, block)
        a, b, one, two, need = other.boxes, block.boxes, pairs.one, pairs.other, pairs.need
        meet = a[:, near][one] < b[:, far][two] + need
        meet &= b[:, near][two] < a[:, far][one] + need
        if not leads:
            meet &= ~pairs.leads
        some = np.flatnonzero(meet)
        if not some.size:
            continue
        one, two = one[some], two[some]
        low = 0 if x else 1
        if x + y > 0:
            move = a[:, low + 2][one] - b[:, low][two]
        else:
            move = b[:, low + 2][two] - a[:, low][one]
        best = max(best, float((move + need[some]).max()))
    return best


def is_clear(needs: Needs, placed: Iterable[Block], block: Block) -> bool:
    """Whether a block in its place keeps clear of all placed ones; links may still find none."""
    for other in placed:
        pairs = _pairs(needs, other, block)
        a, b, one, two, need = other.boxes, block.boxes, pairs.one, pairs.other, pairs.need
        meet = a[:, 0][one] < b[:, 2][two] + need
        meet &= b[:, 0][two] < a[:, 2][one] + need
        if not meet.any():
            continue
        meet &= a[:, 1][one] < b[:, 3][two] + need
        meet &= b[:, 1][two] < a[:, 3][one] + need
        if bool((meet & ~pairs.kept).any()):
            return False
    return True


@dataclass(frozen=True)
class Placement:
    """Some blocks in their places."""

    blocks: tuple[Block, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        return (
            min(b.bounds[0] for b in self.blocks),
            min(b.bounds[1] for b in self.blocks),
            max(b.bounds[2] for b in self.blocks),
            max(b.bounds[3] for b in self.blocks),
        )

    @property
    def area(self) -> float:
        x0, y0, x1, y1 = self.bounds
        return (x1 - x0) * (y1 - y0)

    def excess(self, needs: Needs) -> float:
        """mm by which it is wider and higher than the board inside its margins."""
        x0, y0, x1, y1 = self.bounds
        if not (needs.width and needs.height):
            return 0.0
        wide = max(0.0, x1 - x0 - (needs.width - 2 * needs.margin))
        return wide + max(0.0, y1 - y0 - (needs.height - 2 * needs.margin))

    @property
    def state(self) -> State:
        """Where everything stands, on a board of no size yet."""
        return _state(self.blocks, 0.0, 0.0)

    def with_block(self, block: Block) -> Placement:
        return Placement((*self.blocks, block))


def beside(
    needs: Needs, placement: Placement, block: Block, leads: bool = True
) -> Iterator[Placement]:
    """The block against each side of what is placed, aligned left, right, in the middle.

    Without ``leads`` the tubes that leave are not looked at.
    """
    px0, py0, px1, py1 = placement.bounds
    bx0, by0, bx1, by1 = block.bounds
    for x, y in WAYS:
        if y:
            shifts = (px0 - bx0, px1 - bx1, (px0 + px1 - bx0 - bx1) / 2)
        else:
            shifts = (py0 - by0, py1 - by1, (py0 + py1 - by0 - by1) / 2)
        for shift in dict.fromkeys(round(s, 3) for s in shifts):
            across = up_to(ticks(shift), needs.grid)
            aligned = block.moved(across, 0) if y else block.moved(0, across)
            far = clear_of(needs, placement.blocks, aligned, x, y, leads)
            if far == -inf or far > LONG / 3:
                continue
            step = up_to(ceil(far * TICK), needs.grid)
            yield placement.with_block(aligned.moved(x * step, y * step))


def arranged(
    needs: Needs, rows: Sequence[Sequence[Row]], start: Sequence[Placement] = ()
) -> list[Placement]:
    """The best placements of one row for each manifold, smallest first.

    ``rows`` has the rows that are offered for each manifold, ``start`` what is placed already.
    """
    if not rows:
        return list(start)
    pinned = [offered for offered in rows if offered[0].manifold in needs.pins.at]
    free = [offered for offered in rows if offered[0].manifold not in needs.pins.at]
    order = [*pinned, *free]
    partial = list(start)
    if not partial:
        partial = [Placement((_at(needs, block_of(needs, row)),)) for row in order.pop(0)]
    for offered in order:
        blocks = [_at(needs, block_of(needs, row)) for row in offered]
        if offered[0].manifold in needs.pins.at:
            partial = [p.with_block(b) for p in partial for b in blocks]
            continue
        near = _best(needs, partial)
        partial = [q for p in near for b in blocks for q in beside(needs, p, b)]
        if not partial:
            partial = [q for p in near for b in blocks for q in beside(needs, p, b, leads=False)]
    return _best(needs, partial)


def _at(needs: Needs, block: Block) -> Block:
    """The block where it is pinned, if it is."""
    item = block.item
    at = needs.pins.at.get(item.manifold if isinstance(item, Row) else item.name)
    return block.moved(at[0] - item.x, at[1] - item.y) if at else block


def _best(needs: Needs, placements: Sequence[Placement], keep: int = KEEP) -> list[Placement]:
    ordered = sorted(placements, key=lambda p: (round(p.excess(needs), 3), p.area))
    return with_mounted(needs, ordered, keep)


def with_mounted(needs: Needs, ordered: Sequence[Placement], keep: int) -> list[Placement]:
    """The first few, and half as many of the others that keep more of a plumber's habits."""
    first = list(ordered[:keep])
    if not asks(needs) or len(ordered) <= keep:
        return first
    counted = [(missed(needs, p.state), p) for p in ordered]
    least = min(count for count, _ in counted)
    have = sum(count == least for count, _ in counted[:keep])
    more = [p for count, p in counted[keep:] if count == least]
    return [*first, *more[: max(0, keep // 2 - have)]]


def with_devices(needs: Needs, placements: Sequence[Placement]) -> list[Placement]:
    """Each placement with every device added where it takes least."""
    partial = list(placements)
    done = {b.item.name for p in partial[:1] for b in p.blocks if isinstance(b.item, Device)}
    for device in (d for d in needs.devices if d.name not in done):
        pinned = needs.pins.turn.get(device.name)
        turns = (0, 90, 180, 270) if pinned is None else (pinned,)
        blocks = [block_of(needs, Device(device.name, device.part, 0, 0, t)) for t in turns]
        grown: list[Placement] = []
        for placement in partial:
            if device.name in needs.pins.at:
                grown += [placement.with_block(_at(needs, b)) for b in blocks]
                continue
            for block in blocks:
                grown += list(beside(needs, placement, block))
        if not grown:
            near = _best(needs, partial)
            grown = [q for p in near for b in blocks for q in beside(needs, p, b, leads=False)]
        partial = _best(needs, grown, TRIED)
    return partial


def on_board(needs: Needs, placement: Placement) -> State:
    """The placement in the middle of the board, or on a board just large enough."""
    x0, y0, x1, y1 = placement.bounds
    margin = needs.margin
    width = needs.width or ceil((x1 - x0 + 2 * margin) / 10) * 10
    height = needs.height or ceil((y1 - y0 + 2 * margin) / 10) * 10
    if needs.pins.at:
        return _state(placement.blocks, width, height)
    shift_x = ticks(round((width - x0 - x1) / 2, 1))
    shift_y = ticks(round((height - y0 - y1) / 2, 1))
    blocks = [b.moved(shift_x, shift_y) for b in placement.blocks]
    return _state(blocks, width, height)


def _state(blocks: Iterable[Block], width: float, height: float) -> State:
    items = [b.item for b in blocks]
    return State(
        tuple(i for i in items if isinstance(i, Row)),
        tuple(i for i in items if isinstance(i, Device)),
        ticks(width),
        ticks(height),
    )


def fitted(needs: Needs, state: State) -> State:
    """The state on a board just large enough, where the build says no size."""
    _, _, right, top = Layout(needs, state).bounds
    width = needs.width or ceil((right + needs.margin) / 10) * 10
    height = needs.height or ceil((top + needs.margin) / 10) * 10
    return replace(state, width=ticks(width), height=ticks(height))


STEPS = (0, 30, 80, 160)
"""mm beyond the least length that are tried for each tube."""
FIRST = 2
"""How many of those are tried for the first row's tubes."""


def two_fed(needs: Needs) -> DeviceNeed | None:
    """The first device that is fed by zones of two manifolds of this board."""
    for device in needs.devices:
        rows = {needs.zone(k).manifold for k, name, _ in needs.links if name == device.name}
        if len(rows) == 2:
            return device
    return None


def around_device(
    needs: Needs, device: DeviceNeed, rows: dict[str, Sequence[Row]]
) -> list[Placement]:
    """Placements of both rows and the device, smallest first; empty if none keeps clear."""
    links = [(needs.zone(k).manifold, k, port) for k, name, port in needs.links
             if name == device.name][:2]  # fmt: skip
    (one, key_one, port_one), (other, key_other, port_other) = links
    turn = needs.pins.turn.get(device.name)
    devices = [
        _ready(needs, Device(device.name, device.part, 0, 0, t))
        for t in ((0, 90, 180, 270) if turn is None else (turn,))
    ]
    firsts = [_ready(needs, row) for row in rows[one]]
    seconds = [_ready(needs, row) for row in rows[other]]
    found: list[Placement] = []
    for block, opens in firsts:
        start = _of_zone(opens, key_one)
        for valve, ports in devices:
            end = _of_port(ports, port_one)
            for x, y in offsets(needs, start, end, FIRST):
                held = valve.moved(x, y)
                if not is_clear(needs, (block,), held):
                    continue
                port = _moved(_of_port(ports, port_other), x, y)
                pair = Placement((block, held))
                found += _second(needs, pair, port, seconds, key_other)
                break
    return sorted(found, key=lambda p: (round(p.excess(needs), 3), p.area))


def _second(
    needs: Needs,
    pair: Placement,
    port: Open,
    seconds: Sequence[tuple[Block, list[Open]]],
    key: str,
) -> Iterator[Placement]:
    for block, opens in seconds:
        zone = _of_zone(opens, key)
        for x, y in offsets(needs, port, zone, len(STEPS)):
            row = block.moved(x, y)
            if is_clear(needs, pair.blocks, row):
                yield pair.with_block(row)
                break


def offsets(needs: Needs, fixed: Open, free: Open, steps: int) -> Iterator[tuple[int, int]]:
    """Moves of ``free`` after which one tube, or two and an elbow, join it to ``fixed``."""
    tube = fixed.tube
    hx, hy = DIRECTIONS[fixed.heading]
    gx, gy = DIRECTIONS[free.heading]
    dx, dy = fixed.x - free.x, fixed.y - free.y
    more = [up_to(ticks(s), needs.grid) for s in STEPS[:steps]]
    if (fixed.heading - free.heading) % 360 == 180:
        least = needs.least(tube, fixed.insertion, free.insertion)
        for extra in more:
            yield dx + hx * (least + extra), dy + hy * (least + extra)
    elif (fixed.heading - free.heading) % 180 == 90:
        radius = ticks(1000 * float(needs.catalogue.tubes[tube]["bend_least"] or 0.0))
        if needs.bends and radius:
            one = up_to(radius + ticks(fixed.insertion), needs.grid)
            two = up_to(radius + ticks(free.insertion), needs.grid)
            for a, b in sorted(((a, b) for a in more for b in more), key=sum):
                yield dx + hx * (one + a) - gx * (two + b), dy + hy * (one + a) - gy * (two + b)
        try:
            elbow = needs.catalogue.first("elbow", tube).port("a")
        except PartError:
            return
        off = ticks(elbow.take_off)
        one = off + needs.least(tube, fixed.insertion, elbow.insertion)
        two = off + needs.least(tube, free.insertion, elbow.insertion)
        for a, b in sorted(((a, b) for a in more for b in more), key=sum):
            yield dx + hx * (one + a) - gx * (two + b), dy + hy * (one + a) - gy * (two + b)


def _ready(needs: Needs, item: Row | Device) -> tuple[Block, list[Open]]:
    state = State((item,)) if isinstance(item, Row) else State((), (item,))
    return block_of(needs, item), Layout(needs, state).opens


def _of_zone(opens: Sequence[Open], key: str) -> Open:
    return next(o for o in opens if o.zone == key)


def _of_port(opens: Sequence[Open], port: str) -> Open:
    return next(o for o in opens if o.port == port)


def _moved(one: Open, x: int, y: int) -> Open:
    return replace(one, x=one.x + x, y=one.y + y)
