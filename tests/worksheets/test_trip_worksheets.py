"""The worksheets of the days and nights: every control, every unit, what goes wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import vanplumb as vp
from vanplumb.worksheets.frame.base import Choice, Flag, Quantity, Worksheet
from vanplumb.worksheets.van.frost import frost_worksheet
from vanplumb.worksheets.van.heater import _kept as heater_kept
from vanplumb.worksheets.van.heater import heater_of_build, heater_worksheet
from vanplumb.worksheets.van.trip import _kept as crew_kept
from vanplumb.worksheets.van.trip import trip_worksheet

SHEETS: dict[str, Callable[[], Worksheet]] = {
    "trip": lambda: trip_worksheet(),
    "trip-heron": lambda: trip_worksheet(vp.example("heron")),
    "trip-wren": lambda: trip_worksheet(vp.example("wren")),
    "heater": lambda: heater_worksheet(),
    "heater-dipper": lambda: heater_of_build(vp.example("dipper")),
    "heater-heron": lambda: heater_of_build(vp.example("heron")),
    "frost": lambda: frost_worksheet(),
}


@pytest.mark.parametrize("name", SHEETS)
def test_every_control_goes_to_both_ends_and_leaves_no_fault(name: str) -> None:
    sheet = SHEETS[name]()
    assert sheet.problem == "" and sheet.figures
    seen = {sheet._drawn.value}
    for field in sheet.fields.values():
        if isinstance(field, Quantity):
            before = field.value
            for end in (field.low, field.high, before):
                sheet.set(**{field.key: end})
                assert "fault" not in sheet.problem, (field.key, end, sheet.problem)
                seen.add(sheet._drawn.value)
        elif isinstance(field, Choice):
            before = field.value
            for option in field._menu.options:
                sheet.set(**{field.key: option[1] if isinstance(option, tuple) else option})
                assert "fault" not in sheet.problem, (field.key, option, sheet.problem)
                seen.add(sheet._drawn.value)
            sheet.set(**{field.key: before})
        elif isinstance(field, Flag) and field.key not in ("chances", "ranks"):
            for flag in (not field.value, field.value):
                sheet.set(**{field.key: flag})
                assert sheet.problem == ""
    assert len(seen) > 4
    assert all("nan" not in one and "inf " not in one for one in seen)


@pytest.mark.parametrize("name", SHEETS)
def test_both_systems_and_worked_steps(name: str) -> None:
    sheet = SHEETS[name]()
    pictures = set()
    for system in ("US", "SI"):
        sheet.use_units(system)
        assert sheet.problem == ""
        pictures.add(sheet._drawn.value)
        assert sheet.chapter is not None and sheet.chapter_with_pictures().pictures
    assert len(pictures) == 2
    sheet._open.value = True
    assert sheet.problem == ""


def test_any_unit_is_read_and_nonsense_is_told() -> None:
    sheet = heater_worksheet("US", wanted="40 °C")
    assert sheet.values["wanted"] == pytest.approx(313.15)
    with pytest.raises(ValueError, match="needs a temperature"):
        sheet.set(wanted="40 kg")
    with pytest.raises(KeyError):
        heater_worksheet("US", colour="red")


def test_what_can_not_be_is_told_in_plain_words_and_the_last_picture_stays() -> None:
    sheet = heater_worksheet("SI")
    before = sheet._drawn.value
    sheet.set(burner_power="0 W")
    assert "neither a burner nor an element" in sheet.problem
    assert sheet._drawn.value == before
    night = frost_worksheet("SI")
    night.set(coldest="5 °C", warmest="-5 °C")
    assert "the day's air is colder than the night's" in night.problem


def test_a_van_without_a_heater_says_so() -> None:
    with pytest.raises(ValueError, match="Wren has no heater"):
        heater_of_build(vp.example("wren"))


def test_chances_join_the_table_when_they_are_asked_for() -> None:
    sheet = trip_worksheet()
    assert "Chance that the tank runs dry on the stay" not in sheet.figures
    sheet.set(chances=True)
    assert "Chance that the tank runs dry on the stay" in sheet.figures
    assert sheet.chapter is not None
    assert "ranking" not in [grid.key for grid in sheet.chapter.grids]
    sheet.set(ranks=True)
    ranked = next(grid for grid in sheet.chapter.grids if grid.key == "ranking")
    assert len(ranked.rows) >= 3


def test_an_element_beside_a_burner_is_left_out_and_left_alone(tmp_path: Path) -> None:
    from vanplumb.worksheets.frame.actions import keep_panel

    file = tmp_path / "dipper.toml"
    file.write_text(vp.example("dipper").text, encoding="utf-8")
    sheet = heater_of_build(vp.load(file))
    keep = keep_panel(
        sheet, lambda s, n: heater_kept(s, n, 1000.0), ("heater", "heater"), str(file)
    )
    assert sheet.values["element_power"] == 0.0
    assert sheet.fields["element_power"].about == "the 1000 W of the build need a hook-up: left out"
    assert keep.write().startswith("Kept in")
    assert vp.load(file).heater[0].element_power == 1000.0
    sheet.set(element_power="700 W")
    keep.write()
    assert vp.load(file).heater[0].element_power == 700.0


def test_kept_values_are_what_a_build_file_takes(tmp_path: Path) -> None:
    from vanplumb.worksheets.frame.actions import keep_panel

    file = tmp_path / "van.toml"
    file.write_text(vp.example("dipper").text, encoding="utf-8")
    crew = trip_worksheet(people=3.0, nights=5.0, drinking="3 L")
    assert keep_panel(crew, crew_kept, ("part", "x"), str(file)).write().startswith("Kept in")
    heater = heater_worksheet("US", setpoint="150 °F", volume="6 gal")
    told = keep_panel(heater, heater_kept, ("heater", "heater"), str(file)).write()
    assert told.startswith("Kept in"), told
    kept = vp.load(file)
    assert (kept.crew.people, kept.crew.nights) == (3, 5)
    assert kept.heater[0].setpoint == pytest.approx((150 + 459.67) / 1.8)
    assert kept.heater[0].volume == pytest.approx(6 * 3.785411784e-3)
    with pytest.raises(ValueError, match="type the name of the heater"):
        heater_kept(heater, "")
