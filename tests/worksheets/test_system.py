"""The whole-system worksheet: taps open and shut, fields change the build, faults are told."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from pytest import approx

from tests.examples import pack_of
from vanplumb import example
from vanplumb.drawings.warmth import colour
from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack
from vanplumb.van import load, loads
from vanplumb.words.show import show
from vanplumb.worksheets.van.system import system_worksheet

# Places of two of Dipper's runs in its file, counted from 0: "run 20" and "run 23" of the page.
COLD_TO_SHOWER, HOT_TO_SINK = 19, 22


@pytest.fixture
def sheet():
    return system_worksheet(example("dipper"), open=("shower",))


def key(name):
    """The key of a fixture's tick in the list."""
    return f"tap_{[f.name for f in example('dipper').fixture].index(name)}"


def press(sheet, name):
    """Press a tap on the drawing, as the page tells the kernel."""
    sheet._living._heard(None, {"tap": name}, None)


def told(sheet, name):
    """What the tap on the drawing says of itself."""
    return re.search(rf'aria-label="({name}, [^"]*)"', sheet._living.svg).group(1)


def test_it_opens_with_the_first_situation_of_the_build():
    assert system_worksheet(example("dipper")).result.moment.open == ("shower",)
    assert system_worksheet(example("wren")).problem == ""


def test_it_shows_what_the_engine_gives(sheet):
    alone = pack_of("dipper").flow.solve(["shower"]).fixtures["shower"]
    found = sheet.result.moment.fixtures["shower"]
    assert found.flow == approx(alone.flow, rel=1e-9)
    assert sheet.figures["shower: flow"] == show(alone.flow, "flow", "US")


def test_a_pressed_tap_opens_and_shuts(sheet):
    before = sheet.result.moment.fixtures["shower"].flow
    press(sheet, "sink")
    assert sheet.result.moment.open == ("shower", "sink")  # as the file has them
    assert sheet.values[key("sink")] is True
    assert sheet.result.moment.fixtures["shower"].flow < before
    assert told(sheet, "sink") == "sink, open: press to shut"
    press(sheet, "sink")
    assert sheet.result.moment.open == ("shower",)
    assert sheet.result.moment.fixtures["shower"].flow == approx(before, rel=1e-9)


def test_a_ticked_box_moves_the_button(sheet):
    sheet.set(**{key("basin"): True})
    assert told(sheet, "basin") == "basin, open: press to shut"


def test_a_tap_that_suffers_shows_both_figures(sheet):
    alone = sheet.result.moment.fixtures["shower"]
    press(sheet, "sink")
    both = sheet.result.moment.fixtures["shower"]
    old, new = (show(f.flow, "flow", "US") for f in (alone, both))
    assert f">{old.split()[0]} → {new}</text>" in sheet._living.svg
    again = sheet._living.svg
    sheet.update()  # nothing has changed: it still says what the last change did
    assert sheet._living.svg == again


def test_the_water_moves_at_its_speed(sheet):
    moment, flows = sheet.result.moment, sheet._living.scene["flows"]
    assert flows
    passing = {}
    for way in flows:
        link = moment.links[f"run {way['key'] + 1}"]
        assert way["speed"] == approx(link.velocity)
        assert way["length"] == approx(example("dipper").run[way["key"]].length)
        passing[way["key"]] = way["speed"] / way["gap"]  # dashes a second
    # each dash is one volume: what passes is the flow over it, 128 fl oz to the gallon
    for key, rate in passing.items():
        flow = abs(moment.links[f"run {key + 1}"].flow)
        assert rate == approx(flow / (3.785411784e-3 / 128), rel=1e-5)
    assert {way["colour"] for way in flows} == {
        colour(moment.links[f"run {way['key'] + 1}"].temperature) for way in flows
    }


def test_all_shut_says_so(sheet):
    sheet.set(**{key("shower"): False})
    assert sheet.problem == ""
    assert "every fixture is shut" in sheet._table.value


def test_pump_heater_and_run_change_the_outcome(sheet):
    flow = sheet.result.moment.fixtures["shower"].flow
    sheet.set(voltage=10.0)
    assert sheet.result.moment.fixtures["shower"].flow < flow
    sheet.set(voltage=12.5, setpoint="110 °F")
    assert sheet.result.moment.nodes["heater.hot"].temperature == approx((110 + 459.67) / 1.8)
    sheet.set(setpoint="140 °F", pump="12 V 2.0 gpm 30 psi")
    assert sheet.result.moment.fixtures["shower"].flow < flow
    sheet.set(pump="as built", run=COLD_TO_SHOWER, tube="PEX-B 3/8 in", length="4 ft")
    assert sheet.result.moment.links["run 20"].diameter == approx(0.350 * 0.0254)
    assert sheet.result.moment.fixtures["shower"].flow < flow
    sheet.set(tube="PEX-B 1/2 in")
    assert sheet.result.moment.fixtures["shower"].flow == approx(flow, rel=1e-9)


def test_another_run_comes_with_its_own_tube_and_length(sheet):
    sheet.fields["run"]._menu.value = HOT_TO_SINK
    assert sheet.values["tube"] == "PEX-B 3/8 in"
    assert sheet.values["length"] == approx(8 * 0.3048)


def test_shore_water(sheet):
    sheet.set(source="shore")
    assert sheet.result.moment.source == "shore"
    assert sheet.result.moment.pumps["pump"].flow == approx(0.0, abs=1e-12)


def test_values_on_the_drawing(sheet):
    plain = sheet._living.svg
    sheet.set(values="pressure")
    told = sheet._living.svg
    assert told.count("psi</text>") > plain.count("psi</text>")


def test_both_systems_of_units(sheet):
    sheet.use_units("SI")
    assert "L/min" in sheet._living.svg
    assert sheet.figures["shower: flow"].endswith("L/min")


def test_what_goes_wrong_is_told_and_the_last_good_result_stays(sheet):
    last = sheet.result
    sheet.fields["voltage"]._entry.value = "12 gal"
    assert "voltage" in sheet.problem
    assert sheet.result is last
    assert "Below stands the last good result" in sheet._told.value


def test_a_fault_inside_is_told(sheet, monkeypatch):
    monkeypatch.setattr(Flow, "batch", lambda *a, **k: 1 / 0)
    sheet.set(**{key("sink"): True})
    assert "This worksheet has a fault: ZeroDivisionError" in sheet.problem


def test_a_build_that_moves_no_water_is_refused():
    build = loads('format = 1\n[van]\nname = "Dry"\nunits = "SI"\n')
    with pytest.raises(ValueError, match="names no fixture"):
        system_worksheet(build)


def test_what_was_changed_is_kept_in_the_build_file(tmp_path: Path):
    path = tmp_path / "dipper.toml"
    path.write_text(example("dipper").text, encoding="utf-8")
    sheet = system_worksheet(load(path), open=("shower",))
    with pytest.raises(ValueError, match="nothing differs"):
        from vanplumb.worksheets.van.system import _kept

        _kept(sheet, "")
    sheet.set(setpoint="130 °F", run=COLD_TO_SHOWER, tube="PEX-B 3/4 in", length="4 ft")
    from vanplumb.van import change

    change(path, _kept(sheet, ""))
    text = path.read_text(encoding="utf-8")
    said = tomllib.loads(text)
    assert said["heater"][0]["setpoint"] == "130 °F"
    assert said["run"][COLD_TO_SHOWER]["tube"] == "PEX-B 3/4 in"
    assert "# from the door plate" in text
    # as near as the old board's stubs are to those of the board for a wider tube
    assert Pack(load(path)).flow.solve(["shower"]).fixtures["shower"].flow == approx(
        sheet.result.moment.fixtures["shower"].flow, rel=1e-4
    )


def test_the_drawing_goes_on_the_sheet(sheet):
    [picture] = sheet.chapter_with_pictures().pictures
    assert picture.svg.startswith("<svg width=")
