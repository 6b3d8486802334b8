"""Keeping values in a build file and putting a calculation on the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

import vanplumb as vp
from vanplumb.worksheets.frame.actions import keep_panel, sheet_panel
from vanplumb.worksheets.van.mixing import _kept, mixing_of, mixing_worksheet


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "my van.toml"
    path.write_text(vp.example("dipper").text, encoding="utf-8")
    return path


def test_values_are_kept_and_remarks_stay(file: Path) -> None:
    before = file.read_text(encoding="utf-8")
    sheet = mixing_worksheet("US", setting="96 °F", checks=False, part="basin valve")
    panel = keep_panel(sheet, _kept, ("valve", "basin valve"), str(file))
    told = panel.write()
    assert told.startswith(f"Kept in {file}:")
    assert "mixing_valve.basin valve.setting = 96 °F" in told
    after = file.read_text(encoding="utf-8")
    assert "# the children's: locked at its own limit, tested every season" in after
    valve = vp.load(file).mixing_valve[0]
    assert valve.setting == pytest.approx((96 + 459.67) / 1.8, abs=0.001)
    assert valve.kv == pytest.approx(1.2 / 3600)
    assert not valve.hot_check
    assert after.count("#") == before.count("#")


@pytest.mark.parametrize(
    "path, name, told",
    [
        ("", "basin valve", "Nothing was written: type the name of a build file"),
        ("{file}", "", "type the name of the mixing valve"),
        ("{file}", "bath valve", 'names no mixing valve of this build: "bath valve"'),
        ("nowhere.toml", "basin valve", "Nothing was written: .*nowhere"),
    ],
)
def test_what_can_not_be_kept_is_told(file: Path, path: str, name: str, told: str) -> None:
    import re

    before = file.read_bytes()
    sheet = mixing_worksheet("US")
    panel = keep_panel(sheet, _kept, ("valve", name), path.format(file=file))
    assert re.search(told, panel.write())
    assert "vp-wrong" in panel._outcome.value
    assert file.read_bytes() == before


def test_nothing_is_kept_while_a_field_is_wrong(file: Path) -> None:
    sheet = mixing_worksheet("US")
    sheet.fields["setting"]._entry.value = "60 kg"
    panel = keep_panel(sheet, _kept, ("valve", "basin valve"), str(file))
    assert panel.write() == "Nothing was written: mend the worksheet's fields first"


def test_a_calculation_is_written_with_its_remark(tmp_path: Path) -> None:
    panel = sheet_panel(mixing_worksheet("SI"))
    panel.entries[0].value = str(tmp_path / "out")
    panel.entries[1].value = "after the <second> test"
    told = panel.write()
    assert told == "Written: " + ", ".join(
        str(tmp_path / "out" / f"calculation-mixing.{kind}") for kind in ("pdf", "html")
    )
    page = (tmp_path / "out" / "calculation-mixing.html").read_text(encoding="utf-8")
    assert "after the &lt;second&gt; test" in page
    assert (tmp_path / "out" / "calculation-mixing.pdf").read_bytes().startswith(b"%PDF")


def test_a_folder_that_can_not_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    panel = sheet_panel(mixing_worksheet("SI"))
    panel.entries[0].value = str(tmp_path / "file" / "out")
    assert panel.write().startswith("Nothing was written: ")


def test_a_builds_own_valve_opens_with_its_values(file: Path) -> None:
    build = vp.load(file)
    sheet = mixing_of(build, "basin valve")
    assert sheet.problem == ""
    assert sheet.written["setting"] == "98 °F"
    assert sheet.units == "US"
    assert sheet.result.temperature == pytest.approx(build.mixing_valve[0].setting, abs=1e-6)
    with pytest.raises(KeyError, match="no mixing valve 'bath'; there are basin valve"):
        mixing_of(build, "bath")
    for valve in vp.example("heron").mixing_valve:
        assert mixing_of(vp.example("heron"), valve.name).problem == ""
