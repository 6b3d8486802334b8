"""States of a worksheet: kept under a name, gone back to, and never half."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from vanplumb.worksheets.frame.states import StatesPanel, keep, names, restore
from vanplumb.worksheets.van.mixing import mixing_worksheet


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "states.json"


def test_a_state_comes_back_as_it_was(file: Path) -> None:
    sheet = mixing_worksheet("US", setting="98 °F", checks=False, kind="thermostatic")
    before, figures = sheet.values, sheet.figures
    keep(sheet, file, "as drawn")
    sheet.set(setting="110 °F", checks=True, kind="fixed")
    assert sheet.figures != figures
    restore(sheet, file, "as drawn")
    assert sheet.figures == figures
    assert sheet.values["checks"] is before["checks"] is False
    assert sheet.values["setting"] == pytest.approx(before["setting"], rel=1e-5)


def test_a_state_can_be_gone_back_to_in_other_units(file: Path) -> None:
    keep(mixing_worksheet("US", pressure_hot="35 psi"), file, "one")
    other = mixing_worksheet("SI")
    restore(other, file, "one")
    assert other.values["pressure_hot"] == pytest.approx(35 * 6894.757, rel=1e-5)
    assert other.units == "SI"


def test_several_states_stand_beside_each_other(file: Path) -> None:
    sheet = mixing_worksheet("US")
    keep(sheet, file, "one")
    sheet.set(setting="98 °F")
    keep(sheet, file, "two")
    assert names(sheet, file) == ["one", "two"]
    assert [p.name for p in file.parent.iterdir()] == [file.name]


def test_a_state_with_a_wrong_value_changes_nothing(file: Path) -> None:
    sheet = mixing_worksheet("US")
    keep(sheet, file, "one")
    held = json.loads(file.read_text(encoding="utf-8"))
    held["worksheets"]["Mixing valve"]["one"] |= {"kind": "thermostatic", "setting": "60 kg"}
    file.write_text(json.dumps(held), encoding="utf-8")
    before = sheet.values
    with pytest.raises(ValueError, match=r"does not belong here.*60 kg"):
        restore(sheet, file, "one")
    assert sheet.values == before


@pytest.mark.parametrize(
    "text, told",
    [
        ("not json", "is no file of states"),
        ("[]", "is no file of states"),
        ('{"format": 2, "worksheets": {}}', "newer version"),
    ],
)
def test_a_file_that_is_none_is_told_and_left(file: Path, text: str, told: str) -> None:
    file.write_text(text, encoding="utf-8")
    sheet = mixing_worksheet("US")
    with pytest.raises(ValueError, match=told):
        keep(sheet, file, "one")
    assert file.read_text(encoding="utf-8") == text


def test_the_panel_keeps_lists_and_goes_back(file: Path) -> None:
    sheet = mixing_worksheet("US", setting="98 °F")
    panel = StatesPanel(sheet)
    panel._file.value = str(file)
    assert re.search("type a name", panel._told(panel._keep))
    panel._name.value = "cool"
    assert 'Kept as "cool"' in panel._told(panel._keep)
    assert panel._name.options == ("cool",)
    sheet.set(setting="110 °F")
    assert 'stands as in "cool"' in panel._told(panel._restore)
    assert sheet.values["setting"] == pytest.approx(309.817, abs=0.01)
    panel._name.value = "warm"
    assert "no state 'warm'" in panel._told(panel._restore)
    assert "vp-wrong" in panel._outcome.value


def test_nothing_is_kept_while_a_field_is_wrong(file: Path) -> None:
    sheet = mixing_worksheet("US")
    sheet.fields["setting"]._entry.value = "60 kg"
    with pytest.raises(ValueError, match="mend the worksheet's fields"):
        keep(sheet, file, "one")
    assert not file.exists()
