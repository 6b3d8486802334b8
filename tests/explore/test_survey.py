"""The survey form: what is asked, and that what it says an answer changes is what it changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.small_van import SMALL_VAN
from vanplumb.cli import FINE, main
from vanplumb.explore.open_questions import OWNER, Question, open_questions
from vanplumb.flow.changed_build import vary
from vanplumb.pack import Pack, example
from vanplumb.van import loads
from vanplumb.words.quantity import read


@pytest.fixture(scope="module")
def questions() -> tuple[Question, ...]:
    return open_questions(loads(SMALL_VAN))


def test_what_is_given_is_not_asked_and_what_is_not_is(questions: tuple[Question, ...]) -> None:
    build = loads(SMALL_VAN)
    paths = {path for q in questions for path in q.paths}
    assert not paths & set(build.given)
    assert {"crew.people", "crew.drinking", "van.cold_water", "run.1.rise"} <= paths
    assert "pump.pump.stroke_rate" not in paths  # of a foot pump only
    said = loads(SMALL_VAN + "[crew]\npeople = 3\n")
    again = {path for q in open_questions(said) for path in q.paths}
    assert paths - again == {"crew.people"}


def test_what_changes_most_stands_first(questions: tuple[Question, ...]) -> None:
    weights = [q.weight for q in questions if q.assumed]
    assert weights == sorted(weights, reverse=True) and weights[0] > 0.1
    unknown = [q for q in questions if not q.assumed]
    assert questions[: len(unknown)] == tuple(unknown)
    (people,) = [q for q in questions if q.paths == ("crew.people",)]
    assert people.who == OWNER and people.effects[0].result.startswith("nights of water")


def test_an_effect_is_what_the_pack_of_the_other_answer_says() -> None:
    """The pack works the nights out by another way than the batches that rank the questions."""
    build = example("wren")
    (drinking,) = [q for q in open_questions(vary(build, {})) if q.key == "pickup_height"]
    assert drinking.effects == ()  # of the grey can: no water is drawn from it
    build = loads(SMALL_VAN)
    (lift,) = [q for q in open_questions(build) if q.paths == ("crew.drinking",)]
    (nights,) = [e for e in lift.effects if e.result.startswith("nights")]
    low, high = (Pack(vary(build, {"crew.drinking": value})).water.nights for value in lift.tried)
    told = float(nights.then.split()[0])
    assert min(abs(told - low), abs(told - high)) < 0.005 * told + 0.005
    assert read(lift.tried[0], "volume") < read(lift.assumed, "volume")


def test_the_form_has_room_for_every_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "siskin.toml"
    file.write_text(SMALL_VAN, encoding="utf-8")
    assert main(["survey", str(file)]) == FINE
    told = capsys.readouterr().out
    count = len(open_questions(loads(SMALL_VAN)))
    assert f"{count} questions are open" in told
    lists = list((tmp_path / "siskin-survey").glob("survey-*.csv"))
    rows = [line for one in lists for line in one.read_text("utf-8-sig").splitlines()[1:]]
    assert all("____" in row for row in rows)
    assert len(rows) > count  # ends and masses, too
    assert (tmp_path / "siskin-survey" / "survey.pdf").stat().st_size > 1000


def test_an_answer_that_lets_a_run_freeze_is_told() -> None:
    """In a cold night a run outside freezes: the review of that build says so too."""
    cold = loads(SMALL_VAN.replace('units = "US"', 'units = "US"\noutside = "-15 °C"'))
    (place,) = [q for q in open_questions(cold) if (q.kind, q.key) == ("run", "place")]
    assert place.effects[0].result.startswith("NOTICE if underfloor: The run freezes")
    outside = vary(cold, dict.fromkeys(place.paths, "outside"))
    assert any(f.rule == "run_freezes_at_night" for f in Pack(outside).findings)
    assert not any(f.rule == "run_freezes_at_night" for f in Pack(cold).findings)
