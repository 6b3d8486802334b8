"""A layout as a few whole numbers, from which everything on the board follows.

Lengths are whole ticks of 1/10 000 mm, so that sums of cut lengths and take-offs are exact:
1/16 in is 15 875 ticks and 1 mm is 10 000.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from ...words.brief import brief

TICK = 10_000
"""Ticks in 1 mm."""
SIXTEENTH = 15_875
"""Ticks in 1/16 in (exact)."""


def ticks(millimetres: float) -> int:
    """A length in mm as whole ticks."""
    return round(millimetres * TICK)


def mm(count: int) -> float:
    """Ticks as mm."""
    return count / TICK


def up_to(length: int, grid: int) -> int:
    """The length rounded up to a whole number of grid steps."""
    return -(-length // grid) * grid


@brief
@dataclass(frozen=True)
class Spot:
    """One zone on its row.

    ``node`` is the fitting on the header (with a ready header: its name at its first outlet,
    then empty), ``gap`` the cut length of the header's tube before it, ``stub`` the cut
    length between header and valve, ``side`` +1 if it leaves to the left of the row's
    direction (up, on a lying row), ``fold`` 1 on the second of two rows.
    """

    zone: str
    valve: str
    node: str
    gap: int = 0
    stub: int = 0
    side: int = 1
    turned: bool = False
    bend: str = "flat"
    fold: int = 0


@brief
@dataclass(frozen=True)
class Row:
    """One manifold: where its first fitting is, whether it stands, and its zones in order.

    ``backward``: fed from its right (or upper) end.  ``corner`` is the elbow of a fold,
    ``fold_gap`` and ``fold_stub`` are the cut lengths of its tubes.
    """

    manifold: str
    spots: tuple[Spot, ...]
    upright: bool = False
    backward: bool = False
    x: int = 0
    y: int = 0
    corner: str = ""
    fold_gap: int = 0
    fold_stub: int = 0

    def with_spot(self, index: int, **changes: Any) -> Row:
        """The row with something changed at one zone."""
        spots = list(self.spots)
        spots[index] = replace(spots[index], **changes)
        return replace(self, spots=tuple(spots))


@dataclass(frozen=True)
class Device:
    """A part that stands alone: a mixing valve, a check valve, an accumulator."""

    name: str
    part: str
    x: int = 0
    y: int = 0
    turn: int = 0


@brief
@dataclass(frozen=True)
class State:
    """All that was decided about a board.  ``width`` and ``height`` are the board's, in ticks."""

    rows: tuple[Row, ...]
    devices: tuple[Device, ...] = ()
    width: int = 0
    height: int = 0
    notes: tuple[str, ...] = field(default=(), compare=False)

    def row(self, manifold: str) -> Row:
        """The row of a manifold.  KeyError if there is none."""
        for one in self.rows:
            if one.manifold == manifold:
                return one
        raise KeyError(manifold)

    def with_row(self, row: Row) -> State:
        """The state with that manifold's row replaced."""
        return replace(
            self, rows=tuple(row if r.manifold == row.manifold else r for r in self.rows)
        )

    def with_device(self, device: Device) -> State:
        """The state with that device replaced."""
        return replace(
            self, devices=tuple(device if d.name == device.name else d for d in self.devices)
        )

    def find(self, zone: str) -> tuple[Row, int]:
        """The row and place of a zone.  KeyError if there is none."""
        for row in self.rows:
            for index, spot in enumerate(row.spots):
                if spot.zone == zone:
                    return row, index
        raise KeyError(zone)
