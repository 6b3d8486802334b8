"""Labels to cut out: one for each zone, and one for each tube with its length and its joints."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ...board.place.state import mm
from ...van.handles import handle_letters, zone_codes
from ...van.handles import what_it_does as does
from ...van.wiring import sides
from ...words.files import write_whole
from ...words.show import show
from ..style import stamped, visible
from .template import MARGIN, PAPERS, Element, printed

if TYPE_CHECKING:
    from ...board.plan import BoardPlan

ZONE, TUBE = (60.0, 24.0), (60.0, 15.0)
TOP = 12.0


def write_labels(plan: BoardPlan, path: Path | str, paper: str = "letter", stamp: str = "") -> Path:
    """Write the labels as a PDF.  KeyError for an unknown paper, PartError without a board."""
    path = Path(path)
    write_whole(path, labels_pdf(plan, paper, stamp))
    return path


def labels_pdf(plan: BoardPlan, paper: str = "letter", stamp: str = "") -> bytes:
    """The labels as PDF bytes; the same plan gives the same bytes.

    ``stamp`` tells which state of the build they are of, and is printed on each sheet.
    """
    width, height = PAPERS[paper]
    labels = [(ZONE, label) for label in (*zone_labels(plan), *valve_labels(plan))]
    labels += [(TUBE, label) for label in tube_labels(plan)]
    pages = _pages(labels, width - 2 * MARGIN, height - 2 * MARGIN - TOP)
    sheets = [
        {
            "title": visible(f"{plan.build.van.name}: labels, sheet {number} of {len(pages)}"),
            "about": visible("Cut along the dashed lines."),
            "stamp": stamped(stamp),
            "left": MARGIN,
            "top": MARGIN + TOP,
            "width": width - 2 * MARGIN,
            "height": height - 2 * MARGIN - TOP,
            "elements": elements,
            "frame": [],
        }
        for number, elements in enumerate(pages, 1)
    ]
    return printed({"width": width, "height": height, "margin": MARGIN, "sheets": sheets})


Label = tuple[str, list[tuple[float, str]]]


def zone_labels(plan: BoardPlan) -> list[Label]:
    """For each zone its water's side, and its code, name and shut-off in large letters."""
    found: list[Label] = []
    for manifold in plan.needs.manifolds:
        for zone in manifold.zones:
            words = [(7.0, zone.code), (4.2, zone.name), (2.6, f"{manifold.side} water, shut-off")]
            found.append((manifold.side, words))
    return found


def valve_labels(plan: BoardPlan) -> list[Label]:
    """For each other valve that is turned by hand its letter, name and what it does."""
    build = plan.build
    side, zones = sides(build), zone_codes(build)
    return [
        (
            side.get(f"{name}.inlet", ""),
            [(7.0, code), (4.2, name), (2.6, does(build, name))],
        )
        for name, code in handle_letters(build).items()
        if name not in zones
    ]


def tube_labels(plan: BoardPlan) -> list[Label]:
    """For each tube its name, length and what it joins; each of its two joints has a number."""
    system = plan.build.van.units
    found: list[Label] = []
    for cut in plan.cut_list.cuts:
        length = show(mm(cut.length) / 1000, "length", system)
        one, other = cut.between
        words = [
            (3.2, length),
            (2.6, cut.label),
            (2.1, f"joint 1 {one}"),
            (2.1, f"joint 2 {other}"),
        ]
        found.append(("", words))
    return found


def _pages(
    labels: Sequence[tuple[tuple[float, float], Label]], width: float, height: float
) -> list[list[Element]]:
    """Labels in rows from the upper left, as many sheets as it takes."""
    pages: list[list[Element]] = [[]]
    x = y = 0.0
    tall = 0.0
    for (wide, high), label in labels:
        if x + wide > width or high != tall:
            x, y = 0.0, y + tall
        if y + high > height:
            pages.append([])
            x = y = 0.0
        tall = high
        pages[-1] += _one(x, y, wide, high, label)
        x += wide
    return pages


def _one(x: float, y: float, wide: float, high: float, label: Label) -> list[Element]:
    side, words = label
    corners = [[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]]
    found: list[Element] = [["poly", corners, "cut"]]
    if side:
        found.append(["line", x + 3, y + 3, x + wide - 3, y + 3, side])
    total = sum(size for size, _ in words) * 1.25
    at = y + (high - total) / 2 + (1.0 if side else 0.0)
    for size, text in words:
        at += size * 0.7
        most = int(wide / (size * 0.5))
        found.append(["text", x + wide / 2, round(at, 3), size, _fitting(text, most)])
        at += size * 0.55
    return found


def _fitting(text: str, most: int) -> str:
    line = visible(text)
    return line if len(line) <= most else line[: most - 1] + "…"


__all__ = ["labels_pdf", "tube_labels", "valve_labels", "write_labels", "zone_labels"]
