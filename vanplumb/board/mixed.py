"""A device between two rows that feed it, such as a mixing valve: placed so that tubes reach it.

Each of its two tubes is straight or has one elbow, and its lengths are chosen, so the second
row's place follows from the device's, and the device's from the first row's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from .arrange import Block, Placement, block_of, is_clear
from .layout import Layout
from .needs import DeviceNeed, Needs
from .parts import PartError
from .rows import DIRECTIONS, Open
from .state import Device, Row, State, ticks, up_to

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
