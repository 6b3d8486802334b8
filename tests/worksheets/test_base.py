"""The frame keeps the last good result in sight and tells what goes wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest

from vanplumb.words.report import Answer, Caution, Chapter
from vanplumb.worksheets.frame.base import Choice, Quantity, Worksheet


def compute(values: Mapping[str, Any]) -> float:
    if values["mode"] == "refused":
        raise ValueError("the hot water is too cool for that")
    if values["mode"] == "broken":
        raise ZeroDivisionError("float division by zero")
    return float(values["hot"])


def draw(result: float, units: str) -> list[str]:
    return [f"<svg><text>{result:.2f} {units}</text></svg>"]


def chapter(result: float, units: str) -> Chapter:
    return Chapter(
        "try",
        "Try <it>",
        answers=(Answer("hot <b>", result, "temperature"),),
        cautions=(Caution("WARNING", "scalds & burns"),),
        not_computed=("nothing else",),
    )


def sheet(**changes: Any) -> Worksheet:
    return Worksheet(
        "Try",
        fields=[
            Quantity("hot", "hot supply", "temperature", "60 °C", "30 °C", "85 °C"),
            Choice("mode", "mode", ["fine", "refused", "broken"]),
        ],
        compute=compute,
        draw=draw,
        chapter=chapter,
        **changes,
    )


def test_a_change_reaches_picture_and_table() -> None:
    page = sheet()
    assert "333.15 SI" in page._drawn.value
    assert "60 °C" in page._table.value
    page.fields["hot"]._slider.value = 45
    assert "318.15 SI" in page._drawn.value
    assert "45 °C" in page._table.value
    page.use_units("US")
    assert "113 °F" in page._table.value
    assert page.problem == ""


def test_texts_are_shown_as_texts() -> None:
    shown = sheet()._table.value
    assert "hot &lt;b&gt;" in shown
    assert "scalds &amp; burns" in shown


@pytest.mark.parametrize(
    "mode, told",
    [
        ("refused", "^the hot water is too cool for that"),
        ("broken", "^This worksheet has a fault: ZeroDivisionError: float division by zero"),
    ],
)
def test_an_error_in_a_callback_is_told_and_the_last_result_stays(mode: str, told: str) -> None:
    page = sheet()
    before = page._drawn.value
    page.fields["mode"]._menu.value = mode
    assert re.search(told, page.problem)
    assert "Below stands the last good result" in page._told.value
    assert page._drawn.value == before
    assert page.result == 333.15
    page.fields["mode"]._menu.value = "fine"
    assert (page.problem, page._told.value) == ("", "")


def test_a_fault_in_the_picture_is_told_too() -> None:
    page = sheet()
    page._draw = lambda result, units: [str(1 / 0)]
    page.set(hot="50 °C")
    assert "fault: ZeroDivisionError" in page.problem
    assert page.result == 333.15


def test_a_bad_field_stops_the_sum_and_is_named() -> None:
    page = sheet()
    page.fields["hot"]._entry.value = "60 kg"
    assert page.problem == "Please mend: hot supply."
    assert page.result == 333.15
    page.fields["mode"]._menu.value = "refused"
    assert page.problem == "Please mend: hot supply."
    page.fields["hot"]._slider.value = 40
    page.fields["mode"]._menu.value = "fine"
    assert page.result == pytest.approx(313.15)


def test_values_set_by_program() -> None:
    page = sheet()
    page.set(hot="120 F", mode="fine")
    assert page.values == {"hot": pytest.approx(322.039, abs=0.001), "mode": "fine"}
    assert page.result == pytest.approx(322.039, abs=0.001)


def test_it_shows_itself_without_an_address() -> None:
    bundle = sheet()._repr_mimebundle_()
    assert bundle["text/plain"] == "<worksheet: Try>"
    assert "application/vnd.jupyter.widget-view+json" in bundle


def test_worked_steps_are_written_only_while_open() -> None:
    page = sheet()
    assert page._steps.value == ""
    page._open.value = True
    assert "nothing else" in page._steps.value
    assert page._steps.layout.display == ""


def test_the_chapter_for_the_sheet_carries_the_picture() -> None:
    made = sheet(captions=["as it is"]).chapter_with_pictures()
    assert [p.svg for p in made.pictures] == draw(333.15, "SI")
    assert [p.caption for p in made.pictures] == ["as it is"]
    assert made.answers == chapter(333.15, "SI").answers


def test_the_same_values_give_the_same_page_again() -> None:
    page = sheet()
    start = page._drawn.value, page._table.value
    page.fields["hot"]._slider.value = 70
    page.fields["hot"]._slider.value = 60
    assert (page._drawn.value, page._table.value) == start


def test_a_hidden_field_does_not_count() -> None:
    page = sheet(hide=lambda values: ["hot"] if values["mode"] == "refused" else [])
    page.fields["hot"]._entry.value = "60 kg"
    assert page.problem == "Please mend: hot supply."
    page.fields["mode"]._menu.value = "refused"
    assert page.problem == "the hot water is too cool for that"
    assert page.fields["hot"].box.layout.display == "none"
