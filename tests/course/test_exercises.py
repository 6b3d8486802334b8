"""Exercises: the right answer is right, each usual mistake is told apart, figures are sound."""

from __future__ import annotations

import math

import pytest

from tests.cases import cases
from vanplumb.course import MAKERS, Exercise, exercise
from vanplumb.course.exercise import FIGURES, Draw
from vanplumb.words.glossary import word as word_of
from vanplumb.words.quantity import split
from vanplumb.words.show import show, unit
from vanplumb.words.show import value as in_unit

SEEDS = range(cases(150, 500))


def printed(si: float, word: str) -> list[str]:
    """What the kit prints for a value in both systems, as somebody types it off the page."""
    texts = {show(si, word, units).replace("−", "-") for units in ("US", "SI")}
    return [text for text in texts if text[:1].isdigit() or text[:1] == "-"]


def fewer(text: str) -> str:
    """A printed figure with a digit fewer, as the trade rounds; empty where it would not."""
    number, mark = split(text)
    if "/" in text.split(mark)[0] or mark == "in":
        return ""
    decimals = len(text.split(" ")[0].partition(".")[2]) - 1
    short = f"{number:.{decimals}f}" if decimals >= 0 else f"{round(number / 10) * 10}"
    digits = short.replace(".", "").lstrip("-0")
    digits = digits if decimals >= 0 else digits[:-1]
    return f"{short} {mark}" if len(digits) >= 2 else ""


def typed(si: float, word: str, units: str) -> str:
    """A value to six figures, as a calculator gives it."""
    return f"{in_unit(si, word, units):.6g} {unit(word, units)}".strip()


def saying(one: Exercise, value: float) -> set[str]:
    """What may be said to a value: of its own mistake and of those that lead to about the same."""
    room = 0.03 * (one.span or abs(value)) + 0.03 * abs(one.answer if one.span is None else 0)
    return {m.say for m in one.mistakes if abs(m.value - value) <= room}


@pytest.mark.parametrize("key", list(MAKERS))
def test_printed_answers_pass_and_mistakes_are_told(key: str) -> None:
    """What is printed passes in both systems, whichever the exercise's own figures are in."""
    told = apart = 0
    for seed in SEEDS:
        units = ("US", "SI")[seed % 2]
        one = exercise(key, seed, units)
        for text in printed(one.answer, one.word):
            assert one.judge(text).right is True, (seed, text)
            if one.rounds and fewer(text):
                assert one.judge(fewer(text)).right is True, (seed, text, fewer(text))
        assert one.judge(typed(one.answer, one.word, units)).right is True, seed
        scale = one.span or abs(one.answer)
        for mistake in one.mistakes:
            meant = word_of(one.word)
            if not meant.low <= mistake.value <= meant.high:
                continue  # nobody can type it: the reader of quantities says why
            if abs(mistake.value - one.answer) < 0.06 * scale:
                continue  # with these figures the wrong way leads close to the right answer
            apart += 1
            wrong = typed(mistake.value, one.word, units), show(mistake.value, one.word, units)
            for text in wrong:
                verdict = one.judge(text.replace("−", "-"))
                assert verdict.right is False, (seed, mistake.name, text)
                told += any(say in str(verdict) for say in saying(one, mistake.value))
    assert apart > len(SEEDS)
    assert told >= 0.995 * 2 * apart


@pytest.mark.parametrize("units", ["US", "SI"])
@pytest.mark.parametrize("key", list(MAKERS))
def test_many_seeds_have_as_many_sets_of_figures(key: str, units: str) -> None:
    options, many = FIGURES[key](units), cases(2000, 10_000)
    assert all(len(set(texts)) == len(texts) for texts in options.values())
    sets = {tuple(Draw(key, seed, units).texts.values()) for seed in range(many)}
    assert len(sets) == many
    answers = {f"{exercise(key, seed, units).answer:.6g}" for seed in range(100)}
    assert len(answers) > 40


@pytest.mark.parametrize("key", list(MAKERS))
def test_worked_steps_end_in_the_answer_and_hints_do_not_tell_it(key: str) -> None:
    one = exercise(key, 3, "SI")
    assert one.work[-1].value == one.answer
    assert one.shown in one.solution()
    number = f"{in_unit(one.answer, one.word, 'SI'):.4g}"
    assert all(number not in one.hint(n) for n in (1, 2, 9))
    assert len(one.why) > 60


@pytest.mark.parametrize("key", list(MAKERS))
def test_a_seed_gives_the_same_figures(key: str) -> None:
    assert repr(exercise(key, 7)) == repr(exercise(key, 7))
    assert repr(exercise(key, 7)).split("\n", 1)[1] != repr(exercise(key, 8)).split("\n", 1)[1]


def test_a_wrong_unit_is_told_in_words() -> None:
    one = exercise("water", 1, "SI")
    assert "kg is no unit for this; it needs a volume" in str(one.judge("60 kg"))
    assert "the unit is missing" in str(one.judge("60"))
    assert "decimals with a point" in str(one.judge("12,7 L"))
    assert one.judge("").right is None
    warm = exercise("mixing", 1, "SI")
    assert "needs a temperature" in str(warm.judge("20 Δ°F"))


def test_a_number_in_another_unit_is_told() -> None:
    one = exercise("cold minute", 1, "SI")
    assert "the number would be right in s" in str(one.judge(f"{one.answer:.4g} min"))
    one = exercise("water", 1, "SI")
    assert "the number would be right in L" in str(one.judge(f"{one.answer * 1e3:.4g} gal"))
    said = str(exercise("short stub", 1, "US").judge("4 7/8 mm"))
    assert "the number would be right in inches, and you wrote mm" in said


def test_a_slip_of_ten_is_told() -> None:
    one = exercise("water", 1, "SI")
    assert "by a factor of 10: look at the units" in str(one.judge(f"{one.answer * 1e4:.5g} L"))


def test_an_hour_too_early_is_not_right_however_it_is_rounded() -> None:
    """A test that comes before the joints are ready is not rounded into a right one."""
    for seed in range(200):
        one = exercise("when to test", seed)
        early = math.floor(one.answer / 3600 - 0.5)
        assert one.judge(f"{early} h").right is False


def test_an_unknown_exercise_or_unit_system_is_refused() -> None:
    with pytest.raises(KeyError, match="there are water, mixing"):
        exercise("plumb")
    with pytest.raises(ValueError, match='units must be "US" or "SI"'):
        exercise("water", 1, "UK")


def test_the_confidence_that_is_given_does_not_pass_for_the_chance_that_is_asked() -> None:
    """143 that held, 37 to come, at 95 %: 1 - 0.05^(37/143) is 53.9 %, worked by hand."""
    one = exercise("how sure", 1)
    assert dict(one.given) == {
        "joints that held": "143",
        "joints in the next van": "37",
        "confidence": "95 %",
    }
    for near in ("54 %", "53.9 %", "53.7 %", "0.539"):
        assert one.judge(near).right is True, near
    for far in ("53 %", "55 %", "95 %", "100 %"):
        assert one.judge(far).right is False, far
    assert "how sure the tests are" in str(one.judge("95 %"))
    for seed in SEEDS:
        one = exercise("how sure", seed)
        assert one.judge(dict(one.given)["confidence"]).right is False, seed


def test_two_mistakes_that_lead_to_the_same_figure_are_both_told() -> None:
    stub = exercise("short stub", 1, "US")  # its spare and its first take-off are both 1 1/8 in
    said = str(stub.judge("3 3/4 in"))
    assert "only one of the two fittings. Or: you left no tube to spare" in said
    assert " Or: " not in str(exercise("short stub", 2, "US").judge("4 3/4 in"))
    pipe = exercise("weak shower", 1, "US")
    value = in_unit(pipe.answer, "pressure_loss", "US")
    forgotten = str(pipe.judge(f"{value * 32.174:.4g} psi"))
    assert "divide by 32.2" in forgotten and "radius for the bore" in forgotten
    assert "32.2" not in str(exercise("weak shower", 1, "SI").judge("100 bar"))


def test_the_shower_alone_is_told_with_the_factor_that_the_page_gives() -> None:
    one = exercise("weak shower", 1, "US")
    flows = {label: float(value.split()[0]) for label, value in one.given if "gpm" in value}
    part = flows["shower"] / (flows["shower"] + flows["tap"])
    value = in_unit(one.answer, "pressure_loss", "US") * part**2
    assert "that is the shower alone" in str(one.judge(f"{value:.3g} psi"))


def test_a_sum_that_is_a_little_off_is_no_unit_that_is_nearly_the_same() -> None:
    one = exercise("water", 1, "SI")
    said = str(one.judge(f"{one.answer * 1e3 * 1.045:.4g} L"))  # a quart is 0.946 L
    assert "qt" not in said and "too high" in said


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("water", "93.2 L", "a share of the tank"),  # 79.2 L / (1 - 0.15)
        ("ends", "33.4 in", "multiplied the turns"),  # 0.34 + 2.875 * 11.5
        ("ends", "3.215 in", "one thread in"),  # 0.34 + 2.875
        ("test reading", "0.32 fl oz/h", "in one hour"),
        ("test reading", "0.55 fl oz/day", "for a fall of 1 psi"),  # 0.08 / 3.5 * 24
    ],
)
def test_a_usual_wrong_turn_with_the_first_figures_is_told(key: str, text: str, told: str) -> None:
    one = exercise(key, 1, "SI" if text.endswith(" L") else "US")
    assert told in str(one.judge(text))


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("test reading", "2.2 fl oz per day"),
        ("test reading", "2.2 fl oz a day"),
        ("how sure", "7 in 13"),
        ("how sure", "54 out of 100"),
        ("water stays", "131 cc"),
    ],
)
def test_an_answer_in_the_words_of_the_shop_is_taken(key: str, text: str) -> None:
    assert exercise(key, 1, "US").judge(text).right is True


def test_a_pressure_with_the_outside_air_in_it_is_told() -> None:
    one = exercise("falling gauge", 1, "US")
    assert "has the air outside in it" in str(one.judge("44.9 psia"))
