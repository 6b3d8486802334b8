"""A layout as lines for ``pin`` in the build file, and back, to the ten-thousandth of a mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ...words.show import sixteenths
from ..parts.needs import Needs
from ..place.spacing import plain_row
from ..place.state import SIXTEENTH, Device, Row, State, mm, ticks


def length_text(length: int) -> str:
    """A length as a build file takes it: whole sixteenths in inches, else millimetres."""
    if length % SIXTEENTH == 0 and length:
        return f"{sixteenths(length / SIXTEENTH / 16)} in"
    return f"{mm(length):.4f}".rstrip("0").rstrip(".") + " mm"


def pins_of(needs: Needs, state: State) -> tuple[str, ...]:
    """Lines that hold everything of a layout; ``state_of`` reads them back."""
    return tuple(_lines(needs, state))


def _lines(needs: Needs, state: State) -> Iterator[str]:
    for row in state.rows:
        name = row.manifold
        names = [needs.zone(s.zone).name for s in row.spots]
        yield f"{name} order {', '.join(names)}"
        yield f"{name} {'upright' if row.upright else 'lying'}"
        yield f"{name} {'fed from the far end' if row.backward else 'fed from the near end'}"
        yield f"{name} at {length_text(row.x)}, {length_text(row.y)}"
        first = [needs.zone(s.zone).name for s in row.spots if not s.fold]
        if row.corner:
            yield f"{name} two rows after {first[-1]}"
            yield f"{name} corner {length_text(row.fold_gap)}, {length_text(row.fold_stub)}"
        else:
            yield f"{name} one row"
        for spot in row.spots:
            yield f"{spot.zone} valve {spot.valve}"
            yield f"{spot.zone} handle {'turned' if spot.turned else 'as bought'}"
            yield f"{spot.zone} handle {spot.bend}"
            yield f"{spot.zone} gap {length_text(spot.gap)}"
            yield f"{spot.zone} stub {length_text(spot.stub)}"
            yield f"{spot.zone} side {'left' if spot.side > 0 else 'right'}"
    for isolator in (m.isolator for m in needs.manifolds if m.isolator):
        yield f"{isolator.name} on board"
        yield f"{isolator.name} part {isolator.part}"
    for device in state.devices:
        if device.name not in {d.name for d in needs.devices if d.kind == "mixing valve"}:
            yield f"{device.name} on board"
        yield f"{device.name} part {device.part}"
        yield f"{device.name} at {length_text(device.x)}, {length_text(device.y)}"
        yield f"{device.name} turn {device.turn}"


def state_of(needs: Needs) -> State | None:
    """The layout that the pins hold whole; None if they leave anything open."""
    pins = needs.pins
    zones = [z.key for m in needs.manifolds for z in m.zones]
    whole = (
        all(m.name in pins.at and m.name in pins.order for m in needs.manifolds)
        and all(k in pins.gap and k in pins.stub and k in pins.side for k in zones)
        and all(d.name in pins.at and d.name in pins.turn for d in needs.devices)
    )
    if not whole or not zones:
        return None
    rows = [_row(needs, m.name) for m in needs.manifolds]
    devices = [Device(d.name, d.part, *pins.at[d.name], pins.turn[d.name]) for d in needs.devices]
    return State(tuple(rows), tuple(devices), ticks(needs.width), ticks(needs.height))


def _row(needs: Needs, name: str) -> Row:
    pins, manifold = needs.pins, needs.manifold(name)
    order = [f"{name}.{zone}" for zone in pins.order[name]]
    fold = pins.fold.get(name, "")
    first = order.index(f"{name}.{fold}") + 1 if fold else len(order)
    row = plain_row(needs, manifold, order)
    spots = []
    for number, spot in enumerate(row.spots):
        node = spot.node
        if fold and number == first - 1:
            tube = needs.zone(spot.zone).tube
            node = needs.catalogue.first("tee", manifold.tube, tube).name
        spots.append(
            replace(
                spot,
                node=node,
                gap=pins.gap[spot.zone],
                fold=int(number >= first),
            )
        )
    corner = needs.catalogue.first("elbow", manifold.tube).name if fold else ""
    gap, stub = pins.corner.get(name, (0, 0))
    x, y = pins.at[name]
    return Row(
        name, tuple(spots), pins.upright.get(name, False), pins.backward.get(name, False),
        x, y, corner, gap, stub,
    )  # fmt: skip
