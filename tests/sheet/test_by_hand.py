"""Every printed step of the three example sheets, done again by hand from what is printed."""

from __future__ import annotations

from functools import lru_cache

import pytest

from tests.examples import pack_of
from tests.sheet.by_hand import FACTORS, Result, figure, results
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.html_page import page

EXAMPLES = ("dipper", "heron", "wren")
STEPS = {"dipper": 100, "heron": 100, "wren": 35}


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
            for line in step.lines:
                if line.by_hand is None:
                    continue
                done += 1
                if not line.answer.holds(line.by_hand):
                    wrong.append(f"{result.chapter}, {result.label}: {line.text}: {line.by_hand}")
    assert not wrong, "\n".join(wrong)
    assert done >= STEPS[name]


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_the_same_in_the_readers_unit(name: str) -> None:
    wrong = []
    for result in answers(name):
        for step in result.steps:
            for line in step.lines:
                if not line.told:
                    continue
                si = line.answer.value * FACTORS[line.answer.unit]
                told = figure(line.told, rise="change of" in result.label)
                slack = line.answer.half * FACTORS[line.answer.unit]
                if abs(told.value - si) > told.half + slack:
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
        same = [
            abs(told.value - end.answer.value * FACTORS[end.answer.unit])
            <= told.half + end.answer.half * FACTORS[end.answer.unit]
            or (end.letter == "R" and f"{result.answer} (" in " ".join(step.letters.values()))
            for step in result.steps
            for end in step.lines[-1:]
        ]
        if not any(same):
            wrong.append(f"{result.chapter}, {result.label}: {result.answer}")
    assert not wrong, "\n".join(wrong)
