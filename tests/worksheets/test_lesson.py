"""A lesson, played through like an apprentice: nothing is told before something is written."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from vanplumb.course import MAKERS
from vanplumb.course.lessons import LESSONS, lesson_of, told_of
from vanplumb.words.show import show
from vanplumb.worksheets import lesson

# What the question comes to, as an engine tells it that other tests hold to account.
QUICK = [key for key in LESSONS if key not in ("when to test",)]


def test_each_exercise_has_a_lesson_with_a_picture_a_task_and_a_notebook(project: Path) -> None:
    assert set(LESSONS) == set(MAKERS)
    assert len(LESSONS) >= 10
    for key, one in LESSONS.items():
        assert one.picture.startswith("<svg") and "aria-label" in one.picture
        assert one.bench.tool and one.bench.do and one.bench.readings
        text = (project / "notebooks" / one.notebook).read_text(encoding="utf-8")
        assert f'lesson(\\"{key}\\")' in text
    with pytest.raises(KeyError, match="there are water, mixing"):
        lesson_of("plumb")


def test_each_lesson_says_its_place_and_leads_to_the_next(project: Path, tmp_path: Path) -> None:
    lessons = list(LESSONS.values())
    for place, (one, after) in enumerate(pairwise(lessons), 1):
        text = (project / "notebooks" / one.notebook).read_text(encoding="utf-8")
        assert re.findall(r"Next: \[[^]]*\]\(([^)]*)\)", text) == [after.notebook]
        assert f"Lesson {place} of {len(lessons)}" in lesson(one.key, "", tmp_path)._head()


def test_what_is_missing_at_the_bench_is_told_in_sentences(tmp_path: Path) -> None:
    for one in LESSONS.values():
        nothing = dict.fromkeys((r.key for r in one.bench.readings), "x")
        for texts in ({}, nothing):
            told, good = one.bench.judge(texts, "US")
            assert not good
            assert all(line[0].isupper() and line[-1] == "." for line in told.splitlines())


@pytest.mark.parametrize("key", QUICK)
@pytest.mark.parametrize("units", ["US", "SI"])
def test_nothing_is_told_until_a_prediction_is_written(
    key: str, units: str, tmp_path: Path
) -> None:
    page = lesson(key, units, tmp_path)
    shown = page._repr_mimebundle_()["text/html"]
    told = told_of(key, units)
    answer = show(told.value, page.lesson.word, units)
    assert page._guess.value == "" and page._reason.value == ""
    assert answer not in shown or page.lesson.word == "count"
    page.predict("")
    assert page._reason.value == "" and page.problem == ""
    page.predict("a lot")
    assert "Your prediction needs" in page._reason.value
    page.predict(page.lesson.example[units])
    assert answer in page._reason.value.replace("&#x27;", "'")
    assert page.problem == ""
    assert len(told.why) > 100


@pytest.mark.parametrize("key", list(LESSONS))
def test_an_exercise_is_answered_and_kept(key: str, tmp_path: Path) -> None:
    page = lesson(key, "", tmp_path)
    page._is("Ann")
    one = page.exercise
    wrong = 0.3 * one.answer if one.word != "temperature" else 280.0
    page.answer(show(wrong, one.word, page.units))
    assert "Not yet" in page._outcome.value
    page._hint()
    assert one.hint(1)[:20] in page._help.value.replace("&#x27;", "'")
    page.answer(one.shown)
    assert "Right" in page._outcome.value and one.why[:25] in page._outcome.value
    assert "1 of 12 lessons" in page._done.value
    again = lesson(key, "", tmp_path)
    assert again.progress.learner == "Ann" and "1 of 12 lessons" in again._done.value
    page.new_figures(77)
    assert page._answer.value == page._outcome.value == ""
    assert page.problem == ""


def test_an_answer_after_the_working_does_not_count(tmp_path: Path) -> None:
    page = lesson("water", "", tmp_path)
    page._working.value = True
    assert page.exercise.shown in page._help.value
    page.answer(page.exercise.shown)
    assert "take new figures" in page._outcome.value
    assert "0 of 12 lessons" in page._done.value


def test_a_button_pressed_with_nothing_written_says_so(tmp_path: Path) -> None:
    page = lesson("water", "", tmp_path)
    for press, place in (
        (page._see, page._reason),
        (page._check, page._outcome),
        (page._check_bench, page._meaning),
    ):
        press()
        assert "Write something first" in place.value
    page.answer("1 L")
    page._check()
    assert "Write something" not in page._outcome.value and "Not yet" in page._outcome.value


def test_a_gauge_that_tells_of_a_leak_is_not_shown_as_good(tmp_path: Path) -> None:
    page = lesson("test reading", "US", tmp_path)
    page.measured(start="60 psi", half="55 psi", end="50 psi")
    assert "does not slow down" in page._meaning.value and "vp-wrong" in page._meaning.value
    page.measured(start="60 psi", half="60 psi", end="60 psi")
    assert "nothing to see" in page._meaning.value and "vp-good" in page._meaning.value


def test_new_figures_are_new_and_a_set_can_be_typed(tmp_path: Path) -> None:
    page = lesson("water", "", tmp_path)
    before = repr(page.exercise)
    page.new_figures()
    assert repr(page.exercise) != before
    page._set.value = "17"
    assert page.seed == 17
    page._set.value = "seventeen"
    assert (page.seed, page._set.value) == (17, "17")


def test_one_answer_judged_twice_is_one_try(tmp_path: Path) -> None:
    page = lesson("water", "", tmp_path)
    page.answer("1 L")
    page._answered()  # the button, after Enter
    assert page.progress.standings()["water"].tries == 1


@pytest.mark.parametrize("key", list(LESSONS))
@pytest.mark.parametrize("units", ["US", "SI"])
def test_readings_from_the_bench_are_told(key: str, units: str, tmp_path: Path) -> None:
    page = lesson(key, units, tmp_path)
    readings = page.lesson.bench.readings
    page.measured(**{readings[0].key: "no number"})
    assert "vp-wrong" in page._meaning.value
    page.measured(**{one.key: one.example[units] for one in readings})
    assert "vp-good" in page._meaning.value
    assert len(re.sub("<.*?>", "", page._meaning.value)) > 60
    assert page.problem == ""
    page.measured(**{one.key: "0" if one.word == "count" else "0 s" for one in readings})
    assert "vp-wrong" in page._meaning.value and page.problem == ""


def test_a_fault_is_told_in_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page = lesson("mixing", "US", tmp_path)
    monkeypatch.setattr(type(page.progress), "judge", lambda *_: 1 / 0)
    page.answer("100 °F")
    assert "This lesson has a fault: ZeroDivisionError" in page._outcome.value


def test_units_change_the_figures_and_what_was_told(tmp_path: Path) -> None:
    page = lesson("mixing", "US", tmp_path)
    page.predict("95 °F")
    page.use_units("SI")
    assert "°C" in page._figures.value and "32.2 °C" in page._reason.value


def test_a_gauge_that_is_read_tells_leak_from_warmth() -> None:
    """The physics of what is told at the bench, by hand."""
    tell = LESSONS["falling gauge"].bench.tell
    psi, f = 6894.757, 5 / 9
    warm, cool = (75 + 459.67) * f, (40 + 459.67) * f
    tight = (40 + 14.696) * (40 + 459.67) / (75 + 459.67) - 14.696
    told = {"first": 40 * psi, "warm": warm, "cool": cool}
    assert "the warmth explains it" in tell({**told, "then": tight * psi}, "US")
    assert "less: soap on the joints" in tell({**told, "then": (tight - 3) * psi}, "US")
    seen = LESSONS["ends"].bench.tell({"across": 1.0625 * 0.0254, "crests": 11.5}, "US")
    assert "nearest to NH 3/4" in seen
    seen = LESSONS["ends"].bench.tell({"across": 0.840 * 0.0254, "crests": 14}, "US")
    assert "NPT 1/2" in seen


def test_what_moves_is_shown_with_the_answer_and_not_before(tmp_path: Path) -> None:
    page = lesson("cold minute", "US", tmp_path)
    assert page._moves.layout.display == "none" and page._moves.svg == ""
    page.predict("30 s")
    told = told_of("cold minute", "US")
    assert page._moves.layout.display != "none"
    assert page._moves.scene["play"]["name"] == f"{told.value:.3f} s"
    page.predict("")
    assert page._moves.layout.display == "none"


@pytest.mark.parametrize("key", ["ends", "test reading", "cold minute"])
def test_the_last_step_ends_with_the_answer_and_none_with_nothing(key: str, tmp_path: Path) -> None:
    page = lesson(key, "US", tmp_path)
    page._working.value = True
    shown = re.sub(r"<[^>]+>|\s", "", page._help.value)
    assert f"={page.exercise.shown}".replace(" ", "") in shown
    assert "=0.00gal" not in shown


def test_the_units_that_a_learner_chose_stay_for_the_next_lesson(tmp_path: Path) -> None:
    first = lesson("water", "", tmp_path)
    assert first.units == "SI"  # Heron's
    first._is("Ann")
    first.use_units("US")
    assert first.problem == ""
    first.answer("1 gal")
    assert lesson("cold minute", "", tmp_path).units == "US"
    again = lesson("water", "", tmp_path)
    assert (again.units, again.progress.learner) == ("US", "Ann")
    assert again.page.children[1].children[0].value == "US"  # the buttons say so, too


def test_an_answer_is_asked_for_in_a_unit_of_its_own_size(tmp_path: Path) -> None:
    """A wait of days is not asked for in seconds."""
    assert lesson("when to test", "", tmp_path)._answer.placeholder.endswith("unit, h")
    assert lesson("cold minute", "", tmp_path)._answer.placeholder.endswith("unit, s")


def test_hints_say_how_many_there_are(tmp_path: Path) -> None:
    page = lesson("water", "", tmp_path)
    for number in (1, 2, 2):
        page._hint()
        assert f"Hint {number} of 2: " in page._help.value


def said_at_the_bench(key: str, *texts: str) -> tuple[str, bool]:
    readings = LESSONS[key].bench.readings
    return LESSONS[key].bench.judge(
        {one.key: text for one, text in zip(readings, texts, strict=True)}, "US"
    )


@pytest.mark.parametrize(
    ("key", "texts"),
    [
        ("water", ("600 L", "10 s")),
        ("water", ("0 mL", "10 s")),
        ("mixing", ("900 °F", "60 °F", "102 °F")),
        ("weak shower", ("600 gal", "300 gal")),
        ("cold minute", ("500 gal", "3 s")),
        ("cold minute", ("0 L", "10 s")),
        ("frost", ("13 cm", "16 mm")),
        ("falling gauge", ("3500 psi", "75 °F", "3000 psi", "40 °F")),
        ("falling gauge", ("35 psi", "75 °C", "30 psi", "40 °F")),
        ("falling gauge", ("0 psi", "75 °F", "0 psi", "40 °F")),
        ("test reading", ("4000 psi", "3900 psi", "100 psi")),
        ("test reading", ("0 psi", "0 psi", "0 psi")),
        ("test reading", ("40 psi", "38 psi", "39.5 psi")),
        ("test reading", ("40 psi", "42 psi", "38 psi")),
    ],
)
def test_readings_that_no_van_gives_are_not_explained(key: str, texts: tuple[str, ...]) -> None:
    told, good = said_at_the_bench(key, *texts)
    assert not good, told


def test_threads_that_a_caliper_does_not_tell_apart_are_named_together() -> None:
    """NPT 1/2 is 21.34 mm across (ASME B1.20.1), R and G 1/2 are 20.955 mm (ISO 7-1, 228-1)."""
    for read_off in ("21 mm", "20.9 mm", "0.84 in"):
        told, _ = said_at_the_bench("ends", read_off, "14")
        assert all(name in told for name in ("NPT 1/2", "R 1/2", "G 1/2", "thread gauge"))
    assert "thread gauge" not in said_at_the_bench("ends", "1.06 in", "11.5")[0]
    assert "such as 1/4" in said_at_the_bench("ends", "0.54 in", "18")[0]


def test_no_water_that_came_out_did_not_freeze() -> None:
    told, good = said_at_the_bench("water stays", "6 ft", "0 mL")
    assert good and "emptied itself" in told and "frozen" not in told


def test_two_falls_that_a_gauge_cannot_tell_apart_are_no_creep() -> None:
    assert "slows down" not in said_at_the_bench("test reading", "40 psi", "39 psi", "38.5 psi")[0]
    assert "It slows down" in said_at_the_bench("test reading", "45 psi", "42 psi", "41 psi")[0]
    assert "does not slow" in said_at_the_bench("test reading", "40 psi", "36 psi", "32 psi")[0]


def test_the_lesson_says_which_way_the_cold_moves_a_full_line() -> None:
    """PE-X grows by about 4 parts in ten thousand and K, water at 14 °C by 1.5, steel by less."""
    why = told_of("test reading", "US").why
    assert re.search(r"rise by [\d.]+ psi where only her tubes get colder", why)
    assert re.search(r"fall by [\d.]+ psi where the heater's water does", why)


def test_what_was_said_goes_with_what_was_typed(tmp_path: Path) -> None:
    page = lesson("water", "US", tmp_path)
    page.measured(volume="20 fl oz", time="10 s")
    page.answer("1 gal")
    assert page._meaning.value and page._outcome.value
    page.measured(volume="", time="")
    page.answer("")
    assert page._meaning.value == page._outcome.value == ""


def test_the_hardest_test_of_the_rules_can_be_read_at_the_bench() -> None:
    """1500 kPa stands in the rules of Australia and New Zealand: no reading to be refused."""
    texts = dict.fromkeys(("start", "half", "end"), "1500 kPa")
    told, good = LESSONS["test reading"].bench.judge(texts, "SI")
    assert good and "less than a step of the gauge" in told
