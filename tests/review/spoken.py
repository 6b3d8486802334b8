"""What the rules of one module say of a build that is put together from its lists alone."""

from __future__ import annotations

from types import ModuleType, SimpleNamespace
from typing import Any

from vanplumb.lists import Lists
from vanplumb.review import RULES
from vanplumb.van import loads


def spoken(rules: ModuleType, names: set[str], text: str) -> list[tuple[str, Any]]:
    """Each finding with the name of its rule; ``names`` are those that the module must have."""
    build = loads(text)
    answers: Any = SimpleNamespace(build=build, lists=Lists(build))
    mine = [r for r in RULES.values() if r.__module__ == rules.__name__]
    assert {r.__name__ for r in mine} == names
    return [(r.__name__, f) for r in mine for f in r(answers)]
