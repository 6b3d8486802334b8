"""Outputs that the lab showed are compared as strictly as those of a kernel of nbval's own."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests import replayed
from tests.replayed import Replayed

HTML = {"text/html": ["<p>12.4 V</p>\n", "<p>3 A</p>"], "text/plain": "a table"}
CELLS = [
    {"cell_type": "code", "source": "print(1)\nprint(2)", "execution_count": 1, "metadata": {},
     "id": "a", "outputs": [{"output_type": "stream", "name": "stdout", "text": "1\n2\n"}]},
    {"cell_type": "code", "source": "table", "execution_count": 2, "metadata": {}, "id": "b",
     "outputs": [{"output_type": "execute_result", "execution_count": 2, "metadata": {},
                  "data": HTML}]},
]  # fmt: skip


@pytest.fixture
def run(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Runs the cells that are stored against those that the lab showed."""
    if not request.config.pluginmanager.hasplugin("nbval"):
        pytest.skip("nbval was left out")
    from nbval.plugin import IPyNbFile

    def run(shown: list[dict[str, Any]]) -> None:
        path = tmp_path / "one.ipynb"
        book = {"cells": CELLS, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
        path.write_text(json.dumps(book), encoding="utf-8")
        monkeypatch.setitem(replayed.shown, path.name, shown)
        file = IPyNbFile.from_parent(request.session, path=path)
        items = list(file.collect())
        file.setup()
        assert isinstance(file.kernel, Replayed)
        for item in items:
            item.runtest()
        file.teardown()

    return run


def changed(number: int, **parts: Any) -> list[dict[str, Any]]:
    """The cells with one changed, as the lab might show them: streams in pieces, texts whole."""
    cells = json.loads(json.dumps(CELLS))
    cells[number] |= parts
    return cells  # type: ignore[no-any-return]


def test_the_same_outputs_pass_however_they_are_cut(run: Any) -> None:
    pieces = [{"output_type": "stream", "name": "stdout", "text": t} for t in (["1\n"], "2\n")]
    cells = changed(0, outputs=pieces)
    cells[1]["outputs"][0]["data"]["application/vnd.jupyter.widget-view+json"] = {"model_id": "x"}
    run(cells)


def test_another_figure_fails(run: Any) -> None:
    from nbval.plugin import NbCellError

    for outputs in (
        [{"output_type": "stream", "name": "stdout", "text": "1\n3\n"}],
        [],
        [*CELLS[0]["outputs"], {"output_type": "stream", "name": "stderr", "text": "oh"}],
        [{"output_type": "error", "ename": "E", "evalue": "no", "traceback": ["no"]}],
    ):
        with pytest.raises(NbCellError):
            run(changed(0, outputs=outputs))
    table = {**CELLS[1]["outputs"][0], "data": {**HTML, "text/html": "<p>12.5 V</p>\n<p>3 A</p>"}}
    with pytest.raises(NbCellError):
        run(changed(1, outputs=[table]))


def test_a_cell_that_was_not_run_or_is_another_fails(run: Any) -> None:
    with pytest.raises(AssertionError, match="did not run"):
        run(changed(1, execution_count=None))
    with pytest.raises(AssertionError, match="another cell"):
        run(changed(0, source="print(3)"))


def test_folders_and_times_are_left_out_and_figures_are_not(project: Path) -> None:
    plugin = pytest.importorskip("nbval.plugin")
    patterns = plugin.get_sanitize_patterns(
        (project / "tests" / "notebooks.sanitize").read_text(encoding="utf-8")
    )
    text = "see /var/x/vanplumb-ab_12cd9/sheet.pdf, (/t/vanplumb-heron-12345678) 2025-03-03 09:12"
    for regex, replace in dict(patterns).items():
        text = re.sub(regex, replace, text)
    assert text == "see FOLDER/sheet.pdf, (FOLDER) TIME"
