"""A prediction and an exercise in a notebook: nothing told too early, nothing lost, no code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from vanplumb.worksheets import answer_box, predict

METRES = 3.25 * 0.0254


def test_what_it_comes_to_is_told_once_something_is_predicted() -> None:
    prediction = predict("length", "1 in, first")
    below = prediction.beside(METRES, "US")
    assert "Write what you think first" in below._said.value and "3 1/4" not in below._said.value
    prediction.write("3 parsnips")
    assert "needs a length" in prediction._said.value and "3 1/4" not in below._said.value
    prediction.write("3 in")
    assert "Kept" in prediction._said.value
    assert "it comes to 3 1/4 in. That is 1/4 in apart." in below._said.value
    assert prediction.beside(METRES, "SI")._said.value.count("83 mm") == 1


def test_what_was_written_stays_when_the_cells_run_again() -> None:
    predict("length", "1 in, again").write("2 in")
    answer_box(METRES, "length", hint="again").answer("2 in")
    assert predict("length", "1 in, again").text == "2 in"
    assert "Not yet" in answer_box(METRES, "length", hint="again")._said.value
    assert predict("length", "another").text == ""


def test_a_part_may_be_predicted_too() -> None:
    prediction = predict("", "the screen")
    prediction.write("<the pump>")
    assert prediction.text == "<the pump>" and "Kept" in prediction._said.value


def test_an_answer_is_judged_and_the_hint_told_when_asked() -> None:
    box = answer_box(METRES, "length", within="1/16 in", hint="Half of each tee & the tube.")
    assert box._said.value == ""
    box.answer("3 1/4 in")
    assert "Right" in box._said.value and "vp-good" in box._said.value
    box.answer("3 1/2 in")
    assert "too high" in box._said.value and "Half of each tee &amp; the tube." in box._said.value
    box._tell_hint()
    assert "Hint: Half" in box._said.value
    with pytest.raises(TypeError, match="a tolerance has a unit"):
        answer_box(METRES, "length", within=0.1)  # type: ignore[arg-type]


def test_check_with_nothing_written_says_so() -> None:
    box = answer_box(METRES, "length", hint="pressed empty")
    box._pressed()
    assert "Write something first" in box._said.value and "vp-wrong" in box._said.value
    box.answer("3 1/4 in")
    box._pressed()
    assert "Right" in box._said.value


def test_on_paper_there_is_a_line_to_write_on_and_no_answer() -> None:
    prediction = predict("length", "1 in, paper")
    for one in (prediction, answer_box(METRES, "length", hint="paper")):
        paper = one._repr_mimebundle_()["text/html"]
        assert "vp-blank" in paper and "3 1/4" not in paper
    beside = prediction.beside(METRES, "US")
    assert repr(beside) == "It comes to 3 1/4 in."
    assert repr(beside) in beside._repr_mimebundle_()["text/html"]


def test_no_notebook_asks_for_code(project: Path) -> None:
    """Code is open only where it is the subject."""
    for path in sorted((project / "notebooks").glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        code = [cell for cell in cells if cell["cell_type"] == "code"]
        seen = [c for c in code if not c["metadata"].get("jupyter", {}).get("source_hidden")]
        assert (seen == []) is (path.name != "61_plots.ipynb"), path.name
