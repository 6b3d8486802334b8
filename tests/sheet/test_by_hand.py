"""Every printed step of the three example sheets, done again by hand from what is printed."""

from __future__ import annotations

from functools import lru_cache

import pytest

from tests.examples import pack_of
from tests.sheet.by_hand import Result, conversion, figure, in_si, results
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.html_page import page

EXAMPLES = ("dipper", "heron", "wren")
STEPS = {"dipper": 200, "heron": 200, "wren": 70}


@lru_cache(maxsize=3)
def sheet(name: str) -> str:
    """The sheet of an example as an HTML page."""
    return page(sheet_of(pack_of(name)))


@lru_cache(maxsize=3)
def answers(name: str) -> tuple[Result, ...]:
    return tuple(results(sheet(name)))


@pytest.mark.parametrize("name", EXAMPLES)
def test_printed_figures_give_the_printed_answer(name: str) -> None:
    """To the last printed place."""
    wrong, done = [], 0
    for result in answers(name):
        for step in result.steps:
            for line in (*step.lines, *step.si):
                if line.by_hand is None:
                    continue
                done += 1
                if not line.answer.holds(line.by_hand):
                    wrong.append(f"{result.chapter}, {result.label}: {line.text}: {line.by_hand}")
    assert not wrong, "\n".join(wrong)
    assert done >= STEPS[name]


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_step_gives_the_same_in_both_units(name: str) -> None:
    """The reader's steps are those behind the fold, step by step."""
    wrong, done = [], 0
    for result in answers(name):
        for step in result.steps:
            for line, si in zip(step.lines, step.si, strict=bool(step.si)):
                here, there = (in_si(one.answer, one.letter) for one in (line, si))
                done += 1
                if abs(here.value - there.value) > here.half + there.half:
                    wrong.append(f"{result.label}: {line.text} is not {si.text}")
    assert not wrong, "\n".join(wrong)
    assert done >= STEPS[name] / 3


@pytest.mark.parametrize("name", EXAMPLES)
def test_conversions_are_true(name: str) -> None:
    found = {c for result in answers(name) for step in result.steps for c in step.conversions}
    assert len(found) >= 5
    wrong = [text for text in found if not (pair := conversion(text))[0].holds(pair[1])]
    assert not wrong


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_the_same_in_the_readers_unit(name: str) -> None:
    wrong = []
    for result in answers(name):
        for step in result.steps:
            for line in step.lines:
                if not line.told:
                    continue
                si = in_si(line.answer, line.letter)
                told = figure(line.told, rise="change of" in result.label)
                if abs(told.value - si.value) > told.half + si.half:
                    wrong.append(f"{result.label}: {line.text} = {line.told}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_that_of_its_own_steps(name: str) -> None:
    """What stands beside the label is what one of the steps under it ends with, or solves for."""
    wrong = []
    for result in answers(name):
        if not result.steps:
            continue
        told = figure(result.answer)
        ends = [(in_si(s.lines[-1].answer, s.lines[-1].letter), s) for s in result.steps]
        same = [
            abs(told.value - end.value) <= told.half + end.half
            or (
                step.lines[-1].letter == "R"
                and f"{result.answer} (" in " ".join(step.letters.values())
            )
            for end, step in ends
        ]
        if not any(same):
            wrong.append(f"{result.chapter}, {result.label}: {result.answer}")
    assert not wrong, "\n".join(wrong)
