"""Rules on what was entered: values that may be meant, but hardly are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..van.improbable import doubts
from ..words.sources import PRACTICE
from .finding import Finding, rule

if TYPE_CHECKING:
    from ..answers import Answers


@rule
def improbable_value(answers: Answers) -> Iterator[Finding]:
    """A value far from what vans have: mostly a unit or a point that slipped."""
    for doubt in doubts(answers.build):
        path, _, key = doubt.path.rpartition(".")
        asked = f": did you mean {' or '.join(doubt.instead)}?" if doubt.instead else "."
        yield Finding(
            "NOTICE",
            f"The {key.replace('_', ' ')} is far from what vans have{asked}",
            path,
            doubt.value,
            doubt.low if doubt.value < doubt.low else doubt.high,
            PRACTICE,
            "Look at its unit and its point. If it is meant, leave it as it is.",
            doubt.word,
        )
