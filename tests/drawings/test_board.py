"""The board's drawings: full-size template measured in the PDF, labels, front view."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest

from tests.board.boards import build_of, plan_of
from vanplumb.board.parts.shapes import BODY, REST, SWEEP
from vanplumb.board.place.layout import Layout
from vanplumb.board.place.state import mm
from vanplumb.board.plan import BoardPlan
from vanplumb.drawings.board.front import DARK, apart, board_size, board_svg, holes_of
from vanplumb.drawings.board.labels import labels_pdf, zone_labels
from vanplumb.drawings.board.pages import board_picture, side_picture, write_board
from vanplumb.drawings.board.side import side_svg
from vanplumb.drawings.board.template import (
    HEAD,
    MARGIN,
    OVERLAP,
    PAPERS,
    sheet_name,
    template_pdf,
    tiling,
)
from vanplumb.pack import example
from vanplumb.words.show import show

POINT = 25.4 / 72
"""mm in a PDF point."""
CLOSE = 0.1
"""mm: what a length on the printed template may be off."""

Line = tuple[float, float, float, float]


class Drawn:
    """Straight lines and circles of one PDF page, in mm from its upper left corner."""

    def __init__(self, page: pypdf.PageObject) -> None:
        self.height = float(page.mediabox.height) * POINT
        self.width = float(page.mediabox.width) * POINT
        self.lines: list[Line] = []
        self.circles: list[tuple[float, float, float]] = []
        self.walk(page.get_contents(), page)
        self.text = page.extract_text()

    def walk(self, stream: object, page: pypdf.PageObject) -> None:
        content = pypdf.generic.ContentStream(stream, page.pdf)
        matrix, stack = np.eye(3), []
        at, start, curve = (0.0, 0.0), (0.0, 0.0), []
        for numbers, operator in content.operations:
            values = [float(n) for n in numbers if isinstance(n, int | float)]
            name = operator.decode()
            if name == "q":
                stack.append(matrix)
            elif name == "Q":
                matrix = stack.pop()
            elif name == "cm":
                a, b, c, d, e, f = values
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            elif name == "m":
                at = start = (values[0], values[1])
                curve = []
            elif name == "l":
                self.add(matrix, at, (values[0], values[1]))
                at = (values[0], values[1])
            elif name == "c":
                curve += [at, (values[4], values[5])]
                at = (values[4], values[5])
            elif name == "h" and not curve:
                if at != start:
                    self.add(matrix, at, start)
                at = start
            elif name in ("S", "s") and curve:
                self.circle(matrix, curve)
                curve = []

    def place(self, matrix: np.ndarray, point: tuple[float, float]) -> tuple[float, float]:
        x, y, _ = np.array([*point, 1.0]) @ matrix
        return float(x) * POINT, self.height - float(y) * POINT

    def add(self, matrix: np.ndarray, a: tuple[float, float], b: tuple[float, float]) -> None:
        self.lines.append((*self.place(matrix, a), *self.place(matrix, b)))

    def circle(self, matrix: np.ndarray, points: list[tuple[float, float]]) -> None:
        ends = np.array([self.place(matrix, p) for p in points])
        low, high = ends.min(axis=0), ends.max(axis=0)
        x, y = (low + high) / 2
        self.circles.append((float(x), float(y), float(high[0] - low[0])))

    def lengths(self) -> list[float]:
        return [float(np.hypot(c - a, d - b)) for a, b, c, d in self.lines]


def pages(data: bytes) -> Iterator[Drawn]:
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        yield Drawn(page)


@pytest.fixture(scope="module")
def dipper() -> BoardPlan:
    return BoardPlan(example("dipper"))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_template_is_right_to_a_tenth_of_a_millimetre(dipper: BoardPlan, paper: str) -> None:
    """Every hole of the layout is on some sheet in its place, and nothing else is drilled."""
    width, height = board_size(dipper.layout)
    tiles = tiling(width, height, paper)
    sheets = list(pages(template_pdf(dipper, paper)))
    assert len(sheets) == tiles.sheets
    wanted = [h for p in dipper.layout.placed for h in holes_of(p)]
    assert len(wanted) > 15
    seen: set[int] = set()
    for number, sheet in enumerate(sheets):
        assert (sheet.width, sheet.height) == pytest.approx(tiles.paper, abs=0.05)
        x0, y0 = tiles.corner(*divmod(number, tiles.columns))
        holes = [c for c in sheet.circles if abs(c[2] - 4.0) > 0.05]  # the marks are 4 mm wide
        for x, y, diameter in holes:
            on_board = (x - MARGIN + x0, height - (y - MARGIN - HEAD + y0))
            near = [
                k
                for k, (hx, hy, hd) in enumerate(wanted)
                if np.hypot(hx - on_board[0], hy - on_board[1]) <= CLOSE
                and abs(hd - diameter) <= CLOSE
            ]
            assert len(near) == 1
            seen.add(near[0])
    assert seen == set(range(len(wanted)))


@pytest.mark.parametrize("paper", PAPERS)
def test_every_sheet_has_a_bar_of_100_mm_and_one_of_4_in(dipper: BoardPlan, paper: str) -> None:
    for sheet in pages(template_pdf(dipper, paper)):
        lengths = np.array(sheet.lengths())
        for bar in (100.0, 101.6):
            assert np.abs(lengths - bar).min() <= 0.01
        assert "100 mm" in sheet.text and "4 in" in sheet.text


def test_distances_of_valves_and_fittings_on_paper(dipper: BoardPlan) -> None:
    """Outlines of parts: the corners of each, found again on the sheets."""
    import shapely

    from vanplumb.board.parts.shapes import BODY

    tiles = tiling(*board_size(dipper.layout), "A4")
    sheets = list(pages(template_pdf(dipper, "A4")))
    height = board_size(dipper.layout)[1]
    ends = []
    for number, sheet in enumerate(sheets):
        x0, y0 = tiles.corner(*divmod(number, tiles.columns))
        for ax, ay, bx, by in sheet.lines:
            for x, y in ((ax, ay), (bx, by)):
                ends.append((x - MARGIN + x0, height - (y - MARGIN - HEAD + y0)))
    points = np.array(ends)
    owners = {p.owner for p in dipper.layout.placed}
    for owner in owners:
        body = shapely.union_all(
            [p.shape for p in dipper.layout.pieces if p.owner == owner and p.role == BODY]
        )
        for corner in np.array(body.exterior.coords):
            assert np.hypot(*(points - corner).T).min() <= CLOSE, owner


def test_sheets_overlap_and_their_marks_meet(dipper: BoardPlan) -> None:
    """Marks along a seam have the same place on the board on both sheets."""
    tiles = tiling(*board_size(dipper.layout), "letter")
    marks = {}
    for number, sheet in enumerate(pages(template_pdf(dipper, "letter"))):
        row, column = divmod(number, tiles.columns)
        x0, y0 = tiles.corner(row, column)
        own = [c for c in sheet.circles if abs(c[2] - 4.0) < 0.05]
        marks[row, column] = [(x - MARGIN + x0, y - MARGIN - HEAD + y0) for x, y, _ in own]
        for other in ((row, column + 1), (row, column - 1), (row + 1, column), (row - 1, column)):
            if 0 <= other[0] < tiles.rows and 0 <= other[1] < tiles.columns:
                assert sheet_name(*other) in sheet.text
    for (row, column), here in marks.items():
        for there in ((row, column + 1), (row + 1, column)):
            if there in marks:
                apart = np.array(here)[:, None] - np.array(marks[there])[None, :]
                assert (np.hypot(apart[..., 0], apart[..., 1]) < CLOSE).sum() >= 2
    step = tiles.corner(0, 1)[0] - tiles.corner(0, 0)[0]
    assert tiles.window[0] - step == pytest.approx(OVERLAP)


def test_the_same_plan_gives_the_same_bytes(dipper: BoardPlan) -> None:
    assert template_pdf(dipper) == template_pdf(dipper)
    assert labels_pdf(dipper) == labels_pdf(dipper)


def test_labels_name_every_zone_and_every_tube(dipper: BoardPlan) -> None:
    stamp = f"{'Dipper ' * 20}· revision B · 2025-03-07 · build c3ed5a7038"
    printed = "\n".join(page.text for page in pages(labels_pdf(dipper, "A4", stamp)))
    assert "… · revision B · 2025-03-07 · build c3ed5a7038" in " ".join(printed.split())
    text = "\n".join(page.text for page in pages(labels_pdf(dipper, "A4")))
    for manifold in dipper.needs.manifolds:
        for zone in manifold.zones:
            assert zone.code in text and zone.name in text
    for cut in dipper.cut_list.cuts:
        assert cut.label[:20] in text
    assert len(zone_labels(dipper)) == 8


@pytest.mark.parametrize("name", ["<b>&\"'", "#set page()[x]$y$", "a\x00b\nc", "ü" * 10_000])
def test_names_stay_plain_words_on_every_drawing(name: str) -> None:
    build = build_of(2)
    zone = replace(build.zone[0], name=name)
    run = replace(build.run[1], start=f"cold manifold.{name}")
    odd = replace(build, zone=(zone, build.zone[1]), run=(build.run[0], run, build.run[2]))
    plan = BoardPlan(replace(odd, van=replace(odd.van, name=name)))
    root = ElementTree.fromstring(board_svg(plan.layout, "US"))
    assert not root.findall(".//{http://www.w3.org/2000/svg}b")
    assert template_pdf(plan)[:4] == b"%PDF" and labels_pdf(plan)[:4] == b"%PDF"


def test_the_front_view_is_to_scale_and_marks_what_is_wrong() -> None:
    plan = plan_of(4, width=0.5, height=0.3)
    svg = board_svg(plan.layout, "SI", scale=0.2)
    root = ElementTree.fromstring(svg)
    x, y, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(wide * 0.2, abs=1e-3)
    assert x < 0 and y < 0 and high > 300
    assert "#d1006c" not in svg
    row = plan.state.rows[0]
    near = row.with_spot(1, gap=0)
    wrong = board_svg(Layout(plan.needs, replace(plan.state, rows=(near,))), "SI")
    assert "#d1006c" in wrong
    for zone in plan.needs.manifolds[0].zones:
        assert f">{zone.code}<" in svg
    assert ">500<" in svg and ">300<" in svg


def test_dimensions_say_where_each_valve_is() -> None:
    """The chain along the lower edge adds up to the valves' distances from the left."""
    plan = plan_of(3, units="SI", width=0.5, height=0.3, pin=("cold manifold lying",))
    svg = board_svg(plan.layout, "SI")
    words = re.findall(r">(\d+)</text>", svg)
    places = sorted({mm(p.x) for p in plan.layout.placed if p.zone})
    for a, b in pairwise([0.0, *places]):
        assert f"{b - a:.0f}" in words


def test_every_manifold_has_its_own_chains_and_they_add_up() -> None:
    """Of each manifold, marked with its letter: dimensions added from 0 are the places of its
    valves and its header to the whole mm, also where those end on half a mm."""
    two = build_of(3, 3, units="SI", tube="PE-X 16x2.0", width=0.9, height=0.8)
    more = build_of(2, 0, units="SI", tube="PE-X 16x2.0")
    third = replace(more.manifold[0], name="wash manifold")
    zones = tuple(replace(z, manifold="wash manifold") for z in more.zone)
    taps = tuple(replace(f, name=f"wash {f.name}") for f in more.fixture)
    renamed = [r.start.replace("cold manifold", "wash manifold") for r in more.run]
    runs = tuple(
        replace(r, start=start, end="wash manifold" if k == 0 else f"wash {r.end}")
        for k, (r, start) in enumerate(zip(more.run, renamed, strict=True))
    )
    layout = BoardPlan(
        replace(
            two,
            manifold=(*two.manifold, third),
            zone=(*two.zone, *zones),
            fixture=(*two.fixture, *taps),
            run=(*two.run, *runs),
        )
    ).layout
    letters = {m.name: m.letter for m in layout.needs.manifolds}
    assert len(set(letters.values())) == 3
    drawn: dict[str, list[list[int]]] = {letter: [] for letter in letters.values()}
    chain: list[int] = []
    for text in ElementTree.fromstring(board_svg(layout, "SI")).itertext():
        if text.isdigit():
            chain.append(int(text))
        elif text in drawn:
            drawn[text].append(chain)
            chain = []
    width, height, *first = drawn[letters[layout.state.rows[0].manifold]][0]
    assert (width, height) == (900, 800)
    drawn[letters[layout.state.rows[0].manifold]][0] = first
    for row in layout.state.rows:
        valves = [p for p in layout.rows[row.manifold].placed if p.zone]
        across, up = {mm(p.x) for p in valves}, {mm(p.y) for p in valves}
        (across if row.upright else up).add(mm(row.x if row.upright else row.y))
        for places, chain in zip((across, up), drawn[letters[row.manifold]], strict=True):
            reached = [sum(chain[: k + 1]) for k in range(len(chain))]
            assert reached == [int(place + 0.5) for place in sorted(places)]


def test_names_at_an_edge_move_apart_and_no_further_than_needed() -> None:
    halves = [30.0, 30.0, 10.0, 10.0]
    moved = apart([100.0, 130.0, 300.0, 400.0], halves, 40.0)
    assert moved[1] - moved[0] == pytest.approx(60) and sum(moved[:2]) == pytest.approx(230)
    assert moved[2:] == [300.0, 400.0]
    assert apart([100.0, 100.0], [30.0, 30.0], 5.0) == [95.0, 105.0]


def test_letters_and_dimensions_can_be_read_where_the_board_is_700_px_wide(
    dipper: BoardPlan,
) -> None:
    svg = board_svg(dipper.layout, "US")
    root = ElementTree.fromstring(svg)
    wide = float(root.attrib["viewBox"].split()[2])
    sizes = [
        float(text.attrib["font-size"]) * 700 / wide
        for text in root.iter("{http://www.w3.org/2000/svg}text")
        if re.fullmatch(r"[\d /]+", text.text or "")
    ]
    assert len(sizes) > 10 and min(sizes) >= 11


def test_letters_on_the_board_cover_no_sweep_and_feeds_have_arrows(dipper: BoardPlan) -> None:
    """Boxes of the letters, from the SVG, against the swept outlines of the handles."""
    import shapely

    root = ElementTree.fromstring(board_svg(dipper.layout, "US", sizes=False))
    width, height = board_size(dipper.layout)
    sweeps = shapely.union_all([p.shape for p in dipper.layout.pieces if p.role == SWEEP])
    inside = []
    for text in root.iter("{http://www.w3.org/2000/svg}text"):
        x, y = float(text.attrib["x"]), height - float(text.attrib["y"])
        size = float(text.attrib["font-size"])
        if not (0 < x < width and 0 < y < height):
            continue
        half = 0.3 * size * len(text.text or "")
        box = shapely.box(x - half, y - 0.1 * size, x + half, y + 0.75 * size)
        assert not box.intersects(sweeps), text.text
        inside.append(text.text)
    assert sorted(inside) == ["C2", "H3", "basin valve"]
    arrows = [one for one in root.iter() if one.attrib.get("data-arrow") == "feed"]
    assert len(arrows) == len(dipper.state.rows) == 2


def test_a_dark_page_swaps_every_colour_of_a_live_board_and_no_other(dipper: BoardPlan) -> None:
    live, paper = (board_svg(dipper.layout, "US", live=live) for live in (True, False))
    style = re.search(r"<style>(.*?)</style>", live)
    assert style is not None and "<style>" not in paper
    assert style[1].startswith("@media screen{")
    assert style[1].count('body[data-jp-theme-light="false"] .vp-board') == style[1].count("}") - 1
    drawn = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', live.replace(style[0], "")))
    see_through = {"#f2c200", "#2e7d32"}  # sweeps and fingers, tints on any ground
    assert drawn - see_through <= set(DARK)


def test_the_page_and_the_files_of_a_pack(dipper: BoardPlan, tmp_path) -> None:
    picture = board_picture(dipper)
    assert picture.key == "board"
    assert "1 : 6" in picture.caption
    paths = write_board(dipper, tmp_path / "board")
    assert sorted(p.name for p in paths) == [
        "front.svg", "labels-a4.pdf", "labels-letter.pdf", "side.svg", "template-a4.pdf",
        "template-letter.pdf",
    ]  # fmt: skip
    assert all(p.stat().st_size > 1000 for p in paths)
    with pytest.raises(KeyError):
        template_pdf(dipper, "napkin")


def test_the_side_view_is_the_same_board_from_its_right(dipper: BoardPlan) -> None:
    """Heights as on the front, depths as the checks of the board have them."""
    layout = dipper.layout
    drawn = side_svg(layout, "US")
    height = board_size(layout)[1]
    solid = re.findall(r'<path d="M([^"]*?)Z" fill="#[^>]*?stroke-width="0.8"/>', drawn)
    corners = [[float(v) for v in point.split(",")] for d in solid for point in d.split("L")]
    bodies = [p for p in layout.pieces if p.role in (BODY, REST)]
    assert len(solid) >= len(bodies)
    assert max(x for x, _ in corners) == pytest.approx(max(p.high for p in bodies), abs=1e-3)
    assert min(y for _, y in corners) >= -1e-3 and max(y for _, y in corners) <= height + 1e-3
    told = re.findall(r"<text[^>]*>([^<]*)</text>", drawn)
    assert show(layout.depth / 1000, "length", "US") in " ".join(told)
    codes = {z.code for m in layout.needs.manifolds for z in m.zones}
    assert set(" ".join(told).split()) >= codes
    box = [float(v) for v in re.search(r'viewBox="([^"]*)"', drawn)[1].split()]  # type: ignore[index]
    assert box[0] < 0 and box[0] + box[2] > layout.depth and box[1] + box[3] > height
    assert "1 : 6" in side_picture(dipper).caption
