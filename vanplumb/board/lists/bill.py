"""What is bought for a board: parts, rings, screws and tube, with spares, weight and cost.

Prices come from the build file only: ``price`` in a row of ``[rows.board_parts]``.  Tube is
priced by the length on the shelf, in a row named after the tube.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import ceil, pi
from typing import TYPE_CHECKING

from ...words.brief import brief
from ...words.show import show
from ..parts.catalogue import rule
from ..parts.parts import FITTINGS
from ..place.layout import Layout
from ..place.state import mm
from .cut_plan import CutPlan
from .cuts import CutList

if TYPE_CHECKING:
    from ...van.model import Build

TUBE = "tube"


@dataclass(frozen=True)
class Line:
    """One line of the parts list: how many are needed, how many spare, mass and price of one.

    ``price`` is None if the build file says none.  ``unit`` is empty for pieces.
    """

    name: str
    kind: str
    needed: int
    spare: int
    mass: float
    price: float | None
    about: str = ""

    @property
    def bought(self) -> int:
        return self.needed + self.spare

    @property
    def cost(self) -> float | None:
        """Price of all that is bought."""
        return None if self.price is None else self.price * self.bought


@brief
@dataclass(frozen=True)
class Bill:
    """The parts list.  ``currency`` is what the build says."""

    lines: tuple[Line, ...]
    currency: str
    tube_mass: float

    @property
    def mass(self) -> float:
        """kg of all that goes onto the board: parts without their spares, and its tube."""
        return sum(line.mass * line.needed for line in self.lines if line.kind != TUBE) + (
            self.tube_mass
        )

    @property
    def cost(self) -> float:
        """Price of all lines that have one."""
        return sum(line.cost or 0.0 for line in self.lines)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Lines that the build file gives no price for."""
        return tuple(line.name for line in self.lines if line.price is None)

    def line(self, name: str) -> Line:
        """The line of that name.  KeyError if there is none."""
        for one in self.lines:
            if one.name == name:
                return one
        raise KeyError(name)


def bill_of(build: Build, layout: Layout, cuts: CutList, plans: dict[str, CutPlan]) -> Bill:
    """The parts list of a layout with its cut list and the plan of its stock."""
    own = build.rows.get("board_parts", {})
    least_spare = int(rule(build, "least spare fittings"))
    lines = []
    counted = Counter(p.part.name for p in layout.placed)
    parts = {p.part.name: p.part for p in layout.placed}
    for name, many in sorted(counted.items(), key=lambda i: (_place(parts[i[0]].kind), i[0])):
        part = parts[name]
        spare = least_spare if part.kind in FITTINGS and part.kind != "header" else 0
        lines.append(Line(name, part.kind, many, spare, part.mass, part.price))
    lines += _rings(build, cuts)
    screws: Counter[float] = Counter(h[2] for p in layout.placed for h in p.part.holes)
    for diameter, many in sorted(screws.items()):
        name = f"screws for {diameter:g} mm holes"
        price = own.get(name, {}).get("price")
        lines.append(Line(name, "screw", many, ceil(0.1 * many), 0.003, price))
    for tube, plan in sorted(plans.items()):
        if not plan.bars:
            continue
        length = plan.bars[0].length
        price = own.get(tube, {}).get("price")
        each = show(mm(length) / 1000, "length", build.van.units)
        about = f"lengths of {each}; {plan.bought} to buy" if plan.bought else f"lengths of {each}"
        lines.append(Line(tube, TUBE, len(plan.bars), 0, 0.0, price, about))
    return Bill(tuple(lines), build.van.currency, _tube_mass(layout, cuts))


ORDER = ("valve", "mixing valve", "check valve", "accumulator", "header", "tee", "elbow",
         "reducer", "coupling", "adapter", "plug", "clip")  # fmt: skip


def _place(kind: str) -> int:
    return ORDER.index(kind) if kind in ORDER else len(ORDER)


def _rings(build: Build, cuts: CutList) -> list[Line]:
    """One ring (or what the tube's joint asks for) at every tube end that goes onto a fitting."""
    tubes = cuts.layout.needs.catalogue.tubes
    share, least = rule(build, "spare rings"), int(rule(build, "least spare rings"))
    own = build.rows.get("board_parts", {})
    many: Counter[str] = Counter()
    for _, tube, _, _ in cuts.joints:
        if tubes[tube]["rings"]:
            many[tube] += int(tubes[tube].number("rings"))
    lines = []
    for tube, count in sorted(many.items()):
        name = f"ring for {tube}"
        outside = tubes[tube].number("od")
        density = float(tubes[tube]["density"] or 945.0)
        mass = density * pi * outside * 0.0035 * 0.016
        price = own.get(name, {}).get("price")
        lines.append(Line(name, "ring", count, max(least, ceil(share * count)), mass, price))
    return lines


def _tube_mass(layout: Layout, cuts: CutList) -> float:
    """kg of the tube that is cut for the board."""
    tubes = layout.needs.catalogue.tubes
    total = 0.0
    for cut in cuts.cuts:
        row = tubes[cut.tube]
        outside, bore = row.number("od"), row.number("bore")
        area = pi / 4 * (outside**2 - bore**2)
        total += float(row["density"] or 945.0) * area * mm(cut.length) / 1000
    return total
