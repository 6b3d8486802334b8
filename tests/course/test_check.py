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
    "prediction, value, word, units, told",
    [
        ("60 L", 0.1203, "volume", "SI", "60 L; it comes to 120 L. That is 60 L apart."),
        ("5 %", 0.1134, "share", "SI", "5 %; it comes to 11 %. That is 6 % apart."),
        ("2", 3.0346, "count", "US", "2; it comes to 3.03. That is 1.03 apart."),
        ("1.8gpm", 8.77e-5, "flow", "US", "1.8gpm; it comes to 1.39 gpm. That is 0.41 gpm apart."),
        ("3 in", 0.0828, "length", "US", "3 in; it comes to 3 1/4 in. That is 1/4 in apart."),
        ("3 ½ in", 0.0828, "length", "US", "3 ½ in; it comes to 3 1/4 in. That is 1/4 in apart."),
        ("30 s", 6.2864, "duration", "US", "30 s; it comes to 6.3 s. That is 23.7 s apart."),
        ("3 h", 1620.0, "duration", "US", "3 h; it comes to 27 min. That is 2 h 33 min apart."),
        ("24 h", 347400.0, "duration", "US", "24 h; it comes to 4 days. That is 3 days apart."),
        ("1 gal", 0.01, "volume", "SI", "1 gal (3.8 L); it comes to 10.0 L. That is 6.2 L apart."),
        ("36 psi", 251104.0, "pressure", "US", "36 psi; it comes to 36 psi as well."),
        ("450 lb", float("nan"), "mass", "US", "450 lb; it comes to –."),
    ],
)  # fmt: skip
def test_the_three_printed_figures_agree(
    prediction: str, value: float, word: str, units: str, told: str
) -> None:
    """Each expected distance is the difference of the two figures before it."""
    assert repr(compare(prediction, value, word, units)) == f"You wrote {told}"


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
