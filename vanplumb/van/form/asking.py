"""The eight questions asked one after the other, by whoever reads a line and shows one."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from .questions import QUESTIONS, AnswerProblem, Answers, Question, answered, taken_as

Read = Callable[[str], str]
Tell = Callable[[str], None]


def ask(read: Read, tell: Tell, region: str = "") -> Answers:
    """The answers that ``read`` gets; each question again until its answer can be taken.

    ``region`` is not asked for if it is given.  What ``read`` raises goes through.
    """
    answers = Answers(region=region) if region else Answers()
    asked = [q for q in QUESTIONS if not (region and q.key == "region")]
    for number, question in enumerate(asked, 1):
        tell("")
        tell(f"{number}/{len(asked)}  {question.asks}")
        for line in told_options(question, answers):
            tell(line)
        answers = _answer(question, answers, read, tell)
    return answers


def told_options(question: Question, answers: Answers) -> Iterator[str]:
    """The help of a question and, numbered, what may be answered."""
    yield f"     {question.help}"
    for number, (name, about) in enumerate(question.options(answers), 1):
        yield f"     {number}  {name}: {about}"


def _answer(question: Question, answers: Answers, read: Read, tell: Tell) -> Answers:
    usual = question.usual(answers)
    while True:
        try:
            said = read(f"     [{usual}] ")
            found = answered(answers, question.key, said)
        except AnswerProblem as problem:
            tell(f"     {problem}")
            continue
        taken = taken_as(found, question.key)
        if said.strip() and taken not in ("", said.strip()):
            tell(f"     {taken}")
        return found
