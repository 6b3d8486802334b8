"""The lessons in their order, each by the key of its exercise."""

from __future__ import annotations

from functools import lru_cache

from . import lessons_at_the_bench, lessons_on_water
from .exercise import ORDER
from .lesson import Lesson, Told

_FOUND = {one.key: one for one in (*lessons_on_water.LESSONS, *lessons_at_the_bench.LESSONS)}
LESSONS: dict[str, Lesson] = {key: _FOUND[key] for key in ORDER}


def lesson_of(key: str) -> Lesson:
    """A lesson by its key.  KeyError lists those there are."""
    if key not in LESSONS:
        raise KeyError(f"no lesson {key!r}; there are {', '.join(LESSONS)}")
    return LESSONS[key]


@lru_cache(maxsize=32)
def told_of(key: str, units: str) -> Told:
    """What a lesson's question comes to, worked out once."""
    return lesson_of(key).told(units)
