"""Which van a page is about: the reader's own files and the examples, chosen from a menu."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import vanplumb as vp
from vanplumb.van import template
from vanplumb.words.tables import example_builds
from vanplumb.worksheets.frame import own_files as own
from vanplumb.worksheets.frame.actions import keep_panel
from vanplumb.worksheets.page.vans import of_van
from vanplumb.worksheets.van.board import board_of
from vanplumb.worksheets.van.compare import compare_worksheet
from vanplumb.worksheets.van.frost import frost_of_run, frost_worksheet, runs_of
from vanplumb.worksheets.van.heater import heater_of_build, heater_worksheet
from vanplumb.worksheets.van.mixing import _kept, mixing_of, mixing_worksheet, valves_of
from vanplumb.worksheets.van.system import system_worksheet
from vanplumb.worksheets.van.trip import trip_worksheet


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where a notebook runs; the folder above it is empty."""
    here = tmp_path / "notebooks"
    here.mkdir()
    monkeypatch.chdir(here)
    return here


def labels(sheet: Any) -> list[str]:
    return [label for label, _ in sheet.vans._menu.options]


def test_own_files_are_found_beside_the_notebook_and_above_it(folder: Path) -> None:
    (folder / "b.toml").write_text(template(), encoding="utf-8")
    (folder / "a.toml").write_text("[van]\nname = broken", encoding="utf-8")
    (folder / "tool.toml").write_text("[tool.other]\nformat = 1\n", encoding="utf-8")
    (folder / "notes.txt").write_text("[van]\n", encoding="utf-8")
    (folder.parent / "above.toml").write_text(template("SI"), encoding="utf-8")
    assert own.options() == ("a.toml", "b.toml", str(Path("..", "above.toml")))


def test_the_menu_has_own_files_first_and_then_the_examples(folder: Path) -> None:
    (folder / "mine.toml").write_text(vp.example("heron").text, encoding="utf-8")
    sheet = of_van(system_worksheet, vp.example("dipper"))
    assert labels(sheet) == [
        "mine.toml", "Dipper, an example", "Heron, an example", "Wren, an example",
    ]  # fmt: skip
    assert sheet.vans.key == "example dipper"
    assert (sheet.title, sheet.van) == ("Whole system: Dipper", "Dipper")
    sheet.vans.choose(str(folder / "mine.toml"))
    assert (sheet.title, sheet.van) == ("Whole system: Heron", "Heron")
    assert repr(sheet) == "<worksheet: Whole system: Heron>"
    assert sheet._holder.children == (sheet.sheet.page,)


def test_a_file_with_problems_is_told_and_the_last_van_stays(folder: Path) -> None:
    text = vp.example("heron").text
    (folder / "mine.toml").write_text(text.replace('"1100 mm"', '"1100"'), encoding="utf-8")
    sheet = of_van(trip_worksheet, vp.example("dipper"))
    before = sheet.sheet
    sheet.vans.choose(str(folder / "mine.toml"))
    line = text.splitlines().index('length = "1100 mm"') + 1
    assert f"line {line}: tank.fresh.length needs a length" in sheet.vans.problem
    assert "Below stands Dipper." in sheet.vans.problem
    assert sheet.sheet is before
    (folder / "mine.toml").write_text(text, encoding="utf-8")
    sheet.vans.read()
    assert (sheet.vans.problem, sheet.van) == ("", "Heron")


@pytest.mark.parametrize(
    "make, told",
    [(heater_of_build, "Wren has no heater"), (board_of, "no manifold"), (mixing_of, "no mixing")],
)
def test_what_a_van_does_not_have_is_told(folder: Path, make: Any, told: str) -> None:
    parts = valves_of if make is mixing_of else None
    sheet = of_van(make, vp.example("dipper"), parts=parts)
    before = sheet.sheet
    sheet.vans.choose("example wren")
    assert told in sheet.vans.problem
    assert sheet.sheet is before


def test_one_of_several_parts_is_chosen_from_a_second_menu(folder: Path) -> None:
    sheet = of_van(mixing_of, case=mixing_worksheet("US"), parts=valves_of)
    assert sheet._part.layout.display == "none"
    assert sheet.written["setting"] == "105 °F"
    sheet.vans.choose("example heron")
    valves = [valve.name for valve in vp.example("heron").mixing_valve]
    assert list(sheet._part.options) == valves and sheet._part.layout.display == ""
    first = sheet.written["setting"]
    sheet._part.value = valves[1]
    assert sheet.written["setting"] != first
    sheet.vans.choose("")
    assert sheet.written["setting"] == "105 °F"
    assert sheet._part.layout.display == "none"


@pytest.mark.parametrize("name", vp.pack.examples())
def test_every_run_of_the_examples_has_its_cold_night(folder: Path, name: str) -> None:
    build = vp.example(name)
    sheet = of_van(frost_of_run, case=frost_worksheet("US"), parts=runs_of)
    sheet.vans.choose(f"example {name}")
    assert sheet.vans.problem == "" and sheet.units == build.van.units
    for run, label in zip(build.run, runs_of(build), strict=True):
        sheet._part.value = label
        assert sheet.values["tube"] == run.tube
        assert sheet.values["insulation"] == pytest.approx(min(run.insulation, 0.0508))
        assert sheet.values["coldest"] == pytest.approx(build.van.outside)


def test_a_worksheet_about_no_van_is_offered_as_such(folder: Path) -> None:
    sheet = of_van(heater_of_build, case=heater_worksheet("US"))
    assert labels(sheet)[0] == "none: the case in the text"
    sheet.vans.choose("example dipper")
    assert sheet.values["volume"] == pytest.approx(vp.example("dipper").heater[0].volume)
    compared = of_van(compare_worksheet, case=compare_worksheet(vp.example("wren")), told="Wren")
    assert labels(compared)[0] == "Wren"


def test_values_are_never_kept_in_an_example() -> None:
    path = example_builds()["dipper"]
    before = path.read_bytes()
    sheet = mixing_worksheet("US", setting="98 °F")
    panel = keep_panel(sheet, _kept, ("valve", "basin valve"), str(path))
    assert panel.entries[0].value == ""
    panel.entries[0].value = str(path)
    assert "an example stays as it is" in panel.write()
    assert path.read_bytes() == before


def test_another_van_says_that_the_text_below_stays(folder: Path) -> None:
    sheet = of_van(mixing_of, vp.example("heron"), parts=valves_of)
    assert sheet._apart.value == ""
    sheet.vans.choose("example dipper")
    assert "now of Dipper; text and figures below it stay with Heron" in sheet._apart.value
    sheet.vans.choose("example heron")
    assert sheet._apart.value == ""
