"""What a notebook shows of a pack reads the same as text and as HTML."""

from __future__ import annotations

import pytest

import vanplumb as vp
from tests.examples import pack_of
from vanplumb.sheet.wording import told, words_of
from vanplumb.words.report import Answer, Caution, Chapter, Column, Grid
from vanplumb.worksheets.frame import paper


@pytest.fixture(scope="module")
def pack() -> vp.Pack:
    return pack_of("dipper")


def test_the_opening_answers(pack: vp.Pack) -> None:
    say = words_of(pack.build)
    keys = [a for c in pack.chapters for a in told(c, say).answers if a.key]
    shown = paper.answers(pack)
    assert repr(shown).count("\n") == len(keys) - 1
    for answer in keys:
        assert f"{answer.label}: {answer.shown('US')}" in repr(shown)
        assert answer.shown("US") in shown._repr_html_()


def test_every_finding_with_its_limit(pack: vp.Pack) -> None:
    shown = repr(paper.findings(pack))
    assert len(shown.splitlines()) == len(pack.findings)
    for finding in pack.findings:
        assert finding.severity in shown
        assert finding.shown("US")[1] in shown


def test_a_chapter_and_its_steps(pack: vp.Pack) -> None:
    chapter = pack.chapters[0]
    assert chapter.answers[1].label in repr(paper.chapter(chapter, "US"))
    assert chapter.grids[0].title in paper.chapter(chapter, "US")._repr_html_()
    steps = paper.steps(chapter.answers[1], "US")
    assert chapter.answers[1].work[0].text("US").splitlines()[0] in repr(steps)
    assert "<math" in steps._repr_html_()


def test_hostile_texts_are_only_texts() -> None:
    bad = "<script>x</script>"
    made = Chapter(
        "k",
        bad,
        answers=(Answer(bad, bad, note=bad),),
        grids=(Grid(bad, (Column(bad),), ((bad,),), note=bad),),
        cautions=(Caution("NOTICE", bad),),
    )
    assert "<script" not in paper.chapter(made)._repr_html_()
