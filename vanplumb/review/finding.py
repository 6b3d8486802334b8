"""What a review finds, and how a rule is declared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from ..words.brief import brief
from ..words.report import Grid, grid
from ..words.show import capital, first_of, show, to_figures
from ..words.sources import OWN, Source

if TYPE_CHECKING:
    import pandas as pd

    from ..answers import Answers

SEVERITIES = {
    "DANGER": "will kill or seriously injure someone if it is not avoided",
    "WARNING": "could kill or seriously injure someone if it is not avoided",
    "CAUTION": "could injure someone slightly or moderately if it is not avoided",
    "NOTICE": "could spoil the work; nobody is injured",
}
"""The signal words of ANSI Z535.4-2007 (4.14), worst first, and what each means."""


@brief
@dataclass(frozen=True)
class Finding:
    """One thing that the review noticed.

    ``value`` and ``limit`` are SI floats of the glossary word ``word``, or plain texts.
    ``not_worked_out`` says why nobody could judge, where a sum failed; what ``opens`` stands
    before all others, whatever its rank.
    """

    severity: str
    what: str
    where: str
    value: float | str
    limit: float | str
    source: Source
    advice: str
    word: str = ""
    rule: str = ""
    not_worked_out: str = ""
    opens: bool = False

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity must be one of {', '.join(SEVERITIES)}")

    def shown(self, system: str) -> tuple[str, str]:
        """Value and limit as the reader sees them."""

        def one(x: float | str) -> str:
            return (
                x if isinstance(x, str) else show(x, self.word, system) if self.word else f"{x:g}"
            )

        found, limit = one(self.value), one(self.limit)
        if found == limit and self.word and self.value != self.limit:
            # Rounded alike, they would read as if nothing were over.
            for count in (2, 3, 4, 5):
                found, limit = (
                    to_figures(float(x), self.word, system, count) for x in (self.value, self.limit)
                )
                if found != limit:
                    break
        return found, limit


class Findings(tuple[Finding, ...]):
    """What a review found, worst first: a tuple that a notebook shows as a table.

    ``system`` is the reader's units.
    """

    system: str

    def __new__(cls, found: Iterable[Finding], system: str) -> Findings:
        made = super().__new__(cls, found)
        made.system = system
        return made

    def __repr__(self) -> str:
        return "\n".join(f"{f.severity}: {f.what} ({f.where})" for f in self) or "nothing found"

    def _table(self) -> Grid:
        return grid(
            "Findings",
            self,
            {
                "severity": "severity",
                "what": "what",
                "where": "where",
                "is": lambda f: f.shown(self.system)[0],
                "limit": lambda f: f.shown(self.system)[1],
                "source": lambda f: str(f.source),
                "do": "advice",
                "rule": "rule",
            },
        )

    def _repr_html_(self) -> str:
        return self._table().html(self.system)

    def frame(self) -> pd.DataFrame:
        """One row a finding; value and limit as texts in the reader's units."""
        return self._table().frame(self.system)


Rule = Callable[[Any], Iterator[Finding]]
RULES: dict[str, Rule] = {}


def rule(function: Rule) -> Rule:
    """Register a rule: a small function from answers to findings.  Its name names it."""
    name = function.__name__
    if name in RULES and RULES[name].__module__ != function.__module__:
        raise ValueError(f"two rules are called {name}")
    RULES[name] = function
    return function


class NotWorkedOut(ValueError):
    """A rule's question that an engine can't answer for this build; the message says why."""


@dataclass(frozen=True)
class Failed:
    """A sum that failed: what it was for, the rank of what it guards, and why, in words."""

    subject: str
    severity: str
    why: str


def told(error: Exception) -> str:
    """Why a sum failed, as it is told to the reader; the kind of error where it is a fault."""
    text = str(error.args[0] if error.args else error).strip().rstrip(".")
    if isinstance(error, ValueError) and text:
        return text
    return f"{type(error).__name__}: {text}".strip(": ")


def guards(check: Rule) -> str:
    """The worst that a rule could have told: of the signal words that it and its helpers name."""
    seen: set[Any] = set()
    named: set[str] = set()
    todo: list[Any] = [check]
    while todo:
        one = todo.pop()
        code = getattr(one, "__code__", one)
        if code in seen or not hasattr(code, "co_consts"):
            continue
        seen.add(code)
        named |= {word for word in code.co_consts if isinstance(word, str)}
        todo += [inner for inner in code.co_consts if hasattr(inner, "co_consts")]
        space = getattr(check, "__globals__", {})
        mine = (space.get(name) for name in code.co_names)
        todo += [f for f in mine if getattr(f, "__module__", "") == check.__module__]
    return next((word for word in SEVERITIES if word in named), "WARNING")


def not_worked_out(failed: Iterable[Failed]) -> tuple[Finding, ...]:
    """Failed sums as findings: one for each reason, of the worst rank that it leaves unguarded."""
    by_reason: dict[str, list[Failed]] = {}
    for one in failed:
        by_reason.setdefault(one.why, []).append(one)
    found = []
    for why, those in by_reason.items():
        subjects = list(dict.fromkeys(one.subject for one in those))
        found.append(
            Finding(
                min((one.severity for one in those), key=list(SEVERITIES).index),
                f"Not worked out: {first_of(subjects)}. {capital(why)}.",
                subjects[0],
                "not worked out",
                "an answer",
                OWN,
                "Put right what it names; until then nobody knows whether any of this is in order.",
                rule="not_worked_out",
                not_worked_out=why,
            )
        )
    return tuple(found)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By rank; among equals, what could not be worked out stands first.  What opens, opens."""
    order = list(SEVERITIES)

    def rank(one: Finding) -> tuple[bool, int, bool]:
        return not one.opens, order.index(one.severity), not one.not_worked_out

    return tuple(sorted(findings, key=rank))


def told_once(findings: Iterable[Finding], system: str) -> tuple[Finding, ...]:
    """The same finding in several places as one, with all its places and what was found there.

    Where that differs from place to place, the value is a text that tells which is where; else
    value and limit stay as they are.  The first of each kind keeps its turn.
    """
    alike: dict[tuple[Any, ...], list[Finding]] = {}
    for one in findings:
        limit = one.shown(system)[1]
        key = (one.rule, one.severity, one.what, limit, one.source, one.advice)
        alike.setdefault(key, []).append(one)
    return tuple(_as_one(those, system) for those in alike.values())


def _as_one(alike: Sequence[Finding], system: str) -> Finding:
    first = alike[0]
    if len(alike) == 1:
        return first
    where = "; ".join(dict.fromkeys(f.where for f in alike if f.where))
    shown = [(f.shown(system)[0], f.where) for f in alike]
    if len({value for value, _ in shown}) == 1:
        return replace(first, where=where)
    values = [f"{value} ({place})" if place else value for value, place in shown if value]
    return replace(
        first, where=where, value="; ".join(dict.fromkeys(values)), limit=first.shown(system)[1]
    )


def review(answers: Answers) -> Findings:
    """Every finding of every rule, worst first, then in the order of rules and build.

    A rule whose sums fail is itself a finding, of the worst rank that it could have told.
    """
    found: list[Finding] = []
    failed: list[Failed] = []
    for name, check in RULES.items():
        try:
            found += [replace(finding, rule=name) for finding in check(answers)]
        except Exception as error:
            failed.append(Failed(name.replace("_", " "), guards(check), told(error)))
    return Findings(worst_first([*found, *not_worked_out(failed)]), answers.build.van.units)
