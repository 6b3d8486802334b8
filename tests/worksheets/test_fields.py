"""Fields take any unit, tell what is wrong beside them, and keep the last good value."""

from __future__ import annotations

import re

import pytest

from vanplumb.words.quantity import QuantityError, read
from vanplumb.worksheets.frame.controls import Choice, Flag, Lines, Quantity, Text


def field(units: str = "SI", **changes: object) -> Quantity:
    given = dict(word="temperature", value="60 °C", low="30 °C", high="85 °C") | changes
    return Quantity("hot", "hot supply", units=units, **given)  # type: ignore[arg-type]


def typed(one: Quantity, text: str) -> Quantity:
    one._entry.value = text
    return one


@pytest.mark.parametrize(
    "text, kelvin",
    [
        ("105 F", 313.706),
        ("105 °F", 313.706),
        ("41 °C", 314.15),
        ("41C", 314.15),
        ("  41.5 degC ", 314.65),
        ("322 K", None),
    ],
)
def test_any_unit_can_be_typed(text: str, kelvin: float | None) -> None:
    one = typed(field(), text)
    assert one.problem == ""
    assert one.value == pytest.approx(322.0 if kelvin is None else kelvin, abs=0.001)


@pytest.mark.parametrize(
    "text, told",
    [
        ("60 kg", "hot supply needs a temperature .* a mass"),
        ("20", 'must be 30 °C to 85 °C, got "20": type 30 °C or more'),
        ("41,5 °C", "write decimals with a point"),
        ("", "hot supply needs a temperature"),
        ("nan °C", "not a number"),
        ("200 °C", 'must be 30 °C to 85 °C, got "200 °C": type 85 °C or less'),
        ("300 F", 'must be 86 °F to 185 °F, got "300 F": type 185 °F or less'),
        ("<b>hot</b>", "can't read a number"),
    ],
)
def test_a_wrong_text_is_told_and_the_good_value_stays(text: str, told: str) -> None:
    one = typed(field(), text)
    assert one.value == pytest.approx(333.15)
    assert re.search(told, one.problem)
    assert "<b>hot" not in one._note.value
    assert 'role="alert"' in one._note.value
    typed(one, "50 °C")
    assert one.problem == ""
    assert one._note.value == ""


def test_a_bare_number_has_the_unit_that_the_field_shows() -> None:
    one = typed(field(), "41")
    assert (one.problem, one.text, one._entry.value) == ("", "41 °C", "41 °C")
    one = typed(field("US"), "105")
    assert (one.value, one._entry.value) == (pytest.approx(313.706, abs=0.001), "105 °F")
    run = dict(word="length", value="1 in", low="1/4 in", high="4 in")
    assert typed(field("US", **run), "9/16")._entry.value == "9/16 in"
    one = typed(field("SI", **run), "9/16")
    assert one.problem.endswith('has the unit mm here: write "9/16 in" for inches')


def test_a_kv_is_told_as_a_cv_too() -> None:
    kv = dict(word="flow_coefficient", value="1.2 m^3/h", low="0.2 m^3/h", high="5 m^3/h")
    one = typed(field(**kv), "1.4 Cv")
    assert "= 1.21 m³/h, Cv 1.4" in one._note.value
    assert "Cv 1.39" in typed(field(**kv), "1.2")._note.value


@pytest.mark.parametrize("text", ["2 ft 6 in", "2' 6\"", "2ft 6in", "30 in"])
def test_feet_and_inches_can_be_typed(text: str) -> None:
    run = dict(word="length", value="1 ft", low="1 in", high="20 ft")
    one = typed(field("US", **run), text)
    assert (one.problem, one.text) == ("", "30 in")
    assert one.value == pytest.approx(0.762, rel=1e-12)
    typed(one, "2 ft 6")
    assert one.value == pytest.approx(0.762, rel=1e-12)
    assert one.problem.endswith('the 6 has no unit: write "2 ft 6 in"')
    typed(one, "8 ft 3 5/16")  # told back as it stands on the tape
    assert one.problem.endswith('the 3 5/16 has no unit: write "8 ft 3 5/16 in"')


def test_another_unit_is_converted_in_sight() -> None:
    assert "= 40.6 °C" in typed(field(), "105 F")._note.value
    assert typed(field(), "50.2 C")._note.value == ""


def test_the_slider_stops_at_round_places_in_the_readers_unit() -> None:
    one = field("US")
    assert (one._slider.min, one._slider.max, one._slider.step) == (86, 185, 1)
    one._slider.value = 120
    assert one.text == "120 °F"
    assert one.value == pytest.approx(322.039, abs=0.001)
    one.use_units("SI")
    assert one.text == "48.9 °C"
    assert one.value == pytest.approx(322.039, abs=0.001)


def test_both_ends_of_the_slider_are_the_bounds() -> None:
    one = field(low="30.3 °C", high="84.8 °C")
    one._slider.value = one._slider.max
    assert one.value == pytest.approx(273.15 + 84.8)
    one._slider.value = one._slider.min
    assert one.value == pytest.approx(273.15 + 30.3)


def test_inches_move_by_parts_of_an_inch() -> None:
    one = Quantity("l", "length", "length", "12 in", "1 in", "24 in", units="US")
    assert one._slider.step == 1 / 16
    one._slider.value = 12.4375
    assert one.text == "12 7/16 in"


def test_only_the_readers_change_is_reported() -> None:
    calls: list[float] = []
    one = field()
    one.on_change = lambda: calls.append(one.value)
    one.set("50 °C")
    one.use_units("US")
    assert calls == []
    typed(one, "60 °C")
    one._slider.value = 150
    assert calls == [pytest.approx(333.15), pytest.approx(338.706, abs=0.001)]


def test_a_default_outside_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="hot supply: 20 °C is not within 30 °C to 85 °C"):
        field(value="20 °C")
    with pytest.raises(QuantityError, match="must be 30 °C to 85 °C"):
        field().set("20 °C")


def test_choice_flag_and_text() -> None:
    calls: list[str] = []
    choice = Choice("kind", "the valve is", [("set once", "fixed"), ("its own", "thermostatic")])
    flag, text = Flag("check", "check valves", True), Text("name", "name", "basin")
    for one in (choice, flag, text):
        one.on_change = lambda one=one: calls.append(one.key)  # type: ignore[misc]
    choice.set("thermostatic")
    flag.set(False)
    text.set("shower")
    assert (choice.value, choice.text, flag.value, text.value) == (
        "thermostatic",
        "its own",
        False,
        "shower",
    )
    assert calls == []
    choice._menu.value, flag._tick.value, text._entry.value = "fixed", True, "sink"
    assert calls == ["kind", "check", "name"]
    assert repr(flag) == "<flag check: yes>"


def test_the_browsers_own_rounding_of_the_handle_is_no_drag() -> None:
    """A handle stands on the nearest step; the browser tells that place back."""
    calls: list[float] = []
    one = typed(field("US"), "131.3 °F")
    one.on_change = lambda: calls.append(one.value)
    one._slider.value = 131.0
    assert calls == []
    assert one.value == pytest.approx(read("131.3 °F", "temperature"))
    one._slider.value = 132.0
    assert calls == [pytest.approx(read("132 °F", "temperature"))]


def test_other_units_leave_the_value_to_the_last_digit() -> None:
    one = field(value="57.3 °C")
    for units in ("US", "SI", "US", "SI"):
        one.use_units(units)
    assert one.value == read("57.3 °C", "temperature")


@pytest.mark.parametrize("units", ["US", "SI"])
@pytest.mark.parametrize(
    "word, value, low, high",
    [
        ("rise", "5 K", "1 K", "20 K"),
        ("temperature", "60 °C", "30 °C", "85 °C"),
        ("pressure", "2 bar", "0 bar", "5 bar"),
        ("flow", "6 L/min", "1 L/min", "20 L/min"),
        ("flow_coefficient", "1.2 m^3/h", "0.2 m^3/h", "5 m^3/h"),
        ("length", "0.3 m", "0.1 m", "1 m"),
        ("height", "-0.5 m", "-1 m", "1 m"),
        ("duration", "200 s", "1 s", "900 s"),
        ("share", "62 %", "0 %", "100 %"),
        ("volume", "60 L", "10 L", "200 L"),
        ("power", "1440 W", "0 W", "3000 W"),
        ("voltage", "12 V", "9 V", "15 V"),
        ("count", "3", "1", "8"),
    ],
)
def test_what_a_field_shows_can_be_typed_and_kept(
    units: str, word: str, value: str, low: str, high: str
) -> None:
    one = Quantity("x", "x", word, value, low, high, units=units)
    start, shown = one.value, one.text
    typed(one, f"{shown} ")
    assert one.problem == ""
    assert one.text == shown
    assert one.value == pytest.approx(start, rel=0.03)
    one.set(start)
    assert read(one.written, word) == pytest.approx(start, rel=1e-5)


def test_degrees_of_a_difference() -> None:
    one = Quantity("d", "differential", "rise", "5 K", "1 K", "20 K", units="US")
    assert one.text == "9 °F"
    assert typed(one, "18 °F").value == pytest.approx(10.0)
    assert typed(one, "7 °C").value == pytest.approx(7.0)
    assert typed(one, "60 kg").problem.startswith("differential needs a difference")


def test_a_region_names_lines_of_text_once() -> None:
    """Above them, and not once more beside the remark below."""
    lines = Lines("readings", "at the faucet")
    lines.speak(lambda text: text.replace("faucet", "tap"))
    assert lines._head.value == lines.label == "at the tap"
    assert lines._note.description == ""
