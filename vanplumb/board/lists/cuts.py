"""The cut list: every tube of the board with centres, take-offs, insertions and length to cut.

Lengths are whole ticks (1/10 000 mm), so that they close on the header exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from ...words.brief import brief
from ..place.layout import Layout
from ..place.rows import Tube
from ..place.state import mm, up_to

KINDS = {
    "header": "on the header",
    "fold": "corner of the header",
    "stub": "header to valve",
    "plug": "to a plug",
    "link": "on the board",
    "feed": "shut-off to header",
}


@brief
@dataclass(frozen=True)
class Cut:
    """One tube to cut.  ``length`` in ticks is what is cut; ``off`` what that is off the exact.

    ``off`` is 0 but for tubes between two devices whose places fix the length; those are cut to
    the nearest mark of the rule, and the tube gives by less than that.
    """

    label: str
    tube: str
    kind: str
    between: tuple[str, str]
    centres: int
    take_offs: tuple[int, int]
    insertions: tuple[float, float]
    length: int
    off: int
    bends: int
    zone: str

    @property
    def work(self) -> tuple[float, float, float]:
        """Centre to centre and both take-offs, metres."""
        return (mm(self.centres) / 1000, *(mm(t) / 1000 for t in self.take_offs))  # type: ignore[return-value]


@brief
@dataclass(frozen=True)
class Closing:
    """A header's length twice: from where its first and last parts stand, and added up."""

    manifold: str
    header: int
    parts: tuple[tuple[str, int], ...]

    @property
    def sum(self) -> int:
        """Parts and cut tubes together, in ticks."""
        return sum(length for _, length in self.parts)

    @property
    def gap(self) -> int:
        """What is left over, in ticks: 0."""
        return self.header - self.sum


class CutList:
    """All tubes that are cut for one board."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout

    def __repr__(self) -> str:
        return f"CutList of {len(self.cuts)} tubes"

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """Every tube, in the order of making up the headers."""
        grid = self.layout.needs.grid
        found = []
        for tube in self.layout.tubes:
            nearest = up_to(tube.cut - grid // 2, grid) if tube.cut % grid else tube.cut
            found.append(_cut(tube, nearest))
        return tuple(found)

    @cached_property
    def closings(self) -> tuple[Closing, ...]:
        """For each manifold, the header's length against the sum of its parts."""
        return tuple(
            Closing(name, _header_length(self.layout, name), tuple(row.chain))
            for name, row in self.layout.rows.items()
        )

    @cached_property
    def by_tube(self) -> dict[str, list[Cut]]:
        """The cuts of each kind of tube."""
        found: dict[str, list[Cut]] = {}
        for cut in self.cuts:
            found.setdefault(cut.tube, []).append(cut)
        return found

    @cached_property
    def joints(self) -> tuple[tuple[str, str, str, str], ...]:
        """Every joint of a tube end on the board: name, tube, part, what tube it is.

        The ends of leaving tubes at the board are among them.
        """
        found = []
        for tube in self.layout.tubes:
            for number, (owner, _) in enumerate((tube.one, tube.other), 1):
                found.append((f"{tube.owner} {number}", tube.tube, owner, tube.owner))
        for lead in self.layout.leads:
            found.append((lead.owner, lead.open.tube, lead.open.owner, lead.owner))
        return tuple(found)


def _cut(tube: Tube, length: int) -> Cut:
    return Cut(
        tube.owner,
        tube.tube,
        tube.kind,
        (tube.one[0], tube.other[0]),
        tube.centres,
        tube.take_offs,
        tube.insertions,
        length,
        length - tube.cut,
        tube.bends,
        tube.zone,
    )


def _header_length(layout: Layout, name: str) -> int:
    """From the end of the feeding tube to the far end, along the header, from parts' places.

    The far end is the centre of the last elbow, or where a plug's tube would begin.
    """
    parts = layout.rows[name]
    start = next(o for o in parts.opens if o.feeds)
    owners = [owner for owner, _ in parts.chain]
    nodes = [p for p in parts.placed if p.owner in owners]
    turned = [(start.x, start.y), *((p.x, p.y) for p in nodes)]
    last = nodes[-1]
    if last.part.kind != "elbow":
        plug = next(
            (
                t
                for t in parts.tubes
                if t.kind == "plug"
                and t.one[0] == last.owner
                and not last.part.port(t.one[1]).name.startswith(("out ", "branch"))
            ),
            None,
        )
        if plug is not None:
            turned.append(plug.points[0])
        if last.part.kind == "header":
            turned.remove((last.x, last.y))
    length = 0
    for (ax, ay), (bx, by) in pairwise(turned):
        length += abs(ax - bx) + abs(ay - by)
    return length


__all__ = ["KINDS", "Closing", "Cut", "CutList"]
