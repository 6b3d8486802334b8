"""The review: small rules, each of which looks at a build's answers and yields what it
notices.

A rule is a function with ``@rule`` in the module of its subject; to add a module, name it
in ``SUBJECTS``.
"""

from __future__ import annotations

from importlib import import_module

from .finding import RULES, SEVERITIES, Finding, Findings, review, rule

SUBJECTS = (
    "heat",
    "pressure",
    "tube",
    "supply",
    "backflow",
    "place",
    "tank",
    "axles",
    "flow",
    "trip",
    "board",
    "mounting",
    "lists",
    "shop",
    "line_parts",
    "entered",
)

for _subject in SUBJECTS:
    import_module(f".{_subject}", __name__)

__all__ = ["RULES", "SEVERITIES", "SUBJECTS", "Finding", "Findings", "review", "rule"]
