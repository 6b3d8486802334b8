"""The eight questions asked one after the other, by whoever reads a line and shows one."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from .questions import QUESTIONS, AnswerProblem, Answers, Question, answered, taken_as

Read = Callable[[str], str]
Tell = Callable[[str], None]
BACK = "back"
"""What a reader types to answer the question before once more."""


def ask(read: Read, tell: Tell, region: str = "") -> Answers:
    """The answers that ``read`` gets; each question again until its answer can be taken.

    ``region`` is not asked for if it is given, nor what has only one answer after those before
    it.  "back" goes to the question before.  What ``read`` raises goes through.
    """
    answers = Answers(region=region) if region else Answers()
    asked = [q for q in QUESTIONS if not (region and q.key == "region")]
    before: list[tuple[int, Answers]] = []  # each question that was asked, and what stood then
    number = 0
    while number < len(asked):
        question = asked[number]
        tell("")
        tell(f"{number + 1}/{len(asked)}  {question.asks}")
        for line in told_options(question, answers):
            tell(line)
        if question.kind == "choice" and len(question.options(answers)) == 1:
            answers = answered(answers, question.key, "")  # nothing to choose: told, not asked
            number += 1
            continue
        found = _answer(question, answers, read, tell)
        if found is not None:
            before.append((number, answers))
            answers, number = found, number + 1
        elif before:
            number, answers = before.pop()
        else:
            tell("     this is the first question")
    return answers


def told_options(question: Question, answers: Answers) -> Iterator[str]:
    """The help of a question and, numbered, what may be answered."""
    yield f"     {question.help}"
    for number, (name, about) in enumerate(question.options(answers), 1):
        yield f"     {number}  {name}: {about}"


def _answer(question: Question, answers: Answers, read: Read, tell: Tell) -> Answers | None:
    """The answers with this one, None to go back."""
    usual = question.usual(answers)
    while True:
        try:
            said = read(f"     [{usual}] ")
            if said.strip().lower() == BACK:
                return None
            found = answered(answers, question.key, said)
        except AnswerProblem as problem:
            tell(f"     {problem}")
            continue
        taken = taken_as(found, question.key)
        if said.strip() and taken not in ("", said.strip()):
            tell(f"     {taken}")
        return found
