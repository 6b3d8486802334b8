"""Readings and records on their pages."""

from __future__ import annotations

from pathlib import Path

import pytest

from vanplumb.pack import example
from vanplumb.shop.readings.measured import MeasuredVan
from vanplumb.shop.record.record import Record
from vanplumb.shop.record.reliability import Tally, next_van
from vanplumb.words.show import show
from vanplumb.worksheets.shop.measured import measured_and_recorded, measured_worksheet
from vanplumb.worksheets.shop.record import RecordPage, sureness_worksheet


@pytest.fixture(scope="module")
def van() -> MeasuredVan:
    return MeasuredVan(example("dipper"))


def test_empty_readings_are_no_readings(van: MeasuredVan) -> None:
    sheet = measured_worksheet(van.build, van=van)
    assert sheet.problem == ""
    assert sheet.figures == {"verdict": "no reading yet"}
    assert sheet._pictures == ()
    sheet.set(shower_hot_flow="1.5 gpm")
    assert sheet._pictures[0].count("not read") == len(van.computed) - 1


def test_a_planted_fault_is_named_on_the_page(van: MeasuredVan) -> None:
    import numpy as np

    out = van.model({"screen shower": np.array([0.6])})
    values = {n.replace(", ", "_").replace(" ", "_"): float(v[0]) for n, v in out.items()}
    sheet = measured_worksheet(van.build, van=van, **values)
    assert sheet.figures["verdict"] == "likely: clogged screen: shower"
    assert "aerator" in sheet.chapter.answers[1].note
    assert show(values["shower_hot_flow"], "flow", "US") in str(sheet.chapter.grids[0].rows)


def test_any_unit_and_wrong_ones(van: MeasuredVan) -> None:
    sheet = measured_worksheet(van.build, van=van)
    field = sheet.fields["shower_hot_flow"]
    field._entry.value = "7.1 L/min"
    assert field.value == pytest.approx(7.1e-3 / 60)
    before = sheet._pictures
    field._entry.value = "7 kg"
    assert "flow needs a flow" in field.problem
    assert "Please mend: shower hot, flow" in sheet.problem
    assert sheet._pictures == before
    field._entry.value = ""
    assert field.value is None and sheet.problem == ""
    field._entry.value = "0 gpm"
    assert "must be above 0" in sheet.problem


def test_readings_go_into_the_record(van: MeasuredVan, tmp_path: Path) -> None:
    record = Record(tmp_path / "v.log")
    page = measured_and_recorded(van.build, record, van=van)
    assert "there is no reading yet" in page.panel.write()
    flow = show(van.computed["basin, flow"], "flow", "US")
    warm = show(van.computed["basin, temperature"], "temperature", "US")
    page.set(basin_flow=flow, basin_temperature=warm)
    assert "reading taken" in page.panel.write()
    found = record.read()
    assert [e.get("value") for e in found.of("reading taken")] == [flow, warm]
    assert "readings fit a sound van" in found.events[-1].get("text")


def test_record_page_shows_lines_and_adds_one(tmp_path: Path) -> None:
    page = RecordPage(tmp_path / "v.log")
    assert repr(page) == "Record: 0 events, 0 problems"
    page._kind.value = "came back"
    assert "needs: why" in page._needs.value
    assert "came back: why wet floor" in page.add("why = wet floor")
    with pytest.raises(ValueError, match="needs `why`"):
        page.add("")
    with pytest.raises(ValueError, match='write details as "name = value"'):
        page.add("wet floor")
    assert "wet floor" in page._lines.value


def test_record_page_tells_of_damage(tmp_path: Path) -> None:
    path = tmp_path / "v.log"
    page = RecordPage(path)
    page._kind.value = "note"
    page.add("text = one")
    page.add("text = two <b>bold</b>")
    path.write_bytes(path.read_bytes().replace(b"one", b"0ne"))
    page.refresh()
    assert "does not agree with its checksum" in page._lines.value
    assert "<b>bold" not in page._lines.value


def test_sureness_page_agrees_with_the_engine(tmp_path: Path) -> None:
    plan = {"expansion, PEX 1/2 in": 40, "NPT thread, NPT 1/2": 8}
    known = {k: Tally(k, 200, 1) for k in plan}
    sheet = sureness_worksheet(plan, known=known)
    expected = next_van(known, plan).expected
    assert sheet.figures["chance of a weep in the next van"] == f"{expected * 100:.1f} %"
    sheet.set(kind0_weeps=0, kind1_weeps=0)
    assert sheet.figures["chance of a weep in the next van"] < f"{expected * 100:.1f} %"


def test_sureness_page_refuses_what_can_not_be() -> None:
    sheet = sureness_worksheet({"a": 5}, known={})
    assert sheet.problem == "no joint was tested yet"
    sheet.set(kind0_joints=3, kind0_weeps=4)
    assert "a: 4 can't have wept of 3" in sheet.problem
    sheet.set(kind0_joints=30, kind0_weeps=0)
    assert sheet.problem == ""
