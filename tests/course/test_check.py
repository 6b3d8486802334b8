"""Predictions and answers are judged with their units."""

from __future__ import annotations

import ast
import json
from pathlib import Path
from random import Random

import pytest

from vanplumb.course.check import check, compare
from vanplumb.course.judge import Sought, judge, tolerance
from vanplumb.words.show import show

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
ASKED = {  # words that a notebook asks for, and the decades that their figures come in
    "length": (0.01, 3), "share": (0.01, 1), "volume": (1e-4, 0.3), "flow": (1e-5, 5e-4),
    "duration": (0.5, 4e5), "number": (0.01, 100), "pressure": (2e3, 6e5),
    "temperature": (275, 370),
}  # fmt: skip


def test_a_prediction_is_set_beside_the_figure() -> None:
    told = repr(compare("105 °F", 319.26, "temperature", "US"))
    assert told == "You wrote 105 °F; it comes to 115 °F. That is 10 °F apart."
    assert "needs a temperature" in repr(compare("105", 319.26, "temperature"))
    assert repr(compare("2 L", 0.003, "volume")).endswith("That is 1.0 L apart.")


@pytest.mark.parametrize(
    "prediction, value, word, units, told",
    [
        ("60 L", 0.1203, "volume", "SI", "60 L; it comes to 120 L. That is 60 L apart."),
        ("5 %", 0.1134, "share", "SI", "5 %; it comes to 11 %. That is 6 percentage points apart."),
        ("2", 3.0346, "count", "US", "2; it comes to 3.03. That is 1.03 apart."),
        ("1.8gpm", 8.77e-5, "flow", "US", "1.8gpm; it comes to 1.39 gpm. That is 0.41 gpm apart."),
        ("3 in", 0.0828, "length", "US", "3 in; it comes to 3 1/4 in. That is 1/4 in apart."),
        ("3 ½ in", 0.0828, "length", "US", "3 ½ in; it comes to 3 1/4 in. That is 1/4 in apart."),
        ("30 s", 6.2864, "duration", "US", "30 s; it comes to 6.3 s. That is 23.7 s apart."),
        ("3 h", 1620.0, "duration", "US", "3 h; it comes to 27 min. That is 2 h 33 min apart."),
        ("24 h", 347400.0, "duration", "US", "24 h; it comes to 4 days. That is 3 days apart."),
        ("1 gal", 0.01, "volume", "SI", "1 gal (3.8 L); it comes to 10.0 L. That is 6.2 L apart."),
        ("5 fl oz", 2.66e-7, "volume_small", "US",
         "5 fl oz; it comes to 0.00899 fl oz. That is 4.99 fl oz apart."),
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
        ("44 %", False, "Not yet: 44 % is too low. Hint: Hot less cold comes first."),
        ("70 %", False, "Not yet: 70 % is too high. Hint: Hot less cold comes first."),
        ("44", False, 'write "44 %"'),
        ("", None, "Write your answer"),
        ("56 °C", False, "°C is no unit for this; it needs a share"),
    ],
)
def test_an_answer_is_judged(answer: str, right: bool | None, told: str) -> None:
    verdict = check(answer, 0.5625, "share", within="1 %", hint="Hot less cold comes first.")
    assert verdict.right is right
    assert told in repr(verdict)


def calls() -> list[tuple[str, ast.Call]]:
    """Every call of ``answer_box`` in every notebook."""
    found = []
    for path in NOTEBOOKS:
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                for node in ast.walk(ast.parse("".join(cell["source"]))):
                    if isinstance(node, ast.Call) and ast.unparse(node.func) == "answer_box":
                        found.append((path.name, node))
    return found


def test_every_check_of_a_notebook_has_a_tolerance_in_the_unit_asked_or_as_a_share() -> None:
    assert len(calls()) > 10
    for name, call in calls():
        word = ast.literal_eval(call.args[1])
        assert word in ASKED, name
        for given in (k.value for k in call.keywords if k.arg == "within"):
            assert tolerance(ast.literal_eval(given), word, 1.0) > 0, name


@pytest.mark.parametrize("word", list(ASKED))
def test_what_is_printed_passes_in_both_systems(word: str) -> None:
    """500 figures a word, spread over the decades that are asked for; no other tolerance."""
    low, high = ASKED[word]
    random, none = Random(word), "0 % of it"
    for _ in range(500):
        value = low * (high / low) ** random.random()
        for units in ("US", "SI"):
            text = show(value, word, units)
            assert check(text, value, word, within=none).right is True, (value, text)
        twice = show(value * 2, word, "SI") if word != "temperature" else "20 °C"
        if abs(value - 293.15) > 1:
            assert check(twice, value, word, within=none).right is not True, (value, twice)


def test_a_digit_fewer_passes_where_two_are_left_and_the_trade_rounds() -> None:
    flow = 1.57 * 6.30901964e-5
    assert check("1.6 gpm", flow, "flow", within="0 % of it").right is True
    assert check("1.5 gpm", flow, "flow", within="0 % of it").right is False
    assert check("2 gpm", flow, "flow", within="0 % of it").right is False
    assert check("1.6 gpm", flow, "flow", within="0 % of it", rounds=False).right is False
    assert check("3.2 in", 3.25 * 0.0254, "length", within="0 % of it").right is False


def test_whole_seconds_pass_as_a_watch_shows_them() -> None:
    """1.755 s is 2 s on a watch; 1 s is not, nor is nothing for half a second."""
    sought = Sought(1.755, "duration")
    assert judge("2 s", sought).right and judge("1.8 s", sought).right
    assert judge("1 s", sought).right is False and judge("3 s", sought).right is False
    assert judge("0 s", Sought(0.4, "duration")).right is False
    assert judge("1 s", Sought(0.6, "duration")).right is False
    assert judge("2 s", Sought(1.755, "duration", rounds=False)).right is False


def test_three_hundred_gpm_is_not_right_for_one() -> None:
    assert check("300 gpm", 4.7e-5, "flow", within="2 % of it").right is False


def test_a_bare_tolerance_is_refused() -> None:
    with pytest.raises(TypeError, match="a tolerance has a unit"):
        check("1 gpm", 4.7e-5, "flow", within=0.02)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="has no unit"):
        check("1 gpm", 4.7e-5, "flow", within="0.02")
    assert Sought(300.0, "temperature", "1 °F").reach(300.0) == pytest.approx(5 / 9)


def test_usual_mistakes_of_a_check_are_told() -> None:
    said = check("27 psi", 2e5, "pressure", mistakes={"that is absolute.": 27 * 6894.757})
    assert str(said) == "Not yet: that is absolute."


def test_nothing_is_told_before_something_is_predicted() -> None:
    assert "it comes to" not in str(compare(" ", 300.0, "temperature"))
