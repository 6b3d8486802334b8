"""What is worked out beforehand is what would have been worked out when asked for."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanplumb.words.report import Answer, Chapter
from vanplumb.worksheets.frame import ahead
from vanplumb.worksheets.frame.ahead import REMEMBERED, Ahead
from vanplumb.worksheets.frame.base import Quantity, Worksheet


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything is slow enough to be worth it, and no pause is waited for."""
    monkeypatch.setattr(ahead, "SLOW", -1.0)
    monkeypatch.setattr(ahead, "PAUSE", 0.0)


class Counted:
    """Doubles a value and keeps what it was asked."""

    def __init__(self) -> None:
        self.asked: list[float] = []

    def __call__(self, values: Mapping[str, Any]) -> float:
        self.asked.append(values["x"])
        if values["x"] < 0:
            raise ValueError("x is below zero")
        return float(2 * values["x"])


def in_a_thread(work: Callable[[], object]) -> None:
    """In a thread of its own, since another test may have left a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(work).result()


def in_a_notebook(work: Callable[[], None]) -> None:
    """As a notebook does it: with a loop that runs on after the work."""

    async def all_of_it() -> None:
        work()
        await asyncio.sleep(0.02)

    in_a_thread(lambda: asyncio.run(all_of_it()))


def test_the_last_few_are_remembered() -> None:
    make = Counted()
    found = Ahead(make)
    for number in range(REMEMBERED + 1):
        assert found.result({"x": float(number)}) == 2.0 * number
    assert found.result({"x": 1.0 + 1e-14}) == 2.0  # but for rounding the same
    assert len(make.asked) == REMEMBERED + 1
    assert not found.knows({"x": 0.0})
    assert found.result({"x": 0.0}) == 0.0
    assert len(make.asked) == REMEMBERED + 2


@pytest.mark.usefixtures("quick")
def test_what_is_expected_is_worked_out_in_a_pause() -> None:
    make = Counted()
    found = Ahead(make)
    in_a_notebook(lambda: found.expect({"x": 3.0}))
    assert make.asked == [3.0] and found.knows({"x": 3.0})
    assert found.result({"x": 3.0}) == 6.0 and make.asked == [3.0]


@pytest.mark.usefixtures("quick")
def test_another_move_before_the_pause_is_over_comes_first() -> None:
    make = Counted()
    found = Ahead(make)

    def two_moves() -> None:
        found.expect({"x": 3.0})
        found.result({"x": 9.0})

    in_a_notebook(two_moves)
    assert make.asked == [9.0]


def test_nothing_quick_is_worked_out_beforehand() -> None:
    make = Counted()
    found = Ahead(make)
    found.result({"x": 1.0})
    assert found.took < ahead.SLOW
    in_a_notebook(lambda: found.expect({"x": 2.0}))
    assert make.asked == [1.0]


@pytest.mark.usefixtures("quick")
def test_outside_a_notebook_nothing_is_expected() -> None:
    make = Counted()
    in_a_thread(lambda: Ahead(make).expect({"x": 2.0}))
    assert make.asked == []


@pytest.mark.usefixtures("quick")
def test_what_goes_wrong_beforehand_is_told_when_it_is_asked_for() -> None:
    found = Ahead(Counted())
    in_a_notebook(lambda: found.expect({"x": -1.0}))
    with pytest.raises(ValueError, match="below zero"):
        found.result({"x": -1.0})


SPANS = {
    "temperature": ("60 °C", "30 °C", "85 °C"),
    "volume": ("20 L", "1 L", "75 L"),
    "length": ("300 mm", "1 mm", "2 m"),
    "count": (4.0, 1.0, 8.0),
}


@given(st.sampled_from(sorted(SPANS)), st.sampled_from(["US", "SI"]), st.data())
def test_the_move_that_is_expected_is_the_one_that_the_handle_makes(
    word: str, units: str, data: st.DataObject
) -> None:
    """One notch, then one more, as the browser tells it; at the end the handle stops."""
    field = Quantity("x", "x", word, *SPANS[word], units=units)
    slider = field._slider
    notches = round((slider.max - slider.min) / slider.step)
    way = data.draw(st.sampled_from([-1, 1]))
    start = data.draw(st.integers(1, notches - 1))

    def move(notch: int) -> float:
        slider.value = round(slider.min + notch * slider.step, 6)
        return field.value

    before = move(start)
    now = move(start + way)
    expected = field.following(before)
    after = move(min(max(start + 2 * way, 0), notches)) if now != before else expected
    found = Ahead(lambda values: None)
    found.result({"x": expected})
    assert found.knows({"x": after})


def sheet(**changes: Any) -> Worksheet:
    return Worksheet(
        "Try",
        fields=[Quantity("hot", "hot supply", "temperature", "60 °C", "30 °C", "85 °C", step=1)],
        compute=lambda values: values["hot"],
        draw=lambda result, units: [f"<svg><text>{result:.2f} {units}</text></svg>"],
        chapter=lambda result, units: Chapter(
            "try", "Try", answers=(Answer("hot", result, "temperature"),)
        ),
        **changes,
    )


@pytest.mark.usefixtures("quick")
def test_a_worksheet_shows_the_same_with_and_without() -> None:
    plain, quick = sheet(), sheet(ahead=True)

    def moves(page: Worksheet) -> list[tuple[str, str]]:
        shown = []
        for place in (61, 62, 61, 85, 30, 31):
            page.fields["hot"]._slider.value = place
            shown.append((page._table.value, page._drawn.value))
        page.use_units("US")
        return [*shown, (page._table.value, page._drawn.value)]

    assert moves(quick) == moves(plain)


@pytest.mark.usefixtures("quick")
def test_a_worksheet_knows_the_next_notch_after_a_pause() -> None:
    page = sheet(ahead=True)
    assert page._ahead is not None

    def one_notch() -> None:
        page.fields["hot"]._slider.value = 61

    in_a_notebook(one_notch)
    assert page._ahead.knows({"hot": 273.15 + 62})
    assert not page._ahead.knows({"hot": 273.15 + 63})
    page.use_units("US")
    assert not page._ahead.knows({"hot": 273.15 + 62})
