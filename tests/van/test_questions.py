"""Eight answers make a build: one that loads, joins up and endangers nobody, whatever they are."""

from __future__ import annotations

import tomllib
from itertools import product
from pathlib import Path
from random import Random

import pytest

import vanplumb as vp
from vanplumb.answers import Answers as Answered
from vanplumb.cli import main
from vanplumb.review.finding import RULES, guards
from vanplumb.van import loads
from vanplumb.van.form.asking import ask
from vanplumb.van.form.kit import MEASURE, build_text
from vanplumb.van.form.questions import (
    BY_KEY,
    QUESTIONS,
    TAPS,
    WARM_TAPS,
    AnswerProblem,
    Answers,
    all_answered,
    answered,
)
from vanplumb.van.wiring import loose_ports


def some_answers(rng: Random) -> Answers:
    """Answers that nobody chose, each among those that its question offers."""
    answers = Answers()
    for question in QUESTIONS:
        offered = [name for name, _ in question.options(answers)]
        if question.key == "people":
            said = f"{rng.randint(1, 8)} {rng.randint(1, 9)}"
        elif question.key == "tank":
            said = rng.choice(["5 gal", "80 L", "23.5 gal", "200 L", "1 m^3"])
        elif question.key == "taps":
            chosen = set(rng.sample(offered, rng.randint(1, len(offered))))
            said = ", ".join(chosen | ({rng.choice(WARM_TAPS)} if answers.hot else set()))
        else:
            said = rng.choice(offered)
        answers = answered(answers, question.key, said)
    return answers


@pytest.mark.parametrize("seed", range(25))
def test_any_answers_make_a_file_that_loads_with_every_port_joined(seed: int) -> None:
    answers = some_answers(Random(seed))
    build = loads(build_text(answers, "some van"))
    assert list(loose_ports(build)) == []
    assert {f.name for f in build.fixture} == set(answers.taps)
    assert build.crew.people == answers.beds and build.van.units == answers.units
    assert build.tank[0].volume == pytest.approx(answers.tank, rel=1e-4)
    # round a ring of runs the rises add up to nothing: each part has one height
    heights = {build.run_ends[0][0].component: 0.0}
    for _ in build.run:
        for run, (a, b) in zip(build.run, build.run_ends, strict=True):
            if a.component in heights:
                known = heights.setdefault(b.component, heights[a.component] + run.rise)
                assert known == pytest.approx(heights[a.component] + run.rise, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_no_kit_has_a_danger_of_its_own_making(seed: int) -> None:
    """Rules that may tell of a DANGER, since the others can't; none finds one.

    That on the weight of water is left out: it asks for a payload, which is not among the eight,
    and weighs every list of the van to say nothing.
    """
    build = loads(build_text(some_answers(Random(1000 + seed))))
    assert build.van.payload is None
    names = [name for name, check in RULES.items() if guards(check) == "DANGER"]
    worst = [RULES[name] for name in names if name != "water_heavy_for_the_van"]
    assert len(worst) > 3
    found = [f for check in worst for f in check(Answered(build))]
    assert [f for f in found if f.severity == "DANGER"] == []


def test_what_was_not_measured_says_so() -> None:
    text = build_text(all_answered({"region": "US"}))
    for line in text.splitlines():
        if line.startswith(("length =", "rise =")):
            assert MEASURE in line


def test_every_heater_is_shared_out_both_ways() -> None:
    heaters = [name for name, _ in BY_KEY["heater"].options(all_answered({}))]
    for heater, sharing in product(heaters, ("board", "tees")):
        said = {"heater": heater, "sharing": sharing, "taps": "sink, shower, outside shower"}
        build = loads(build_text(all_answered(said)))
        assert bool(build.manifold) == (sharing == "board")
        assert bool(build.heater) == (heater != "none")


@pytest.mark.parametrize(
    "key, said, told",
    [
        ("region", "Mars", 'none of "US"'),
        ("people", "two", "whole numbers such as 2, 4"),
        ("people", "99", "beds must be 1 to 8"),
        ("tank", "3 mm", "the tank"),
        ("tank", "9999 gal", "must hold"),
        ("pump", "12 V", 'fits several: say "12 V 2.0 gpm 30 psi"'),
        ("heater", "gas", 'fits several: say "gas store" or "gas flow-through"'),
        ("pump", "14 V", 'none of "12 V 2.0 gpm 30 psi"'),
        ("taps", "sink, bath", '"bath" is none of'),
        ("sharing", "9", 'none of "tees"'),
    ],
)
def test_an_answer_that_can_not_be_taken_says_what_can(key: str, said: str, told: str) -> None:
    before = all_answered({"taps": "toilet", "heater": "none"})
    with pytest.raises(AnswerProblem, match=told.replace('"', '."?').replace(".", ".?")):
        answered(before, key, said)


def test_a_bottle_is_one_that_is_sold() -> None:
    """20 lb, or 9 kg where gas is sold by the kilogram."""
    for region, mass in (("US", '"20 lb"'), ("EU", '"9 kg"')):
        assert f"mass = {mass} " in build_text(all_answered({"region": region}))


def test_a_heater_wants_a_tap() -> None:
    with pytest.raises(AnswerProblem, match="feeds none of these"):
        all_answered({"heater": "gas store", "taps": "toilet"})


def test_a_pump_by_foot_feeds_one_cold_tap() -> None:
    foot = all_answered({"pump": "foot pump"})
    assert foot.taps == ("sink",) and not foot.hot
    with pytest.raises(AnswerProblem):
        answered(foot, "heater", "gas store")


def test_numbers_and_beginnings_are_answers() -> None:
    said = {"region": "3", "heater": "gas f", "taps": "1;outside", "sharing": "2", "tank": "75"}
    answers = all_answered(said)
    assert answers.region == "EU" and answers.heater == "gas flow-through"
    assert answers.taps == ("sink", "outside shower") and answers.sharing == "tees"
    assert answers.tank == pytest.approx(0.075)
    assert set(answers.taps) <= set(TAPS)


def test_some_words_and_numbers_apart_are_answers() -> None:
    answers = all_answered({"pump": "2.0 gpm", "heater": "flow-through", "taps": "1 4"})
    assert answers.pump == "12 V 2.0 gpm 30 psi" and answers.heater == "gas flow-through"
    assert answers.taps == ("sink", "outside shower")


def test_back_asks_the_question_before_again() -> None:
    """What was answered before that one stays, and what has one answer only is not asked."""
    said = ["back", "US", "2 4", "12 gal", "foot pump", "back", "BACK", "20 gal", "foot pump",
            "", ""]  # fmt: skip
    lines, shown = iter(said), []
    answers = ask(lambda prompt: next(lines), shown.append)
    assert next(lines, None) is None  # heater and sharing have one answer each for a foot pump
    assert (answers.seats, answers.pump, answers.heater) == (4, "foot pump", "none")
    assert answers == all_answered({"people": "2 4", "tank": "20 gal", "pump": "foot pump"})
    assert sum("Which pump?" in line for line in shown) == 3
    assert any("first question" in line for line in shown)


def test_the_terminal_asks_again_until_it_can_be_taken() -> None:
    lines = iter(["nowhere", "UK", "2 4", "", "", "", "sink", "", ""])
    shown: list[str] = []
    answers = ask(lambda prompt: next(lines), shown.append)
    assert answers.region == "UK" and answers.seats == 4
    assert any("2 beds, 4 seats" in line for line in shown)
    assert any('"nowhere" is none of' in line for line in shown)
    assert loads(build_text(answers)).van.region == "UK"


def test_new_asks_and_an_end_of_the_answers_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "asked.toml"
    lines = iter(["US", "1", "12 gal"])

    def answer(prompt: str) -> str:
        try:
            return next(lines)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", answer)
    assert main(["new", "--ask", str(file)]) == 1
    assert "is not begun" in capsys.readouterr().err and list(tmp_path.iterdir()) == []

    def stop(prompt: str) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr("builtins.input", stop)
    assert main(["new", "--ask", str(file)]) == 1
    assert list(tmp_path.iterdir()) == []
    monkeypatch.setattr("builtins.input", lambda prompt: "")
    assert main(["new", "--ask", "--region", "EU", str(file)]) == 0
    build = vp.load(file)
    assert build.van.name == "asked" and build.van.region == "EU"
    assert tomllib.loads(file.read_text("utf-8"))["format"] == 1
    assert main(["new", "--ask", "--like", "wren", str(tmp_path / "other.toml")]) == 2
