"""A pack as a notebook: shows its results unrun, and gives the same when run elsewhere."""

from __future__ import annotations

import json
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import vanplumb as vp
from vanplumb.worksheets.page.booklet import notebook, write_notebook


@pytest.fixture(scope="module")
def pack() -> vp.Pack:
    return vp.Pack(vp.example("wren"))


def test_it_is_a_sound_notebook_with_its_results(pack: vp.Pack, tmp_path: Path) -> None:
    path = write_notebook(pack, tmp_path / "wren.ipynb", revision="B", date="2025-03-03")
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    shown = "\n".join(o["data"]["text/plain"] for c in book.cells for o in c.get("outputs", []))
    units = pack.build.van.units
    for chapter in pack.chapters:
        for answer in chapter.answers:
            assert f"{answer.label}: {answer.shown(units)}" in shown
    for finding in pack.findings:
        assert finding.what.rstrip(".") in shown
    assert "Revision B" in book.cells[0].source


def test_run_elsewhere_it_gives_what_it_showed(pack: vp.Pack, tmp_path: Path) -> None:
    stored = nbformat.reads(notebook(pack), as_version=4)
    again = nbformat.reads(notebook(pack), as_version=4)
    NotebookClient(
        again, timeout=200, kernel_name="python3", resources={"metadata": {"path": tmp_path}}
    ).execute()
    compared = 0
    for one, two in zip(stored.cells, again.cells, strict=True):
        for was, now in zip(one.get("outputs", []), two.get("outputs", []), strict=True):
            assert now["data"] == was["data"]
            compared += 1
    assert compared > len(pack.chapters)


def test_the_same_pack_gives_the_same_bytes(pack: vp.Pack) -> None:
    assert notebook(pack) == notebook(vp.Pack(vp.example("wren")))


@pytest.mark.parametrize("mark", ["'''", "\\", '"""', "<script>alert(1)</script>", "${x}", "]] #"])
def test_a_build_with_odd_letters_survives(mark: str) -> None:
    text = vp.example("wren").text
    quoted = json.dumps(mark)
    odd = text.replace("\n[van]\n", f"\n[van]\nnote = {quoted}\n", 1)
    assert odd != text
    build = vp.loads(odd)
    assert build.van.note == mark
    book = nbformat.reads(notebook(vp.Pack(build)), as_version=4)
    first = next(c for c in book.cells if c.cell_type == "code").source
    space: dict[str, object] = {}
    exec(first.rpartition("\npack = ")[0], space)
    assert space["build"].text == odd  # type: ignore[attr-defined]
    assert "<script>" not in book.cells[0].source
