"""What a review finds, and how a rule is declared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..words.brief import brief
from ..words.report import Grid, grid
from ..words.show import show
from ..words.sources import Source

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

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity must be one of {', '.join(SEVERITIES)}")

    def shown(self, system: str) -> tuple[str, str]:
        """Value and limit as the reader sees them."""

        def one(x: float | str) -> str:
            return (
                x if isinstance(x, str) else show(x, self.word, system) if self.word else f"{x:g}"
            )

        return one(self.value), one(self.limit)


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


def review(answers: Answers) -> Findings:
    """Every finding of every rule, worst first, then in the order of rules and build."""
    from dataclasses import replace

    found = [
        replace(finding, rule=name) for name, check in RULES.items() for finding in check(answers)
    ]
    order = list(SEVERITIES)
    ranked = sorted(found, key=lambda f: order.index(f.severity))
    return Findings(ranked, answers.build.van.units)
