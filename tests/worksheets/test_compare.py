"""The worksheet that compares variants: dots, reasons, targets, and what it tells when wrong."""

from __future__ import annotations

import asyncio
import re
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import vanplumb as vp
from vanplumb.drawings.charts.scatter import AxisOf, places, scatter_picture
from vanplumb.explore import Variants, explore, span
from vanplumb.explore.side_by_side import chance_of_failure
from vanplumb.flow.engine import Flow
from vanplumb.words.show import show
from vanplumb.worksheets.frame.actions import sheet_panel
from vanplumb.worksheets.frame.base import Worksheet
from vanplumb.worksheets.frame.states import keep, restore
from vanplumb.worksheets.van.compare import compare_variants, compare_worksheet


@cache
def variants() -> Variants:
    return explore(
        vp.example("dipper"),
        {
            "tank.fresh.height": span("8 in", "16 in", 5),
            "heater.heater.volume": ["2.5 gal", "4 gal", "6 gal"],
            ("run.14.tube", "run.21.tube"): ["PEX-B 3/8 in", "PEX-B 1/2 in", "PEX-B 3/4 in"],
            "crew.people": [1, 2, 3],
        },
        ["weight", "nights", "wait shower", "heating", "temperature shower"],
    )


@pytest.fixture
def sheet() -> Worksheet:
    return compare_variants(variants())


def rows(sheet: Worksheet, title: str) -> dict[str, tuple[str, ...]]:
    assert sheet.chapter is not None
    grid = next(g for g in sheet.chapter.grids if g.title.startswith(title))
    return {row[0]: row[1:] for row in grid.rows}


def test_it_opens_with_the_build_as_it_is(sheet: Worksheet) -> None:
    assert sheet.problem == ""
    assert sheet.figures["variants tried"] == "135"
    # Added up by hand from Dipper's file, in US gallons of 231 cubic inches; what is told by its
    # time takes what the network gives.
    flow, gallon = Flow(vp.example("dipper")), 3.785411784e-3
    gives = {f: flow.solve([f]).fixtures[f].flow / gallon for f in ("basin", "sink", "hose reel")}
    bottles, hands = 8 * 16 / 128, gives["basin"] * 16 * 8
    sink = gives["sink"] * (2 * 4 * 10 + 2 * 2 * 12) + 2 * 1.4
    boots = gives["hose reel"] * 2 * 25
    day = bottles + hands + sink + 2 * 2.5 + boots + 2 * 1.0
    nights = 40 * 18 * (14 - 0.5) / 231 / (day * 1.1)
    found = rows(sheet, "Side by side")["nights of water by the uses alone"]
    assert found == (f"{nights:.2f}",)


def test_pressing_a_dot_tells_its_reason(sheet: Worksheet) -> None:
    stage = next(w for w in sheet.page.children[1].children[1].children if hasattr(w, "children"))
    buttons = [b for b in stage.children[0].children[1:] if b.layout.display != "none"]
    x, y = variants().values["weight"], variants().values["nights"]
    different = {(float(x[n]), float(y[n])) for n in variants().unbeaten(["weight", "nights"])}
    assert 3 < len(buttons) <= len(different)
    buttons[0].click()
    sheet.finish()  # where another test has left a loop running, the whole comes later
    number = int(sheet.values["shown"])
    assert number in variants().unbeaten(["weight", "nights"])
    assert f"Why no. {number} stands where it does" in sheet._table.value
    assert "of a day" in sheet._table.value
    buttons[-1].click()
    assert sheet.values["shown"].endswith(f", {number}")
    weights = rows(sheet, "Side by side")["weight when leaving"]
    assert len(weights) == 3


def test_a_press_is_answered_with_what_is_at_hand_and_then_with_the_whole(
    sheet: Worksheet,
) -> None:
    """In a notebook: the results first, open where an engine is asked, then what ``set`` gives."""
    variants()._packs.pop(7, None)
    solved = vars(variants().pack_of(7))
    seen: list[str] = []

    async def pressed() -> None:
        sheet.press(shown="7")
        assert "findings" not in solved  # nothing was asked of the variant's own engines
        found = rows(sheet, "Side by side")
        assert found["weight when leaving"][1] == variants().shown("weight", 7)
        assert found["area on the board"][1] == found["findings, NOTICE"][1] == "…"
        assert "still being worked out (no. 7)" in sheet._table.value
        while sheet._after.waiting:
            await asyncio.sleep(0.01)
            seen.append(sheet._table.value)

    with ThreadPoolExecutor(1) as pool:  # another test may have left a loop running in this one
        pool.submit(lambda: asyncio.run(pressed())).result()
    assert len(seen) > 3  # the page was free between the steps
    assert "…" not in sheet._table.value
    sheet.set(shown="7")
    assert sheet._table.value == seen[-1]
    assert sheet.problem == ""


def test_what_is_put_on_the_sheet_is_whole_though_a_press_is_not_done(sheet: Worksheet) -> None:
    vars(variants().pack_of(7)).pop("findings", None)

    async def pressed() -> None:
        sheet.press(shown="7")
        assert sheet._after.waiting
        chapter = sheet.chapter_with_pictures()
        assert not sheet._after.waiting
        assert not any("…" in cell for grid in chapter.grids for row in grid.rows for cell in row)

    with ThreadPoolExecutor(1) as pool:
        pool.submit(lambda: asyncio.run(pressed())).result()


def test_targets_are_searched_and_priced(sheet: Worksheet) -> None:
    sheet.set(target_1="wait at shower <= 8 s", target_2="nights >= 3.2")
    v = variants().values
    good = (v["wait shower"] <= 8.0) & (v["nights"] >= 3.2)
    assert sheet.figures["that meet all targets"] == str(int(good.sum()))
    best = int(np.argmin(np.where(good, v["weight"], np.inf)))
    assert sheet.figures["best weight when leaving of these"] == variants().shown("weight", best)
    prices = rows(sheet, "What each target costs")
    assert prices["nights at least 3.2"][-1] == "yes"
    assert f"best, no. {best}" in sheet._table.value


@pytest.mark.parametrize(
    "change, told",
    [
        ({"target_1": "nights"}, 'needs a target such as "nights at least 4"'),
        ({"target_1": "weight <= 20 s"}, "weight when leaving: needs a mass"),
        ({"shown": "nine"}, "side by side needs numbers from 0 to 134"),
        ({"shown": "135"}, "side by side needs numbers from 0 to 134"),
        ({"across": "temperature shower", "up": "temperature shower"}, "plot another one"),
    ],
)
def test_what_can_not_be_is_told_and_the_last_result_stays(
    sheet: Worksheet, change: dict[str, str], told: str
) -> None:
    before = sheet._table.value
    sheet.set(**change)
    assert told in sheet.problem
    assert sheet._table.value == before


def test_the_chance_of_failure_is_that_of_the_trips(sheet: Worksheet) -> None:
    sheet.set(shown="3", chance=True)
    found = rows(sheet, "Side by side")["chance that something fails on the stay"]
    assert found == tuple(show(chance_of_failure(variants(), n, 200), "share") for n in (-1, 3))
    from vanplumb.trip.trip import Trip

    chance = Trip(variants().build).chance(200, 1)
    worst = max(chance.whole(failure) for failure in chance.by_night)
    assert worst <= chance_of_failure(variants(), -1, 200) <= 1.0


def test_dots_stand_where_their_figures_are() -> None:
    x = AxisOf("weight", "mass", np.array([100.0, 150.0, 200.0]), "less")
    y = AxisOf("nights", "count", np.array([1.0, 2.0, 3.0]), "more")
    (ax, ay), (bx, by), (cx, cy) = places(x, y, [0, 1, 2], "SI")
    assert bx == pytest.approx((ax + cx) / 2)
    assert by == pytest.approx((ay + cy) / 2)
    assert ax < cx and ay > cy
    svg = scatter_picture(x, y, "SI", unbeaten=[1], base=(150.0, 2.0), picked=1)
    mark = re.search(r'<circle class="vp-mixed" cx="([\d.]+)" cy="([\d.]+)"', svg)
    assert mark is not None
    width, height = (float(n) for n in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())  # type: ignore[union-attr]
    assert float(mark[1]) == pytest.approx(bx * width, abs=0.1)
    assert float(mark[2]) == pytest.approx(by * height, abs=0.1)
    assert "as it is" in svg
    assert "nan" not in svg


def test_a_figure_that_is_missing_is_not_drawn() -> None:
    x = AxisOf("a", "count", np.array([np.nan, np.nan]))
    svg = scatter_picture(x, x, "SI", unbeaten=[0])
    assert "nan" not in svg
    assert "<circle" not in svg


@pytest.mark.parametrize("name", ["wren", pytest.param("heron", marks=pytest.mark.roaming)])
def test_other_examples_open_with_their_usual_choices(name: str) -> None:
    sheet = compare_worksheet(vp.example(name))
    assert sheet.problem == ""
    assert "nan" not in sheet._table.value.lower().replace("manifold", "")


def test_an_unknown_result_is_told() -> None:
    with pytest.raises(KeyError, match="no result 'beauty'"):
        compare_variants(variants(), x="beauty")


def test_it_goes_on_the_sheet_with_its_picture_and_the_authors_remark(
    sheet: Worksheet, tmp_path: Path
) -> None:
    sheet.set(target_1="nights >= 3.2")
    panel = sheet_panel(sheet)
    folder, remark = panel.entries
    folder.value, remark.value = str(tmp_path), "asked by the crew for next year"
    told = panel.write()
    assert told.startswith("Written: ")
    page = next(tmp_path.glob("*.html")).read_text(encoding="utf-8")
    assert "asked by the crew for next year" in page
    assert "Each variant; violet where nothing beats it" in page
    assert "What each target costs in weight when leaving" in page
    assert page.count('class="vp-mixed"') == len(variants().unbeaten(["weight", "nights"]))


def test_its_states_come_back(sheet: Worksheet, tmp_path: Path) -> None:
    sheet.set(across="heating", up="wait shower", target_1="nights >= 3.2", shown="7, 3")
    before = sheet.figures
    keep(sheet, tmp_path / "states.json", "next year")
    sheet.set(across="weight", up="nights", target_1="", shown="")
    restore(sheet, tmp_path / "states.json", "next year")
    assert sheet.figures == before
    assert sheet.values["shown"] == "7, 3"


def test_the_board_of_each_variant_shown_is_measured(sheet: Worksheet) -> None:
    sheet.set(shown="3")
    areas = rows(sheet, "Side by side")["area on the board"]
    plans = (vp.Pack(variants().build).board, variants().pack_of(3).board)
    assert areas == tuple(vp.show(p.layout.area / 1e6, "area", "US") for p in plans)
