"""What every notebook keeps to, beside its figures: `pytest tests/test_notebooks.py notebooks`."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path
from typing import Any

import pytest

import vanplumb

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("*.ipynb"))
REFERENCE = {"58_words.ipynb"}  # a page to look things up in has nothing to predict
ADDRESS = re.compile(r"\bat 0x[0-9a-f]{6,}")
FOLDER = re.compile(r"(?<![\w/.])/(?:tmp|home|root|work|Users)/\w")


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.name)
def book(request: pytest.FixtureRequest) -> dict[str, Any]:
    return {"name": request.param.name, **json.loads(request.param.read_text(encoding="utf-8"))}


def outputs(book: dict[str, Any]) -> list[dict[str, Any]]:
    return [out for cell in book["cells"] for out in cell.get("outputs", [])]


def prose(book: dict[str, Any]) -> str:
    return "\n".join("".join(c["source"]) for c in book["cells"] if c["cell_type"] == "markdown")


def code(book: dict[str, Any]) -> list[str]:
    return ["".join(c["source"]) for c in book["cells"] if c["cell_type"] == "code"]


def test_there_are_notebooks() -> None:
    assert len(NOTEBOOKS) >= 2
    assert all(re.match(r"\d\d_\w+\.ipynb$", path.name) for path in NOTEBOOKS)


def test_it_was_run_from_the_top_and_nothing_failed(book: dict[str, Any]) -> None:
    counts = [c["execution_count"] for c in book["cells"] if c["cell_type"] == "code"]
    assert counts == list(range(1, len(counts) + 1))
    assert [out for out in outputs(book) if out["output_type"] == "error"] == []
    assert [out for out in outputs(book) if out.get("name") == "stderr"] == []


def test_no_state_of_a_widget_is_stored(book: dict[str, Any]) -> None:
    assert "widgets" not in book["metadata"]
    kinds = {kind for out in outputs(book) for kind in out.get("data", {})}
    assert not {kind for kind in kinds if "widget" in kind}


def test_no_address_or_folder_of_one_machine_is_stored(book: dict[str, Any]) -> None:
    stored = json.dumps([outputs(book), prose(book), code(book)])
    assert ADDRESS.findall(stored) == []
    assert FOLDER.findall(stored) == []


def test_it_asks_lets_predict_and_sets_an_exercise(book: dict[str, Any]) -> None:
    text = prose(book)
    assert re.match(r"# \S", text), "a notebook opens with its title"
    lesson = ("Predict", "Exercise") if book["name"] not in REFERENCE else ()
    for word in ("Question", *lesson):
        assert word in text, f"no {word}"


def test_the_program_does_not_live_in_it(book: dict[str, Any]) -> None:
    for source in code(book):
        for node in ast.walk(ast.parse(source)):
            assert not isinstance(node, ast.ClassDef)
            if isinstance(node, ast.FunctionDef):
                assert node.end_lineno is not None
                assert node.end_lineno - node.lineno < 3, f"{node.name} is longer than three lines"


def test_a_page_without_code_speaks_of_no_menu_to_run_it(book: dict[str, Any]) -> None:
    """What ``vanplumb pages`` changes in the words of a notebook, with its own patterns: there is
    no menu *Run*, and what would have to be run again says of which van it is."""
    served = Path(vanplumb.__file__).parent / "worksheets" / "frame" / "served" / "index.html.j2"
    patterns = re.findall(r"^ +/(.+)/g,", served.read_text(encoding="utf-8"), re.M)
    assert len(patterns) == 2
    words = re.sub(r"(?<!\*)\*([^*\n]+)\*(?!\*)", r"<em>\1</em>", prose(book))
    for pattern in patterns:
        words = re.sub(pattern.replace(r"\/", "/"), "", words)
    assert "<em>Run" not in words
