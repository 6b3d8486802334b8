"""Predictions and answers are judged with their units."""

from __future__ import annotations

import pytest

from vanplumb.course.check import check, compare


def test_a_prediction_is_set_beside_the_figure() -> None:
    told = repr(compare("105 °F", 319.26, "temperature", "US"))
    assert told == "You wrote 105 °F; it comes to 115 °F. That is 10 °F apart."
    assert "needs a temperature" in repr(compare("105", 319.26, "temperature"))
    assert repr(compare("2 L", 0.003, "volume")).endswith("That is 1.0 L apart.")


@pytest.mark.parametrize(
    "answer, right, told",
    [
        ("56 %", True, "Right: 56 %."),
        ("0.562", True, "Right: 0.562."),
        ("44 %", False, "Not yet: 44 % is too low. Hot less cold comes first."),
        ("70 %", False, "Not yet: 70 % is too high. Hot less cold comes first."),
        ("", None, "Write your answer"),
        ("56 °C", None, "Your answer needs a share"),
    ],
)
def test_an_answer_is_judged(answer: str, right: bool | None, told: str) -> None:
    verdict = check(answer, 0.5625, "share", within=0.01, hint="Hot less cold comes first.")
    assert verdict.right is right
    assert told in repr(verdict)
