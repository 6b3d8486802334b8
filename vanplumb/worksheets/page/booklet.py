"""A pack as a notebook: opens with its results shown, and works them out again elsewhere.

The notebook carries the whole build file, so it needs nothing but this package to run.  Its
outputs are stored by the same functions that its cells call, so both can't differ.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...words.files import write_whole
from ...words.report import Chapter
from ..frame import paper
from ..frame.look import other_notebook
from ..frame.printed import figure

if TYPE_CHECKING:
    from ...pack import Pack


def pictures(made: Chapter) -> paper.Paper:
    """The drawings of a chapter with their captions."""
    parts = [figure(one) for one in made.pictures]
    return paper.Paper("".join(parts), "\n".join(one.caption for one in made.pictures))


def write_notebook(pack: Pack, path: Path | str, *, revision: str = "", date: str = "") -> Path:
    """Write a pack as a notebook.  Gives the path; OSError if it can't be written."""
    return write_whole(path, notebook(pack, revision=revision, date=date).encode())


def notebook(pack: Pack, *, revision: str = "", date: str = "") -> str:
    """The text of the notebook."""
    with other_notebook():
        return _notebook(pack, revision, date)


def _notebook(pack: Pack, revision: str, date: str) -> str:
    build, cells = pack.build, _Cells()
    units = build.van.units
    marks = [f"Revision {revision}" if revision else "", date, build.van.builder]
    told = " · ".join(_plain(mark) for mark in marks if mark)
    cells.say(
        f"# {_plain(build.van.name)}: fresh-water system\n\n{told}\n\n{_plain(build.van.note)}\n\n"
        "The results below are stored in this notebook. Run it from the top (menu Run, Run All "
        "Cells) to work them out again. The build file stands in the cell below, which is folded: "
        "open it to change the van and see what follows."
    )
    text = build.text.replace("\\", "\\\\").replace("'''", "\\'\\'\\'")
    cells.run(
        "import vanplumb as vp\nfrom vanplumb.worksheets.frame import paper\n"
        "from vanplumb.worksheets.page.booklet import pictures\n\n"
        f"build = vp.loads('''\\\n{text}''')\npack = vp.Pack(build)\n"
        "chapters = {chapter.key: chapter for chapter in pack.chapters}",
        folded=True,
    )
    cells.say("## The answers on one page")
    cells.run("paper.answers(pack)", paper.answers(pack))
    cells.say(
        "## What the review noticed\n\nIt tells what it checked and found; local codes and "
        "licensed trades have the last word."
    )
    cells.run("paper.findings(pack)", paper.findings(pack))
    for chapter in pack.chapters:
        if chapter.key == "changes":  # the notebook has one build only
            cells.say("## " + chapter.title, paper.chapter(chapter, units))
            continue
        name = json.dumps(chapter.key, ensure_ascii=False)
        cells.say(f"## {_plain(chapter.title)}")
        cells.run(f'paper.chapter(chapters[{name}], "{units}")', paper.chapter(chapter, units))
        if chapter.pictures:
            cells.run(f"pictures(chapters[{name}])", pictures(chapter))
    cells.say(
        "## By hand\n\nEvery figure can be followed: choose a chapter and the number of an answer."
    )
    worked = next((c for c in pack.chapters if any(a.work for a in c.answers)), None)
    if worked is not None:
        number = next(n for n, a in enumerate(worked.answers) if a.work)
        name = json.dumps(worked.key, ensure_ascii=False)
        cells.run(
            f'paper.steps(chapters[{name}].answers[{number}], "{units}")',
            paper.steps(worked.answers[number], units),
        )
    return cells.text()


def _plain(text: str) -> str:
    """A text of the build without marks that a notebook's page would take for its own."""
    kept = " ".join(text.split())
    return "".join(f"\\{c}" if c in "\\`*_{}[]<>#|$!&" else c for c in kept)


class _Cells:
    def __init__(self) -> None:
        self._cells: list[dict[str, Any]] = []
        self._run = 0

    def _add(
        self, kind: str, source: str, metadata: dict[str, Any] | None = None, **more: Any
    ) -> None:
        self._cells.append(
            {
                "cell_type": kind,
                "id": f"cell-{len(self._cells):02d}",
                "metadata": metadata or {},
                "source": source,
                **more,
            }
        )

    def say(self, text: str, shown: paper.Paper | None = None) -> None:
        more = f"\n\n{shown._html}" if shown is not None else ""
        self._add("markdown", text + more)

    def run(self, source: str, shown: paper.Paper | None = None, *, folded: bool = False) -> None:
        self._run += 1
        outputs = []
        if shown is not None:
            bundle = {"text/html": shown._repr_html_(), "text/plain": repr(shown)}
            outputs.append(
                dict(
                    output_type="execute_result",
                    execution_count=self._run,
                    data=bundle,
                    metadata={},
                )
            )
        metadata = {"jupyter": {"source_hidden": True}} if folded else None
        self._add("code", source, metadata, execution_count=self._run, outputs=outputs)

    def text(self) -> str:
        kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
        whole = {
            "cells": self._cells,
            "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}},
            "nbformat": 4,
            "nbformat_minor": 5,
        }
        return json.dumps(whole, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
