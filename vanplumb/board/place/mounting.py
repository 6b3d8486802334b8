"""How a plumber would mount it: hot left of cold at a valve, the heater first, water that runs out.

These are habits, not needs: a search prefers boards that keep them, and what is not kept is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...words.brief import brief
from ..parts.needs import DeviceNeed, Needs
from .rows import Placed, build_row
from .spacing import Spacer
from .state import Device, Row, State

HABITS = {
    "hot side": "hot {side} of cold at {what}",
    "heater first": "{what} first on its header",
    "runs out": "{what} no lower than the header that feeds it",
}
"""What each habit is when it is kept."""


@brief
@dataclass(frozen=True)
class Habit:
    """One habit at one place: whether it is kept, and how it is instead."""

    kind: str
    what: str
    kept: bool
    said: str = ""


def habits(needs: Needs, state: State) -> tuple[Habit, ...]:
    """Every habit that has something to say of this board; what is pinned is left alone."""
    return (*_heater_first(needs, state), *_hot_side(needs, state), *_runs_out(needs, state))


def missed(needs: Needs, state: State) -> int:
    """How many habits are not kept."""
    return sum(not habit.kept for habit in habits(needs, state))


def _heater_first(needs: Needs, state: State) -> Iterator[Habit]:
    for row in state.rows:
        own = [s.zone for s in row.spots if s.zone in needs.heater_zones]
        if not own or row.manifold in needs.pins.order:
            continue
        kept = {s.zone for s in row.spots[: len(own)]} == set(own)
        first = needs.zone(row.spots[0].zone).label
        labels = " and ".join(needs.zone(key).label for key in own)
        yield Habit(
            "heater first", f"{row.manifold}: {labels}", kept,
            "" if kept else f"{first} comes before {labels}, which feeds the heater",
        )  # fmt: skip


def _hot_side(needs: Needs, state: State) -> Iterator[Habit]:
    wanted = needs.hot_side
    placed = {d.name: d for d in state.devices}
    for device in needs.devices:
        one = placed.get(device.name)
        fed = {port for _, name, port in needs.links if name == device.name}
        if one is None or not {"hot", "cold"} <= fed or device.name in needs.pins.turn:
            continue
        hot, cold = (_port(needs, one, port)[0] for port in ("hot", "cold"))
        yield _side(device.name, wanted, hot, cold)
    rows = {row.manifold: row for row in state.rows}
    for name, hot_zone, cold_zone in needs.pairs:
        ends = [_outlet(needs, rows, key) for key in (hot_zone, cold_zone)]
        if ends[0] is not None and ends[1] is not None:
            yield _side(name, wanted, ends[0], ends[1])


def _side(name: str, wanted: str, hot: int, cold: int) -> Habit:
    kept = hot < cold if wanted == "left" else hot > cold
    if kept:
        return Habit("hot side", name, True)
    is_now = "above or below" if hot == cold else "right" if hot > cold else "left"
    of = "" if hot == cold else " of"
    return Habit("hot side", name, False, f"hot comes in {is_now}{of} cold, not {wanted} of it")


def _port(needs: Needs, one: Device, port: str) -> tuple[int, int]:
    part = Placed(one.name, needs.catalogue[one.part], one.x, one.y, one.turn)
    return part.end(part.part.port(port))


def _outlet(needs: Needs, rows: dict[str, Row], key: str) -> int | None:
    """x of a zone's outlet, where it leaves up or down; a level one stands on no side."""
    row = rows.get(needs.zone(key).manifold)
    if row is None:
        return None
    found = next((o for o in build_row(needs, row).opens if o.zone == key), None)
    return found.x if found is not None and found.heading % 180 == 90 else None


def _runs_out(needs: Needs, state: State) -> Iterator[Habit]:
    """Water over a check valve stays where the header is higher than the valve's inlet."""
    placed = {d.name: d for d in state.devices}
    rows = {row.manifold: row for row in state.rows}
    for device in needs.devices:
        one = placed.get(device.name)
        if one is None or device.name in needs.pins.at:
            continue
        for port in device.checked:
            header = _header(needs, rows, device, port)
            if header is None:
                continue
            name = f"{port} inlet of {device.name}"
            kept = header.y <= _port(needs, one, port)[1]
            yield Habit(
                "runs out", name, kept,
                "" if kept else f"it hangs below {header.manifold}, and its check valve keeps the "
                "water between them",
            )  # fmt: skip


def _header(needs: Needs, rows: dict[str, Row], device: DeviceNeed, port: str) -> Row | None:
    for key, name, at in needs.links:
        if (name, at) == (device.name, port):
            return rows.get(needs.zone(key).manifold)
    return None


def in_step(needs: Needs, spacer: Spacer, state: State) -> State:
    """Hot zones in the order, from left to right, of the cold ones that go to the same fixtures.

    Only zones of one row that are set alike change places, so that nothing else moves.
    """
    linked = {key for key, *_ in needs.links}
    at = {
        placed.zone: (placed.x, placed.y)
        for row in state.rows
        for placed in build_row(needs, row).placed
        if placed.zone
    }
    cold = {
        needs.zone(key).goes_to: where
        for key, where in at.items()
        if needs.zone(key).side == "cold" and key not in linked
    }
    for row in state.rows:
        manifold = needs.manifold(row.manifold)
        if manifold.side != "hot" or row.manifold in needs.pins.order:
            continue
        alike: dict[object, list[int]] = {}
        for index, spot in enumerate(row.spots):
            zone = needs.zone(spot.zone)
            pinned = spot.zone in needs.pins.leaves or spot.zone in needs.pins.gap
            if zone.goes_to in cold and spot.zone not in linked and not pinned:
                kind = spacer.key(manifold, replace(spot, node=""))  # a tee or elbow stays there
                alike.setdefault(kind, []).append(index)
        for places in alike.values():
            zones = sorted(
                (row.spots[index].zone for index in places),
                key=lambda key: cold[needs.zone(key).goes_to],
            )
            places = sorted(places, key=lambda index: at[row.spots[index].zone])
            for index, key in zip(places, zones, strict=True):
                row = row.with_spot(index, zone=key)
        state = state.with_row(row)
    return state


def asks(needs: Needs) -> bool:
    """Whether a board of these needs has any habit to keep."""
    linked = any(device.checked or device.kind == "mixing valve" for device in needs.devices)
    return bool(needs.heater_zones or needs.pairs or (linked and needs.links))
