"""Comparing: variants of one build, which of them nothing beats, targets, and what changed."""

from __future__ import annotations

from .choices import Span, span
from .reasons import Reason, reason
from .sums import Measure, measures
from .targets import Outcome, Target, meet
from .variants import Variants, explore

__all__ = [
    "Measure",
    "Outcome",
    "Reason",
    "Span",
    "Target",
    "Variants",
    "explore",
    "measures",
    "meet",
    "reason",
    "span",
]
