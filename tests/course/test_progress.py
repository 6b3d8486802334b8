"""A learner's file: kept whole, never written over when it can't be read, kept here otherwise."""

from __future__ import annotations

import json
from html import escape
from pathlib import Path

import pytest

from vanplumb.course import Progress, exercise
from vanplumb.course.lessons import LESSONS
from vanplumb.course.paper import (
    class_sheet,
    exercises,
    key,
    marks,
    seeds_of,
    sheet,
    teacher,
    write,
)
from vanplumb.course.progress import learners


def test_tries_are_kept_in_the_learners_own_file(tmp_path: Path) -> None:
    progress, one = Progress.of("Ann  Lee", tmp_path), exercise("water", 1, "SI")
    assert progress.judge(one, "1 L").right is False
    assert progress.judge(one, "").right is None
    assert progress.judge(one, one.shown).right is True
    again = Progress.of("Ann Lee", tmp_path)
    assert again.path.name == "progress-ann-lee.json" and again.problem == ""
    assert (again.standings()["water"].tries, again.standings()["water"].right) == (2, True)
    assert again.solved("water", 1) and not again.solved("water", 2)
    assert repr(again) == "1 of 1 exercises tried were solved"


def test_two_pages_of_one_learner_lose_no_try(tmp_path: Path) -> None:
    first, second = Progress.of("Ben", tmp_path), Progress.of("Ben", tmp_path)
    first.note("water", 1, "1 L", False)
    second.note("mixing", 1, "1 °C", False)
    first.note("water", 1, "2 L", False)
    told = json.loads(first.path.read_text(encoding="utf-8"))
    assert [line["exercise"] for line in told["tries"]] == ["water", "mixing", "water"]


@pytest.mark.parametrize("text", ["{", "[]", '{"format": 2, "tries": []}', '{"tries": [3]}'])
def test_a_file_that_cannot_be_read_is_left_as_it_is(tmp_path: Path, text: str) -> None:
    file = tmp_path / "progress-ann.json"
    file.write_text(text)
    progress = Progress(file)
    progress.note("water", 1, "60 L", True)
    assert "can't be read and is left as it is" in progress.problem
    assert file.read_text() == text
    assert progress.solved("water", 1)


def test_where_nothing_can_be_written_tries_are_kept_here(tmp_path: Path) -> None:
    (tmp_path / "shut").write_text("a file where a folder should be")
    progress = Progress.of("Ann", tmp_path / "shut")
    progress.note("water", 1, "60 L", True)
    assert "kept while this page is open" in progress.problem
    assert progress.solved("water", 1)


def test_every_learner_has_other_figures_and_the_key_has_all_answers() -> None:
    names = [f"learner {n}" for n in range(1, 21)]
    page = teacher(names, "SI")
    assert [row[0] for row in page.grids[0].rows] == names
    cells = {cell for one in page.grids[1:] for row in one.rows for cell in row}
    sets = [exercises(seed, "SI") for seed in seeds_of(names).values()]
    assert all(one.shown in cells for mine in sets for one in mine)
    asked = {tuple(repr(one).split("\n", 1)[1] for one in mine) for mine in sets}
    assert len(asked) == 20
    with pytest.raises(ValueError, match="1 to 60 learners, got 0"):
        teacher([])
    with pytest.raises(ValueError, match="stands twice: Ann"):
        seeds_of(["Ann", "Ben", "Ann"])


def test_papers_of_a_class_are_written(tmp_path: Path) -> None:
    paths = class_sheet(["Ann", "Ben"], tmp_path, "US", first=4)
    pages = {p.name: p.read_text(encoding="utf-8") for p in paths if p.suffix == ".html"}
    assert list(pages) == [
        "calculation-class.html",
        "calculation-exercises-4.html",
        "calculation-exercises-5.html",
    ]
    for one in exercises(5, "US"):
        paper = pages["calculation-exercises-5.html"]
        assert one.title in paper and "Ben" in paper
        assert all(value in paper for _, value in one.given[:1])
        assert one.shown in pages["calculation-class.html"]
    papers = sheet(5, "US").grids
    assert [g.title for g in papers] == [
        f"{n}. {one.title}" for n, one in enumerate(LESSONS.values(), 1)
    ]
    assert pages["calculation-exercises-5.html"].count("room to work") == len(papers)
    rest = pages["calculation-exercises-5.html"]
    for question in (escape(one.question) for one in exercises(5, "US")):  # first asked, then done
        before, _, rest = rest.partition(question)
        assert rest and before.count("Answer, with its unit:") in (0, 1)
    assert rest.count("Answer, with its unit:") == 1
    assert [p.suffix for p in paths] == [".pdf", ".html"] * 3


def test_sheet_and_key_come_from_the_same_seed(tmp_path: Path) -> None:
    paths = write(4, tmp_path, "US")
    assert [p.suffix for p in paths] == [".pdf", ".html", ".pdf", ".html"]
    assert [a.value for a in key(4).answers] == [one.answer for one in exercises(4)]


def test_marks_are_collected_from_the_learners_files(tmp_path: Path) -> None:
    one = exercise("water", 3)
    ann = Progress.of("Ann", tmp_path / "a")
    ann.judge(one, "1 gal")
    ann.judge(one, one.shown)
    Progress.of("Ben", tmp_path / "b").judge(one, "1 gal")
    (tmp_path / "b" / "progress-zed.json").write_text("{")
    found = marks([tmp_path / "a", tmp_path / "b"])
    rows = found.rows
    assert rows[0][:3] == ("Ann", "1 of 12", "right, 2 tries")
    assert str(rows[1][1]).startswith("can't be read and is left as it is, progress-zed.json: ")
    assert rows[2][:3] == ("Ben", "0 of 12", "not yet, 1 try")
    assert [p.learner for p in learners(tmp_path / "a")] == ["Ann"]
    assert list(found.frame().iloc[:, 0]) == ["Ann", *(str(row[0]) for row in rows[1:])]  # README


def test_marks_judge_anew_and_do_not_believe_the_file(tmp_path: Path) -> None:
    """Whoever writes "right" beside a wrong answer, or another seed's answer, has nothing of it."""
    one, other = exercise("water", 3), exercise("mixing", 3, "SI")
    false, true = Progress.of("Ann", tmp_path), Progress.of("Ben", tmp_path)
    false.note("water", 3, "1 gal", True, "US")
    false.note("mixing", 4, other.shown, True, "SI")
    false.note("frost", True, "", True)
    false.note("ends", 10**40, "nonsense", True, "US")
    true.note("water", 3, one.shown, False, "US")
    true.note("mixing", 3, other.shown, False)  # as files had it before tries named their units
    ann, ben = marks(tmp_path).rows
    assert ann[1] == "0 of 12" and ben[1] == "2 of 12"
    assert ann[2] == 'not yet, 1 try; the file says "right"'
    assert ben[2] == "right, 1 try"


def test_marks_name_an_empty_folder_a_damaged_file_and_whoever_has_two(tmp_path: Path) -> None:
    one = exercise("water", 3)
    for folder in ("a", "b"):
        Progress.of("Ann", tmp_path / folder).judge(one, one.shown)
    (tmp_path / "b" / "progress-zed.json").write_text('{"format": 1, "tri')
    rows = marks([tmp_path / "a", tmp_path / "b", tmp_path / "nowhere"]).rows
    cells = [(str(row[0]), str(row[1])) for row in rows]
    assert cells[0] == ("Ann (in a)", "1 of 12") and ("Ann (in b)", "1 of 12") in cells
    assert any(name == "progress-zed" and "cut off" in told for name, told in cells)
    assert cells[-1] == (str(tmp_path / "nowhere"), "no learner's file in this folder")


@pytest.mark.parametrize(("units", "other"), [("US", "SI"), ("SI", "US")])
def test_papers_say_the_units_in_which_their_figures_hold(units: str, other: str) -> None:
    """The figures of a set are round ones in each system, so one's key does not fit the other."""
    here, there = exercise("water", 2, units), exercise("water", 2, other)
    assert there.judge(here.shown).right is False
    assert f"{units} is pressed first" in teacher(["Ann"], units).grids[0].note
    assert f"press {units} first" in " ".join(sheet(2, units).basis)
