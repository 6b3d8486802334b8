"""Exercises: the right answer is right, each usual mistake is told apart, figures are sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from vanplumb.course import MAKERS, Progress, exercise
from vanplumb.course.exercise import exercises, write
from vanplumb.words.show import value
from vanplumb.words.unit_table import UNITS

CASES = [(key, seed, units) for key in MAKERS for seed in range(1, 26) for units in ("US", "SI")]
DIGITS = {"temperature": ("°F", "°C"), "volume": ("gal", "L"), "pressure_loss": ("psi", "bar")}
DIGITS |= {"pressure": ("psi", "bar"), "duration": ("s", "s"), "length": ("in", "mm")}


def written(si: float, word: str, units: str) -> str:
    """An answer as someone types it, to five figures."""
    unit = DIGITS[word][0 if units == "US" else 1]
    known = UNITS[unit]
    return f"{(si - known.offset) / known.factor:.5g} {unit}"


@pytest.mark.parametrize("key, seed, units", CASES)
def test_the_right_answer_is_right_and_mistakes_are_told_apart(
    key: str, seed: int, units: str
) -> None:
    one = exercise(key, seed, units)
    assert one.judge(written(one.answer, one.word, units)).right is True
    for mistake in one.mistakes:
        if abs(mistake.value - one.answer) <= 2 * one.tolerance or mistake.value <= 0:
            continue  # with these figures the wrong way leads to the right answer
        verdict = one.judge(written(mistake.value, one.word, units))
        assert verdict.right is False
        others = [m.say for m in one.mistakes if abs(m.value / mistake.value - 1) < 0.02]
        assert any(say in str(verdict) for say in [mistake.say, *others])


@pytest.mark.parametrize("key", list(MAKERS))
def test_worked_steps_end_in_the_answer_and_hints_do_not_tell_it(key: str) -> None:
    one = exercise(key, 3, "SI")
    assert one.work[-1].value == one.answer
    assert one.shown in one.solution()
    number = f"{value(one.answer, one.word, 'SI'):.4g}"
    assert all(number not in one.hint(n) for n in (1, 2, 9))


@pytest.mark.parametrize("key", list(MAKERS))
def test_a_seed_gives_the_same_figures_and_seeds_differ(key: str) -> None:
    assert repr(exercise(key, 7)) == repr(exercise(key, 7))
    assert len({repr(exercise(key, seed)).split("\n", 1)[1] for seed in range(40)}) > 5


def test_a_wrong_unit_is_told_in_words() -> None:
    one = exercise("water", 1, "SI")
    assert "kg is no unit for this; it needs a volume" in str(one.judge("60 kg"))
    assert "the unit is missing" in str(one.judge("60"))
    assert "decimals with a point" in str(one.judge("12,7 L"))
    assert one.judge("").right is None
    warm = exercise("mixing", 1, "SI")
    assert "needs a temperature" in str(warm.judge("20 Δ°F"))


def test_a_slip_of_ten_is_told() -> None:
    one = exercise("water", 1, "SI")
    assert "by a factor of 10: look at the units" in str(one.judge(f"{one.answer * 1e4:.5g} L"))


def test_progress_is_kept_and_bad_lines_are_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "mine.jsonl"
    progress, one = Progress(file), exercise("water", 1, "SI")
    assert progress.judge(one, "1 L").right is False
    assert progress.judge(one, "").right is None
    with file.open("ab") as handle:
        handle.write(b'{"exercise": "wat')
    again = Progress(file)
    assert again.judge(one, written(one.answer, one.word, "SI")).right is True
    assert again.standings()["water"].tries == 2 and again.standings()["water"].right
    assert again.unreadable == 1
    assert b'{"exercise": "wat\n' in file.read_bytes()
    assert repr(again) == "1 of 1 exercises tried were solved"


def test_an_unknown_exercise_or_unit_system_is_refused() -> None:
    with pytest.raises(KeyError, match="there are water, mixing"):
        exercise("plumb")
    with pytest.raises(ValueError, match='units must be "US" or "SI"'):
        exercise("water", 1, "UK")


def test_sheet_and_key_come_from_the_same_seed(tmp_path: Path) -> None:
    paths = write(4, tmp_path, "US")
    assert [p.suffix for p in paths] == [".pdf", ".html", ".pdf", ".html"]
    questions, answers = (p.read_text(encoding="utf-8") for p in paths if p.suffix == ".html")
    for one in exercises(4, "US"):
        assert one.title in questions and one.title in answers
        assert one.shown in answers
